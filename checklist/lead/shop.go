package lead

import (
	"slices"

	"bayhold/checklist"
	"bayhold/checklist/plan"
	"bayhold/checklist/warmup"
)

// Problem is the shop as the planner sees it: what every open job still needs
// until hand-over, where and who. The second list names the job of each chain;
// a film's chain has that of its vehicle.
func (l *Look) Problem() (*plan.Problem, []checklist.ID) {
	p := &plan.Problem{Now: l.Now.Latest, Open: l.Open}
	crew := plan.Crew{Key: "installers"}
	prep := plan.Crew{Key: "prep"}
	for _, person := range l.Shop.People() {
		switch person.Role {
		case "crew":
			crew.Hands = append(crew.Hands, person.Initials)
		case "prep":
			prep.Hands = append(prep.Hands, person.Initials)
		}
	}
	if len(crew.Hands) == 0 {
		crew.Hands = []string{"?"} // nobody is entered yet: plan as if there were one
	}
	p.Crews = []plan.Crew{crew}
	if len(prep.Hands) > 0 {
		p.Crews = append(p.Crews, prep)
	}

	groups := l.Shop.SharedAir(l.Now)
	bays := map[checklist.ID]int{}
	for _, place := range l.Shop.Places() {
		if place.Sort != "bay" {
			continue
		}
		i := len(p.Bays)
		b := plan.Bay{Name: place.Name, Air: i}
		for _, g := range groups {
			if contains(g, place.Place) {
				for _, other := range g {
					if k, ok := bays[other]; ok {
						b.Air = p.Bays[k].Air
					}
				}
			}
		}
		if air, ok := l.airAhead(place.Place, mid, l.acted(mid, l.Now.Latest)); ok {
			b.Idle, _ = l.idle(air, false)
		}
		bays[place.Place] = i
		p.Bays = append(p.Bays, b)
	}

	var jobs []checklist.ID
	taken := map[int]bool{}
	for i := range l.vehicles {
		v := &l.vehicles[i]
		film, c := l.chains(p, v)
		if at, ok := bays[v.Place]; ok {
			if taken[at] { // two vehicles at one place: it counts twice
				p.Bays = append(p.Bays, p.Bays[at])
				at = len(p.Bays) - 1
			}
			taken[at], c.Bay = true, at
			// The vehicle's own hours: how cold its spot is.
			if course, ok := l.course(v, "", mid, l.acted(mid, l.Now.Latest)); ok {
				c.Idle, _ = l.idle(course, true)
			}
		} else if len(c.Tasks) > 0 {
			in := plan.Task{Key: "move in", Work: 15 * minute, Crew: len(p.Crews) - 1, Hands: 1}
			c.Tasks = append([]plan.Task{in}, c.Tasks...)
		}
		if len(c.Tasks) == 0 {
			continue
		}
		if len(film.Tasks) > 0 {
			jobs, p.Chains = append(jobs, v.ID), append(p.Chains, film)
			at := slices.IndexFunc(c.Tasks, func(t plan.Task) bool { return t.Key == "lay" })
			if at >= 0 {
				c.Tasks[at].After = []plan.After{{Chain: len(p.Chains) - 1, Task: len(film.Tasks) - 1}}
			}
		}
		jobs, p.Chains = append(jobs, v.ID), append(p.Chains, c)
	}
	if len(p.Bays) == 0 {
		p.Chains, jobs = nil, nil
	}
	// A vehicle outside goes back to its own bay, if nobody took that.
	for i := range p.Chains {
		c := &p.Chains[i]
		if c.Film || c.Bay != plan.None {
			continue
		}
		for k := range l.vehicles {
			if v := &l.vehicles[k]; v.ID == jobs[i] {
				if at, ok := bays[l.comesTo(v)]; ok && !taken[at] {
					c.Bays, taken[at] = []int{at}, true
				}
			}
		}
	}
	return p, jobs
}

