package checklist

// base is the moment from which a zone's hours count, and how many it needs.
type base struct {
	at   int64 // at the latest
	from int64 // at the earliest
	need int64
	wet  *event // the sweating that set it, if that was the last

	// The wash, or what wetted the zone since, as if it had not sweated: those
	// hours are needed too, or a van would be dry the sooner for having sweated.
	first struct{ at, need int64 }
}

// base returns the last thing that set a zone's hours to zero: the wash, or
// what got it wet since. ok is false while it has not been washed.
func (v *view) base(zone string, st *Stage) (base, bool) {
	var b base
	var wash *entry
	if _, has := v.route.stage("wash"); has {
		w := v.claim("wash", "", "", 0)
		if w.State != GoodClaim || w.Started {
			return b, false
		}
		b.at, b.from, wash = w.At.Latest, w.At.Earliest, w.src
		if z := v.claim("wash", "", zone, 0); zone != "" && z.State == GoodClaim && !z.Started && z.At.Latest > b.at {
			b.at, b.from, wash = z.At.Latest, z.At.Earliest, z.src
		}
	} else {
		b.at, b.from = v.job.opens[0].act.Latest, v.job.opens[0].act.Earliest
	}
	washed := b.at // blowing out before that helps nothing
	for i := range v.happened {
		if e := &v.happened[i]; e.row.Dry == DryResets && e.end > b.at && e.hits(&v.open, "", zone) {
			b.at, b.from = e.end, e.start.Earliest
		}
	}
	hours := "dry_hours"
	if d, ok := v.route.stage("dry"); ok {
		hours = d.Hours
	}
	b.need = v.limits.rule(hours)
	if hours == "dry_hours" && !v.blownOut(zone, washed, wash) {
		b.need = max(b.need, v.limits.dryHoursRaw)
	}
	b.first.at, b.first.need = b.at, b.need
	sweats := v.sweats(zone)
	for i := range sweats {
		if e := &sweats[i]; e.end > b.at {
			b.at, b.from, b.wet = e.end, e.start.Earliest, e
		}
	}
	if b.wet != nil && hours == "dry_hours" {
		b.need = v.limits.sweatHours
	}
	return b, true
}

// lastEvidence returns the last test of a kind that concerns a zone and was
// surely made since a moment, nil if there is none.
func (v *view) lastEvidence(what, zone string, since int64) *entry {
	for i := len(v.job.evidence) - 1; i >= 0; i-- {
		e := v.job.evidence[i]
		if b := e.Body.(Evidence); b.What == what && (b.Zone == "" || zone == "" || b.Zone == zone) && e.act.Earliest >= since {
			return e
		}
	}
	return nil
}

// blownOut says whether the seams of a zone were blown out after the wash.
func (v *view) blownOut(zone string, washed int64, wash *entry) bool {
	e := v.lastEvidence("blown-out", zone, 0)
	if e == nil || !e.Body.(Evidence).Passed {
		return false
	}
	return e.act.Earliest >= washed || wash != nil && wash.act.Latest == washed && wroteBefore(wash, e)
}

// strips returns the last draw of card strips that is enough for a test since
// a moment; dry says that all of them were.
func (v *view) strips(zone string, since int64) (e *entry, dry bool) {
	e = v.lastEvidence("card-strips", zone, since)
	if e == nil {
		return nil, false
	}
	b := e.Body.(Evidence)
	return e, b.Passed && b.Count >= v.limits.strips
}

