package server

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
	"bayhold/testdata/demo/story"
)

// years is a store with invented jobs of ten years: told is the n-th job as
// its form was filled, batch the batch of its film. Lines are written as the
// writer does, ids are UUIDv7 of the moment.
func years(t testing.TB, n int) (st *Store, told func(i int) checklist.JobOpen, batch func(i int) string, began func(i int) time.Time) {
	t.Helper()
	first := time.Date(2016, 1, 4, 7, 0, 0, 0, time.UTC)
	began = func(i int) time.Time {
		return first.Add(10 * 365 * 24 * time.Hour / time.Duration(n) * time.Duration(i))
	}
	owners := []string{"Förde Bäckerei", "Northgate Plumbing", "Harrow & Pike Movers", "Müller Elektro", "Tarn Taxi", "Señal Radio"}
	told = func(i int) checklist.JobOpen {
		return checklist.JobOpen{Label: fmt.Sprint("V", i%200), Route: "van", Vehicle: []string{"high-roof van", "small van", "bus"}[i%3],
			Customer: fmt.Sprint(owners[i%len(owners)], " ", i%500), Plate: fmt.Sprintf("TA %c%c %04d", 'A'+i/10_000%26, 'A'+i/260%26, i%10_000),
			VIN: fmt.Sprintf("WXX00%012d", i), Fleet: fmt.Sprint("F-", i%5000)}
	}
	batch = func(i int) string { return fmt.Sprintf("%05d-%c", i/20, 'A'+i%2) } // a roll does some ten vehicles
	st, err := OpenStore(filepath.Join(t.TempDir(), StoreFile), logbook.ID{}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	st.db.NoSync = true
	t.Cleanup(func() { st.Close() })
	// Job by job the words would be put here and there; a store that has none yet
	// puts them in order (findAll).
	const round = 20_000
	for i := 0; i < n; i += round {
		err := st.db.Update(func(tx *bolt.Tx) error {
			b := newBatch(tx, st, 0)
			for i := i; i < min(n, i+round); i++ {
				ms := began(i).UnixMilli()
				log := logbook.Log{Class: 'j', ID: logbook.ID{6: 0x70, 8: 0x80}}
				binary.BigEndian.PutUint64(log.ID[:], uint64(ms)<<16|0x7000)
				binary.BigEndian.PutUint32(log.ID[12:], uint32(i))
				lines, err := b.bucket(log)
				if err != nil {
					return err
				}
				h := Head{Chain: logbook.Genesis(log)}
				for _, body := range []checklist.Body{told(i), checklist.FilmRoll{Family: "cast", Batch: batch(i), Roll: "R1", Sheet: "Clear Cast 50"}} {
					h.Order++
					r := logbook.Receipt{Epoch: 1, Order: h.Order, Arrived: ms, Earliest: ms, Latest: ms}
					e := logbook.Entry{Log: log, Writer: logbook.Named("desk"), Seq: h.Order,
						At: logbook.Stamp{Wall: ms, Earliest: ms}, Kind: body.Kind(), Body: line.Encode(body)}
					raw, coded := e.Append(nil), r.Append(nil)
					h.Chain = logbook.Next(h.Chain, coded, raw)
					if err := lines.Put(be64(h.Order), record{h.Chain, coded, raw}.append(nil)); err != nil {
						return err
					}
				}
				b.heads[log] = h
			}
			return b.finish()
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	err = st.db.Update(func(tx *bolt.Tx) error { return errors.Join(tx.DeleteBucket(bucketFound), findAll(tx)) })
	if err != nil {
		t.Fatal(err)
	}
	return st, told, batch, began
}

// The jobs that a question finds are those that a reading of every job from
// front to back finds.
func TestJobsAreFound(t *testing.T) {
	const n = 2000
	st, told, batch, began := years(t, n)
	all := func(fits func(i int) bool) (labels []string) {
		for i := n - 1; i >= 0; i-- {
			if fits(i) {
				labels = append(labels, told(i).Plate)
			}
		}
		return labels
	}
	begins := func(s, with string) bool { return strings.HasPrefix(strings.ToUpper(s), strings.ToUpper(with)) }
	for _, c := range []struct {
		question string
		fits     func(i int) bool
	}{
		{told(77).Plate, func(i int) bool { return i == 77 }},
		{"ta-aa-0077", func(i int) bool { return i == 77 }},
		{"TAAA0077", func(i int) bool { return i == 77 }},
		{"ta aa 007", func(i int) bool { return i/10 == 7 }},
		{told(1999).VIN, func(i int) bool { return i == 1999 }},
		{"batch:" + batch(400), func(i int) bool { return batch(i) == batch(400) }},
		{"Batch:" + strings.ToLower(strings.ReplaceAll(batch(401), "-", "")), func(i int) bool { return batch(i) == batch(401) }},
		{"forde 204", func(i int) bool { // without the marks on the o, and another number beside it
			return i%6 == 0 && (i%500 == 204 || begins(told(i).VIN, "204") || begins(batch(i), "204"))
		}},
		{"customer:backerei customer:330", func(i int) bool { return i%6 == 0 && i%500 == 330 }},
		{"SEÑAL customer:41", func(i int) bool { return i%6 == 5 && (i%500 == 41 || i%500/10 == 41) }},
		{"2019-03-05", func(i int) bool { return began(i).Format("2006-01-02") == "2019-03-05" }},
		{"2021-11 bus", func(i int) bool { return began(i).Format("2006-01") == "2021-11" && i%3 == 2 }},
		{"plate:north", func(i int) bool { return false }},
		{"\x00", nil}, {"", nil}, {" - ", nil}, {strings.Repeat("x", 300), nil},
	} {
		jobs, more, err := st.Jobs(c.question, time.UTC)
		if c.fits == nil {
			if err == nil {
				t.Errorf("%q is answered: %v", c.question, jobs)
			}
			continue
		}
		if err != nil {
			t.Errorf("%q: %v", c.question, err)
		}
		var got []string
		for _, j := range jobs {
			got = append(got, j.Plate)
		}
		if want := all(c.fits); !slices.Equal(got, want[:min(len(want), mostFound)]) || more != max(0, len(want)-mostFound) {
			t.Errorf("%q finds %q and %d more, not %q", c.question, got, more, want)
		}
	}
	if jobs, more, err := st.Jobs("van", time.UTC); err != nil || len(jobs) != mostFound || len(jobs)+more != n-n/3 {
		t.Errorf("most vehicles are vans: %d and %d more, %v", len(jobs), more, err)
	}
}

// The words are written with the line that says them, and a store of an older
// bayhold, which knows none, makes them when it is opened.
func TestFoundIsMade(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	s.submit(t, jobLine(1, checklist.JobOpen{Label: "V9", Route: "van", Plate: "TA MK 77"}),
		jobLine(2, checklist.FilmRoll{Family: "cast", Batch: "B-1", Sheet: "Clear"}), jobLine(3, checklist.FilmRoll{Family: "cast", Batch: "b1"}),
		jobLine(4, checklist.JobOpen{Label: "V9", Route: "van", Plate: "TA MK 78"})) // 77 was misread
	s.stop(t)
	path := filepath.Join(s.dir, StoreFile)
	ask := func(st *Store, q string) []Found {
		jobs, _, err := st.Jobs(q, time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		return jobs
	}
	st, err := OpenStore(path, logbook.ID{}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	before := ask(st, "ta-mk batch:b1")
	if len(before) != 1 || before[0].Label != "V9" || before[0].Plate != "TA MK 78" || before[0].Began == 0 {
		t.Fatalf("found: %+v", before)
	}
	for name, is := range map[string]bool{"v9": true, "ta-mk78": true, "TA MK 77": false, "V": false, before[0].Job.String(): true} {
		if got, err := st.Named(name); err != nil || (len(got) == 1) != is {
			t.Errorf("%q names %v, %v", name, got, err)
		}
	}
	if err := st.Verify(); err != nil {
		t.Fatal(err)
	}
	if err := st.db.Update(func(tx *bolt.Tx) error { return tx.DeleteBucket(bucketFound) }); err != nil {
		t.Fatal(err)
	}
	if _, _, err := st.Jobs("van", time.UTC); err == nil || !strings.Contains(err.Error(), "start the server") {
		t.Errorf("a store without words answers %v", err)
	}
	st.Close()
	if st, err = OpenStore(path, logbook.ID{}, time.Now); err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	if after := ask(st, "ta-mk batch:b1"); !slices.Equal(after, before) {
		t.Errorf("%v, before it was %v", after, before)
	}
	if err := st.Verify(); err != nil {
		t.Error(err)
	}
}

// jobLine is the desk's n-th line of one job.
func jobLine(n uint64, body checklist.Body) logbook.Entry {
	e := note("found", n, "")
	e.Log.ID = logbook.Named("the job that is looked up")
	e.Kind, e.Body = body.Kind(), line.Encode(body)
	return e
}

// The demo's vehicles are found over HTTP, by what its story calls them.
func TestFindOverHTTP(t *testing.T) {
	s, _ := demoAt(t, 'A', story.Tuesday, "20:00")
	ask := func(q string) (code int, a struct {
		Jobs []struct{ Label, Plate, Customer string }
		More int
	}) {
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, s.http.URL+"/find?q="+url.QueryEscape(q), nil))
		if w.Code == http.StatusOK {
			if err := json.Unmarshal(w.Body.Bytes(), &a); err != nil {
				t.Fatal(err)
			}
		} else if !strings.Contains(w.Body.String(), "type a plate") {
			t.Errorf("%q is refused with %q", q, w.Body)
		}
		return w.Code, a
	}
	code, a := ask("label:v5")
	if code != http.StatusOK || len(a.Jobs) != 1 || a.Jobs[0].Label != "V5" || a.More != 0 {
		t.Errorf("V5: %d %+v", code, a)
	}
	if code, a := ask("nobody's"); code != http.StatusOK || a.Jobs == nil || len(a.Jobs) > 0 {
		t.Errorf("nobody: %d %+v", code, a)
	}
	if code, _ := ask(""); code != http.StatusBadRequest {
		t.Errorf("nothing asked: %d", code)
	}
}

// A question to ten years of jobs, a hundred thousand of them.
func BenchmarkBudgetFind(b *testing.B) {
	const n = 100_000
	st, told, batch, began := years(b, n)
	var took []time.Duration
	b.ResetTimer()
	for i := 0; b.Loop(); i++ {
		j := i * 7919 % n
		for _, q := range []string{told(j).Plate, told(j).Plate[:5], "batch:" + batch(j), told(j).Customer,
			began(j).Format("2006-01-02"), began(j).Format("2006-01") + " bus", "north van"} {
			start := time.Now()
			jobs, _, err := st.Jobs(q, time.UTC)
			took = append(took, time.Since(start))
			if err != nil || len(jobs) == 0 {
				b.Fatalf("%q: %v, %d jobs", q, err, len(jobs))
			}
		}
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1e3, "p50-ms")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1e3, "p99-ms")
}
