package checklist

import (
	"math/bits"
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
	holds    []*cause  // of the gate at hand, kept for its room
	names    []string  // of what holds it, likewise
	told     []string  // of what held the gate before
	begins   []int     // by stage: where its results begin
	lacks    uint64    // stages of which any result lacks something
	filming  *filming  // the film and what it has to follow
	ended    []laidOff // by panel
	apart    []bool    // by panel: its film comes by itself, as it was spoiled or refused; nil: none does
	begun    bool      // some panel was laid already
	unfit    []*cause  // by panel: it is not fitted yet, said in front of the first that is laid
	answers  []Gate    // once they were asked for
}

// laidOff says whether a panel needs nothing more of the stages before laying,
// or of any.
type laidOff struct {
	laid Span
	end  cause // of a panel that is laid or stays bare
	is   bool
	bare bool
}

// cause is one thing that a stage lacks.
type cause struct {
	key       string // stable key, for waivers and sorting
	quote     string // name, once somebody asked for it
	short     int64  // how much is missing, 0 if that has no measure
	since     int64  // when it began, 0 if that says nothing
	panel     string // it holds only this panel, if not empty
	again     bool   // doing the stage is the way out: it may start
	firm      bool   // no go-ahead lets it pass
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
	stage       int // place in the route
	at          int // place of the panel, -1 if it is not of one
	panel, zone string
	missing     []cause
	done        Span // when it was done, if nothing is missing and a hand or an hour ended it
	waived      bool // passes by the lead's go-ahead alone
}

// Gates answers 'may I start?' in front of every stage of a job, in the order
// of its route; a stage per zone or panel has one gate for each. A stage that
// does not concern the job has none; a job that is not here has none at all.
// Whoever asks again at the same moment gets the same slice: it is only read.
func (s *Shop) Gates(id ID, now Span) []Gate {
	v, ok := s.view(id, now)
	if !ok {
		return nil
	}
	return v.gates()
}

func (v *view) gates() []Gate {
	if v.answers == nil {
		v.answers = v.judge()
	}
	return v.answers
}

func (v *view) judge() []Gate {
	zones := zonesOf(&v.open)
	n := 0
	for i := range v.route.Stages {
		n += v.targets(&v.route.Stages[i], zones)
	}
	out := make([]Gate, n)[:0]
	v.results = make([]result, n)[:0]
	v.begins = make([]int, len(v.route.Stages))
	for i := range v.route.Stages {
		st := &v.route.Stages[i]
		v.begins[i] = len(v.results)
		switch {
		case v.targets(st, zones) == 0:
		case st.Per == PerVehicle:
			out = append(out, v.gate(i, -1, ""))
			for k := range v.apart {
				if p := &v.open.Panels[k]; v.againOn(st, k) {
					out = append(out, v.gate(i, k, p.Zone))
				}
			}
		case st.Per == PerZone:
			for _, z := range zones {
				out = append(out, v.gate(i, -1, z))
			}
		default:
			for k := range v.open.Panels {
				if p := &v.open.Panels[k]; v.concerns(st, k) {
					out = append(out, v.gate(i, k, p.Zone))
				}
			}
		}
	}
	return out
}

// targets is on how many targets of the job a stage is done.
func (v *view) targets(st *Stage, zones []string) int {
	switch {
	case st.Only == IfPrinted && !v.printed() || st.Only == IfProof && v.open.Proof == "":
		return 0
	case st.Per == PerVehicle:
		n := 1
		for k := range v.apart {
			if v.againOn(st, k) {
				n++
			}
		}
		return n
	case st.Per == PerZone:
		return len(zones)
	}
	n := 0
	for k := range v.open.Panels {
		if v.concerns(st, k) {
			n++
		}
	}
	return n
}

// concerns says whether a stage is done on a panel. A film that is stretched
// makes a contour of what was called a flat.
func (v *view) concerns(st *Stage, panel int) bool {
	p := &v.open.Panels[panel]
	switch st.Only {
	case OnContours:
		return p.Contour || v.filming != nil && v.filming.shapes[panel].stretched
	case WithPrimer:
		return p.Primer
	case OnRepaired:
		_, ok := v.repaired(p.ID)
		return ok
	}
	return true
}

