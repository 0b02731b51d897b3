package record

import (
	"slices"
	"strings"

	"bayhold/checklist"
)

// late is how long after its act a line was written, or how wide its interval
// is, so that the first page says so. Common practice, no source.
const late = 30 * minute

// atOnce is how many steps one hand ticks within one minute so that the first
// page says so: a record that was filled in at the end is worth little. Common
// practice, no source.
const atOnce = 8

// front is the first page: what vehicle, when, who, until when the film is to
// stay, and what is against the shop.
func (w *writer) front() Section {
	o := &w.open
	facts := Facts{
		{w.say(sayVehicleName), o.Vehicle}, {w.say(sayPlate), w.orMissing(o.Plate)}, {w.say(sayVIN), w.orMissing(o.VIN)}, {w.say(sayFleet), o.Fleet},
		{w.say(sayCustomer), o.Customer}, {w.say(sayRoute), w.word("route", o.Route)}, {w.say(sayShop), w.shopName},
		{w.say(sayCheckedIn), w.full(w.job.Opened.Latest)}, {w.say(sayPromised), w.full(o.Promise)}, {w.say(sayHandedOver), w.handedOver()},
		{w.say(sayProof), w.orMissing(o.Proof)}, {w.say(sayGuarantee), w.guarantee()}, {w.say(sayPeople), w.people()},
	}
	facts = slices.DeleteFunc(facts, func(f Fact) bool { return f.Value == "" })
	return w.section("front", sayFront,
		facts,
		Sub(w.say(sayWaivers)), w.waivers(),
		Sub(w.say(sayLateLines)), w.orSay(w.lateLines(), sayNoLateLines),
		Sub(w.say(sayNotMeasured)), w.orSay(w.notMeasured(), sayAllMeasured),
		Say(w.say(sayHowToRead)))
}

func (w *writer) orMissing(s string) string {
	if s == "" {
		return w.say(sayNotWritten)
	}
	return s
}

func (w *writer) orSay(p Points, none text) Block {
	if len(p) == 0 {
		return Say(w.say(none))
	}
	return p
}

func (w *writer) handedOver() string {
	switch w.job.Closed {
	case "":
		return w.say(sayStillOpen)
	case "no-film":
		return w.say(sayEndedBare, w.full(w.job.ClosedAt.Latest))
	}
	s := w.full(w.job.ClosedAt.Latest)
	if w.shop.ReleasedEarly(w.Job) {
		s = w.say(sayReleasedEarly, s)
	}
	return s
}

