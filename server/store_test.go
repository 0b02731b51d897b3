package server

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/jsonl"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// submit hands entries to the writer and waits for its verdicts.
func (s *shopAt) submit(t testing.TB, entries ...logbook.Entry) []judge.Verdict {
	t.Helper()
	var subs []judge.Submission
	for _, e := range entries {
		now := s.clock()
		subs = append(subs, judge.Submission{Bytes: e.Append(nil), Entry: e, Arrived: now, Earliest: now, Latest: now})
	}
	return s.judge(t, subs...)
}

func (s *shopAt) judge(t testing.TB, subs ...judge.Submission) []judge.Verdict {
	t.Helper()
	answer := make(chan []judge.Verdict, 1)
	err := s.writer.submit(task{subs: subs, done: func(_ []judge.Submission, v []judge.Verdict, err error) {
		if err != nil {
			t.Error(err)
		}
		answer <- v
	}})
	if err != nil {
		t.Fatal(err)
	}
	return <-answer
}

func note(writer string, seq uint64, text string) logbook.Entry {
	return logbook.Entry{Log: jobV5, Writer: logbook.Named(writer), Seq: seq, By: crew, Kind: "note",
		Body: line.Encode(checklist.Note{Text: text, Salt: make([]byte, 16)})}
}

// The store holds each line once, refuses another line of the same name, asks
// for what is missing, and stays true to itself (stop verifies it).
func TestStoreJudges(t *testing.T) {
	s := startShop(t, t.TempDir())
	for _, step := range []struct {
		what    string
		entries []logbook.Entry
		want    string
	}{
		{"three lines", []logbook.Entry{note("a", 1, "x"), note("a", 2, "y"), note("b", 1, "z")}, "kept 1, kept 2, kept 3"},
		{"one of them again", []logbook.Entry{note("a", 2, "y")}, "kept 2"},
		{"twice in one batch", []logbook.Entry{note("a", 3, "w"), note("a", 3, "w")}, "kept 4, kept 4"},
		{"another line of the same name", []logbook.Entry{note("a", 2, "forged")}, "aside 2"},
		{"and again", []logbook.Entry{note("a", 2, "forged")}, "aside 2"},
		{"a gap", []logbook.Entry{note("a", 6, "v")}, "gap from 4"},
		{"the gap is filled", []logbook.Entry{note("a", 4, "t"), note("a", 5, "u"), note("a", 6, "v")}, "kept 5, kept 6, kept 7"},
	} {
		var got []string
		for _, v := range s.submit(t, step.entries...) {
			switch v.What {
			case judge.Kept:
				got = append(got, fmt.Sprint("kept ", v.Receipt.Order))
			case judge.Aside:
				got = append(got, fmt.Sprint("aside ", v.Code))
			case judge.Gap:
				got = append(got, fmt.Sprint("gap from ", v.From))
			}
		}
		if strings.Join(got, ", ") != step.want {
			t.Errorf("%s: %s, want %s", step.what, strings.Join(got, ", "), step.want)
		}
	}
	if aside, _ := s.store.Aside(); len(aside) != 1 || !bytes.Contains(aside[0].Bytes, []byte("forged")) {
		t.Errorf("the forged line is not kept aside: %v", aside)
	}
}

// What was judged survives a restart: nothing in memory is the truth.
func TestStoreAfterRestart(t *testing.T) {
	dir := t.TempDir()
	s := startShop(t, dir)
	crewed(t, s)
	s.submit(t, note("a", 1, "x"), note("a", 2, "y"))
	s.submit(t, note("a", 2, "forged"))
	want, epoch, shop := s.copyOf(t, jobV5), s.store.Epoch(), s.store.Shop()
	heads := s.store.Heads()
	s.stop(t)

	again := startShop(t, dir)
	if !bytes.Equal(again.copyOf(t, jobV5), want) || again.store.Epoch() != epoch || again.store.Shop() != shop {
		t.Error("the store came back different")
	}
	for log, h := range heads {
		if again.store.Heads()[log] != h {
			t.Errorf("head of %c:%s: %+v, was %+v", log.Class, log.ID, again.store.Heads()[log], h)
		}
	}
	v := again.submit(t, note("a", 1, "x"), note("a", 2, "forged"), note("a", 4, "gap"), note("a", 3, "z"))
	if v[0].Receipt.Order != 2 || v[1].What != judge.Aside || v[2].From != 3 || v[3].Receipt.Order != 4 {
		t.Errorf("judged anew: %+v", v)
	}
}

