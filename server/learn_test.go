package server

import (
	"cmp"
	"encoding/binary"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
	demo "bayhold/testdata/demo/story"
	"bayhold/testdata/jobs/story"
)

type learnPart struct {
	Cause, Name string
	Ms          int64
}

type learnWait struct {
	Stage, Name, Say       string
	N, Running             int
	Half, Low, High, First int64
	Parts                  []learnPart
}

type learnAir struct {
	Place, Month, Say string
	Asked, Lost       int64
	Parts             []learnPart
}

type learnAnswer struct {
	Jobs, Running, Left, Compared int
	Waits                         []learnWait
	Air                           []learnAir
	Looks                         []struct {
		Key, Name, Say string
		K, N           int
		By             []struct {
			Key    string
			Levels []struct {
				Name, Say, Tells string
				K, N             int
				Told             bool
			}
		}
	}
	Quick []struct {
		Job, Label, Say string
		Steps           int
	}
}

// What the demo shop has learnt by its Wednesday morning: five vehicles, none of
// them done, so that nothing is told but where they stand; V5 sweated in bay 4
// in the night; and 'too few' wherever it is. Half an hour before V5 was read
// twice under the dew point it still was dry.
func TestLearn(t *testing.T) {
	s, now := demoAt(t, 'A', demo.Wednesday, "08:00")
	var a learnAnswer
	decoded(t, s.http.URL+"/learn", &a)
	if a.Jobs != 5 || a.Running != 5 || a.Left != 0 {
		t.Fatalf("%d vehicles, %d of them there, %d not told", a.Jobs, a.Running, a.Left)
	}
	i := slices.IndexFunc(a.Air, func(x learnAir) bool {
		return x.Place == "Bay 4"
	})
	if i < 0 || !slices.ContainsFunc(a.Air[i].Parts, func(p learnPart) bool { return p.Cause == "sweat" && p.Ms > 0 }) || a.Air[i].Month != "2026-01" {
		t.Errorf("bay 4: %+v", a.Air)
	}
	dry := a.Waits[slices.IndexFunc(a.Waits, func(w learnWait) bool {
		return w.Stage == "dry"
	})]
	if dry.N != 4 || dry.Running != 2 || !strings.Contains(dry.Say, "2 still there") { // V3 and V5 dry; V1 and V2 are past it, V4 has not come there
		t.Errorf("drying: %+v", dry)
	}
	for _, l := range a.Looks {
		if l.N != 0 || !strings.HasPrefix(l.Say, "No ") {
			t.Errorf("%s: %+v", l.Name, l)
		}
	}
	// The same as a table, by the standard library's reader; every row is whole,
	// and the half of drying is the same.
	code, text := get(t, s.http.URL+"/learn.csv?months=1")
	if code != 200 {
		t.Fatal(code, text)
	}
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) < 10 || len(rows[0]) != len(learnHead) || !strings.HasSuffix(text, "\r\n") {
		t.Fatalf("the table: %v, %d rows", err, len(rows))
	}
	found := false
	for _, r := range rows {
		if r[0] == "stands at" && r[1] == "Dry" && r[2] == "half" {
			h, err := strconv.ParseFloat(r[6], 64)
			found = err == nil && math.Abs(h-float64(dry.Half)/3_600_000) < 0.01 && r[4] == "4" && r[5] == "2" && r[9] == "h"
		}
	}
	if !found {
		t.Errorf("the table lacks drying: %s", text)
	}
	for _, bad := range []string{"0", "37", "-1", "a", "1e3"} {
		if code, _ := get(t, s.http.URL+"/learn?months="+bad); code != 400 {
			t.Errorf("months=%s is answered with %d", bad, code)
		}
	}
	// Two months on none of them began in the last one.
	now.Add(60 * 24 * 3_600_000)
	decoded(t, s.http.URL+"/learn?months=1", &a)
	if a.Jobs != 0 {
		t.Errorf("%d vehicles began within a month, two months after", a.Jobs)
	}
}

