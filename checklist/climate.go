package checklist

import (
	"slices"

	"bayhold/checklist/air"
	"bayhold/checklist/order"
)

// source says what knows the air of a stretch of time; the smaller one wins.
type source uint8

const (
	fromLogger source = iota + 1
	fromHand
	fromSpan // a minimum-maximum instrument: the worst combination
)

func (s source) String() string {
	return [...]string{"", "logger", "hand", "min-max"}[s]
}

// stretch is a time in which the air is known, by its worst values. Times that
// no stretch covers are not known.
type stretch struct {
	from, to          int64
	airLeast, airMost int32
	rhMost, dewMost   int32
	source            source
}

// worse is the worse of two stretches, for drying and laying alike.
func (a stretch) worse(b stretch) stretch {
	a.airLeast = min(a.airLeast, b.airLeast)
	a.airMost = max(a.airMost, b.airMost)
	a.rhMost = max(a.rhMost, b.rhMost)
	a.dewMost = max(a.dewMost, b.dewMost)
	return a
}

// place is a bay, the yard or outside with the standing lines of its logbook.
type place struct {
	id                          ID
	blocks, hands, spans, event list
	instruments                 []string
	version                     uint64
	changes                     []change // the last ones, oldest first
	known                       []timeline
	around                      []event // what happened to this air, shared air included
	aroundAir                   uint64
}

// change says from which moment on a version of the climate differs from the
// one before it.
type change struct {
	version uint64
	from    int64
}

// changed notes a new version.
func (p *place) changed(from int64) {
	p.version++
	if len(p.changes) == cap(p.changes) && len(p.changes) >= 16 {
		p.changes = append(p.changes[:0], p.changes[8:]...)
	}
	p.changes = append(p.changes, change{p.version, from})
}

// since returns the earliest moment that differs from an older version.
func (p *place) since(version uint64) int64 {
	from := int64(forever)
	for i := len(p.changes) - 1; i >= 0; i-- {
		if p.changes[i].version <= version {
			return from
		}
		from = min(from, p.changes[i].from)
	}
	if version == p.version {
		return from
	}
	return always
}

// timeline is the place's climate as one series, for one rule set.
type timeline struct {
	rules   *limits
	version uint64 // of the place
	layout  uint64 // of the shop
	series  []stretch
}

func (s *Shop) place(id ID) *place {
	p := s.places[id]
	if p == nil {
		p = &place{id: id}
		s.places[id] = p
	}
	return p
}

func (p *place) index(s *Shop, e *entry, add bool) {
	switch b := e.Body.(type) {
	case ClimateBlock:
		p.blocks = p.blocks.put(e, add)
		if !slices.Contains(p.instruments, b.Instrument) {
			p.instruments = append(p.instruments, b.Instrument)
		}
		if add && p.extend(b) {
			return
		}
		p.changed(b.From - earlier)
	case ClimateReading:
		e.dew, e.dewKnown = air.DewPointMilli(b.Air, b.RH)
		p.hands = p.hands.put(e, add)
		p.changed(always)
	case ClimateSpan:
		e.dew, e.dewKnown = air.DewPointMilli(b.AirMost, b.RHMost)
		p.spans = p.spans.put(e, add)
		p.changed(always)
	case PlaceEvent:
		e.row = setbackRow(b.Cause)
		p.event = p.event.put(e, add)
		s.air++
		if e.row != nil && (e.row.Dry == DryPauses || e.row.Disturbs && s.byHand()) {
			s.layout++
		}
	}
}

// byHand says whether any air was read by hand, which a door makes doubtful.
func (s *Shop) byHand() bool {
	for _, p := range s.places {
		if len(p.hands) > 0 {
			return true
		}
	}
	return false
}

// A block can change how the gap before it is bridged, and no gap that is
// bridged is longer than this.
const earlier = 2 * hour

