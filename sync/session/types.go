package session

import (
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// Frame is one message to the other end. Batch frames may be large and are
// worth compressing; the others are small and urgent.
type Frame struct {
	Bytes []byte
	Batch bool
}

// Name is a line's name across logbooks.
type Name struct {
	Log logbook.Log
	Ref logbook.Ref
}

// Line is a line of a logbook that came from the shop.
type Line struct {
	Name    Name
	Order   uint64
	Entry   []byte
	Receipt []byte
}

// Moved is how far a logbook's copy has come with this Out.
type Moved struct {
	Log    logbook.Log
	Cursor logbook.Cursor
}

// Receipt is the shop's word that a line of this phone is on its disk.
type Receipt struct {
	Name    Name
	Order   uint64
	Receipt []byte
}

// Refused is a line of this phone that the shop set aside.
type Refused struct {
	Name   Name
	Sum    logbook.Hash
	Code   judge.Code
	Reason string
}

// Missing asks for the lines of one writer in one logbook again, from a seq.
type Missing struct {
	Log    logbook.Log
	Writer logbook.ID
	From   uint64
}

// Live is a value that is not stored: the newest sample of an instrument.
type Live struct {
	Log  logbook.Log
	Body []byte
}

// Written is what a phone's store knows of one of its writers in one logbook.
type Written struct {
	Log     logbook.Log
	Writer  logbook.ID
	Kept    uint64       // highest seq with a receipt, 0 if none
	KeptSum logbook.Hash // logbook.Sum of that entry
	Last    uint64       // highest seq written
}

// Out is what the phone's end wants done, in this order: store Rewound,
// Lines, Kept, Aside and Moved in one transaction; then send Frames; then act
// on the rest. If storing fails, drop the session and open a new one from what
// the store has.
type Out struct {
	Rewound []logbook.Log
	Lines   []Line
	Kept    []Receipt
	Aside   []Refused
	Moved   []Moved

	Frames []Frame

	Contact   bool      // the clock met the shop: keep its state, fold unreceived spans again
	Resend    []Missing // give these lines to Send; where one is gone, take a new writer
	NewWriter bool      // write the lines in Again anew under a new writer, then open again
	Again     []Name
	Live      []Live
	Closed    string // not empty: close the socket, and why
	RetryIn   int64  // with Closed: not before this many ms; 0 = Backoff decides
}

// --- shop ---

// Carried is a logbook that a phone carries, from behind order From on.
type Carried struct {
	Log  logbook.Log
	From uint64
}

// Stored is a line as the store has it.
type Stored struct {
	Order   uint64
	Entry   []byte
	Receipt []byte
}

// Store is what a session of the shop's end reads. Every answer is of what is
// on disk: committed and synced.
type Store interface {
	Epoch() uint64
	// Carries lists the logbooks that phones carry.
	Carries() ([]Carried, error)
	// After lists lines behind an order, at most n of them and about size
	// bytes, at least one if there is one.
	After(log logbook.Log, order uint64, n, size int) ([]Stored, error)
	// Chain is the hash after the line of this order (Genesis for 0) and its
	// epoch; ok is false if there is no such line.
	Chain(log logbook.Log, order uint64) (epoch uint64, chain logbook.Hash, ok bool, err error)
	// Settled and Find are judge.Ledger's.
	Settled(logbook.Log, logbook.ID) (uint64, error)
	Find(logbook.Log, logbook.Ref) (judge.Verdict, error)
}
