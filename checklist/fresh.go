package checklist

import "bayhold/checklist/paint"

// painted judges what is known of a panel's paint and whether it waited: by
// how it was cured, how thick it is and how warm it stood. Factory paint waits
// for nothing; what nobody knows waits longest.
func (v *view) painted(st *Stage, p *Panel, g *Gate, r *result) []cause {
	h := v.paintHistory(p.ID)
	if h.e == nil {
		c := cause{key: "paint-unknown", panel: p.ID, again: true, reason: say(sayPaintUnknown)}
		if st.Only == OnRepaired {
			c.reason, c.later, c.laterOut = say(sayTouchedUp, upper(p.Name)), say(sayTouchedUp, upper(p.Name)), say(sayDoFirst, st.Name)
		}
		return []cause{c}
	}
	r.done = h.e.act
	g.State, g.Counted, g.Needed = Done, h.counted, h.need
	switch {
	case h.need == 0:
		g.Reason = say(sayFactory)
	case h.counted >= h.need:
		g.Reason = say(sayPaintWaited, markSpan(h.counted), markSpan(h.need))
	default:
		left := h.need - h.counted
		return []cause{{key: "paint-wait", panel: p.ID, short: left, since: h.e.act.Earliest, state: Waits,
			reason: say(sayPaintWait, markSpan(h.counted), markSpan(h.need)), wayOut: say(sayKeepWarm),
			condition: say(sayPaintThen, markSpan(left), markTemp(paint.WholeMilliC))}}
	}
	return nil
}

// history is what is known of a panel's paint.
type history struct {
	e             *entry
	need, counted int64 // of a wait at 20 C
}

// paintHistory returns the history that holds of a panel's paint: the newest line,
// or of several that nobody can put in order the one that waits longest. Paint
// that was touched up on this job has the history of the touching up.
func (v *view) paintHistory(panel string) history {
	since, touched := v.repaired(panel)
	var h history
	var surely int64
	for i := len(v.job.paints) - 1; i >= 0; i-- {
		e := v.job.paints[i]
		b := e.Body.(Paint)
		if len(b.Panels) == 0 && touched || len(b.Panels) > 0 && !has(b.Panels, panel) || e.act.Latest < max(since, surely) {
			continue
		}
		x := history{e: e, need: v.waitOf(&b)}
		if x.need > 0 {
			from := b.Painted
			if from == 0 {
				from = v.job.opens[0].act.Latest // it was painted by then
			}
			x.counted = v.cured(max(from, since))
		}
		if h.e == nil || x.need-x.counted > h.need-h.counted {
			h = x
		}
		surely = max(surely, e.act.Earliest)
	}
	return h
}

// waitOf is how long paint waits at 20 C.
func (v *view) waitOf(b *Paint) int64 {
	l := v.limits
	thickest := int64(0)
	for _, n := range b.Thickness {
		thickest = max(thickest, n)
	}
	switch {
	case thickest > l.paintThick || b.Cure == "thick":
		return l.paintUnknown
	case b.Cure == "factory" && thickest <= l.paintFactory:
		return 0
	case b.Cure == "baked":
		return l.paintBaked
	case b.Cure == "air-dried":
		return l.paintAir
	}
	return l.paintUnknown // factory paint that thick is none
}

// curing is what counts of a wait since a moment, as far as the air is known.
// It is kept, for it goes through weeks of samples.
type curing struct {
	from          int64
	rules         *limits
	stamp         [3]uint64 // of the moves, the layout and the climate that it was counted in
	to            int64     // end of the last sample
	known, credit int64     // time whose air is known, and what counts of it
}

// cured returns how much counts since a moment of a wait at 20 C. The paint
// stood as cold as the coldest air of its place; before check-in, and outside,
// as the air that the shop read outdoors. A time that nobody knows counts as
// cold.
func (v *view) cured(from int64) int64 {
	now := v.now.Earliest
	if from >= now {
		return 0
	}
	stamp := [3]uint64{v.job.version, v.shop.layout, 0}
	for _, p := range v.shop.places {
		stamp[2] += p.version // none ever falls
	}
	var c *curing
	for i := range v.job.cures {
		if k := &v.job.cures[i]; k.from == from && k.rules == v.limits {
			c = k
		}
	}
	if c == nil {
		v.job.cures = append(v.job.cures, curing{from: from, rules: v.limits})
		c = &v.job.cures[len(v.job.cures)-1]
	}
	if c.stamp != stamp || c.to > now {
		*c = curing{from: from, rules: v.limits, stamp: stamp}
		v.stood(c, now)
	}
	return c.credit + paint.Credit(int32(v.limits.paintCold), now-from-c.known)
}