// extend appends a block to the series that are already built, the usual case:
// one logger, and the newest block. It reports false if they must be built
// again.
func (p *place) extend(b ClimateBlock) bool {
	if len(p.instruments) > 1 || b.To <= b.From {
		return false
	}
	for i := range p.known {
		t := &p.known[i]
		if t.version != p.version || len(t.series) == 0 {
			return false
		}
		if last := &t.series[len(t.series)-1]; last.source != fromLogger || last.to > b.From {
			return false
		}
	}
	p.changed(b.From - earlier)
	for i := range p.known {
		t := &p.known[i]
		t.series = appendBlock(t.series, stretchOf(b), t.rules.silence)
		t.version = p.version
	}
	return true
}

func stretchOf(b ClimateBlock) stretch {
	return stretch{b.From, b.To, b.Air.Least, b.Air.Most, b.RH.Most, b.Dew.Most, fromLogger}
}

// appendBlock adds a block, and bridges a gap that is no silence yet with the
// worse of its two ends.
func appendBlock(series []stretch, b stretch, silence int64) []stretch {
	if n := len(series); n > 0 {
		last := series[n-1]
		b.from = max(b.from, last.to)
		if b.from >= b.to {
			return series
		}
		if gap := b.from - last.to; gap > 0 && gap <= silence {
			bridge := b.worse(last)
			bridge.from, bridge.to = last.to, b.from
			series = append(series, bridge)
		}
	}
	return append(series, b)
}

// climate returns the series of a place's air under a rule set.
func (s *Shop) climate(id ID, l *limits) []stretch {
	p := s.place(id)
	i := slices.IndexFunc(p.known, func(t timeline) bool { return t.rules == l })
	if i < 0 {
		p.known = append(p.known, timeline{rules: l})
		i = len(p.known) - 1
	} else if t := &p.known[i]; t.version == p.version && t.layout == s.layout {
		return t.series
	}
	t := &p.known[i]
	t.version, t.layout, t.series = p.version, s.layout, p.series(s, l)
	return t.series
}

// series builds the whole series: the worst of all loggers, then readings by
// hand where no logger was heard, then minimum-maximum spans.
func (p *place) series(s *Shop, l *limits) []stretch {
	var out []stretch
	for _, name := range p.instruments {
		mine, sorted := make([]stretch, 0, len(p.blocks)), true
		for _, e := range p.blocks {
			if b := e.Body.(ClimateBlock); b.Instrument == name && b.From < b.To {
				sorted = sorted && (len(mine) == 0 || mine[len(mine)-1].from <= b.From)
				mine = append(mine, stretchOf(b))
			}
		}
		if !sorted { // the usual logger's blocks are
			order.Stable(mine, func(a, b *stretch) bool { return a.from < b.from })
		}
		one := make([]stretch, 0, len(mine))
		for _, b := range mine {
			one = appendBlock(one, b, l.silence)
		}
		out = overlay(out, one, true)
	}
	var hands []stretch
	var prev int64
	for _, e := range p.hands {
		if !e.dewKnown {
			continue
		}
		b := e.Body.(ClimateReading)
		h := stretch{e.act.Latest - l.vouchShort, s.vouches(p.id, e.act, l), b.Air, b.Air, b.RH, e.dew, fromHand}
		if s.disturbed(p.id, h.from, e.act.Latest) {
			h.from = e.act.Latest
		}
		if n := len(hands); n > 0 {
			// Between two readings that vouch for each other the worse one
			// holds; after the second the first has nothing more to say.
			if hands[n-1].to >= h.from {
				h.from = min(h.from, prev)
			}
			hands[n-1].to = min(hands[n-1].to, max(e.act.Latest, hands[n-1].from))
		}
		if h.from < h.to {
			hands = append(hands, h)
			prev = e.act.Latest
		}
	}
	var series []stretch
	for _, h := range hands {
		series = overlay(series, []stretch{h}, true)
	}
	out = overlay(out, series, false)
	series = nil
	for _, e := range p.spans {
		b := e.Body.(ClimateSpan)
		to := e.Span.Earliest
		if b.To != 0 {
			to = min(to, b.To)
		}
		if e.dewKnown && b.From < to {
			series = overlay(series, []stretch{{b.From, to, b.AirLeast, b.AirMost, b.RHMost, e.dew, fromSpan}}, true)
		}
	}
	return overlay(out, series, false)
}

