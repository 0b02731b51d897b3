package checklist_test

import (
	"testing"

	"bayhold/checklist"
)

// Removal as the trade does it: common practice, no source.

var removalV = checklist.JobOpen{
	Label: "V", Route: "removal", Place: bay1.ID,
	Panels: []checklist.Panel{
		{ID: "side", Name: "left side", Zone: "upper", Area: 4_000_000},
		{ID: "door", Name: "rear door", Zone: "lower"},
	},
	Spots: []checklist.Spot{{ID: "1", Name: "shoulder", Zone: "upper"}, {ID: "2", Name: "rear left sill", Zone: "lower"}},
}

var (
	roofStrip = checklist.Trial{Place: "sunny roof edge", Surface: 62_000, Angle: 150, Speed: 500, Took: 14 * 60_000, Area: 90_000, Residue: 40_000, Paint: "sound"}
	sideStrip = checklist.Trial{Place: "side", Panel: "side", Surface: 54_000, Angle: 150, Speed: 1500, Took: 6 * 60_000, Area: 90_000, Residue: 10_000, Paint: "sound"}
	doorStrip = checklist.Trial{Place: "shaded door", Panel: "door", Surface: 42_000, Angle: 165, Speed: 250, Took: 9 * 60_000, Area: 90_000, Residue: 20_000, Paint: "sound"}
)

func removalWorld(t *testing.T, kind, age, paint string) *world {
	w := bare(t)
	w.add("5:00", jobLog, removalV)
	w.add("5:05", jobLog, checklist.Sign{What: "check-in", As: "owner"})
	for what, a := range map[string]string{"film-kind": kind, "film-age": age, "paint-history": paint, "fitted-by": "unknown"} {
		if a != "" {
			w.add("5:10", jobLog, checklist.Asked{What: what, Answer: a})
		}
	}
	return w
}

// tried is a removal with its strips pulled and its risk signed at 6:30.
func triedWorld(t *testing.T, kind, age string, strips ...checklist.Trial) *world {
	w := removalWorld(t, kind, age, "no")
	for _, s := range strips {
		w.add("6:00", jobLog, s)
	}
	w.add("6:30", jobLog, checklist.Sign{What: "removal-risk", As: "owner"})
	return w
}

func TestTrialStrips(t *testing.T) {
	w := removalWorld(t, "cast", "", "no")
	w.want("5:20", "old-film", "", checklist.Open, "ask-film-age")
	w.want("5:20", "trial-strips", "", checklist.Open, "trial-strips-first")
	w.want("5:20", "pull", "side", checklist.Held, "ask-film-age")
	w.add("5:21", jobLog, checklist.Asked{What: "film-age", Answer: "unknown"})
	w.want("5:22", "old-film", "", checklist.Done, "")
	w.add("6:00", jobLog, sideStrip)
	w.add("6:05", jobLog, doorStrip)
	w.want("6:06", "trial-strips", "", checklist.Open, "trials-few")
	// The same place again is not a third place, and a strip that nobody timed
	// tells no hours.
	w.add("6:10", jobLog, sideStrip)
	untimed := roofStrip
	untimed.Took = 0
	w.add("6:11", jobLog, untimed)
	w.want("6:12", "trial-strips", "", checklist.Open, "trials-few")
	third := doorStrip
	third.Place, third.Panel = "bonnet", ""
	w.add("6:13", jobLog, third)
	g := w.want("6:14", "trial-strips", "", checklist.Open, "trial-sun")
	if g.Reason != "No strip on a sunny edge yet." {
		t.Errorf("%q", g.Reason)
	}
	w.add("6:15", jobLog, roofStrip)
	w.want("6:16", "trial-strips", "", checklist.Done, "")
	w.want("6:16", "removal-risk", "", checklist.Open, "removal-risk-first")
	// A panel that was repainted has a strip of its own.
	w.add("6:17", jobLog, checklist.Finding{Panel: "door", What: "repaint", Walk: "check-in"})
	w.want("6:18", "trial-strips", "", checklist.Done, "")
	w.add("6:19", jobLog, checklist.Finding{Panel: "side", What: "repaint", Walk: "check-in"})
	w.want("6:20", "trial-strips", "", checklist.Done, "")
	v := removalWorld(t, "cast", "5 to 7 years", "no")
	for _, s := range []checklist.Trial{roofStrip, third, doorStrip} {
		v.add("6:00", jobLog, s)
	}
	v.add("6:01", jobLog, checklist.Finding{Panel: "side", What: "repaint", Walk: "check-in"})
	if g := v.want("6:02", "trial-strips", "", checklist.Open, "trial-repaint"); g.Reason != "left side was repainted: pull a strip there." {
		t.Errorf("%q", g.Reason)
	}
	// Repainted, the owner says, and nobody knows where.
	v = removalWorld(t, "cast", "5 to 7 years", "yes, by hand")
	for _, s := range []checklist.Trial{roofStrip, third, doorStrip} {
		v.add("6:00", jobLog, s)
	}
	v.want("6:02", "trial-strips", "", checklist.Open, "trial-repaint")
	repaired := sideStrip
	repaired.Place = "repaired panel"
	v.add("6:03", jobLog, repaired)
	v.want("6:04", "trial-strips", "", checklist.Done, "")
}