// A phone brought a line back without proof, which takes no name. Then its
// writer sends it, and it is refused: now it has its name, also on the disk.
func TestBroughtAsideThenRefused(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	waiver := logbook.Entry{Log: jobV5, Writer: logbook.Named("a"), Seq: 1, By: crew, Kind: "waiver",
		Body: line.Encode(checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: "goes tonight"})}
	back := judge.Submission{Bytes: waiver.Append(nil), Entry: waiver, Back: &judge.Back{Log: jobV5}}
	if v := s.judge(t, back); v[0].What != judge.Aside || v[0].Code != judge.Proof {
		t.Fatalf("without proof: %+v", v)
	}
	for range 2 {
		if v := s.submit(t, waiver); v[0].What != judge.Aside || v[0].Code != judge.Form {
			t.Fatalf("by its writer: %+v", v)
		}
	}
	if v := s.submit(t, note("a", 2, "x")); v[0].What != judge.Kept {
		t.Errorf("the line behind it: %+v", v)
	}
}

// A line of good form that is refused takes its seq along, so that its writer
// goes on; the same line again gets the same answer.
func TestRefusedLineTakesItsSeq(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	waiver := logbook.Entry{Log: jobV5, Writer: logbook.Named("a"), Seq: 1, By: crew, Kind: "waiver",
		Body: line.Encode(checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: "goes tonight"})}
	v := s.submit(t, waiver, note("a", 2, "x"))
	if v[0].What != judge.Aside || v[1].What != judge.Kept {
		t.Fatalf("%+v", v)
	}
	again := s.submit(t, waiver)[0]
	if again.What != judge.Aside || again.Reason != v[0].Reason || again.Fresh {
		t.Errorf("the second time: %+v", again)
	}
}

// The first start writes the rules, once, and makes the shop's name once.
func TestFirstStart(t *testing.T) {
	dir := t.TempDir()
	s := startShop(t, dir)
	if got := s.store.Heads()[s.store.Shop()].Order; got != 1 {
		t.Fatalf("%d lines in a new shop", got)
	}
	hash, values, ok := s.writer.shop.RulesInForce()
	if !ok || len(hash) != 64 || len(values) != len(checklist.RuleTable) {
		t.Errorf("rules %q with %d values, want %d", hash, len(values), len(checklist.RuleTable))
	}
	s.stop(t)
	again := startShop(t, dir)
	if got := again.store.Heads()[again.store.Shop()].Order; got != 1 {
		t.Errorf("%d lines after the second start", got)
	}
}

