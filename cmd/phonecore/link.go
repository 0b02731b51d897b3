package main

import (
	"bytes"

	"bayhold/checklist/order"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// open begins a session on a socket that just opened: hello and outbox first.
func (c *core) open(in input) []byte {
	c.foldRows() // they say which own lines are kept
	cursors := make([]session.Moved, 0, len(in.cursors))
	for _, kept := range in.cursors {
		log, ok := parseLog(string(kept[0]))
		cursor, ok2 := readCursor(kept[1])
		if ok && ok2 { // what cannot be read is fetched again
			cursors = append(cursors, session.Moved{Log: log, Cursor: cursor})
		}
	}
	written := make([]session.Written, 0, len(c.wrote))
	for _, w := range c.wrote {
		written = append(written, *w)
	}
	order.Stable(written, func(a, b *session.Written) bool { return a.Log.Compare(b.Log) < 0 })
	c.session = session.NewPhone(c.device, c.clock)
	return c.answer(in, c.session.Open(in.wall, in.mono, cursors, written, c.outbox()))
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
func (c *core) send(in input) []byte {
	lines := make([][]byte, len(in.lines))
	for i, entry := range in.lines {
		lines[i] = bytes.Clone(entry) // they outlive the argument
		c.addUnkept(lines[i])
	}
	return c.sessionOp(in, func() session.Out { return c.session.Send(in.wall, in.mono, lines...) })
}

func (c *core) sessionOp(in input, op func() session.Out) []byte {
	if c.session == nil {
		return c.answer(in, session.Out{})
	}
	return c.answer(in, op())
}

func (c *core) frame(in input) []byte {
	if c.session == nil {
		return c.answer(in, session.Out{})
	}
	out, err := c.session.Frame(in.bytes, in.wall, in.mono) // which keeps none of its bytes
	if err != nil {
		return c.answer(in, session.Out{Closed: err.Error()})
	}
	return c.answer(in, out)
}

func (c *core) shut(in input) []byte {
	c.session = nil
	c.offline(in)
	return c.answer(in, session.Out{})
}

func (c *core) backoff(in input) []byte {
	var random uint64
	for _, b := range in.salt[:min(8, len(in.salt))] {
		random = random<<8 | uint64(b)
	}
	c.out.Object()
	c.out.Key("wait").Int(session.Backoff(int(in.seq), random, in.wait))
	c.out.End()
	return c.out.done()
}

// answer writes what a session wants done; lists that are empty are left out,
// for most are, and a live line's answer is to cost little. The blobs are the frames, then the
// rows of "store", then the cursors.
func (c *core) answer(in input, out session.Out) []byte {
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
		w.blob(appendCursor(out.Moved[i].Cursor))
	})
	c.list("rewound", len(out.Rewound), func(i int) { w.String(logName(out.Rewound[i])) })
	c.list("resend", len(out.Resend), func(i int) {
		m := &out.Resend[i]
		c.name(session.Name{Log: m.Log, Ref: logbook.Ref{Writer: m.Writer, Seq: m.From}})
		w.End()
	})
	c.list("forked", len(out.Forked), func(i int) {
		c.name(out.Forked[i])
		w.End()
	})
	w.Key("newWriter").Bool(out.NewWriter)
	w.Key("contact").Bool(out.Contact)
	w.Key("caught").Bool(c.session != nil && c.session.Caught())
	w.Key("closed").String(out.Closed)
	w.Key("retry").Int(out.RetryIn)
	w.End()
	return w.done()
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
func (c *core) store(out session.Out) (kept []session.Name) {
	lines := out.Lines
	for i := range lines {
		if c.unkept.Get(lines[i].Name) != nil {
			kept = append(kept, lines[i].Name)
		}
	}
	for _, k := range out.Kept {
		if u := c.unkept.Get(k.Name); u != nil {
			lines = append(lines, session.Line{Name: k.Name, Order: k.Order, Entry: u.entry, Receipt: k.Receipt})
			kept = append(kept, k.Name)
		}
	}
	// A batch is of one logbook and in order; receipts come as they were kept.
	if len(out.Kept) > 0 {
		order.Stable(lines, func(a, b *session.Line) bool {
			if d := a.Name.Log.Compare(b.Name.Log); d != 0 {
				return d < 0
			}
			return a.Order < b.Order
		})
		order.Stable(kept, func(a, b *session.Name) bool { return a.Compare(*b) < 0 })
	}
	for len(lines) > 0 {
		n, size := 0, 0
		for n < len(lines) && lines[n].Name.Log == lines[0].Name.Log {
			size += rowHead + len(lines[n].Receipt) + len(lines[n].Entry)
			n++
		}
		row := make([]byte, 0, size)
		for _, l := range lines[:n] {
			row = appendRow(row, l.Receipt, l.Entry)
		}
		c.out.Object()
		c.out.Key("log").String(logName(lines[0].Name.Log))
		c.out.Key("first").Int(int64(lines[0].Order))
		c.out.Key("last").Int(int64(lines[n-1].Order))
		c.out.End()
		c.out.blob(row)
		lines = lines[n:]
	}
	return kept
}

func appendCursor(c logbook.Cursor) []byte {
	b := cbor.AppendArray(nil, 3)
	b = cbor.AppendUint(b, c.Epoch)
	b = cbor.AppendUint(b, c.Order)
	return cbor.AppendBytes(b, c.Hash[:])
}

func readCursor(b []byte) (c logbook.Cursor, ok bool) {
	r := cbor.NewReader(b)
	if r.Array() != 3 {
		return c, false
	}
	c.Epoch, c.Order = r.Uint(), r.Uint()
	hash := r.Bytes()
	if r.Close() != nil || len(hash) != len(c.Hash) {
		return c, false
	}
	copy(c.Hash[:], hash)
	return c, true
}
