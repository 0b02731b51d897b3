package checklist

import (
	"bytes"
	"slices"

	"bayhold/checklist/order"
)

// Setting returns the shop's own settings; ok is false before its set-up.
func (s *Shop) Setting() (ShopSet, bool) {
	if e := newest(s.shop.sets, nil); e != nil {
		return e.Body.(ShopSet), true
	}
	return ShopSet{}, false
}

// Place returns a place as it is called now.
func (s *Shop) Place(id ID) (PlaceAdd, bool) {
	if e := newest(s.shop.places, func(e *entry) bool { return e.Body.(PlaceAdd).Place == id }); e != nil {
		return e.Body.(PlaceAdd), true
	}
	return PlaceAdd{}, false
}

// Places returns all places along the building.
func (s *Shop) Places() []PlaceAdd {
	var out []PlaceAdd
	for _, e := range s.shop.places {
		id := e.Body.(PlaceAdd).Place
		if !slices.ContainsFunc(out, func(p PlaceAdd) bool { return p.Place == id }) {
			p, _ := s.Place(id)
			out = append(out, p)
		}
	}
	order.Stable(out, func(a, b *PlaceAdd) bool {
		switch {
		case a.Order != b.Order:
			return a.Order < b.Order
		case a.Name != b.Name:
			return a.Name < b.Name
		}
		return bytes.Compare(a.Place[:], b.Place[:]) < 0
	})
	return out
}

// Person returns one of the crew.
func (s *Shop) Person(id ID) (PersonAdd, bool) {
	if e := newest(s.shop.people, func(e *entry) bool { return e.Body.(PersonAdd).Person == id }); e != nil {
		return e.Body.(PersonAdd), true
	}
	return PersonAdd{}, false
}

// People returns the crew by name.
func (s *Shop) People() []PersonAdd {
	var out []PersonAdd
	for _, e := range s.shop.people {
		id := e.Body.(PersonAdd).Person
		if !slices.ContainsFunc(out, func(p PersonAdd) bool { return p.Person == id }) {
			p, _ := s.Person(id)
			out = append(out, p)
		}
	}
	order.Stable(out, func(a, b *PersonAdd) bool {
		if a.Name != b.Name {
			return a.Name < b.Name
		}
		return bytes.Compare(a.Person[:], b.Person[:]) < 0
	})
	return out
}

// Rules returns a rule set by its hash.
func (s *Shop) Rules(hash string) (map[string]int64, bool) {
	v, ok := s.values[hash]
	return v, ok
}

// RulesInForce returns the set that a new job pins: the last of the shop.
func (s *Shop) RulesInForce() (hash string, values map[string]int64, ok bool) {
	if e := newest(s.shop.rules, func(e *entry) bool { return e.Body.(RulesSet).Hash != "" }); e != nil {
		b := e.Body.(RulesSet)
		return b.Hash, b.Values, true
	}
	return "", nil, false
}

// StepsInForce returns the shop's own steps for a route that a new job pins,
// "" where this version's hold. Of several the last order number wins.
func (s *Shop) StepsInForce(route string) (hash string, steps Route) {
	e := newest(s.shop.routes, func(e *entry) bool {
		b := e.Body.(StepsSet)
		return b.Hash != "" && b.Route == route
	})
	if e == nil {
		steps, _ = RouteOf(route)
		return "", steps
	}
	hash = e.Body.(StepsSet).Hash
	return hash, s.steps[hash]
}

// Steps returns a shop's own steps by their hash.
func (s *Shop) Steps(hash string) (Route, bool) {
	r, ok := s.steps[hash]
	return r, ok
}

// SharedAir returns the groups of places that may share their air now.
func (s *Shop) SharedAir(now Span) [][]ID {
	var out [][]ID
	for _, p := range s.Places() {
		if slices.ContainsFunc(out, func(g []ID) bool { return contains(g, p.Place) }) {
			continue
		}
		group := []ID{p.Place}
		for _, r := range s.shared(p.Place) {
			if r.from <= now.Latest && now.Earliest < r.to && !contains(group, r.place) {
				group = append(group, r.place)
			}
		}
		if len(group) > 1 {
			out = append(out, group)
		}
	}
	return out
}

// Jobs returns every job that was opened, in that order.
func (s *Shop) Jobs() []ID {
	var out []*job
	for _, j := range s.jobs {
		if len(j.opens) > 0 {
			out = append(out, j)
		}
	}
	order.Stable(out, func(a, b **job) bool {
		if x, y := (*a).opens[0].Span.Latest, (*b).opens[0].Span.Latest; x != y {
			return x < y
		}
		return bytes.Compare((*a).id[:], (*b).id[:]) < 0
	})
	ids := make([]ID, len(out))
	for i, j := range out {
		ids[i] = j.id
	}
	return ids
}

