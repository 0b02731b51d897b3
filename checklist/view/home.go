package view

import (
	"cmp"
	"slices"

	"bayhold/checklist"
)

// home lists the jobs in hand, most urgent first: the earliest promise, jobs
// without one at the end.
func (v *writer) home() {
	var jobs []checklist.JobFacts
	for _, id := range v.s.Jobs() {
		if j, ok := v.s.Job(id); ok && j.Closed == "" {
			jobs = append(jobs, j)
		}
	}
	slices.SortStableFunc(jobs, func(a, b checklist.JobFacts) int {
		if c := cmp.Compare(promise(a), promise(b)); c != 0 {
			return c
		}
		return cmp.Compare(a.Open.Label, b.Open.Label)
	})
	v.Key("jobs").Array()
	for _, j := range jobs {
		v.Object()
		v.ident("id", j.ID)
		v.text("label", j.Open.Label)
		v.text("customer", j.Open.Customer)
		v.text("vehicle", j.Open.Vehicle)
		v.ident("place", j.Place)
		v.text("place_name", v.placeName(j.Place))
		v.num("promise", j.Open.Promise)
		v.Key("gate")
		v.gate(j, v.s.Next(j.ID, v.r.Now))
		v.num("only_here", int64(j.OnlyHere))
		v.End()
	}
	v.End()
	v.places()
	v.people()
	v.Key("routes").Array()
	for _, route := range checklist.Routes {
		v.Object()
		v.text("key", route.Key)
		v.text("name", route.Name)
		v.End()
	}
	v.End()
}

// promise for sorting: none comes last.
func promise(j checklist.JobFacts) int64 {
	if j.Open.Promise == 0 {
		return 1<<63 - 1
	}
	return j.Open.Promise
}
