package checklist_test

import (
	"testing"

	"bayhold/checklist"
)

// Whoever does what the step to show asks for comes from check-in to the call
// back, and from old film to bare paint: no step leads nowhere, and none waits
// for something that nobody is told. What a step wants of a hand is written
// here by its proof; the numbers of the shop have no waits.
func TestNextLeadsToTheEnd(t *testing.T) {
	for _, c := range []struct{ route, last string }{{"van", "call-back"}, {"bus-side", "call-back"}, {"hood", "call-back"}, {"removal", "call-back"}} {
		t.Run(c.route, func(t *testing.T) {
			w := bare(t)
			rules := checklist.DefaultRules()
			for _, k := range []string{"degas", "laminate_rest", "film_in_bay", "settle_film", "dry_hours", "dry_hours_raw", "dry_hours_bus", "rest_hours", "recheck_after", "call_back", "primer_base"} {
				rules[k] = 0
			}
			w.add("4:00", shopLog, checklist.RulesSet{Hash: "set", Values: rules})
			o := vanV
			o.Route, o.Rules = c.route, "set"
			at := clock("6:00")
			say := func(who string, b checklist.Body) {
				at += 20_000
				w.line(who, checklist.Span{Earliest: at, Latest: at}, jobLog, b)
			}
			say("M", o)
			strips := []string{"sunny roof edge", "side", "repaired panel"}
			for range 120 {
				s, now := w.shop(), checklist.Span{Earliest: at + 10_000, Latest: at + 10_000}
				g := s.Next(jobLog.ID, now)
				st := stageOf(t, c.route, g.Stage)
				t.Logf("%-14s %-9s %-8v %-14s %s %s", g.Stage, g.Panel, g.State, g.Cause, w.text(g.Reason), w.text(g.WayOut))
				if g.Stage == c.last && (g.State == checklist.Done || st.Free) {
					return
				}
				tick := checklist.Tick{Stage: g.Stage, Panel: g.Panel, Zone: g.Zone, Answer: "done"}
				if g.Panel != "" {
					tick.Zone = ""
				}
				switch {
				case g.Ask != "":
					say("J", checklist.Reading{Values: []checklist.SpotValue{{Spot: g.Ask, Surface: 21_000}}, Instrument: "contact"})
				case g.Cause == "air-unknown":
					at += 20_000
					w.line("J", checklist.Span{Earliest: at, Latest: at}, bay1, checklist.ClimateReading{Air: 21_000, RH: 40_000})
				case g.Stage == "trim":
					tick.How = "tape"
					say("J", tick)
				case st.Proof == checklist.ByEdges:
					say("M", tick)
				case st.Tap():
					say("J", tick)
				case st.Proof == checklist.ByWalk || st.Proof == checklist.BySigns:
					for _, as := range st.Signers {
						say("M", checklist.Sign{What: st.What, As: as})
					}
				case st.Proof == checklist.BySurvey:
					say("J", checklist.Feature{Panel: g.Panel, ID: "1", Sort: "channel", Shape: "V", Width: 80_000, Depth: 15_000, Length: 2_400_000, Laid: "floor-first", Plan: "stretch"})
				case st.Proof == checklist.ByFilm:
					say("J", checklist.FilmRoll{Family: "cast", Laminate: "none", Adhesive: "permanent", Thickness: 50, Printed: true, Months: 60, Batch: "B"})
				case st.Proof == checklist.ByAnswers:
					for _, q := range st.Asks {
						say("J", checklist.Asked{What: q, Answer: "unknown"})
					}
				case st.Proof == checklist.ByTrials:
					say("J", checklist.Trial{Place: strips[0], Surface: 40_000, Angle: 150, Took: 8 * 60_000, Area: 90_000, Residue: 10_000, Paint: "sound"})
					strips = strips[1:]
				case st.Proof == checklist.ByHeat:
					say("J", checklist.Heat{Panel: g.Panel, Length: 2_400_000, Took: 4 * 60_000, Guns: 1, Films: []int64{95_000}, Instrument: "contact", Answer: "done"})
				case st.Proof == checklist.ByCount:
					say("M", checklist.Evidence{What: st.What, Of: 40, Count: 1, Passed: true})
				case st.Proof == checklist.ByPaint:
					say("J", checklist.Paint{Panels: []string{g.Panel}, Cure: "factory"})
				default:
					say("J", checklist.Evidence{What: st.What, Panel: g.Panel, Passed: true, Photo: "f"})
				}
			}
			t.Errorf("does not come to %s", c.last)
		})
	}
}

func stageOf(t *testing.T, route, key string) *checklist.Stage {
	t.Helper()
	r, ok := checklist.RouteOf(route)
	for i := range r.Stages {
		if ok && r.Stages[i].Key == key {
			return &r.Stages[i]
		}
	}
	t.Fatalf("route %s has no step %s", route, key)
	return nil
}
