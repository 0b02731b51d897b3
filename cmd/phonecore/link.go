package main

import (
	"bytes"

	"bayhold/checklist/order"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// open begins a session on a socket that just opened: hello and outbox first.
func (c *core) open(in *input) []byte {
	c.foldRows() // they say which own lines are kept
	cursors := make([]session.Moved, 0, len(in.cursors))
	for _, kept := range in.cursors {
		if m, ok := readMoved(kept[0], kept[1]); ok { // what cannot be read is fetched again
			cursors = append(cursors, m)
		}
	}
	var shelves []session.Run
	for _, s := range in.shelves {
		if m, ok := readMoved(s.log, s.cursor); ok {
			shelves = append(shelves, session.Run{Moved: m, Shelf: s.name, Taken: s.taken})
		}
	}
	written := make([]session.Written, 0, len(c.wrote))
	for _, w := range c.wrote {
		written = append(written, *w)
	}
	order.Stable(written, func(a, b *session.Written) bool { return a.Log.Compare(b.Log) < 0 })
	c.session = session.NewPhone(c.device, c.clock)
	out := c.session.Open(in.wall, in.mono, cursors, shelves, written, c.outbox())
	return c.answer(&out)
}

// outbox is every unkept line, logbook by logbook in the order written.
func (c *core) outbox() [][]byte {
	entries := make([][]byte, 0, c.unkept.Len())
	for _, u := range c.unkept.All {
		entries = append(entries, u.entry)
	}
	return entries
}

// send takes own lines that are on disk now and sends them if it can.
func (c *core) send(in *input) []byte {
	lines := make([][]byte, len(in.lines))
	for i, entry := range in.lines {
		lines[i] = bytes.Clone(entry) // they outlive the argument
		c.addUnkept(lines[i])
	}
	return c.sessionOp(func() session.Out { return c.session.Send(in.wall, in.mono, lines...) })
}

func (c *core) sessionOp(op func() session.Out) []byte {
	var out session.Out
	if c.session != nil {
		out = op()
	}
	return c.answer(&out)
}

func (c *core) frame(in *input) []byte {
	var out session.Out
	if c.session != nil {
		var err error
		out, err = c.session.Frame(in.bytes, in.wall, in.mono) // which keeps none of its bytes
		if err != nil {
			out.Closed = err.Error()
		}
	}
	return c.answer(&out)
}

func (c *core) shut(in *input) []byte {
	c.session = nil
	c.offline(in)
	return c.answer(&session.Out{})
}

func (c *core) backoff(in *input) []byte {
	var random uint64
	for _, b := range in.salt[:min(8, len(in.salt))] {
		random = random<<8 | uint64(b)
	}
	c.out.Object()
	c.out.Key("wait").Int(session.Backoff(int(in.seq), random, in.wait))
	c.out.End()
	return c.out.done()
}

// answer writes what a session wants done; what is empty or false is left out,
// for most is, and a live line's answer is to cost little. The blobs are the
// frames, then the rows of "store", then the cursors.
func (c *core) answer(out *session.Out) []byte {
	if out.Contact {
		c.met = true
		c.shop.Offline(0)
	}
	w := &c.out
	w.Object()
	c.list("frames", len(out.Frames), func(i int) {
		w.Object()
		w.Key("batch").Bool(out.Frames[i].Batch)
		w.End()
		w.blob(out.Frames[i].Bytes)
	})
	var kept []session.Name
	if len(out.Lines)+len(out.Kept) > 0 {
		w.Key("store").Array()
		kept = c.store(out)
		w.End()
	}
	if len(kept) > 0 {
		w.Key("kept").Array()
		c.runs(kept)
		w.End()
	}
	c.list("aside", len(out.Aside), func(i int) {
		c.name(out.Aside[i].Name)
		w.Key("why").String(out.Aside[i].Reason)
		w.End()
		c.unkept.Delete(out.Aside[i].Name)
	})
	c.list("cursors", len(out.Moved), func(i int) {
		w.String(logName(out.Moved[i].Log))
		w.blob(appendMoved(&out.Moved[i]))
	})
	c.list("rewound", len(out.Rewound), func(i int) { w.String(logName(out.Rewound[i])) })
	c.list("taken", len(out.Taken), func(i int) { w.String(out.Taken[i].Shelf) })
	if out.Bring != nil {
		w.Key("bring").Object()
		w.Key("log").String(logName(out.Bring.Log))
		w.Key("shelf").String(out.Bring.Shelf)
		w.Key("from").Int(int64(out.From))
		w.End()
	}
	if out.Epoch > 0 {
		w.Key("epoch").Int(int64(out.Epoch))
	}
	for i := range out.Lines {
		if tellsForget(out.Lines[i].Entry) { // a batch is of one logbook
			w.Key("forget").String(logName(out.Lines[i].Name.Log))
			break
		}
	}
	c.flag("unshelve", out.Unshelve)
	c.list("resend", len(out.Resend), func(i int) {
		m := &out.Resend[i]
		c.name(session.Name{Log: m.Log, Ref: logbook.Ref{Writer: m.Writer, Seq: m.From}})
		w.End()
	})
	c.list("forked", len(out.Forked), func(i int) {
		c.name(out.Forked[i])
		w.End()
	})
	c.flag("newWriter", out.NewWriter)
	c.flag("contact", out.Contact)
	c.flag("caught", c.session != nil && c.session.Caught())
	if out.Closed != "" {
		w.Key("closed").String(out.Closed)
	}
	if out.Later != "" {
		w.Key("later").String(out.Later)
	}
	if out.RetryIn > 0 {
		w.Key("retry").Int(out.RetryIn)
	}
	w.End()
	return w.done()
}

// flag writes what is true.
func (c *core) flag(key string, is bool) {
	if is {
		c.out.Key(key).Bool(true)
	}
}

// list writes a list of n items under a key; an empty one is left out.
func (c *core) list(key string, n int, item func(i int)) {
	if n == 0 {
		return
	}
	c.out.Key(key).Array()
	for i := range n {
		item(i)
	}
	c.out.End()
}

// name begins an object with a line's name; the caller ends it.
func (c *core) name(n session.Name) {
	c.out.Object()
	c.out.Key("log").String(logName(n.Log))
	c.out.Key("writer").String(n.Ref.Writer.String())
	c.out.Key("seq").Int(int64(n.Ref.Seq))
}

// runs writes own lines that were kept: of each writer in each logbook the
// seqs from "seq" to "to".
func (c *core) runs(kept []session.Name) {
	for len(kept) > 0 {
		first, n := kept[0], 1
		for next := first; n < len(kept); n++ {
			if next.Ref.Seq++; kept[n] != next {
				break
			}
		}
		c.name(first)
		c.out.Key("to").Int(int64(first.Ref.Seq) + int64(n) - 1)
		c.out.End()
		kept = kept[n:]
	}
}

// store writes the rows for the lines that came and for own lines with their
// receipts, and answers which of this phone's have one now.
func (c *core) store(out *session.Out) (kept []session.Name) {
	lines := out.Lines
	if lines == nil {
		lines = make([]session.Line, 0, len(out.Kept))
	}
	for _, k := range out.Kept {
		if u := c.unkept.Get(k.Name); u != nil {
			lines = append(lines, session.Line{Name: k.Name, Order: k.Order, Entry: u.entry, Receipt: k.Receipt})
		}
	}
	// A batch is of one logbook and in order; receipts come as they were kept.
	if len(out.Kept) > 0 {
		sortLines(lines)
	}
	for i := range lines {
		if c.unkept.Get(lines[i].Name) != nil {
			kept = append(kept, lines[i].Name)
		}
	}
	for len(lines) > 0 {
		n, from := 0, len(c.out.rows)
		for n < len(lines) && lines[n].Name.Log == lines[0].Name.Log {
			c.out.rows = appendRow(c.out.rows, lines[n].Receipt, lines[n].Entry)
			n++
		}
		c.out.Object()
		c.out.Key("log").String(logName(lines[0].Name.Log))
		c.out.Key("first").Int(int64(lines[0].Order))
		c.out.Key("last").Int(int64(lines[n-1].Order))
		c.out.End()
		c.out.blob(c.out.rows[from:])
		lines = lines[n:]
	}
	return kept
}

// sortLines orders lines by logbook and order.
func sortLines(lines []session.Line) {
	order.Stable(lines, func(a, b *session.Line) bool {
		if d := a.Name.Log.Compare(b.Name.Log); d != 0 {
			return d < 0
		}
		return a.Order < b.Order
	})
}

// appendMoved writes how far a copy has come as the phone's store keeps it:
// epoch, order, hash, signature, and the order and hash that it begins behind.
// Before heads were signed there were only the first three.
func appendMoved(m *session.Moved) []byte {
	b := cbor.AppendArray(nil, 6)
	b = cbor.AppendUint(b, m.Cursor.Epoch)
	b = cbor.AppendUint(b, m.Cursor.Order)
	b = cbor.AppendBytes(b, m.Cursor.Hash[:])
	b = cbor.AppendBytes(b, m.Signature)
	if m.Base == nil {
		return cbor.AppendBytes(cbor.AppendUint(b, 0), nil)
	}
	return cbor.AppendBytes(cbor.AppendUint(b, m.Base.Order), m.Base.Hash[:])
}

func readMoved(log, b []byte) (m session.Moved, ok bool) {
	if m.Log, ok = parseLog(string(log)); !ok {
		return m, false
	}
	r := cbor.NewReader(b)
	n := r.Array()
	m.Cursor.Epoch, m.Cursor.Order = r.Uint(), r.Uint()
	if !readHash(r, &m.Cursor.Hash) || n != 3 && n != 6 {
		return m, false
	}
	if n == 6 {
		m.Signature = bytes.Clone(r.Bytes())
		base := logbook.Cursor{Order: r.Uint()}
		if base.Order == 0 {
			r.Bytes()
		} else if readHash(r, &base.Hash) {
			m.Base = &base
		}
	}
	return m, r.Close() == nil
}

func readHash(r *cbor.Reader, h *logbook.Hash) bool {
	b := r.Bytes()
	return copy(h[:], b) == len(h) && len(b) == len(h)
}