// A job that has got a line is told again, the others are not; and one that is
// asked to stop says how many it has not told.
func TestLearnKeeps(t *testing.T) {
	s, now := demoAt(t, 'A', demo.Wednesday, "08:00")
	stopped, err := s.past.look(12, func() bool { return true })
	if err != nil || stopped.left != 5 || len(stopped.jobs) != 0 {
		t.Fatalf("told to stop: %d left, %v", stopped.left, err)
	}
	n := 0
	some, err := s.past.look(12, func() bool { n++; return n > 2 })
	if err != nil || some.left != 3 || len(some.jobs) != 2 {
		t.Fatalf("two of five: %d left, %v", some.left, err)
	}
	never := func() bool { return false }
	if _, err := s.past.look(12, never); err != nil {
		t.Fatal(err)
	}
	first := now.Load()
	now.Add(60_000)
	mara := newPhone(t, "lead")
	mara.connect(s)
	mara.untilCaught()
	v5 := logbook.Log{Class: checklist.JobLog, ID: logbook.Named("job:V5")}
	mara.write(v5, logbook.Named("person:M"), checklist.Note{Text: "one more line", Salt: make([]byte, 16)})
	mara.untilKept()
	asked := 0
	if _, err := s.past.look(12, func() bool { asked++; return false }); err != nil || asked != 1 {
		t.Errorf("after one line %d vehicles are told again, %v", asked, err)
	}
	for id, k := range s.past.of {
		if again := k.at > first; again != (id == v5.ID) {
			t.Errorf("%s told again: %v", id, again)
		}
	}
}

// A label that a spreadsheet would compute is text in the table.
func TestLearnCSVIsHarmless(t *testing.T) {
	s := startShop(t, t.TempDir())
	p := newPhone(t, "crew")
	p.connect(s)
	p.untilCaught()
	job := logbook.Log{Class: checklist.JobLog, ID: logbook.Named("job:x")}
	p.write(job, logbook.ID{}, checklist.JobOpen{Label: "=1+1", Customer: "A", Vehicle: "van", Route: "van", Place: checklist.ID(logbook.Named("bay")), Panels: []checklist.Panel{{ID: "a", Name: "a", Zone: "upper"}}})
	for _, stage := range []string{"strip", "wash", "dry-fit", "wipe"} {
		p.write(job, logbook.ID{}, checklist.Tick{Stage: stage, Answer: "done"})
	}
	p.untilKept()
	code, text := get(t, s.http.URL+"/learn.csv")
	if code != 200 || strings.Contains(text, ",=1+1") || !strings.Contains(text, ",'=1+1,") {
		t.Errorf("%d: %s", code, text)
	}
}

