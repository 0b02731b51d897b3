package view

import (
	"bayhold/checklist"
	"bayhold/checklist/order"
	"bayhold/checklist/rest"
)

// home lists the jobs in hand, most urgent first: the earliest promise, jobs
// without one at the end.
func (v *writer) home() {
	var jobs, gone []checklist.JobFacts
	for _, id := range v.s.Jobs() {
		if j, ok := v.s.Job(id); ok && j.Closed == "" {
			jobs = append(jobs, j)
		} else if ok && j.Closed == "handed-over" {
			gone = append(gone, j)
		}
	}
	order.Stable(jobs, func(a, b *checklist.JobFacts) bool {
		if x, y := promise(*a), promise(*b); x != y {
			return x < y
		}
		return a.Open.Label < b.Open.Label
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
		next, _ := v.s.Glance(j.ID, v.r.Now)
		v.gate(j, next)
		v.num("only_here", int64(j.OnlyHere))
		v.End()
	}
	v.End()
	v.calls(gone)
	v.places()
	v.people()
	v.instruments()
	v.Key("routes").Array()
	for _, route := range checklist.Routes {
		v.Object()
		v.text("key", route.Key)
		_, steps := v.s.StepsInForce(route.Key) // the shop's own, if it has some
		v.text("name", steps.Name)
		v.End()
	}
	v.End()
}

// instruments is what a hand may name; the register itself is asked of the shop
// server.
func (v *writer) instruments() {
	v.Key("instruments").Array()
	for _, i := range v.s.Instruments(v.r.Clock) {
		if i.Gone {
			continue
		}
		v.Object()
		v.text("name", i.Name)
		v.text("sort", i.Sort)
		v.flag("due", i.Due)
		v.End()
	}
	v.End()
}

// calls are the jobs that left and whose owner is to be called back by now.
func (v *writer) calls(gone []checklist.JobFacts) {
	v.Key("calls").Array()
	for _, j := range gone {
		if v.callDue(j) {
			v.Object()
			v.ident("id", j.ID)
			v.text("label", j.Open.Label)
			v.text("customer", j.Open.Customer)
			v.text("name", stageName(j, callBack))
			v.End()
		}
	}
	v.End()
}

// callBack is the stage that is done after a job has left.
const callBack = "call-back"

// callDue says whether the owner of a vehicle that left is to be called back:
// its time has come and nobody has. What else its job lacks does not matter any
// more.
func (v *writer) callDue(j checklist.JobFacts) bool {
	if j.Closed != "handed-over" || stageName(j, callBack) == callBack {
		return false
	}
	care, _ := rest.CareOf(callBack)
	due, _ := care.From(j.ClosedAt.Latest)
	return v.r.Now.Earliest >= due && v.s.Claim(j.ID, callBack, "", "", v.r.Now).State != checklist.GoodClaim
}

// promise for sorting: none comes last.
func promise(j checklist.JobFacts) int64 {
	if j.Open.Promise == 0 {
		return 1<<63 - 1
	}
	return j.Open.Promise
}
