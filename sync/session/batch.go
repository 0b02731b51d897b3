package session

import (
	"errors"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// batch takes the next lines of one logbook: all of them, if they follow the
// cursor without a gap and lead to the hash that the shop names, or none.
func (p *Phone) batch(out *Out, r *cbor.Reader, n int) error {
	log := logbook.ReadLog(r)
	after := r.Uint()
	if after > logbook.MaxSeq {
		r.Fail("an order beyond 53 bits")
	}
	var base *logbook.Hash
	if !r.Null() {
		h := readHash(r)
		base = &h
	}
	at, known := p.cursors[log]
	if !known {
		at = logbook.Cursor{Hash: logbook.Genesis(log)}
		if base != nil {
			at.Order, at.Hash = after, *base
		}
	}
	receipts := make([]logbook.Receipt, count(r))
	for i := range receipts {
		receipts[i].Order = after + uint64(i) + 1
	}
	coded := readReceipts(r, receipts, readWidth(r, 0, "what a batch says of its lines"))
	count := list(r, maxLines, "lines")
	if count != len(receipts) {
		r.Fail("columns of different lengths")
	}
	if r.Err() == nil && after+uint64(count) <= at.Order {
		for ; count > 0; count-- {
			r.Skip()
		}
		readHash(r)
		if r.Bytes(); r.Close() != nil || n != 8 {
			return refused(r, "batch")
		}
		return nil // all of it was here before: the frame came twice
	}
	if r.Err() == nil && after != at.Order {
		return errors.New("session: batch refused: it does not follow this phone's cursor")
	}
	lines := make([]Line, 0, count) // without an entry: of this phone, and its receipt came before
	forked := false
	for i := 0; i < count && r.Err() == nil; i++ {
		line, sum := p.line(r, log, &at, &receipts[i], coded[i])
		if o := p.mine.Get(line.Name); line.Entry != nil && o != nil && o.sum() != sum {
			forked = true
		}
		lines = append(lines, line)
	}
	end := readHash(r)
	signature := r.Bytes()
	if len(signature) > logbook.MaxSignature {
		r.Fail("a signature of another length")
	}
	if r.Close() != nil || n != 8 {
		return refused(r, "batch")
	}
	if end != at.Hash {
		return errors.New("session: batch refused: its chain does not lead to the shop's hash")
	}
	if forked || p.held[log] {
		// The shop has another line under the name of one that waits here.
		// This logbook stands still until the new writer has taken it over.
		p.held[log], p.closing = true, true
		return nil
	}
	p.cursors[log] = at
	out.Lines = lines[:0]
	for i := range lines {
		p.ahead.Delete(place{log, lines[i].Order}.name())
		if lines[i].Entry != nil {
			p.settled(lines[i].Name)
			out.Lines = append(out.Lines, lines[i])
		}
	}
	out.Moved = append(out.Moved, Moved{log, at, signature, p.base(log, base, after)})
	return nil
}

// line reads one line behind its receipt and moves the cursor over it. Of an
// entry it reads the name alone: the shop has judged it, and one whose form is
// younger than this phone's app is kept and chained like any other.
func (p *Phone) line(r *cbor.Reader, log logbook.Log, at *logbook.Cursor, receipt *logbook.Receipt, coded []byte) (line Line, sum logbook.Hash) {
	line.Receipt = coded
	if receipt.Order != at.Order+1 || receipt.Epoch < at.Epoch {
		r.Fail("order or epoch does not follow")
		return line, sum
	}
	line.Order = receipt.Order
	if r.Null() {
		if sent := p.ahead.Get(place{log, line.Order}.name()); sent == nil {
			r.Fail("a line without its bytes that this phone did not send")
		} else {
			sum = sent.sum()
		}
	} else {
		line.Entry = r.Bytes()
		of, ref, ok := logbook.NameOf(line.Entry)
		if !ok || of != log {
			r.Fail("an entry of another logbook")
		}
		line.Name, sum = Name{log, ref}, logbook.EntrySum(line.Entry)
	}
	at.Hash = logbook.NextSum(at.Hash, coded, sum)
	at.Epoch, at.Order = receipt.Epoch, receipt.Order
	return line, sum
}

// base is where this phone's copy of a logbook begins, nil if at its first line.
func (p *Phone) base(log logbook.Log, begins *logbook.Hash, after uint64) *logbook.Cursor {
	for i := range p.copies {
		if p.copies[i].Log == log {
			return p.copies[i].Base
		}
	}
	m := Moved{Log: log}
	if begins != nil {
		m.Base = &logbook.Cursor{Order: after, Hash: *begins}
	}
	p.copies = append(p.copies, m)
	return m.Base
}
