package server

import (
	"context"

	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// Imported is what became of lines that came in a file.
type Imported struct {
	Kept  int      // new, and on disk now
	Known int      // the shop had them
	Aside []string // set aside for the lead, each with the reason
	Gaps  int      // cannot be taken before the lines in front of them
}

// Import takes lines that a phone saved as a file, its own or others', as if
// the phone had brought them: judged alike, and a line that the shop has is
// known by its name. When a line happened is known from its phone's last
// contact before it until now. The phone may come back and bring them too.
func (s *Server) Import(ctx context.Context, entries [][]byte) (Imported, error) {
	var all Imported
	forks := judge.Forks{}
	for len(entries) > 0 {
		n := min(len(entries), 1000)
		verdicts, err := s.take(ctx, entries[:n], forks)
		if err != nil {
			return all, err
		}
		for _, v := range verdicts {
			switch {
			case v.What == judge.Gap:
				all.Gaps++
			case v.What == judge.Aside:
				all.Aside = append(all.Aside, v.Reason)
			case v.Fresh:
				all.Kept++
			default:
				all.Known++
			}
		}
		entries = entries[n:]
	}
	return all, nil
}

// take submits lines to the writer and waits for the disk.
func (s *Server) take(ctx context.Context, entries [][]byte, forks judge.Forks) ([]judge.Verdict, error) {
	now := s.clock()
	subs := make([]judge.Submission, len(entries))
	for i, b := range entries {
		subs[i] = judge.Submission{Bytes: b, Arrived: now, Latest: now, Forks: forks}
		e, err := logbook.Decode(b)
		if err != nil {
			subs[i].Refusal = err.Error()
			continue
		}
		subs[i].Entry, subs[i].Earliest = e, min(e.At.Earliest, now)
	}
	type answer struct {
		verdicts []judge.Verdict
		err      error
	}
	done := make(chan answer, 1)
	err := s.writer.submit(task{subs: subs, done: func(_ []judge.Submission, vs []judge.Verdict, err error) { done <- answer{vs, err} }})
	if err != nil {
		return nil, err
	}
	select {
	case a := <-done:
		return a.verdicts, a.err
	case <-ctx.Done():
		return nil, ctx.Err()
	case <-s.writer.stopped:
		return nil, errStopped
	}
}
