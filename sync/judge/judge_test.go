package judge_test

import (
	"testing"

	"bayhold/sync/cbor"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session/memstore"
)

var job, phone = logbook.Log{Class: 'j', ID: logbook.Named("V1")}, logbook.Named("phone A")

func line(seq uint64, kind string) judge.Submission {
	e := logbook.Entry{Log: job, Writer: phone, Seq: seq, At: logbook.Stamp{Wall: 1_772_600_000_000}, Kind: kind, Body: cbor.AppendMap(nil, 0)}
	return judge.Submission{Bytes: e.Append(nil), Entry: e, Arrived: 1000 + int64(seq), Latest: 1000 + int64(seq)}
}

func policy(s *judge.Submission) string {
	if s.Entry.Kind == "bad" {
		return "refused"
	}
	return ""
}

// TestJudge submits the same lines in one batch and one by one, each on disk
// before the next: the verdicts must be the same.
func TestJudge(t *testing.T) {
	broken := judge.Submission{Bytes: []byte("no entry"), Refusal: "no entry"}
	steps := []struct {
		name  string
		sub   judge.Submission
		what  judge.What
		fresh bool
		code  judge.Code
		order uint64
		from  uint64
	}{
		{"first", line(1, "tick"), judge.Kept, true, 0, 1, 0},
		{"the same again", line(1, "tick"), judge.Kept, false, 0, 1, 0},
		{"a gap", line(3, "tick"), judge.Gap, false, 0, 0, 2},
		{"other bytes under a kept name", line(1, "note"), judge.Aside, true, judge.Fork, 0, 0},
		{"that again", line(1, "note"), judge.Aside, false, judge.Fork, 0, 0},
		{"refused by the policy, with its seq", line(2, "bad"), judge.Aside, true, judge.Form, 0, 0},
		{"that again", line(2, "bad"), judge.Aside, false, judge.Form, 0, 0},
		{"other bytes under a refused name", line(2, "tick"), judge.Aside, true, judge.Fork, 0, 0},
		{"the gap is closed", line(3, "tick"), judge.Kept, true, 0, 2, 0},
		{"no entry", broken, judge.Aside, true, judge.Form, 0, 0},
		{"no entry again", broken, judge.Aside, false, judge.Form, 0, 0},
	}
	for _, together := range []bool{true, false} {
		store := memstore.New()
		var got []judge.Verdict
		var batch []judge.Submission
		for i, s := range steps {
			batch = append(batch, s.sub)
			if together && i < len(steps)-1 {
				continue
			}
			v, err := store.Write(batch, policy)
			if err != nil {
				t.Fatal(err)
			}
			store.Sync()
			got, batch = append(got, v...), nil
		}
		chain := logbook.Genesis(job)
		for i, s := range steps {
			v := got[i]
			if v.What != s.what || v.Fresh != s.fresh || v.Code != s.code || v.Receipt.Order != s.order || v.From != s.from {
				t.Errorf("together %v: %s: %+v", together, s.name, v)
			}
			if v.What == judge.Kept && v.Fresh {
				if chain = logbook.Next(chain, v.Coded, s.sub.Bytes); v.Chain != chain {
					t.Errorf("%s: another chain", s.name)
				}
			}
		}
		if string(got[1].Coded) != string(got[0].Coded) {
			t.Error("kept again with another receipt")
		}
	}
}

// A copy of the phone has line 1. What the phone itself brings behind its own
// line 1, in the same batch or a later one, gets no place: its strike of line 1
// would take back the copy's.
func TestNothingBehindAFork(t *testing.T) {
	for _, together := range []bool{true, false} {
		store := memstore.New()
		if _, err := store.Write([]judge.Submission{line(1, "tick")}, policy); err != nil {
			t.Fatal(err)
		}
		own, behind := line(1, "note"), line(2, "strike")
		behind.Entry.Strikes = []logbook.Ref{{Writer: phone, Seq: 1}}
		behind.Bytes = behind.Entry.Append(nil)
		forks := judge.Forks{}
		own.Forks, behind.Forks = forks, forks
		batches := [][]judge.Submission{{own}, {behind}}
		if together {
			batches = [][]judge.Submission{{own, behind}}
		}
		var got []judge.Verdict
		for _, b := range batches {
			v, err := store.Write(b, policy)
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, v...)
		}
		if got[0].Code != judge.Fork || got[1].What != judge.Aside || got[1].Code != judge.Closed || got[1].Fresh {
			t.Errorf("together %v: %+v", together, got)
		}
		// Over a connection that saw no fork the writer goes on.
		if v, err := store.Write([]judge.Submission{line(2, "tick")}, policy); err != nil || v[0].What != judge.Kept {
			t.Errorf("the copy's next line: %+v %v", v, err)
		}
	}
}

