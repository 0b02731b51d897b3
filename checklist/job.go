package checklist

import (
	"slices"

	"bayhold/checklist/order"
)

// job is one vehicle's stay with the standing lines of its logbook.
type job struct {
	id                                    ID
	opens, moves, closes, readings        list
	setbacks, evidence, findings, answers list
	signs, waivers                        list
	films, features, heats, trials        list
	paints, patches, asked, pins          list
	photos                                list
	ticks                                 []ticks
	spots                                 []spotReads
	version                               uint64 // of what counted hours and events depend on
	happened                              []event
	happenedVersion, happenedAir          uint64
	dryings                               []*drying
	benched                               uint64 // version of what the film depends on
	filming                               *filming
	cures                                 []curing
	glanced                               glanced
}

// ticks are the ticks of one stage on one panel, in one zone, or on the
// vehicle.
type ticks struct {
	stage, panel, zone string
	list               list
}

// spotReads are the readings of one spot in order.
type spotReads struct {
	spot  string
	reads []read
}

// read is one surface temperature.
type read struct {
	e     *entry
	value int32
}

func (s *Shop) job(id ID) *job {
	j := s.jobs[id]
	if j == nil {
		j = &job{id: id}
		s.jobs[id] = j
	}
	return j
}

func (j *job) index(s *Shop, e *entry, add bool) {
	switch e.Body.(type) {
	case JobOpen, JobRules, FilmRoll, Feature, Finding, FindingAnswer, Evidence, Paint, Sign:
		j.benched++
	}
	switch b := e.Body.(type) {
	case JobOpen:
		j.opens = j.opens.put(e, add)
		j.doubt(always)
	case JobMove:
		j.moves = j.moves.put(e, add)
		j.doubt(always)
	case JobClose:
		j.closes = j.closes.put(e, add)
		return
	case Tick:
		if b.Panel != "" {
			b.Zone = "" // the panel says where it is
		}
		t := j.ticksOf(b.Stage, b.Panel, b.Zone)
		if t == nil {
			j.ticks = append(j.ticks, ticks{b.Stage, b.Panel, b.Zone, nil})
			t = &j.ticks[len(j.ticks)-1]
		}
		t.list = t.list.put(e, add)
		return
	case Reading:
		j.readings = j.readings.put(e, add)
		if b.Answer == "" {
			for _, v := range b.Values {
				j.doubt(j.putRead(v, e, add))
			}
		}
		return
	case Setback:
		e.row = setbackRow(b.Cause)
		j.setbacks = j.setbacks.put(e, add)
		if e.row != nil && e.row.Dry == DryPauses {
			j.doubt(always)
		}
	case Evidence:
		j.evidence = j.evidence.put(e, add)
		return
	case Finding:
		j.findings = j.findings.put(e, add)
		return
	case FindingAnswer:
		j.answers = j.answers.put(e, add)
		return
	case Sign:
		j.signs = j.signs.put(e, add)
		return
	case Waiver:
		j.waivers = j.waivers.put(e, add)
		return
	case FilmRoll:
		j.films = j.films.put(e, add)
		return
	case Feature:
		j.features = j.features.put(e, add)
		return
	case Heat:
		e.filmLeast, e.filmMost = filmsRead(&b)
		j.heats = j.heats.put(e, add)
		return
	case Trial:
		j.trials = j.trials.put(e, add)
		return
	case Paint:
		j.paints = j.paints.put(e, add)
		return
	case Patch:
		j.patches = j.patches.put(e, add)
		return
	case Photo:
		j.photos = j.photos.put(e, add)
		return
	case Asked:
		j.asked = j.asked.put(e, add)
		return
	case JobRules:
		j.pins = j.pins.put(e, add)
	default:
		return
	}
	j.version++
}

func (j *job) ticksOf(stage, panel, zone string) *ticks {
	for i := range j.ticks {
		if t := &j.ticks[i]; t.stage == stage && t.panel == panel && t.zone == zone {
			return t
		}
	}
	return nil
}

func (j *job) readsOf(spot string) *spotReads {
	for i := range j.spots {
		if j.spots[i].spot == spot {
			return &j.spots[i]
		}
	}
	return nil
}

// putRead adds or takes away a reading of a spot, and returns the moment from
// which the spot's course differs.
func (j *job) putRead(v SpotValue, e *entry, add bool) int64 {
	r := j.readsOf(v.Spot)
	if r == nil {
		j.spots = append(j.spots, spotReads{spot: v.Spot})
		r = &j.spots[len(j.spots)-1]
	}
	i := len(r.reads)
	for i > 0 && byAct(e, r.reads[i-1].e) < 0 {
		i--
	}
	if add {
		r.reads = order.Insert(r.reads, i, read{e, v.Surface})
	} else {
		r.reads = slices.DeleteFunc(r.reads, func(x read) bool { return x.e == e })
		i = min(i, len(r.reads))
	}
	from := e.act.Earliest
	for ; i > 0; i-- {
		before := r.reads[i-1].e.act
		from = min(from, before.Earliest)
		if before.Latest <= e.act.Earliest {
			break
		}
	}
	return from
}

// doubt marks counted hours from a moment on as not counted yet.
func (j *job) doubt(from int64) {
	for _, d := range j.dryings {
		d.dirty = min(d.dirty, from)
	}
}

// open returns how the job stands: the last job.open, with the place of the
// first, where the vehicle came in, and the numbers and steps it began with.
func (j *job) open() (JobOpen, bool) {
	e := newest(j.opens, nil)
	if e == nil {
		return JobOpen{}, false
	}
	o := e.Body.(JobOpen)
	first := j.opens[0].Body.(JobOpen)
	o.Place, o.Rules, o.Steps = first.Place, first.Rules, first.Steps
	// A later set of numbers or steps reaches the job by a line with a name.
	var rules, steps *entry
	for _, e := range j.pins {
		b := e.Body.(JobRules)
		if b.Rules != "" && later(rules, e) {
			rules, o.Rules = e, b.Rules
		}
		if b.Steps != "" && later(steps, e) {
			steps, o.Steps = e, b.Steps
		}
	}
	return o, true
}