// JobFacts is what stands of a job besides its gates.
type JobFacts struct {
	ID         ID
	Open       JobOpen
	Opened     Span
	By         ID
	Closed     string // how it was closed, "" while it is open
	ClosedAt   Span
	Place      ID // where it stands
	RulesKnown bool
	OnlyHere   int // lines that have no receipt yet
	LastBy     ID
	LastAt     Span
	Zones      []string
	Route      Route // the steps that it goes by
}

// Job returns the facts of a job.
func (s *Shop) Job(id ID) (JobFacts, bool) {
	j := s.jobs[id]
	if j == nil {
		return JobFacts{}, false
	}
	o, ok := j.open()
	if !ok {
		return JobFacts{}, false
	}
	f := JobFacts{ID: id, Open: o, Opened: j.opens[0].Span, By: j.opens[0].By, Zones: zonesOf(&o)}
	if e := newest(j.closes, nil); e != nil {
		f.Closed, f.ClosedAt = e.Body.(JobClose).How, e.Span
	}
	_, f.RulesKnown = s.limitsOf(&o)
	f.Route, _ = s.routeOf(&o)
	stays := s.stays(j)
	f.Place = stays[len(stays)-1].place
	all := s.books[Log{JobLog, id}].all
	for _, e := range all {
		if e.Order == 0 {
			f.OnlyHere++
		}
		if e.By != (ID{}) {
			f.LastBy, f.LastAt = e.By, e.Span
		}
	}
	return f, true
}

// Stay is the time of a job in one place; To is zero while it stands there.
type Stay struct {
	Place    ID
	From, To Span
	Wet      string
}

// Stays returns where the vehicle stood.
func (s *Shop) Stays(id ID) []Stay {
	j := s.jobs[id]
	if j == nil {
		return nil
	}
	var out []Stay
	for _, st := range s.stays(j) {
		if st.to.Earliest == forever {
			st.to = Span{}
		}
		out = append(out, Stay{st.place, st.from, st.to, st.wet})
	}
	return out
}

// SpotState is a reading spot with its last reading; Ask says that a gate
// waits for the next one.
type SpotState struct {
	Spot
	Read       bool
	Surface    int32
	At         Span
	By         ID
	Instrument string
	Error      int64 // of that reading, mK
	Ask        bool
}

// Spots returns the job's reading spots.
func (s *Shop) Spots(id ID, now Span) []SpotState {
	v, ok := s.view(id, now)
	if !ok {
		return nil
	}
	gates := s.Gates(id, now)
	var out []SpotState
	for _, sp := range v.open.Spots {
		x := SpotState{Spot: sp}
		if r := v.job.readsOf(sp.ID); r != nil && len(r.reads) > 0 {
			last := r.last()
			x.Read, x.Surface, x.At, x.By = true, last.value, last.e.act, last.e.By
			b := last.e.Body.(Reading)
			x.Instrument, x.Error = b.Instrument, v.errorOf(last.e)
		}
		x.Ask = slices.ContainsFunc(gates, func(g Gate) bool { return g.Ask == sp.ID })
		out = append(out, x)
	}
	return out
}

// Claim returns how a stage stands on a panel, in a zone or on the vehicle.
func (s *Shop) Claim(id ID, stage, panel, zone string, now Span) Claim {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil {
		return Claim{}
	}
	var shelf int64
	if st, ok := v.route.stage(stage); ok {
		shelf = v.shelf(st, v.panel(panel))
	}
	return v.claim(stage, panel, zone, shelf)
}

// Answered is an answer to a finding.
type Answered struct {
	ID LineID
	FindingAnswer
	By ID
	At Span
}

// FindingState is a finding with its answers; Standing is the one that holds.
type FindingState struct {
	ID LineID
	Finding
	By       ID
	At       Span
	Answers  []Answered
	Standing string
}

// Findings returns what was seen at inspection.
func (s *Shop) Findings(id ID) []FindingState {
	j := s.jobs[id]
	if j == nil {
		return nil
	}
	var out []FindingState
	for _, e := range j.findings {
		f := FindingState{ID: e.ID, Finding: e.Body.(Finding), By: e.By, At: e.Span, Standing: answerOf(j, e)}
		for _, a := range j.answers {
			if b := a.Body.(FindingAnswer); b.Finding == e.ID {
				f.Answers = append(f.Answers, Answered{a.ID, b, a.By, a.Span})
			}
		}
		out = append(out, f)
	}
	return out
}

// Signed is a signature.
type Signed struct {
	ID LineID
	Sign
	By ID
	At Span
}

