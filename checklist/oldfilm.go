package checklist

import (
	"strings"

	"bayhold/checklist/removal"
)

// Words that are looked for in a trial strip's place.
const (
	sunny      = "sunny"
	repairedAt = "repaired"
)

// tried judges the trial strips of old film: enough of them, in different
// places, one on a sunny edge and one on every panel that was repaired.
func (v *view) tried(st *Stage, g *Gate, r *result) []cause {
	if len(v.job.trials) == 0 {
		return first(st)
	}
	var places []string
	var peeled *entry
	sun, on := false, false
	for _, e := range v.job.trials {
		b := e.Body.(Trial)
		if b.Paint == "peeled" {
			peeled = e
		}
		if !b.Plausible() || has(places, b.Place+b.Panel) {
			continue
		}
		places = append(places, b.Place+b.Panel)
		sun = sun || strings.Contains(b.Place, sunny)
		on = on || strings.Contains(b.Place, repairedAt)
		r.done = Span{max(r.done.Earliest, e.act.Earliest), max(r.done.Latest, e.act.Latest)}
	}
	n, need := int64(len(places)), v.limits.trialStrips
	short := cause{key: "trials-few", again: true, reason: say(sayTrialsShort, digits(n), digits(need)), later: say(sayFirst, st.Name), laterOut: say(sayDoFirst, st.Name)}
	switch {
	case n < need:
		return []cause{short}
	case !sun:
		short.key, short.reason = "trial-sun", say(sayTrialSun)
		return []cause{short}
	}
	short.key, short.reason = "trial-repaint", ""
	for i := range v.open.Panels {
		if p := &v.open.Panels[i]; v.pinned(p.ID, "repaint", "") != nil && v.strip(p.ID, false) == nil {
			short.reason = say(sayTrialRepaint, p.Name)
		}
	}
	if strings.HasPrefix(v.answerTo("paint-history"), "yes") && !on && v.pinned("", "repaint", "") == nil {
		short.reason = say(sayTrialWhich)
	}
	if short.reason != "" {
		return []cause{short}
	}
	g.State, g.Reason = Done, say(sayDoneAt, st.Name, markTime(r.done.Latest))
	if peeled != nil {
		g.Reason = say(sayPeeled, peeled.Body.(Trial).Place)
	}
	return nil
}

// Plausible says whether a strip was measured so that it tells anything.
func (b *Trial) Plausible() bool {
	return b.Took > 0 && b.Area > 0 && b.Angle >= 0 && b.Angle <= 180 && b.Residue >= 0 && b.Residue <= 100_000 && b.Speed >= 0
}

// strip returns the last trial strip on a panel ("": on any) that tells
// anything, or with peeled the last that took paint along there or where nobody
// said; nil if there is none.
func (v *view) strip(panel string, peeled bool) *entry {
	for i := len(v.job.trials) - 1; i >= 0; i-- {
		e := v.job.trials[i]
		b := e.Body.(Trial)
		if panel != "" && b.Panel != panel && !(peeled && b.Panel == "") {
			continue
		}
		if peeled && b.Paint == "peeled" || !peeled && b.Plausible() {
			return e
		}
	}
	return nil
}

// answerTo returns the last answer to a question, "" if nobody asked.
func (v *view) answerTo(key string) string {
	for i := len(v.job.asked) - 1; i >= 0; i-- {
		if b := v.job.asked[i].Body.(Asked); b.What == key && b.Answer != "" {
			return b.Answer
		}
	}
	return ""
}

// leftOn says whether the owner leaves the old film on a panel: he said no to
// what was found there before anybody pulled.
func (v *view) leftOn(panel string) bool {
	e := v.pinned(panel, "", "declined")
	if e == nil {
		return false
	}
	walk := e.Body.(Finding).Walk
	return walk == "trial" || walk == "check-in"
}

// old judges a step on the film that was there before: ticked by a hand, or
// closed by the test of What where the row has one. What was not begun yet must
// be warm enough, and where a strip took paint along the lead must say go.
func (v *view) old(st *Stage, p *Panel, g *Gate, r *result) []cause {
	if v.leftOn(p.ID) {
		g.State, g.Reason = Done, say(sayOldStays)
		return nil
	}
	out := v.ticked(st, p, p.Zone, g, r)
	if st.What != "" {
		out = v.rubbed(st, p, out, g, r)
	}
	if st.Warm == "" || len(out) == 0 || out[0].key == st.Key+"-begun" {
		return out
	}
	if e := v.strip(p.ID, true); e != nil {
		out = append([]cause{{key: "trial-peeled", panel: p.ID, since: e.act.Earliest, state: Held,
			reason: say(sayPeeled, e.Body.(Trial).Place), wayOut: say(sayPeeledOut)}}, out...)
	}
	return append(v.coldToPull(st, p), out...)
}

// evidenceOn returns the last test of a kind on a panel or on all.
func (v *view) evidenceOn(what, panel string) *entry {
	for i := len(v.job.evidence) - 1; i >= 0; i-- {
		e := v.job.evidence[i]
		if b := e.Body.(Evidence); b.What == what && (b.Panel == panel || b.Panel == "") {
			return e
		}
	}
	return nil
}

