package session

import (
	"errors"
	"slices"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// The phone's end of a run that goes back to a shop that lost it: first the
// proof, then what the shop wants of it, one run after the other. Then the
// outbox, on the same connection: the shop knows by now which names mean another
// line there than on this phone, and lets no line of the outbox strike it by
// mistake. When all is answered the copies in use are put aside, and the next
// connection begins them anew.

// nextRun asks for the lines of the next run, or ends the last one.
func (p *Phone) nextRun(out *Out, wall, mono int64) {
	if len(p.runs) > 0 {
		p.proving = true
		out.Bring, out.From = &p.runs[0], 1
		return
	}
	if !p.waiting {
		return
	}
	p.waiting = false
	p.missing(out, p.missed)
	var outbox [][]byte
	for _, line := range p.mine.All {
		if !line.flying {
			outbox = append(outbox, line.entry)
		}
	}
	p.send(out, wall, mono, outbox)
}

// rewind ends a connection on which all went back that the shop had lost.
func (p *Phone) rewind(out *Out) {
	if len(p.lost) > 0 && len(p.runs) == 0 && p.flying == 0 && !p.closing && len(out.Resend) == 0 && !p.undoes() {
		out.Rewound, out.Epoch, out.Closed = p.lost, p.epoch, "the shop's store is another one than before"
	}
}

// undoes says whether a line that is to come later takes another back. What it
// names is the copy in use: once that is put aside nothing tells the shop that
// the name may mean another line there.
func (p *Phone) undoes() bool {
	for _, line := range p.mine.All {
		if e, _ := logbook.Decode(line.entry); len(e.Strikes) > 0 {
			return true
		}
	}
	return false
}

// Bring takes what Out.Bring asked for, in order; names are not needed. Lines
// beyond the cursor are left out: no head of the shop's proves them.
func (p *Phone) Bring(lines []Line) Out {
	var out Out
	if p.closed || len(p.runs) == 0 {
		return out
	}
	for len(lines) > 0 && lines[len(lines)-1].Order > p.runs[0].Cursor.Order {
		lines = lines[:len(lines)-1]
	}
	if p.proving {
		out.Frames = append(out.Frames, p.runs[0].proof(lines))
	} else {
		out.Frames = p.bring(lines)
	}
	return out
}

// proof is the frame with the hashes of all lines up to the head that the shop
// signed. Without such a head, or with other lines than led to it, there is
// nothing to prove: own lines go to the outbox later, as if they were new.
func (c *Run) proof(lines []Line) Frame {
	from := logbook.Cursor{Hash: logbook.Genesis(c.Log)}
	if c.Base != nil {
		from = *c.Base
	}
	hashes := c.hashes(from, lines)
	if len(hashes) == 0 {
		from = c.Cursor
	} else if n := len(lines) - len(hashes)/pair; n > 0 {
		for i := range lines[:n] {
			from.Hash = logbook.Next(from.Hash, lines[i].Receipt, lines[i].Entry)
		}
		from.Order += uint64(n)
	}
	b := logbook.AppendLog(appendType(make([]byte, 0, len(hashes)+256), proof, 7), c.Log)
	b = cbor.AppendUint(cbor.AppendUint(b, c.Cursor.Epoch), c.Cursor.Order)
	b = cbor.AppendBytes(appendHash(b, c.Cursor.Hash), c.Signature)
	b = appendHash(cbor.AppendUint(b, from.Order), from.Hash)
	return Frame{Bytes: cbor.AppendBytes(b, hashes), Batch: true}
}

// hashes are those of the last MaxRun lines, none if the lines do not lead from
// where the copy begins to its cursor.
func (c *Run) hashes(from logbook.Cursor, lines []Line) []byte {
	if len(c.Signature) == 0 || from.Order+uint64(len(lines)) != c.Cursor.Order {
		return nil
	}
	hashes := make([]byte, 0, pair*min(len(lines), MaxRun))
	h := from.Hash
	for i := range lines {
		l := &lines[i]
		if l.Order != from.Order+uint64(i)+1 {
			return nil
		}
		receipt, entry := logbook.Sum(l.Receipt), logbook.EntrySum(l.Entry)
		h = logbook.Link(h, receipt, entry)
		if i < len(lines)-MaxRun {
			continue
		}
		hashes = append(append(hashes, receipt[:]...), entry[:]...)
	}
	if h != c.Cursor.Hash {
		return nil
	}
	return hashes
}

// bring is the frames with the lines that the shop wants.
func (p *Phone) bring(lines []Line) (frames []Frame) {
	for len(lines) > 0 {
		n, size := 0, 0
		for n < len(lines) && n < maxLines && (n == 0 || size+len(lines[n].Entry) <= maxBytes) {
			size += len(lines[n].Entry)
			n++
		}
		b := logbook.AppendLog(appendType(make([]byte, 0, size+64*n), bring, 3), p.runs[0].Log)
		b = cbor.AppendArray(cbor.AppendUint(b, lines[0].Order), n)
		for _, l := range lines[:n] {
			b = cbor.AppendBytes(cbor.AppendBytes(cbor.AppendArray(b, 2), l.Receipt), l.Entry)
		}
		frames = append(frames, Frame{Bytes: b, Batch: true})
		lines = lines[n:]
	}
	return frames
}

func (p *Phone) want(out *Out, r *cbor.Reader, n int) error {
	log, order := logbook.ReadLog(r), r.Uint()
	if r.Close() != nil || n != 2 {
		return refused(r, "want")
	}
	if len(p.runs) == 0 || p.runs[0].Log != log || !p.proving || order == 0 || order > p.runs[0].Cursor.Order {
		return errors.New("session: want refused: this phone brings nothing like it")
	}
	p.proving = false
	out.Bring, out.From = &p.runs[0], order
	return nil
}

func (p *Phone) taken(out *Out, r *cbor.Reader, n int, wall, mono int64) error {
	log := logbook.ReadLog(r)
	if r.Close() != nil || n != 1 {
		return refused(r, "taken")
	}
	if len(p.runs) == 0 || p.runs[0].Log != log {
		return errors.New("session: taken refused: this phone brings nothing like it")
	}
	if run := p.runs[0]; run.Shelf != "" {
		out.Taken, out.Epoch = append(out.Taken, run), p.epoch
	}
	p.runs = slices.Clone(p.runs[1:]) // the caller may still hold the first
	p.nextRun(out, wall, mono)
	return nil
}
