package sealed

import (
	"errors"
	"fmt"
	"slices"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server/join"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// Line is a line of the shop's store, as it is stored, and its place in the
// chain.
type Line struct {
	Log            logbook.Log
	Receipt, Entry []byte
	Before, After  logbook.Hash // the chain's hash on either side of it

	receipt logbook.Receipt
	entry   logbook.Entry
	said    checklist.Line
}

// Store is where a record's lines come from.
type Store interface {
	Shop() logbook.Log
	// Places are the logbooks of all places.
	Places() []logbook.Log
	// Lines calls f with every line of a logbook in its order.
	Lines(log logbook.Log, f func(receipt, entry []byte) error) error
}

// Lines are what a record is made of: the job's whole logbook, and of the
// shop's and the places' what the job's answers depend on.
type Lines struct {
	Job  logbook.ID
	All  []Line // the shop's, the places', then the job's, each in its order
	Shop *checklist.Shop
}

// ErrOpen says that a job was not handed over.
var ErrOpen = errors.New("the vehicle is not handed over yet: its record is sealed when it is")

// before is how far back of a stay the climate goes: further than a reading by
// hand vouches, a gap between two samples is bridged, or a night's
// minimum-maximum span reaches.
const before = 24 * 60 * 60 * 1000

// Gather reads what the record of a job needs.
func Gather(st Store, job logbook.ID) (*Lines, error) {
	of := logbook.Log{Class: checklist.JobLog, ID: job}
	mine, err := read(st, of, func(*Line) bool { return true })
	if err != nil {
		return nil, err
	}
	shop := checklist.NewShop()
	for i := range mine {
		shop.Add(mine[i].said)
	}
	facts, ok := shop.Job(checklist.ID(job))
	if !ok {
		return nil, fmt.Errorf("no job has the id %s", job)
	}
	if facts.Closed == "" {
		return nil, ErrOpen
	}
	w := want{stays: shop.Stays(checklist.ID(job)), closed: facts.ClosedAt.Latest,
		pinned: map[string]bool{}, people: map[checklist.ID]bool{}, near: map[checklist.ID]bool{}, writers: map[logbook.ID]bool{}}
	w.reads(mine)
	for _, s := range w.stays {
		w.near[s.Place] = true
	}

	// Of the shop's lines all are read first: who wrote what is known only
	// after the places' have been.
	whole, err := read(st, st.Shop(), func(*Line) bool { return true })
	if err != nil {
		return nil, err
	}
	w.spread(whole)
	var air []Line
	for _, log := range st.Places() {
		got, err := read(st, log, func(l *Line) bool { return w.climate(l) })
		if err != nil {
			return nil, err
		}
		air = append(air, got...)
	}
	w.reads(air)
	own := w.shops(whole)

	out := &Lines{Job: job, All: slices.Concat(own, air, mine), Shop: checklist.NewShop()}
	for i := range out.All {
		out.Shop.Add(out.All[i].said)
	}
	return out, nil
}

// read follows a logbook's chain and returns the lines that are wanted, and
// what strikes one of them.
func read(st Store, log logbook.Log, wanted func(*Line) bool) ([]Line, error) {
	var out []Line
	kept := map[logbook.Ref]bool{}
	chain := logbook.Genesis(log)
	err := st.Lines(log, func(receipt, entry []byte) error {
		l := Line{Log: log, Receipt: receipt, Entry: entry, Before: chain}
		chain = logbook.Next(chain, receipt, entry)
		l.After = chain
		if err := l.decode(); err != nil {
			return err
		}
		if wanted(&l) || slices.ContainsFunc(l.entry.Strikes, func(r logbook.Ref) bool { return kept[r] }) {
			kept[l.entry.Ref()] = true
			out = append(out, l)
		}
		return nil
	})
	return out, err
}

// decode reads what the line's bytes say. A body that this version cannot read
// is left out of the answers, as on phones, and stays in the record.
func (l *Line) decode() (err error) {
	if l.receipt, err = logbook.DecodeReceipt(l.Receipt); err != nil {
		return err
	}
	if l.entry, err = logbook.Decode(l.Entry); err != nil {
		return err
	}
	e := l.entry
	span := checklist.Span{Earliest: l.receipt.Earliest, Latest: l.receipt.Latest}
	if l.said, err = line.Of(e, l.receipt.Order, span); err != nil {
		e.Body, e.Kind = line.Nothing, "unread"
		l.said, err = line.Of(e, l.receipt.Order, span)
	}
	return err
}

// Fold adds a stored line to a shop, if this version can read it.
func Fold(shop *checklist.Shop, receipt, entry []byte) error {
	l := Line{Receipt: receipt, Entry: entry}
	if err := l.decode(); err != nil {
		return err
	}
	shop.Add(l.said)
	return nil
}

// want is what a record needs beside its job's lines.
type want struct {
	stays  []checklist.Stay
	closed int64
	pinned map[string]bool       // rule sets and steps by their hash
	people map[checklist.ID]bool // who wrote what is in the record
	near   map[checklist.ID]bool // where the vehicle stood, and what shared air with that

	writers map[logbook.ID]bool // names under which phones wrote what is in the record
}

// reads notes who wrote lines, and what they pin.
func (w *want) reads(lines []Line) {
	for i := range lines {
		w.people[lines[i].said.By] = true
		w.writers[lines[i].entry.Writer] = true
		switch b := lines[i].said.Body.(type) {
		case checklist.JobOpen:
			w.pinned[b.Rules], w.pinned[b.Steps] = true, true
		case checklist.JobRules:
			w.pinned[b.Rules], w.pinned[b.Steps] = true, true
		}
	}
}

// spread widens near by what any line of the shop says shares air, whenever
// that was: a place more does no harm.
func (w *want) spread(shop []Line) {
	for grown := true; grown; {
		grown = false
		for i := range shop {
			b, ok := shop[i].said.Body.(checklist.AirShared)
			if !ok || !slices.ContainsFunc(b.Places, func(p checklist.ID) bool { return w.near[p] }) {
				continue
			}
			for _, p := range b.Places {
				grown = grown || !w.near[p]
				w.near[p] = true
			}
		}
	}
}

// climate wants the air of a place while the vehicle stood there, and what
// happened to any air that reached it.
func (w *want) climate(l *Line) bool {
	place := checklist.ID(l.Log.ID)
	span := l.said.Span
	switch b := l.said.Body.(type) {
	case checklist.PlaceEvent:
		return w.near[place] && b.From <= w.closed && (b.To == 0 || b.To >= w.stays[0].From.Earliest-before)
	case checklist.ClimateBlock:
		span = checklist.Span{Earliest: b.From, Latest: b.To}
	case checklist.ClimateSpan:
		span = checklist.Span{Earliest: b.From, Latest: b.To}
	case checklist.ClimateReading:
		if b.At != 0 {
			span = checklist.Span{Earliest: min(span.Earliest, b.At), Latest: max(span.Latest, b.At)}
		}
	default:
		return false
	}
	return slices.ContainsFunc(w.stays, func(s checklist.Stay) bool {
		to := s.To.Latest
		if to == 0 {
			to = w.closed
		}
		return s.Place == place && span.Latest >= s.From.Earliest-before && span.Earliest <= to
	})
}

// shops picks the shop's lines: its name and building, the numbers and steps
// that the job pins, and the people and phones that wrote in it. No other is
// named.
func (w *want) shops(whole []Line) []Line {
	phones := map[logbook.ID]bool{}
	for i := range whole {
		if device, writer := phone(&whole[i].entry); w.writers[writer] {
			phones[device] = true
		}
	}
	pick := func(l *Line) bool {
		switch b := l.said.Body.(type) {
		case checklist.ShopSet, checklist.PlaceAdd, checklist.AirShared:
			return true
		case checklist.RulesSet:
			return w.pinned[b.Hash]
		case checklist.StepsSet:
			return w.pinned[b.Hash]
		case checklist.PersonAdd:
			return w.people[b.Person]
		}
		device, writer := phone(&l.entry)
		return phones[device] && (writer.IsZero() || w.writers[writer])
	}
	// Who wrote a line that is picked is named too; who named them is as well.
	for grown := true; grown; {
		grown = false
		for i := range whole {
			if by := whole[i].said.By; pick(&whole[i]) && !w.people[by] {
				w.people[by], grown = true, true
			}
		}
	}
	var out []Line
	kept := map[logbook.Ref]bool{}
	for i := range whole {
		l := &whole[i]
		if pick(l) || slices.ContainsFunc(l.entry.Strikes, func(r logbook.Ref) bool { return kept[r] }) || l.erases(kept) {
			kept[l.entry.Ref()] = true
			out = append(out, *l)
		}
	}
	return out
}

// erases says whether a line is the one by which one of these was erased.
func (l *Line) erases(kept map[logbook.Ref]bool) bool {
	f, _ := l.said.Body.(checklist.Forget)
	for i := range f.Lines() {
		if kept[logbook.Ref{Writer: logbook.ID(f.Writers[i]), Seq: uint64(f.Seqs[i])}] {
			return true
		}
	}
	return false
}

// phone reads which phone a line of the shop is about, and under which name it
// says that the phone writes; zero for none (package join has these lines).
func phone(e *logbook.Entry) (device, writer logbook.ID) {
	if !join.Reserved(e.Kind) {
		return device, writer
	}
	r := cbor.NewReader(e.Body)
	for n := r.Map(); n > 0 && r.Err() == nil; n-- {
		switch r.Text() {
		case "device":
			device, _ = logbook.ParseID(r.Text())
		case "writer":
			writer, _ = logbook.ParseID(r.Text())
		default:
			r.Skip()
		}
	}
	return device, writer
}
