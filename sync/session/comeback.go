package session

import (
	"errors"

	"bayhold/sync/cbor"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// The shop's end of a run that comes back (see the package comment): the proof
// first, then the lines. Of lines the session holds no more than two hashes
// each.

// comeback is a run of lines of one logbook that a phone brings back.
type comeback struct {
	next, last uint64 // orders: of the line to come, and of the last one
	hashes     []byte // of the lines from next on, receipt's and entry's
	proven     bool   // they lead to a head that this shop signed
	flying     int    // lines handed to the writer and not settled
}

const pair = 2 * len(logbook.Hash{})

// proof reads what a phone has of a logbook as hashes, finds where the shop's
// chain parts from it, and wants the lines behind that.
func (s *Shop) proof(r *cbor.Reader, n int) error {
	log := logbook.ReadLog(r)
	at := logbook.Cursor{Epoch: r.Uint(), Order: r.Uint(), Hash: readHash(r)}
	signature := r.Bytes()
	order, h := r.Uint(), readHash(r)
	hashes := r.Bytes()
	if r.Close() != nil || n != 7 {
		return refused(r, "proof")
	}
	if len(hashes)%pair != 0 || len(hashes)/pair > MaxRun || order > logbook.MaxSeq || order+uint64(len(hashes)/pair) != at.Order {
		return errors.New("session: proof refused: its hashes are not those of the lines up to its head")
	}
	if s.returned[log] != nil {
		return errors.New("session: proof refused: one run of a logbook after the other")
	}
	c := &comeback{next: order + 1, last: at.Order, hashes: hashes}
	ours := true // the shop's chain has been the phone's so far
	from := order
	for rest := hashes; ; rest = rest[pair:] {
		if ours {
			_, chain, ok, err := s.store.Chain(log, order)
			if err != nil {
				return err
			}
			if ours = ok && chain == h; ours {
				from = order
			}
		}
		if len(rest) == 0 {
			break
		}
		h = logbook.Link(h, logbook.Hash(rest), logbook.Hash(rest[pair/2:]))
		order++
	}
	if len(hashes) == 0 {
		c.next = c.last + 1 // the phone brings nothing
	} else if c.proven = h == at.Hash && s.store.Signed(log, at, signature); c.proven {
		c.hashes = append([]byte(nil), hashes[pair*int(from+1-c.next):]...)
		c.next = from + 1
	} else {
		c.hashes = nil
	}
	s.returned[log] = c
	if c.next > c.last {
		s.allTaken(log)
		return nil
	}
	next := c.next
	s.queue = append(s.queue, func(int64) []byte { return cbor.AppendUint(logbook.AppendLog(head(want, 2), log), next) })
	return nil
}

// bring reads lines that come back. One that is not what the proof says is
// handed on as unproven, and so is all behind it.
func (s *Shop) bring(r *cbor.Reader, n int, now int64) ([]judge.Submission, error) {
	log, first := logbook.ReadLog(r), r.Uint()
	count := list(r, maxLines, "lines")
	subs := make([]judge.Submission, 0, count)
	c := s.returned[log]
	proven := c != nil && c.proven
	for i := 0; i < count && r.Err() == nil; i++ {
		array(r, 2, "a line that comes back")
		receipt, entry := r.Bytes(), r.Bytes()
		back := &judge.Back{Log: log}
		sub := judge.Submission{Bytes: entry, Arrived: now, Latest: now, Back: back, Forks: s.forks, Tag: s.tag}
		var err, err2 error
		back.Receipt, err = logbook.DecodeReceipt(receipt)
		sub.Entry, err2 = logbook.Decode(entry)
		if err = errors.Join(err, err2); err != nil || sub.Entry.Log != log {
			sub.Entry, sub.Refusal = logbook.Entry{}, "what a phone brought back is no line of its logbook"
		}
		if proven = proven && len(c.hashes) >= (i+1)*pair; proven {
			of := c.hashes[i*pair:]
			proven = logbook.Hash(of) == logbook.Sum(receipt) && logbook.Hash(of[pair/2:]) == logbook.EntrySum(entry)
		}
		back.Proven = proven
		subs = append(subs, sub)
	}
	if r.Close() != nil || n != 3 || count == 0 {
		return nil, refused(r, "lines that come back")
	}
	if c == nil || first != c.next || uint64(count) > c.last+1-c.next {
		return nil, errors.New("session: lines that come back refused: they are not those that the shop wants")
	}
	c.next += uint64(count)
	c.flying += count
	if c.proven = proven; proven {
		c.hashes = c.hashes[count*pair:]
	}
	return subs, nil
}

// settleBack counts a line that the writer has decided on; with the last one
// the phone hears that all is on disk.
func (s *Shop) settleBack(sub *judge.Submission) {
	c := s.returned[sub.Back.Log]
	if c == nil {
		return
	}
	if c.flying--; c.flying == 0 && c.next > c.last {
		s.allTaken(sub.Back.Log)
	}
}

func (s *Shop) allTaken(log logbook.Log) {
	delete(s.returned, log)
	s.whole[log] = true
	s.queue = append(s.queue, func(int64) []byte { return logbook.AppendLog(head(taken, 1), log) })
}
