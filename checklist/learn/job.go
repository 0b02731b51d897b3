package learn

import (
	"cmp"
	"slices"
	"strings"

	"bayhold/checklist"
)

// Past is all that one job is learnt from.
type Past struct {
	Shop  []checklist.Line // of the shop's logbook
	Air   []checklist.Line // of the places' where it stood, and of those that share their air
	Job   []checklist.Line // of the job's own
	Now   int64
	Open  [][2]int64            // when somebody was there, in order
	Month func(at int64) string // of the shop's calendar
}

// often is how often an open question is asked again while no line comes and no
// gate names its end: only air that comes to be known or falls silent changes
// the answer then. Lines that come together are one moment.
const (
	often  = 4 * hour
	moment = minute
)

// Of tells a job over again; ok is false if it was never opened. Lines come as
// they were written down at the time, but for the air: what loggers sent late
// counts from when it was measured.
func (p *Past) Of(id checklist.ID) (One, bool) {
	shop := checklist.NewShop()
	var coming []checklist.Line
	for _, l := range p.Shop {
		shop.Add(l)
	}
	for _, l := range p.Air {
		if l.Kind == (checklist.ClimateBlock{}).Kind() {
			shop.Add(l)
		} else {
			coming = append(coming, l)
		}
	}
	coming = append(coming, p.Job...)
	slices.SortStableFunc(coming, func(a, b checklist.Line) int { return cmp.Compare(a.Span.Latest, b.Span.Latest) })

	since := int64(-1)
	t := telling{shop: shop, id: id, past: p, counts: map[zoned]counts{}}
	for i, l := range coming {
		shop.Add(l)
		next := p.Now
		if i+1 < len(coming) {
			next = min(next, coming[i+1].Span.Latest)
		}
		if since < 0 {
			since = l.Span.Latest
		}
		if i+1 == len(coming) || next >= since+moment {
			t.from(since, next)
			since = next
		}
	}
	f, ok := shop.Job(id)
	if !ok {
		return One{}, false
	}
	out := One{Job: id, Label: f.Open.Label, Began: f.Opened.Latest}
	if f.Closed != "" {
		out.Ended = f.ClosedAt.Latest
	}
	out.Stands = t.stands(f)
	out.Hours = t.hours()
	out.Trials = trials(shop, f)
	out.Quick = quick(shop.Lines(id, 0))
	return out, true
}

// telling is a job as far as it is told.
type telling struct {
	shop *checklist.Shop
	id   checklist.ID
	past *Past
	last []checklist.Gate

	stood  []stood
	asked  []asked
	counts map[zoned]counts
}

// stood is a time at one step.
type stood struct {
	from, to    int64
	stage, zone string
	cause       string
	hours, rest bool // of a step that counts hours
}

// zoned is what hours are counted for.
type zoned struct {
	zone string
	rest bool
}

// asked is a time in which hours were asked for and not there yet.
type asked struct {
	zoned
	from, to int64
}

// counts is how many hours there were, and when they were lost last.
type counts struct{ ms, lost int64 }

// from tells what stands between two moments.
func (t *telling) from(at, next int64) {
	for at < next {
		f, ok := t.shop.Job(t.id)
		if !ok || f.Closed != "" || f.Place == (checklist.ID{}) {
			return // not here yet, or gone
		}
		t.last = t.shop.Gates(t.id, checklist.Span{Earliest: at, Latest: at})
		to := min(next, at+often)
		for i := range t.last {
			if u := t.last[i].Until; u > at {
				to = min(to, u)
			}
		}
		t.at(f.Route, at, to)
		at = to
	}
}

func (t *telling) at(r checklist.Route, from, to int64) {
	if s, ok := front(r, t.last); ok {
		s.from, s.to = from, to
		if n := len(t.stood); n > 0 {
			if l := &t.stood[n-1]; l.to == from && l.stage == s.stage && l.zone == s.zone && l.cause == s.cause {
				l.to = to
				s.from = to
			}
		}
		if s.from < to {
			t.stood = append(t.stood, s)
		}
	}
	for i := range t.last {
		g := &t.last[i]
		st := stageOf(r, g.Stage)
		hours, rest := st.Proof == checklist.ByHours, st.Proof == checklist.ByRest
		if !hours && !rest || g.State == checklist.Done || g.Needed == 0 || g.Waived {
			continue // there, or nothing to count yet
		}
		of := zoned{g.Zone, rest}
		if k := slices.IndexFunc(t.asked, func(a asked) bool { return a.zoned == of && a.to == from }); k >= 0 {
			t.asked[k].to = to
		} else {
			t.asked = append(t.asked, asked{of, from, to})
		}
		c := t.counts[of]
		if g.Counted < c.ms {
			c.lost = from
		}
		c.ms = g.Counted
		t.counts[of] = c
	}
}

func stageOf(r checklist.Route, key string) *checklist.Stage {
	for i := range r.Stages {
		if r.Stages[i].Key == key {
			return &r.Stages[i]
		}
	}
	return &checklist.Stage{}
}

// front is the step at which a vehicle stands.
func front(r checklist.Route, gates []checklist.Gate) (stood, bool) {
	var first, runs *checklist.Gate
	for i := range gates {
		g := &gates[i]
		st := stageOf(r, g.Stage)
		switch {
		case g.State == checklist.Done || g.Cause == "bare" || st.Free || st.Side == checklist.Bench:
		case g.State == checklist.Open && (st.Proof == checklist.ByWindow || g.Waived && !st.Tap()):
		case first == nil:
			first = g
		}
		if runs == nil && (st.Proof == checklist.ByHours || st.Proof == checklist.ByPaint) && g.State != checklist.Done && g.State != checklist.Open &&
			g.Cause != "not-washed" && g.Cause != "bare" {
			runs = g
		}
	}
	switch {
	case first == nil:
		return stood{}, false
	case first.State == checklist.Open && runs != nil:
		first = runs
	}
	st := stageOf(r, first.Stage)
	s := stood{stage: first.Stage, zone: first.Zone, cause: causeAt(r, st, first), hours: st.Proof == checklist.ByHours, rest: st.Proof == checklist.ByRest}
	if st.Shelf != "" { // what runs out is done for the step after it
		s.stage = "lay"
	}
	return s, true
}

