package checklist_test

import (
	"testing"

	"bayhold/checklist"
)

// One test per row of the setback table: what the event does to a vehicle that
// is dry, wiped and primed, and what mends it. Common practice from memory, no
// source.
func TestSetbackRows(t *testing.T) {
	const (
		keeps = iota
		wipe  // the final wipe is spoiled
		both  // wipe and primer are
		prime // the primer alone
	)
	rows := []struct {
		cause  string
		panels []string // of a job's setback
		upper  int      // what happens to the left shoulder (upper zone; it has no primer)
		lower  int      // and to the left sill (lower zone, primed)
		dryUp  string   // cause that holds the hours of the upper zone then, "" if they stand
		dryLow string
		wash   bool // the wash is spoiled too
		within bool // surface readings from before vouch for 15 minutes only
	}{
		{cause: "rain", upper: wipe, lower: both, dryUp: "not-washed", dryLow: "not-washed", wash: true},
		{cause: "wet-again", panels: []string{"sill"}, lower: both, dryLow: "not-dry"},
		{cause: "wet-again", upper: wipe, lower: both, dryUp: "not-dry", dryLow: "not-dry"},
		{cause: "cold-outside", upper: wipe, lower: wipe},
		{cause: "door-open", upper: wipe, lower: wipe, within: true},
		{cause: "wash-near", within: true},
		{cause: "water-tracked-in", lower: both, dryLow: "water-tracked-in"},
		{cause: "heater-off", within: true},
		{cause: "heater-lit", within: true},
		{cause: "flame-heater", within: true},
		{cause: "lunch", upper: wipe, lower: wipe},
		{cause: "touched", panels: []string{"shoulder"}, upper: wipe},
		{cause: "touched", panels: []string{"sill"}, lower: both},
		{cause: "silicone", upper: wipe, lower: both},
		{cause: "dust", upper: wipe, lower: both},
		{cause: "oily-air", panels: []string{"sill"}, lower: wipe, dryLow: "not-dry"},
		{cause: "wrong-rag", panels: []string{"shoulder"}, upper: wipe},
		{cause: "drip", panels: []string{"sill"}, lower: both, dryLow: "drip"},
		{cause: "engine-run", lower: wipe},
		{cause: "primer-spoiled", panels: []string{"sill"}, lower: prime},
		{cause: "film-cold", panels: []string{"sill"}},
		{cause: "film-wet", panels: []string{"sill"}},
		{cause: "panel-spoiled", panels: []string{"sill"}, lower: both},
		{cause: "film-lifted", panels: []string{"sill"}},
		{cause: "moved-at-rest"},
		{cause: "trim-refitted", panels: []string{"sill"}},
	}
	tested := map[string]bool{"sweat": true} // see TestSweating: nobody taps it
	for _, r := range rows {
		tested[r.cause] = true
		t.Run(r.cause, func(t *testing.T) {
			w := ready(t)
			w.climate(bay1, "18:00", "18:30", 20, 40)
			w.add("18:01", jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
			w.add("18:01", jobLog, checklist.Tick{Stage: "wipe", Panel: "sill", Answer: "done"})
			w.add("18:02", jobLog, checklist.Tick{Stage: "primer", Panel: "sill", Answer: "done"})
			w.want("18:10", "lay", "shoulder", checklist.Open, "lay-first")
			w.want("18:10", "lay", "sill", checklist.Open, "lay-first")

			row, ok := checklist.SetbackOf(r.cause)
			if !ok {
				t.Fatal("no such row")
			}
			from, to := clock("18:10"), clock("18:16")
			if row.Where == checklist.WherePlace {
				w.line("R", sharp("18:10"), bay1, checklist.PlaceEvent{Cause: r.cause, From: from})
				w.line("R", sharp("18:16"), bay1, checklist.PlaceEvent{Cause: r.cause, From: from, To: to})
			} else {
				w.line("R", sharp("18:16"), jobLog, checklist.Setback{Cause: r.cause, Panels: r.panels, From: from})
			}
			spoiled := func(panel, stage string, want bool) {
				t.Helper()
				s := w.shop()
				c := s.Claim(jobLog.ID, stage, panel, "", sharp("18:17"))
				if got := c.State == checklist.SpoiledClaim; got != want {
					t.Errorf("%s of %s: %v", stage, panel, c.State)
				}
				if want && c.Cause != r.cause {
					t.Errorf("%s of %s spoiled by %q", stage, panel, c.Cause)
				}
			}
			spoiled("shoulder", "wipe", r.upper == wipe || r.upper == both)
			spoiled("sill", "wipe", r.lower == wipe || r.lower == both)
			spoiled("sill", "primer", r.lower == prime || r.lower == both)
			spoiled("", "wash", r.wash)
			dry := func(zone, cause string) {
				t.Helper()
				g := w.gate("18:17", "dry", zone)
				if g.Cause != cause || (cause == "") != (g.State == checklist.Done) {
					t.Errorf("dry %s: %s", zone, show([]checklist.Gate{g}))
				}
			}
			dry("upper", r.dryUp)
			dry("lower", r.dryLow)
			// A reading of 18:00 is good until 19:00, or 15 minutes past the
			// beginning of what disturbed the air.
			g := w.gate("18:24", "window", "lower")
			h := w.gate("18:25", "window", "lower")
			if r.within {
				if g.State != checklist.Open || h.State != checklist.NotKnown || h.Ask != "2" {
					t.Errorf("window: %s", show([]checklist.Gate{g, h}))
				}
			} else if h.State != checklist.Open {
				t.Errorf("window: %s", show([]checklist.Gate{h}))
			}
		})
	}
	for _, row := range checklist.Setbacks {
		if !tested[row.Cause] {
			t.Errorf("no test for %s", row.Cause)
		}
	}
}

func TestDoorUnderFiveMinutes(t *testing.T) {
	w := ready(t)
	w.climate(bay1, "18:00", "18:30", 20, 40)
	w.add("18:01", jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
	w.add("18:10", bay1, checklist.PlaceEvent{Cause: "door-open"})
	// While it stands open nobody knows for how long it will.
	w.want("18:15", "lay", "shoulder", checklist.Open, "lay-first")
	w.want("18:16", "lay", "shoulder", checklist.Held, "door-open")
	w.add("18:14", bay1, checklist.PlaceEvent{Cause: "door-open", To: clock("18:14")})
	w.want("18:16", "lay", "shoulder", checklist.Open, "lay-first")
	// Five minutes and not more is the edge.
	w.add("18:16", bay1, checklist.PlaceEvent{Cause: "door-open", From: clock("18:16"), To: clock("18:21")})
	w.want("18:21", "lay", "shoulder", checklist.Open, "lay-first")
	w.add("18:21", bay1, checklist.PlaceEvent{Cause: "door-open", From: clock("18:16"), To: clock("18:21") + 1})
	w.want("18:22", "lay", "shoulder", checklist.Held, "door-open")
	// Wiped after it was shut is wiped.
	w.add("18:23", jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
	w.want("18:24", "lay", "shoulder", checklist.Open, "lay-first")
}

// What spreads through the air reaches a bay for as long as it shares air with
// the place, also by way of a third.
func TestSharedAir(t *testing.T) {
	bay3 := checklist.Log{Class: checklist.PlaceLog, ID: id("bay 3")}
	begin := func(share bool) *world {
		w := ready(t)
		w.climate(bay1, "18:00", "19:00", 20, 40)
		w.probes("18:10", "19:00", 19, 19)
		w.add("18:02", shopLog, checklist.PlaceAdd{Place: bay3.ID, Name: "Bay 3", Sort: "bay"})
		if share {
			w.add("18:02", shopLog, checklist.AirShared{Places: []checklist.ID{bay1.ID, bay2.ID}, From: clock("18:02")})
			w.add("18:02", shopLog, checklist.AirShared{Places: []checklist.ID{bay2.ID, bay3.ID}, From: clock("18:02")})
		}
		w.add("18:03", jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
		return w
	}
	w := begin(false)
	w.add("18:05", bay2, checklist.PlaceEvent{Cause: "silicone"})
	w.want("18:10", "lay", "shoulder", checklist.Open, "lay-first")
	for _, from := range []checklist.Log{bay2, bay3} {
		w = begin(true)
		w.add("18:05", from, checklist.PlaceEvent{Cause: "silicone"})
		w.want("18:10", "lay", "shoulder", checklist.Held, "silicone")
	}
	// A heater that trips next door is no matter.
	w = begin(true)
	w.add("18:05", bay2, checklist.PlaceEvent{Cause: "heater-off"})
	w.want("18:10", "lay", "shoulder", checklist.Open, "lay-first")
	// After the curtain is shut nothing spreads.
	w = begin(true)
	w.add("18:04", shopLog, checklist.AirShared{Places: []checklist.ID{bay1.ID, bay2.ID}, From: clock("18:02"), To: clock("18:04")})
	w.add("18:05", bay3, checklist.PlaceEvent{Cause: "silicone"})
	w.want("18:10", "lay", "shoulder", checklist.Open, "lay-first")
	if got := w.shop().SharedAir(sharp("18:10")); len(got) != 1 || len(got[0]) != 2 {
		t.Errorf("shared air: %v", got)
	}
}

// A strike takes a line back wherever it comes, and cannot be struck itself.
func TestStrikes(t *testing.T) {
	w := ready(t)
	w.climate(bay1, "18:00", "19:00", 20, 40)
	w.add("18:01", jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
	set := w.add("18:05", jobLog, checklist.Setback{Cause: "touched", Panels: []string{"shoulder"}})
	w.want("18:06", "lay", "shoulder", checklist.Held, "touched")
	undo := w.line("J", sharp("18:06"), jobLog, nil, set)
	w.want("18:07", "lay", "shoulder", checklist.Open, "lay-first")
	w.line("J", sharp("18:07"), jobLog, nil, undo)
	w.want("18:08", "lay", "shoulder", checklist.Open, "lay-first")
	// The strike first, its target later.
	s := checklist.NewShop()
	for i := len(w.lines) - 1; i >= 0; i-- {
		s.Add(w.lines[i])
	}
	if g := pick(t, s.Gates(jobLog.ID, sharp("18:08")), "lay", "shoulder"); g.State != checklist.Open {
		t.Error(show([]checklist.Gate{g}))
	}
	if l, _ := s.Line(jobLog, set); !l.Struck {
		t.Error("not shown as struck")
	}
	if l, _ := s.Line(jobLog, undo); l.Struck {
		t.Error("a strike was struck")
	}
}
