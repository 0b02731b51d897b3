package checklist

import (
	"math"

	"bayhold/checklist/infrared"
)

// heated judges the post-heat of a panel: as far as its features are long and
// for as many rivets as it has, with the film read as warm as its family asks.
// A stretch whose film was read too cold counts nothing; one that nobody read,
// or that is told from memory, is not known, which is not the same as done. Where
// film was lifted since, it must be heated there again; what was heated
// elsewhere stands.
func (v *view) heated(st *Stage, p *Panel, g *Gate, r *result) []cause {
	length, rivets := v.toHeat(p)
	var did, quick, unknown, unknownRivets, reads int64
	var lifted *event
	var last, hot *entry
	again := false // heated since it was lifted
	laid := v.laidAt(p.ID)
	for _, e := range v.job.heats {
		b := e.Body.(Heat)
		if b.Panel != p.ID || e.act.Latest < laid.Earliest {
			continue
		}
		last = e
		if b.Answer == "done" && b.Length == 0 && b.Rivets == 0 {
			b.Length, b.Rivets = length, rivets // the whole panel
		}
		low, high := v.heatWindow(p, b.Over)
		if len(b.Films) > 0 && int64(e.filmMost) >= high && !v.lookedAt(p.ID, e) {
			hot = e
		}
		switch {
		case b.Answer == "not-measured" || b.Answer == "from-memory" || len(b.Films) == 0:
			unknown, unknownRivets = unknown+b.Length, unknownRivets+b.Rivets
			continue
		case int64(e.filmLeast) < low:
			continue
		}
		did, quick, reads = did+b.Length, quick+b.Rivets, reads+int64(len(b.Films))
		if x := v.spoiler(st.Key, p.ID, "", act{Span: e.act, src: e}); x != nil {
			lifted = x
		} else {
			again = true
		}
		r.done.Earliest, r.done.Latest = max(r.done.Earliest, e.act.Earliest), max(r.done.Latest, e.act.Latest)
	}
	var out []cause
	if hot != nil {
		_, high := v.heatWindow(p, hot.Body.(Heat).Over)
		out = append(out, cause{key: "heat-damage", panel: p.ID, state: Held, since: hot.act.Earliest,
			reason: say(sayHeatDamage, markTemp(int64(hot.filmMost)), markTemp(high)), wayOut: say(sayHeatLook)})
	}
	if last == nil {
		return append(out, first(st)...)
	}
	b := last.Body.(Heat)
	low, _ := v.heatWindow(p, b.Over)
	c := cause{key: "heat-short", panel: p.ID, again: true, laterOut: say(sayDoFirst, st.Name)}
	if c.short = length - did; c.short > 0 {
		c.reason = say(sayHeatShort, tenths(did, metre), tenths(length, metre))
	} else if c.short = rivets - quick; c.short > 0 {
		c.key, c.reason = "rivets-short", say(sayRivetsShort, digits(quick), digits(rivets))
	}
	switch {
	case c.short > 0 && len(b.Films) > 0 && int64(last.filmLeast) < low:
		c.key, c.reason = "heat-cold", say(sayHeatCold, markTemp(int64(last.filmLeast)), markTemp(low))
	case (c.short > 0 || reads == 0) && did+unknown >= length && quick+unknownRivets >= rivets:
		c.key, c.state, c.reason, c.wayOut = "heat-unknown", NotKnown, say(sayHeatUnknown), say(sayHeatRead)
	case c.short > 0:
	case reads == 0:
		c.key, c.reason = "heat-cold", say(sayHeatCold, markTemp(int64(last.filmLeast)), markTemp(low))
	case lifted != nil && !again:
		return append(out, v.spoiled(st, Claim{Cause: lifted.row.Cause, event: lifted}))
	default:
		if len(out) == 0 {
			g.State, g.Reason = Done, say(sayHeated, tenths(did, metre), digits(reads))
		}
		return out
	}
	if c.short < 0 {
		c.short = 0
	}
	return append(out, c)
}

