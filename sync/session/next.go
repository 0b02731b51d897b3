package session

import (
	"errors"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// Poke says that a logbook has new lines on disk; one that phones did not
// carry at the hello is carried from its first line.
func (s *Shop) Poke(log logbook.Log) {
	if !s.met || s.old || s.lost[log] {
		return // the hello lists everything, or this phone gets nothing
	}
	p := s.pos[log]
	if p == nil {
		p = &position{}
		s.pos[log] = p
	}
	if !p.due {
		p.due = true
		s.due = append(s.due, log)
	}
}

// Live queues a value that is not stored. A phone that does not keep up does
// without.
func (s *Shop) Live(log logbook.Log, body []byte) {
	if s.met && len(s.queue) < 64 {
		s.queue = append(s.queue, func(int64) []byte { return append(logbook.AppendLog(head(live, 2), log), body...) })
	}
}

// Next is the next frame to write, false if there is none: answers first, and
// then lines, read from the store behind the session's own position. Call it
// when the socket has room, after anything that may have made one.
func (s *Shop) Next(now int64) (Frame, bool, error) {
	if len(s.queue) > 0 {
		b := s.queue[0](now)
		s.queue[0] = nil
		s.queue = s.queue[1:]
		return Frame{Bytes: b}, true, nil
	}
	for s.ready == nil && len(s.receipts) == 0 && len(s.due) > 0 {
		if err := s.batch(s.due[0]); err != nil {
			return Frame{}, false, err
		}
	}
	// A batch leaves out lines whose receipts it has just found: they go first.
	if n := min(len(s.receipts), maxLines); n > 0 {
		frame, err := s.kept(n)
		return frame, err == nil, err
	}
	if s.ready != nil {
		frame := *s.ready
		s.ready = nil
		return frame, true, nil
	}
	if s.met && !s.caught && !s.old && len(s.lost) == 0 && len(s.due) == 0 {
		s.caught = true
		return Frame{Bytes: head(caught, 0)}, true, nil
	}
	return Frame{}, false, nil
}

// kept is the frame of the next n receipts: a run of lines of one writer in
// one logbook after the other.
func (s *Shop) kept(n int) (Frame, error) {
	var runs [][]Receipt
	for from, i := 0, 1; i <= n; i++ {
		if i == n || s.receipts[i].Name.Log != s.receipts[from].Name.Log || s.receipts[i].Name.Ref.Writer != s.receipts[from].Name.Ref.Writer {
			runs, from = append(runs, s.receipts[from:i]), i
		}
	}
	b := cbor.AppendArray(head(kept, 1), len(runs))
	for _, run := range runs {
		receipts := make([]logbook.Receipt, len(run))
		for i, k := range run {
			var err error
			if receipts[i], err = logbook.DecodeReceipt(k.Receipt); err != nil {
				return Frame{}, err
			}
		}
		n := width(receipts)
		if s.first {
			n = fewColumns // it has no chain to keep, and the times are right
		}
		b = appendID(logbook.AppendLog(cbor.AppendArray(b, 5+n), run[0].Name.Log), run[0].Name.Ref.Writer)
		b = cbor.AppendUint(b, uint64(len(run)))
		b = appendColumn(b, len(run), func(i int) int64 { return int64(run[i].Name.Ref.Seq) })
		b = appendColumn(b, len(run), func(i int) int64 { return int64(run[i].Order) })
		b = appendReceipts(b, receipts, n)
	}
	if s.receipts = s.receipts[n:]; len(s.receipts) == 0 {
		s.receipts = nil
	}
	return Frame{Bytes: b, Batch: n > 1}, nil
}

// batch makes the next lines of the first logbook that is due ready, if there
// are any. Logbooks take turns, so that a long one holds up no other. A phone
// that begins a logbook, or has sent lines of its own, gets a frame of its own.
func (s *Shop) batch(log logbook.Log) error {
	p := s.pos[log]
	own := func() (*Batch, error) { return s.make(log, p) }
	var b *Batch
	var err error
	if p.base || len(s.yours) > 0 || len(s.flying) > 0 {
		b, err = own()
	} else {
		b, err = s.store.Shared(log, p.order, own)
	}
	if err != nil {
		return err
	}
	s.due = s.due[1:]
	if p.due = b != nil && b.More; p.due {
		s.due = append(s.due, log)
	}
	if b != nil {
		p.order, p.base = b.Last, false
		s.ready = &b.Frame
	}
	return nil
}

// make makes the batch behind a position, nil if there are no lines.
func (s *Shop) make(log logbook.Log, p *position) (*Batch, error) {
	stored, err := s.store.After(log, p.order, maxLines, maxBytes)
	if err != nil || len(stored) == 0 {
		return nil, err
	}
	size := 0
	for _, line := range stored {
		size += len(line.Entry)
	}
	b := make([]byte, 0, size+64*len(stored)+128)
	b = cbor.AppendUint(logbook.AppendLog(appendType(b, batch, 8), log), p.order)
	if p.base {
		_, chain, ok, err := s.store.Chain(log, p.order)
		if err != nil || !ok {
			return nil, errors.Join(errors.New("session: the store has no hash where a phone begins"), err)
		}
		b = appendHash(b, chain)
	} else {
		b = cbor.AppendNull(b)
	}
	order := p.order
	receipts := make([]logbook.Receipt, len(stored))
	for i, line := range stored {
		if order++; line.Order != order {
			return nil, errors.New("session: the store has a gap in a logbook")
		}
		if receipts[i], err = logbook.DecodeReceipt(line.Receipt); err != nil {
			return nil, err
		}
	}
	b = cbor.AppendUint(b, uint64(len(stored)))
	columns := width(receipts)
	b = appendReceipts(cbor.AppendArray(b, columns), receipts, columns)
	b = cbor.AppendArray(b, len(stored))
	for _, line := range stored {
		if s.isYours(log, line) {
			b = cbor.AppendNull(b)
		} else {
			b = cbor.AppendBytes(b, line.Entry)
		}
	}
	epoch, chain, ok, err := s.store.Chain(log, order)
	if err != nil || !ok {
		return nil, errors.Join(errors.New("session: the store has no hash for a line"), err)
	}
	b = cbor.AppendBytes(appendHash(b, chain), s.store.Sign(log, logbook.Cursor{Epoch: epoch, Order: order, Hash: chain}))
	return &Batch{Frame: Frame{Bytes: b, Batch: len(stored) > 1}, Last: order,
		More: len(stored) == maxLines || size >= maxBytes}, nil
}

// isYours says whether the phone has the line's bytes because it sent them in
// this session. The writer may have put it on disk before its verdict came
// here; then the store's receipt is the verdict.
func (s *Shop) isYours(log logbook.Log, line Stored) bool {
	at := place{log, line.Order}
	if s.yours[at] {
		delete(s.yours, at)
		return true
	}
	if len(s.flying) == 0 {
		return false
	}
	e, err := logbook.Decode(line.Entry)
	if err != nil {
		return false
	}
	name := Name{log, e.Ref()}
	if sum, ok := s.flying[name]; !ok || sum != logbook.EntrySum(line.Entry) {
		return false
	}
	delete(s.flying, name)
	s.receipts = append(s.receipts, Receipt{name, line.Order, line.Receipt})
	return true
}
