package checklist

import (
	"bayhold/checklist/film"
	strains "bayhold/checklist/stretch"
)

// Films returns every film that stands for a job, as it was written.
func (s *Shop) Films(id ID) []FilmRoll {
	var out []FilmRoll
	if j := s.jobs[id]; j != nil {
		for _, e := range j.films {
			out = append(out, e.Body.(FilmRoll))
		}
	}
	return out
}

// FeatureFacts is a feature of a panel with what it does to the film.
type FeatureFacts struct {
	ID LineID
	Feature
	By       ID
	At       Span
	Known    bool   // measured, by numbers that can be
	Bridged  string // stretch if the film sticks at both lips: "16 %"
	Floor    string // laid floor first: how much film comes in from the flats
	Verdict  string // what to do with it, "" while no film is known
	PostHeat bool
	Look     bool   // look next day
	Primer   string // where primer helps, "" nowhere
	Shift    bool   // a shift of colour or print will show
	Near     bool   // so near a limit that a millimetre matters: measure again
	Planned  bool   // it needs no plan, or has one
}

// PanelFacts is what is known of a panel's film and of what it has to follow.
type PanelFacts struct {
	Panel
	Film      FilmRoll // empty family: none yet
	Rating    string   // "first choice", "acceptable" or "refused", "" without a film
	Why       string   // what decided the rating
	Risk      bool     // the owner signed for this film at his own risk
	Features  []FeatureFacts
	Stretched bool // is heated and looked at like a contour
	// The surface on which it may be laid, and where these numbers are from if
	// not from the shop's own rule.
	Floor, Ceiling         int64
	FloorFrom, CeilingFrom string
}

// PanelFacts returns the film side of a panel; ok is false if there is no such
// panel.
func (s *Shop) PanelFacts(id ID, panel string, now Span) (PanelFacts, bool) {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil {
		return PanelFacts{}, false
	}
	p := v.panel(panel)
	if p == nil {
		return PanelFacts{}, false
	}
	sh, f := v.shapeOf(p), v.filmOf(p)
	out := PanelFacts{Panel: *p, Stretched: sh.stretched || p.Contour}
	floor, ceiling := v.surfaceOn(v.place(p))
	out.Floor, out.FloorFrom, out.Ceiling, out.CeilingFrom = floor.value, floor.origin, ceiling.value, ceiling.origin
	if f != nil {
		out.Film, out.Risk = f.FilmRoll, v.riskSigned(f)
		if family, ok := familyOf(f.Family); ok {
			job := f.job()
			job.FreshPaint = v.repainted(p)
			c, _ := v.rated(p, family, job, sh)
			out.Rating, out.Why = film.RatingNames[c.Rating], c.Why
		}
	}
	for i := range sh.features {
		out.Features = append(out.Features, sh.features[i].facts())
	}
	return out, true
}

func (m *measure) facts() FeatureFacts {
	a := &m.advice
	f := FeatureFacts{ID: m.src.ID, Feature: m.Feature, By: m.src.By, At: m.src.act, Known: m.known, Planned: true, PostHeat: m.Sort == "rivets"}
	if !m.known || a.Strain.Path == 0 {
		return f
	}
	f.Bridged = percent(a.Strain.Line)
	if !a.Strain.Dome {
		f.Floor = tenths(int64(a.Strain.Drawn*1000+0.5), 1000) + " mm"
	}
	if !m.advised {
		return f
	}
	f.Verdict = strains.VerdictNames[a.Verdict]
	f.PostHeat = f.PostHeat || a.PostHeat
	f.Look, f.Shift, f.Near = a.Look, a.Shift, a.Near
	if a.Primer != strains.NoPrimer {
		f.Primer = strains.PrimerNames[a.Primer]
	}
	f.Planned = a.Verdict <= strains.Limit || m.Plan == "bare" || a.Verdict != strains.Refuse && (m.Plan == "inlay" || m.Plan == "relief-cut")
	return f
}