// stood counts from the beginning until now.
func (v *view) stood(c *curing, now int64) {
	var outside []stretch
	for _, p := range v.shop.Places() {
		if outdoors(p.Sort) {
			outside = overlay(outside, v.shop.climate(p.Place, v.limits), true)
		}
	}
	c.add(outside, c.from, min(now, v.job.opens[0].act.Earliest))
	for i := range v.stays {
		st := &v.stays[i]
		series := outside
		if !outdoors(st.sort) {
			series = v.shop.climate(st.place, v.limits)
		}
		c.add(series, max(c.from, st.from.Latest), min(now, st.to.Earliest))
	}
}

// add counts the known times of a series in [from, to).
func (c *curing) add(series []stretch, from, to int64) {
	for i := firstAfter(series, from); i < len(series) && series[i].from < to; i++ {
		a := &series[i]
		span := min(a.to, to) - max(a.from, from)
		c.known += span
		c.credit += paint.Credit(a.airLeast, span)
		c.to = max(c.to, a.to)
	}
}

// repaired says whether a panel was touched up on this job, and from when on
// its paint counts as fresh: since the damage was seen.
func (v *view) repaired(panel string) (since int64, ok bool) {
	if e := v.pinned(panel, "", "repaired"); e != nil {
		return e.act.Latest, true
	}
	return 0, false
}

// patched judges the gas patch test of a panel. Gas counts however cold the
// patch stood, and asks for another patch after the wait; that nothing was seen
// counts only from a valid test on paint that was not touched since.
func (v *view) patched(st *Stage, p *Panel, g *Gate, r *result) []cause {
	l := v.limits
	h := v.paintHistory(p.ID)
	if h.e != nil && h.need == 0 {
		g.State, g.Reason, r.done = Done, say(sayFactory), h.e.act
		return nil
	}
	since, _ := v.repaired(p.ID)
	need := paint.PatchNeed{StandMs: l.patchStand, CycleMs: l.patchWarmFor, Places: l.patchPlaces,
		ColdestMilliC: l.patchFloor, CycleLowMC: l.patchWarm, CycleHighMC: l.patchWarmMost}
	var on, look, gas, clean, off *entry
	var begun Span
	var fault paint.Fault
	var sealed paint.Sealed
	for _, e := range v.job.patches {
		b := e.Body.(Patch)
		if b.Panel != "" && b.Panel != p.ID || e.act.Latest < since {
			continue
		}
		if b.To == 0 {
			on = e
			continue
		}
		s := paint.Sealed{Places: b.Places, ColdestMilliC: forever, CycleMC: int64(b.Warm), CycleMs: b.WarmFor,
			Bubbles: b.Seen == "bubbles", PaintFlake: b.Seen == "paint-off"}
		if b.Coldest != 0 {
			s.ColdestMilliC = int64(b.Coldest)
		}
		if on != nil {
			// A moment that was typed in may only shorten how long it stood.
			begun = on.Span
			begun.Latest = max(begun.Latest, b.From)
			s.StoodMs = min(e.Span.Earliest, b.To) - begun.Latest
			s.ColdestMilliC = min(s.ColdestMilliC, v.coldestOver(p.Zone, Span{begun.Earliest, e.Span.Latest}))
		}
		if s.ColdestMilliC == forever {
			s.ColdestMilliC = -forever // nobody knows how cold
		}
		look, sealed, fault = e, s, need.Fault(s)
		switch {
		case fault == paint.Flaked && !v.madeAnew(h.e, e):
			return v.paintOff(p, e)
		case fault == paint.Flaked:
			off, gas, clean = e, nil, nil
		case fault == paint.Gassed:
			gas, clean = e, nil
		case fault == paint.NoFault && on != nil && (off == nil || wroteBefore(h.e, on)) && (gas == nil || begun.Latest >= gas.act.Latest+l.patchAgain):
			clean = e
		}
	}
	if clean != nil {
		g.State, g.Reason, r.done = Done, say(sayTestPassed, st.Name, markTime(clean.act.Latest)), clean.act
		return nil
	}
	c := cause{key: "no-patch", panel: p.ID, again: true, reason: say(sayPatchNone, p.Name)}
	if gas != nil {
		c.key, c.since, c.until = "patch-gas", gas.act.Earliest, gas.act.Latest+l.patchAgain
		if v.now.Earliest < c.until {
			c.again, c.state, c.reason, c.wayOut = false, Waits, say(sayPatchGas, markSpan(l.patchAgain), markTime(c.until)), say(sayPatchRepeat)
			return []cause{c}
		}
		c.reason, c.until = say(sayPatchAgain, markTime(gas.act.Latest)), 0
	}
	switch {
	case on != nil && (look == nil || byAct(look, on) < 0) && (gas == nil || on.Span.Latest >= gas.act.Latest+l.patchAgain):
		end := on.Span.Latest + l.patchStand
		c.key, c.since = "patch-on", on.act.Earliest
		c.reason, c.wayOut = say(sayPatchOn, markTime(on.Span.Latest)), say(sayPatchLook)
		if v.now.Earliest < end {
			c.until, c.again, c.state = end, false, Waits
		}
	case gas == nil && look != nil:
		c.key, c.since = "patch-not-valid", look.act.Earliest
		c.reason, c.wayOut = v.notValid(p, fault, &sealed, on != nil)
	}
	return []cause{c}
}

