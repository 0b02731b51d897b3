package line

import (
	"slices"
	"strconv"
	"strings"

	"bayhold/checklist"
	"bayhold/checklist/heat"
)

// Refusal is a sentence for the person who wanted to write a line. With Ask
// it is a question: the line may be true, and is written if the person
// insists.
type Refusal struct {
	Text string
	Ask  bool
}

// Refused says that the line is not to be written as it stands.
func (r Refusal) Refused() bool { return r.Text != "" }

// future is how far a typed time may lie after now: phone clocks and kitchen
// clocks differ.
const future = 60_000

// Check judges a line before a phone writes it. It asks what the fold would
// have to swallow silently: numbers that cannot be, times to come, panels that
// the job does not have, rights. l.Body is decoded already; now is the moment
// of writing. The server does not ask again: by then the line is written, and
// what is written is kept.
func Check(l checklist.Line, s *checklist.Shop, now checklist.Span) Refusal {
	return check(l, s, now, false)
}

// CheckShared is Check on a phone that the crew shares, where a lead's rights do
// not count without the PIN. What it lets pass the server does not refuse for
// want of rights.
func CheckShared(l checklist.Line, s *checklist.Shop, now checklist.Span) Refusal {
	return check(l, s, now, true)
}

func check(l checklist.Line, s *checklist.Shop, now checklist.Span, shared bool) Refusal {
	k, ok := Lookup(l.Kind)
	if !ok {
		return no("This phone does not know this kind of line: " + l.Kind)
	}
	if k.Log != 0 && k.Log != l.Log.Class {
		return no("This line belongs to another logbook (" + l.Kind + ").")
	}
	for _, judge := range [...]func() string{
		func() string { return rights(k, l, s, shared) },
		func() string { return numbers(l, s) },
		func() string { return times(l.Body, now) },
		func() string { return choices(l.Body) },
		func() string { return pinned(l, s) },
		func() string { return references(l, s, now) },
		func() string { return strikes(l, s, shared) },
	} {
		if text := judge(); text != "" {
			return no(text)
		}
	}
	return questions(l, s, now)
}

func no(text string) Refusal { return Refusal{Text: text} }

// needsPIN is what a lead is told on a phone of the crew's.
const needsPIN = "This needs the lead's PIN, with the shop in reach."

// rights of the person who was tapped. A shop without a lead is being set up,
// on a lead's own phone: there anyone may write.
func rights(k Kind, l checklist.Line, s *checklist.Shop, shared bool) string {
	led := Led(s)
	if !led && !shared {
		return ""
	}
	p, known := s.Person(l.By)
	role := RoleOf(p.Role)
	switch {
	case !led && !known:
		role = Crew
	case l.By == (checklist.ID{}):
		return "Tap your name first."
	case !known:
		return "This phone does not know who you are yet. Tap your name again."
	}
	switch may := k.WritersOf(l.Body); {
	case may&role.On(shared) != 0:
		return ""
	case may&role != 0:
		return needsPIN
	default:
		return "Only " + may.Names() + " can write this."
	}
}

// Led says that the shop has a lead.
func Led(s *checklist.Shop) bool {
	return slices.ContainsFunc(s.People(), func(p checklist.PersonAdd) bool { return p.Role == "lead" })
}

func numbers(l checklist.Line, s *checklist.Shop) string {
	units, bay := unitsAt(l, s)
	for _, m := range numbersOf(l.Body) {
		if text := m.refuse(); text != "" {
			if other := m.mixedUp(units, bay); other != "" {
				return other
			}
			return text
		}
	}
	if b, ok := l.Body.(checklist.ClimateSpan); ok && (b.AirLeast > b.AirMost || b.RHLeast > b.RHMost) {
		return "The lowest value is above the highest. Swap them."
	}
	return ""
}

// times refuses what is said to have happened after now. Where this phone
// cannot bound now (it never met the shop's clock) nothing is refused.
func times(b checklist.Body, now checklist.Span) string {
	var past [2]int64
	var from, to int64
	switch b := b.(type) {
	case checklist.ClimateReading:
		past[0] = b.At
	case checklist.ClimateSpan:
		from, to = b.From, b.To
		past = [2]int64{from, to}
		if from == 0 || to == 0 {
			return "Say from when until when."
		}
	case checklist.PlaceEvent:
		from, to = b.From, b.To
		past = [2]int64{from, to}
	case checklist.AirShared:
		from, to = b.From, b.To
	case checklist.Instrument:
		past[0] = b.Checked
	case checklist.JobMove:
		past[0] = b.At
	case checklist.Tick:
		past[0] = b.At
	case checklist.Reading:
		past[0] = b.At
	case checklist.Setback:
		from, to = b.From, b.To
		past = [2]int64{from, to}
	case checklist.Evidence:
		past[0] = b.At
	case checklist.Trial:
		past[0] = b.At
	case checklist.Paint:
		past = [2]int64{b.Painted, b.At}
	case checklist.Patch:
		from, to = b.From, b.To
		past = [2]int64{from, to}
	case checklist.Heat:
		past[0] = b.At
	}
	for _, t := range past {
		if t != 0 && t-future > now.Latest {
			return "That time is still to come. Check date and time."
		}
	}
	if from != 0 && to != 0 && to < from {
		return "It ends before it begins. Check both times."
	}
	return ""
}

