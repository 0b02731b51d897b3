package checklist

import (
	"bayhold/checklist/film"
	"bayhold/checklist/paint"
	strains "bayhold/checklist/stretch"
)

// unfit says what a finding on a panel makes of its surface: film does not go
// on it until the owner has chosen. Repaired, the row holds no more; accepted,
// the film goes on at the owner's own risk; declined, the panel stays bare.
// Common practice, no source.
var unfit = []struct {
	what    string // of a Finding
	surface film.Surface
}{
	{"rust", film.Rust},
	{"peeling", film.Peeling},
	{"weeping", film.Weeping},
}

// filmed judges the film of a panel: whether its family suits the surface, and
// whether it stands what the panel's features do to it. Some other film, a
// panel that stays bare or a repair ends a refusal; at the owner's own risk it
// passes with two names under it, the owner's signature 'film-risk' and the
// lead's go-ahead.
func (v *view) filmed(p *Panel, g *Gate, r *result) []cause {
	f := v.filmOf(p)
	out := v.shapeOf(p).lacks
	if c, fresh := v.freshPaint(p); fresh {
		out = append(out[:len(out):len(out)], c)
	}
	if len(out) > 0 {
		return out
	}
	r.done = f.src.act
	g.State, g.Reason = Done, say(sayFilmIs, f.name())
	if f.Batch == "" {
		g.Reason = say(sayNoBatch, f.name())
	}
	return nil
}

// name is what the film is called: by its sheet, or else by its family.
func (f *roll) name() string {
	if f.Sheet != "" {
		return f.Sheet
	}
	if k, ok := familyOf(f.Family); ok {
		return film.FamilyNames[k]
	}
	return f.Family
}

// filmLacks returns what the film of a panel lacks for its surface and shape.
func (v *view) filmLacks(p *Panel, f *roll, s *shape) []cause {
	if f == nil {
		return []cause{{key: "no-film", panel: p.ID, again: true, reason: say(sayNoFilm, p.Name), wayOut: say(sayTypeFilm)}}
	}
	since := f.src.act.Earliest
	family, ok := familyOf(f.Family)
	if !ok {
		return []cause{{key: "film-unknown", panel: p.ID, again: true, since: since, reason: say(sayNoFamily, f.Family), wayOut: say(sayTypeFilm)}}
	}
	job := f.job()
	job.FreshPaint = v.repainted(p)
	if job.Adhesive == film.Removable && f.Months == 0 {
		return []cause{{key: "no-stay", panel: p.ID, again: true, since: since, reason: say(sayNoStay), wayOut: say(sayTypeMonths)}}
	}
	var out []cause
	hold := func(key string, reason, wayOut string) {
		out = append(out, cause{key: key, panel: p.ID, state: Held, since: since, reason: reason, wayOut: wayOut})
	}
	choice, low := v.rated(p, family, job, s)
	if choice.Rating == film.Refused {
		hold("film-refused", say(sayRefused, upper(choice.Why)), say(sayOwnersChoice))
		out[0].later = say(sayRefusedOn, p.Name)
	}
	for i := range s.features {
		m := &s.features[i]
		if !m.known || m.advice.Verdict <= strains.Limit {
			continue
		}
		switch {
		case m.Plan == "bare":
		case m.advice.Verdict == strains.Refuse:
			hold("over-stop", say(sayNotThisFilm, upper(m.called()), percent(m.advice.Strain.Line)), say(sayOwnersChoice))
		case m.Plan != "relief-cut" && m.Plan != "inlay":
			hold("over-stop", say(sayOverStop, upper(m.called()), percent(m.advice.Strain.Line)), say(sayPlanIt))
		}
	}
	if len(out) > 0 && !v.riskSigned(f) {
		hold("film-risk", say(saySignature, "owner"), say(sayOwnersChoice))
	}
	if low && !v.stripHeld(p) {
		hold("test-strip", say(sayTestStrip, p.Name), say(sayStripHow))
	}
	return out
}

func familyOf(key string) (film.Family, bool) {
	for i, k := range film.FamilyKeys {
		if k == key {
			return film.Family(i), true
		}
	}
	return 0, false
}

// job is what package film asks of a roll. A stay that nobody named is taken
// as neither short nor long.
func (f *roll) job() film.Job {
	j := film.Job{StayMonths: 12, ThicknessUM: float64(f.Thickness)}
	if f.Months > 0 {
		j.StayMonths = float64(f.Months)
	}
	for i, k := range film.AdhesiveKeys {
		if k == f.Adhesive {
			j.Adhesive = film.Adhesive(i)
		}
	}
	for i, k := range film.LaminateKeys {
		if k == f.Laminate {
			j.Laminate = film.Laminate(i)
		}
	}
	return j
}