// guarantee says until when each film is to stay, as it was agreed.
func (w *writer) guarantee() string {
	var out []string
	for _, f := range w.shop.Films(w.Job) {
		if f.Months == 0 || w.job.ClosedAt.Latest == 0 {
			continue
		}
		from := w.local(w.job.ClosedAt.Latest)
		s := w.say(sayStay, w.date(from.AddDate(0, int(f.Months), 0).UnixMilli()), number(f.Months), w.panels(f.Panels))
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	if len(out) == 0 {
		return w.say(sayNotWritten)
	}
	return strings.Join(out, "; ")
}

func (w *writer) panels(ids []string) string {
	if len(ids) == 0 {
		return w.say(sayEveryPanel)
	}
	names := make([]string, len(ids))
	for i, id := range ids {
		names[i] = w.panel(id)
	}
	return strings.Join(names, ", ")
}

// people are all who wrote a standing line, with what they do.
func (w *writer) people() string {
	var ids []checklist.ID
	var names []string
	for i := range w.standing {
		by := w.standing[i].By
		if by == (checklist.ID{}) || slices.Contains(ids, by) {
			continue
		}
		ids = append(ids, by)
		name := w.who(by)
		if p, ok := w.shop.Person(by); ok {
			name += " (" + w.word("role", p.Role) + ")"
		}
		names = append(names, name)
	}
	return strings.Join(names, ", ")
}

func (w *writer) waivers() Block {
	given := w.shop.Waivers(w.Job)
	if len(given) == 0 {
		return Say(w.say(sayNoWaivers))
	}
	t := Table{Head: w.heads(headStep, headWhere, headSentence, headCovers, headWho, headWhen)}
	for _, g := range given {
		where := g.Zone
		if g.Panel != "" || where == "" {
			where = w.panel(g.Panel)
		}
		t.Rows = append(t.Rows, []string{w.stage(g.Stage), where, g.Sentence, strings.Join(g.Causes, ", "), w.who(g.By), w.span(g.At)})
	}
	return t
}

// lateLines are those whose moment is not what the clock says.
func (w *writer) lateLines() (out Points) {
	var ticks []*checklist.Line
	for i := range w.standing {
		l := &w.standing[i]
		at := checklist.TypedAt(l.Body)
		wide := l.Span.Latest-l.Span.Earliest > late
		switch {
		case at != 0 && l.Span.Latest-at > late:
			t := sayWrittenLate
			if old, _ := w.shop.Line(l.Log, l.ID); old.Adopted {
				t = sayLateAdopted
			}
			out = append(out, w.say(t, w.about(l), w.clock(at), length(l.Span.Earliest-at), w.who(l.By)))
		case wide:
			out = append(out, w.say(sayWideSpan, w.about(l), w.clock(l.Span.Earliest), w.clock(l.Span.Latest), w.who(l.By)))
		}
		if t, ok := l.Body.(checklist.Tick); ok {
			if t.Answer == "from-memory" {
				out = append(out, w.say(sayFromMemory, w.about(l), w.when(l), w.who(l.By)))
			}
			ticks = append(ticks, l)
		}
	}
	// Many different steps of one hand in the same minute.
	for i := 0; i < len(ticks); {
		stages := map[string]bool{}
		k := i
		for ; k < len(ticks) && ticks[k].By == ticks[i].By && ticks[k].Span.Latest-ticks[i].Span.Latest < minute; k++ {
			t := ticks[k].Body.(checklist.Tick)
			stages[t.Stage] = true
		}
		if len(stages) >= atOnce {
			out = append(out, w.say(sayAtOnce, number(int64(len(stages))), w.clock(ticks[i].Span.Latest), w.who(ticks[i].By)))
		}
		i = max(k, i+1)
	}
	return out
}

// about says in a few words what a line is.
func (w *writer) about(l *checklist.Line) string {
	on := func(s, panel string) string {
		if panel == "" {
			return s
		}
		return s + ", " + w.panel(panel)
	}
	switch b := l.Body.(type) {
	case checklist.Tick:
		s := on(w.stage(b.Stage), b.Panel)
		if b.Answer == "started" {
			s = w.say(sayBegun, s)
		}
		return s
	case checklist.Reading:
		var s []string
		for _, v := range b.Values {
			s = append(s, w.spot(v.Spot)+" "+w.temp(int64(v.Surface)))
		}
		return w.word("kind", "reading") + " " + strings.Join(s, ", ")
	case checklist.Evidence:
		return on(w.word("evidence", b.What), b.Panel)
	case checklist.Heat:
		return on(w.stage("post-heat"), b.Panel)
	case checklist.Setback:
		return w.word("cause", b.Cause)
	case checklist.Sign:
		return w.say(saySignature, w.paper(b.What), b.Name)
	case checklist.Finding:
		return on(w.word("finding", b.What), b.Panel)
	case checklist.Photo:
		return on(w.word("kind", "photo")+" "+b.Name, b.Panel)
	case checklist.Feature:
		return on(b.Name, b.Panel)
	case checklist.FilmRoll:
		return w.word("kind", "film") + " " + b.Batch
	case checklist.JobMove:
		return w.word("kind", "job.move") + " " + w.place(b.Place)
	case checklist.Note:
		return w.word("kind", "note") + " " + b.Text
	}
	return w.word("kind", l.Kind)
}

// paper is what a signature stands under: a step of that name, or a paper.
func (w *writer) paper(what string) string {
	if s := w.word("paper", what); s != what {
		return s
	}
	return w.stage(what)
}

// notMeasured is what nobody measured, answered or reported, for all to see
// before anything else.
func (w *writer) notMeasured() (out Points) {
	add := func(t text, args ...string) { out = append(out, w.say(t, args...)) }
	each(w, func(l *checklist.Line, b checklist.Reading) {
		switch b.Answer {
		case "not-measured":
			add(sayReadingSkipped, w.when(l), w.who(l.By))
		case "from-memory":
			add(sayReadingMemory, w.when(l), w.who(l.By))
		}
	})
	each(w, func(l *checklist.Line, b checklist.Heat) {
		switch {
		case b.Answer == "not-measured" || len(b.Films) == 0:
			add(sayHeatSkipped, w.panel(b.Panel), w.when(l), w.who(l.By))
		case b.Answer == "from-memory":
			add(sayHeatMemory, w.panel(b.Panel), w.when(l), w.who(l.By))
		}
	})
	each(w, func(l *checklist.Line, b checklist.Asked) {
		if b.Answer == "unknown" {
			add(sayAnswerUnknown, w.word("question", b.What), w.when(l))
		}
	})
	// Steps that are not done, the panels of one step in one sentence.
	var steps []string
	on := map[string][]string{}
	for i := range w.gates {
		g := &w.gates[i]
		if g.State == checklist.Done || g.Panel != "" && w.bare(g.Panel) || g.Stage == "call-back" || g.Stage == "hand-over" && w.job.Closed == "" {
			continue
		}
		if on[g.Stage] == nil {
			steps = append(steps, g.Stage)
		}
		where := g.Zone
		if g.Panel != "" || where == "" {
			where = w.panel(g.Panel)
		}
		on[g.Stage] = append(on[g.Stage], where)
	}
	for _, s := range steps {
		add(sayStepOpen, w.stage(s), strings.Join(on[s], ", "))
	}
	var refused, unfit, bare, unread, batchless, unphotographed, unmeasured, unheated []string
	for i := range w.open.Panels {
		p := &w.open.Panels[i]
		if w.bare(p.ID) {
			refused = append(refused, p.Name)
			continue
		}
		at := w.workOn(p.ID)
		if at.laid == nil {
			bare = append(bare, p.Name)
			continue
		}
		if f, ok := w.shop.PanelFacts(w.Job, p.ID, w.Now); ok {
			if f.Rating == "refused" {
				unfit = append(unfit, p.Name)
			}
			for k := range f.Features {
				if x := &f.Features[k]; !x.Planned {
					add(sayUnplanned, p.Name, x.Name, x.Bridged, w.word("verdict", x.Verdict))
				}
			}
			if f.Film.Family != "" && f.Film.Batch == "" {
				batchless = append(batchless, p.Name)
			}
			if p.Contour && len(f.Features) == 0 {
				unmeasured = append(unmeasured, p.Name)
			}
			if (f.Stretched || p.Contour) && len(at.heats) == 0 {
				unheated = append(unheated, p.Name)
			}
		}
		if at.read == nil || act(at.began)-at.read.at > hour {
			unread = append(unread, p.Name)
		}
		if !at.photo {
			unphotographed = append(unphotographed, p.Name)
		}
	}
	for _, lack := range []struct {
		say text
		on  []string
	}{{sayBareByOwner, refused}, {sayFilmRefused, unfit}, {sayNoFilmOn, bare}, {sayNoBatchOn, batchless}, {sayNoMeasureOn, unmeasured}, {sayNoReadingOn, unread}, {sayNoHeatOn, unheated}, {sayNoPhotoOn, unphotographed}} {
		if len(lack.on) > 0 {
			add(lack.say, strings.Join(lack.on, ", "))
		}
	}
	out = append(out, w.airGaps()...)
	if !w.signed("hand-over", "driver") && w.job.Closed == "handed-over" {
		add(sayNoDriver)
	}
	if !w.has("finding", "sign") {
		add(sayNoWalk)
	}
	return out
}

// signed says whether somebody signed a paper.
func (w *writer) signed(what, as string) (yes bool) {
	each(w, func(_ *checklist.Line, b checklist.Sign) { yes = yes || b.What == what && b.As == as })
	return yes
}

// has says whether a line of any of these kinds stands.
func (w *writer) has(kinds ...string) bool {
	return slices.ContainsFunc(w.standing, func(l checklist.Line) bool { return slices.Contains(kinds, l.Kind) })
}

func (w *writer) heads(of ...text) []string {
	out := make([]string, len(of))
	for i, t := range of {
		out[i] = w.say(t)
	}
	return out
}
