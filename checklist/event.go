package checklist

import "math"

// forever stands for the end of what still goes on.
const forever = math.MaxInt64 / 4

// always stands for the beginning of what was never otherwise.
const always = math.MinInt64 / 4

// event is a setback with its reach and its interval of time.
type event struct {
	row    *SetbackRow
	start  Span
	end    int64 // latest moment; forever while it goes on
	place  ID    // where, for what happened to a place's air
	panels []string
	zones  []string
	src    *entry
	wet    below // what was read, for sweating
	closed bool  // a later line tells the same event with its end
}

// length is the longest that the event can have been until now.
func (e *event) length(now Span) int64 {
	return min(e.end, now.Latest) - e.start.Earliest
}

// counts says whether the event went on for long enough to spoil anything.
func (e *event) counts(l *limits, now Span) bool {
	return e.row.Least == "" || e.length(now) > l.rule(e.row.Least)
}

// newEvent reads the interval of a setback or of what happened to a place.
func newEvent(row *SetbackRow, from, to int64, src *entry) event {
	e := event{row: row, start: src.Span, end: src.Span.Latest, src: src}
	if from != 0 {
		e.start.Earliest, e.start.Latest = min(from, e.start.Earliest), max(from, e.start.Latest)
		e.end = max(e.end, from)
	}
	if row.Lasts {
		e.end = forever
		if to != 0 {
			e.end = to
			if from == 0 {
				// Only the end is told: the start is whatever began before.
				e.start.Earliest = min(e.start.Earliest, to)
			}
		}
	} else if to != 0 {
		e.end = max(e.end, to)
	}
	return e
}

// settle marks events that a later line tells again with their end, and gives
// that line their beginning if it has none of its own.
func settle(events []event, from func(*event) int64) []event {
	for i := range events {
		a := &events[i]
		if a.end != forever {
			continue
		}
		for k := range events {
			b := &events[k]
			if b.row != a.row || b.place != a.place || b.end == forever || a.start.Earliest > b.end {
				continue
			}
			if f := from(b); f != 0 && f > a.start.Latest {
				continue
			}
			b.start.Earliest = min(b.start.Earliest, a.start.Earliest)
			a.closed = true
		}
	}
	out := events[:0]
	for _, e := range events {
		if !e.closed {
			out = append(out, e)
		}
	}
	return out
}

// typedFrom is the beginning that the line itself gives, 0 if none.
func typedFrom(e *event) int64 {
	switch b := e.src.Body.(type) {
	case PlaceEvent:
		return b.From
	case Setback:
		return b.From
	}
	return 0
}

// reach is a place whose air is shared for a while.
type reach struct {
	place    ID
	from, to int64
}

// shared returns every place that had its air together with this one, itself
// included, and when. Places that share by way of a third share too.
func (s *Shop) shared(place ID) []reach {
	statements := s.airStatements()
	out := []reach{{place, always, forever}}
	for i := 0; i < len(out) && len(out) < 64; i++ {
		for _, a := range statements {
			if !contains(a.places, out[i].place) {
				continue
			}
			from, to := max(out[i].from, a.from), min(out[i].to, a.to)
			if from >= to {
				continue
			}
			for _, p := range a.places {
				if !reaches(out, p, from, to) {
					out = append(out, reach{p, from, to})
				}
			}
		}
	}
	return out
}

func reaches(rs []reach, p ID, from, to int64) bool {
	for _, r := range rs {
		if r.place == p && r.from <= from && to <= r.to {
			return true
		}
	}
	return false
}

func contains(ids []ID, id ID) bool {
	for _, x := range ids {
		if x == id {
			return true
		}
	}
	return false
}

// statement is one 'these places share air' with the end that a later line of
// the same places may give it.
type statement struct {
	places   []ID
	from, to int64
}

func (s *Shop) airStatements() []statement {
	var out []statement
	for _, e := range s.shop.shared {
		b := e.Body.(AirShared)
		from, to := b.From, b.To
		if from == 0 {
			from = e.Span.Earliest
		}
		if to == 0 {
			to = forever
		}
		closes := false
		for i := range out {
			if to != forever && out[i].to == forever && samePlaces(out[i].places, b.Places) && out[i].from <= to {
				out[i].to, closes = to, true
			}
		}
		if !closes {
			out = append(out, statement{b.Places, from, to})
		}
	}
	return out
}

func samePlaces(a, b []ID) bool {
	if len(a) != len(b) {
		return false
	}
	for _, id := range a {
		if !contains(b, id) {
			return false
		}
	}
	return true
}
