package checklist

// The film has its own way beside the vehicle: printed, gassed out, laminated,
// rested, brought into the bay, and left there until it is as warm. It goes
// that way once for the whole vehicle, and again for a panel that was spoiled
// or whose film was refused, by itself.

// comesApart says which panels were spoiled in a way that their film must come
// again, and whose film is refused or came in place of a refused one.
func (v *view) comesApart() []bool {
	var out []bool
	for k := range v.filming.shapes {
		if s := &v.filming.shapes[k]; (s.refused || s.instead != nil) && !v.declined(v.open.Panels[k].ID) {
			if out == nil {
				out = make([]bool, len(v.open.Panels))
			}
			out[k] = true
		}
	}
	var row *SetbackRow // of the event before: most are of a few kinds
	kills := false
	for i := range v.happened {
		e := &v.happened[i]
		if len(e.panels) == 0 {
			continue
		}
		if e.row != row {
			row, kills = e.row, v.killsApart(e.row)
		}
		if !kills {
			continue
		}
		for k := range v.open.Panels {
			if has(e.panels, v.open.Panels[k].ID) {
				if out == nil {
					out = make([]bool, len(v.open.Panels))
				}
				out[k] = true
			}
		}
	}
	return out
}

func (v *view) killsApart(row *SetbackRow) bool {
	for i := range v.route.Stages {
		if st := &v.route.Stages[i]; st.Apart && row.kills(st.Key) {
			return true
		}
	}
	return false
}

// againOn says whether a panel goes through a stage of the film by itself.
func (v *view) againOn(st *Stage, panel int) bool {
	if !st.Apart || !v.apart[panel] {
		return false
	}
	f := v.filming.films[panel]
	return st.Only != IfPrinted || f != nil && f.Printed
}

// elsewhere says whether a result is of film that goes another way: that of
// the vehicle for a panel whose film comes by itself, or that of such a panel
// for the vehicle.
func (v *view) elsewhere(st *Stage, r *result, p *Panel) bool {
	if v.apart == nil {
		return false
	}
	if p == nil {
		return st.Apart && r.panel != "" && v.apart[v.place(v.panel(r.panel))]
	}
	return v.route.Stages[r.stage].Apart && r.panel == "" && v.apart[v.place(p)]
}

// wholeFilm are the ticks of a stage of the film for the whole vehicle: they
// speak for each of its panels as well, until it has one of its own; not for
// film that was chosen after them in place of a refused one.
func (v *view) wholeFilm(stage, panel string) *ticks {
	st, ok := v.route.stage(stage)
	if !ok || !st.Apart {
		return nil
	}
	t := v.job.ticksOf(stage, "", "")
	p := v.panel(panel)
	if t == nil || p == nil || v.shapeOf(p).instead == nil {
		return t
	}
	if a, ok := standing(t.list); ok && !wroteBefore(v.shapeOf(p).instead, a.src) {
		return nil
	}
	return t
}

// onlyApart says whether an event concerns single panels of a stage that these
// go through by themselves.
func (v *view) onlyApart(stage string, e *event) bool {
	st, ok := v.route.stage(stage)
	return ok && st.Apart && len(e.panels) > 0
}

// tooEarly judges a stage that was done before its clock had ended. Laminated
// early, film is spoiled, also if the two stamps leave it open; of anything
// else the time is only not over yet. Film that was laminated before it was
// printed again, or brought in before that, is other film.
func (v *view) tooEarly(st *Stage, p *Panel, r *result) []cause {
	end, n, ok := v.clockOf(st, p)
	if !ok {
		return nil
	}
	if st.Apart && r.done.Latest < end.Earliest {
		r.done = Span{}
		return first(st)
	}
	until := end.Latest + n.value
	if r.done.Earliest >= until || n.value <= 0 { // a shop that waits for nothing is never early
		return nil
	}
	if st.Early == "" {
		r.done.Earliest, r.done.Latest = max(r.done.Earliest, until), max(r.done.Latest, until)
		if c := v.clock(st, p); c != nil {
			return []cause{*c}
		}
		return nil
	}
	row := setbackRow(st.Early)
	c := cause{key: row.Cause, state: Held, since: r.done.Earliest,
		reason: n.by(say(sayTooEarly, st.Name, markSpan(n.value), v.route.Stages[st.from].Name)), wayOut: row.Redo}
	if r.done.Latest >= end.Earliest+n.value {
		c.reason, c.wayOut = n.by(say(sayMaybeEarly, st.Name, markSpan(n.value), v.route.Stages[st.from].Name)), say(sayVouchOr)
	}
	if p != nil {
		c.panel = p.ID
	}
	return []cause{c}
}

// anyLaid says whether work on some panel has gone so far that it was laid, or
// half laid.
func (v *view) anyLaid() bool {
	for i := range v.job.ticks {
		if t := &v.job.ticks[i]; t.stage == "lay" {
			if a, ok := standing(t.list); ok && rank(a.answer) > 0 {
				return true
			}
		}
	}
	return false
}

// beforeFirst adds what other panels lack before the first one is laid: one
// that is missing or does not fit is found while all can still be moved. A
// panel that is printed again does not hold the others.
func (v *view) beforeFirst(st *Stage, p *Panel, holds []*cause) []*cause {
	if st.all&v.lacks == 0 || v.begun || p == nil {
		return holds
	}
	for i := range v.results {
		r := &v.results[i]
		if st.all&(1<<r.stage) == 0 || len(r.missing) == 0 || r.panel == "" || r.panel == p.ID {
			continue
		}
		k := v.place(v.panel(r.panel))
		if v.ended[k].is || v.apart != nil && v.apart[k] {
			continue
		}
		if v.unfit == nil {
			v.unfit = make([]*cause, len(v.open.Panels))
		}
		if v.unfit[k] == nil {
			v.unfit[k] = &cause{key: "fit-all", state: Held, reason: say(sayFitAll, v.open.Panels[k].Name), wayOut: say(sayFitAllOut)}
		}
		return append(holds, v.unfit[k])
	}
	return holds
}

// proved judges the proof against the number plate: somebody held the artwork's
// version beside the vehicle, with a photo of its plate, since the owner
// approved that version.
func (v *view) proved(st *Stage, g *Gate, r *result) []cause {
	e := v.lastEvidence(st.What, "", 0)
	c := cause{key: "proof-first", again: true, reason: say(sayPlate, v.open.Proof), later: say(sayFirst, st.Name), laterOut: say(sayDoFirst, st.Name)}
	if e == nil || !v.sinceProof(e) {
		return []cause{c}
	}
	switch b := e.Body.(Evidence); {
	case !b.Passed:
		return []cause{{key: "wrong-proof", again: true, since: e.act.Earliest,
			reason: say(sayWrongProof, v.open.Proof), wayOut: say(sayAskLead)}}
	case b.Photo == "":
		c.reason = say(sayNoPlate)
		return []cause{c}
	}
	g.State, g.Reason, r.done = Done, say(sayTestPassed, st.Name, markTime(e.act.Latest)), e.act
	return nil
}

// sinceProof says whether a line came surely after the artwork's version.
func (v *view) sinceProof(e *entry) bool {
	for i := len(v.job.opens) - 1; i >= 0; i-- {
		o := v.job.opens[i]
		if o.Body.(JobOpen).Proof == v.open.Proof && (i == 0 || v.job.opens[i-1].Body.(JobOpen).Proof != v.open.Proof) {
			return wroteBefore(o, e)
		}
	}
	return false
}