// Verify finds what is wrong: it can fail.
func TestVerifyFindsDamage(t *testing.T) {
	for what, harm := range map[string]func(tx *bolt.Tx) error{
		"a changed entry": func(tx *bolt.Tx) error {
			b := tx.Bucket(bucketLines).Bucket(logKey(jobV5))
			raw := bytes.Replace(b.Get(be64(2)), []byte("ground"), []byte("foamed"), 1)
			return b.Put(be64(2), raw)
		},
		"a missing line": func(tx *bolt.Tx) error {
			return tx.Bucket(bucketLines).Bucket(logKey(jobV5)).Delete(be64(2))
		},
		"a lost name": func(tx *bolt.Tx) error {
			return tx.Bucket(bucketNames).Delete(nameKey(jobV5, logbook.Ref{Writer: logbook.Named("a"), Seq: 2}))
		},
		"a head that is behind": func(tx *bolt.Tx) error {
			return tx.Bucket(bucketHeads).Put(logKey(jobV5), Head{Order: 2, Chain: logbook.Genesis(jobV5)}.append(nil))
		},
		"a writer that is behind": func(tx *bolt.Tx) error {
			return tx.Bucket(bucketSettled).Put(writerKey(jobV5, logbook.Named("a")), be64(1))
		},
	} {
		dir := t.TempDir()
		s := startShop(t, dir)
		s.submit(t, note("a", 1, "x"), note("a", 2, "ground"), note("a", 3, "z"))
		s.stop(t)
		st, err := OpenStore(filepath.Join(dir, StoreFile), logbook.ID{}, time.Now)
		if err != nil {
			t.Fatal(err)
		}
		if err := st.Verify(); err != nil {
			t.Errorf("before %s: %v", what, err)
		}
		if err := st.db.Update(harm); err != nil {
			t.Fatal(err)
		}
		if err := st.Verify(); err == nil {
			t.Errorf("%s is not found", what)
		}
		st.Close()
	}
}

