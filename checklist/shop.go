// Package checklist is the bay checklist of a vehicle-graphics shop as pure
// data and pure functions: which stages a vehicle goes through, what the crew
// has said and measured, what has undone it since, and whether the next stage
// may start.
//
// # The fold
//
// Everything that people, loggers and the server know is a [Line] of a logbook:
// the shop's, a place's or a job's. [Shop.Add] takes lines in any order, as
// often as they come, and [Shop.Gates] answers from the lines that nobody has
// struck. Two shops that hold the same lines give the same answers.
//
// # Time
//
// Nothing here asks for the time. 'Now' is an argument, and like the moment of
// every line it is an interval of the shop server's time. A waiting gate opens
// when earliest(now) >= latest(start) + duration; a claim is stale when
// latest(now) >= earliest(act) + shelf life. A time that a person typed in
// widens the interval of the act: it can delay a gate or age a claim, never the
// other way round, until the lead adopts it ([TimeAdopt]).
//
// # Claims, setbacks, counted hours
//
// A tick is a claim with a shelf life (rules.go) and enemies (setback.go).
// Drying counts hours in which the coldest spot was warm enough, far enough
// above the dew point, and the air dry enough; it pauses, goes on, and starts
// from zero zone by zone (dry.go). What is not known opens nothing.
//
// # Numbers
//
// Temperatures are thousandths of a degree Celsius, humidities thousandths of
// a percent, times milliseconds. All defaults are common practice without a
// source and stand in one table that the shop may change.
package checklist

import (
	"bytes"
	"slices"

	"bayhold/checklist/order"
)

// Shop holds every line it was given and answers from them. It is not safe for
// use from several goroutines at once.
type Shop struct {
	books  map[Log]*book
	shop   shopLines
	places map[ID]*place
	jobs   map[ID]*job
	rules  map[string]*limits
	values map[string]map[string]int64
	steps  map[string]Route // the shop's own routes by hash

	defaults *limits
	offline  int64  // last contact with the server, 0 while connected
	air      uint64 // version of shared air and of what happened to any place's air
	looked   *view  // the job that was asked for last, until a line comes
	common   uint64 // version of everything that is not one job's own
	layout   uint64 // version of what makes every counted hour doubtful: places, shared air, heaters
}

// shopLines are the standing lines of the shop's own logbook.
type shopLines struct {
	sets, places, people, shared, rules, routes, instruments list
}

// NewShop returns a shop without any line.
func NewShop() *Shop {
	return &Shop{
		books:    make(map[Log]*book),
		places:   make(map[ID]*place),
		jobs:     make(map[ID]*job),
		rules:    make(map[string]*limits),
		values:   make(map[string]map[string]int64),
		steps:    make(map[string]Route),
		defaults: unpack(nil),
	}
}

// Offline tells that the shop server was last heard at this moment, so that
// silence is told as 'not received', not as a silent logger; 0: it is heard.
func (s *Shop) Offline(since int64) {
	if s.offline != since {
		s.offline, s.looked = since, nil
		s.common++
	}
}

// Add takes one line. The order of calls never matters. A line that comes
// again with a receipt replaces its interval and order number; one that comes
// again without is the same line.
func (s *Shop) Add(l Line) {
	s.looked = nil
	if l.Log.Class == JobLog {
		s.job(l.Log.ID).glanced.since = false
	} else {
		s.common++
	}
	b := s.book(l.Log)
	if e := b.entries[l.ID]; e != nil {
		if l.Order == 0 && e.Order != 0 || l.Order == e.Order && l.Span == e.Span {
			return
		}
		if !e.struck {
			s.index(e, false)
		}
		b.all = b.all.without(e)
		e.Span, e.Order = l.Span, l.Order
		e.act = b.actOf(&e.Line)
		b.all = b.all.with(e)
		if !e.struck {
			s.index(e, true)
		}
		return
	}
	e := &entry{Line: l, act: b.actOf(&l)}
	b.entries[l.ID] = e
	b.all = b.all.with(e)
	for _, id := range l.Strikes {
		b.strikes[id] = true
		if t := b.entries[id]; t != nil && !t.struck && len(t.Strikes) == 0 {
			s.index(t, false)
			t.struck = true
			s.adopts(b, t)
		}
	}
	// A strike cannot be struck; everything else may have been struck already.
	if len(l.Strikes) == 0 && b.strikes[l.ID] {
		e.struck = true
		return
	}
	s.index(e, true)
	s.adopts(b, e)
}

// adopts sets the moment of the line that e is about anew, if e is the lead's
// word on its time.
func (s *Shop) adopts(b *book, e *entry) {
	word, ok := e.Body.(TimeAdopt)
	if !ok {
		return
	}
	b.adopted[word.Line] = false
	for _, x := range b.all {
		if w, ok := x.Body.(TimeAdopt); ok && !x.struck && w == word {
			b.adopted[word.Line] = true
		}
	}
	t := b.entries[word.Line]
	if t == nil {
		return
	}
	if !t.struck {
		s.index(t, false)
	}
	b.all = b.all.without(t)
	t.act = b.actOf(&t.Line)
	b.all = b.all.with(t)
	if !t.struck {
		s.index(t, true)
	}
}