// dry judges the hours of a zone.
func (v *view) dry(st *Stage, zone string, g *Gate) []cause {
	b, washed := v.base(zone, st)
	if !washed {
		return []cause{{key: "not-washed", state: Held, reason: say(sayNotStarted), wayOut: say(sayWashFirst)}}
	}
	l, d := v.limits, v.drying(zone)
	counted := sum(d.counted, b.at)
	short := b.need - counted
	strips, stripsDry := v.strips(zone, b.at)
	if b.wet != nil {
		// After sweating there is a shorter way: hours after the last visible
		// water, card strips dry since, and a reading since.
		if w := v.lastEvidence("water-gone", zone, b.at); w != nil && w.Body.(Evidence).Passed && stripsDry &&
			strips.act.Earliest >= w.act.Earliest && d.known > w.act.Latest {
			short = min(short, l.waterHours-sum(d.counted, w.act.Latest))
		}
	}
	if n := sum(d.counted, b.first.at); b.wet != nil && b.first.need-n > short {
		counted, short, b.need = n, b.first.need-n, b.first.need
	}
	g.Counted, g.Needed = counted, b.need
	var out []cause
	if short > 0 {
		c := v.notDry(d, b, zone, counted, short, g)
		c.short, c.since = short, b.at
		out = append(out, c)
	}
	for i := range v.happened {
		e := &v.happened[i]
		if e.row.Dry != DryMore || e.end <= b.at || !e.hits(&v.open, "", zone) {
			continue
		}
		more := l.rule(e.row.More)
		if n := sum(d.counted, e.end); n < more {
			out = append(out, cause{key: e.row.Cause, short: more - n, since: e.start.Earliest, state: Held,
				reason: say(sayMoreHours, markSpan(n), markSpan(more), e.row.Said), wayOut: e.row.Redo})
		}
	}
	if d.once != nil && len(out) == 0 {
		out = append(out, cause{key: "under-dew-once", state: NotKnown, since: d.once.act.Earliest, ask: d.once.spot,
			reason: say(sayOnce, upper(spotName(&v.open, d.once.spot)), markTemp(int64(d.once.value)), markTemp(int64(d.once.dew))),
			wayOut: say(sayReadAgain, spotName(&v.open, d.once.spot))})
	}
	if strips != nil && !strips.Body.(Evidence).Passed {
		out = append(out, cause{key: "strip-wet", state: Held, since: strips.act.Earliest,
			reason: say(sayStripWet), wayOut: say(sayDrawAgain, digits(l.strips))})
	}
	out = append(out, v.wasOutside(b, zone)...)
	if len(out) == 0 {
		g.State, g.Reason = Done, say(sayDried, markSpan(g.Counted), markSpan(g.Needed))
	}
	return out
}

// wasOutside asks for card strips after a long time outside, or a way in on
// which nobody knows whether it rained, before old hours count.
func (v *view) wasOutside(b base, zone string) []cause {
	if n := len(v.stays); n > 0 && outdoors(v.stays[n-1].sort) {
		p, _ := v.shop.Place(v.stays[n-1].place)
		return []cause{{key: "outside", state: Held, since: v.stays[n-1].from.Earliest,
			reason: say(sayOutside, p.Name), wayOut: say(sayBringIn)}}
	}
	for i := len(v.stays) - 1; i > 0; i-- {
		st, before := &v.stays[i], &v.stays[i-1]
		if st.from.Latest <= b.from {
			break
		}
		long := outdoors(before.sort) && before.to.Latest-before.from.Earliest > v.limits.outside
		if !long && st.wet != "unknown" {
			continue
		}
		if _, dry := v.strips(zone, st.from.Earliest); dry {
			return nil
		}
		c := cause{key: "outside-long", state: NotKnown, since: st.from.Earliest, wayOut: say(sayDrawStrips, digits(v.limits.strips)),
			reason: say(sayOutsideLong, markSpan(before.to.Latest-before.from.Earliest))}
		if !long {
			c.key, c.reason = "move-unknown", say(sayMoveUnknown)
		}
		return []cause{c}
	}
	return nil
}

func outdoors(sort string) bool { return sort == "yard" || sort == "outside" }

