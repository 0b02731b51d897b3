package checklist

import "bayhold/checklist/primer"

// primer judges the primer of a panel: put on, tack-dry (later when it is
// colder than the tin says), and not past its open time.
func (v *view) primer(st *Stage, p *Panel, g *Gate) []cause {
	l := v.on(p)
	c := v.claim("primer", p.ID, "", l.primerOpen)
	value, spot, ok := v.coldestSince(p.Zone, c.At)
	switch {
	case c.State == NoClaim || c.Started:
		if ok && int64(value) < l.primerFloor {
			return []cause{{key: "primer-cold", short: l.primerFloor - int64(value), state: Held, ask: spot,
				reason: say(sayPrimerCold, spotName(&v.open, spot), markTemp(int64(value)), markTemp(l.primerFloor)),
				wayOut: say(sayLetSettle, spotName(&v.open, spot))}}
		}
		return first(st)
	case c.State == StaleClaim && v.begunInTime(p.ID, c.Until):
		g.State, g.Reason = Done, say(sayPrimedInTime)
		return nil
	case c.State == StaleClaim:
		return []cause{{key: "primer-old", again: true, since: c.Until,
			reason: say(sayPrimerOld, markTime(c.Until)), wayOut: say(sayCleanOff)}}
	case c.State == SpoiledClaim:
		s := v.spoiled(st, c)
		s.wayOut = say(sayCleanOff)
		return []cause{s}
	case !ok:
		ask := v.firstSpot(p.Zone)
		return []cause{{key: "primer-unknown", state: NotKnown, since: c.At.Earliest, ask: ask,
			reason: say(sayNeverRead, upper(spotName(&v.open, ask))), wayOut: say(sayReadToOpen, spotName(&v.open, ask))}}
	}
	at := primer.MinimumMillis(l.primerBase, int32(l.primerAt), value)
	if end := c.At.Latest + at; v.now.Earliest < end {
		return []cause{{key: "primer-wet", state: Waits, since: c.At.Earliest, until: end,
			reason: say(sayPrimerTime, markTime(end), markTemp(int64(value))), wayOut: say(sayPrimerTest)}}
	}
	g.State, g.Until, g.Reason = Done, c.Until, say(sayPrimerGood, markTime(c.Until))
	return nil
}

// coldestSince returns the lowest surface of a zone since a moment, the last
// reading of each spot before it included.
func (v *view) coldestSince(zone string, since Span) (value int32, spot string, ok bool) {
	for _, s := range v.spotsOf(zone) {
		for i := len(s.reads) - 1; i >= 0; i-- {
			r := s.reads[i]
			if !ok || r.value < value {
				value, spot, ok = r.value, s.spot, true
			}
			if since.Latest == 0 || r.e.act.Latest <= since.Earliest {
				break
			}
		}
	}
	return value, spot, ok
}

func (v *view) firstSpot(zone string) string {
	for i := range v.open.Spots {
		if v.open.Spots[i].Zone == zone {
			return v.open.Spots[i].ID
		}
	}
	return ""
}
