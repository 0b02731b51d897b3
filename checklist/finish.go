package checklist

// heated judges the post-heat of a panel: as far as its features are long.
func (v *view) heated(st *Stage, p *Panel, g *Gate, r *result) []cause {
	var need, did int64
	for _, e := range v.featuresOf(p.ID) {
		need += e.Body.(Feature).Length
	}
	any := false
	for _, e := range v.job.heats {
		b := e.Body.(Heat)
		if b.Panel != p.ID || b.Answer == "not-measured" {
			continue
		}
		any = true
		did += b.Length
		r.done = e.act
	}
	if !any {
		return first(st)
	}
	if did < need {
		return []cause{{key: "heat-short", short: need - did, again: true, reason: say(sayHeatShort, tenths(did, 1_000_000), tenths(need, 1_000_000))}}
	}
	g.State, g.Reason = Done, say(sayDoneAt, st.Name, markTime(r.done.Latest))
	return nil
}

// edged judges the look at a panel's edges: by another hand than the one that
// laid it.
func (v *view) edged(st *Stage, p *Panel, g *Gate, r *result) []cause {
	out := v.ticked(st, p, p.Zone, g, r)
	if len(out) > 0 {
		return out
	}
	if lay := v.claim("lay", p.ID, "", 0); lay.State == GoodClaim {
		if c := v.claim(st.Key, p.ID, "", 0); c.By == lay.By {
			return []cause{{key: "same-hand", panel: p.ID, again: true, since: c.At.Earliest, reason: say(saySameHand), wayOut: say(sayOtherHand)}}
		}
	}
	return nil
}

// rested judges the hours that count for rest.
func (v *view) rested(st *Stage, g *Gate, r *result) []cause {
	return v.ticked(st, nil, "", g, r)
}

// counted judges a count of what has risen against what was looked at.
func (v *view) counted(st *Stage, g *Gate, r *result) []cause {
	e := v.lastEvidence(st.What, "", 0)
	if e == nil {
		return first(st)
	}
	b := e.Body.(Evidence)
	if b.Count*1000 > b.Of*v.limits.risenShare/100 {
		return []cause{{key: "risen", again: true, since: e.act.Earliest,
			reason: say(sayRisen, digits(b.Count), digits(b.Of), digits(v.limits.risenShare/1000)), wayOut: say(sayTestAgain)}}
	}
	r.done = e.act
	g.State, g.Reason = Done, say(sayCounted, digits(b.Count), digits(b.Of))
	return nil
}