// back is a line that a phone brings back, with its first receipt.
func back(seq uint64, kind string, proven bool, forks judge.Forks, strikes ...logbook.Ref) judge.Submission {
	s := line(seq, kind)
	s.Entry.Strikes = strikes
	s.Bytes, s.Arrived, s.Latest, s.Forks = s.Entry.Append(nil), 9000, 9000, forks
	s.Back = &judge.Back{Log: job, Proven: proven, Receipt: logbook.Receipt{Epoch: 1, Order: 40 + seq, Arrived: 1000 + int64(seq), Earliest: 5, Latest: 6}}
	return s
}

// Lines that come back after a restore: gaps and the policy do not hold them up,
// a proof does, and so does a name that is taken.
func TestBack(t *testing.T) {
	forks := judge.Forks{}
	steps := []struct {
		name  string
		sub   judge.Submission
		what  judge.What
		fresh bool
		code  judge.Code
		order uint64
	}{
		{"behind a gap", back(4, "tick", true, nil), judge.Kept, true, 0, 1},
		{"the same again", back(4, "tick", true, nil), judge.Kept, false, 0, 1},
		{"and by its writer", line(4, "tick"), judge.Kept, false, 0, 1},
		{"before it", back(2, "tick", true, nil), judge.Kept, true, 0, 2},
		{"what a policy of today refuses", back(3, "bad", true, nil), judge.Kept, true, 0, 3},
		{"without proof", back(5, "tick", false, nil), judge.Aside, true, judge.Proof, 0},
		{"without proof, but here", back(4, "tick", false, nil), judge.Kept, false, 0, 1},
		{"with proof after all", back(5, "tick", true, nil), judge.Kept, true, 0, 4},
		{"the writer goes on", line(6, "tick"), judge.Kept, true, 0, 5},
		{"under a name that is taken", back(6, "note", true, forks), judge.Aside, true, judge.Fork, 0},
		{"behind that", back(7, "tick", true, forks), judge.Aside, true, judge.Fork, 0},
		{"without proof, and refused by the policy", back(7, "bad", false, nil), judge.Aside, true, judge.Proof, 0},
		{"by its writer: now it takes its name", line(7, "bad"), judge.Aside, true, judge.Form, 0},
		{"that again", line(7, "bad"), judge.Aside, false, judge.Form, 0},
		{"the writer goes on behind it", line(8, "tick"), judge.Kept, true, 0, 6},
		{"taking it back", back(1, "note", true, forks, logbook.Ref{Writer: phone, Seq: 6}), judge.Aside, true, judge.Form, 0},
	}
	store := memstore.New()
	store.Restore(0) // epoch 2
	for _, s := range steps {
		got, err := store.Write([]judge.Submission{s.sub}, policy)
		if err != nil {
			t.Fatal(err)
		}
		v := got[0]
		if v.What != s.what || v.Fresh != s.fresh || v.Code != s.code || v.Receipt.Order != s.order {
			t.Errorf("%s: %+v", s.name, v)
		}
		if v.What != judge.Kept || !v.Fresh || s.sub.Back == nil {
			continue
		}
		old := s.sub.Back.Receipt
		if want := (logbook.Receipt{Epoch: 2, Order: s.order, Arrived: 9000, Earliest: 5, Latest: 6, Was: logbook.Was{Epoch: 1, Order: old.Order, Arrived: old.Arrived}}); v.Receipt != want {
			t.Errorf("%s: receipt %+v, want %+v", s.name, v.Receipt, want)
		}
	}
}
