package server

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server/sealed"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// names is what the tests' job says of people, in the forms in which a data folder
// holds it: as typed, and as words that a job is found by (find.go).
var names = []string{"Zworykin", "zworykin", "QX-77", "qx77", "WZX0000", "wzx0000", "loves her old sign"}

// where names the files under a folder in which one of these texts stands.
func where(t testing.TB, dir string, texts ...string) (out []string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		raw, err := os.ReadFile(path)
		for _, s := range texts {
			if bytes.Contains(raw, []byte(s)) {
				out = append(out, d.Name()+": "+s)
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// gone waits until nothing under the folder says it any more.
func gone(t testing.TB, dir string, texts ...string) {
	t.Helper()
	for until := time.Now().Add(time.Minute); ; runtime.Gosched() {
		left := where(t, dir, texts...)
		if len(left) == 0 {
			return
		}
		if time.Now().After(until) {
			t.Fatalf("still there: %v", left)
		}
	}
}

var jobOld = logbook.Log{Class: checklist.JobLog, ID: logbook.Named("an old van")}

// finishJob writes a job with everything that can tell of people, and hands it
// over. It returns its pictures.
func finishJob(t *testing.T, s *shopAt, p *phone) (photo []byte) {
	t.Helper()
	photo = picture(80, 60)
	sendPhoto(t, s.http.URL, photo)
	p.write(jobOld, crew, checklist.JobOpen{Label: "Zworykin's van", Customer: "Ottilie Zworykin", Plate: "QX-77 ZZ", VIN: "WZX0000000Z123456", Vehicle: "van",
		Route: "van", Place: checklist.ID(bay4), Panels: []checklist.Panel{{ID: "left", Name: "left side", Zone: "upper"}},
		Spots: []checklist.Spot{{ID: "1", Name: "rear left sill", Zone: "lower"}}})
	p.write(jobOld, crew, checklist.FilmRoll{Family: "cast", Months: 24, Batch: "B-1"})
	p.write(jobOld, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	p.write(jobOld, crew, checklist.Tick{Stage: "strip-trim", Answer: "done", Note: "Zworykin keeps the badge"})
	found := p.write(jobOld, crew, checklist.Finding{Panel: "left", What: "chip", Photo: name(photo), Note: "Zworykin knows", Salt: make([]byte, 16)})
	p.write(jobOld, lead, checklist.FindingAnswer{Finding: checklist.LineID{Writer: checklist.ID(found.Ref.Writer), Seq: found.Ref.Seq}, Answer: "accepted", Note: "Zworykin on the phone"})
	p.write(jobOld, crew, checklist.Photo{SHA: name(photo), Bytes: int64(len(photo)), Panel: "left"})
	p.write(jobOld, crew, checklist.Note{Text: "She loves her old sign", Salt: bytes.Repeat([]byte{7}, 16)})
	p.write(jobOld, crew, checklist.Sign{What: "hand-over", As: "owner", Name: "Ottilie Zworykin", Strokes: bytes.Repeat([]byte{0, 1, 0, 2}, 900), Salt: bytes.Repeat([]byte{8}, 16)})
	p.write(jobOld, crew, checklist.Sign{What: "hand-over", As: "installer", Name: "Jon", Salt: bytes.Repeat([]byte{9}, 16)})
	p.write(jobOld, crew, checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: "Zworykin wants it tonight"}) // set aside: not the lead's
	p.write(jobOld, lead, checklist.JobClose{How: "handed-over"})
	p.untilKept()
	return photo
}

// gatesAt is what the job's gates answer from the store's lines.
func gatesAt(t *testing.T, st *Store, now int64) []checklist.Gate {
	t.Helper()
	shop := checklist.NewShop()
	for log := range st.Heads() {
		err := st.foldInto(shop, log)
		if err != nil {
			t.Fatal(err)
		}
	}
	return shop.Gates(checklist.ID(jobOld.ID), checklist.Span{Earliest: now, Latest: now})
}

func sameGates(a, b []checklist.Gate) bool {
	return slices.EqualFunc(a, b, func(x, y checklist.Gate) bool {
		return x.Stage == y.Stage && x.Panel == y.Panel && x.State == y.State && x.Until == y.Until && len(x.Causes) == len(y.Causes)
	})
}

// A vehicle is forgotten. No file of the data folder says a name any more, not
// even in parts of the store that are out of use; the chain, the hand-over's seal
// and the gates are as before; phones hear of it, one that was away for two
// months too; a new one gets no byte of it; and a backup from before, restored,
// forgets again when a phone comes.
func TestForget(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	a, sleeper := newPhone(t, "A"), newPhone(t, "sleeper")
	a.connect(s)
	a.untilCaught()
	photo := finishJob(t, s, a)
	sleeper.connect(s)
	sleeper.untilCaught()
	sleeper.hangUp()
	for i := range 60 { // pages that are written again and again
		a.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done", Note: strconv.Itoa(i)})
		a.untilKept()
	}
	backup := filepath.Join(t.TempDir(), "backup")
	if r, err := Backup(s.dir, backup); err != nil || len(r.Faults) > 0 {
		t.Fatal(err, r)
	}
	was := s.store.Heads()[jobOld]
	before, err := s.store.After(jobOld, 0, 1000, 1<<30)
	if err != nil {
		t.Fatal(err)
	}
	now := time.Now().UnixMilli()
	gates := gatesAt(t, s.store, now)
	rec, _, err := s.store.Record(s.dir, jobOld.ID)
	if err != nil {
		t.Fatal(err)
	}
	if left := where(t, s.dir, names...); len(left) < len(names) {
		t.Fatalf("before, only %v is found: this test would show nothing", left)
	}

	// What would go, and nothing else.
	list, err := s.store.Forgettings(Ask{Job: "QX-77 ZZ"}, time.Now())
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	var kinds []string
	for _, l := range list[0].Lines {
		kinds = append(kinds, l.Kind)
	}
	if want := []string{"job.open", "tick", "finding", "finding.answer", "note", "sign"}; !slices.Equal(kinds, want) || !slices.Equal(list[0].Photos, []string{name(photo)}) {
		t.Errorf("would go: %v %v, want %v and the photo", kinds, list[0].Photos, want)
	}
	if _, err := s.store.Forgettings(Ask{Job: jobV5.ID.String()}, time.Now()); err == nil || !strings.Contains(err.Error(), "not handed over") {
		t.Errorf("an open job: %v", err)
	}
	if _, err := s.forget(t.Context(), Ask{Job: "QX-77 ZZ"}, "Jon"); err == nil || !strings.Contains(err.Error(), "no lead") {
		t.Errorf("in a hand's name: %v", err)
	}
	if s.store.Heads()[jobOld] != was {
		t.Fatal("looking changed something")
	}

	went, err := s.forget(t.Context(), Ask{Job: "QX-77 ZZ"}, "Mara")
	if err != nil || len(went) != 1 {
		t.Fatal(went, err)
	}
	if left := where(t, s.dir, names...); len(left) > 0 {
		t.Errorf("the data folder still says: %v", left)
	}
	if _, err := os.Stat(filepath.Join(s.dir, photoFolder, name(photo))); err == nil {
		t.Error("the photo is still there")
	}
	for method, want := range map[string]int{"GET": 410, "HEAD": 410, "PATCH": 410} {
		r, _ := http.NewRequest(method, s.http.URL+"/photos/"+name(photo), bytes.NewReader(photo))
		resp, err := http.DefaultClient.Do(r)
		if err != nil || resp.StatusCode != want {
			t.Errorf("%s of the photo: %v %v, want 410 Gone (RFC 9110, 15.5.11)", method, resp, err)
		}
		resp.Body.Close()
	}
	after, err := s.store.After(jobOld, 0, 1000, 1<<30)
	if err != nil || len(after) <= len(before) {
		t.Fatal(len(after), err)
	}
	erased := 0
	for i, l := range before {
		sum, left, ok := logbook.Split(after[i].Entry)
		if !bytes.Equal(after[i].Receipt, l.Receipt) || logbook.EntrySum(after[i].Entry) != logbook.Sum(l.Entry) {
			t.Errorf("line %d has another receipt or hash", l.Order)
		}
		if ok {
			erased++
			e, _ := logbook.Decode(l.Entry)
			x, err := logbook.Decode(left)
			if err != nil || x.Kind != e.Kind || x.By != e.By || x.At != e.At || x.Ref() != e.Ref() || sum != logbook.Sum(l.Entry) {
				t.Errorf("what is left of line %d: %+v %v", l.Order, x, err)
			}
		}
	}
	if erased != len(kinds) {
		t.Errorf("%d lines are erased, want %d", erased, len(kinds))
	}
	if e, err := logbook.Decode(after[len(before)].Entry); err != nil || e.Kind != "forget" || e.By != lead {
		t.Errorf("behind them: %+v %v", e, err)
	}
	if !sameGates(gatesAt(t, s.store, now), gates) {
		t.Error("the gates answer otherwise")
	}
	if r := report(t, s.dir); len(r.Faults) > 0 {
		t.Errorf("the store: %v", r.Faults)
	}
	if again, err := s.store.Forgettings(Ask{Job: jobOld.ID.String()}, time.Now()); err != nil || len(again) > 0 {
		t.Errorf("what would go once more: %+v %v", again, err)
	}

	// The record: the same hand-over, and what is gone is said.
	now2, _, err := s.store.Record(s.dir, jobOld.ID)
	if err != nil || now2.Handed != rec.Handed || !bytes.Equal(now2.Head, rec.Head) {
		t.Errorf("the hand-over is sealed otherwise: %v", err)
	}
	file := filepath.Join(t.TempDir(), "record.zip")
	var zip bytes.Buffer
	if err := now2.WriteZip(&zip); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, zip.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	rep, err := sealed.Verify(file)
	if err != nil || len(rep.Faults) > 0 || !strings.Contains(strings.Join(rep.Notes, "\n"), "1 job.open, 1 tick, 1 finding, 1 finding.answer, 1 note, 1 sign") {
		t.Errorf("the record: %v %+v", err, rep)
	}
	if left := where(t, filepath.Dir(file), names...); len(left) > 0 {
		t.Errorf("the record says: %v", left)
	}

	// Phones: one that is there, one that was away, a new one.
	a.until("the line that says so", func() bool { return a.cursors[jobOld].Order == s.store.Heads()[jobOld].Order })
	s.store.now = func() time.Time { return time.Now().Add(60 * 24 * time.Hour) }
	sleeper.connect(s)
	sleeper.until("the line that says so", func() bool { return sleeper.cursors[jobOld].Order == s.store.Heads()[jobOld].Order })
	sleeper.hangUp()
	s.store.now = time.Now
	fresh := newPhone(t, "new")
	fresh.connect(s)
	fresh.untilCaught()
	if !bytes.Equal(fresh.copyOf(jobOld), s.copyOf(t, jobOld)) {
		t.Error("a new phone has another copy")
	}
	for n, r := range fresh.rows {
		for _, word := range names {
			if bytes.Contains(r.entry, []byte(word)) {
				t.Errorf("a new phone has %q in %v", word, n)
			}
		}
	}
	fresh.hangUp()
	a.hangUp()
	if r, err := Backup(s.dir, backup+"2"); err != nil || len(r.Faults) > 0 {
		t.Fatal(err, r)
	}
	if left := where(t, backup+"2", names...); len(left) > 0 {
		t.Errorf("a new backup says: %v", left)
	}
	s.stop(t)

	// The backup from before still has it all, and so has what is restored of it,
	// until a phone brings the line.
	data := filepath.Join(t.TempDir(), "data")
	if r, err := Restore(backup, data); err != nil || len(r.Faults) > 0 {
		t.Fatal(err, r)
	}
	if left := where(t, data, names...); len(left) < len(names) {
		t.Errorf("the backup from before had only %v", left)
	}
	back := startShop(t, data)
	fresh.returns(back)
	if back.store.Heads()[jobOld].Order != uint64(len(after)) {
		t.Errorf("%d lines are back, want %d", back.store.Heads()[jobOld].Order, len(after))
	}
	gone(t, data, names...)
	fresh.hangUp()
}

// What a phone brings back to a store that never had it is what is left, and the
// store takes it; but nobody writes what is left as a line of their own.
func TestErasedLinesComeBack(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	saved := saveStore(t, s)
	a := newPhone(t, "A")
	a.connect(s)
	a.untilCaught()
	finishJob(t, s, a)
	a.hangUp()
	if _, err := s.forget(t.Context(), Ask{Job: jobOld.ID.String()}, "M"); err != nil {
		t.Fatal(err)
	}
	fresh := newPhone(t, "new")
	fresh.connect(s)
	fresh.untilCaught()
	fresh.hangUp()
	want := s.store.Heads()[jobOld].Order

	restored := startSaved(t, saved)
	fresh.returns(restored)
	if got := restored.store.Heads()[jobOld].Order; got != want {
		t.Errorf("%d lines are back, want %d", got, want)
	}
	gone(t, restored.dir, names...)
	fresh.hangUp()

	// The phone that wrote them has them whole: what is erased here stays so.
	a.returns(restored)
	if len(a.aside) > 1 { // the waiver
		t.Errorf("set aside: %+v", a.aside)
	}
	gone(t, restored.dir, names...)
	a.hangUp()

	b := newPhone(t, "B")
	b.connect(restored)
	b.untilCaught()
	e := logbook.Entry{Log: jobV5, Writer: b.writer, Seq: 1, By: crew, Kind: "note", Body: []byte{0xa1, 0x64, 't', 'e', 'x', 't', 0x61, 'x'}}
	b.seqs[jobV5] = 1
	n := b.put(line.Erase(e.Append(nil), "text"))
	b.say(n)
	b.until("it is set aside", func() bool { return len(b.aside) == 1 })
	b.hangUp()
}

func (p *phone) put(entry []byte) (n session.Name) {
	e, _ := logbook.Decode(entry)
	n.Log, n.Ref = e.Log, e.Ref()
	p.rows[n] = row{entry: entry}
	p.outbox = append(p.outbox, n)
	return n
}

// Someone who left the crew is forgotten: the name goes, the work stays theirs.
func TestForgetPerson(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	id := checklist.ID(logbook.Named("Wilhelmina"))
	err := s.writer.do(t.Context(), func(p *pen) error {
		return p.write(p.st.shop, checklist.PersonAdd{Person: id, Name: "Wilhelmina Quarx", Initials: "WQ", Role: "crew"})
	})
	if err != nil {
		t.Fatal(err)
	}
	went, err := s.forget(t.Context(), Ask{Person: "WQ"}, "Mara")
	if err != nil || len(went) != 1 || went[0].Name != "Wilhelmina Quarx" || len(went[0].Lines) != 1 {
		t.Fatalf("%+v %v", went, err)
	}
	gone(t, s.dir, "Wilhelmina")
	if p, ok := s.writer.shop.Person(id); !ok || p.Name != "erased" || p.Role != "crew" {
		t.Errorf("the server knows %+v", p)
	}
}

// By the shop's rule a vehicle is due so many days after its guarantee, and
// nothing is due as long as the lead set no rule. 24 months from 2027-01-31 end
// on 2029-01-31; 30 days later is 2029-03-02 (2029 is no leap year).
func TestForgetDue(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	a := newPhone(t, "A")
	a.connect(s)
	a.untilCaught()
	finishJob(t, s, a)
	if _, err := s.store.Forgettings(Ask{Due: true}, time.Now()); err == nil || !strings.Contains(err.Error(), "keep_days") {
		t.Errorf("without a rule: %v", err)
	}
	values := checklist.DefaultRules()
	values["keep_days"] = 30
	a.write(s.store.shop, lead, line.Pin(checklist.RulesSet{Values: values}))
	a.untilKept()
	a.hangUp()
	st := s.store
	st.mu.Lock()
	h := st.heads[jobOld]
	h.ClosedAt = time.Date(2027, 1, 31, 12, 0, 0, 0, time.UTC).UnixMilli()
	st.heads[jobOld] = h
	st.mu.Unlock()
	for day, due := range map[string]int{"2027-02-01": 0, "2029-01-31": 0, "2029-03-01": 0, "2029-03-03": 1} {
		at, _ := time.Parse(time.DateOnly, day)
		if list, err := st.Forgettings(Ask{Due: true}, at); err != nil || len(list) != due {
			t.Errorf("on %s %d are due, want %d (%v)", day, len(list), due, err)
		}
	}
}

// afterHandOver is a shop with one vehicle, which has left.
func afterHandOver(t *testing.T) *shopAt {
	t.Helper()
	s := startShop(t, t.TempDir())
	crewed(t, s)
	a := newPhone(t, "A")
	a.connect(s)
	a.untilCaught()
	finishJob(t, s, a)
	a.hangUp()
	return s
}

// A mark of erasure that no line explains is a fault, and so is one whose rest
// somebody changed, or a line that stands although it was to go.
func TestErasuresThatNobodySaid(t *testing.T) {
	s := afterHandOver(t)
	before := saveStore(t, s)
	if _, err := s.forget(t.Context(), Ask{Job: jobOld.ID.String()}, "M"); err != nil {
		t.Fatal(err)
	}
	after := saveStore(t, s)
	fault := func(path, want string, change func(lines *bolt.Bucket) error) {
		t.Helper()
		db, err := bolt.Open(path, 0o600, nil)
		if err != nil {
			t.Fatal(err)
		}
		err = db.Update(func(tx *bolt.Tx) error { return change(tx.Bucket(bucketLines).Bucket(logKey(jobOld))) })
		if err != nil {
			t.Fatal(err)
		}
		db.Close()
		st, err := ReadStore(path)
		if err != nil {
			t.Fatal(err)
		}
		defer st.Close()
		if err := st.Verify(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("the fault is %v, want %q", err, want)
		}
	}
	at := func(lines *bolt.Bucket, order uint64) record {
		l, err := readLine(bytes.Clone(lines.Get(be64(order))))
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	fault(before, "no line says so", func(lines *bolt.Bucket) error {
		l := at(lines, 3) // a tick
		l.Entry = line.Erase(l.Entry, "stage")
		return lines.Put(be64(3), l.append(nil))
	})
	// A record of it says the same.
	st, err := ReadStore(before)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	rec, _, err := st.Record(t.TempDir(), jobOld.ID)
	if err != nil {
		t.Fatal(err)
	}
	var zip bytes.Buffer
	file := filepath.Join(t.TempDir(), "record.zip")
	if err := errors.Join(rec.WriteZip(&zip), os.WriteFile(file, zip.Bytes(), 0o600)); err != nil {
		t.Fatal(err)
	}
	if rep, err := sealed.Verify(file); err != nil || len(rep.Faults) != 1 || !strings.Contains(rep.Faults[0], "it was erased, and no line says so") {
		t.Errorf("the record: %v %+v", err, rep)
	}
	fault(after, "not what the line says", func(lines *bolt.Bucket) error {
		l := at(lines, 4) // a tick whose note is gone
		l.Entry = bytes.Replace(l.Entry, []byte("strip-trim"), []byte("strip-trip"), 1)
		return lines.Put(be64(4), l.append(nil))
	})
}

// Pages that somebody still reads are not taken from under them, and what stood
// there is gone once they are done.
func TestScrubWaitsForReaders(t *testing.T) {
	s := afterHandOver(t)
	tx, err := s.store.db.Begin(false)
	if err != nil {
		t.Fatal(err)
	}
	reads := view{tx, s.store}
	done := make(chan error)
	go func() {
		_, err := s.forget(context.Background(), Ask{Job: jobOld.ID.String()}, "M")
		done <- err
	}()
	for until := time.Now().Add(time.Minute); s.store.Heads()[jobOld].Order < 12 && time.Now().Before(until); {
		runtime.Gosched()
	}
	if l, ok := reads.line(jobOld, 1); !ok || !bytes.Contains(l.Entry, []byte("Zworykin")) {
		t.Error("who reads lost what it reads")
	}
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	gone(t, s.dir, names...)
}
