package view

import (
	"bayhold/checklist"
	"bayhold/checklist/order"
)

// soon is how close a promise makes a job urgent on the board: a working day
// ahead (common practice, no source).
const soon = 24 * 60 * 60 * 1000

// board keeps the building's order and names in each place what holds the jobs
// in it; a vehicle without a place stands in the last, nameless one.
func (v *writer) board() {
	v.Key("spaces").Array()
	for _, group := range v.s.SharedAir(v.r.Now) {
		v.Array()
		for _, id := range group {
			v.String(idText(id))
		}
		v.End()
	}
	v.End()

	jobs := map[checklist.ID][]checklist.JobFacts{}
	var urgent []checklist.JobFacts
	for _, id := range v.s.Jobs() {
		j, ok := v.s.Job(id)
		if !ok || j.Closed != "" {
			continue
		}
		at := j.Place
		if _, known := v.s.Place(at); !known {
			at = checklist.ID{}
		}
		jobs[at] = append(jobs[at], j)
		if p := j.Open.Promise; p != 0 && p-v.r.Clock < soon {
			urgent = append(urgent, j)
		}
	}
	v.Key("places").Array()
	for _, p := range v.s.Places() {
		v.boardPlace(p, jobs[p.Place])
	}
	if rest := jobs[checklist.ID{}]; len(rest) > 0 {
		v.boardPlace(checklist.PlaceAdd{}, rest)
	}
	v.End()

	order.Stable(urgent, func(a, b *checklist.JobFacts) bool { return promise(*a) < promise(*b) })
	v.Key("urgent").Array()
	for _, j := range urgent {
		v.String(idText(j.ID))
	}
	v.End()
}

func (v *writer) boardPlace(p checklist.PlaceAdd, jobs []checklist.JobFacts) {
	v.Object()
	v.ident("id", p.Place)
	v.text("name", p.Name)
	v.text("sort", p.Sort)
	v.num("order", p.Order)
	v.climate(p.Place)
	v.ongoing(p.Place)
	v.Key("jobs").Array()
	for _, j := range jobs {
		v.Object()
		v.ident("id", j.ID)
		v.text("label", j.Open.Label)
		v.text("customer", j.Open.Customer)
		v.num("promise", j.Open.Promise)
		v.Key("gate")
		next, gates := v.s.Glance(j.ID, v.r.Now)
		v.gate(j, next)
		v.Key("gates_held").Array()
		stage := ""
		for _, g := range gates {
			// One gate speaks for its stage: the first that is not open. What was
			// spoiled is named panel by panel.
			if _, spoiled := checklist.SetbackOf(g.Cause); (g.Stage != stage || spoiled) && g.State != checklist.Done && g.State != checklist.Open {
				stage = g.Stage
				v.gate(j, g)
			}
		}
		v.End()
		v.num("only_here", int64(j.OnlyHere))
		v.text("last_by", v.initials(j.LastBy))
		v.num("last_at", j.LastAt.Earliest)
		v.End()
	}
	v.End()
	v.End()
}

// climate is a place's air now, null if nothing was ever read there.
func (v *writer) climate(place checklist.ID) {
	v.Key("climate")
	c, ok := v.s.Climate(place, v.r.Now)
	if !ok {
		v.Null()
		return
	}
	v.Object()
	v.num("air", int64(c.Air))
	v.num("rh", int64(c.RH))
	v.num("dew", int64(c.Dew))
	v.num("at", c.At)
	v.num("age_ms", c.Age)
	v.text("source", c.Source)
	v.flag("fresh", c.Fresh)
	v.End()
}

// ongoing is what goes on in a place's air: doors open, heaters lit.
func (v *writer) ongoing(place checklist.ID) {
	v.Key("ongoing").Array()
	for _, e := range v.s.Ongoing(place, v.r.Now) {
		row, _ := checklist.SetbackOf(e.Cause)
		v.Object()
		v.text("cause", e.Cause)
		v.text("name", row.Name)
		v.ident("place", e.Place)
		v.num("since", e.Start.Earliest)
		v.End()
	}
	v.End()
}