// 18 C through for film that takes heat, 70 F (21.1 C) for removable film in
// its time; the error of a contact probe, 0.5 K, is taken off once.
func TestWarmEnoughToPull(t *testing.T) {
	for _, c := range []struct {
		kind, age string
		surface   float64
		state     checklist.State
		cause     string
	}{
		{"cast", "5 to 7 years", 18.5, checklist.Open, "pull-first"},
		{"cast", "5 to 7 years", 18.49, checklist.Held, "cold"},
		{"removable", "under 1 year", 21.611, checklist.Open, "pull-first"},
		{"removable", "under 1 year", 21.6, checklist.Held, "cold"},
		{"removable", "1 to 3 years", 18.5, checklist.Open, "pull-first"}, // past its time: with heat
		{"unknown", "unknown", 18.5, checklist.Open, "pull-first"},
	} {
		w := triedWorld(t, c.kind, c.age, roofStrip, sideStrip, doorStrip)
		w.want("6:40", "pull", "side", checklist.NotKnown, "no-reading")
		w.climate(bay1, "5:00", "8:00", 20, 40)
		w.add("7:00", jobLog, surfaces("contact", c.surface, 25))
		w.want("7:01", "pull", "side", c.state, c.cause)
		w.want("8:01", "pull", "side", checklist.NotKnown, "reading-old")
	}
	// Begun is begun: that it cools meanwhile is mended by the gun.
	w := triedWorld(t, "cast", "5 to 7 years", roofStrip, sideStrip, doorStrip)
	w.climate(bay1, "5:00", "9:00", 20, 40)
	w.add("7:00", jobLog, surfaces("contact", 19, 25))
	w.add("7:05", jobLog, checklist.Tick{Stage: "pull", Panel: "side", Answer: "started"})
	w.want("8:30", "pull", "side", checklist.Open, "pull-begun")
	// Risk before heat: without the signature nothing is pulled.
	w = removalWorld(t, "cast", "5 to 7 years", "no")
	for _, s := range []checklist.Trial{roofStrip, sideStrip, doorStrip} {
		w.add("6:00", jobLog, s)
	}
	w.add("7:00", jobLog, surfaces("contact", 19, 25))
	w.want("7:01", "pull", "side", checklist.Held, "removal-risk-first")
}

