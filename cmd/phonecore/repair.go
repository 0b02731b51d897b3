package main

import (
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// What a phone does when the shop's store is not the one that its copy came
// from, or its own store is not the one that it wrote from. Rare, and done by
// the worker on the whole of a logbook's rows.

// pick answers the entries of one writer from a seq on, kept or not, as blobs
// in the order of seq; the logbook's rows and the outbox are passed in.
func (c *core) pick(in input) []byte {
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

// unkeep splits a rewound logbook's rows: own lines, named, which go back to
// the outbox as blobs, and the number of foreign ones, which the worker puts
// on its shelf as they are.
func (c *core) unkeep(in input) []byte {
	c.out.Object()
	c.out.Key("own").Array()
	for _, row := range in.rows {
		for r := openRow(row); r.next(); {
			e, err := logbook.Decode(r.entry)
			if err != nil || e.Writer != c.writer {
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
func (c *core) rewrite(in input) []byte {
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