// choices are fields that hold one of a few words.
func choices(b checklist.Body) string {
	one := func(what, value string, of ...string) string {
		if slices.Contains(of, value) {
			return ""
		}
		return what + " cannot be '" + value + "'."
	}
	switch b := b.(type) {
	case checklist.ShopSet:
		return one("The shop's unit", b.Units, "C", "F")
	case checklist.PlaceAdd:
		return one("A place", b.Sort, "bay", "yard", "outside")
	case checklist.PersonAdd:
		return one("A role", b.Role, "lead", "crew", "prep", "porter", "desk")
	case checklist.ShopHours:
		if len(b.Week) != 14 {
			return "A week has seven days."
		}
		for i, from := range b.Week {
			if i%2 == 0 && (from < 0 || from > b.Week[i+1] || b.Week[i+1] > 24*3_600_000) {
				return "It shuts before it opens. Check both times."
			}
		}
	case checklist.Instrument:
		return one("An instrument", b.Sort, "air", "infrared", "contact", "logger")
	case checklist.JobMove:
		return one("Wet on the way", b.Wet, "yes", "no", "unknown")
	case checklist.JobClose:
		return one("The end", b.How, "handed-over", "no-film")
	case checklist.Tick:
		if text := one("The answer", b.Answer, "done", "started", "not-done", "from-memory"); text != "" {
			return text
		}
		return one("How it was cut", b.How, "", "tape", "knife")
	case checklist.Reading:
		return one("The answer", b.Answer, "", "from-memory", "not-measured")
	case checklist.FindingAnswer:
		return one("The answer", b.Answer, "accepted", "declined", "repaired", "redone")
	case checklist.Sign:
		return one("A signature", b.As, "installer", "owner", "driver")
	case checklist.Feature:
		return film(b, one)
	case checklist.FilmRoll:
		return film(b, one)
	case checklist.Heat:
		if text := one("What is under the film", b.Over, "", "plastic", "paint"); text != "" {
			return text
		}
		return one("The answer", b.Answer, "done", "part", "not-measured", "from-memory")
	case checklist.Paint:
		return one("How the paint was cured", b.Cure, "factory", "baked", "air-dried", "thick", "unknown")
	case checklist.Evidence:
		counts := b.What == "risen" || b.What == "trim-bags"
		switch {
		case counts && b.Of <= 0:
			return "Say of how many."
		case counts && b.Count > b.Of:
			return "That is more than there are. Check both numbers."
		}
	case checklist.Trial:
		return one("The paint", b.Paint, "sound", "chipped", "peeled")
	case checklist.Patch:
		return one("What was seen", b.Seen, "", "nothing", "bubbles", "paint-off")
	}
	return ""
}

// references to things that must be there: places, jobs, panels, spots,
// stages, causes.
func references(l checklist.Line, s *checklist.Shop, now checklist.Span) string {
	place := func(id checklist.ID) string {
		if _, ok := s.Place(id); !ok {
			return "This shop has no such place."
		}
		return ""
	}
	switch l.Log.Class {
	case checklist.PlaceLog:
		if text := place(l.Log.ID); text != "" {
			return text
		}
	case checklist.JobLog:
		j, ok := s.Job(l.Log.ID)
		b, opens := l.Body.(checklist.JobOpen)
		switch {
		case opens && ok:
			return "This job is begun already."
		case opens:
			return opening(b, place)
		case !ok:
			return "This phone does not carry this job."
		case j.Closed != "" && !afterwards(l, j):
			return "This job is over. Only what the call back shows can be added."
		}
		if text := inJob(l.Body, j, place); text != "" {
			return text
		}
		if b, ok := l.Body.(checklist.JobClose); ok {
			if text := leaving(b, j, s, now); text != "" {
				return text
			}
		}
		if b, ok := l.Body.(checklist.FindingAnswer); ok {
			if !slices.ContainsFunc(s.Findings(j.ID), func(f checklist.FindingState) bool {
				return f.ID == b.Finding && (b.Answer != "redone" || f.Walk == "edges")
			}) {
				return "This job has no such finding."
			}
		}
	}
	switch b := l.Body.(type) {
	case checklist.TimeAdopt:
		if old, ok := s.Line(l.Log, b.Line); !ok || checklist.TypedAt(old.Body) == 0 {
			return "That line has no typed time."
		}
	case checklist.AirShared:
		for _, id := range b.Places {
			if text := place(id); text != "" {
				return text
			}
		}
		if len(b.Places) < 2 {
			return "Air is shared by two places at least."
		}
	case checklist.PlaceEvent:
		return cause(b.Cause, true)
	}
	return ""
}

