package lead

import (
	"cmp"
	"slices"

	"bayhold/checklist"
)

// Told is when a gate that is not open may open.
type Told struct {
	Job   checklist.ID
	Label string
	checklist.Gate
	Kind, About, Unkind int64  // 0: not within two days
	Next                int64  // the next working moment after About, or after Kind
	Assumes             string // what the moments rest on
	Sentence            string
}

// Told returns when every waiting or held gate of the open jobs may open, one
// for a stage and zone.
func (l *Look) Told() []Told {
	var out []Told
	for i := range l.vehicles {
		v := &l.vehicles[i]
		seen := ""
		for _, g := range v.gates {
			if g.State != checklist.Waits && g.State != checklist.Held || g.Cause == "bare" || seen == g.Stage+g.Zone {
				continue
			}
			seen = g.Stage + g.Zone
			t, ok := l.told(v, g)
			// A stage that only waits for one before it says nothing new.
			if ok && !slices.ContainsFunc(out, func(o Told) bool {
				return o.Job == t.Job && o.About == t.About && o.Zone == t.Zone || t.Zone == "" && o.Job == t.Job
			}) {
				out = append(out, t)
			}
		}
	}
	return out
}

// told is one gate; not ok if what holds it is work that somebody has to do.
func (l *Look) told(v *vehicle, g checklist.Gate) (Told, bool) {
	t := Told{Job: v.ID, Label: v.Open.Label, Gate: g}
	var end func(course []moment) int64
	switch {
	case g.Stage == "dry" && g.Needed > g.Counted && v.sort == "bay":
		end = func(course []moment) int64 {
			idle, ends := l.idle(course, true)
			at := l.counts(idle, g.Needed-g.Counted)
			if ends && at > idle[len(idle)-1].From {
				return 0
			}
			return at
		}
		t.Assumes = "Forecast of the bay's air; nobody opens a door."
	case g.Stage == "window" && v.sort == "bay" && (g.Cause == "cold" || g.Cause == "margin" || g.Cause == "apart"):
		floor := float64(max(l.rules["surface_floor"], l.rules["air_floor"])) / 1000
		if cold, ok := l.coldest(v.ID, g.Zone); ok {
			floor += float64(cold.Error) / 1000
		}
		end = func(course []moment) int64 {
			for _, m := range course {
				if m.spot >= floor && m.margin() >= float64(l.rules["margin"])/1000 && m.air-m.spot <= float64(l.rules["air_apart"])/1000 {
					return m.at
				}
			}
			return 0
		}
		t.Assumes = "The coldest spot follows the air; read it to open."
	case g.Until > l.Now.Latest:
		t.Kind, t.About, t.Unkind = g.Until, g.Until, g.Until
		t.Assumes = "If nothing spoils it."
	default:
		return t, false
	}
	if end != nil {
		for s, at := range []*int64{kind: &t.Kind, mid: &t.About, unkind: &t.Unkind} {
			course, ok := l.course(v, g.Zone, side(s), l.acted(side(s), l.Now.Latest))
			if !ok {
				return t, false
			}
			*at = end(course)
		}
		if t.Kind == 0 || t.About != 0 && t.About < t.Kind {
			t.Kind = t.About
		}
		if l.flame(v.Place) {
			t.Assumes = "Flame heater off at " + clock(l.opens(l.Now.Latest)) + ". Late: it burns on."
		}
	}
	if first := cmp.Or(t.About, t.Kind); first != 0 {
		t.Next = l.opens(first)
	}
	t.Sentence = when(t.Kind, t.About, t.Unkind)
	return t, true
}

// counts returns when the hours have counted from now on.
func (l *Look) counts(idle []spanOf, need int64) int64 { return passes(l.Now.Latest, need, idle) }

// when says a range: the moment and its ends.
func when(early, about, late int64) string {
	switch {
	case early == 0:
		return "Not within two days as it is."
	case about == 0:
		return "From " + clock(early) + " at the earliest, open-ended as it is."
	case late == 0:
		return "About " + clock(about) + ", from " + clock(early) + ", open-ended."
	case early == late:
		return "About " + clock(about) + "."
	}
	return "About " + clock(about) + ", " + clock(early) + " to " + clock(late) + "."
}
