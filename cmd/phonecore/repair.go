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
	return c.left(lines)
}

// left ends an answer with lines as rows to store.
func (c *core) left(lines []session.Line) []byte {
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

// run reads the lines of a copy from an order on, in order, each once.
func (c *core) run(in *input) (lines []session.Line) {
	for _, row := range in.rows {
		for r := openRow(row); r.next(); {
			if receipt, err := logbook.DecodeReceipt(r.receipt); err == nil && receipt.Order >= in.from {
				lines = append(lines, session.Line{Order: receipt.Order, Entry: r.entry, Receipt: r.receipt})
			}
		}
	}
	sortLines(lines)
	n := 0
	for _, l := range lines {
		if n == 0 || lines[n-1].Order != l.Order {
			lines[n] = l
			n++
		}
	}
	return lines[:n]
}

// unkeep parts a logbook's rows when the shop's store is another one. Under
// "own", named, are the lines that go back to the outbox, as blobs: those of the
// writer given, and this phone's that lie beyond the cursor, which nobody else
// can have. Under "store" is what lies up to the cursor, as rows.
func (c *core) unkeep(in *input) []byte {
	at, known := readMoved([]byte("s:"), in.bytes)
	if !known {
		at.Cursor.Order = 0
	}
	lines, n := c.run(in), 0
	c.out.Object()
	c.out.Key("own").Array()
	for i := range lines {
		e, err := logbook.Decode(lines[i].Entry)
		beyond := lines[i].Order > at.Cursor.Order
		if !beyond {
			n++
		}
		if err == nil && (e.Writer == in.writer || beyond && (known || e.Writer == c.writer)) {
			c.name(session.Name{Log: e.Log, Ref: e.Ref()})
			c.out.End()
			c.out.blob(lines[i].Entry)
		}
	}
	c.out.End()
	return c.left(lines[:n])
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
