package checklist

// Laying is one tap when it begins and one when it ends. The wipe must be good
// when it begins: one that runs out under the installer's hands spoils nothing,
// and one that had run out before does, whatever anybody ticked. Then what
// follows is held until the film is lifted early, or the lead lets it pass.

// laying returns the ticks of a panel's laying: the one that ended it, and the
// first that began it, the same if nobody tapped when it began.
func (v *view) laying(panel string) (began, ended *entry) {
	t := v.job.ticksOf("lay", panel, "")
	if t == nil {
		return nil, nil
	}
	a, ok := standing(t.list)
	if !ok || rank(a.answer) == 0 {
		return nil, nil
	}
	began, ended = a.src, a.src
	for i := len(t.list) - 1; i >= 0; i-- {
		e := t.list[i]
		if e == ended || byAct(e, ended) > 0 {
			continue
		}
		if e.Body.(Tick).Answer != "started" {
			break
		}
		began = e
	}
	return began, ended
}

// laidOnOld says what was wrong with the wipe when the laying of a panel began,
// nil if nothing was.
func (v *view) laidOnOld(p *Panel) *cause {
	st, ok := v.route.stage("wipe")
	if !ok {
		return nil
	}
	began, ended := v.laying(p.ID)
	if began == nil {
		return nil
	}
	c := &cause{key: st.Key + "-first", panel: p.ID, state: Held, reason: say(sayLaidUnwiped), wayOut: say(sayLaidOut)}
	var wipe *entry
	if t := v.job.ticksOf(st.Key, p.ID, ""); t != nil {
		for i := len(t.list) - 1; i >= 0 && wipe == nil; i-- {
			e := t.list[i]
			if e.Body.(Tick).Answer == "done" && e.act.Earliest <= began.act.Latest && !wroteBefore(began, e) {
				wipe = e
			}
		}
	}
	if wipe == nil {
		return c
	}
	until := wipe.act.Earliest + v.limits.wipeShelf
	if a, ok := v.airAt(began.act); ok && int64(a.airMost) > v.limits.wipeHot {
		until = wipe.act.Earliest + v.limits.wipeShelfHot
	}
	if began.act.Latest >= until {
		c.key, c.since, c.reason = st.Key+"-stale", until, say(sayLaidOld, markTime(until))
		if began == ended {
			c.state, c.reason = NotKnown, say(sayLaidUnbegun, markTime(until))
		}
		return c
	}
	if e := v.spoiledBefore(st.Key, p, wipe, began); e != nil {
		c.key, c.since, c.reason = e.row.Cause, e.start.Earliest, say(sayLaidSpoiled, e.row.Said, markTime(e.start.Earliest))
		return c
	}
	return nil
}

// spoiledBefore returns a setback that may have come between what was done of a
// stage and a later tick, nil if none did.
func (v *view) spoiledBefore(stage string, p *Panel, done, then *entry) *event {
	a := act{Span: done.act, src: done}
	spoils := func(e *event) bool {
		if !e.row.kills(stage) || after(a, e) || e.start.Earliest > then.act.Latest {
			return false
		}
		return e.src == nil || typedFrom(e) != 0 || !wroteBefore(then, e.src)
	}
	for i := len(v.happened) - 1; i >= 0 && v.happened[i].end >= a.Earliest; i-- {
		if e := &v.happened[i]; spoils(e) && e.hits(&v.open, p.ID, p.Zone) && e.counts(v.limits, v.now) {
			return e
		}
	}
	sweats := v.sweats(p.Zone)
	for i := range sweats {
		if e := &sweats[i]; spoils(e) {
			return e
		}
	}
	return nil
}

// laidGate answers for the laying of a panel that is laid: done, or held by
// what it was laid on.
func (v *view) laidGate(st *Stage, p *Panel, g *Gate, r *result) {
	if !v.photographed(p.ID) {
		g.Reason = say(sayLaidNoPhoto, markTime(r.done.Latest))
	}
	c := v.laidOnOld(p)
	if c == nil {
		return
	}
	if left, _ := v.waived(st.Key, p.ID, p.Zone, []*cause{c}); len(left) == 0 {
		g.Waived = true
		return
	}
	v.lack(r, []cause{*c})
	g.hold(v, c, []*cause{c})
}

// photographed says whether a photo of a panel was taken since its laying
// began. That is said and never holds.
func (v *view) photographed(panel string) bool {
	began, _ := v.laying(panel)
	for _, e := range v.job.photos {
		if e.Body.(Photo).Panel == panel && began != nil && e.act.Latest >= began.act.Earliest {
			return true
		}
	}
	return false
}

// begunInTime says whether the laying of a panel goes on that began before a
// moment.
func (v *view) begunInTime(panel string, before int64) bool {
	began, ended := v.laying(panel)
	return ended != nil && ended.Body.(Tick).Answer == "started" && began.act.Latest < before
}

// HalfLaid returns the names of the panels of a job whose laying began and did
// not end.
func (s *Shop) HalfLaid(id ID, now Span) []string {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil {
		return nil
	}
	var out []string
	for i := range v.open.Panels {
		p := &v.open.Panels[i]
		if c := v.claim("lay", p.ID, "", 0); c.State == GoodClaim && c.Started {
			out = append(out, p.Name)
		}
	}
	return out
}
