package checklist

// Work is what stands in a job of its film and its old film, newest line of a
// thing only: what a hand has measured, typed and heated so far.
type Work struct {
	Films    []FilmRoll
	Features []Feature
	Asked    []Asked
	Trials   []Trial
	Paints   []Paint
	Patches  []Patch
	Heats    []Heat
}

// Work returns what stands in a job of its film and its old film.
func (s *Shop) Work(id ID) Work {
	var w Work
	j := s.jobs[id]
	if j == nil {
		return w
	}
	for _, e := range j.films {
		w.Films = append(w.Films, e.Body.(FilmRoll))
	}
	for _, e := range j.features {
		b := e.Body.(Feature)
		for i := range w.Features {
			if w.Features[i].Panel == b.Panel && w.Features[i].ID == b.ID {
				w.Features = append(w.Features[:i], w.Features[i+1:]...)
				break
			}
		}
		w.Features = append(w.Features, b)
	}
	for _, e := range j.asked {
		w.Asked = append(w.Asked, e.Body.(Asked))
	}
	for _, e := range j.trials {
		w.Trials = append(w.Trials, e.Body.(Trial))
	}
	for _, e := range j.paints {
		w.Paints = append(w.Paints, e.Body.(Paint))
	}
	for _, e := range j.patches {
		w.Patches = append(w.Patches, e.Body.(Patch))
	}
	for _, e := range j.heats {
		w.Heats = append(w.Heats, e.Body.(Heat))
	}
	return w
}