// notDry says why hours are still missing, and until when.
func (v *view) notDry(d *drying, b base, zone string, counted, short int64, g *Gate) cause {
	l, o := v.limits, &v.open
	c := cause{key: "not-dry", state: Held}
	spots := v.spotsOf(zone)
	if len(spots) == 0 {
		for i := range o.Spots {
			if sp := &o.Spots[i]; sp.Zone == zone {
				c.state, c.key, c.ask = NotKnown, "no-reading", sp.ID
				c.reason, c.wayOut = say(sayNeverRead, upper(sp.Name)), say(sayReadToStart, sp.Name)
				return c
			}
		}
		c.state, c.key = NotKnown, "no-spot"
		c.reason, c.wayOut = say(sayNoSpots, zone), say(sayAddSpot)
		return c
	}
	cold := coldest(spots)
	name := spotName(o, cold.spot)
	done, all := markSpan(counted), markSpan(b.need)
	if w := b.wet; w != nil && w.wet.newest {
		c.key = "wet"
		c.reason = say(sayWet, spotName(o, w.wet.spot), markTemp(int64(w.wet.value)), markTemp(int64(w.wet.dew)))
		c.wayOut = say(sayWetOut)
		c.condition = say(sayWetThen, markSpan(b.need), spotName(o, w.wet.spot), markDiff(l.margin))
		c.ask = w.wet.spot
		return c
	}
	if out := v.wasOutside(b, zone); len(out) > 0 && out[0].key == "outside" {
		return out[0]
	}
	for i := range v.happened {
		if e := &v.happened[i]; e.row.Dry == DryPauses && e.end > v.now.Latest && e.hits(o, "", zone) {
			c.reason = say(sayPausedEvent, done, all, e.row.Said, markTime(e.start.Earliest))
			c.wayOut, c.condition = e.row.Redo, say(sayPausedThen, markSpan(short))
			return c
		}
	}
	a, since, ok := v.airNow()
	if !ok {
		return v.unknownAir(since)
	}
	last := cold.last()
	if v.now.Latest-last.e.act.Earliest >= l.vouch {
		c.state, c.key, c.ask = NotKnown, "hours-open", cold.spot
		c.reason = say(sayNeedsReading, done, all, markTime(last.e.act.Latest))
		c.wayOut = say(sayReadSpot, name)
		return c
	}
	c.condition = say(sayPausedThen, markSpan(short))
	switch v := int64(last.value); {
	case int64(a.rhMost) > l.dryRH:
		c.reason, c.wayOut = say(sayPausedDamp, done, all), say(sayDryAir)
	case v-int64(a.dewMost) < l.margin:
		c.reason = say(sayPausedMargin, done, all, name, markDiff(v-int64(a.dewMost)))
		c.wayOut = say(sayDryAir)
		c.condition = say(sayWetThen, markSpan(short), name, markDiff(l.margin))
	case v < l.dryFloor:
		c.reason = say(sayPausedCold, done, all, name, markTemp(v), markTemp(l.dryFloor))
		c.wayOut = say(sayHeat, name)
	default:
		c.state, g.Running = Waits, true
		c.reason, c.condition = say(sayRunning, done, all), say(sayRunningIf)
		// What is missing can begin to count where counting stands, and not
		// before the wash or whatever set it to zero.
		c.until = max(min(d.known, a.to), b.at) + short
	}
	if c.state == Waits {
		c.until = max(c.until, v.now.Earliest)
		switch {
		case b.wet != nil:
			c.wayOut = say(sayAfterWater, markSpan(l.waterHours), digits(l.strips))
		case b.need > l.dryHours && b.need == l.dryHoursRaw && v.dryStage().Hours == "dry_hours":
			c.wayOut = say(sayBlowOut, markSpan(l.dryHours))
		}
	}
	return c
}

func (v *view) dryStage() *Stage {
	st, _ := v.route.stage("dry")
	return st
}

// coldest returns the spot whose last reading is the lowest.
func coldest(spots []*spotReads) *spotReads {
	var best *spotReads
	for _, s := range spots {
		if best == nil || s.last().value < best.last().value {
			best = s
		}
	}
	return best
}

// airNow returns the air where the vehicle stands now. Between two places the
// worse one counts.
func (v *view) airNow() (a stretch, since int64, ok bool) {
	for i := range v.stays {
		st := &v.stays[i]
		if st.to.Latest <= v.now.Earliest || st.from.Earliest > v.now.Latest && i > 0 {
			continue
		}
		x, s, known := atNow(v.shop.climate(st.place, v.limits), v.now, v.limits)
		if !known {
			return x, s, false
		}
		if ok {
			x = x.worse(a)
			x.to = min(x.to, a.to)
		}
		a, since, ok = x, s, true
	}
	return a, since, ok
}

// unknownAir says that nobody knows the air now.
func (v *view) unknownAir(since int64) cause {
	c := cause{key: "air-unknown", state: NotKnown, since: since}
	place := ""
	if n := len(v.stays); n > 0 {
		p, _ := v.shop.Place(v.stays[n-1].place)
		place = p.Name
	}
	c.wayOut = say(sayReadAir, place)
	switch {
	case since == 0:
		c.reason = say(sayNoAir, place)
	case v.shop.offline != 0 && since+v.limits.silence >= v.shop.offline:
		c.reason = say(sayNotReceived, markTime(since))
	default:
		c.reason = say(saySilent, markTime(since))
	}
	return c
}
