package checklist_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"bayhold/checklist"
)

// after draws what may be written of a van from noon on, when its panels are
// laid and trimmed: heat, looks, readings, moves, setbacks, signatures, strikes.
func after(t *rapid.T, test *testing.T) []checklist.Line {
	w := laid(test)
	w.climate(bay1, "9:00", "1+6:00", float64(rapid.IntRange(13, 22).Draw(t, "air")), 40)
	base := len(w.lines)
	pick := func(of ...string) string { return rapid.SampledFrom(of).Draw(t, "of") }
	var own []checklist.LineID
	at := clock("12:05")
	for range rapid.IntRange(5, 40).Draw(t, "n") {
		at += rapid.Int64Range(0, 90).Draw(t, "minutes") * 60_000
		span := checklist.Span{Earliest: at, Latest: at}
		var log, body = jobLog, checklist.Body(nil)
		panel := pick("door", "side")
		switch rapid.IntRange(0, 9).Draw(t, "kind") {
		case 0, 1, 2:
			body = surfaces("contact", float64(rapid.IntRange(-1, 22).Draw(t, "upper")), float64(rapid.IntRange(13, 22).Draw(t, "lower")))
		case 3:
			body = checklist.Heat{Panel: panel, Length: 3_000_000, Films: []int64{rapid.Int64Range(80, 125).Draw(t, "film") * 1000}, Answer: pick("done", "part", "from-memory")}
		case 4:
			body = checklist.Tick{Stage: pick("edge-check", "trim", "refit", "lay", "wipe"), Panel: panel, Answer: pick("done", "done", "started", "not-done")}
		case 5:
			body = checklist.Setback{Cause: rapid.SampledFrom(checklist.Setbacks).Draw(t, "row").Cause, Panels: []string{panel}}
		case 6:
			body = checklist.JobMove{Place: rapid.SampledFrom([]checklist.ID{bay1.ID, yard.ID}).Draw(t, "to"), Wet: pick("no", "no", "yes", "unknown")}
		case 7:
			log, body = bay1, checklist.PlaceEvent{Cause: pick("heater-off", "door-open"), From: at, To: at + rapid.Int64Range(0, 3).Draw(t, "h")*3_600_000}
		case 8:
			body = checklist.Evidence{What: pick("risen", "trim-bags", "heat-look"), Panel: panel, Count: rapid.Int64Range(0, 4).Draw(t, "c"), Of: 40, Passed: true}
		case 9:
			if len(own) > 0 {
				w.line("M", span, jobLog, nil, rapid.SampledFrom(own).Draw(t, "struck"))
				w.lines[len(w.lines)-1].Kind = "strike"
				continue
			}
			body = checklist.Sign{What: "hand-over", As: pick("owner", "driver"), Name: "x"}
		}
		ref := w.line(pick("J", "R", "M"), span, log, body)
		if log == jobLog {
			own = append(own, ref)
		}
	}
	for i := range w.lines[base:] {
		w.lines[base+i].Order = uint64(i + 1)
	}
	return w.lines
}

// What follows laying is a fold over a set too: whatever the order in which
// lines come and whatever was asked in between, the answers are the same.
func TestOrderNeverMattersAfterLaying(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		lines := after(r, t)
		whole, mixed := checklist.NewShop(), checklist.NewShop()
		for _, l := range lines {
			whole.Add(l)
		}
		for i, l := range rapid.Permutation(lines).Draw(r, "order") {
			mixed.Add(l)
			if i%19 == 0 {
				answers(mixed, sharp(fmt.Sprintf("1+%d:00", i%18)))
			}
		}
		for _, at := range []string{"20:00", "1+6:00", "2+12:00"} {
			if a, b := answers(whole, sharp(at)), answers(mixed, sharp(at)); a != b {
				r.Fatalf("at %s\nin one go: %s\nmixed:     %s", at, a, b)
			}
		}
	})
}

// What is less certain never counts for more: with wider moments of readings,
// setbacks, heat and laying no more hours have counted, and no gate after laying
// that was shut is done.
func TestWiderIntervalsNeverRelease(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		lines := after(r, t)
		sure, unsure := checklist.NewShop(), checklist.NewShop()
		for _, l := range lines {
			sure.Add(l)
			switch l.Body.(type) {
			case checklist.Reading, checklist.Setback, checklist.Heat, checklist.JobMove:
				l.Span.Earliest -= rapid.Int64Range(0, 60).Draw(r, "earlier") * 60_000
				l.Span.Latest += rapid.Int64Range(0, 60).Draw(r, "later") * 60_000
			}
			unsure.Add(l)
		}
		for _, at := range []string{"20:00", "1+6:00", "1+14:00", "2+12:00"} {
			a, b := sure.Gates(jobLog.ID, sharp(at)), unsure.Gates(jobLog.ID, sharp(at))
			i := slices.IndexFunc(a, func(g checklist.Gate) bool { return g.Stage == "rest" })
			if b[i].Counted > a[i].Counted || b[i].State == checklist.Done && a[i].State != checklist.Done && strings.Contains(strings.Join(a[i].Causes, " "), "not-rested") {
				r.Fatalf("at %s wider moments count more\n%s", at, show([]checklist.Gate{a[i], b[i]}))
			}
		}
	})
}