// afterwards says whether a line may still be written on a job that is over:
// notes, photos and tests for ever, the call back once it was handed over.
func afterwards(l checklist.Line, j checklist.JobFacts) bool {
	switch b := l.Body.(type) {
	case checklist.Note, checklist.Photo, checklist.Evidence:
		return true
	case checklist.Tick:
		return b.Stage == "call-back" && j.Closed == "handed-over"
	}
	return false
}

// leaving refuses to hand a vehicle over that its last gate still holds. The
// lead's go-ahead opens that gate; without film a vehicle may always leave.
func leaving(b checklist.JobClose, j checklist.JobFacts, s *checklist.Shop, now checklist.Span) string {
	if b.How != "handed-over" {
		return ""
	}
	for _, g := range s.Gates(j.ID, now) {
		if g.Stage == "hand-over" && g.State != checklist.Done && !g.Waived {
			return "It cannot leave yet. " + g.Reason
		}
	}
	return ""
}

func opening(b checklist.JobOpen, place func(checklist.ID) string) string {
	if _, ok := checklist.RouteOf(b.Route); !ok {
		return "There are no job steps called '" + b.Route + "'."
	}
	if b.Place != (checklist.ID{}) {
		if text := place(b.Place); text != "" {
			return text
		}
	}
	for i, p := range b.Panels {
		if slices.ContainsFunc(b.Panels[:i], func(q checklist.Panel) bool { return q.ID == p.ID }) {
			return "Two panels are called '" + p.ID + "'."
		}
	}
	for i, p := range b.Spots {
		if slices.ContainsFunc(b.Spots[:i], func(q checklist.Spot) bool { return q.ID == p.ID }) {
			return "Two spots have number " + p.ID + "."
		}
	}
	return ""
}

func inJob(b checklist.Body, j checklist.JobFacts, place func(checklist.ID) string) string {
	panel := func(id string) string {
		if id == "" || slices.ContainsFunc(j.Open.Panels, func(p checklist.Panel) bool { return p.ID == id }) {
			return ""
		}
		return "This job has no panel '" + id + "'."
	}
	zone := func(z string) string {
		if z == "" || slices.Contains(j.Zones, z) {
			return ""
		}
		return "This job has no zone '" + z + "'."
	}
	stage := func(key string) string {
		if len(j.Route.Stages) == 0 || slices.ContainsFunc(j.Route.Stages, func(st checklist.Stage) bool { return st.Key == key }) {
			return ""
		}
		return "This job has no step '" + key + "'."
	}
	first := func(texts ...string) string {
		for _, t := range texts {
			if t != "" {
				return t
			}
		}
		return ""
	}
	switch b := b.(type) {
	case checklist.JobMove:
		return place(b.Place)
	case checklist.Tick:
		return first(stage(b.Stage), panel(b.Panel), zone(b.Zone))
	case checklist.Waiver:
		return first(stage(b.Stage), panel(b.Panel), zone(b.Zone))
	case checklist.Reading:
		for _, v := range b.Values {
			if !slices.ContainsFunc(j.Open.Spots, func(sp checklist.Spot) bool { return sp.ID == v.Spot }) {
				return "This job has no spot '" + v.Spot + "'."
			}
		}
	case checklist.Setback:
		text := cause(b.Cause, false)
		for _, p := range b.Panels {
			text = first(text, panel(p))
		}
		for _, z := range b.Zones {
			text = first(text, zone(z))
		}
		return text
	case checklist.Evidence:
		return first(zone(b.Zone), panel(b.Panel))
	case checklist.Finding:
		return panel(b.Panel)
	case checklist.Photo:
		return panel(b.Panel)
	case checklist.FilmRoll:
		return each(b.Panels, panel)
	case checklist.Paint:
		return each(b.Panels, panel)
	case checklist.Feature:
		return first(panel(b.Panel), panel(b.Under))
	case checklist.Heat:
		return panel(b.Panel)
	case checklist.Trial:
		return panel(b.Panel)
	case checklist.Patch:
		return panel(b.Panel)
	}
	return ""
}