// Phones carry the shop's logbook, open jobs, jobs handed over lately, and the
// places as far back as two weeks or the oldest open job.
func TestCarries(t *testing.T) {
	now := time.Date(2026, 1, 14, 8, 0, 0, 0, time.UTC)
	s, err := Open(Config{Data: t.TempDir(), App: appFiles, Worker: []byte("//"), Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	job := func(name string) logbook.Log { return logbook.Log{Class: 'j', ID: logbook.Named(name)} }
	day := func(n int) int64 { return now.AddDate(0, 0, n).UnixMilli() }
	seq := map[logbook.Log]uint64{}
	put := func(log logbook.Log, at int64, body checklist.Body, strikes ...logbook.Ref) {
		t.Helper()
		err := s.writer.do(context.Background(), func(p *pen) error {
			seq[log]++
			e := logbook.Entry{Log: log, Writer: logbook.Named("w"), Seq: seq[log], Kind: "strike", Body: line.Nothing, Strikes: strikes}
			if body != nil {
				e.Kind, e.Body = body.Kind(), line.Encode(body)
			}
			p.subs = append(p.subs, judge.Submission{Bytes: e.Append(nil), Entry: e, Arrived: at, Earliest: at, Latest: at})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	block := func(at int64) checklist.ClimateBlock {
		return blockOf("x", []point{{at, 20_000, 50_000}})
	}
	for d := -40; d <= 0; d++ { // one block a day: order 1 is 40 days old
		put(placeLog(bay4), day(d), block(day(d)))
	}
	carried := func() map[logbook.Log]uint64 {
		list, err := s.store.Carries()
		if err != nil {
			t.Fatal(err)
		}
		out := map[logbook.Log]uint64{}
		for _, c := range list {
			out[c.Log] = c.From
		}
		return out
	}
	if got := carried()[placeLog(bay4)]; got != 26 { // days -40 to -15 arrived before the two weeks
		t.Errorf("without jobs: climate from behind order %d, want 26", got)
	}
	put(job("old"), day(-20), checklist.JobOpen{Label: "old", Route: "panels"})
	if got := carried()[placeLog(bay4)]; got != 20 { // -40 to -21
		t.Errorf("a job since 20 days: climate from behind order %d, want 20", got)
	}
	put(job("gone"), day(-30), checklist.JobOpen{Label: "gone", Route: "panels"})
	put(job("gone"), day(-15), checklist.JobClose{How: "handed-over"})
	put(job("lately"), day(-12), checklist.JobOpen{Label: "lately", Route: "panels"})
	put(job("lately"), day(-2), checklist.JobClose{How: "handed-over"})
	put(job("back"), day(-30), checklist.JobOpen{Label: "back", Route: "panels"})
	put(job("back"), day(-25), checklist.JobClose{How: "handed-over"})
	check := func(when string, want map[string]bool) {
		t.Helper()
		got := carried()
		for name, carries := range want {
			if _, ok := got[job(name)]; ok != carries {
				t.Errorf("%s: %s carried: %v", when, name, ok)
			}
		}
		if _, ok := got[s.store.Shop()]; !ok {
			t.Errorf("%s: the shop's logbook is not carried", when)
		}
	}
	check("before", map[string]bool{"old": true, "gone": false, "lately": true, "back": false})
	put(job("back"), day(0), nil, logbook.Ref{Writer: logbook.Named("w"), Seq: 2})
	check("after the hand-over was taken back", map[string]bool{"back": true})
}

// A task of the server's own that fails takes nobody else's lines with it, and
// leaves nothing behind.
func TestOwnTaskThatFails(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	hold, held := make(chan bool), make(chan bool)
	go s.writer.do(context.Background(), func(*pen) error { held <- true; <-hold; return nil })
	<-held // the writer is busy; what follows waits and is gathered into one round
	answers := make(chan error, 3)
	for _, body := range []checklist.Body{
		checklist.Tick{Stage: "wash", Answer: "done", Note: "before it"}, // written twice, for the first round fails
		checklist.Tick{Stage: "wash", Answer: "done", Note: strings.Repeat("x", logbook.MaxEntry)},
		checklist.Tick{Stage: "wash", Answer: "done", Note: "short"},
	} {
		err := s.writer.submit(task{
			own:  func(p *pen) error { return p.write(jobV5, body) },
			done: func(_ []judge.Submission, _ []judge.Verdict, err error) { answers <- err }})
		if err != nil {
			t.Fatal(err)
		}
	}
	kept := make(chan []judge.Verdict, 1)
	e := note("a", 1, "x")
	if err := s.writer.submit(task{subs: []judge.Submission{{Bytes: e.Append(nil), Entry: e}},
		done: func(_ []judge.Submission, v []judge.Verdict, _ error) { kept <- v }}); err != nil {
		t.Fatal(err)
	}
	close(hold)
	if err := <-answers; err == nil {
		t.Error("a line that is too long was written")
	}
	for range 2 {
		if err := <-answers; err != nil {
			t.Errorf("another task: %v", err)
		}
	}
	if v := <-kept; len(v) != 1 || v[0].What != judge.Kept {
		t.Errorf("the phone's line: %+v", v)
	}
	if got := s.store.Heads()[jobV5].Order; got != 4 { // the one that opened it, the phone's, and two
		t.Errorf("%d lines in the job, want 4", got)
	}
}

// What is exported is read back to the same entries and receipts.
func TestExport(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	s.submit(t, note("a", 1, "x"), note("a", 2, "y"))
	var b bytes.Buffer
	n, err := s.store.Export(&b)
	if err != nil || uint64(n) != s.store.Entries() {
		t.Fatalf("%d lines of %d: %v", n, s.store.Entries(), err)
	}
	lines, err := jsonl.Read(&b)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[logbook.Log]uint64{}
	for _, l := range lines {
		seen[l.Entry.Log]++
		if l.Receipt == nil || l.Receipt.Order != seen[l.Entry.Log] {
			t.Fatalf("line %d has receipt %+v", l.Number, l.Receipt)
		}
		stored, err := s.store.After(l.Entry.Log, l.Receipt.Order-1, 1, 1)
		if err != nil || !bytes.Equal(stored[0].Entry, l.Bytes) || !bytes.Equal(stored[0].Receipt, l.Receipt.Append(nil)) {
			t.Errorf("line %d differs from the store", l.Number)
		}
	}
}

func TestStoreInUse(t *testing.T) {
	dir := t.TempDir()
	startShop(t, dir)
	_, err := OpenStore(filepath.Join(dir, StoreFile), logbook.ID{}, time.Now)
	if err == nil || !strings.Contains(err.Error(), "in use") {
		t.Errorf("a second server on one store: %v", err)
	}
	if _, err := ReadStore(filepath.Join(t.TempDir(), StoreFile)); err == nil {
		t.Error("a store that is not there is read")
	}
}
