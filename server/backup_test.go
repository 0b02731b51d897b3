package server

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// report reads a data folder or a backup, photos too.
func report(t testing.TB, dir string) *Report {
	t.Helper()
	st, err := Look(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	r, err := st.Report()
	if err == nil {
		err = st.ReportPhotos(dir, r)
	}
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// exported is everything that stands in a store, as text.
func exported(t testing.TB, dir string) string {
	t.Helper()
	st, err := Look(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	var b bytes.Buffer
	if _, err := st.Export(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// A backup is made while lines come in without a pause: it is one moment of the
// store, whole, and the lines go on. The next one brings what came since, and a
// restored one goes on from there in a new epoch.
func TestBackupBesideServer(t *testing.T) {
	s, to := startShop(t, t.TempDir()), filepath.Join(t.TempDir(), "backup")
	crewed(t, s)
	raw := picture(64, 48)
	sendPhoto(t, s.http.URL, raw)
	s.submit(t, logbook.Entry{Log: jobV5, Writer: logbook.Named("a"), Seq: 1, By: crew, Kind: "photo",
		Body: line.Encode(checklist.Photo{SHA: name(raw), Bytes: int64(len(raw))})})

	var wrote atomic.Uint64
	stop, stopped := make(chan bool), make(chan bool)
	go func() {
		defer close(stopped)
		for seq := uint64(1); ; seq++ {
			select {
			case <-stop:
				return
			default:
				s.submit(t, note("b", seq, "one more"))
				wrote.Store(seq)
			}
		}
	}()
	for wrote.Load() < 10 {
		runtime.Gosched()
	}
	before := wrote.Load()
	r, err := Backup(s.dir, to)
	if err != nil || len(r.Faults) > 0 || r.Photos != 1 {
		t.Fatalf("%v %+v", err, r)
	}
	for after := wrote.Load(); wrote.Load() < after+10; { // the lines go on
		runtime.Gosched()
	}
	close(stop)
	<-stopped

	// 3 lines of the crew, the rules, the job, the photo, and b's.
	if r := report(t, to); len(r.Faults) > 0 || uint64(r.Lines) < 6+before || r.Photos != 1 || r.Awaited != 0 {
		t.Errorf("the backup: %+v; at least %d lines were kept before it", r, 6+before)
	}
	first := exported(t, to)
	now := exported(t, s.dir)
	if strings.Count(now, "\n") <= strings.Count(first, "\n") {
		t.Error("no line came after the backup's moment: this test shows nothing")
	}
	for l := range strings.Lines(first) {
		if !strings.Contains(now, l) {
			t.Fatalf("a line of the backup is none of the store: %s", l)
		}
	}
	kept, err := os.Stat(filepath.Join(to, photoFolder, name(raw)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Backup(s.dir, to); err != nil {
		t.Fatal(err)
	}
	if exported(t, to) != now {
		t.Error("the second backup differs from the store")
	}
	if again, err := os.Stat(filepath.Join(to, photoFolder, name(raw))); err != nil || !os.SameFile(kept, again) {
		t.Error("a photo that the backup had was copied again")
	}
	if st, err := os.Stat(filepath.Join(s.dir, operateSocket)); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("the operator's socket: %v %v", st.Mode(), err)
	}

	s.stop(t)
	if _, err := os.Stat(filepath.Join(s.dir, operateSocket)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the operator's socket outlives the server: %v", err)
	}
	if _, err := Backup(s.dir, to); err != nil { // no server runs
		t.Errorf("without a server: %v", err)
	}
	data := filepath.Join(t.TempDir(), "new")
	if r, err := Restore(to, data); err != nil || len(r.Faults) > 0 {
		t.Fatalf("%v %+v", err, r)
	}
	if exported(t, data) != now {
		t.Error("what was restored differs")
	}
	again := startShop(t, data)
	if again.store.Epoch() != 2 || again.store.Shop() != s.store.Shop() || again.store.writer == s.store.writer {
		t.Errorf("epoch %d, shop %v, writer %v; want epoch 2, the same shop, a new writer", again.store.Epoch(), again.store.Shop(), again.store.writer)
	}
	v := again.submit(t, note("b", wrote.Load()+1, "after"))
	if v[0].Receipt.Epoch != 2 || v[0].Receipt.Order != s.store.Heads()[jobV5].Order+1 {
		t.Errorf("the next line's receipt: %+v", v[0].Receipt)
	}
	if got, err := os.ReadFile(filepath.Join(data, photoFolder, name(raw))); err != nil || !bytes.Equal(got, raw) {
		t.Errorf("the photo: %v", err)
	}
}

// What a backup or a restore must not write over stays as it was.
func TestBackupRefuses(t *testing.T) {
	s := startShop(t, t.TempDir())
	s.submit(t, note("a", 1, "x"), note("a", 2, "ground"), note("a", 3, "z"))
	backup := filepath.Join(t.TempDir(), "backup")
	if _, err := Backup(s.dir, backup); err != nil {
		t.Fatal(err)
	}
	good := exported(t, backup)
	other := startShop(t, t.TempDir())
	full := t.TempDir()
	if err := os.WriteFile(filepath.Join(full, "letter.txt"), []byte("dear"), 0o600); err != nil {
		t.Fatal(err)
	}
	restored := filepath.Join(t.TempDir(), "restored")
	if _, err := Restore(backup, restored); err != nil {
		t.Fatal(err)
	}
	newer := filepath.Join(t.TempDir(), "newer")
	if _, err := Backup(restored, newer); err != nil {
		t.Fatal(err)
	}
	backupTo := func(data, to string) func() (*Report, error) {
		return func() (*Report, error) { return Backup(data, to) }
	}
	restoreTo := func(data string) func() (*Report, error) {
		return func() (*Report, error) { return Restore(backup, data) }
	}
	for _, c := range []struct {
		what string
		do   func() (*Report, error)
		says string
	}{
		{"onto itself", backupTo(s.dir, s.dir), "another folder"},
		{"onto another shop's backup", backupTo(other.dir, backup), "another shop's"},
		{"onto another shop's running server", backupTo(s.dir, other.dir), "in use"},
		{"onto a restored store's backup", backupTo(s.dir, newer), "newer"},
		{"of nothing", backupTo(t.TempDir(), backup), "no store"},
		{"into a running server's folder", restoreTo(s.dir), "in use"},
		{"into a folder with a shop", restoreTo(restored), "not empty"},
		{"into a folder with something", restoreTo(full), "not empty"},
	} {
		if _, err := c.do(); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", c.what, err, c.says)
		}
	}

	// A damaged store takes no good backup's place, and is not restored.
	s.stop(t)
	data := filepath.Join(s.dir, StoreFile)
	whole, err := os.ReadFile(data)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(data, bytes.ReplaceAll(whole, []byte("ground"), []byte("foamed")), 0o600); err != nil {
		t.Fatal(err)
	}
	r, err := Backup(s.dir, backup)
	if err == nil || !strings.Contains(err.Error(), "stays as it was") || !named(r, "job:"+jobV5.ID.String()+", line 2: ") {
		t.Errorf("of a damaged store: %v %+v", err, r)
	}
	if exported(t, backup) != good {
		t.Error("the good backup is gone")
	}
	if left, _ := filepath.Glob(filepath.Join(backup, scratch)); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	empty := t.TempDir()
	if _, err := Restore(s.dir, empty); err == nil || !strings.Contains(err.Error(), "damaged") {
		t.Errorf("a damaged backup is restored: %v", err)
	}
	if list, _ := os.ReadDir(empty); len(list) > 0 {
		t.Errorf("a refused restore leaves %v", list)
	}
}

// named says whether the report's one fault begins so.
func named(r *Report, begins string) bool {
	return r != nil && len(r.Faults) == 1 && strings.HasPrefix(r.Faults[0], begins)
}

// A damaged photo is said, takes no good copy's place, and keeps nothing else
// out of the backup.
func TestBackupOfDamagedPhoto(t *testing.T) {
	s, to := startShop(t, t.TempDir()), filepath.Join(t.TempDir(), "backup")
	a, b := picture(64, 48), picture(48, 64)
	sendPhoto(t, s.http.URL, a)
	if _, err := Backup(s.dir, to); err != nil {
		t.Fatal(err)
	}
	sendPhoto(t, s.http.URL, b)
	damage := func(raw []byte) {
		bad := bytes.Clone(raw)
		bad[len(bad)/2] ^= 1
		if err := os.WriteFile(filepath.Join(s.dir, photoFolder, name(raw)), bad, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	damage(b)
	s.submit(t, note("a", 1, "x"))
	r, err := Backup(s.dir, to)
	if err != nil || !named(r, "photo "+name(b)) {
		t.Errorf("%v %+v", err, r)
	}
	if exported(t, to) != exported(t, s.dir) {
		t.Error("the lines are not in the backup")
	}
	damage(a) // the backup has it from before
	if r, err = Backup(s.dir, to); err != nil {
		t.Error(err)
	}
	if got := report(t, to); len(got.Faults) > 0 || got.Photos != 1 {
		t.Errorf("the backup's photos: %+v", got)
	}
	if got := report(t, s.dir); len(got.Faults) != 2 {
		t.Errorf("the shop's photos: %+v", got)
	}
}

// A restore that broke off is no shop yet: a server does not begin an empty one
// there, and the restore can be run again.
func TestRestoreThatBrokeOff(t *testing.T) {
	s, backup := startShop(t, t.TempDir()), filepath.Join(t.TempDir(), "backup")
	sendPhoto(t, s.http.URL, picture(64, 48))
	s.submit(t, note("a", 1, "x"))
	if _, err := Backup(s.dir, backup); err != nil {
		t.Fatal(err)
	}
	data := t.TempDir()
	for path, text := range map[string]string{restoring: "", "new-123": "half"} {
		if err := os.WriteFile(filepath.Join(data, path), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if s, err := Open(Config{Data: data, App: appFiles, Worker: []byte("//")}); err == nil || !strings.Contains(err.Error(), "broke off") {
		if err == nil {
			s.Close()
		}
		t.Errorf("a server begins there: %v", err)
	}
	if _, err := Restore(backup, data); err != nil {
		t.Fatal(err)
	}
	if exported(t, data) != exported(t, s.dir) {
		t.Error("what was restored differs")
	}
	startShop(t, data)
}

// A compacted store holds the same in less room, and none is compacted under a
// running server.
func TestCompact(t *testing.T) {
	dir := t.TempDir()
	s := startShop(t, dir)
	crewed(t, s)
	for i := range 80 { // many small rounds leave many pages behind
		s.submit(t, note("a", uint64(i+1), fmt.Sprint(i)))
	}
	if _, _, err := Compact(dir); !errors.Is(err, ErrInUse) {
		t.Errorf("under a running server: %v", err)
	}
	s.stop(t)
	want := exported(t, dir)
	before, after, err := Compact(dir)
	if err != nil || after >= before || after == 0 {
		t.Errorf("%d bytes before, %d after: %v", before, after, err)
	}
	if exported(t, dir) != want {
		t.Error("the compacted store differs")
	}
	again := startShop(t, dir)
	again.submit(t, note("a", 81, "on"))
	if again.store.Epoch() != 1 {
		t.Error("compacting is no restore")
	}
}

// A copy that is read too slowly, or not to its end, is an error and no short
// file; the server goes on.
func TestCopyThatBreaksOff(t *testing.T) {
	s := startShop(t, t.TempDir())
	s.submit(t, note("a", 1, "x"))
	ctx, cancel := context.WithCancel(t.Context())
	w := writerFunc(func(b []byte) (int, error) { cancel(); return 0, ctx.Err() })
	if err := copyTo(s.dir, w); err == nil {
		t.Error("nothing was written and nobody says so")
	}
	s.submit(t, note("a", 2, "y"))
}

type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(b []byte) (int, error) { return f(b) }