// rated returns the worst rating that the film has on any surface of the
// panel, and whether one of them is a low-energy surface.
func (v *view) rated(p *Panel, family film.Family, job film.Job, s *shape) (worst film.Choice, low bool) {
	rated := false
	on := func(k film.Surface) {
		job.Surface = k
		low = low || k == film.LowEnergy
		if c := film.Rate(family, job); !rated || c.Rating > worst.Rating {
			worst, rated = c, true
		}
	}
	for i := range s.features {
		switch m := &s.features[i]; {
		case m.Sort == "rivets":
			on(film.Rivets)
		case m.Sort == "gap" && m.Moving && m.Laid == "bridged":
			on(film.MovingSeam)
		case m.Sort == "surface":
			for k, key := range film.SurfaceKeys {
				if key == m.Shape {
					on(film.Surface(k))
				}
			}
		}
	}
	for _, e := range v.job.findings {
		b := e.Body.(Finding)
		for i := range unfit {
			if a := answerOf(v.job, e); b.Panel == p.ID && b.What == unfit[i].what && a != "repaired" && a != "accepted" {
				on(unfit[i].surface)
			}
		}
	}
	switch {
	case p.Contour || s.compound():
		on(film.Compound)
	case !rated:
		on(film.Flat)
	}
	return worst, low
}

// compound says whether the film must be shaped with heat somewhere. A shallow
// line that it takes as it is does not make a flat panel a contour.
func (s *shape) compound() bool {
	for i := range s.features {
		if m := &s.features[i]; (m.Sort == "dome" || m.Sort == "channel") && m.known && m.advice.Verdict > strains.LayLook {
			return true
		}
	}
	return false
}

// riskSigned says whether the owner has signed for this film since it was
// chosen.
func (v *view) riskSigned(f *roll) bool {
	for _, e := range v.job.signs {
		if b := e.Body.(Sign); b.What == "film-risk" && b.As == "owner" && wroteBefore(f.src, e) {
			return true
		}
	}
	return false
}

// stripHeld says whether a test strip on the panel held for its day.
func (v *view) stripHeld(p *Panel) bool {
	for i := len(v.job.evidence) - 1; i >= 0; i-- {
		if b := v.job.evidence[i].Body.(Evidence); b.What == "test-strip" && b.Panel == p.ID {
			return b.Passed
		}
	}
	return false
}

// paintOf returns the newest line on the paint of a panel.
func (v *view) paintOf(p *Panel) *entry {
	for i := len(v.job.paints) - 1; i >= 0; i-- {
		if b := v.job.paints[i].Body.(Paint); len(b.Panels) == 0 || has(b.Panels, p.ID) {
			return v.job.paints[i]
		}
	}
	return nil
}

// repainted says whether anybody wrote that a panel's paint is not the
// factory's.
func (v *view) repainted(p *Panel) bool {
	e := v.paintOf(p)
	return e != nil && e.Body.(Paint).Cure != "factory"
}

// freshPaint holds film over new paint on a route that has no step for it. The
// days are those of the calendar, so they are the least that it can be.
func (v *view) freshPaint(p *Panel) (cause, bool) {
	if !v.repainted(p) {
		return cause{}, false
	}
	for i := range v.route.Stages {
		if v.route.Stages[i].Proof == ByPaint && v.route.Stages[i].Only == Every {
			return cause{}, false
		}
	}
	e := v.paintOf(p)
	b := e.Body.(Paint)
	cure, _ := paint.CureOf(b.Cure)
	const day = 24 * hour
	need, stood := int64(cure.WaitDays), int64(0)
	if b.Painted != 0 {
		stood = (v.now.Earliest - b.Painted) / day
	}
	if stood >= need && !cure.Patch {
		return cause{}, false
	}
	if v.patchClean(p) {
		return cause{}, false
	}
	return cause{key: "fresh-paint", panel: p.ID, state: Held, since: e.act.Earliest,
		reason: say(sayFreshPaint, digits(max(0, stood)), digits(need), p.Name), wayOut: say(sayFreshOut)}, true
}

// patchClean says whether the last patch test on a panel that was looked at
// showed nothing, at 20 C or warmer.
func (v *view) patchClean(p *Panel) bool {
	for i := len(v.job.patches) - 1; i >= 0; i-- {
		if b := v.job.patches[i].Body.(Patch); (b.Panel == "" || b.Panel == p.ID) && b.To != 0 {
			return b.Seen == "nothing" && b.From != 0 && b.To-b.From >= 24*hour && b.Coldest >= paint.WholeMilliC
		}
	}
	return false
}

// printed says whether any film of the job is printed in the shop, so that it
// has to gas out before it is laminated.
func (v *view) printed() bool {
	for _, e := range v.job.films {
		if e.Body.(FilmRoll).Printed {
			return true
		}
	}
	return false
}
