package checklist

// ClaimState is how a claim stands.
type ClaimState uint8

// The screen says: nothing yet, good, too old, spoiled.
const (
	NoClaim ClaimState = iota
	GoodClaim
	StaleClaim
	SpoiledClaim
)

func (c ClaimState) String() string {
	return [...]string{"none", "good", "stale", "spoiled"}[c]
}

// Claim is what the lines say of a stage on a panel, in a zone or on the
// vehicle.
type Claim struct {
	State   ClaimState
	At      Span
	By      ID
	Started bool   // ticked as started, not yet as done
	Until   int64  // good until, or stale or spoiled since; 0 if it does not run out
	Cause   string // of the setback that spoiled it
	event   *event
	src     *entry
}

// act is a tick that stands for one or more that nobody can put in order.
type act struct {
	Span
	answer string
	src    *entry
}

// standing returns the tick that holds. A later line of the same writer
// replaces an earlier one, and so does a line that was surely written later.
// Ticks that may have been made at the same time, by people who did not see
// each other, both stay: together they reach from the earliest to the latest
// moment, and the answer that holds longer counts.
func standing(l list) (act, bool) {
	last := l.last()
	if last == nil {
		return act{}, false
	}
	for _, e := range l {
		if e.ID.Writer == last.ID.Writer && e.ID.Seq > last.ID.Seq {
			last = e
		}
	}
	a := act{Span: last.act, answer: last.Body.(Tick).Answer, src: last}
	for i, e := range l {
		if e == last || e.ID.Writer == last.ID.Writer || e.act.Latest < last.act.Earliest || superseded(l, i) {
			continue
		}
		a.Earliest, a.Latest = min(a.Earliest, e.act.Earliest), max(a.Latest, e.act.Latest)
		if rank(e.Body.(Tick).Answer) < rank(a.answer) {
			a.answer = e.Body.(Tick).Answer
		}
	}
	return a, true
}

// superseded says whether the writer of a line has written the same again.
func superseded(l list, i int) bool {
	for k := range l {
		if l[k].ID.Writer == l[i].ID.Writer && l[k].ID.Seq > l[i].ID.Seq {
			return true
		}
	}
	return false
}

// rank orders answers by how much they open.
func rank(answer string) int {
	switch answer {
	case "done":
		return 3
	case "from-memory":
		return 2
	case "started":
		return 1
	}
	return 0
}

// claim judges the ticks of a stage against the clock and the setbacks.
// Shelf 0 means that it does not run out.
func (v *view) claim(stage, panel, zone string, shelf int64) Claim {
	t := v.job.ticksOf(stage, panel, "")
	if panel == "" {
		t = v.job.ticksOf(stage, "", zone)
	} else if t == nil && v.apart != nil {
		t = v.wholeFilm(stage, panel)
	}
	if t == nil {
		return Claim{}
	}
	a, ok := standing(t.list)
	if !ok || rank(a.answer) == 0 {
		return Claim{}
	}
	c := Claim{State: GoodClaim, At: a.Span, By: a.src.By, Started: a.answer == "started", src: a.src}
	if a.answer == "from-memory" && shelf != 0 {
		// Nobody remembers a wipe to the minute.
		c.State = StaleClaim
		return c
	}
	if shelf != 0 {
		c.Until = a.Earliest + shelf
		if v.now.Latest >= c.Until {
			c.State = StaleClaim
		}
	}
	if e := v.spoiler(stage, panel, zone, a); e != nil {
		c.State, c.Cause, c.event, c.Until = SpoiledClaim, e.row.Cause, e, e.start.Earliest
	}
	return c
}

// spoiler returns the last setback that spoils what was done of a stage, nil
// if nothing did: everything that did not surely come before the act.
func (v *view) spoiler(stage, panel, zone string, a act) *event {
	z := zone
	if panel != "" {
		z = zoneOf(&v.open, panel)
	}
	var last *event
	for i := len(v.happened) - 1; i >= 0 && v.happened[i].end >= a.Earliest; i-- {
		e := &v.happened[i]
		if e.row.kills(stage) && e.hits(&v.open, panel, z) && !after(a, e) && e.counts(v.limits, v.now) && !(panel == "" && v.onlyApart(stage, e)) && (last == nil || e.end >= last.end) {
			last = e
		}
	}
	sweats := v.sweats(z)
	for i := range sweats {
		if e := &sweats[i]; e.row.kills(stage) && !after(a, e) && (last == nil || e.end >= last.end) {
			last = e
		}
	}
	return last
}

// after says whether an act came surely after an event: by the order of one
// writer's own lines, or by the clocks.
func after(a act, e *event) bool {
	if s := e.src; s != nil && s.Log == a.src.Log && s.ID.Writer == a.src.ID.Writer && a.Span == a.src.Span && s.act == s.Span && e.end == s.Span.Latest {
		return a.src.ID.Seq > s.ID.Seq
	}
	return a.Earliest > e.end
}