// rubbed puts a test beside the tick: passed it closes the step as well, failed
// after it the step is to be done again.
func (v *view) rubbed(st *Stage, p *Panel, out []cause, g *Gate, r *result) []cause {
	e := v.evidenceOn(st.What, p.ID)
	switch {
	case e == nil:
		return out
	case !e.Body.(Evidence).Passed && (len(out) > 0 || e.act.Latest >= r.done.Earliest):
		return []cause{{key: st.What + "-failed", panel: p.ID, again: true, since: e.act.Earliest,
			reason: say(sayGrabs, p.Name), later: say(sayGrabs, p.Name), laterOut: say(sayDoFirst, st.Name)}}
	case len(out) > 0 && e.Body.(Evidence).Passed:
		g.State, g.Reason, r.done = Done, say(sayTestPassed, st.Name, markTime(e.act.Latest)), e.act
		return nil
	}
	return out
}

// coldToPull holds a panel whose zone is too cold to pull on: cold metal drinks
// the heat, and film snaps. Film that comes off without heat needs more.
func (v *view) coldToPull(st *Stage, p *Panel) []cause {
	floor := v.limits.rule(st.Warm)
	if m, ok := v.method(p.ID); ok && m.NoHeat {
		floor = v.limits.pullNoHeat
	}
	cold, hold := v.coldestFresh(p.Zone)
	if hold != nil {
		return hold
	}
	last, name := cold.last(), spotName(&v.open, cold.spot)
	low := int64(last.value) - v.errorOf(last.e)
	if low >= floor {
		return nil
	}
	return []cause{{key: "cold", short: floor - low, state: Held, ask: cold.spot,
		reason: say(sayCold, name, markTemp(int64(last.value)), markTemp(floor)), wayOut: say(sayPullWarm),
		condition: say(sayColdThen, name, markTemp(floor+int64(last.value)-low))}}
}

// method is the row of package removal for a panel's old film.
func (v *view) method(panel string) (*removal.Method, bool) {
	e := v.strip(panel, false)
	sun := e != nil && strings.Contains(e.Body.(Trial).Place, sunny)
	return removal.MethodOf(v.answerTo("film-kind"), yearsOf(v.answerTo("film-age")), sun, v.pinned(panel, "repaint", "") != nil)
}

// yearsOf is the upper end of an answer to 'how old is the film', 0 if nobody
// knows.
func yearsOf(answer string) int {
	for i := range Questions {
		if Questions[i].Key != "film-age" {
			continue
		}
		for k, c := range Questions[i].Choices {
			if c == answer {
				return [...]int{1, 3, 5, 7, 10}[k]
			}
		}
	}
	return 0
}

// PanelRemoval is how the old film of a panel comes off.
type PanelRemoval struct {
	Panel  string
	Method *removal.Method // nil where nobody knows the film: repeat what worked
	Area   int64           // square millimetres, 0 if nobody measured
	Peeled bool            // paint came off at a trial strip there
	Left   bool            // the owner leaves the old film on
}

// RemovalFacts is what the trial strips say of a removal: an estimate, shown as
// one.
type RemovalFacts struct {
	Panels      []PanelRemoval
	Best        *Trial // the strip that worked best: sound paint, least adhesive left; nil without one
	Strips      int    // that tell anything
	Unmeasured  int    // panels whose area nobody measured: Low and High leave them out
	Low, High   int64  // hand time, ms, at the quickest and the slowest strip
	Per, PerTo  int64  // and of a square metre
	Residue, To int64  // adhesive left, m%
	Peeled      bool
}

// Removal estimates a removal from its trial strips: the method of each panel,
// hand hours with their range, and the adhesive that stays.
func (s *Shop) Removal(id ID, now Span) (RemovalFacts, bool) {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil {
		return RemovalFacts{}, false
	}
	f := RemovalFacts{Peeled: v.strip("", true) != nil}
	var strips []removal.Strip
	for _, e := range v.job.trials {
		b := e.Body.(Trial)
		if !b.Plausible() {
			continue
		}
		strips = append(strips, removal.Strip{TookMs: b.Took, AreaMM2: b.Area})
		if f.To = max(f.To, b.Residue); len(strips) == 1 || b.Residue < f.Residue {
			f.Residue = b.Residue
		}
		if b.Paint == "sound" && (f.Best == nil || b.Residue < f.Best.Residue) {
			f.Best = &b
		}
	}
	f.Strips = len(strips)
	f.Per, f.PerTo = removal.Hours(removal.M2, strips)
	for i := range v.open.Panels {
		p := &v.open.Panels[i]
		x := PanelRemoval{Panel: p.ID, Area: p.Area, Left: v.leftOn(p.ID)}
		x.Method, _ = v.method(p.ID)
		for _, e := range v.job.trials {
			b := e.Body.(Trial)
			x.Peeled = x.Peeled || b.Panel == p.ID && b.Paint == "peeled"
		}
		f.Panels = append(f.Panels, x)
		switch {
		case x.Left:
		case p.Area == 0:
			f.Unmeasured++
		default:
			low, high := removal.Hours(p.Area, v.stripsOn(p.ID, strips))
			f.Low, f.High = f.Low+low, f.High+high
		}
	}
	return f, true
}

// stripsOn are the strips of a panel, or all where it has none of its own.
func (v *view) stripsOn(panel string, all []removal.Strip) []removal.Strip {
	var own []removal.Strip
	for _, e := range v.job.trials {
		if b := e.Body.(Trial); b.Panel == panel && b.Plausible() {
			own = append(own, removal.Strip{TookMs: b.Took, AreaMM2: b.Area})
		}
	}
	if len(own) == 0 {
		return all
	}
	return own
}
