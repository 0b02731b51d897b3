package checklist

import (
	"slices"
	"strconv"
)

// view is one job looked at from one moment.
type view struct {
	shop     *Shop
	job      *job
	open     JobOpen
	limits   *limits
	route    Route
	now      Span
	happened []event
	stays    []stay
	results  []result
}

// cause is one thing that a stage lacks.
type cause struct {
	key       string // stable key, for waivers and sorting
	short     int64  // how much is missing, 0 if that has no measure
	since     int64  // when it began, 0 if that says nothing
	panel     string // it holds only this panel, if not empty
	again     bool   // doing the stage is the way out: it may start
	state     State
	reason    string
	wayOut    string
	later     string // said instead of reason in front of later stages
	laterOut  string // and instead of wayOut
	condition string
	until     int64
	ask       string
}

// result is a stage judged on its target, for the stages that need it.
type result struct {
	stage, panel, zone string
	missing            []cause
}

// Gates answers 'may I start?' in front of every stage of a job, in the order
// of its route; a stage per zone or panel has one gate for each. A job that is
// not here has none.
func (s *Shop) Gates(id ID, now Span) []Gate {
	v, ok := s.view(id, now)
	if !ok {
		return nil
	}
	out := make([]Gate, 0, len(v.route.Stages)*(1+len(v.open.Panels)))
	zones := zonesOf(&v.open)
	for i := range v.route.Stages {
		st := &v.route.Stages[i]
		switch st.Per {
		case PerVehicle:
			out = append(out, v.gate(st, nil, ""))
		case PerZone:
			for _, z := range zones {
				out = append(out, v.gate(st, nil, z))
			}
		case PerPanel:
			for k := range v.open.Panels {
				if p := &v.open.Panels[k]; st.Key != "primer" || p.Primer {
					out = append(out, v.gate(st, p, p.Zone))
				}
			}
		}
	}
	return out
}

// Next returns the one gate to show of a job: something that can be started,
// or the first thing that holds.
func (s *Shop) Next(id ID, now Span) Gate {
	gates := s.Gates(id, now)
	first := -1
	for i := range gates {
		g := &gates[i]
		if g.State == Done || g.Cause == "bare" || g.State == Open && (g.Stage == "window" || g.Waived && !ticked(g.Stage)) {
			continue // nothing to do here
		}
		if g.State == Open {
			return *g
		}
		if first < 0 {
			first = i
		}
	}
	if first < 0 {
		if n := len(gates); n > 0 {
			return gates[n-1]
		}
		return Gate{State: NotKnown}
	}
	return gates[first]
}

// view opens a job at a moment.
func (s *Shop) view(id ID, now Span) (*view, bool) {
	j := s.jobs[id]
	if j == nil {
		return nil, false
	}
	o, ok := j.open()
	if !ok {
		return nil, false
	}
	v := &view{shop: s, job: j, open: o, now: now}
	if v.route, ok = RouteOf(o.Route); !ok {
		return nil, false
	}
	if v.limits, ok = s.limitsOf(&o); !ok {
		v.limits = nil
		return v, true
	}
	v.stays = s.stays(j)
	v.happened = s.events(j)
	return v, true
}

