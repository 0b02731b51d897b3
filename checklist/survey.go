package checklist

import (
	"bayhold/checklist/film"
	strains "bayhold/checklist/stretch"
)

// filming is what the lines say of the film of a job and of what it has to
// follow. It hangs on no clock, so it is worked out once and kept until a line
// says otherwise.
type filming struct {
	version uint64    // of the job's lines on which it rests
	limits  *limits   // of the shop, on which it rests too
	films   []*roll   // by panel, nil while none is known
	shapes  []shape   // by panel
	numbers []*limits // by panel
	sheet   bool      // some film has numbers of its own
}

// roll is a film with the line that brought it.
type roll struct {
	FilmRoll
	src *entry
}

// shape is what the film of a panel has to follow.
type shape struct {
	features []measure
	// stretched says that somewhere the film is stretched for more than it
	// takes freely, or lies over rivets: it settles, is heated and looked at
	// like a contour, whatever the panel was called.
	stretched bool
	lacks     []cause // what its film lacks
	refused   bool    // its film does not do there
	instead   *entry  // the film that was typed in place of a refused one
}

// measure is a feature with what it does to the film of its panel.
type measure struct {
	Feature
	src     *entry
	known   bool // measured, and by numbers that can be
	advice  strains.Advice
	advised bool // there is a film to judge by
}

// worked returns what is known of the film, of this moment's lines.
func (v *view) worked() *filming {
	b := v.job.filming
	if b != nil && b.version == v.job.benched && b.limits == v.limits {
		return b
	}
	b = &filming{version: v.job.benched, limits: v.limits, films: v.filmsOf(), shapes: make([]shape, len(v.open.Panels))}
	for i := range b.shapes {
		p, s := &v.open.Panels[i], &b.shapes[i]
		for _, e := range v.featuresOf(p.ID) {
			m := measured(e, b.films[i])
			s.features = append(s.features, m)
			s.stretched = s.stretched || m.Sort == "rivets" || m.known && m.advice.Verdict > strains.Lay
		}
		s.lacks = v.filmLacks(p, b.films[i], s)
		s.refused, s.instead = v.refusals(p, s)
	}
	b.numbers = v.sheets(b.films)
	for _, l := range b.numbers {
		b.sheet = b.sheet || l != v.limits
	}
	v.job.filming = b
	return b
}

// filmsOf returns the film of every panel: the newest line that names it, or
// else the newest that names none.
func (v *view) filmsOf() []*roll {
	out := make([]*roll, len(v.open.Panels))
	for i := range out {
		var own, all *roll
		for k := len(v.job.films) - 1; k >= 0 && own == nil; k-- {
			e := v.job.films[k]
			b := e.Body.(FilmRoll)
			switch {
			case len(b.Panels) == 0 && all == nil:
				all = &roll{b, e}
			case has(b.Panels, v.open.Panels[i].ID):
				own = &roll{b, e}
			}
		}
		if out[i] = own; own == nil {
			out[i] = all
		}
	}
	return out
}

// refusals says whether the film of a panel is refused, and if one was that is
// there no more, which line brought the other.
func (v *view) refusals(p *Panel, s *shape) (now bool, instead *entry) {
	for i := range s.lacks {
		now = now || s.lacks[i].key == "film-refused" || s.lacks[i].key == "over-stop"
	}
	own, was := false, false
	for _, e := range v.job.films {
		f := roll{e.Body.(FilmRoll), e}
		named := has(f.Panels, p.ID)
		family, ok := familyOf(f.Family)
		if !ok || !named && (own || len(f.Panels) > 0) {
			continue
		}
		own = named
		job := f.job()
		job.FreshPaint = v.repainted(p)
		switch c, _ := v.rated(p, family, job, s); {
		case c.Rating == film.Refused:
			was, instead = true, nil
		case was && instead == nil:
			instead = e
		}
	}
	return now, instead
}