// routeOf returns the steps that the job goes by: the shop's own that it pins,
// or this version's. ok is false if they are not here.
func (s *Shop) routeOf(o *JobOpen) (Route, bool) {
	if o.Steps != "" {
		r, ok := s.steps[o.Steps]
		return r, ok
	}
	return RouteOf(o.Route)
}

// limitsOf returns the rule set that the job pins; ok is false if it is not
// here.
func (s *Shop) limitsOf(o *JobOpen) (*limits, bool) {
	if o.Rules == "" {
		return s.defaults, true
	}
	l := s.rules[o.Rules]
	return l, l != nil
}

// stay is the time in one place. Its edges are intervals.
type stay struct {
	place    ID
	from, to Span
	wet      string
	sort     string // of the place: "bay", "yard", "outside", "" unknown
}

func (s *Shop) stays(j *job) []stay {
	if len(j.opens) == 0 {
		return nil
	}
	out := make([]stay, 0, len(j.moves)+1)
	first := j.opens[0]
	out = append(out, stay{place: first.Body.(JobOpen).Place, from: first.act})
	for _, e := range j.moves {
		m := e.Body.(JobMove)
		out[len(out)-1].to = e.act
		out = append(out, stay{place: m.Place, from: e.act, wet: m.Wet})
	}
	out[len(out)-1].to = Span{forever, forever}
	for i := range out {
		if p, ok := s.Place(out[i].place); ok {
			out[i].sort = p.Sort
		}
	}
	return out
}

// HangsOn returns the places whose lines the job's answers hang on: those where
// the vehicle stood, what ever shared air with them, and for paint that may be
// fresh those where it may have stood before. Lines of other places change nothing
// that [Shop.Gates] says of this job. Nor do blocks of climate that ended before
// since, but for the newest of each place, which says until when its air was known;
// of paint all air counts.
func (s *Shop) HangsOn(job ID) (places []ID, since int64) {
	var out []ID
	j := s.jobs[job]
	if j == nil {
		return nil, 0
	}
	since = forever
	for _, e := range s.book(Log{JobLog, job}).all {
		since = min(since, e.act.Earliest)
	}
	if len(j.paints) > 0 {
		since = 0
		for _, p := range s.Places() {
			if outdoors(p.Sort) {
				out = append(out, p.Place)
			}
		}
	}
	for _, st := range s.stays(j) {
		for _, r := range s.shared(st.place) {
			if !contains(out, r.place) {
				out = append(out, r.place)
			}
		}
	}
	return out, since - 24*hour // more than a gap may have that is bridged
}

// events returns what undid work on this job: its own setbacks, what happened
// to the air it stood in, and wet moves; sweating comes from the readings and
// stands with the counted hours.
func (s *Shop) events(j *job) []event {
	if j.happened != nil && j.happenedVersion == j.version && j.happenedAir == s.air {
		return j.happened
	}
	out := make([]event, 0, len(j.setbacks)+8)
	for _, e := range j.setbacks {
		b := e.Body.(Setback)
		if e.row != nil {
			ev := newEvent(e.row, b.From, b.To, e)
			ev.panels, ev.zones = b.Panels, b.Zones
			out = append(out, ev)
		}
	}
	out = settle(out, typedFrom)
	for _, st := range s.stays(j) {
		if st.wet == "yes" {
			i := slices.IndexFunc(j.moves, func(e *entry) bool { return e.act == st.from })
			out = append(out, event{row: setbackRow("rain"), start: st.from, end: st.from.Latest, src: j.moves[i]})
		}
		for _, e := range s.around(st.place) {
			if e.end >= st.from.Earliest && e.start.Earliest <= st.to.Latest {
				// It reached this vehicle only while it stood there.
				e.end = min(e.end, st.to.Latest)
				out = append(out, e)
			}
		}
	}
	// In order of their ends: a claim need only look at those after it.
	order.Stable(out, func(a, b *event) bool { return a.end < b.end })
	j.happened, j.happenedVersion, j.happenedAir = out, j.version, s.air
	return out
}

// hits says whether the event reaches a panel (of a zone), or a zone as such
// if panel is empty.
func (e *event) hits(o *JobOpen, panel, zone string) bool {
	if len(e.panels) == 0 && len(e.zones) == 0 {
		return e.row.Zone == "" || e.row.Zone == zone || zone == ""
	}
	for _, z := range e.zones {
		if z == zone || zone == "" {
			return true
		}
	}
	for _, p := range e.panels {
		if p == panel || panel == "" && (zone == "" || zoneOf(o, p) == zone) {
			return true
		}
	}
	return false
}

func zoneOf(o *JobOpen, panel string) string {
	for i := range o.Panels {
		if o.Panels[i].ID == panel {
			return o.Panels[i].Zone
		}
	}
	return ""
}

// zonesOf returns the zones of the job's panels and spots in their order. A
// job without any has the one zone "".
func zonesOf(o *JobOpen) []string {
	var out []string
	for i := range o.Panels {
		if !slices.Contains(out, o.Panels[i].Zone) {
			out = append(out, o.Panels[i].Zone)
		}
	}
	for i := range o.Spots {
		if !slices.Contains(out, o.Spots[i].Zone) {
			out = append(out, o.Spots[i].Zone)
		}
	}
	if len(out) == 0 {
		return []string{""}
	}
	return out
}