// Paint that peels at a strip stops the pulling: the owner signs the risk as it
// is now, and the lead says go. Or the owner leaves the old film on.
func TestPaintPeelsAtTheStrip(t *testing.T) {
	peeled := sideStrip
	peeled.Paint = "peeled"
	w := triedWorld(t, "cast", "5 to 7 years", roofStrip, sideStrip, doorStrip)
	w.add("6:50", jobLog, peeled)
	w.climate(bay1, "5:00", "9:00", 20, 40)
	w.add("7:00", jobLog, surfaces("contact", 20, 25))
	g := w.want("7:01", "trial-strips", "", checklist.Done, "")
	if g.Reason != "Stop: paint peeled at the strip, side." {
		t.Errorf("%q", g.Reason)
	}
	w.want("7:01", "pull", "side", checklist.Held, "removal-risk-first") // signed before it peeled
	w.add("7:02", jobLog, checklist.Sign{What: "removal-risk", As: "owner"})
	g = w.want("7:03", "pull", "side", checklist.Held, "trial-peeled")
	if g.WayOut != "Owner signs the risk and the lead says go." {
		t.Errorf("%q", g.WayOut)
	}
	w.want("7:03", "pull", "door", checklist.Open, "pull-first")
	w.as("M", "7:04", jobLog, checklist.Waiver{Stage: "pull", Panel: "side", Causes: g.Causes, Sentence: "Owner was here, he knows."})
	if g := w.want("7:05", "pull", "side", checklist.Open, "trial-peeled"); !g.Waived {
		t.Error("not by the waiver")
	}
	w.add("7:06", jobLog, checklist.Tick{Stage: "pull", Panel: "side", Answer: "done"})
	w.want("7:07", "pull", "side", checklist.Done, "")
	// Left on: the owner's no to what was found at the strip.
	w.as("J", "7:10", jobLog, checklist.Finding{Panel: "door", What: "peeling", Walk: "trial"})
	f := w.lines[len(w.lines)-1].ID
	w.as("M", "7:11", jobLog, checklist.FindingAnswer{Finding: f, Answer: "declined"})
	if g := w.want("7:12", "pull", "door", checklist.Done, ""); g.Reason != "Old film stays: owner said so." {
		t.Errorf("%q", g.Reason)
	}
	w.want("7:12", "adhesive-off", "door", checklist.Done, "")
	w.want("7:12", "lay", "door", checklist.Held, "bare")
}

// pulledWorld has both panels pulled and clean at 9:00, and a chip that was
// pinned as it happened.
func pulledWorld(t *testing.T) (*world, checklist.LineID) {
	w := triedWorld(t, "cast", "5 to 7 years", roofStrip, sideStrip, doorStrip)
	w.climate(bay1, "5:00", "1+16:00", 20, 40)
	w.add("7:00", jobLog, surfaces("contact", 20, 25))
	w.add("7:30", jobLog, checklist.Tick{Stage: "pull", Panel: "side", Answer: "done"})
	chip := w.add("7:40", jobLog, checklist.Finding{Panel: "door", What: "chip", Walk: "pull", Photo: "aa"})
	w.want("7:41", "pull", "door", checklist.Open, "pull-first") // pinned, and it goes on
	w.add("8:00", jobLog, checklist.Tick{Stage: "pull", Panel: "door", Answer: "done"})
	w.want("8:01", "adhesive-off", "door", checklist.Open, "adhesive-off-first")
	w.add("8:30", jobLog, checklist.Tick{Stage: "adhesive-off", Panel: "side", Answer: "done"})
	w.add("8:40", jobLog, checklist.Evidence{What: "palm-drag", Panel: "door", Passed: false})
	if g := w.want("8:41", "adhesive-off", "door", checklist.Open, "palm-drag-failed"); g.Reason != "A glove still grabs on rear door." {
		t.Errorf("%q", g.Reason)
	}
	w.want("8:41", "bare-paint", "", checklist.Held, "palm-drag-failed")
	w.add("9:00", jobLog, checklist.Evidence{What: "palm-drag", Panel: "door", Passed: true})
	w.want("9:01", "adhesive-off", "door", checklist.Done, "")
	w.want("9:01", "adhesive-off", "side", checklist.Done, "")
	return w, chip
}

func TestBarePaintBeforeTheWash(t *testing.T) {
	w, chip := pulledWorld(t)
	w.want("9:05", "wash", "", checklist.Held, "finding")
	w.add("9:10", jobLog, checklist.Sign{What: "bare-paint", As: "installer"})
	w.add("9:10", jobLog, checklist.Sign{What: "bare-paint", As: "owner"})
	w.want("9:11", "bare-paint", "", checklist.Held, "finding") // pinned while pulling: nobody answered
	w.want("9:11", "wash", "", checklist.Held, "finding")
	w.as("M", "9:12", jobLog, checklist.FindingAnswer{Finding: chip, Answer: "accepted"})
	w.want("9:13", "bare-paint", "", checklist.Done, "")
	w.want("9:13", "wash", "", checklist.Open, "wash-first")
	// A glove that grabs after the tick asks for more remover.
	w.add("9:20", jobLog, checklist.Evidence{What: "palm-drag", Panel: "side", Passed: false})
	w.want("9:21", "adhesive-off", "side", checklist.Open, "palm-drag-failed")
}

