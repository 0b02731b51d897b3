package view

import "bayhold/checklist"

// work is what a hand has measured, typed and heated, for the forms that go
// on from there.
func (v *writer) work(j checklist.JobFacts) {
	w := v.s.Work(j.ID)
	v.Key("films").Array()
	for _, f := range w.Films {
		v.Object()
		v.texts("panels", f.Panels)
		v.text("family", f.Family)
		v.text("laminate", f.Laminate)
		v.text("adhesive", f.Adhesive)
		v.num("thickness", f.Thickness)
		v.text("batch", f.Batch)
		v.text("roll", f.Roll)
		v.text("sheet", f.Sheet)
		v.flag("printed", f.Printed)
		v.num("months", f.Months)
		v.Key("limits").Array()
		for _, l := range f.Limits {
			v.Object()
			v.text("key", l.Key)
			v.num("value", l.Value)
			v.text("origin", l.Origin)
			v.End()
		}
		v.End()
		v.End()
	}
	v.End()
	v.Key("features").Array()
	for _, f := range w.Features {
		v.Object()
		v.text("panel", f.Panel)
		v.text("id", f.ID)
		v.text("sort", f.Sort)
		v.text("name", f.Name)
		v.num("width", f.Width)
		v.num("depth", f.Depth)
		v.num("length", f.Length)
		v.num("count", f.Count)
		v.text("plan", f.Plan)
		v.End()
	}
	v.End()
	v.Key("heats").Array()
	for _, h := range w.Heats {
		v.Object()
		v.text("panel", h.Panel)
		v.num("length", h.Length)
		v.num("rivets", h.Rivets)
		v.text("answer", h.Answer)
		v.End()
	}
	v.End()
	v.Key("trials").Array()
	for _, t := range w.Trials {
		v.Object()
		v.text("place", t.Place)
		v.num("residue", t.Residue)
		v.text("paint", t.Paint)
		v.End()
	}
	v.End()
	v.Key("patches").Array()
	for _, p := range w.Patches {
		v.Object()
		v.text("panel", p.Panel)
		v.num("from", p.From)
		v.num("to", p.To)
		v.num("places", p.Places)
		v.text("seen", p.Seen)
		v.End()
	}
	v.End()
}

// asks are the questions of a stage with the latest answer to each.
func (v *writer) asks(st checklist.Stage, said []checklist.Asked) {
	v.Key("asks").Array()
	for _, key := range st.Asks {
		v.Object()
		v.text("key", key)
		v.text("text", checklist.QuestionOf(key))
		answer := ""
		for _, a := range said {
			if a.What == key {
				answer = a.Answer
			}
		}
		v.text("answer", answer)
		var choices []string
		for _, q := range checklist.Questions {
			if q.Key == key {
				choices = q.Choices
			}
		}
		v.texts("choices", choices)
		v.End()
	}
	v.End()
}
