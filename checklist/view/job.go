package view

import (
	"bayhold/checklist"
)

// shown is how many of a job's latest lines its view carries.
const shown = 60

func (v *writer) job(j checklist.JobFacts) {
	route := j.Route
	gates := v.s.Gates(j.ID, v.r.Now)

	v.ident("id", j.ID)
	v.text("label", j.Open.Label)
	v.text("customer", j.Open.Customer)
	v.text("vehicle", j.Open.Vehicle)
	v.text("plate", j.Open.Plate)
	v.text("vin", j.Open.VIN)
	v.text("fleet", j.Open.Fleet)
	v.text("proof", j.Open.Proof)
	v.Key("route").Object()
	v.text("key", j.Open.Route)
	v.text("name", route.Name)
	v.End()
	v.Key("place").Object()
	v.ident("id", j.Place)
	v.text("name", v.placeName(j.Place))
	v.End()
	v.num("promise", j.Open.Promise)
	v.newer(j)
	v.flag("closed", j.Closed != "")
	v.flag("call_due", v.callDue(j))
	v.flag("released_early", v.s.ReleasedEarly(j.ID))
	v.Key("gate")
	v.gate(j, v.s.Next(j.ID, v.r.Now))

	v.stages(j, route, gates)
	v.panels(j, gates)
	v.hang(j)
	v.spots(j)
	v.climate(j.Place)
	v.ongoing(j.Place)
	v.margin(j)
	v.work(j)
	v.care(j)
	v.findings(j)
	v.signatures(j)
	v.setbacks(j)
	v.evidence()
	v.waivers(j)
	v.lines(j)
	v.places()
	v.people()
}

// newer names the numbers and the steps in force where the job goes by others.
func (v *writer) newer(j checklist.JobFacts) {
	rules, _, _ := v.s.RulesInForce()
	if rules == j.Open.Rules {
		rules = ""
	}
	steps, _ := v.s.StepsInForce(j.Open.Route)
	if steps == j.Open.Steps {
		steps = ""
	}
	v.text("newer_rules", rules)
	v.text("newer_steps", steps)
}

func (v *writer) stages(j checklist.JobFacts, route checklist.Route, gates []checklist.Gate) {
	said := v.s.Standing(j.ID, "asked")
	v.Key("stages").Array()
	for _, st := range route.Stages {
		v.Object()
		v.text("key", st.Key)
		v.text("name", st.Name)
		v.text("caution", st.Caution)
		v.text("per", st.Per.String())
		v.flag("tap", st.Tap())
		v.text("proof", st.Proof.String())
		v.text("what", st.What)
		v.texts("signers", st.Signers)
		v.flag("free", st.Free)
		v.flag("bench", st.Side == checklist.Bench)
		v.asks(st, said)
		v.Key("gates").Array()
		done, all := 0, 0
		var speaks checklist.Gate // an open gate, or else the first that is not done
		for _, g := range gates {
			if g.Stage != st.Key {
				continue
			}
			v.gate(j, g)
			all++
			if g.State == checklist.Done {
				done++
			}
			if all == 1 || speaks.State == checklist.Done || speaks.State != checklist.Open && g.State == checklist.Open {
				speaks = g
			}
		}
		v.End()
		v.text("state", states[speaks.State].key)
		v.text("text", speaks.Reason)
		v.num("done", int64(done))
		v.num("all", int64(all))
		v.End()
	}
	v.End()
}

func (v *writer) panels(j checklist.JobFacts, gates []checklist.Gate) {
	v.Key("panels").Array()
	for _, p := range j.Open.Panels {
		v.Object()
		v.text("id", p.ID)
		v.text("name", p.Name)
		v.text("zone", p.Zone)
		v.flag("contour", p.Contour)
		v.flag("primer", p.Primer)
		v.facts(j, p.ID)
		wipe := v.s.Claim(j.ID, "wipe", p.ID, p.Zone, v.r.Now)
		v.Key("wipe").Object()
		v.text("state", wipe.State.String())
		v.num("until", wipe.Until)
		v.End()
		v.Key("gate")
		g, ok := firstNotDone(gates, func(g checklist.Gate) bool {
			return g.Panel == p.ID || g.Panel == "" && (g.Zone == "" || g.Zone == p.Zone)
		})
		v.gateOrNull(j, g, ok)
		v.End()
	}
	v.End()
}

// hang is the order in which the panels hang, and the sentence that says where
// their seams go round in a circle.
func (v *writer) hang(j checklist.JobFacts) {
	order, circle := v.s.HangOrder(j.ID, v.r.Now)
	v.Key("hang").Array()
	for i := range order {
		v.String(order[i].Panel)
	}
	v.End()
	v.text("circle", circle)
}