// overlay lays two series over each other: where both know the air, the worse
// of the two, or base alone.
func overlay(base, over []stretch, worst bool) []stretch {
	if len(over) == 0 {
		return base
	}
	if len(base) == 0 {
		return over
	}
	var out []stretch
	emit := func(t stretch, to int64) {
		if t.from < to {
			t.to = to
			out = append(out, t)
		}
	}
	i, k := 0, 0
	a, b := base[0], over[0]
	for i < len(base) || k < len(over) {
		switch {
		case k == len(over) || i < len(base) && a.to <= b.from:
			emit(a, a.to)
			a.from = a.to
		case i == len(base) || b.to <= a.from:
			emit(b, b.to)
			b.from = b.to
		case a.from < b.from:
			emit(a, b.from)
			a.from = b.from
		case b.from < a.from:
			emit(b, a.from)
			b.from = a.from
		default:
			end := min(a.to, b.to)
			both := a
			if worst {
				both = a.worse(b)
			}
			emit(both, end)
			a.from, b.from = end, end
		}
		if i < len(base) && a.from >= a.to {
			if i++; i < len(base) {
				a = base[i]
			}
		}
		if k < len(over) && b.from >= b.to {
			if k++; k < len(over) {
				b = over[k]
			}
		}
	}
	return out
}

// atNow returns the air of this moment: what was heard last, if that is not
// too old. If ok is false, since is the last moment that is known, 0 if none.
func atNow(series []stretch, now Span, l *limits) (t stretch, since int64, ok bool) {
	for i := len(series) - 1; i >= 0; i-- {
		t = series[i]
		if t.from > now.Latest {
			continue
		}
		end := t.to
		if t.source == fromLogger {
			end += l.silence
		}
		return t, t.to, now.Latest < end
	}
	return stretch{}, 0, false
}

// around returns what happened to a place's air, its own and what came through
// air that it shared.
func (s *Shop) around(id ID) []event {
	p := s.place(id)
	if p.around != nil && p.aroundAir == s.air {
		return p.around
	}
	out := []event{}
	for _, r := range s.shared(id) {
		for _, e := range s.place(r.place).happened() {
			if r.place != id && !e.row.Spreads || e.end < r.from || e.start.Earliest > r.to {
				continue
			}
			out = append(out, e)
		}
	}
	p.around, p.aroundAir = out, s.air
	return out
}

// happened returns the events of the place's own logbook.
func (p *place) happened() []event {
	var out []event
	for _, e := range p.event {
		b := e.Body.(PlaceEvent)
		if e.row != nil {
			ev := newEvent(e.row, b.From, b.To, e)
			ev.place = p.id
			out = append(out, ev)
		}
	}
	return settle(out, typedFrom)
}

// vouches returns until when a reading by hand in this air can be believed.
func (s *Shop) vouches(id ID, read Span, l *limits) int64 {
	end := read.Earliest + l.vouch
	for _, e := range s.around(id) {
		if !e.row.Disturbs {
			continue
		}
		if e.start.Earliest > read.Earliest {
			end = min(end, e.start.Earliest+l.vouchShort)
		} else if e.end > read.Earliest-l.settle {
			end = min(end, read.Earliest+l.vouchShort)
		}
	}
	return end
}

// disturbed says whether a door, a heater or a wash touched this air between
// two moments.
func (s *Shop) disturbed(id ID, from, to int64) bool {
	for _, e := range s.around(id) {
		if e.row.Disturbs && e.start.Earliest <= to && e.end >= from {
			return true
		}
	}
	return false
}
