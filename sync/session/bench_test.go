package session_test

import (
	"testing"

	"bayhold/sync/cbor"
	"bayhold/sync/clock"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
	"bayhold/sync/session/memstore"
)

const backlogLines = 10_000

// backlog is a store with 10,000 lines in a job's logbook.
func backlog(b *testing.B) *memstore.Store {
	store := memstore.New()
	batch := make([]judge.Submission, backlogLines)
	for i := range batch {
		e := logbook.Entry{Log: simLogs[2], Writer: logbook.Named("A"), Seq: uint64(i + 1), By: logbook.Named("Mo"), Kind: "tick",
			At:   logbook.Stamp{Wall: 1772600000000 + int64(i), Earliest: 1772600000000, Mono: int64(i), Life: 1 << 52},
			Body: cbor.AppendText(cbor.AppendText(cbor.AppendMap(nil, 1), "stage"), "wash")}
		batch[i] = judge.Submission{Bytes: e.Append(nil), Entry: e, Arrived: 1772600000000, Latest: 1772600000000}
	}
	if _, err := store.Write(batch, policy); err != nil {
		b.Fatal(err)
	}
	store.Sync()
	return store
}

// BenchmarkBacklog is a phone that has nothing and gets 10,000 lines: the
// shop's batches (read) and what the phone does with them (apply), which
// names every line and follows the chain.
func BenchmarkBacklog(b *testing.B) {
	store := backlog(b)
	frames := func() (out []session.Frame) {
		s := session.NewShop(store, 1, nil)
		hello := session.NewPhone(logbook.Named("B"), clock.NewPhone(1, 1, 0)).Open(1, 0, nil, nil, nil, nil).Frames[0]
		if _, err := s.Frame(hello.Bytes, 1); err != nil {
			b.Fatal(err)
		}
		for {
			f, ok, err := s.Next(1)
			if err != nil {
				b.Fatal(err)
			}
			if !ok {
				return out
			}
			out = append(out, f)
		}
	}
	b.Run("read", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			frames()
		}
	})
	all := frames()
	size := 0
	for _, f := range all {
		size += len(f.Bytes)
	}
	b.Run("apply", func(b *testing.B) {
		b.ReportAllocs()
		b.SetBytes(int64(size))
		for b.Loop() {
			p := session.NewPhone(logbook.Named("B"), clock.NewPhone(1, 1, 0))
			p.Open(1, 0, nil, nil, nil, nil)
			lines := 0
			for _, f := range all {
				out, err := p.Frame(f.Bytes, 2, 1)
				if err != nil {
					b.Fatal(err)
				}
				lines += len(out.Lines)
			}
			if lines != backlogLines || !p.Caught() {
				b.Fatal(lines, "lines")
			}
		}
	})
}

// BenchmarkJudge is the one writer's decision on 10,000 new lines.
func BenchmarkJudge(b *testing.B) {
	lines, _ := backlog(b).After(simLogs[2], 0, backlogLines, 1<<30)
	batch := make([]judge.Submission, len(lines))
	for i, l := range lines {
		e, _ := logbook.Decode(l.Entry)
		batch[i] = judge.Submission{Bytes: l.Entry, Entry: e}
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := memstore.New().Write(batch, policy); err != nil {
			b.Fatal(err)
		}
	}
}
