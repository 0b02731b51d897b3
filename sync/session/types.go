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
	Wire  []byte // what the transport made of it already, of one that goes to many phones
}

// Batch is the frame of some lines of a logbook as every phone gets it that
// stands before them and has sent none of them.
type Batch struct {
	Frame
	Last uint64 // the order of its last line
	More bool   // there may be lines behind it
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

// Moved is how far a logbook's copy has come.
type Moved struct {
	Log       logbook.Log
	Cursor    logbook.Cursor
	Signature []byte // the shop's, of Cursor.Head; none from a shop of protocol 1

	// Base is set when the copy begins, behind a line that it does not have:
	// that line's order and hash.
	Base *logbook.Cursor
}

// Run is a copy of a logbook as it was when the shop lost lines of it: all its
// lines up to the cursor.
type Run struct {
	Moved
	Shelf string // the store's name for it if it was put aside, "" for the copy in use
	Taken uint64 // of a shelf: the epoch of the shop that had all of it on disk
}

// Receipt is the shop's word that a line of this phone is on its disk.
type Receipt struct {
	Name    Name
	Order   uint64
	Receipt []byte
}

// Refused is a line of this phone that the shop set aside, and never keeps.
type Refused struct {
	Name   Name
	Reason string
}

// Missing asks for the lines of one writer in one logbook again, from a seq.
type Missing struct {
	Log    logbook.Log
	Writer logbook.ID
	From   uint64
}

// Sample is a live value that is not stored: the newest of an instrument.
type Sample struct {
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
	Old     bool         // the phone has taken another writer since
}

// Out is what the phone's end wants done, in this order.
//
// First, in one strict transaction:
//   - Lines: put the row under its name, with receipt and order; an own row
//     of that name that waited in the outbox has the same bytes and is kept.
//   - Kept: the own row gets its receipt and leaves the outbox.
//   - Aside: the own row leaves the outbox for a store of its own.
//   - Forked: the own row is in the outbox (again), until NewWriter.
//   - Moved: the logbook's cursor with its signature.
//   - Rewound: the shop's store is not the one that this copy of the logbook
//     came from, and has on disk what it lacked of it. The copy goes to a
//     shelf outside every view, whole, as a Run with this welcome's epoch; own
//     rows go to the outbox as well, without their receipts.
//   - Taken: a shelf's Run is on the shop's disk in this epoch too.
//   - Unshelve: all that stood on shelves is in the copies in use again: they go.
//
// If it fails, drop the session and open a new one from what the store has.
// Then send Frames, then act on the rest.
//
// Before all that, with an Epoch that is not that of the last welcome: own rows
// that are kept beyond their logbook's cursor go back to the outbox, without
// their receipts. If there are any, drop the session and open a new one.
type Out struct {
	Lines   []Line
	Kept    []Receipt
	Aside   []Refused
	Forked  []Name
	Moved   []Moved
	Rewound []logbook.Log
	Taken   []Run

	Unshelve bool
	Epoch    uint64 // the shop's: with its welcome, with Rewound and with Taken

	Frames []Frame

	Contact bool      // the clock met the shop: keep its state, ask Span again for lines without receipt
	Resend  []Missing // Send these lines, kept ones too; if the first is gone, take a new writer
	Live    []Sample

	// Bring asks for the lines of a copy, from an order up to its cursor, by
	// Phone.Bring: all of them, to prove them, and then those that the shop lacks.
	Bring *Run
	From  uint64

	// NewWriter: write every line of the outbox again under a new writer
	// (logbook.Rewrite), then close and open anew. Nothing of the old writer
	// is under way any more.
	NewWriter bool

	Closed  string // not empty: close the socket; why
	Later   string // not empty: why the shop takes some lines later; tell the person
	RetryIn int64  // with Closed or Later: not before this many ms; 0 = Backoff alone
}

// Carried is a logbook that phones carry, from behind order From on.
type Carried struct {
	Log  logbook.Log
	From uint64
}

// Stored is a line as the shop's store has it.
type Stored struct {
	Order   uint64
	Entry   []byte
	Receipt []byte
}

// Store is what a session of the shop's end reads. Every answer is of what is
// on disk: committed and synced.
type Store interface {
	// Epoch is the store's, from 1; it goes up when a backup is restored.
	Epoch() uint64

	// Carries lists the logbooks that phones carry.
	Carries() ([]Carried, error)

	// After lists the lines behind an order without gaps: at most n, and
	// about size bytes of entries, but at least one if there is one.
	After(log logbook.Log, order uint64, n, size int) ([]Stored, error)

	// Shared is the batch behind an order, which phones that keep up ask for one
	// after the other: what make makes, or what it made for another session if
	// the logbook has not grown since. nil if there are no lines.
	Shared(log logbook.Log, order uint64, make func() (*Batch, error)) (*Batch, error)

	// Chain is the hash after the line of this order and that line's epoch;
	// Genesis and 0 for order 0. ok is false if there is no such line.
	Chain(log logbook.Log, order uint64) (epoch uint64, chain logbook.Hash, ok bool, err error)

	// Sign signs what Cursor.Head says of the logbook, with the key that the
	// store was born with; Key is its public half, and Signed says whether a
	// signature is this store's or that of a store that it was copied from.
	Sign(logbook.Log, logbook.Cursor) []byte
	Signed(log logbook.Log, at logbook.Cursor, signature []byte) bool
	Key() []byte

	// Settled and Find answer as judge.Ledger's do.
	Settled(logbook.Log, logbook.ID) (uint64, error)
	Find(logbook.Log, logbook.Ref) (judge.Verdict, error)
}
