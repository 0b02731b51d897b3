package checklist

import "slices"

// route lays out a shop's own steps: stages of this version in the shop's
// order and words, and steps of its own that a hand ticks.
//
// A stage that is left out is not asked for; what needed it needs what it
// needed. A step of the shop's own stands in its place: it waits for the step
// above it, and the step below waits for it, unless the set names needs.
func (b StepsSet) route() Route {
	r := Route{Key: b.Route, Name: b.Name}
	for _, s := range b.Steps {
		if len(r.Stages) == MostStages {
			break
		}
		st, known := findStage(b.Route, s.Key)
		st.Key = s.Key
		if s.Name != "" || st.Name == "" {
			st.Name = s.Name
		}
		if s.Caution != "" {
			st.Caution = s.Caution
		}
		if !known {
			if s.Per == PerPanel.String() {
				st.Per = PerPanel
			}
			if s.After {
				st.Side = After
			}
		}
		st.Needs = b.needs(st, s)
		r.Stages = append(r.Stages, st)
	}
	for i := range r.Stages {
		if b.Steps[i].own(b.Route) {
			r.chain(i, &b)
		}
	}
	return r.close()
}

// needs returns what a step of the set needs: what the set says, or what its
// stage does, with every stage that was left out replaced by its own needs.
func (b *StepsSet) needs(st Stage, s Step) []string {
	if len(s.Needs) > 0 {
		return s.Needs
	}
	todo, out := slices.Clone(st.Needs), []string(nil)
	for i := 0; i < len(todo); i++ {
		key := todo[i]
		if slices.Contains(todo[:i], key) {
			continue
		}
		if b.step(key) >= 0 {
			out = append(out, key)
		} else if left, ok := findStage(b.Route, key); ok {
			todo = append(todo, left.Needs...)
		}
	}
	return out
}

// step is where a key stands in the set, -1 if nowhere.
func (b *StepsSet) step(key string) int {
	for i := range b.Steps {
		if b.Steps[i].Key == key {
			return i
		}
	}
	return -1
}

// own says whether no stage of this version has the step's key.
func (s *Step) own(route string) bool {
	_, known := findStage(route, s.Key)
	return !known
}

// chain ties a step of the shop's own to its neighbours on the same side of
// laying. The bench is beside the vehicle and no neighbour.
func (r *Route) chain(i int, b *StepsSet) {
	st := &r.Stages[i]
	if len(b.Steps[i].Needs) == 0 {
		for k := i - 1; k >= 0; k-- {
			if r.Stages[k].Side == st.Side {
				st.Needs = append(st.Needs, r.Stages[k].Key)
				break
			}
		}
	}
	for k := range b.Steps[:len(r.Stages)] {
		if slices.Contains(b.Steps[k].Needs, st.Key) {
			return // the shop says itself who waits for it
		}
	}
	for k := i + 1; k < len(r.Stages); k++ {
		if next := &r.Stages[k]; next.Side == st.Side || st.Side == Before && next.Side == Laying {
			if !next.Free {
				next.Needs = append(slices.Clone(next.Needs), st.Key)
			}
			return
		}
	}
}

// Fault says why a shop's own steps are no route, or "".
func (b StepsSet) Fault() string {
	if _, ok := RouteOf(b.Route); !ok {
		return "There are no job steps called '" + b.Route + "'."
	}
	if len(b.Steps) > MostStages {
		return "A route has at most " + digits(MostStages) + " steps."
	}
	lay := b.step("lay")
	if lay < 0 {
		return "A route needs the step 'lay'."
	}
	for i, s := range b.Steps {
		switch {
		case !plainKey(s.Key):
			return "Name a step by small letters, digits and dashes: '" + s.Key + "'."
		case b.step(s.Key) != i:
			return "Two steps are called '" + s.Key + "'."
		case s.Per != "" && s.Per != PerVehicle.String() && s.Per != PerPanel.String():
			return "A step is per vehicle or per panel, not '" + s.Per + "'."
		}
		st, known := findStage(b.Route, s.Key)
		if !known && s.Name == "" {
			return "Step '" + s.Key + "' needs a name."
		}
		after := known && st.Side == After || !known && s.After
		if after && i < lay {
			return "'" + s.Key + "' follows laying. Put it below 'lay'."
		}
		if !after && i > lay {
			return "'" + s.Key + "' comes before laying. Put it above 'lay'."
		}
		for _, key := range b.needs(st, s) {
			switch k := b.step(key); {
			case k < 0:
				return "'" + s.Key + "' needs '" + key + "', which is no step here."
			case k >= i:
				return "'" + s.Key + "' needs '" + key + "'. Put it below that."
			}
		}
	}
	return ""
}

// plainKey says whether a key can stand in lines and waivers.
func plainKey(key string) bool {
	for _, c := range []byte(key) {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' {
			return false
		}
	}
	return key != "" && len(key) <= 40
}

// guards are the stages that keep film down. A shop may leave one out, and is
// told so.
var guards = [...]string{"wash", "inspection", "dry", "window", "wipe", "rest"}

// Lacks names the stages that keep film down and are left out.
func (b StepsSet) Lacks() []string {
	var out []string
	for _, key := range guards {
		if _, in := routeStage(b.Route, key); in && b.step(key) < 0 {
			out = append(out, key)
		}
	}
	return out
}

// findStage returns this version's stage of a key, as the route has it or else
// the first route that does.
func findStage(route, key string) (Stage, bool) {
	if st, ok := routeStage(route, key); ok {
		return *st, true
	}
	for i := range Routes {
		if st, ok := Routes[i].stage(key); ok {
			return *st, true
		}
	}
	return Stage{}, false
}

func routeStage(route, key string) (*Stage, bool) {
	for i := range Routes {
		if Routes[i].Key == route {
			return Routes[i].stage(key)
		}
	}
	return nil, false
}
