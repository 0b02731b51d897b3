// Package logbook is what a line of a logbook is: its name, its encoding, its
// receipt and its place in the chain.
//
// A logbook is an append-only list of entries. The shop has one, each place
// has one, each job has one. An Entry is written on one phone (or by the
// server), encoded once in deterministic CBOR, and from then on it is those
// bytes: they are stored, sent, hashed and exported, and nobody encodes them
// again. Its name is (log, writer, seq); seq counts up by one per writer and
// logbook, so that a gap shows.
//
// On the wire and on disk an entry is a map with small integers as keys:
//
//	0 log      bytes(17)  class letter and 16 bytes of id
//	1 writer   bytes(16)
//	2 seq      uint       from 1
//	3 at       [wall, earliest, mono, life, offset, offset error, offset at]
//	4 by       bytes(16), or bytes(0) for the server and loggers
//	5 kind     text
//	6 body     map with text keys, at every depth
//	7 strikes  [[writer, seq], ...]  left out when there are none
//	8 origin   [writer, seq, hash]   left out unless the line was written again
//
// Kind and body are opaque here: a kind of a newer version passes through
// unharmed. In bodies ids are text, so that a body reads the same as JSON.
//
// The shop answers an entry that it has on disk with a Receipt, an array
// [epoch, order, arrived, earliest, latest]. A line that a phone brought back
// to a shop that had lost it has three numbers more, the epoch, order and
// arrival of its first receipt; earliest and latest are the first one's. Order
// numbers a logbook from 1 without gaps, and chains it:
//
//	h(0) = SHA-256(class and id)
//	h(n) = SHA-256(h(n-1) || SHA-256(receipt n) || SHA-256(entry n))
//
// so two copies that agree on one hash agree on every byte up to it, and an
// entry that was erased leaves its hash and the chain still holds. In its place
// stands [hash, what is left of it]: see Split.
//
// A line that was written again under another writer (Rewrite) says what it was
// first, so that the two never stand beside each other.
//
// An entry may strike others of its logbook: they stay readable and count no
// more. What striking means belongs to the reader; here strikes are names.
package logbook
