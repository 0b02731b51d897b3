package checklist

// Rest counts hours as drying does, for the whole vehicle: from the last laying
// or heating, while the coldest spot stays warm enough. Package rest has the
// rules; here they meet readings that are far apart. Between two readings of
// the coldest spot the lower one holds, as at drying. Readings at most as far
// apart as the shop's silence vouch for the time between them; over a longer
// gap the air must be known, and itself warm enough: a surface that was warm at
// both ends, in air that never was colder, did not cool between them.

// allSpots returns every spot that has been read.
func (v *view) allSpots() []*spotReads {
	var out []*spotReads
	for i := range v.open.Spots {
		if r := v.job.readsOf(v.open.Spots[i].ID); r != nil && len(r.reads) > 0 {
			out = append(out, r)
		}
	}
	return out
}

// warm appends to out the times in [from, to) that count for rest.
func (v *view) warm(out []iv, series []stretch, lows []low, from, to int64, closed bool) []iv {
	l := v.limits
	add := func(f, t int64) {
		if f >= t {
			return
		}
		if n := len(out); n > 0 && out[n-1].to == f {
			out[n-1].to = t
		} else {
			out = append(out, iv{f, t})
		}
	}
	for k := range lows {
		b := &lows[k]
		f, t := max(b.from, from), min(b.to, to)
		if f >= t || b.closed != closed || int64(b.value) < l.restFloor {
			continue
		}
		if b.gap <= l.silence {
			add(f, t)
			continue
		}
		for i := firstAfter(series, f); i < len(series) && series[i].from < t; i++ {
			if a := &series[i]; int64(a.airLeast) >= l.restFloor {
				add(max(a.from, f), min(a.to, t))
			}
		}
	}
	return out
}

// readAfter returns when the vehicle was first read after a moment: until then
// nobody knows how cold it was since.
func (v *view) readAfter(t int64) int64 {
	at := int64(forever)
	for i := len(v.job.readings) - 1; i >= 0; i-- {
		e := v.job.readings[i]
		if e.act.Latest < t {
			break
		}
		if e.act.Earliest >= t && e.Body.(Reading).Answer == "" {
			at = e.act.Latest
		}
	}
	return at
}

// lastLaid returns when the last panel was laid; ok is false while one is not.
func (v *view) lastLaid() (at Span, ok bool) {
	for i := range v.ended {
		e := &v.ended[i]
		if !e.is {
			return Span{}, false
		}
		if !e.bare && e.laid.Latest > at.Latest {
			at = e.laid
		}
	}
	return at, at.Latest != 0
}

// laidAt returns when a panel was laid, the zero span while it is not.
func (v *view) laidAt(panel string) Span {
	for i := range v.open.Panels {
		if v.open.Panels[i].ID == panel {
			return v.ended[i].laid
		}
	}
	return Span{}
}

// restBase is the moment from which rest counts.
type restBase struct {
	at   int64
	said string // what set it to zero since, "" if nothing did
}

// resting returns from when the vehicle rests: the last laying or heating, or
// the rain or frost that came after it.
func (v *view) resting() (restBase, bool) {
	laid, ok := v.lastLaid()
	if !ok {
		return restBase{}, false
	}
	b := restBase{at: laid.Latest}
	for _, e := range v.job.heats {
		// Risen rivets that are pressed again one by one ask for no new rest.
		if h := e.Body.(Heat); h.Answer != "not-measured" && (h.Length != 0 || h.Rivets == 0) {
			b.at = max(b.at, e.act.Latest)
		}
	}
	for i := range v.happened {
		e := &v.happened[i]
		if e.row.Dry == DryResets && e.row.kills("rest") && e.end > b.at {
			b.at, b.said = e.end, e.row.Said
		}
	}
	// A way on which nobody knows whether it rained counts as rain.
	for i := range v.stays {
		if st := &v.stays[i]; i > 0 && st.wet == "unknown" && st.from.Latest > b.at {
			b.at, b.said = st.from.Latest, "maybe driven in rain"
		}
	}
	for _, s := range v.allSpots() {
		for k := len(s.reads) - 1; k >= 0 && s.reads[k].e.act.Latest > b.at; k-- {
			if s.reads[k].value <= 0 {
				b.at, b.said = s.reads[k].e.act.Latest, "frost"
			}
		}
	}
	return b, true
}

