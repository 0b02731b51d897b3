package main

import (
	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// What a phone does when the shop's store is not the one that its copy came
// from, its own store is not the one that it wrote from, or lines were erased.
// Rare, and done by the worker on the whole of a logbook's rows.

// forget answers a logbook's lines as rows to store, without what lines among
// them say was erased, and names the photos that go.
func (c *core) forget(in *input) []byte {
	lines := c.run(in)
	c.out.Object()
	c.out.Key("photos").Array()
	for k := range lines {
		if !tellsForget(lines[k].Entry) {
			continue
		}
		e, _ := logbook.Decode(lines[k].Entry)
		body, _ := line.Decode(e.Kind, e.Body)
		f, _ := body.(checklist.Forget)
		for _, sha := range f.Photos {
			c.out.String(sha)
		}
		for j := range lines[:k] { // what it names stands before it
			_, ref, _ := logbook.NameOf(lines[j].Entry)
			for i := range f.Lines() {
				if logbook.ID(f.Writers[i]) == ref.Writer && uint64(f.Seqs[i]) == ref.Seq {
					lines[j].Entry = line.Erase(lines[j].Entry, f.Gone[i])
				}
			}
		}
	}
	c.out.End()
	c.out.Key("store").Array()
	c.store(&session.Out{Lines: lines})
	c.out.End()
	c.out.End()
	return c.out.done()
}

// tellsForget says whether an entry may be one that names erased lines, without
// reading it: its kind stands in it as a text of 6. (What package bytes has for
// this makes the core 3 KB larger.)
func tellsForget(entry []byte) bool {
	const kind = "\x66forget"
	for i := range len(entry) - len(kind) {
		if entry[i] == kind[0] && string(entry[i:i+len(kind)]) == kind {
			return true
		}
	}
	return false
}

// pick answers the entries of one writer from a seq on, kept or not, as blobs
// in the order of seq; the logbook's rows and the outbox are passed in.
func (c *core) pick(in *input) []byte {
	found := map[uint64][]byte{}
	take := func(entry []byte) {
		if e, err := logbook.Decode(entry); err == nil && e.Writer == in.writer && e.Log == in.log && e.Seq >= in.from {
			found[e.Seq] = entry
		}
	}
	for _, row := range in.rows {
		for r := openRow(row); r.next(); {
			take(r.entry)
		}
	}
	for _, entry := range in.lines {
		take(entry)
	}
	for seq := in.from; found[seq] != nil; seq++ {
		c.out.blob(found[seq])
	}
	c.out.Object()
	c.out.Key("missing").Bool(len(c.out.blobs) < len(found) || len(found) == 0)
	c.out.End()
	return c.out.done()
}

// run reads the lines of a copy from an order on, in order. Where two have one
// place, the older is left over from before a restore.
func (c *core) run(in *input) (lines []session.Line) {
	for _, row := range in.rows {
		for r := openRow(row); r.next(); {
			if receipt, err := logbook.DecodeReceipt(r.receipt); err == nil && receipt.Order >= in.from {
				lines = append(lines, session.Line{Name: session.Name{Ref: logbook.Ref{Seq: receipt.Epoch}}, Order: receipt.Order, Entry: r.entry, Receipt: r.receipt})
			}
		}
	}
	sortLines(lines)
	n := 0
	for _, l := range lines {
		if n > 0 && lines[n-1].Order == l.Order {
			if l.Name.Ref.Seq > lines[n-1].Name.Ref.Seq {
				lines[n-1] = l
			}
			continue
		}
		lines[n] = l
		n++
	}
	return lines[:n]
}

// unkeep answers the own lines of a rewound logbook's rows, named, which go
// back to the outbox as blobs: those of this writer, and what lies beyond the
// cursor, which only this phone can have.
func (c *core) unkeep(in *input) []byte {
	at, known := readMoved([]byte("s:"), in.bytes)
	c.out.Object()
	c.out.Key("own").Array()
	for _, row := range in.rows {
		for r := openRow(row); r.next(); {
			e, err := logbook.Decode(r.entry)
			receipt, _ := logbook.DecodeReceipt(r.receipt)
			if err != nil || e.Writer != c.writer && (!known || receipt.Order <= at.Cursor.Order) {
				continue
			}
			c.name(session.Name{Log: e.Log, Ref: e.Ref()})
			c.out.End()
			c.out.blob(r.entry)
		}
	}
	c.out.End()
	c.out.End()
	return c.out.done()
}

// rewrite writes lines again under the writer given; seqs has the next seq of
// each logbook.
func (c *core) rewrite(in *input) []byte {
	entries, err := logbook.Rewrite(in.lines, in.writer, func(log logbook.Log) uint64 {
		for _, s := range in.seqs {
			if s.log == log {
				return s.seq
			}
		}
		return 1
	})
	if err != nil {
		return c.out.say(refused, err.Error())
	}
	c.out.Object()
	c.out.Key("lines").Array()
	for _, b := range entries {
		e, _ := logbook.Decode(b)
		c.name(session.Name{Log: e.Log, Ref: e.Ref()})
		c.out.End()
		c.out.blob(b)
	}
	c.out.End()
	c.out.End()
	return c.out.done()
}
