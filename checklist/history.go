package checklist

import "slices"

// AirAt is the air of a place at a moment, as an instrument said it.
type AirAt struct {
	At           int64
	Air, RH, Dew int32
}

// AirHistory returns what loggers and hands read of a place's air from a moment
// on, by time: the last sample of every block.
func (s *Shop) AirHistory(id ID, since int64) []AirAt {
	p := s.places[id]
	if p == nil {
		return nil
	}
	var out []AirAt
	for _, e := range p.blocks {
		if b := e.Body.(ClimateBlock); b.To >= since {
			at := b.To
			if b.N == 1 {
				at = b.From // a single sample stands at the block's beginning
			}
			out = append(out, AirAt{at, b.Air.Last, b.RH.Last, b.Dew.Last})
		}
	}
	for _, e := range p.hands {
		if b := e.Body.(ClimateReading); e.dewKnown && e.act.Latest >= since {
			out = append(out, AirAt{e.act.Latest, b.Air, b.RH, e.dew})
		}
	}
	slices.SortStableFunc(out, func(a, b AirAt) int { return cmp(a.At, b.At) })
	return out
}

// SurfaceAt is a surface temperature of a spot at a moment.
type SurfaceAt struct {
	At      int64
	Surface int32
}

// SpotHistory returns the readings of a spot from a moment on, by time.
func (s *Shop) SpotHistory(id ID, spot string, since int64) []SurfaceAt {
	j := s.jobs[id]
	if j == nil {
		return nil
	}
	r := j.readsOf(spot)
	if r == nil {
		return nil
	}
	var out []SurfaceAt
	for _, x := range r.reads {
		if x.e.act.Latest >= since {
			out = append(out, SurfaceAt{x.e.act.Latest, x.value})
		}
	}
	return out
}

// Counted returns how much of a stretch of time counted as drying in a zone.
func (s *Shop) Counted(id ID, zone string, from, to int64, now Span) (ms int64, ok bool) {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil {
		return 0, false
	}
	for _, x := range v.drying(zone).counted {
		if f, t := max(x.from, from), min(x.to, to); f < t {
			ms += t - f
		}
	}
	return ms, true
}

// RuleOf returns a number of the rule set that a job pins; ok is false while
// the set is not here.
func (s *Shop) RuleOf(id ID, key string) (int64, bool) {
	j := s.jobs[id]
	if j == nil {
		return 0, false
	}
	o, ok := j.open()
	if !ok {
		return 0, false
	}
	l, ok := s.limitsOf(&o)
	if !ok {
		return 0, false
	}
	return l.rule(key), true
}

// Happening is something that happened to a place's air, from a moment to
// another; To is zero while it goes on.
type Happening struct {
	Cause    string
	Place    ID // where it was, for air that came from elsewhere
	From, To int64
	By       ID
	Note     string
}

// Happenings returns what happened to a place's air, in the order of their
// ends, what goes on last.
func (s *Shop) Happenings(id ID) []Happening {
	var out []Happening
	for _, e := range s.around(id) {
		h := Happening{Cause: e.row.Cause, Place: e.place, From: e.start.Earliest, To: e.end, By: e.src.By}
		if b, ok := e.src.Body.(PlaceEvent); ok {
			h.Note = b.Note
		}
		if h.To == forever {
			h.To = 0
		}
		out = append(out, h)
	}
	slices.SortStableFunc(out, func(a, b Happening) int {
		x, y := a.To, b.To
		if x == 0 {
			x = forever
		}
		if y == 0 {
			y = forever
		}
		return cmp(x, y)
	})
	return out
}