func each(list []string, judge func(string) string) string {
	for _, s := range list {
		if text := judge(s); text != "" {
			return text
		}
	}
	return ""
}

// cause must be a row of the setback table, written where that row says.
func cause(key string, inPlace bool) string {
	row, ok := checklist.SetbackOf(key)
	if !ok {
		return "There is no setback '" + key + "'."
	}
	if (row.Where == checklist.WherePlace) != inPlace {
		if inPlace {
			return row.Name + " happens to a vehicle, not to a place."
		}
		return row.Name + " happens to a place, not to one vehicle."
	}
	return ""
}

// strikes: own lines, or any for the lead; never a strike. On a shared phone a
// lead's own are those that were written on it.
func strikes(l checklist.Line, s *checklist.Shop, shared bool) string {
	if l.Kind == "strike" && len(l.Strikes) == 0 {
		return "This takes nothing back."
	}
	me, _ := s.Person(l.By)
	role := RoleOf(me.Role)
	on := role.On(shared)
	for _, id := range l.Strikes {
		old, ok := s.Line(l.Log, id)
		own := old.By == l.By && l.By != (checklist.ID{}) && (role == on || id.Writer == l.ID.Writer)
		switch {
		case !ok:
			return "The line to take back is not on this phone."
		case len(old.Strikes) > 0:
			return "This line takes another back. Write that one again instead."
		case old.Struck:
			return "This line is taken back already."
		case own || on == Lead || !shared && !Led(s):
		case role != on:
			return needsPIN
		default:
			return "Only who wrote it, or the lead, can take it back."
		}
	}
	return ""
}

// unitsAt is the shop's unit, and whether the line is about a bay's air.
func unitsAt(l checklist.Line, s *checklist.Shop) (units string, bay bool) {
	set, _ := s.Setting()
	if l.Log.Class == checklist.PlaceLog {
		p, _ := s.Place(l.Log.ID)
		bay = p.Sort == "bay"
	}
	return set.Units, bay
}

// questions are asked about what may well be true.
func questions(l checklist.Line, s *checklist.Shop, now checklist.Span) Refusal {
	units, bay := unitsAt(l, s)
	for _, m := range numbersOf(l.Body) {
		if text := m.mixedUp(units, bay); text != "" {
			return Refusal{text, true}
		}
	}
	if b, ok := l.Body.(checklist.StepsSet); ok {
		if out := b.Lacks(); len(out) > 0 {
			return Refusal{"These steps leave out: " + strings.Join(out, ", ") + ". Write them all the same?", true}
		}
	}
	if text := filmQuestion(l, s, now); text != "" {
		return Refusal{text, true}
	}
	switch b := l.Body.(type) {
	case checklist.Heat:
		if text := tooFast(b); text != "" {
			return Refusal{text, true}
		}
	case checklist.JobMove:
		if half := s.HalfLaid(l.Log.ID, now); len(half) > 0 {
			return Refusal{"Film is half laid on " + half[0] + ". Move it all the same?", true}
		}
	}
	if b, ok := l.Body.(checklist.JobOpen); ok {
		if b.Promise != 0 && b.Promise < now.Earliest {
			return Refusal{"The promised time is over already. Write it all the same?", true}
		}
		for _, id := range s.Jobs() {
			if j, ok := s.Job(id); ok && j.Closed == "" && j.Open.Label == b.Label {
				return Refusal{"A job " + b.Label + " is in hand already. Begin another?", true}
			}
		}
	}
	return Refusal{}
}

// tooFast asks about post-heat that a quick hand could not have done in the
// time, at 1.2 m a minute and 2 s a rivet for each gun (package heat; common
// practice, no source), or is "".
func tooFast(b checklist.Heat) string {
	if b.Took <= 0 || b.Took >= heat.LeastMs(b.Length/1000, b.Rivets, b.Guns) {
		return ""
	}
	what := decimal(b.Length/1000) + " m"
	if b.Length == 0 {
		what = ""
	}
	if b.Rivets > 0 {
		if what != "" {
			what += " and "
		}
		what += strconv.FormatInt(b.Rivets, 10) + " rivets"
	}
	guns := "one gun"
	if b.Guns > 1 {
		guns = strconv.FormatInt(b.Guns, 10) + " guns"
	}
	return what + " in " + strconv.FormatInt((b.Took+30_000)/60_000, 10) + " min with " + guns + ": part done?"
}