// metre in micrometres.
const metre = 1_000_000

// toHeat returns how much of a panel wants post-heat. A moving gap is cut and
// its lips are heated with the cut; what stays free of film and a flat want
// none.
func (v *view) toHeat(p *Panel) (length, rivets int64) {
	if len(v.job.features) == 0 {
		return 0, 0
	}
	for _, e := range v.featuresOf(p.ID) {
		b := e.Body.(Feature)
		switch {
		case b.Sort == "keep-clear" || b.Sort == "flat" || b.Plan == "bare":
		case b.Sort == "rivets":
			length, rivets = length+b.Length, rivets+b.Count
		default:
			length += b.Length
		}
	}
	return length, rivets
}

// heatRows say which rule holds for the film of a panel: its own family first,
// then what lies under it. Common practice, no source; the film's own sheet
// wins.
var heatRows = [...]struct{ family, over, low, high string }{
	{"calendered-long", "", "heat_calendered", "heat_damage"},
	{"calendered-short", "", "heat_calendered", "heat_damage"},
	{"reflective", "", "heat_reflective", "heat_damage"},
	{"", "paint", "heat_paint", "heat_paint_most"},
	{"", "plastic", "heat_plastic", "heat_damage"},
	{"", "", "heat_film", "heat_damage"},
}

// heatWindow returns how warm the film of a panel must be read, and from where
// on it takes harm.
func (v *view) heatWindow(p *Panel, over string) (low, high int64) {
	f := v.filmOf(p)
	if over == "" && v.overPaint(p) {
		over = "paint"
	}
	for i := range heatRows {
		row := &heatRows[i]
		if row.family != "" && (f == nil || f.Family != row.family) || row.over != "" && row.over != over {
			continue
		}
		low, high = v.limits.rule(row.low), v.limits.rule(row.high)
		if over == "paint" {
			high = min(high, v.limits.rule("heat_paint_most"))
		}
		if f != nil {
			for _, l := range f.Limits {
				switch l.Key {
				case row.low:
					low = l.Value
				case row.high:
					high = l.Value
				}
			}
		}
		break
	}
	return low, high
}

// overPaint says whether the film lies on paint that is known not to be the
// factory's.
func (v *view) overPaint(p *Panel) bool {
	e := v.paintOf(p)
	return e != nil && e.Body.(Paint).Cure != "factory" && e.Body.(Paint).Cure != "unknown"
}

// lookedAt says whether somebody looked for harm after a line of post-heat:
// pinned what was seen, or wrote that there was nothing.
func (v *view) lookedAt(panel string, heat *entry) bool {
	for _, e := range v.job.findings {
		if e.Body.(Finding).Panel == panel && wroteBefore(heat, e) {
			return true
		}
	}
	for _, e := range v.job.evidence {
		if b := e.Body.(Evidence); b.What == "heat-look" && b.Panel == panel && b.Passed && wroteBefore(heat, e) {
			return true
		}
	}
	return false
}

// filmsRead corrects what a thermometer read off the film, and returns the
// least and the most. An infrared one reckons with the emissivity that it was
// set to (0.95 if it has no setting) and not with the film's; what mirrors in
// the film is taken for a bay at 20 C (common practice, no source: ten kelvin
// more or less there is half a kelvin here at the most). The result is rounded
// once, to a thousandth.
func filmsRead(b *Heat) (least, most int32) {
	least, most = math.MaxInt32, math.MinInt32
	for _, read := range b.Films {
		mC := int32(max(-273_000, min(read, 1_000_000)))
		if film, ok := infrared.Find("film"); ok && b.Instrument == "infrared" {
			set := float64(b.Emissivity) / 100_000
			if b.Emissivity == 0 {
				set = 0.95
			}
			if t, ok := infrared.True(float64(mC)/1000, set, film.Usual(), 20); ok && t < 1000 {
				mC = int32(math.Round(t * 1000))
			}
		}
		least, most = min(least, mC), max(most, mC)
	}
	return least, most
}