func (v *writer) spots(j checklist.JobFacts) {
	v.Key("spots").Array()
	for _, sp := range v.s.Spots(j.ID, v.r.Now) {
		v.Object()
		v.text("id", sp.ID)
		v.text("name", sp.Name)
		v.text("zone", sp.Zone)
		v.Key("last")
		if sp.Read {
			v.Object()
			v.num("surface", int64(sp.Surface))
			v.num("at", sp.At.Earliest)
			v.text("by", v.initials(sp.By))
			v.text("instrument", sp.Instrument)
			v.End()
		} else {
			v.Null()
		}
		v.flag("ask", sp.Ask)
		v.End()
	}
	v.End()
}

func (v *writer) margin(j checklist.JobFacts) {
	v.Key("margin")
	m, ok := v.s.Margin(j.ID, v.r.Now)
	if !ok {
		v.Null()
		return
	}
	v.Object()
	v.text("spot", m.Spot)
	v.text("spot_name", spotName(j, m.Spot))
	v.num("value", int64(m.Margin))
	v.num("surface", int64(m.Surface))
	v.num("dew", int64(m.Dew))
	v.num("at", m.At)
	v.End()
}

func (v *writer) findings(j checklist.JobFacts) {
	v.Key("findings").Array()
	for _, f := range v.s.Findings(j.ID) {
		v.Object()
		v.lineID(f.ID)
		v.text("panel", f.Panel)
		v.text("panel_name", panelName(j, f.Panel))
		v.text("place", f.Place)
		v.text("what", f.What)
		v.text("photo", f.Photo)
		v.text("note", f.Note)
		v.text("walk", f.Walk)
		v.num("size", f.Size)
		v.text("answer", f.Standing)
		v.Key("answers").Array()
		for _, a := range f.Answers {
			v.Object()
			v.lineID(a.ID)
			v.text("answer", a.Answer)
			v.text("note", a.Note)
			v.text("by", v.initials(a.By))
			v.num("at", a.At.Earliest)
			v.End()
		}
		v.End()
		v.End()
	}
	v.End()
}

func (v *writer) signatures(j checklist.JobFacts) {
	v.Key("signatures").Array()
	for _, s := range v.s.Signatures(j.ID) {
		v.Object()
		v.lineID(s.ID)
		v.text("what", s.What)
		v.text("as", s.As)
		v.text("name", s.Name)
		v.num("at", s.At.Earliest)
		v.flag("link", s.Link != "")
		v.End()
	}
	v.End()
}

// setbacks are the one-tap buttons: every row of the table.
func (v *writer) setbacks(j checklist.JobFacts) {
	v.Key("setbacks").Array()
	for _, row := range checklist.Setbacks {
		v.Object()
		v.text("cause", row.Cause)
		v.text("name", row.Name)
		v.text("where", row.Where.String())
		v.flag("lasts", row.Lasts)
		v.text("say", row.Redo)
		v.End()
	}
	v.End()
}

// evidences are the tests that a person can report.
var evidences = [...]struct{ what, name string }{
	{"blown-out", "Seams blown out"},
	{"card-strips", "Card strips drawn dry"},
	{"sweat-test", "Sweat test"},
	{"water-gone", "No water to be seen"},
	{"patch-test", "Patch test"},
	{"tape-pull", "Tape pull"},
	{"palm-drag", "Palm dragged over bare paint"},
	{"risen", "Risen counted"},
}

func (v *writer) evidence() {
	v.Key("evidence").Array()
	for _, e := range evidences {
		v.Object()
		v.text("what", e.what)
		v.text("name", e.name)
		v.End()
	}
	v.End()
}

func (v *writer) waivers(j checklist.JobFacts) {
	v.Key("waivers").Array()
	for _, w := range v.s.Waivers(j.ID) {
		v.Object()
		v.lineID(w.ID)
		v.text("stage", w.Stage)
		v.text("name", stageName(j, w.Stage))
		v.text("panel", w.Panel)
		v.text("zone", w.Zone)
		v.texts("causes", w.Causes)
		v.text("sentence", w.Sentence)
		v.text("by", v.initials(w.By))
		v.num("at", w.At.Earliest)
		v.End()
	}
	v.End()
}

func (v *writer) lines(j checklist.JobFacts) {
	v.Key("lines").Array()
	for _, l := range v.s.Lines(j.ID, shown) {
		v.Object()
		v.lineID(l.ID)
		v.num("at", l.Span.Earliest)
		v.text("by", v.initials(l.By))
		v.text("kind", l.Kind)
		v.text("text", say(j, l.Line))
		if spoken, ok := l.Body.(checklist.Voice); ok {
			v.text("voice", spoken.SHA)
		}
		if l.Order == 0 {
			v.text("where", "here")
		} else {
			v.text("where", "shop")
		}
		if at := checklist.TypedAt(l.Body); at != 0 && at < l.Span.Earliest-60_000 {
			v.num("was", at)
			v.flag("adopted", l.Adopted)
		}
		v.flag("struck", l.Struck)
		v.flag("mine", v.mine(&l.Line))
		v.End()
	}
	v.End()
}

func (v *writer) lineID(id checklist.LineID) {
	v.ident("writer", id.Writer)
	v.num("seq", int64(id.Seq))
}
