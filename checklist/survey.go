package checklist

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

// filmsOf returns the film of every panel: the newest line that names it, or
// else the newest that names none.
func (v *view) filmsOf() []*FilmRoll {
	out := make([]*FilmRoll, len(v.open.Panels))
	for i := range out {
		var own, all *FilmRoll
		for k := len(v.job.films) - 1; k >= 0 && own == nil; k-- {
			b := v.job.films[k].Body.(FilmRoll)
			switch {
			case len(b.Panels) == 0 && all == nil:
				all = &b
			case has(b.Panels, v.open.Panels[i].ID):
				own = &b
			}
		}
		if out[i] = own; own == nil {
			out[i] = all
		}
	}
	return out
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

// surveyed judges the measures of a panel with contours.
func (v *view) surveyed(p *Panel, g *Gate, r *result) []cause {
	f := v.featuresOf(p.ID)
	if len(f) == 0 {
		return []cause{{key: "no-feature", panel: p.ID, again: true, reason: say(sayNoFeature, p.Name)}}
	}
	for _, e := range f {
		r.done.Earliest, r.done.Latest = max(r.done.Earliest, e.act.Earliest), max(r.done.Latest, e.act.Latest)
	}
	g.State, g.Reason = Done, say(sayMeasured)
	return nil
}

// filmed judges the film of a panel against its shape.
func (v *view) filmed(p *Panel, g *Gate, r *result) []cause {
	f := v.filmOf(p)
	if f == nil {
		return []cause{{key: "no-film", panel: p.ID, again: true, reason: say(sayNoFilm, p.Name), wayOut: say(sayTypeFilm)}}
	}
	g.State, g.Reason = Done, say(sayFilmIs, f.Sheet)
	return nil
}

func (v *view) filmOf(p *Panel) *FilmRoll {
	for i := range v.open.Panels {
		if v.open.Panels[i].ID == p.ID {
			return v.films[i]
		}
	}
	return nil
}
