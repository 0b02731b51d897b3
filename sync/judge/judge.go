package judge

import "bayhold/sync/logbook"

// Code says why the shop did not keep a line. The numbers are part of the
// protocol.
type Code uint64

const (
	Form   Code = 1 // not an entry, or its body or its author's rights are refused: set aside
	Fork   Code = 2 // another line has this name: set aside; the phone writes it again under a new writer
	Closed Code = 3 // the writer went on elsewhere: not stored; the phone takes a new writer
)

// Submission is one line as it came in.
type Submission struct {
	Bytes   []byte
	Entry   logbook.Entry // decoded from Bytes
	Refusal string        // why Bytes are no entry; then Entry is empty

	// The receipt's times, ms of the shop's clock, from clock.Interval. A line
	// that the server itself writes has all three equal.
	Arrived, Earliest, Latest int64

	// Tag is the submitter's own, untouched: whom to answer.
	Tag any
}

// Verdict is what becomes of one Submission.
type Verdict struct {
	What  What
	Fresh bool // this batch decided it: store it. Otherwise it was decided before
	Sum   logbook.Hash

	Receipt logbook.Receipt // Kept
	Coded   []byte          // Kept: the receipt's bytes
	Chain   logbook.Hash    // Kept and Fresh: the logbook's hash after this line

	Code   Code   // Aside
	Reason string // Aside: a sentence for the person who wrote it

	From uint64 // Gap: send from this seq
}

// What is the kind of a Verdict.
type What uint8

const (
	Kept  What = iota + 1 // has its place in the logbook
	Aside                 // outside every logbook, with the reason
	Gap                   // lines before it are missing: nothing is stored
)

// Ledger is what the store knows while a batch is judged: the view from inside
// its one write transaction, without the batch itself.
type Ledger interface {
	// Epoch of the store, from 1.
	Epoch() uint64
	// Head is the logbook's last order number and its hash; 0 and
	// logbook.Genesis for one without entries.
	Head(logbook.Log) (order uint64, chain logbook.Hash, err error)
	// Settled is the highest seq of the writer in the logbook that was kept or
	// set aside; 0 if none was.
	Settled(logbook.Log, logbook.ID) (uint64, error)
	// Find is what became of the line of this name; What 0 if there is none.
	// Sum, What and, by What, Coded or Code and Reason must be set. A name
	// whose line was refused for its form is Aside; forks have no name here.
	Find(logbook.Log, logbook.Ref) (Verdict, error)
	// FindAside is the code and reason by which these bytes were set aside.
	FindAside(logbook.Hash) (code Code, reason string, found bool, err error)
}

// Judge decides a batch in its order. policy answers why an entry of good form
// is refused, or "": its body and its author's rights. The verdicts stand in
// the order of the batch; the caller stores the fresh ones, all in the
// transaction that the ledger reads from, and answers after its fsync.
func Judge(l Ledger, batch []Submission, policy func(*logbook.Entry) string) ([]Verdict, error) {
	panic("not yet")
}
