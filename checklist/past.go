package checklist

import (
	"slices"

	strains "bayhold/checklist/stretch"
)

// What a shop learns from its past jobs by: what hours that did not count
// lacked, and how far a feature stretched the film.

// HoursOf is a time of drying or of rest in one place. Cause is what it lacked
// to count, "" if it counted: the cause of a setback, or one of those below.
type HoursOf struct {
	From, To int64
	Place    ID
	Cause    string
}

// What hours lack to count.
const (
	LacksMargin  = "margin"      // too near the dew point
	LacksWet     = "wet"         // under the dew point
	LacksDryAir  = "damp"        // air too damp
	LacksWarmth  = "cold"        // surface (or air, at rest) too cold
	LacksAir     = "air-unknown" // nobody knows the air
	LacksReading = "no-reading"  // no reading of the coldest spot, before or after
	LacksRoof    = "outside"     // not in a bay
)

// HoursFor tells a time apart into hours that counted for the drying of a zone,
// or for the rest of the vehicle, and hours that did not, as all lines have it
// now.
func (s *Shop) HoursFor(id ID, zone string, rest bool, from, to int64, now Span) []HoursOf {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil || from >= to {
		return nil
	}
	if rest {
		zone = ""
	}
	d, spots := v.hoursOf(zone, rest), v.allSpots()
	if !rest {
		spots = v.spotsOf(zone)
	}
	lows := v.lows(spots, from)
	var out []HoursOf
	for i := range v.stays {
		st := &v.stays[i]
		f, t := max(from, st.from.Latest), to
		if i == 0 {
			f = from
		}
		if i+1 < len(v.stays) {
			t = min(t, v.stays[i+1].from.Latest)
		}
		if f >= t {
			continue
		}
		series := s.climate(st.place, v.limits)
		edges := []int64{f, t}
		edge := func(a, b int64) {
			for _, x := range [...]int64{a, b} {
				if f < x && x < t {
					edges = append(edges, x)
				}
			}
		}
		for _, c := range d.counted {
			edge(c.from, c.to)
		}
		for _, l := range lows {
			edge(l.from, l.to)
		}
		for k := firstAfter(series, f); k < len(series) && series[k].from < t; k++ {
			edge(series[k].from, series[k].to)
		}
		for k := range v.happened {
			edge(v.happened[k].start.Earliest, v.happened[k].end)
		}
		slices.Sort(edges)
		edges = slices.Compact(edges)
		for k := 1; k < len(edges); k++ {
			h := HoursOf{edges[k-1], edges[k], st.place, v.lacking(d, st, series, lows, edges[k-1])}
			if n := len(out); n > 0 && out[n-1].To == h.From && out[n-1].Place == h.Place && out[n-1].Cause == h.Cause {
				out[n-1].To = h.To
			} else {
				out = append(out, h)
			}
		}
	}
	return out
}

// lacking is what the time from a moment to the next edge lacks to count.
func (v *view) lacking(d *drying, st *stay, series []stretch, lows []low, t int64) string {
	if slices.ContainsFunc(d.counted, func(c iv) bool { return c.from <= t && t < c.to }) {
		return ""
	}
	if !d.rest && st.sort != "bay" {
		return LacksRoof
	}
	for i := range v.happened {
		if e := &v.happened[i]; e.row.Dry == DryPauses && e.start.Earliest <= t && t < e.end && e.hits(&v.open, "", d.zone) {
			return e.row.Cause
		}
	}
	k := slices.IndexFunc(lows, func(l low) bool { return l.from <= t && t < l.to })
	if k < 0 || !lows[k].closed {
		return LacksReading
	}
	value := int64(lows[k].value)
	i := firstAfter(series, t)
	known := i < len(series) && series[i].from <= t
	switch {
	case d.rest && value < v.limits.restFloor:
		return LacksWarmth
	case !known:
		return LacksAir
	case d.rest && int64(series[i].airLeast) < v.limits.restFloor:
		return LacksWarmth
	case d.rest:
		return LacksReading
	case value < int64(series[i].dewMost):
		return LacksWet
	case value-int64(series[i].dewMost) < v.limits.margin:
		return LacksMargin
	case int64(series[i].rhMost) > v.limits.dryRH:
		return LacksDryAir
	case value < v.limits.dryFloor:
		return LacksWarmth
	}
	return LacksReading // where it stood in these minutes is not sure
}

// Strain is how much of its length a feature adds to the film if that is
// bridged; known is false if it was not measured.
func (f *Feature) Strain() (line float64, known bool) {
	var s strains.Strain
	s, known = strainOf(f)
	return s.Line, known
}