// pastShop is a store with so many invented jobs of the last year, each the
// whole van of testdata/jobs at another time, and the air of its bays all year.
func pastShop(t testing.TB, n int) (*Store, int64) {
	const year = 365 * 24 * time.Hour
	all := story.Jobs["van"]()
	var shop logbook.ID
	for _, e := range all {
		if l := e.Line(); l.Log.Class == checklist.ShopLog {
			shop = logbook.ID(l.Log.ID)
		}
	}
	st, err := OpenStore(filepath.Join(t.TempDir(), StoreFile), shop, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	st.db.NoSync = true
	began := all[0].At
	for _, e := range all {
		if e.At.Before(began) {
			began = e.At
		}
	}
	length := all[len(all)-1].At.Sub(began)
	books := map[logbook.Log][]logbook.Entry{}
	add := func(log logbook.Log, e demo.Entry, by time.Duration) {
		l := e.Line()
		ms := e.At.Add(by).UnixMilli()
		body := e.Body
		later := func(ms ...*int64) {
			for _, p := range ms {
				if *p != 0 {
					*p += by.Milliseconds()
				}
			}
		}
		switch b := body.(type) { // times that stand in the body
		case checklist.ClimateBlock:
			later(&b.From, &b.To)
			body = b
		case checklist.Tick:
			later(&b.At)
			body = b
		case checklist.JobMove:
			later(&b.At)
			body = b
		case checklist.Setback:
			later(&b.From, &b.To)
			body = b
		case checklist.PlaceEvent:
			later(&b.From, &b.To)
			body = b
		}
		books[log] = append(books[log], logbook.Entry{Log: log, Writer: logbook.ID(l.ID.Writer), By: logbook.ID(l.By), Kind: body.Kind(), Body: line.Encode(body), At: logbook.Stamp{Wall: ms, Earliest: ms}})
	}
	for _, e := range all {
		l := e.Line()
		switch l.Log.Class {
		case checklist.ShopLog:
			add(logbook.Log{Class: l.Log.Class, ID: logbook.ID(l.Log.ID)}, e, 0)
		case checklist.PlaceLog:
			for by := time.Duration(0); by < year; by += length {
				add(logbook.Log{Class: l.Log.Class, ID: logbook.ID(l.Log.ID)}, e, by)
			}
		case checklist.JobLog:
			for i := range n {
				by := year / time.Duration(n) * time.Duration(i)
				log := logbook.Log{Class: checklist.JobLog, ID: logbook.ID{6: 0x70, 8: 0x80}}
				binary.BigEndian.PutUint64(log.ID[:], uint64(began.Add(by).UnixMilli())<<16|0x7000)
				binary.BigEndian.PutUint32(log.ID[12:], uint32(i))
				add(log, e, by)
			}
		}
	}
	err = st.db.Update(func(tx *bolt.Tx) error {
		b := newBatch(tx, st, 0)
		for log, entries := range books {
			slices.SortStableFunc(entries, func(a, b logbook.Entry) int { return cmp.Compare(a.At.Wall, b.At.Wall) })
			lines, err := b.bucket(log)
			if err != nil {
				return err
			}
			seqs := map[logbook.ID]uint64{}
			h := Head{Chain: logbook.Genesis(log)}
			for _, e := range entries {
				h.Order++
				seqs[e.Writer]++
				e.Seq = seqs[e.Writer]
				r := logbook.Receipt{Epoch: 1, Order: h.Order, Arrived: e.At.Wall, Earliest: e.At.Wall, Latest: e.At.Wall}
				raw, coded := e.Append(nil), r.Append(nil)
				h.Chain = logbook.Next(h.Chain, coded, raw)
				if e.Kind == (checklist.JobClose{}).Kind() {
					h.Closed, h.ClosedAt = e.Ref(), e.At.Wall
				}
				if err := lines.Put(be64(h.Order), record{h.Chain, coded, raw}.append(nil)); err != nil {
					return err
				}
			}
			b.heads[log] = h
		}
		return b.finish()
	})
	if err == nil {
		err = st.db.Update(func(tx *bolt.Tx) error {
			return errors.Join(tx.DeleteBucket(bucketFound), findAll(tx))
		})
	}
	if err == nil {
		err = st.db.View(st.load)
	}
	if err != nil {
		t.Fatal(err)
	}
	return st, began.Add(year + length).UnixMilli()
}

// Every one of many jobs that went alike is told alike.
func TestLearnMany(t *testing.T) {
	st, now := pastShop(t, 6)
	p := newPast(st, func() int64 { return now })
	l, err := p.look(13, func() bool { return false })
	if err != nil || len(l.jobs) != 6 || l.left != 0 {
		t.Fatalf("%d of 6 jobs, %v", len(l.jobs), err)
	}
	for _, j := range l.jobs {
		if j.Ended == 0 || len(j.Stands) != len(l.jobs[0].Stands) || len(j.Trials) != len(l.jobs[0].Trials) || len(j.Trials) < 8 {
			t.Errorf("%s: %d steps, %d looks", fmt.Sprint(j.Began), len(j.Stands), len(j.Trials))
		}
	}
}

// BenchmarkLearn is a shop's 2,000 jobs of a year, of some 200 lines each: asked
// for the first time, and again.
func BenchmarkLearn(b *testing.B) {
	const n = 2000
	st, now := pastShop(b, n)
	never := func() bool { return false }
	b.Run("first", func(b *testing.B) {
		for b.Loop() {
			p := newPast(st, func() int64 { return now })
			if l, err := p.look(13, never); err != nil || len(l.jobs) != n {
				b.Fatal(len(l.jobs), err)
			}
		}
		b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N)/n, "ms/job")
	})
	p := newPast(st, func() int64 { return now })
	if _, err := p.look(13, never); err != nil {
		b.Fatal(err)
	}
	b.Run("again", func(b *testing.B) {
		for b.Loop() {
			l, err := p.look(13, never)
			if err != nil {
				b.Fatal(err)
			}
			learnSink = len(learnRows(l, l.tell()))
		}
	})
}

var learnSink int