// rested judges the hours that count for rest.
func (v *view) rested(st *Stage, g *Gate, r *result) []cause {
	b, ok := v.resting()
	if !ok {
		return []cause{{key: "rest-first", again: true, reason: say(sayRestFrom), wayOut: say(sayLayAll)}}
	}
	l, d := v.limits, v.hoursOf("", true)
	counted := sum(d.counted, b.at)
	g.Counted, g.Needed = counted, l.rule(st.Hours)
	if counted >= g.Needed {
		r.done = Span{d.known, d.known}
		g.State, g.Reason = Done, say(sayRested, markSpan(counted), markSpan(g.Needed))
		return nil
	}
	c := v.notRested(d, b, g)
	c.short, c.since = g.Needed-counted, b.at
	return []cause{c}
}

// notRested says why hours are missing, and until when.
func (v *view) notRested(d *drying, b restBase, g *Gate) cause {
	l, o := v.limits, &v.open
	c := cause{key: "not-rested", state: Held}
	cold := coldest(v.allSpots())
	if cold == nil {
		c.state, c.key = NotKnown, "no-reading"
		c.reason, c.wayOut = say(sayRestUnread), say(sayAddSpot)
		if len(o.Spots) > 0 {
			c.ask, c.wayOut = o.Spots[0].ID, say(sayReadToStart, o.Spots[0].Name)
		}
		return c
	}
	name, last := spotName(o, cold.spot), cold.last()
	done, all, short := markSpan(g.Counted), markSpan(g.Needed), g.Needed-g.Counted
	for i := range v.happened {
		if e := &v.happened[i]; e.row.Dry == DryPauses && e.row.Lasts && e.end > v.now.Latest && e.hits(o, "", "") {
			c.reason = say(sayRestPaused, done, all, e.row.Said, markTime(e.start.Earliest))
			c.wayOut, c.condition = e.row.Redo, say(sayPausedThen, markSpan(short))
			return c
		}
	}
	switch {
	case int64(last.value) < l.restFloor:
		c.reason = say(sayRestCold, done, all, name, markTemp(int64(last.value)), markTemp(l.restFloor))
		c.wayOut, c.condition = say(sayHeat, name), say(sayPausedThen, markSpan(short))
		return c
	case v.now.Earliest-max(d.known, b.at) >= short || v.readAfter(v.lastEvent()) == forever:
		// Enough for the clock: a reading tells whether it was warm.
		c.state, c.key, c.ask = NotKnown, "rest-open", cold.spot
		c.reason, c.wayOut = say(sayNeedsReading, done, all, markTime(max(d.known, b.at))), say(sayReadSpot, name)
		return c
	}
	if v.now.Latest-last.e.act.Earliest > l.silence {
		if a, since, ok := v.airNow(); !ok {
			return v.unknownAir(since)
		} else if int64(a.airLeast) < l.restFloor {
			c.reason = say(sayRestCold, done, all, "air", markTemp(int64(a.airLeast)), markTemp(l.restFloor))
			c.wayOut, c.condition = say(sayHeat, name), say(sayPausedThen, markSpan(short))
			return c
		}
	}
	c.state, g.Running = Waits, true
	c.reason, c.condition = say(sayResting, done, all), say(sayRestingIf, name)
	if b.said != "" {
		c.reason = say(sayRestAgain, done, all, b.said)
	}
	c.until = max(max(d.known, b.at)+short, v.now.Earliest)
	c.wayOut = say(sayEarlyRelease)
	return c
}

