package checklist

// window judges whether a zone may be laid on at this temperature: by the
// coldest fresh reading, never by a mean, and only if the spot that was
// coldest last time has been read again. The instrument's error is taken off
// once, against the floor; the 3 K above the dew point hold theirs already.
func (v *view) window(zone string, g *Gate) []cause {
	l, o := v.limits, &v.open
	n := len(v.stays)
	if n > 0 && outdoors(v.stays[n-1].sort) {
		p, _ := v.shop.Place(v.stays[n-1].place)
		return []cause{{key: "outside", state: Held, since: v.stays[n-1].from.Earliest,
			reason: say(sayOutside, p.Name), wayOut: say(sayBringIn)}}
	}
	cold, hold := v.coldestFresh(zone)
	if hold != nil {
		return hold
	}
	spots := v.spotsOf(zone)
	name := spotName(o, cold.spot)
	last := cold.last()
	a, since, ok := v.airNow()
	if !ok {
		return []cause{v.unknownAir(since)}
	}
	hot, hotName := last, name
	until := v.freshUntil(last)
	for _, s := range spots {
		if _, r := s.newest(); v.fresh(r) && r.value > hot.value {
			hot, hotName = r, spotName(o, s.spot)
		}
	}
	low, high := int64(last.value), int64(hot.value)
	lowErr, highErr := v.errorOf(last.e), v.errorOf(hot.e)
	// Instruments that can be off by more than the 3 K hold widen them.
	margin := max(l.margin, lowErr+v.dewError(&a))
	floor, ceiling := v.surface(zone)
	airFloor, airCeiling := v.rule("air_floor", nil, zone, Before), v.rule("air_ceiling", nil, zone, Before)
	var out []cause
	held := func(key string, short int64, reason, wayOut, then string) {
		out = append(out, cause{key: key, short: short, state: Held, reason: reason, wayOut: wayOut, condition: then, ask: cold.spot})
	}
	switch m := low - int64(a.dewMost); {
	case m < 0:
		held("margin", margin-m, say(sayUnderDew, upper(name), markTemp(low), markTemp(int64(a.dewMost))),
			say(sayWetOut), say(sayMarginThen, name, markDiff(margin)))
	case m < l.margin:
		held("margin", margin-m, say(sayMargin, upper(name), markTemp(low), markTemp(int64(a.dewMost)), markDiff(m)),
			say(sayDryAir), say(sayMarginThen, name, markDiff(margin)))
	case m < margin:
		held("margin", margin-m, say(sayColdError, upper(name), markTemp(low), markDiff(margin)),
			say(sayDryAir), say(sayMarginThen, name, markDiff(margin)))
	}
	if low-lowErr < floor.value {
		reason := floor.by(say(sayCold, name, markTemp(low), markTemp(floor.value)))
		if low >= floor.value {
			reason = say(sayColdError, upper(name), markTemp(low), markDiff(lowErr))
		}
		held("cold", floor.value-low+lowErr, reason, say(sayLetSettle, name), say(sayColdThen, name, markTemp(floor.value+lowErr)))
	}
	if high+highErr > ceiling.value {
		held("hot", high+highErr-ceiling.value, ceiling.by(say(sayHot, hotName, markTemp(high), markTemp(ceiling.value))),
			say(sayShade, hotName), say(sayHotThen, hotName, markTemp(ceiling.value-highErr)))
	}
	if least := int64(a.airLeast); least < airFloor.value {
		held("air-cold", airFloor.value-least, airFloor.by(say(sayAirCold, markTemp(least), markTemp(airFloor.value))),
			say(sayHeat, name), say(sayAirThen, markTemp(airFloor.value)))
	}
	if most := int64(a.airMost); most > airCeiling.value {
		held("air-hot", most-airCeiling.value, airCeiling.by(say(sayAirHot, markTemp(most), markTemp(airCeiling.value))),
			say(sayShade, name), say(sayAirThen, markTemp(airCeiling.value)))
	}
	// Air that is too far from the surface says that the reading is moving.
	if d := max(int64(a.airMost)-low, high-int64(a.airLeast)); d > l.airApart {
		surface, which := low, name
		if high-int64(a.airLeast) == d {
			surface, which = high, hotName
		}
		held("apart", d-l.airApart, say(sayApart, upper(which), markTemp(surface), markTemp(int64(a.airMost)), markDiff(l.airApart)),
			say(sayLetSettle, which), say(sayApartThen, which, markDiff(l.airApart)))
	}
	if len(out) == 0 {
		g.State, g.Until = Open, until
		g.Reason = say(sayWarm, name, markTemp(low), markDiff(low-int64(a.dewMost)))
	}
	return out
}

// coldestFresh returns the coldest spot of a zone if it was read again, or what
// is to be read first.
func (v *view) coldestFresh(zone string) (*spotReads, []cause) {
	o := &v.open
	spots := v.spotsOf(zone)
	if len(spots) == 0 {
		for i := range o.Spots {
			if sp := &o.Spots[i]; sp.Zone == zone {
				return nil, []cause{{key: "no-reading", state: NotKnown, ask: sp.ID,
					reason: say(sayNeverRead, upper(sp.Name)), wayOut: say(sayReadToOpen, sp.Name)}}
			}
		}
		return nil, []cause{{key: "no-spot", state: NotKnown, reason: say(sayNoSpots, zone), wayOut: say(sayAddSpot)}}
	}
	cold := coldest(spots)
	if last := cold.last(); !v.fresh(last) {
		name := spotName(o, cold.spot)
		return nil, []cause{{key: "reading-old", state: NotKnown, since: last.e.act.Earliest, ask: cold.spot,
			reason: say(sayLastRead, upper(name), markTime(last.e.act.Latest)), wayOut: say(sayReadToOpen, name)}}
	}
	return cold, nil
}

// freshUntil returns until when a surface reading vouches: not past a move,
// and only a short time after a door, a heater or a wash.
func (v *view) freshUntil(r read) int64 {
	n := len(v.stays)
	if n == 0 {
		return r.e.act.Earliest + v.limits.vouch
	}
	st := &v.stays[n-1]
	if m := v.job.moves; len(m) > 0 && !wroteBefore(m[len(m)-1], r.e) {
		return st.from.Earliest
	}
	return v.shop.vouches(st.place, r.e.act, v.limits)
}

// wroteBefore says whether b of the same logbook came surely after a: by the
// order of one writer's own lines, or by the clocks.
func wroteBefore(a, b *entry) bool {
	if a.ID.Writer == b.ID.Writer && a.act == a.Span && b.act == b.Span {
		return a.ID.Seq < b.ID.Seq
	}
	return b.act.Earliest >= a.act.Latest
}

func (v *view) fresh(r read) bool { return v.now.Latest < v.freshUntil(r) }