// Next returns the one gate to show of a job: that the vehicle is wet, for that
// wants a hand at once and more hours whatever else could be done meanwhile; or
// what is to be done on a panel before its wipe is too old; or something that can
// be started on it, or else beside it, or the first thing that holds. Where one
// zone of a step waits and another lacks a reading, the reading is shown: its
// hours do not run without.
func (s *Shop) Next(id ID, now Span) Gate {
	v, ok := s.view(id, now)
	if !ok {
		return Gate{State: NotKnown}
	}
	gates := v.gates()
	var best *Gate
	rank := 0
	for i := range gates {
		g := &gates[i]
		st, _ := v.route.stage(g.Stage)
		if g.State == Done || g.Cause == "bare" || g.State == Open && (st.Proof == ByWindow || g.Waived && !st.Tap()) {
			continue // nothing to do here
		}
		r := 1
		switch {
		case g.State == Held && g.Cause == "wet" && st.Proof == ByHours:
			r = 6
		case g.State == Open && st.soon:
			r = 5
		case g.State == Open && !st.Free && st.Side != Bench:
			r = 4
		case g.State == Open && !st.Free:
			r = 3
		case !st.Free:
			r = 2
		}
		if r > rank || r == rank && g.State == NotKnown && best.State == Waits && g.Stage == best.Stage {
			best, rank = g, r
		}
	}
	if best != nil {
		return *best
	}
	if n := len(gates); n > 0 {
		return gates[n-1]
	}
	return Gate{State: NotKnown}
}

// glance is how long an answer in a list of many jobs may go on being shown, ms:
// screens ask for lists once a minute anyway.
const glance = 50_000

// glanced is what lists show of a job, as it was answered at a moment.
type glanced struct {
	next   Gate
	gates  []Gate
	at     Span
	common uint64 // version of the shop then
	since  bool   // no line of the job came since
}

// Glance is Next and Gates for lists of many jobs, which would else take longer
// than a tap may: as they were answered a moment ago, unless a line came that may
// change them.
func (s *Shop) Glance(id ID, now Span) (next Gate, gates []Gate) {
	j := s.jobs[id]
	if j == nil {
		return Gate{State: NotKnown}, nil
	}
	if g := &j.glanced; !g.good(s, now) {
		*g = glanced{s.Next(id, now), s.Gates(id, now), now, s.common, true}
	}
	return j.glanced.next, j.glanced.gates
}

func (g *glanced) good(s *Shop, now Span) bool {
	return g.since && g.common == s.common && now.Latest >= g.at.Latest && now.Latest-g.at.Latest < glance
}

// Foresee answers one of the jobs that lists will ask for, so that the list need
// not answer all of them at once; false if there is none left.
func (s *Shop) Foresee(now Span) bool {
	for id, j := range s.jobs {
		if len(j.opens) > 0 && len(j.closes) == 0 && !j.glanced.good(s, now) {
			s.Glance(id, now)
			return true
		}
	}
	return false
}

// view opens a job at a moment. A screen asks for many things of one job at
// one moment, so the last view is kept until a line comes.
func (s *Shop) view(id ID, now Span) (*view, bool) {
	if v := s.looked; v != nil && v.job.id == id && v.now == now {
		return v, true
	}
	v, ok := s.look(id, now)
	s.looked = v
	return v, ok
}

func (s *Shop) look(id ID, now Span) (*view, bool) {
	j := s.jobs[id]
	if j == nil {
		return nil, false
	}
	o, ok := j.open()
	if !ok {
		return nil, false
	}
	v := &view{shop: s, job: j, open: o, now: now}
	if v.route, ok = s.routeOf(&o); !ok {
		if v.route, ok = RouteOf(o.Route); !ok {
			return nil, false
		}
		return v, true // its steps are not here: nothing is known
	}
	if v.limits, ok = s.limitsOf(&o); !ok {
		v.limits = nil
		return v, true
	}
	v.stays = s.stays(j)
	v.happened = s.events(j)
	v.filming = v.worked()
	v.apart = v.comesApart()
	v.begun = v.anyLaid()
	v.ended = make([]laidOff, len(o.Panels))
	for i := range o.Panels {
		v.ended[i] = v.endOf(&o.Panels[i])
	}
	return v, true
}