// Signatures returns the job's signatures.
func (s *Shop) Signatures(id ID) []Signed {
	var out []Signed
	if j := s.jobs[id]; j != nil {
		for _, e := range j.signs {
			out = append(out, Signed{e.ID, e.Body.(Sign), e.By, e.Span})
		}
	}
	return out
}

// Waived is a waiver.
type Waived struct {
	ID LineID
	Waiver
	By ID
	At Span
}

// Waivers returns the job's waivers.
func (s *Shop) Waivers(id ID) []Waived {
	var out []Waived
	if j := s.jobs[id]; j != nil {
		for _, e := range j.waivers {
			out = append(out, Waived{e.ID, e.Body.(Waiver), e.By, e.Span})
		}
	}
	return out
}

// LineState is a line and whether it was struck.
type LineState struct {
	Line
	Struck  bool
	Adopted bool // the lead took its typed time as true
}

// Lines returns the last n lines of a job, latest first; 0 means all.
func (s *Shop) Lines(id ID, n int) []LineState { return s.LinesOf(Log{JobLog, id}, n) }

// LinesOf returns the last n lines of a logbook, latest first; 0 means all.
func (s *Shop) LinesOf(l Log, n int) []LineState {
	b := s.books[l]
	if b == nil {
		return nil
	}
	if n <= 0 || n > len(b.all) {
		n = len(b.all)
	}
	out := make([]LineState, 0, n)
	for i := len(b.all) - 1; len(out) < n; i-- {
		out = append(out, LineState{b.all[i].Line, b.all[i].struck, b.adopted[b.all[i].ID]})
	}
	return out
}

// Line returns one line of a logbook.
func (s *Shop) Line(l Log, id LineID) (LineState, bool) {
	if b := s.books[l]; b != nil {
		if e := b.entries[id]; e != nil {
			return LineState{e.Line, e.struck, b.adopted[id]}, true
		}
	}
	return LineState{}, false
}

// ClimateNow is the air of a place as it was heard last.
type ClimateNow struct {
	Air, RH, Dew int32
	At           int64
	Age          int64  // ms, at most
	Source       string // "logger", "hand" or "min-max"
	Fresh        bool   // young enough for a gate
}

// Climate returns the air of a place; ok is false if it was never read.
func (s *Shop) Climate(id ID, now Span) (ClimateNow, bool) {
	l := s.defaults
	if hash, _, ok := s.RulesInForce(); ok {
		l = s.rules[hash]
	}
	series := s.climate(id, l)
	a, _, fresh := atNow(series, now, l)
	if a.source == 0 {
		return ClimateNow{}, false
	}
	c := ClimateNow{Air: a.airLeast, RH: a.rhMost, Dew: a.dewMost, At: a.to, Source: a.source.String(), Fresh: fresh}
	p := s.place(id)
	switch a.source {
	case fromLogger:
		for i := len(p.blocks) - 1; i >= 0; i-- {
			if b := p.blocks[i].Body.(ClimateBlock); b.To == a.to {
				c.Air, c.RH, c.Dew = b.Air.Last, b.RH.Last, b.Dew.Last
				break
			}
		}
	case fromHand:
		for _, e := range p.hands {
			if e.dewKnown && e.act.Latest <= now.Latest {
				c.At = e.act.Latest
			}
		}
	}
	c.Age = max(0, now.Latest-c.At)
	return c, true
}

// MarginNow is the coldest last reading of a vehicle against the air it stands
// in.
type MarginNow struct {
	Spot                 string
	Surface, Dew, Margin int32
	At                   int64
}

// Margin returns how far the coldest spot was above the dew point that holds
// now.
func (s *Shop) Margin(id ID, now Span) (MarginNow, bool) {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil {
		return MarginNow{}, false
	}
	var spots []*spotReads
	for _, z := range zonesOf(&v.open) {
		spots = append(spots, v.spotsOf(z)...)
	}
	cold := coldest(spots)
	a, _, known := v.airNow()
	if cold == nil || !known {
		return MarginNow{}, false
	}
	r := cold.last()
	return MarginNow{cold.spot, r.value, a.dewMost, r.value - a.dewMost, r.e.act.Latest}, true
}

// EventState is something that goes on in a place's air.
type EventState struct {
	Log   Log
	ID    LineID
	Cause string
	Place ID // where it is, for air that came from elsewhere
	Start Span
	Note  string
}

// Ongoing returns what goes on in a place's air now: doors, heaters, dust.
func (s *Shop) Ongoing(id ID, now Span) []EventState {
	var out []EventState
	for _, e := range s.around(id) {
		if e.row.Lasts && e.end > now.Latest && e.start.Earliest <= now.Latest {
			out = append(out, EventState{e.src.Log, e.src.ID, e.row.Cause, e.place, e.start, e.src.Body.(PlaceEvent).Note})
		}
	}
	return out
}