// notValid says why a patch without gas proves nothing.
func (v *view) notValid(p *Panel, fault paint.Fault, s *paint.Sealed, written bool) (reason, wayOut string) {
	l := v.limits
	switch {
	case !written:
		return say(sayPatchUnwritten), say(sayPatchWrite)
	case fault == paint.StoodCold && s.ColdestMilliC == -forever:
		return say(sayPatchUnread, p.Name), say(sayPatchWarm, markTemp(l.patchFloor))
	case fault == paint.StoodCold:
		return say(sayPatchCold, p.Name, markTemp(l.patchFloor)), say(sayPatchWarm, markTemp(l.patchFloor))
	case fault == paint.StoodShort:
		return say(sayPatchShort, markSpan(max(0, s.StoodMs)), markSpan(l.patchStand)), say(sayPatchLeave)
	case fault == paint.FewPlaces:
		return say(sayPatchFew, digits(s.Places), digits(l.patchPlaces)), say(sayPatchThickest)
	case fault == paint.HotCycle:
		return say(sayPatchHot, markTemp(l.patchWarmMost)), say(sayPatchRepeat)
	}
	return say(sayPatchCycle, markSpan(l.patchWarmFor), markTemp(l.patchWarm)), say(sayPatchLamp)
}

// coldestOver returns the coldest reading of a zone's spots during a time, and
// before it the last of each; forever if there is none.
func (v *view) coldestOver(zone string, over Span) int64 {
	low := int64(forever)
	for _, s := range v.spotsOf(zone) {
		for i := len(s.reads) - 1; i >= 0; i-- {
			r := s.reads[i]
			if r.e.act.Earliest <= over.Latest {
				low = min(low, int64(r.value))
			}
			if r.e.act.Latest <= over.Earliest {
				break
			}
		}
	}
	return low
}

// paintOff says that paint came off with a patch or with tape: what holds of
// the paint holds no film.
func (v *view) paintOff(p *Panel, e *entry) []cause {
	panel, name := "", v.open.Label
	if p != nil {
		panel, name = p.ID, p.Name
	}
	return []cause{{key: "paint-off", panel: panel, since: e.act.Earliest, state: Held, reason: say(sayPaintOff, name), wayOut: say(sayOwnerPaint)}}
}

// madeAnew says whether a paint line came surely after paint had come off.
func (v *view) madeAnew(paint, off *entry) bool {
	return paint != nil && paint.act.Earliest > off.act.Latest
}

// taped judges tape pulled off the paint: where paint came with it once, no
// other place makes it good.
func (v *view) taped(st *Stage, p *Panel, g *Gate, r *result) []cause {
	var since int64
	var h history
	if p != nil {
		since, _ = v.repaired(p.ID)
		h = v.paintHistory(p.ID)
	} else if n := len(v.job.paints); n > 0 {
		h.e = v.job.paints[n-1]
	}
	var passed, off *entry
	for _, e := range v.job.evidence {
		b := e.Body.(Evidence)
		if b.What != st.What || e.act.Latest < since || p != nil && b.Panel != "" && b.Panel != p.ID {
			continue
		}
		switch {
		case b.Passed && (off == nil || wroteBefore(h.e, e)):
			passed = e
		case !b.Passed && !v.madeAnew(h.e, e):
			return v.paintOff(p, e)
		case !b.Passed:
			passed, off = nil, e
		}
	}
	if passed == nil {
		return first(st)
	}
	g.State, g.Reason, r.done = Done, say(sayTestPassed, st.Name, markTime(passed.act.Latest)), passed.act
	return nil
}