func has(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// featuresOf returns what was measured on a panel, the newest of each name.
func (v *view) featuresOf(panel string) []*entry {
	var out []*entry
	for i := len(v.job.features) - 1; i >= 0; i-- {
		e := v.job.features[i]
		b := e.Body.(Feature)
		again := b.Panel != panel
		for _, o := range out {
			again = again || o.Body.(Feature).ID == b.ID
		}
		if !again {
			out = append(out, e)
		}
	}
	return out
}

// measured works out how far the film is stretched by a feature, and what to
// do about it with that film. Until a film is known, any stretch counts as too
// much to be taken freely.
func measured(e *entry, film *roll) measure {
	m := measure{Feature: e.Body.(Feature), src: e}
	s, known := strainOf(&m.Feature)
	m.known = known
	if !known {
		return m
	}
	var f strains.Family
	p := strains.Plan{Hidden: m.Plan == "relief-cut"}
	if film != nil {
		f, m.advised = strains.FamilyOf(film.Family)
		p.ShortStay = film.Months > 0 && film.Months < 12
	}
	m.advice = strains.Weigh(s, f, p)
	return m
}

// strainOf measures a feature: lengths are micrometres here and millimetres
// there. What has no profile stretches nothing. Of rivets the head is measured
// like a dome, or not at all.
func strainOf(f *Feature) (strains.Strain, bool) {
	switch {
	case f.Sort == "channel":
		if f.Depth == 0 && f.Path == 0 {
			return strains.Strain{}, false
		}
		return strains.Channel{Shape: profile(f), Width: mm(f.Width), Depth: mm(f.Depth), Floor: mm(f.Floor), Path: mm(f.Path)}.Strain()
	case f.Sort == "dome" || f.Sort == "rivets" && f.HalfWidth != 0:
		if f.Height == 0 {
			return strains.Strain{}, false
		}
		return strains.Dome{HalfWidth: mm(f.HalfWidth), Height: mm(f.Height)}.Strain()
	case f.Sort == "rivets":
		return strains.Strain{}, f.Count > 0
	}
	return strains.Strain{}, true
}

func mm(um int64) float64 { return float64(um) / 1000 }

// percent writes a strain as a whole percentage, one decimal under 10 %, from
// the same millionths that the verdict compares.
func percent(strain float64) string {
	ppm := int64(strain*1e6 + 0.5)
	if ppm < 99_500 {
		return tenths(ppm, 10_000) + " %"
	}
	return digits((ppm+5_000)/10_000) + " %"
}

// profile is the shape of a channel; where nobody said one, what was measured
// tells it.
func profile(f *Feature) strains.Shape {
	for i, name := range strains.ShapeNames {
		if name == f.Shape {
			return strains.Shape(i)
		}
	}
	switch {
	case f.Path != 0:
		return strains.Tape
	case f.Floor != 0:
		return strains.Trapezoid
	}
	return strains.V
}

// called is what a feature is called in a sentence.
func (f *Feature) called() string {
	if f.Name != "" {
		return f.Name
	}
	return f.Sort + " " + f.ID
}

// surveyed judges the measures of a panel with contours: something was
// measured, or looked at and found flat, and the numbers can be.
func (v *view) surveyed(p *Panel, g *Gate, r *result) []cause {
	s := v.shapeOf(p)
	if len(s.features) == 0 {
		return []cause{{key: "no-feature", panel: p.ID, again: true, reason: say(sayNoFeature, p.Name)}}
	}
	var out []cause
	for i := range s.features {
		m := &s.features[i]
		if !m.known {
			out = append(out, cause{key: "not-measured", panel: p.ID, again: true, since: m.src.act.Earliest,
				reason: say(sayMeasure, m.called()), wayOut: say(sayMeasureHow)})
		}
		r.done.Earliest, r.done.Latest = max(r.done.Earliest, m.src.act.Earliest), max(r.done.Latest, m.src.act.Latest)
	}
	if len(out) == 0 {
		g.State, g.Reason = Done, say(sayMeasured)
	}
	return out
}

func (v *view) shapeOf(p *Panel) *shape { return &v.filming.shapes[v.place(p)] }

// place is where a panel stands in the job.
func (v *view) place(p *Panel) int {
	for i := range v.open.Panels {
		if v.open.Panels[i].ID == p.ID {
			return i
		}
	}
	return -1
}

func (v *view) filmOf(p *Panel) *roll { return v.filming.films[v.place(p)] }
