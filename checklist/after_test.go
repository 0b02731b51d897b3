package checklist_test

import (
	"testing"

	"bayhold/checklist"

	"pgregory.net/rapid"
)

// TestClocksOpenNothingEarly: a stage that waits for the time since another is
// not open before the true end of that one plus the time, whatever interval
// the phone could vouch for, whatever was typed in, and whenever it is asked;
// and it does not wait longer than the interval makes it. The true times are
// known here because the test makes them up.
func TestClocksOpenNothingEarly(t *testing.T) {
	rules := checklist.DefaultRules()
	pairs := 0
	for _, r := range checklist.Routes {
		for _, st := range r.Stages {
			from, has := stageIn(r, st.From)
			if st.Clock == "" || !has {
				continue
			}
			pairs++
			t.Run(r.Key+"/"+st.Key, func(t *testing.T) {
				rapid.Check(t, func(t *rapid.T) { clockOpensNothingEarly(t, r, from, st, rules[st.Clock]) })
			})
		}
	}
	if pairs < 10 {
		t.Errorf("only %d stages with a clock", pairs)
	}
}

func clockOpensNothingEarly(t *rapid.T, r checklist.Route, from, st checklist.Stage, wait int64) {
	const slack = 40 * 60_000
	begin := clock("8:00")
	s := checklist.NewShop()
	add := func(log checklist.Log, seq uint64, span checklist.Span, body checklist.Body) {
		s.Add(checklist.Line{Log: log, ID: checklist.LineID{Writer: id("w"), Seq: seq}, Span: span, By: id("J"), Kind: body.Kind(), Body: body})
	}
	at := checklist.Span{Earliest: begin, Latest: begin}
	add(shopLog, 1, at, checklist.PersonAdd{Person: id("J"), Name: "J", Initials: "J", Role: "lead"})
	add(shopLog, 2, at, checklist.StepsSet{Hash: "two", Route: r.Key, Name: "Two steps", Steps: []checklist.Step{{Key: from.Key}, {Key: st.Key}}})
	panel := checklist.Panel{ID: "p", Name: "panel", Zone: "upper", Contour: true}
	add(jobLog, 1, at, checklist.JobOpen{Label: "V", Route: r.Key, Steps: "two", Panels: []checklist.Panel{panel}})
	add(jobLog, 2, at, checklist.FilmRoll{Family: "cast-print", Printed: true})

	// The act was at act; its phone could say no more than [earliest, latest].
	act := begin + rapid.Int64Range(0, 48*3_600_000).Draw(t, "act")
	span := checklist.Span{Earliest: act - rapid.Int64Range(0, slack).Draw(t, "before"), Latest: act + rapid.Int64Range(0, slack).Draw(t, "after")}
	target := ""
	if from.Per == checklist.PerPanel {
		target = "p"
	}
	var typed int64
	switch from.Proof {
	case checklist.ByTick:
		if rapid.Bool().Draw(t, "typed") {
			typed = act + rapid.Int64Range(-72*3_600_000, slack).Draw(t, "typed at")
		}
		add(jobLog, 3, span, checklist.Tick{Stage: from.Key, Panel: target, Answer: "done", At: typed})
	case checklist.BySigns:
		for i, as := range from.Signers {
			add(jobLog, uint64(3+i), span, checklist.Sign{What: from.What, As: as, Name: as})
		}
	default:
		t.Fatalf("no line for %s", from.Key)
	}

	asked := act + rapid.Int64Range(0, wait+2*slack).Draw(t, "asked")
	now := checklist.Span{Earliest: asked - rapid.Int64Range(0, slack).Draw(t, "now before"), Latest: asked + rapid.Int64Range(0, slack).Draw(t, "now after")}
	for _, g := range s.Gates(jobLog.ID, now) {
		if g.Stage != st.Key {
			continue
		}
		if g.State == checklist.Open && asked < act+wait {
			t.Fatalf("%s open %d ms early", st.Key, act+wait-asked)
		}
		if g.State == checklist.Waits && now.Earliest >= max(span.Latest, typed)+wait {
			t.Fatalf("%s still waits %d ms later than it needs", st.Key, now.Earliest-max(span.Latest, typed)-wait)
		}
	}
}
