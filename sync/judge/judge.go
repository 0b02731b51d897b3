package judge

import (
	"bayhold/sync/logbook"
)

// Code says why the shop did not keep a line. The numbers are part of the
// protocol.
type Code uint64

const (
	Form   Code = 1 // no entry, or its body or its author's rights are refused: set aside
	Fork   Code = 2 // another line has this name: set aside; the phone writes it again under a new writer
	Closed Code = 3 // the writer went on elsewhere: not stored; the phone takes a new writer
	Twice  Code = 4 // the line stands in the logbook under another name: it was written again
	Proof  Code = 5 // a phone brought back a line that no signed head proves: set aside
)

// Named says that a line set aside with this code takes its name with it, so
// that its writer goes on behind it. A fork does not: the name is another's.
func (c Code) Named() bool { return c == Form || c == Twice }

// Submission is one line as it came in.
type Submission struct {
	Bytes   []byte
	Entry   logbook.Entry // decoded from Bytes
	Refusal string        // why Bytes are no entry; then Entry is empty

	// The receipt's times, ms of the shop's clock, from clock.Interval. A line
	// that the server itself writes has all three equal.
	Arrived, Earliest, Latest int64

	// Back says that a phone brings back a line that the shop had before a backup
	// was restored; nil for one that is new.
	Back *Back

	// Forks are the connection's; the judge adds to them and alone reads them.
	// nil for lines that come over no connection.
	Forks Forks

	// Tag is the submitter's own, untouched: whom to answer.
	Tag any
}

// Back is what a line that comes back had.
type Back struct {
	Log     logbook.Log // that the phone brings it back to
	Receipt logbook.Receipt
	Proven  bool // by a head that the shop signed
}

// Forks are the first seqs from which a connection's writers are forked. What
// such a writer brings behind its fork was written without knowing of the line
// that has the name, and a strike in it, or in anybody's line that comes over
// this connection, would meet that line: it gets no place either.
type Forks map[writer]uint64

// What is the kind of a Verdict.
type What uint8

const (
	Kept  What = iota + 1 // has its place in the logbook
	Aside                 // outside every logbook, with the reason
	Gap                   // lines before it are missing: nothing is stored
)

// Verdict is what becomes of one Submission.
type Verdict struct {
	What  What
	Fresh bool // decided in this batch, so store it; otherwise it was decided before
	Sum   logbook.Hash

	Receipt logbook.Receipt // Kept
	Coded   []byte          // Kept: the receipt's bytes
	Chain   logbook.Hash    // Kept and Fresh: the logbook's hash after this line

	Code   Code   // Aside
	Reason string // Aside: a sentence for the person who wrote it

	From uint64 // Gap: the seq to send from
}

// Ledger is what the store knows while a batch is judged: the view from inside
// its one write transaction, without the batch itself.
type Ledger interface {
	// Epoch of the store, from 1.
	Epoch() uint64

	// Head is the logbook's last order number and its hash; 0 and
	// logbook.Genesis for one without entries.
	Head(logbook.Log) (order uint64, chain logbook.Hash, err error)

	// Settled is the highest seq of the writer in the logbook that was kept
	// or set aside under its name (Code.Named); 0 if none was.
	Settled(logbook.Log, logbook.ID) (uint64, error)

	// Find is what became of the line of this name: What 0 if nothing has it,
	// otherwise Kept with Sum, Receipt and Coded, or Aside with Sum, Code and
	// Reason. A fork never has the name.
	Find(logbook.Log, logbook.Ref) (Verdict, error)

	// Again says whether a line was kept whose origin has this Sum.
	Again(logbook.Hash) (bool, error)

	// FindAside is why these bytes were set aside; What 0 if they were not.
	FindAside(logbook.Hash) (Verdict, error)
}

// Judge decides a batch in its order. policy answers why a submission whose entry
// is of good form is refused, or "": its body, and its author's and its phone's
// rights. The verdicts stand in
// the order of the batch; the caller stores the fresh ones, all in the
// transaction that the ledger reads from, and answers after its fsync.
func Judge(l Ledger, batch []Submission, policy func(*Submission) string) ([]Verdict, error) {
	d := docket{Ledger: l, policy: policy, heads: map[logbook.Log]head{}, settled: map[writer]uint64{},
		named: map[name]int{}, aside: map[logbook.Hash]int{}, again: map[logbook.Hash]bool{}, out: make([]Verdict, 0, len(batch))}
	for i := range batch {
		v, err := d.decide(&batch[i])
		if err != nil {
			return nil, err
		}
		d.out = append(d.out, v)
	}
	return d.out, nil
}

// docket is the batch so far on top of the ledger.
type docket struct {
	Ledger
	policy  func(*Submission) string
	heads   map[logbook.Log]head
	settled map[writer]uint64
	named   map[name]int         // index into out
	aside   map[logbook.Hash]int // index into out
	again   map[logbook.Hash]bool
	out     []Verdict
}

type head struct {
	order uint64
	chain logbook.Hash
}

type writer struct {
	log logbook.Log
	id  logbook.ID
}

type name struct {
	log logbook.Log
	ref logbook.Ref
}