// lastEvent is when the vehicle was last said to have been moved out of rest.
func (v *view) lastEvent() int64 {
	at := int64(always)
	for i := range v.happened {
		if e := &v.happened[i]; e.row.Dry == DryPauses && !e.row.Lasts {
			at = max(at, e.end)
		}
	}
	return at
}

// counted judges a count of what has risen against what was looked at, once
// the film has had its time. A count before that closes nothing.
func (v *view) counted(st *Stage, g *Gate, r *result) []cause {
	end, n, _ := v.clockOf(st, nil)
	from := end.Latest + n.value
	e := v.lastEvidence(st.What, "", from)
	if e == nil || e.Body.(Evidence).Of <= 0 {
		early := v.lastEvidence(st.What, "", 0)
		if early == nil {
			return first(st)
		}
		c := first(st)[0]
		c.reason = say(sayCountedEarly, markTime(early.act.Latest), markTime(from))
		c.later = c.reason
		return []cause{c}
	}
	b := e.Body.(Evidence)
	if b.Count*100_000 > b.Of*v.limits.risenShare {
		return []cause{{key: "risen", again: true, since: e.act.Earliest,
			reason: say(sayRisen, digits(b.Count), digits(b.Of), digits(v.limits.risenShare/1000)), wayOut: say(sayFindCause)}}
	}
	r.done = e.act
	g.State, g.Reason = Done, say(sayCounted, digits(b.Count), digits(b.Of))
	if laid, ok := v.lastLaid(); ok && e.act.Earliest > laid.Latest+v.limits.recheckLate {
		g.Reason += " " + say(sayLate)
	}
	if have, want := v.recessPhotos(from); have < want {
		g.Reason += " " + say(sayRecessPhotos, digits(have), digits(want))
	}
	return nil
}

// recessPhotos counts the channels and domes, and of how many a photo was taken
// since a moment.
func (v *view) recessPhotos(since int64) (have, want int64) {
	for i := range v.open.Panels {
		id := v.open.Panels[i].ID
		var deep, taken int64
		for _, e := range v.featuresOf(id) {
			if s := e.Body.(Feature).Sort; s == "channel" || s == "dome" {
				deep++
			}
		}
		for _, e := range v.job.photos {
			if e.Body.(Photo).Panel == id && e.act.Latest >= since {
				taken++
			}
		}
		have, want = have+min(taken, deep), want+deep
	}
	return have, want
}

// handedOver judges the last paper: the owner's and the driver's signature, and
// where the vehicle did not rest, the owner's under that too.
func (v *view) handedOver(st *Stage, g *Gate, r *result) []cause {
	out := v.signed(st, g, r)
	if len(v.job.waivers) == 0 || v.rests() || v.signedAs("early-release", "owner") {
		return out // without a go-ahead the rest itself holds
	}
	return append([]cause{{key: "early-release", firm: true, state: Held, reason: say(sayEarlySign), wayOut: say(sayMustSign, "owner")}}, out...)
}

// rests says whether the vehicle has had its rest, or its route asks for none.
func (v *view) rests() bool {
	for i := range v.results {
		r := &v.results[i]
		if v.route.Stages[r.stage].Proof == ByRest && (len(r.missing) > 0 || r.waived) {
			return false
		}
	}
	return true
}

func (v *view) signedAs(what, as string) bool {
	for _, e := range v.job.signs {
		if b := e.Body.(Sign); b.What == what && b.As == as {
			return true
		}
	}
	return false
}

// ReleasedEarly says whether a job was handed over before it had rested.
func (s *Shop) ReleasedEarly(id ID) bool {
	j := s.jobs[id]
	if j == nil {
		return false
	}
	e := newest(j.closes, nil)
	if e == nil || e.Body.(JobClose).How != "handed-over" {
		return false
	}
	v, ok := s.view(id, e.Span)
	if !ok || v.limits == nil {
		return false
	}
	v.gates()
	return !v.rests()
}
