package checklist

import (
	"bayhold/checklist/order"
)

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
	order.Stable(out, func(a, b *AirAt) bool { return a.At < b.At })
	return out
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
	order.Stable(out, func(a, b *Happening) bool {
		x, y := a.To, b.To
		if x == 0 {
			x = forever
		}
		if y == 0 {
			y = forever
		}
		return x < y
	})
	return out
}

// Counted returns the times that counted towards the drying of a zone, from and
// to, in order: closed ones alone.
func (s *Shop) Counted(id ID, zone string, now Span) [][2]int64 {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil {
		return nil
	}
	var out [][2]int64
	for _, c := range v.drying(zone).counted {
		out = append(out, [2]int64{c.from, c.to})
	}
	return out
}

// Hours returns when somebody is there; ok is false before the shop said so. It
// is asked on the shop server alone, and so goes through the whole logbook.
func (s *Shop) Hours() (h ShopHours, ok bool) {
	var best *entry
	for log, b := range s.books {
		if log.Class != ShopLog {
			continue
		}
		best = newest(b.all, func(e *entry) bool {
			_, is := e.Body.(ShopHours)
			return is && !e.struck
		})
	}
	if best == nil {
		return h, false
	}
	return best.Body.(ShopHours), true
}

// Heard returns the names of the instruments that a place's air was heard from.
func (s *Shop) Heard(place ID) []string { return s.place(place).instruments }