// Hours count from the wash on, whatever the vehicle stood before: twelve hours
// after a wash at 10:00 and not sooner.
func TestRemovalDriesFromZero(t *testing.T) {
	w, chip := pulledWorld(t)
	w.as("M", "9:12", jobLog, checklist.FindingAnswer{Finding: chip, Answer: "accepted"})
	w.probes("5:00", "22:00", 19, 19)
	w.want("9:30", "dry", "upper", checklist.Held, "not-washed")
	w.add("10:00", jobLog, checklist.Tick{Stage: "wash", Answer: "done"})
	w.add("10:00", jobLog, checklist.Evidence{What: "blown-out", Passed: true})
	if g := w.want("21:50", "dry", "upper", checklist.Waits, "not-dry"); g.Counted != 11*3_600_000+50*60_000 {
		t.Errorf("counted %d", g.Counted)
	}
	w.want("22:00", "dry", "upper", checklist.Done, "")
}

// Paint that was lost and touched up is fresh paint: its history, a patch and a
// tape pull hold the wipe of that panel, and of no other.
func TestTouchedUp(t *testing.T) {
	w, chip := pulledWorld(t)
	for _, g := range w.at("9:10").Gates(jobLog.ID, sharp("9:10")) {
		if g.Stage == "paint" || g.Stage == "patch-test" || g.Stage == "tape-pull" {
			t.Errorf("nothing was touched up: %s", show([]checklist.Gate{g}))
		}
	}
	// A line about the whole vehicle from check-in says nothing of the touch-up.
	w.add("9:11", jobLog, checklist.Paint{Cure: "factory", Thickness: []int64{120}})
	w.as("M", "9:12", jobLog, checklist.FindingAnswer{Finding: chip, Answer: "repaired"})
	w.add("9:13", jobLog, checklist.Sign{What: "bare-paint", As: "installer"})
	w.add("9:13", jobLog, checklist.Sign{What: "bare-paint", As: "owner"})
	g := w.want("9:14", "paint", "door", checklist.Open, "paint-unknown")
	if g.Reason != "Rear door was touched up: how was it cured?" {
		t.Errorf("%q", g.Reason)
	}
	holds := func(at, panel, cause string) bool {
		for _, c := range w.gate(at, "wipe", panel).Causes {
			if c == cause {
				return true
			}
		}
		return false
	}
	if !holds("9:14", "door", "paint-unknown") || !holds("9:14", "door", "no-patch") || !holds("9:14", "door", "tape-pull-first") || holds("9:14", "side", "paint-unknown") {
		t.Errorf("door %v, side %v", w.gate("9:14", "wipe", "door").Causes, w.gate("9:14", "wipe", "side").Causes)
	}
	w.add("9:20", jobLog, checklist.Paint{Panels: []string{"door"}, Cure: "air-dried", Painted: clock("9:10")})
	g = w.want("1+9:10", "paint", "door", checklist.Waits, "paint-wait")
	if g.Needed != 21*dayMs || g.Counted != dayMs {
		t.Errorf("%d of %d", g.Counted, g.Needed)
	}
}

func TestRemovalFacts(t *testing.T) {
	w := triedWorld(t, "cast", "5 to 7 years", roofStrip, sideStrip, doorStrip)
	w.add("6:40", jobLog, checklist.Finding{Panel: "door", What: "repaint", Walk: "check-in"})
	f, ok := w.at("7:00").Removal(jobLog.ID, sharp("7:00"))
	if !ok || f.Strips != 3 || f.Peeled || f.Unmeasured != 1 {
		t.Fatalf("%+v", f)
	}
	// The side took 6 min for 0.09 m2, so its 4 m2 take 4/0.09 x 6 = 266 min
	// 40 s; the door was not measured. A square metre takes 66 min 40 s at the
	// side's pace and 155 min 33 s at the roof's.
	if f.Low != 16_000_000 || f.High != 16_000_000 || f.Per != 4_000_000 || f.PerTo/1000 != 9_333 {
		t.Errorf("%d to %d, a square metre %d to %d", f.Low, f.High, f.Per, f.PerTo)
	}
	if f.Residue != 10_000 || f.To != 40_000 || f.Best == nil || f.Best.Place != "side" {
		t.Errorf("%+v", f)
	}
	if f.Panels[0].Method.Key != "cast-old" || f.Panels[1].Method.Key != "repaint" {
		t.Errorf("%s, %s", f.Panels[0].Method.Key, f.Panels[1].Method.Key)
	}
}