// gate judges one stage on its target, the panel k if that is not -1.
func (v *view) gate(at, k int, zone string) Gate {
	st := &v.route.Stages[at]
	g := Gate{Stage: st.Key, Zone: zone}
	var p *Panel
	if k >= 0 {
		p = &v.open.Panels[k]
		g.Panel = p.ID
	}
	if v.limits == nil {
		c := cause{key: "no-rules", state: NotKnown, reason: say(sayNoRules), wayOut: say(sayGetRules)}
		g.hold(v, &c, []*cause{&c})
		return g
	}
	r := result{stage: at, at: k, panel: g.Panel, zone: zone}
	if p != nil {
		if e := &v.ended[k]; e.is && !st.Old && (e.bare || st.Side != After) {
			g.State, g.Cause, g.Reason = e.end.state, e.end.key, e.end.reason
			r.done = e.laid
			if st.Side == Laying && !e.bare {
				v.laidGate(st, p, &g, &r)
			}
			v.results = append(v.results, r)
			return g
		}
	} else if st.Per == PerZone && v.zoneFinished(zone) {
		g.State, g.Reason = Done, say(sayZoneLaid)
		v.results = append(v.results, r)
		return g
	}
	// What holds the start: the stages before it, and of its own only what
	// doing it does not mend.
	holds := v.needs(st, k, zone)
	before := len(holds)
	holds = v.beforeFirst(st, p, holds)
	missing := v.missing(st, p, zone, &g, &r)
	claimed := len(missing) == 0 && g.State == Done
	if claimed && st.from >= 0 && st.Side < Laying {
		missing = v.tooEarly(st, p, &r)
	}
	if len(missing) > 0 || g.State != Done {
		if c := v.clock(st, p); c != nil {
			holds = append(holds, c)
		}
	}
	var own *cause
	for i := range missing {
		if missing[i].again {
			if own == nil {
				own = &missing[i]
			}
		} else {
			holds = append(holds, &missing[i])
		}
	}
	v.holds = holds
	if len(holds) == 0 && len(missing) == 0 {
		v.results = append(v.results, r)
		return g // done, or a window that is open
	}
	left, waiver := v.waived(st.Key, g.Panel, zone, holds)
	if len(left) == 0 && len(v.job.waivers) > 0 {
		// What a hand has still to do may start and still is not done; where
		// no tick closes the stage, the lead may let that pass undone too.
		var todo []cause
		for i := range missing {
			c := &missing[i]
			if !c.again || claimed {
				continue
			}
			if !st.Tap() {
				if l, w := v.waived(st.Key, g.Panel, zone, []*cause{c}); len(l) == 0 {
					waiver, holds = w, append(holds, c)
					continue
				}
			}
			todo = append(todo, *c)
		}
		if len(holds) > 0 {
			r.waived = len(todo) == 0
			v.lack(&r, todo)
			v.results = append(v.results, r)
			g.Waived = true
			if st.Tap() && len(missing) == 0 && g.State == Done {
				return g
			}
			g.State, g.Reason, g.Cause = Open, say(sayWaived, waiver.Sentence), holds[0].key
			for _, c := range holds {
				g.Causes = append(g.Causes, c.name())
			}
			return g
		}
	}
	v.lack(&r, missing)
	v.results = append(v.results, r)
	if len(left) > 0 {
		c := *left[0]
		if before > 0 && left[0] != own {
			for _, h := range holds[:before] {
				if h == left[0] {
					c = c.before()
				}
			}
		}
		g.hold(v, &c, left)
		return g
	}
	if own != nil {
		g.State, g.Cause, g.Reason, g.WayOut, g.Ask = Open, own.key, own.reason, own.wayOut, own.ask
		if st.Side == After && !st.Tap() {
			g.Causes = []string{own.name()} // the lead may let it pass undone
		}
	}
	return g
}

// lack notes what a result lacks, for the stages that need it.
func (v *view) lack(r *result, missing []cause) {
	if r.missing = missing; len(missing) > 0 {
		v.lacks |= 1 << r.stage
	}
}

// hold fills in what holds the gate.
func (g *Gate) hold(v *view, c *cause, all []*cause) {
	g.State, g.Cause, g.Reason, g.WayOut = c.state, c.key, c.reason, c.wayOut
	g.Condition, g.Until, g.Ask = c.condition, c.until, c.ask
	v.names = v.names[:0]
	for i := range all {
		if n := all[i].name(); !slices.Contains(v.names, n) {
			v.names = append(v.names, n)
		}
	}
	if !slices.Equal(v.names, v.told) { // panels wait for the same, as a rule
		v.told = append(make([]string, 0, len(v.names)), v.names...)
	}
	g.Causes = v.told
}

