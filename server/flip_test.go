package server

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unsafe"

	bolt "go.etcd.io/bbolt"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// A store's values, where they lie in its file.
type value struct {
	what     string // its bucket
	log      logbook.Log
	order    uint64 // of a line
	from, to int64  // bytes of the file
}

// valuesOf finds every value in a store's file that a hash covers or that is
// made again from what a hash covers.
func valuesOf(t *testing.T, path string) (out []value) {
	t.Helper()
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	st, err := ReadStore(path)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	err = st.db.View(func(tx *bolt.Tx) error {
		add := func(v value, b []byte) {
			v.from = int64(uintptr(unsafe.Pointer(&b[0])) - st.db.Info().Data)
			if v.from < 0 || v.from >= int64(len(whole)) { // bbolt hands out a copy where a bucket is small
				if v.from = int64(bytes.Index(whole, b)); bytes.Count(whole, b) != 1 {
					t.Fatalf("a value of %s is in the file %d times", v.what, bytes.Count(whole, b))
				}
			}
			v.to = v.from + int64(len(b))
			out = append(out, v)
		}
		for _, name := range [][]byte{bucketHeads, bucketSettled, bucketNames, bucketAgain, bucketFound} {
			tx.Bucket(name).ForEach(func(_, v []byte) error { add(value{what: string(name)}, v); return nil })
		}
		tx.Bucket(bucketAside).ForEach(func(_, v []byte) error {
			a, err := readAside(v)
			// Time, code and reason stand before the bytes, which no phone brought here.
			add(value{what: "aside"}, v[len(v)-len(a.Bytes):])
			return err
		})
		return tx.Bucket(bucketLines).ForEachBucket(func(k []byte) error {
			order := uint64(0)
			return tx.Bucket(bucketLines).Bucket(k).ForEach(func(_, v []byte) error {
				order++
				add(value{"lines", logOf(k), order, 0, 0}, v)
				return nil
			})
		})
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// One bit of the file is another than it was, anywhere in a line, in what was
// set aside or in an index: verify finds every one, and of a line says which.
func TestVerifyFindsEveryFlip(t *testing.T) {
	flips := 200
	if os.Getenv("BAYHOLD_LONG") == "1" {
		flips = 20_000
	}
	dir := t.TempDir()
	s := startShop(t, dir)
	crewed(t, s)
	for i := range 60 {
		s.submit(t, note("a", uint64(i+1), fmt.Sprint("line ", i)))
	}
	for i := range 40 { // enough writers, and lines written again, that their buckets have pages of their own
		first := note(fmt.Sprint("z", i), 9, "first")
		again, err := logbook.Rewrite([][]byte{first.Append(nil)}, logbook.Named(fmt.Sprint("b", i)), func(logbook.Log) uint64 { return 1 })
		if err != nil {
			t.Fatal(err)
		}
		e, err := logbook.Decode(again[0])
		if err != nil {
			t.Fatal(err)
		}
		s.submit(t, e)
	}
	for i := range 40 { // and of the jobs and what they are found by
		job := note("d", 1, "")
		job.Log.ID = logbook.Named(fmt.Sprint("job ", i))
		job.Kind, job.Body = "job.open", line.Encode(checklist.JobOpen{Label: "V", Route: "van", Plate: fmt.Sprint("TA 10", i)})
		s.submit(t, job)
	}
	waiver := note("a", 61, "")
	waiver.Kind, waiver.Body = "waiver", line.Encode(checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: "tonight"})
	s.submit(t, waiver, note("a", 60, "a fork")) // two that go aside: for rights, as a fork
	closed := note("c", 1, "")
	closed.By, closed.Kind, closed.Body = lead, "job.close", line.Encode(checklist.JobClose{How: "handed-over"})
	s.submit(t, closed)
	s.stop(t)
	if _, _, err := Compact(dir); err != nil { // no old copy of a value is left in the file
		t.Fatal(err)
	}
	path := filepath.Join(dir, StoreFile)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	values := valuesOf(t, path)
	luck := rand.New(rand.NewPCG(4, 2026))
	of := map[string]int{}
	for range flips {
		// Any bucket is as likely as any other, whatever it holds.
		kind := []string{"lines", "lines", "heads", "settled", "names", "again", "aside", "found"}[luck.IntN(8)]
		var v value
		for v = values[luck.IntN(len(values))]; v.what != kind; v = values[luck.IntN(len(values))] {
		}
		at, bit := v.from+luck.Int64N(v.to-v.from), byte(1)<<luck.IntN(8)
		flip(t, path, at, whole[at]^bit)
		faults := faultsOf(path)
		flip(t, path, at, whole[at])
		of[v.what]++
		switch where := fmt.Sprintf("%s, line %d: ", LogName(v.log), v.order); {
		case len(faults) == 0:
			t.Errorf("%s: bit %08b of byte %d is another, and all fits", v.what, bit, at-v.from)
		case v.what == "lines" && !strings.Contains(strings.Join(faults, "\n"), where):
			t.Errorf("a bit of %s was changed, and verify says: %q", where, faults)
		}
	}
	if len(of) != 7 {
		t.Errorf("flips by bucket: %v", of)
	}
	if faults := faultsOf(path); len(faults) > 0 {
		t.Errorf("the store as it was: %q", faults)
	}
	t.Logf("%d flips, all found: %v", flips, of)
}

func flip(t *testing.T, path string, at int64, b byte) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.WriteAt([]byte{b}, at); err != nil {
		t.Fatal(err)
	}
}

// faultsOf is what verify says of a store; that it cannot be read is a fault.
func faultsOf(path string) []string {
	st, err := ReadStore(path)
	if err != nil {
		return []string{err.Error()}
	}
	defer st.Close()
	r, err := st.Report()
	if err != nil {
		r.fault("%v", err)
	}
	return r.Faults
}

// The same of photos: every bit of every byte is covered.
func TestVerifyFindsEveryFlipOfPhotos(t *testing.T) {
	s := startShop(t, t.TempDir())
	raw := picture(64, 48)
	sendPhoto(t, s.http.URL, raw)
	path := filepath.Join(s.dir, photoFolder, name(raw))
	luck := rand.New(rand.NewPCG(4, 2026))
	for range 200 {
		at := luck.Int64N(int64(len(raw)))
		flip(t, path, at, raw[at]^1<<luck.IntN(8))
		r := new(Report)
		if err := s.store.ReportPhotos(s.dir, r); err != nil || !named(r, "photo "+name(raw)) {
			t.Fatalf("byte %d: %v %+v", at, err, r)
		}
		flip(t, path, at, raw[at])
	}
	if got, err := os.ReadFile(path); err != nil || !bytes.Equal(got, raw) {
		t.Fatal("the test left the photo changed: it shows nothing")
	}
}