// chains makes the tasks that a job still needs: its film's and its own.
func (l *Look) chains(p *plan.Problem, v *vehicle) (film, own plan.Chain) {
	own = plan.Chain{Name: v.Open.Label, Due: v.Open.Promise, Bay: plan.None}
	film = plan.Chain{Name: v.Open.Label + " film", Bay: plan.None, Film: true}
	route, _ := checklist.RouteOf(v.Open.Route)
	var stages []string
	for _, st := range route.Stages {
		stages = append(stages, st.Key)
	}
	if !slices.Contains(stages, "hand-over") {
		stages = append(stages, tail...)
	}
	hood := slices.Contains(stages, "patch-test")
	var waits []plan.Wait // for the next task
	var filmWaits []plan.Wait
	for _, stage := range stages {
		if stage == "call-back" {
			continue
		}
		left, until := l.left(v, stage)
		onBench := slices.Contains(bench, stage)
		to := &waits
		if onBench || stage == "dry-fit" {
			to = &filmWaits
		}
		if left > 0 {
			for _, s := range stands {
				if s.Stage == stage {
					need := s.Usual
					if n, ok := l.rules[s.Rule]; ok && s.Rule != "recheck_after" {
						need = n
					}
					if until > l.Now.Latest {
						need = until - l.Now.Latest // it is running
					}
					// Film of which nobody has said anything yet is taken as there.
					if need > 0 && (onBench || stage != "dry-fit" || len(film.Tasks) > 0 || until > 0) {
						*to = append(*to, plan.Wait{Key: stage, Need: need, Free: s.Free})
					}
				}
			}
		}
		switch stage {
		case "dry":
			if w, ok := l.dries(v, stages); ok {
				waits = append(waits, w)
			}
			continue
		case "window":
			if w, ok := l.warms(v, waits); ok {
				waits = append(waits, w)
			}
			continue
		case "rest":
			if w, ok := l.rests(v); ok {
				waits = append(waits, w)
			}
			continue
		case "patch-test":
			if hood && l.cause(v, stage) == "patch-test-failed" {
				waits = append(waits, plan.Wait{Key: "patch", Need: 7 * 24 * hour, Free: true, Why: "patch test failed"})
			}
		}
		if left == 0 {
			continue
		}
		if onBench {
			if stage == "print" || stage == "laminate" || stage == "film-in" {
				film.Tasks = append(film.Tasks, plan.Task{Key: stage, Wait: filmWaits})
				filmWaits = nil
			}
			continue
		}
		w, ok := workOf(stage, v.Open.Route)
		if !ok {
			continue
		}
		work := w.Minutes * minute * left / whole
		if work == 0 {
			continue
		}
		t := plan.Task{Key: w.Task, Work: work, Hands: w.Hands, Nature: w.Nature, Wait: waits}
		if w.Prep {
			t.Crew = len(p.Crews) - 1
		}
		if n := len(own.Tasks); n > 0 && own.Tasks[n-1].Key == w.Task && len(waits) == 0 {
			last := &own.Tasks[n-1]
			last.Work += work
			last.Hands = max(last.Hands, w.Hands)
			last.Nature |= w.Nature
			continue
		}
		waits = nil
		own.Tasks = append(own.Tasks, t)
	}
	if len(filmWaits) > 0 && len(film.Tasks) > 0 {
		film.Tasks = append(film.Tasks, plan.Task{Key: "film ready", Wait: filmWaits})
	}
	return film, own
}

// whole is all of a stage, in parts.
const whole = 1000

// left returns how much of a stage is still to do, in parts of whole, and until
// when it waits by itself. A stage that the route does not have is all to do.
func (l *Look) left(v *vehicle, stage string) (parts, until int64) {
	var all, open int64
	for _, g := range v.gates {
		if g.Stage != stage {
			continue
		}
		all++
		if g.State != checklist.Done && g.Cause != "bare" {
			open++
			if g.State == checklist.Waits {
				until = max(until, g.Until)
			}
		}
	}
	if all == 0 {
		route, _ := checklist.RouteOf(v.Open.Route)
		if slices.ContainsFunc(route.Stages, func(s checklist.Stage) bool { return s.Key == stage }) {
			return 0, 0 // no panel asks for it
		}
		return whole, 0
	}
	return whole * open / all, until
}

func (l *Look) cause(v *vehicle, stage string) string {
	for _, g := range v.gates {
		if g.Stage == stage {
			return g.Cause
		}
	}
	return ""
}

// dries is the hours that still must count, of the zone that needs the most.
func (l *Look) dries(v *vehicle, stages []string) (plan.Wait, bool) {
	w := plan.Wait{Key: "dry"}
	washed, _ := l.left(v, "wash")
	for _, g := range v.gates {
		if g.Stage != "dry" || g.State == checklist.Done {
			continue
		}
		need := g.Needed - g.Counted
		if washed > 0 || g.Needed == 0 {
			need = l.rules["dry_hours"]
			if v.Open.Route == "bus-side" {
				need = l.rules["dry_hours_bus"]
			}
		}
		if need > w.Need {
			w.Need = need
			if g.Cause == "wet" {
				w.Why = "it sweated"
			}
		}
	}
	if washed == 0 && v.sort == "bay" {
		w.From = l.Now.Latest
	}
	return w, w.Need > 0
}

// warms is the time that a cold vehicle needs after it is dry.
func (l *Look) warms(v *vehicle, before []plan.Wait) (plan.Wait, bool) {
	floor := float64(l.rules["surface_floor"])/1000 + 0.5
	var need int64
	switch course, ok := l.course(v, "", mid, l.acted(mid, l.Now.Latest)); {
	case v.sort == "bay" && ok:
		for _, m := range course {
			if m.spot >= floor {
				need = m.at - l.Now.Latest // never: somebody has to heat that bay
				break
			}
		}
	case v.sort != "bay" && l.outside == nil:
		// Into a bay at 20 C (common practice, no source): as warmup.HitOf.
		need = hitMS(l.weather.At(l.Now.Latest).Air.Mid, 20, floor)
	}
	w := plan.Wait{Key: "warm", Need: need, Free: true}
	if v.sort == "bay" {
		w.From = l.Now.Latest
		return w, need > 0
	}
	for _, b := range before {
		w.Need -= b.Need // it warms while it dries
	}
	return w, w.Need > 0
}

// rests is the hours of rest before the re-check.
func (l *Look) rests(v *vehicle) (plan.Wait, bool) {
	need, ok := l.rules["rest_hours"]
	if !ok {
		need = 24 * hour // common practice, no source
	}
	var from int64
	for _, g := range v.gates {
		if g.Stage == "rest" {
			if g.State == checklist.Done {
				return plan.Wait{}, false
			}
			if g.Needed > 0 {
				need = g.Needed - g.Counted
			}
			if g.Counted > 0 || g.Running {
				from = l.Now.Latest
			}
		}
	}
	return plan.Wait{Key: "rest", Need: need, Free: true, From: from}, need > 0
}

func hitMS(start, air, threshold float64) int64 {
	h, err := warmup.HitOf(start, air, threshold, tau[mid])
	if err != nil || h.Never {
		return 0
	}
	return int64(h.Hours * float64(hour))
}
