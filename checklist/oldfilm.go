package checklist

// trialsNeeded is how many trial strips a removal starts from: the sunny roof
// edge, a side, a repaired panel (common practice, no source).
const trialsNeeded = 3

// tried judges the trial strips of old film.
func (v *view) tried(st *Stage, g *Gate, r *result) []cause {
	n := len(v.job.trials)
	if n < trialsNeeded {
		if n == 0 {
			return first(st)
		}
		c := first(st)[0]
		c.reason = say(sayTrialsShort, digits(int64(n)), digits(trialsNeeded))
		return []cause{c}
	}
	r.done = v.job.trials.last().act
	g.State, g.Reason = Done, say(sayDoneAt, st.Name, markTime(r.done.Latest))
	return nil
}

// painted judges what is known of a panel's paint and how long it waited.
func (v *view) painted(st *Stage, p *Panel, g *Gate, r *result) []cause {
	for i := len(v.job.paints) - 1; i >= 0; i-- {
		e := v.job.paints[i]
		if b := e.Body.(Paint); len(b.Panels) == 0 || has(b.Panels, p.ID) {
			r.done = e.act
			g.State, g.Reason = Done, say(sayDoneAt, st.Name, markTime(e.act.Latest))
			return nil
		}
	}
	return []cause{{key: "paint-unknown", panel: p.ID, again: true, reason: say(sayPaintUnknown)}}
}

// patched judges the gas patch test of a panel.
func (v *view) patched(st *Stage, p *Panel, g *Gate, r *result) []cause {
	for i := len(v.job.patches) - 1; i >= 0; i-- {
		e := v.job.patches[i]
		if b := e.Body.(Patch); (b.Panel == "" || b.Panel == p.ID) && b.To != 0 && b.Seen == "nothing" {
			r.done = e.act
			g.State, g.Reason = Done, say(sayTestPassed, st.Name, markTime(e.act.Latest))
			return nil
		}
	}
	return []cause{{key: "no-patch", panel: p.ID, again: true, reason: say(sayPatchNone, p.Name)}}
}