// book is one logbook as it was received.
type book struct {
	entries map[LineID]*entry
	strikes map[LineID]bool
	adopted map[LineID]bool // lines whose typed time the lead took as true
	all     list            // struck ones too
}

func (s *Shop) book(l Log) *book {
	b := s.books[l]
	if b == nil {
		b = &book{entries: make(map[LineID]*entry), strikes: make(map[LineID]bool), adopted: make(map[LineID]bool)}
		s.books[l] = b
	}
	return b
}

// entry is a line as the fold keeps it.
type entry struct {
	Line
	act      Span // when the act was: Span, widened by a time that was typed in
	struck   bool
	dew      int32 // dew point of an air reading, computed once
	dewKnown bool
	row      *SetbackRow // of a setback or a place's event, looked up once

	filmLeast, filmMost int32 // of post-heat: the film's readings, corrected once
}

// TypedAt is when a body says that its act was, 0 if it does not.
func TypedAt(body Body) int64 {
	switch b := body.(type) {
	case Tick:
		return b.At
	case Reading:
		return b.At
	case Evidence:
		return b.At
	case Heat:
		return b.At
	case Trial:
		return b.At
	case JobMove:
		return b.At
	case ClimateReading:
		return b.At
	}
	return 0
}

// actOf widens the moment of writing by the time that the body gives. A time
// that the lead adopted stands alone, to the minute in which hands write it.
func (b *book) actOf(l *Line) Span {
	s, at := l.Span, TypedAt(l.Body)
	switch {
	case at == 0:
	case b.adopted[l.ID]:
		s.Earliest, s.Latest = at, at+minute-1
	default:
		s.Earliest, s.Latest = min(s.Earliest, at), max(s.Latest, at)
	}
	return s
}

// list holds standing lines in the one order that every copy agrees on: by the
// latest moment of the act, then by identity.
type list []*entry

func byAct(a, b *entry) int {
	if c := cmp(a.act.Latest, b.act.Latest); c != 0 {
		return c
	}
	if c := bytes.Compare(a.ID.Writer[:], b.ID.Writer[:]); c != 0 {
		return c
	}
	return cmp(int64(a.ID.Seq), int64(b.ID.Seq))
}

func cmp(a, b int64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

func (l list) with(e *entry) list {
	if n := len(l); n == 0 || byAct(l[n-1], e) < 0 {
		return append(l, e)
	}
	i, _ := slices.BinarySearchFunc(l, e, byAct)
	return order.Insert(l, i, e)
}

func (l list) without(e *entry) list {
	i, ok := slices.BinarySearchFunc(l, e, byAct)
	for ; ok && i < len(l); i++ {
		if l[i] == e {
			return slices.Delete(l, i, i+1)
		}
	}
	return l
}

// put adds the line or takes it away.
func (l list) put(e *entry, add bool) list {
	if add {
		return l.with(e)
	}
	return l.without(e)
}

// last returns the latest line, nil if there is none.
func (l list) last() *entry {
	if len(l) == 0 {
		return nil
	}
	return l[len(l)-1]
}

// index puts a standing line where the answers look for it, or takes it away.
func (s *Shop) index(e *entry, add bool) {
	switch e.Log.Class {
	case ShopLog:
		s.indexShop(e, add)
	case PlaceLog:
		s.place(e.Log.ID).index(s, e, add)
	case JobLog:
		s.job(e.Log.ID).index(s, e, add)
	}
}

func (s *Shop) indexShop(e *entry, add bool) {
	l := &s.shop
	switch b := e.Body.(type) {
	case ShopSet:
		l.sets = l.sets.put(e, add)
	case PlaceAdd:
		l.places = l.places.put(e, add)
		s.air++
		s.layout++
	case PersonAdd:
		l.people = l.people.put(e, add)
	case Instrument:
		l.instruments = l.instruments.put(e, add)
	case AirShared:
		l.shared = l.shared.put(e, add)
		s.air++
		s.layout++
	case RulesSet:
		l.rules = l.rules.put(e, add)
		// A set is named by its hash, so it stays known even when the line
		// that brought it is struck.
		if b.Hash != "" && s.rules[b.Hash] == nil {
			s.rules[b.Hash] = unpack(b.Values)
			s.values[b.Hash] = b.Values
		}
	case StepsSet:
		l.routes = l.routes.put(e, add)
		if _, ok := s.steps[b.Hash]; b.Hash != "" && !ok {
			s.steps[b.Hash] = b.route()
		}
	}
}

// newest returns the line that holds of several that set the same thing: the
// last order number wins, and a line that has none yet counts as later.
func newest(l list, same func(*entry) bool) *entry {
	var best *entry
	for _, e := range l {
		if same != nil && !same(e) {
			continue
		}
		if later(best, e) {
			best = e
		}
	}
	return best
}

// later says whether b replaces a, the one that held so far (nil: none did).
func later(a, b *entry) bool {
	return a == nil || b.Order == 0 || a.Order != 0 && b.Order > a.Order
}
