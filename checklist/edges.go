package checklist

// edged judges the look at a panel's edges: by another hand than those that
// laid and trimmed it, every pin closed, moving gaps cut, and what must stay
// free looked at piece by piece.
func (v *view) edged(st *Stage, p *Panel, g *Gate, r *result) []cause {
	out := v.ticked(st, p, p.Zone, g, r)
	if c := v.sameHand(st, p); c.key != "" && len(out) == 0 {
		out = append(out, c)
	}
	for _, e := range v.job.findings {
		f := e.Body.(Finding)
		if f.Walk != "edges" || f.Panel != p.ID && f.Panel != "" {
			continue
		}
		if a := answerOf(v.job, e); a == "redone" || a == "repaired" || a == "accepted" {
			continue
		}
		out = append(out, cause{key: "edge-pin", panel: p.ID, state: Held, since: e.act.Earliest,
			reason: say(sayFinding, upper(f.What), p.Name), wayOut: say(sayClosePin)})
	}
	return v.swept(st, p, v.blade(st, p, out))
}

// blade asks for a look along the cut of a panel that was not cut with thread
// tape: a knife through the paint rusts a year later. Who does not say how it
// was cut is taken to have used a knife.
func (v *view) blade(st *Stage, p *Panel, out []cause) []cause {
	t := v.job.ticksOf("trim", p.ID, "")
	if t == nil || len(t.list) == 0 {
		return out
	}
	cut := t.list.last()
	if b := cut.Body.(Tick); b.How == "tape" || rank(b.Answer) == 0 {
		return out
	}
	e := v.lookAt("blade-line", p.ID, "cut")
	c := cause{key: "blade-line:cut", panel: p.ID, again: true, since: cut.act.Earliest, reason: say(sayBladeLook), laterOut: say(sayDoFirst, st.Name)}
	switch {
	case e == nil || !wroteBefore(cut, e):
		return append(out, c)
	case !e.Body.(Evidence).Passed:
		c.again, c.state, c.since = false, Held, e.act.Earliest
		c.reason, c.wayOut = say(sayBladeIn, p.Name), say(sayOwnerMustAnswer)
		return append(out, c)
	}
	return out
}

// sameHand says whether somebody who laid or trimmed the panel looked at its
// edges. Of two who looked at perhaps the same time, the one that holds counts.
func (v *view) sameHand(st *Stage, p *Panel) cause {
	t := v.job.ticksOf(st.Key, p.ID, "")
	if t == nil {
		return cause{}
	}
	for _, e := range t.newest() {
		for _, made := range [...]string{"lay", "trim"} {
			m := v.job.ticksOf(made, p.ID, "")
			if m == nil {
				continue
			}
			for _, x := range m.list {
				if x.By == e.By && rank(x.Body.(Tick).Answer) > 0 {
					return cause{key: "same-hand", panel: p.ID, again: true, since: e.act.Earliest,
						reason: say(saySameHand), wayOut: say(sayOtherHand)}
				}
			}
		}
	}
	return cause{}
}

// newest returns the ticks of which each may be the last.
func (t *ticks) newest() []*entry {
	last := t.list.last()
	if last == nil {
		return nil
	}
	var out []*entry
	for i, e := range t.list {
		if e.act.Latest >= last.act.Earliest && !superseded(t.list, i) && rank(e.Body.(Tick).Answer) > 0 {
			out = append(out, e)
		}
	}
	return out
}

// swept adds what a panel's own list lacks: a moving gap or seam is cut and both
// lips pressed and heated; a sensor, camera, exit, plate or lamp stays free.
func (v *view) swept(st *Stage, p *Panel, out []cause) []cause {
	if len(v.job.features) == 0 {
		return out
	}
	list := v.featuresOf(p.ID)
	for i := len(list) - 1; i >= 0; i-- { // in the order in which they were measured
		b := list[i].Body.(Feature)
		name := b.Name
		if name == "" {
			name = b.ID
		}
		var what, reason string
		switch {
		case b.Sort == "keep-clear":
			what, reason = "keep-clear", say(sayKeepClear, upper(name))
		case b.Moving && (b.Sort == "gap" || b.Sort == "seam"):
			what, reason = "gap-cut", say(sayGapCut, upper(name))
		default:
			continue
		}
		e := v.lookAt(what, p.ID, b.ID)
		if e != nil && e.Body.(Evidence).Passed && e.act.Latest >= v.laidAt(p.ID).Earliest {
			continue
		}
		c := cause{key: what + ":" + b.ID, panel: p.ID, again: true, reason: reason, laterOut: say(sayDoFirst, st.Name)}
		if e != nil {
			c.since = e.act.Earliest
		}
		out = append(out, c)
	}
	return out
}

// lookAt returns the last look of a kind at one feature of a panel.
func (v *view) lookAt(what, panel, feature string) *entry {
	for i := len(v.job.evidence) - 1; i >= 0; i-- {
		if b := v.job.evidence[i].Body.(Evidence); b.What == what && b.Panel == panel && b.Feature == feature {
			return v.job.evidence[i]
		}
	}
	return nil
}

// refitted judges what was taken off and is back: the tick, every bag of trim
// counted back, and no test of lamps, sensors or for leaks that failed.
func (v *view) refitted(st *Stage, g *Gate, r *result) []cause {
	out := v.ticked(st, nil, "", g, r)
	if e := v.lastEvidence("trim-bags", "", 0); e != nil {
		if b := e.Body.(Evidence); b.Count < b.Of {
			out = append(out, cause{key: "trim-bags", again: true, short: b.Of - b.Count, since: e.act.Earliest,
				reason: say(sayBags, digits(b.Count), digits(b.Of)), wayOut: say(sayBagsOut)})
		}
	}
	for i := range refitTests {
		t := &refitTests[i]
		if e := v.lastEvidence(t.what, "", 0); e != nil && !e.Body.(Evidence).Passed {
			out = append(out, cause{key: t.what, again: true, since: e.act.Earliest,
				reason: say(sayTestFailed, t.name, markTime(e.act.Latest)), wayOut: say(sayPutRight)})
		}
	}
	return out
}

// refitTests are tests whose failing holds the refit; nobody has to write them.
var refitTests = [...]struct{ what, name string }{
	{"lamps", "Lamps and sensors"},
	{"hose-test", "Hose test"},
}