// gate judges one stage on its target.
func (v *view) gate(st *Stage, p *Panel, zone string) Gate {
	g := Gate{Stage: st.Key, Zone: zone}
	if p != nil {
		g.Panel, g.Zone = p.ID, p.Zone
	}
	if v.limits == nil {
		c := cause{key: "no-rules", state: NotKnown, reason: say(sayNoRules), wayOut: say(sayGetRules)}
		g.hold(c, []cause{c})
		return g
	}
	if p != nil && st.Key != "pull" {
		if done, c := v.finished(p); done {
			g.State, g.Cause, g.Reason = c.state, c.key, c.reason
			v.results = append(v.results, result{stage: st.Key, panel: p.ID, zone: p.Zone})
			return g
		}
	} else if st.Per == PerZone && v.zoneFinished(zone) {
		g.State, g.Reason = Done, say(sayZoneLaid)
		v.results = append(v.results, result{stage: st.Key, zone: zone})
		return g
	}
	before := v.needs(st, p, zone)
	missing := v.missing(st, p, zone, &g)
	// What holds the start: the stages before it, and of its own only what
	// doing it does not mend.
	holds := before
	var own *cause
	for i := range missing {
		if missing[i].again {
			own = &missing[i]
		} else {
			holds = append(holds, missing[i])
		}
	}
	if len(holds) == 0 && len(missing) == 0 {
		v.results = append(v.results, result{stage: st.Key, panel: g.Panel, zone: zone})
		return g // done, or a window that is open
	}
	left, waiver := v.waived(st.Key, g.Panel, zone, holds)
	if len(holds) > 0 && len(left) == 0 {
		g.State, g.Waived = Open, true
		g.Reason, g.Cause = say(sayWaived, waiver.Sentence), holds[0].key
		for _, c := range holds {
			g.Causes = append(g.Causes, c.name())
		}
		// A stage that readings decide passes by the waiver; one that a hand
		// does may start and still is not done.
		if !st.Tap {
			missing = nil
		}
		v.results = append(v.results, result{st.Key, g.Panel, zone, missing})
		return g
	}
	v.results = append(v.results, result{st.Key, g.Panel, zone, missing})
	if len(left) > 0 {
		g.hold(left[0], left)
		return g
	}
	if own != nil {
		g.State, g.Cause, g.Reason, g.WayOut, g.Ask = Open, own.key, own.reason, own.wayOut, own.ask
	}
	return g
}

// hold fills in what holds the gate.
func (g *Gate) hold(c cause, all []cause) {
	g.State, g.Cause, g.Reason, g.WayOut = c.state, c.key, c.reason, c.wayOut
	g.Condition, g.Until, g.Ask = c.condition, c.until, c.ask
	for i := range all {
		if n := all[i].name(); !slices.Contains(g.Causes, n) {
			g.Causes = append(g.Causes, n)
		}
	}
}

// name is the cause as a waiver quotes it.
func (c *cause) name() string {
	if c.short == 0 {
		return c.key
	}
	return c.key + "=" + strconv.FormatInt(c.short, 10)
}

// needs collects what the stages before this one lack on its target.
func (v *view) needs(st *Stage, p *Panel, zone string) []cause {
	var out []cause
	for i := range v.results { // in the route's order: the first thing to do comes first
		r := &v.results[i]
		if !slices.Contains(st.Needs, r.stage) || !r.concerns(st, p, zone) {
			continue
		}
		for _, c := range r.missing {
			if c.panel == "" || p == nil || c.panel == p.ID {
				out = append(out, c.before())
			}
		}
	}
	return out
}

// concerns says whether a stage judged there matters for this target: a panel
// needs its own zone, the vehicle needs all of them.
func (r *result) concerns(st *Stage, p *Panel, zone string) bool {
	switch {
	case st.Per == PerVehicle:
		return true
	case r.panel != "":
		return p == nil && r.zone == zone || p != nil && r.panel == p.ID
	case r.zone != "":
		return r.zone == zone
	}
	return true
}

// before turns 'may be done now' into 'must be done first'.
func (c cause) before() cause {
	if c.again {
		c.again, c.state = false, Held
	}
	if c.later != "" {
		c.reason = c.later
	}
	if c.laterOut != "" {
		c.wayOut = c.laterOut
	}
	return c
}

// missing returns what the stage itself lacks on its target, and fills in what
// the gate says when it lacks nothing.
func (v *view) missing(st *Stage, p *Panel, zone string, g *Gate) []cause {
	switch {
	case st.Key == "inspection":
		return v.inspection(g)
	case st.Key == "dry":
		return v.dry(st, zone, g)
	case st.Key == "window":
		return v.window(zone, g)
	case st.Key == "primer":
		return v.primer(st, p, g)
	case st.Evidence != "":
		return v.tested(st, g)
	}
	return v.ticked(st, p, zone, g)
}

