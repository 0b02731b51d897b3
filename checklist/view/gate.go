package view

import "bayhold/checklist"

// states are a gate's state for the page's styles and its words for a person.
var states = [...]struct{ key, word string }{
	checklist.Open:     {"open", "start now"},
	checklist.Waits:    {"waits", "from"},
	checklist.Held:     {"held", "stopped by"},
	checklist.NotKnown: {"unknown", "no reading"},
	checklist.Done:     {"done", "done"},
}

// gate writes the answer in front of one stage. "waivable" is true where the
// person who looks may let it pass: what is shut, and what is open but may be
// left undone.
func (v *writer) gate(j checklist.JobFacts, g checklist.Gate) {
	v.Object()
	v.text("stage", g.Stage)
	v.text("name", stageName(j, g.Stage))
	v.text("panel", g.Panel)
	v.text("panel_name", panelName(j, g.Panel))
	if g.Panel == "" {
		v.text("zone", g.Zone) // a line about a panel names no zone
	} else {
		v.text("zone", "")
	}
	v.text("state", states[g.State].key)
	v.text("word", states[g.State].word)
	v.text("cause", g.Cause)
	v.texts("causes", g.Causes)
	v.text("text", g.Reason)
	v.text("out", g.WayOut)
	v.text("cond", g.Condition)
	v.num("until", g.Until)
	v.num("counted", g.Counted)
	v.num("needed", g.Needed)
	v.flag("running", g.Running)
	v.text("ask", g.Ask)
	v.flag("waived", g.Waived)
	me, _ := v.s.Person(v.r.Person)
	v.flag("waivable", g.State != checklist.Done && !g.Waived && len(g.Causes) > 0 && me.Role == "lead")
	v.End()
}

func (v *writer) gateOrNull(j checklist.JobFacts, g checklist.Gate, ok bool) {
	if ok {
		v.gate(j, g)
	} else {
		v.Null()
	}
}

func stageName(j checklist.JobFacts, key string) string {
	for _, st := range j.Route.Stages {
		if st.Key == key {
			return st.Name
		}
	}
	return key
}

func panelName(j checklist.JobFacts, id string) string {
	for _, p := range j.Open.Panels {
		if p.ID == id {
			return p.Name
		}
	}
	return id
}

func spotName(j checklist.JobFacts, id string) string {
	for _, p := range j.Open.Spots {
		if p.ID == id {
			return p.Name
		}
	}
	return id
}

// firstNotDone is the first gate in route order that is not done and that
// fits; ok is false if all that fit are done.
func firstNotDone(gates []checklist.Gate, fits func(checklist.Gate) bool) (checklist.Gate, bool) {
	for _, g := range gates {
		if g.State != checklist.Done && fits(g) {
			return g, true
		}
	}
	return checklist.Gate{}, false
}
