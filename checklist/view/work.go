package view

import (
	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/checklist/rest"
)

// work is what a hand has measured, typed and heated, for the forms that go
// on from there: the bodies as they are kept, in hex. The page reads them; a
// second way of writing every field would weigh more than all of them.
func (v *writer) work(j checklist.JobFacts) {
	v.Key("work").Array()
	for _, kind := range [...]string{"film", "feature", "heat", "patch"} {
		for _, b := range v.s.Standing(j.ID, kind) {
			v.String(kind)
			v.String(hexText(line.Encode(b)))
		}
	}
	v.End()
}

// facts are what the core makes of a panel's film and of what was measured on
// it.
func (v *writer) facts(j checklist.JobFacts, panel string) {
	f, _ := v.s.PanelFacts(j.ID, panel, v.r.Now)
	v.text("rating", f.Rating)
	v.text("why", f.Why)
	v.Key("facts").Array()
	for i := range f.Features {
		x := &f.Features[i]
		if !x.Known {
			continue
		}
		v.Object()
		v.text("id", x.Feature.ID)
		v.text("bridged", x.Bridged)
		v.text("floor", x.Floor)
		v.text("verdict", x.Verdict)
		v.text("primer", x.Primer)
		v.flag("look", x.Look)
		v.flag("near", x.Near)
		v.End()
	}
	v.End()
}

// care is what the film must not see before when, counted from the laying of
// the last panel; nothing while none is laid.
func (v *writer) care(j checklist.JobFacts) {
	v.Key("care").Array()
	laid := int64(0)
	for _, p := range j.Open.Panels {
		if c := v.s.Claim(j.ID, "lay", p.ID, "", v.r.Now); c.State == checklist.GoodClaim && !c.Started {
			laid = max(laid, c.At.Latest)
		}
	}
	for i := range rest.Table {
		if laid == 0 {
			break
		}
		from, better := rest.Table[i].From(laid)
		v.Object()
		v.text("key", rest.Table[i].Key)
		v.num("from", from)
		v.num("better", better)
		v.End()
	}
	v.End()
}

// asks are the questions of a stage with the latest answer to each.
func (v *writer) asks(st checklist.Stage, said []checklist.Body) {
	v.Key("asks").Array()
	for _, key := range st.Asks {
		v.Object()
		v.text("key", key)
		answer := ""
		for _, a := range said {
			if a := a.(checklist.Asked); a.What == key {
				answer = a.Answer
			}
		}
		v.text("answer", answer)
		for _, q := range checklist.Questions {
			if q.Key == key {
				v.text("text", q.Text)
				v.texts("choices", q.Choices)
			}
		}
		v.End()
	}
	v.End()
}

func hexText(b []byte) string {
	const hex = "0123456789abcdef"
	text := make([]byte, 0, 2*len(b))
	for _, x := range b {
		text = append(text, hex[x>>4], hex[x&15])
	}
	return string(text)
}