// ticked judges a stage that a hand does and ticks.
func (v *view) ticked(st *Stage, p *Panel, zone string, g *Gate) []cause {
	panel := ""
	if p != nil {
		panel = p.ID
	}
	if st.Per == PerVehicle {
		zone = ""
	}
	c := v.claim(st.Key, panel, zone, v.shelf(st))
	g.State = Done
	switch {
	case c.State == GoodClaim && c.Started:
		return []cause{{key: st.Key + "-begun", again: true, since: c.At.Earliest, reason: say(sayStarted, markTime(c.At.Earliest)),
			later: say(sayNotFinished, st.Name, markTime(c.At.Earliest)), laterOut: say(sayDoFirst, st.Name)}}
	case c.State == GoodClaim && c.Until != 0:
		g.Reason, g.Until = say(sayWipeGood, markTime(c.Until)), c.Until
		return nil
	case c.State == GoodClaim:
		g.Reason = say(sayDoneAt, st.Name, markTime(c.At.Latest))
		return nil
	case c.State == StaleClaim && c.Until == 0:
		return []cause{{key: st.Key + "-stale", again: true, since: c.At.Earliest, reason: say(sayAgain, st.Name)}}
	case c.State == StaleClaim:
		return []cause{{key: st.Key + "-stale", again: true, since: c.Until,
			reason: say(sayAgainStale, st.Name, markTime(c.Until)), laterOut: say(sayDoFirst, st.Name)}}
	case c.State == SpoiledClaim:
		return []cause{v.spoiled(st, c)}
	}
	return []cause{first(st)}
}

// first says that a stage has not been done: it may start, and what comes
// after it may not.
func first(st *Stage) cause {
	return cause{key: st.Key + "-first", again: true, reason: say(sayStart, st.Name),
		later: say(sayFirst, st.Name), laterOut: say(sayDoFirst, st.Name)}
}

// spoiled says what spoiled a claim. While that goes on, doing the stage again
// mends nothing.
func (v *view) spoiled(st *Stage, c Claim) cause {
	e := c.event
	if e.end > v.now.Latest {
		return cause{key: c.Cause, since: e.start.Earliest, state: Held,
			reason: say(sayWhile, e.row.Said, markTime(e.start.Earliest)), wayOut: say(sayEndIt, st.Name)}
	}
	return cause{key: c.Cause, again: true, since: e.start.Earliest,
		reason: say(sayAgainSpoiled, st.Name, e.row.Said, markTime(e.start.Earliest)), wayOut: e.row.Redo}
}

// shelf returns for how long a claim of the stage is good, 0 for ever.
func (v *view) shelf(st *Stage) int64 {
	if st.Shelf == "" {
		return 0
	}
	if st.Key == "wipe" {
		if a, _, ok := v.airNow(); ok && int64(a.airMost) > v.limits.wipeHot {
			return v.limits.wipeShelfHot
		}
	}
	return v.limits.rule(st.Shelf)
}

// tested judges a stage that a test on the vehicle closes.
func (v *view) tested(st *Stage, g *Gate) []cause {
	e := v.lastEvidence(st.Evidence, "", 0)
	if e == nil {
		return []cause{first(st)}
	}
	// A test before the vehicle got wet again says nothing.
	for _, z := range zonesOf(&v.open) {
		if b, ok := v.base(z, st); st.Evidence == "sweat-test" && ok && e.act.Earliest < b.at {
			return []cause{first(st)}
		}
	}
	if !e.Body.(Evidence).Passed {
		return []cause{{key: st.Key + "-failed", again: true, since: e.act.Earliest,
			reason: say(sayTestFailed, st.Name, markTime(e.act.Latest)), wayOut: say(sayTestAgain)}}
	}
	g.State, g.Reason = Done, say(sayTestPassed, st.Name, markTime(e.act.Latest))
	return nil
}

// finished says whether a panel needs nothing more: laid, or left bare.
func (v *view) finished(p *Panel) (bool, cause) {
	if c := v.claim("lay", p.ID, "", 0); c.State == GoodClaim && !c.Started {
		return true, cause{state: Done, reason: say(sayLaid, markTime(c.At.Latest))}
	}
	if v.declined(p.ID) {
		return true, cause{state: Held, key: "bare", reason: say(sayBare)}
	}
	return false, cause{}
}

// zoneFinished says whether every panel of a zone is laid or stays bare.
func (v *view) zoneFinished(zone string) bool {
	any := false
	for i := range v.open.Panels {
		if p := &v.open.Panels[i]; p.Zone == zone {
			if done, _ := v.finished(p); !done {
				return false
			}
			any = true
		}
	}
	return any
}

// ticked says whether a person ticks a stage. The others end by themselves,
// so that a go-ahead leaves nothing to do in them.
func ticked(stage string) bool {
	for i := range Routes {
		if st, ok := Routes[i].stage(stage); ok {
			return st.Tap
		}
	}
	return false
}