// causeAt is what the vehicle stands for at a gate.
func causeAt(r checklist.Route, st *checklist.Stage, g *checklist.Gate) string {
	if g.State == checklist.Open {
		return byHands
	}
	if c, ok := causeOf(g.Cause); ok {
		return c
	}
	if _, ok := checklist.SetbackOf(g.Cause); ok {
		return byPlace
	}
	for i := range r.Stages {
		if b := &r.Stages[i]; b.Side == checklist.Bench && strings.HasPrefix(g.Cause, b.Key+"-") {
			return byFilm
		}
	}
	switch {
	case g.Cause == st.Key+"-early":
		return byClock
	case strings.HasSuffix(g.Cause, "-first"), strings.HasSuffix(g.Cause, "-begun"), strings.HasSuffix(g.Cause, "-stale"), strings.HasPrefix(g.Cause, "sign-"),
		strings.HasPrefix(g.Cause, "ask-"), g.Cause == "edge-pin", g.Cause == "same-hand", g.Cause == "trim-bags", g.Cause == "fit-all", g.Cause == "not-washed":
		return byHands
	}
	return byOther
}

// stands sums up where the vehicle stood, in the order of its route. A step
// that it passed without standing there has no time, and counts as that.
func (t *telling) stands(f checklist.JobFacts) []Stand {
	var out []Stand
	now := ""
	if f.Closed == "" {
		if s, ok := front(f.Route, t.last); ok {
			now = s.stage
		}
	}
	passed := now == "" && f.Closed != "" // all of them, once it left
	for i := len(f.Route.Stages) - 1; i >= 0; i-- {
		st := &f.Route.Stages[i]
		if st.Key == now {
			passed = true
		}
		if st.Free || st.Side == checklist.Bench || st.Shelf != "" || st.Proof == checklist.ByWindow && !t.stoodAt(st.Key) ||
			!slices.ContainsFunc(t.last, func(g checklist.Gate) bool { return g.Stage == st.Key }) {
			continue
		}
		s := Stand{Stage: st.Key, Name: st.Name, Running: st.Key == now}
		ms := map[string]int64{}
		for _, x := range t.stood {
			if x.stage == st.Key {
				t.part(ms, x)
			}
		}
		if len(ms) == 0 && !passed {
			continue // it has not come there
		}
		for _, c := range Causes {
			if ms[c.Key] > 0 {
				s.Parts = append(s.Parts, Part{c.Key, ms[c.Key]})
			}
		}
		out = append(out, s)
	}
	slices.Reverse(out)
	return out
}

func (t *telling) stoodAt(stage string) bool {
	return slices.ContainsFunc(t.stood, func(s stood) bool { return s.stage == stage })
}

// part adds a time at a step by its causes: what a hand has to do by opening
// hours, and hours that are counted as they are known to have counted since.
func (t *telling) part(ms map[string]int64, s stood) {
	switch {
	case s.hours || s.rest:
		for _, h := range t.hoursIn(s.zone, s.rest, s.from, s.to) {
			ms[h.Cause] += h.To - h.From
		}
	case s.cause == byHands || s.cause == unread:
		open := int64(0)
		for _, o := range t.past.Open {
			open += max(0, min(o[1], s.to)-max(o[0], s.from))
		}
		ms[s.cause] += open
		ms[byShut] += s.to - s.from - open
	default:
		ms[s.cause] += s.to - s.from
	}
}

// hoursIn tells hours apart by the table of causes.
func (t *telling) hoursIn(zone string, rest bool, from, to int64) []checklist.HoursOf {
	at := max(t.past.Now, to)
	out := t.shop.HoursFor(t.id, zone, rest, from, to, checklist.Span{Earliest: at, Latest: at})
	for i := range out {
		h := &out[i]
		c, ok := causeOf(h.Cause)
		switch {
		case h.Cause == "":
			c = byHours
			if h.From < t.counts[zoned{zone, rest}].lost {
				c = byAgain
			}
		case !ok:
			c = byPlace
		}
		h.Cause = c
	}
	return out
}

// hours is what the bays' air did to the hours that the job asked for. Of
// several zones that dry beside each other the one counts that took longest.
func (t *telling) hours() []Hours {
	ms := map[Hours]int64{}
	for _, rest := range []bool{false, true} {
		took := map[string]int64{}
		longest := ""
		for _, a := range t.asked {
			if a.rest == rest {
				if took[a.zone] += a.to - a.from; took[a.zone] > took[longest] {
					longest = a.zone
				}
			}
		}
		for _, a := range t.asked {
			if a.rest != rest || a.zone != longest {
				continue
			}
			for _, h := range t.hoursIn(a.zone, rest, a.from, a.to) {
				ms[Hours{Place: h.Place, Month: t.past.Month(h.From), Cause: h.Cause}] += h.To - h.From
			}
		}
	}
	out := make([]Hours, 0, len(ms))
	for h, n := range ms {
		h.Ms = n
		out = append(out, h)
	}
	slices.SortFunc(out, func(a, b Hours) int {
		return cmp.Or(cmp.Compare(string(a.Place[:]), string(b.Place[:])), cmp.Compare(a.Month, b.Month), cmp.Compare(a.Cause, b.Cause))
	})
	return out
}
