package lead

import (
	"slices"
	"strings"

	"bayhold/checklist"
	"bayhold/checklist/plan"
	"bayhold/checklist/warmup"
)

// Problem is the shop as the planner sees it: what every open job still needs
// until hand-over, where and who. The second list names the job of each chain;
// a film's chain has that of its vehicle. Vehicles that fit into no bay are left
// out and named.
func (l *Look) Problem() (p *plan.Problem, jobs []checklist.ID, out []string) {
	p = &plan.Problem{Now: l.Now.Latest, Open: l.Open}
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
	var places []checklist.PlaceAdd // by bay
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
		p.Bays, places = append(p.Bays, b), append(places, place)
	}

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
			var why string
			if c.Bays, why = l.fitting(v, places); c.Bays != nil && len(c.Bays) == 0 {
				out = append(out, why)
				continue
			}
			in := plan.Task{Key: "move in", Work: 15 * minute, Crew: len(p.Crews) - 1, Hands: 1}
			c.Tasks = append([]plan.Task{in}, c.Tasks...)
		}
		if len(c.Tasks) == 0 {
			continue
		}
		if len(film.Tasks) > 0 {
			jobs, p.Chains = append(jobs, v.ID), append(p.Chains, film)
			at := slices.IndexFunc(c.Tasks, func(t plan.Task) bool { return t.Key == "dry-fit" || t.Key == "lay" })
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
				if at, ok := bays[l.comesTo(v)]; ok && !taken[at] && (c.Bays == nil || slices.Contains(c.Bays, at)) {
					c.Bays, taken[at] = []int{at}, true
				}
			}
		}
	}
	return p, jobs, out
}

// fitting lists the bays that a vehicle goes into, nil for all of them; with
// none, why not into the longest.
func (l *Look) fitting(v *vehicle, places []checklist.PlaceAdd) (in []int, why string) {
	in = []int{}
	longest := int64(-1)
	for i := range places {
		if s := l.tooLarge(v, &places[i]); s == "" {
			in = append(in, i)
		} else if places[i].Length > longest {
			longest, why = places[i].Length, s
		}
	}
	if len(in) == len(places) {
		return nil, ""
	}
	return in, why
}

// chains makes the tasks that a job still needs: its film's and its own.
func (l *Look) chains(p *plan.Problem, v *vehicle) (film, own plan.Chain) {
	own = plan.Chain{Name: v.Open.Label, Due: v.Open.Promise, Bay: plan.None}
	film = plan.Chain{Name: v.Open.Label + " film", Bay: plan.None, Film: true}
	route, _ := checklist.RouteOf(v.Open.Route)
	tasks := map[string]int{} // by stage: how many tasks there were when it was placed
	var waits []plan.Wait     // for the next task
	group := ""               // of the last one
	for i := range route.Stages {
		st := &route.Stages[i]
		left, until := l.left(v, st.Key)
		if st.Free || left == 0 {
			continue
		}
		to := &own
		if st.Side == checklist.Bench {
			to = &film
		}
		var before []plan.Wait
		if st.Clock != "" {
			w := plan.Wait{Key: st.Key, Need: l.rules[st.Clock], Free: true}
			if n, ok := tasks[st.From]; ok && to == &own {
				w.Past = len(own.Tasks) - n + 1
			}
			if open, _ := l.left(v, st.From); until > l.Now.Latest {
				w.From, w.Need = l.Now.Latest, until-l.Now.Latest
			} else if open == 0 {
				w.Need = 0 // it has passed
			}
			if st.Key == "dry-fit" && len(film.Tasks) > 0 {
				w.Key = "film in bay"
				film.Tasks = append(film.Tasks, plan.Task{Key: "film at hand", Wait: []plan.Wait{w}})
				w.Need = 0
			}
			if w.Need > 0 {
				before = append(before, w)
			}
		}
		var hours plan.Wait
		ok := false
		switch st.Proof {
		case checklist.ByHours:
			hours, ok = l.dries(v, st)
		case checklist.ByWindow:
			hours, ok = l.warms(v, waits)
		case checklist.ByRest:
			hours, ok = l.rests(v, st)
		case checklist.ByPatch:
			hours, ok = l.patches(v, st)
		}
		if ok {
			before = append(before, hours)
		}
		if to == &film {
			// Somebody measures and prints; who, the plan leaves to the shop.
			if len(before) > 0 || st.Key == "print" || st.Key == "film-in" {
				film.Tasks = append(film.Tasks, plan.Task{Key: st.Key, Wait: before})
			}
			continue
		}
		waits = append(waits, before...)
		w, ok := workOf(st.Key, v.Open.Route)
		work := w.Minutes * minute * left / whole
		if !ok || work == 0 {
			continue
		}
		t := plan.Task{Key: st.Key, Work: work, Hands: w.Hands, Nature: w.Nature, Wait: waits}
		if w.Prep {
			t.Crew = len(p.Crews) - 1
		}
		// Stages of one task that follow each other without hours between are one.
		if n := len(own.Tasks); n > 0 && group == w.Task && len(waits) == 0 {
			last := &own.Tasks[n-1]
			last.Key = w.Task
			last.Work += work
			last.Hands = max(last.Hands, w.Hands)
			last.Nature |= w.Nature
		} else {
			own.Tasks = append(own.Tasks, t)
		}
		waits, group = nil, w.Task
		tasks[st.Key] = len(own.Tasks)
	}
	return film, own
}

// whole is all of a stage, in parts.
const whole = 1000

// left returns how much of a stage is still to do, in parts of whole, and until
// when it waits by itself.
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
		return 0, 0 // nothing on this job asks for it
	}
	return whole * open / all, until
}

// dries is the hours that still must count, of the zone that needs the most.
func (l *Look) dries(v *vehicle, st *checklist.Stage) (plan.Wait, bool) {
	w := plan.Wait{Key: st.Key}
	washed, _ := l.left(v, "wash")
	for _, g := range v.gates {
		if g.Stage != st.Key || g.State == checklist.Done {
			continue
		}
		need := g.Needed - g.Counted
		if washed > 0 || g.Needed == 0 {
			need = l.rules[st.Hours]
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

// patches is the wait after a patch test that failed.
func (l *Look) patches(v *vehicle, st *checklist.Stage) (plan.Wait, bool) {
	for _, g := range v.gates {
		if g.Stage == st.Key && strings.HasSuffix(g.Cause, "-failed") {
			return plan.Wait{Key: "patch", Need: 7 * 24 * hour, Free: true, From: l.Now.Latest, Why: "patch test failed"}, true
		}
	}
	return plan.Wait{}, false
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

// rests is the hours of rest that still must count.
func (l *Look) rests(v *vehicle, st *checklist.Stage) (plan.Wait, bool) {
	w := plan.Wait{Key: st.Key, Need: l.rules[st.Hours], Free: true}
	for _, g := range v.gates {
		if g.Stage == st.Key && g.Needed > 0 {
			w.Need = g.Needed - g.Counted
			if g.Counted > 0 || g.Running {
				w.From = l.Now.Latest
			}
		}
	}
	return w, w.Need > 0
}

func hitMS(start, air, threshold float64) int64 {
	h, err := warmup.HitOf(start, air, threshold, tau[mid])
	if err != nil || h.Never {
		return 0
	}
	return int64(h.Hours * float64(hour))
}