// name is the cause as a waiver quotes it.
func (c *cause) name() string {
	if c.short == 0 {
		return c.key
	}
	if c.quote == "" {
		c.quote = c.key + "=" + strconv.FormatInt(c.short, 10)
	}
	return c.quote
}

// needs collects what the stages before this one lack on its target, in the
// route's order: the first thing to do comes first.
func (v *view) needs(st *Stage, panel int, zone string) []*cause {
	out := v.holds[:0]
	var p *Panel
	if panel >= 0 {
		p = &v.open.Panels[panel]
	}
	for left := st.needs & v.lacks; left != 0; left &= left - 1 {
		at := bits.TrailingZeros64(left)
		for i := v.begins[at]; i < len(v.results) && v.results[i].stage == at; i++ {
			r := &v.results[i]
			if len(r.missing) == 0 || !r.concerns(st, panel, zone) || v.elsewhere(st, r, p) {
				continue
			}
			for k := range r.missing {
				if c := &r.missing[k]; c.panel == "" || p == nil || c.panel == p.ID {
					out = append(out, c)
				}
			}
		}
	}
	return out
}

// clockOf is when the stage was done on whose end another's clock runs, and
// for how long; ok is false if it is not done: who needs it says so.
func (v *view) clockOf(st *Stage, p *Panel) (end Span, n number, ok bool) {
	if st.from < 0 || st.Clock == "" {
		return end, n, false
	}
	for i := v.begins[st.from]; i < len(v.results) && v.results[i].stage == st.from; i++ {
		r := &v.results[i]
		if r.done.Latest > end.Latest && (p == nil || r.panel == "" || r.panel == p.ID) && !v.elsewhere(st, r, p) {
			end = r.done
		}
	}
	if end.Latest == 0 {
		return end, n, false
	}
	return end, v.rule(st.Clock, p, "", st.Side), true
}

// clock is what says that a stage must wait for the time since another was
// done, nil if it need not.
func (v *view) clock(st *Stage, p *Panel) *cause {
	end, n, ok := v.clockOf(st, p)
	until := end.Latest + n.value
	if !ok || v.now.Earliest >= until {
		return nil
	}
	c := &cause{key: st.Key + "-early", state: Waits, since: end.Earliest, until: until,
		reason: n.by(say(sayAfterClock, markSpan(n.value), v.route.Stages[st.from].Name, markTime(until)))}
	if p != nil {
		c.panel = p.ID
	}
	return c
}

// concerns says whether a stage judged there matters for this target: a panel
// needs its own zone, the vehicle needs all of them.
func (r *result) concerns(st *Stage, panel int, zone string) bool {
	switch {
	case st.Per == PerVehicle:
		return true
	case r.at >= 0:
		return panel < 0 && r.zone == zone || panel == r.at
	case r.zone != "":
		return r.zone == zone
	}
	return true
}