func (d *docket) decide(s *Submission) (Verdict, error) {
	sum := logbook.EntrySum(s.Bytes)
	if s.Refusal != "" {
		return d.setAside(sum, Form, s.Refusal)
	}
	e := &s.Entry
	was, err := d.find(e)
	if err != nil {
		return Verdict{}, err
	}
	if was.What != 0 && was.Sum == sum {
		was.Fresh = false
		return was, nil
	}
	w := writer{e.Log, e.Writer}
	last, ok := d.settled[w]
	if !ok {
		if last, err = d.Settled(e.Log, e.Writer); err != nil {
			return Verdict{}, err
		}
	}
	behind := s.Forks[w] > 0 && e.Seq > s.Forks[w]
	taken := was.What != 0 || e.Seq <= last && s.Back == nil
	switch {
	case s.Back != nil && !s.Back.Proven:
		return d.setAside(sum, Proof, "no head that the shop signed proves that it had this line")
	case behind && s.Back == nil:
		return Verdict{What: Aside, Sum: sum, Code: Closed, Reason: "this writer went on elsewhere"}, nil
	case taken && s.Forks != nil && s.Forks[w] == 0:
		s.Forks[w] = e.Seq
	}
	switch {
	case taken || behind:
		return d.setAside(sum, Fork, "another line has this name: two copies of one phone were writing")
	case e.Seq > last+1 && s.Back == nil:
		return Verdict{What: Gap, Sum: sum, From: last + 1}, nil
	}
	_, _, erased := logbook.Split(s.Bytes)
	twice, err := d.twice(e, sum)
	if err != nil {
		return Verdict{}, err
	}
	code, reason := Twice, "this line stands in the logbook under another name"
	switch {
	case twice:
	case s.Forks.strike(e):
		code, reason = Form, "the line that this one takes back is not the one that has its name now"
	case s.Back == nil && erased:
		code, reason = Form, "what is left of an erased line is no line of its own"
	case s.Back != nil:
		reason = "" // it was judged when it came first
	default:
		code, reason = Form, d.policy(s)
	}
	var v Verdict
	if reason != "" {
		v, err = d.setAside(sum, code, reason)
		v.Fresh = true // its name is news, even if the bytes are not
		if !v.Code.Named() {
			v.Code, v.Reason = code, reason // without proof the bytes took no name
		}
	} else {
		v, err = d.keep(s, sum)
		if e.Origin.Seq > 0 {
			d.again[e.Origin.Sum] = true
		}
	}
	if err != nil {
		return Verdict{}, err
	}
	d.settled[w] = max(last, e.Seq)
	d.named[name{e.Log, e.Ref()}] = len(d.out)
	return v, nil
}

// strike says whether e takes back a line of a forked writer.
func (f Forks) strike(e *logbook.Entry) bool {
	for _, ref := range e.Strikes {
		if from := f[writer{e.Log, ref.Writer}]; from > 0 && ref.Seq >= from {
			return true
		}
	}
	return false
}

func (d *docket) find(e *logbook.Entry) (Verdict, error) {
	if i, ok := d.named[name{e.Log, e.Ref()}]; ok {
		return d.out[i], nil
	}
	return d.Find(e.Log, e.Ref())
}

// twice says whether the line stands in the logbook already, as it was before
// it was written again or after.
func (d *docket) twice(e *logbook.Entry, sum logbook.Hash) (bool, error) {
	if e.Origin.Seq > 0 {
		sum = e.Origin.Sum
		first := logbook.Entry{Log: e.Log, Writer: e.Origin.Writer, Seq: e.Origin.Seq}
		if was, err := d.find(&first); err != nil || was.What == Kept && was.Sum == sum {
			return err == nil, err
		}
	}
	if d.again[sum] {
		return true, nil
	}
	return d.Again(sum)
}

// setAside answers as before where the same bytes were set aside before.
func (d *docket) setAside(sum logbook.Hash, code Code, reason string) (Verdict, error) {
	if i, ok := d.aside[sum]; ok {
		v := d.out[i]
		v.Fresh = false
		return v, nil
	}
	v, err := d.FindAside(sum)
	if err != nil || v.What != 0 {
		v.Fresh = false
		return v, err
	}
	d.aside[sum] = len(d.out)
	return Verdict{What: Aside, Fresh: true, Sum: sum, Code: code, Reason: reason}, nil
}

// keep gives the entry its place: the next order number and link of its
// logbook's chain.
func (d *docket) keep(s *Submission, sum logbook.Hash) (Verdict, error) {
	h, ok := d.heads[s.Entry.Log]
	if !ok {
		order, chain, err := d.Head(s.Entry.Log)
		if err != nil {
			return Verdict{}, err
		}
		h = head{order, chain}
	}
	h.order++
	v := Verdict{What: Kept, Fresh: true, Sum: sum, Receipt: logbook.Receipt{Epoch: d.Epoch(), Order: h.order,
		Arrived: s.Arrived, Earliest: s.Earliest, Latest: s.Latest}}
	if s.Back != nil {
		v.Receipt = s.Back.Receipt.Back(d.Epoch(), h.order, s.Arrived)
	}
	v.Coded = v.Receipt.Append(nil)
	h.chain = logbook.NextSum(h.chain, v.Coded, sum)
	v.Chain = h.chain
	d.heads[s.Entry.Log] = h
	return v, nil
}
