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

func policy(e *logbook.Entry) string {
	if e.Kind == "bad" {
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
		forked := map[logbook.ID]bool{}
		own.Forked, behind.Forked = forked, forked
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