// before turns 'may be done now' into 'must be done first'.
func (c cause) before() cause {
	if c.again {
		c.again = false
		if c.state != NotKnown {
			c.state = Held
		}
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
// the gate says and when it was done when it lacks nothing.
func (v *view) missing(st *Stage, p *Panel, zone string, g *Gate, r *result) []cause {
	if st.Old && p != nil {
		return v.old(st, p, g, r)
	}
	switch st.Proof {
	case ByWalk:
		return v.walked(st, g, r)
	case ByHours:
		return v.dry(st, zone, g)
	case ByWindow:
		return v.window(zone, g)
	case ByPrimer:
		return v.primer(st, p, g)
	case ByTest:
		if st.What == "tape-pull" {
			return v.taped(st, p, g, r)
		}
		if st.Only == IfProof {
			return v.proved(st, g, r)
		}
		return v.tested(st, g, r)
	case BySurvey:
		return v.surveyed(p, g, r)
	case ByFilm:
		return v.filmed(p, g, r)
	case ByAnswers:
		return v.answered(st, g, r)
	case BySigns:
		if st.What == "hand-over" {
			return v.handedOver(st, g, r)
		}
		return v.signed(st, g, r)
	case ByTrials:
		return v.tried(st, g, r)
	case ByPaint:
		return v.painted(st, p, g, r)
	case ByPatch:
		return v.patched(st, p, g, r)
	case ByHeat:
		return v.heated(st, p, g, r)
	case ByEdges:
		return v.edged(st, p, g, r)
	case ByRest:
		return v.rested(st, g, r)
	case ByCount:
		return v.counted(st, g, r)
	}
	if st.What == "trim-bags" {
		return v.refitted(st, g, r)
	}
	return v.ticked(st, p, zone, g, r)
}

// ticked judges a stage that a hand does and ticks.
func (v *view) ticked(st *Stage, p *Panel, zone string, g *Gate, r *result) []cause {
	panel := ""
	if p != nil {
		panel = p.ID
	}
	if st.Per == PerVehicle {
		zone = ""
	}
	c := v.claim(st.Key, panel, zone, v.shelf(st, p))
	g.State = Done
	if c.State == GoodClaim && !c.Started {
		r.done = c.At
	}
	switch {
	case c.State == GoodClaim && c.Started && st.Side == Laying && p != nil && v.now.Latest-c.At.Earliest >= v.limits.layLong:
		half := say(sayHalfLaid, upper(p.Name), markTime(c.At.Earliest))
		return []cause{{key: st.Key + "-begun", again: true, since: c.At.Earliest, reason: half, later: half, laterOut: say(sayDoFirst, st.Name)}}
	case c.State == StaleClaim && c.Until != 0 && p != nil && st.Key == "wipe" && v.begunInTime(panel, c.Until):
		g.Reason = say(sayWipedInTime)
		return nil
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
	return first(st)
}

// first says that a stage has not been done: it may start, and what comes
// after it may not. The slice is the stage's own: nobody writes to it.
func first(st *Stage) []cause { return st.first }

// firstOf is what first says, made once.
func firstOf(st *Stage) []cause {
	return []cause{{key: st.Key + "-first", again: true, reason: say(sayStart, st.Name),
		later: say(sayFirst, st.Name), laterOut: say(sayDoFirst, st.Name)}}
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
func (v *view) shelf(st *Stage, p *Panel) int64 {
	if st.Shelf == "" {
		return 0
	}
	if st.Key == "wipe" {
		if a, _, ok := v.airNow(); ok && int64(a.airMost) > v.on(p).wipeHot {
			return v.on(p).wipeShelfHot
		}
	}
	return v.on(p).rule(st.Shelf)
}

// tested judges a stage that a test on the vehicle closes.
func (v *view) tested(st *Stage, g *Gate, r *result) []cause {
	e := v.lastEvidence(st.What, "", 0)
	if e == nil {
		return first(st)
	}
	// A test before the vehicle got wet again says nothing.
	for _, z := range zonesOf(&v.open) {
		if b, ok := v.base(z, st); st.What == "sweat-test" && ok && e.act.Earliest < b.at {
			return first(st)
		}
	}
	if !e.Body.(Evidence).Passed {
		return []cause{{key: st.Key + "-failed", again: true, since: e.act.Earliest,
			reason: say(sayTestFailed, st.Name, markTime(e.act.Latest)), wayOut: say(sayTestAgain)}}
	}
	g.State, g.Reason, r.done = Done, say(sayTestPassed, st.Name, markTime(e.act.Latest)), e.act
	return nil
}

// endOf says whether a panel needs nothing more: laid, or left bare.
func (v *view) endOf(p *Panel) laidOff {
	if c := v.claim("lay", p.ID, "", 0); c.State == GoodClaim && !c.Started {
		return laidOff{is: true, laid: c.At, end: cause{state: Done, reason: say(sayLaid, markTime(c.At.Latest))}}
	}
	if v.declined(p.ID) {
		return laidOff{is: true, bare: true, end: cause{state: Held, key: "bare", reason: say(sayBare)}}
	}
	return laidOff{}
}

// zoneFinished says whether every panel of a zone is laid or stays bare.
func (v *view) zoneFinished(zone string) bool {
	any := false
	for i := range v.open.Panels {
		if v.open.Panels[i].Zone == zone {
			if !v.ended[i].is {
				return false
			}
			any = true
		}
	}
	return any
}
