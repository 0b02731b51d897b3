package checklist

import "slices"

// route lays out a shop's own steps: stages of this version in the shop's
// order and words, and steps of its own that a hand ticks. A stage that is
// left out is not asked for.
func (b StepsSet) route() Route {
	r := Route{Key: b.Route, Name: b.Name}
	for _, s := range b.Steps {
		if len(r.Stages) == MostStages {
			break
		}
		st := stageOf(b.Route, s.Key)
		st.Key = s.Key
		if s.Name != "" || st.Name == "" {
			st.Name = s.Name
		}
		if len(s.Needs) > 0 {
			st.Needs = s.Needs
		}
		if s.Caution != "" {
			st.Caution = s.Caution
		}
		r.Stages = append(r.Stages, st)
		if _, known := findStage(b.Route, s.Key); !known {
			own := &r.Stages[len(r.Stages)-1]
			if s.Per == PerPanel.String() {
				own.Per = PerPanel
			}
			if s.After {
				own.Side = After
			}
		}
	}
	return r.close()
}

// stageOf returns this version's stage of a key, as the route has it or else
// the first route that does; a new one if none does.
func stageOf(route, key string) Stage {
	st, _ := findStage(route, key)
	st.Needs = slices.Clone(st.Needs)
	return st
}

func findStage(route, key string) (Stage, bool) {
	if r, ok := RouteOf(route); ok {
		if st, ok := r.stage(key); ok {
			return *st, true
		}
	}
	for i := range Routes {
		if st, ok := Routes[i].stage(key); ok {
			return *st, true
		}
	}
	return Stage{}, false
}
