package checklist_test

import (
	"slices"
	"strings"
	"testing"

	"bayhold/checklist"
)

// printWorld is a van that is washed and looked over, whose film is printed in
// the shop at 6:00. The hours are those of TRADE 1a and its schedule: degas 24,
// laminate rest 12, in the bay 12 (common practice, no source).
func printWorld(t *testing.T) *world {
	w := filmWorld(t)
	w.add("5:05", jobLog, checklist.Sign{What: "check-in", As: "owner", Name: "an owner"})
	w.add("5:06", jobLog, tick("strip", ""))
	w.add("5:07", jobLog, tick("wash", ""))
	w.add("5:08", jobLog, checklist.Sign{What: "inspection", As: "installer", Name: "J"})
	w.add("5:08", jobLog, checklist.Sign{What: "inspection", As: "owner", Name: "an owner"})
	f := fitFor("cast-print")
	f.Printed = true
	w.add("5:20", jobLog, f)
	w.add("6:00", jobLog, tick("print", ""))
	return w
}

func tick(stage, panel string) checklist.Tick {
	return checklist.Tick{Stage: stage, Panel: panel, Answer: "done"}
}

// until is the moment at which a gate says that it opens.
func (w *world) until(at, stage, target, cause, until string) checklist.Gate {
	w.t.Helper()
	g := w.want(at, stage, target, checklist.Waits, cause)
	if g.Until != clock(until) {
		w.t.Errorf("%s %s %s: until %s, want %s", at, stage, target, unmark("⟨t:"+show([]checklist.Gate{g})), until)
	}
	return g
}

func TestPrintChain(t *testing.T) {
	w := printWorld(t)
	w.until("7:00", "laminate", "", "laminate-early", "1+6:00")
	w.want("1+6:00", "laminate", "", checklist.Open, "laminate-first")
	w.add("1+7:00", jobLog, tick("laminate", ""))
	w.until("1+8:00", "film-in", "", "film-in-early", "1+19:00")
	w.add("1+20:00", jobLog, tick("film-in", ""))
	w.until("1+21:00", "dry-fit", "door", "dry-fit-early", "2+8:00")
	w.want("2+8:00", "dry-fit", "door", checklist.Open, "dry-fit-first")

	t.Run("typed times only delay", func(t *testing.T) {
		w := printWorld(t)
		b := tick("laminate", "")
		b.At = clock("1+6:30")
		w.add("1+10:00", jobLog, b)
		// Said to be of 6:30, written at 10:00: the rest counts from 10:00.
		w.until("1+11:00", "film-in", "", "film-in-early", "1+22:00")
		w = printWorld(t)
		b = tick("film-in", "")
		b.At = clock("1+19:00")
		w.add("1+7:00", jobLog, tick("laminate", ""))
		w.add("2+6:00", jobLog, b)
		w.until("2+7:00", "dry-fit", "door", "dry-fit-early", "2+18:00")
	})
	t.Run("brought in before its rest was over", func(t *testing.T) {
		w := printWorld(t)
		w.add("1+7:00", jobLog, tick("laminate", ""))
		w.add("1+9:00", jobLog, tick("film-in", ""))
		w.until("1+10:00", "film-in", "", "film-in-early", "1+19:00")
		w.want("1+19:00", "film-in", "", checklist.Done, "")
		// Twelve hours in the bay after twelve of rest.
		w.until("1+20:00", "dry-fit", "door", "dry-fit-early", "2+7:00")
	})
	t.Run("fitted cold", func(t *testing.T) {
		w := printWorld(t)
		w.add("1+7:00", jobLog, tick("laminate", ""))
		w.add("1+20:00", jobLog, tick("film-in", ""))
		w.add("1+21:00", jobLog, tick("dry-fit", "door"))
		w.add("1+21:00", jobLog, tick("dry-fit", "roof"))
		w.until("1+22:00", "dry-fit", "door", "dry-fit-early", "2+8:00")
		if g := w.gate("1+22:00", "lay", "door"); !slices.Contains(g.Causes, "dry-fit-early") {
			t.Error(show([]checklist.Gate{g}))
		}
		w.want("2+8:00", "dry-fit", "door", checklist.Done, "")
	})
}

// TestLaminatedWet: failure 11 of TRADE Table 3, by the two stamps (common
// practice, no source). It cannot be repaired on the vehicle.
func TestLaminatedWet(t *testing.T) {
	w := printWorld(t)
	w.add("12:00", jobLog, tick("laminate", ""))
	g := w.want("3+6:00", "laminate", "", checklist.Held, "film-wet")
	if unmark(g.Reason) != "Laminate: sooner than 24.0 h after Print." || g.WayOut != "Print it again: it cannot be saved on the vehicle." {
		t.Error(show([]checklist.Gate{g}))
	}
	for _, stage := range []string{"film-in", "dry-fit", "lay"} {
		if g := w.gate("3+6:00", stage, ""); g.State != checklist.Held || g.Cause != "film-wet" && !slices.Contains(g.Causes, "film-wet") {
			t.Error(show([]checklist.Gate{g}))
		}
	}
	// Printed again, it goes its way from the beginning.
	w.add("3+7:00", jobLog, tick("print", ""))
	w.until("3+8:00", "laminate", "", "laminate-early", "4+7:00")
	w.add("4+8:00", jobLog, tick("laminate", ""))
	w.want("4+9:00", "laminate", "", checklist.Done, "")

	// Stamps that leave it open are not taken for good; the lead may vouch.
	w = printWorld(t)
	b := tick("laminate", "")
	b.At = clock("1+5:00")
	w.add("1+7:00", jobLog, b)
	g = w.want("1+8:00", "laminate", "", checklist.Held, "film-wet")
	if unmark(g.Reason) != "Laminate: not surely 24.0 h after Print." || g.WayOut != "Lead: vouch for the times, or print it again." {
		t.Error(show([]checklist.Gate{g}))
	}
	w.as("M", "1+8:30", jobLog, checklist.Waiver{Stage: "laminate", Causes: []string{"film-wet"}, Sentence: "I stood beside it."})
	w.until("1+9:00", "film-in", "", "film-in-early", "1+19:00")
}

// TestNoDegasIsNeverEarly: where the shop's number is none, two stamps that
// nobody can put in order hold nothing.
func TestNoDegasIsNeverEarly(t *testing.T) {
	w := filmWorld(t)
	f := sheet(fitFor("cast-print"), "degas", 0)
	f.Printed = true
	w.add("5:20", jobLog, f)
	w.line("J", checklist.Span{Earliest: clock("6:00"), Latest: clock("6:10")}, jobLog, tick("print", ""))
	w.line("R", checklist.Span{Earliest: clock("6:05"), Latest: clock("6:12")}, jobLog, tick("laminate", ""))
	w.want("6:20", "laminate", "", checklist.Done, "")
}

// TestPanelSpoiled: a spoiled panel is printed again, by itself and with clocks
// of its own, and the others go on.
func TestPanelSpoiled(t *testing.T) {
	w := printWorld(t)
	w.add("1+7:00", jobLog, tick("laminate", ""))
	w.add("1+20:00", jobLog, tick("film-in", ""))
	w.add("2+9:00", jobLog, tick("dry-fit", "door"))
	w.add("2+9:00", jobLog, tick("dry-fit", "roof"))
	w.add("2+9:45", jobLog, tick("wipe", "door"))
	w.add("2+10:00", jobLog, tick("lay", "door"))
	w.want("2+10:30", "lay", "door", checklist.Done, "")
	before := len(w.at("2+10:30").Gates(jobLog.ID, sharp("2+10:30")))
	w.add("2+11:00", jobLog, checklist.Setback{Cause: "panel-spoiled", Panels: []string{"door"}})
	now := "2+11:30"
	if n := len(w.at(now).Gates(jobLog.ID, sharp(now))); n != before+3 {
		t.Errorf("%d gates, %d before: print, laminate and film-in of the door are to come", n, before)
	}
	for _, stage := range []string{"print", "laminate", "film-in"} {
		for _, g := range w.at(now).Gates(jobLog.ID, sharp(now)) {
			if g.Stage == stage && g.Panel == "" && g.State != checklist.Done {
				t.Error(show([]checklist.Gate{g}))
			}
		}
	}
	g := w.want(now, "print", "door", checklist.Open, "panel-spoiled")
	if unmark(g.Reason) != "Print again: panel spoiled at Thu 11:00." || g.WayOut != "Print that panel again; the others go on." {
		t.Error(show([]checklist.Gate{g}))
	}
	if g := w.gate(now, "lay", "door"); g.State != checklist.Held || !strings.Contains(strings.Join(g.Causes, " "), "panel-spoiled") {
		t.Error(show([]checklist.Gate{g}))
	}
	for _, stage := range []string{"dry-fit", "wipe", "lay"} {
		if g := w.gate(now, stage, "roof"); slices.Contains(g.Causes, "panel-spoiled") || slices.Contains(g.Causes, "fit-all") || stage == "dry-fit" && g.State != checklist.Done {
			t.Error(show([]checklist.Gate{g}))
		}
	}
	w.add("2+12:00", jobLog, tick("print", "door"))
	w.until("2+13:00", "laminate", "door", "laminate-early", "3+12:00")
	w.add("3+12:30", jobLog, tick("laminate", "door"))
	w.until("3+13:00", "film-in", "door", "film-in-early", "4+0:30")
	w.add("4+1:00", jobLog, tick("film-in", "door"))
	w.until("4+2:00", "dry-fit", "door", "dry-fit-early", "4+13:00")
	w.want("4+2:00", "dry-fit", "roof", checklist.Done, "")
	w.add("4+13:00", jobLog, tick("dry-fit", "door"))
	w.want("4+14:00", "dry-fit", "door", checklist.Done, "")
	if g := w.gate("4+14:00", "wipe", "door"); slices.Contains(g.Causes, "panel-spoiled") && g.Cause != "panel-spoiled" {
		t.Error(show([]checklist.Gate{g}))
	}
	w.add("4+14:45", jobLog, tick("wipe", "door"))
	w.add("4+15:00", jobLog, tick("lay", "door"))
	w.want("4+15:30", "lay", "door", checklist.Done, "")
	w.want("4+15:30", "film-in", "door", checklist.Done, "")

	// A whole film that was spoiled is printed again as a whole.
	w.add("4+16:00", jobLog, checklist.Setback{Cause: "film-wet"})
	w.want("4+16:30", "print", "", checklist.Open, "film-wet")
}

// TestColdFilm: a roll from the cold store is brought in again, and waits its
// hours again (TRADE Table 0: 12 to 24 h in the bay; common practice, no
// source). What was printed stays printed.
func TestColdFilm(t *testing.T) {
	w := printWorld(t)
	w.add("1+7:00", jobLog, tick("laminate", ""))
	w.add("1+20:00", jobLog, tick("film-in", ""))
	w.want("2+9:00", "dry-fit", "roof", checklist.Open, "dry-fit-first")
	w.add("2+9:10", jobLog, checklist.Setback{Cause: "film-cold", Panels: []string{"roof"}})
	w.want("2+9:20", "dry-fit", "door", checklist.Open, "dry-fit-first")
	w.want("2+9:20", "dry-fit", "roof", checklist.Held, "film-cold")
	w.want("2+9:20", "laminate", "", checklist.Done, "")
	w.add("2+9:30", jobLog, tick("film-in", "roof"))
	w.until("2+9:40", "dry-fit", "roof", "dry-fit-early", "2+21:30")
}

// TestEveryPanelFitsFirst: all panels hang by tape before the first is laid
// (TRADE 1a, step 11: 'all panels present'; common practice, no source).
func TestEveryPanelFitsFirst(t *testing.T) {
	w := printWorld(t)
	w.add("1+7:00", jobLog, tick("laminate", ""))
	w.add("1+20:00", jobLog, tick("film-in", ""))
	w.add("2+9:00", jobLog, tick("dry-fit", "door"))
	causes := func(at, stage, panel string) string { return strings.Join(w.gate(at, stage, panel).Causes, " ") }
	for _, stage := range []string{"wipe", "lay"} {
		if c := causes("2+9:10", stage, "door"); !strings.Contains(c, "fit-all") {
			t.Errorf("%s: %s", stage, c)
		}
	}
	// With what holds otherwise let pass, the sentence is heard.
	var all []string
	for _, c := range w.gate("2+9:10", "wipe", "door").Causes {
		if c != "fit-all" {
			all = append(all, c)
		}
	}
	w.as("M", "2+9:11", jobLog, checklist.Waiver{Stage: "wipe", Causes: all, Sentence: "For the test."})
	if g := w.want("2+9:12", "wipe", "door", checklist.Held, "fit-all"); g.Reason != "Not fitted yet: roof." || g.WayOut != "Fit every panel before the first is laid." {
		t.Error(show([]checklist.Gate{g}))
	}
	w.add("2+9:15", jobLog, tick("dry-fit", "roof"))
	if c := causes("2+9:20", "lay", "door"); strings.Contains(c, "fit-all") {
		t.Error(c)
	}
	// One that the owner leaves bare need not fit; and once the first is laid
	// the others look to themselves.
	w = printWorld(t)
	w.add("6:10", jobLog, tick("lay", "door"))
	if c := causes("6:20", "lay", "roof"); strings.Contains(c, "fit-all") {
		t.Error(c)
	}
	w = printWorld(t)
	id := w.add("6:10", jobLog, checklist.Finding{Panel: "roof", What: "dent"})
	w.as("M", "6:11", jobLog, checklist.FindingAnswer{Finding: id, Answer: "declined"})
	if c := causes("6:20", "lay", "door"); strings.Contains(c, "fit-all") {
		t.Error(c)
	}
}

// TestProofAgainstThePlate: failure 18 of TRADE Table 3: wrong artwork, number,
// side or vehicle (common practice, no source).
func TestProofAgainstThePlate(t *testing.T) {
	open := checklist.JobOpen{Label: "V", Route: "van", Place: bay1.ID, Proof: "C",
		Panels: []checklist.Panel{{ID: "door", Name: "rear door", Zone: "upper"}}}
	w := bare(t)
	w.add("5:00", jobLog, open)
	holds := func(at string, want bool) {
		t.Helper()
		for _, stage := range []string{"wipe", "lay"} {
			g := w.gate(at, stage, "door")
			has := slices.Contains(g.Causes, "proof-first") || slices.Contains(g.Causes, "wrong-proof")
			if has != want {
				t.Errorf("%s: %s", at, show([]checklist.Gate{g}))
			}
		}
	}
	if g := w.want("5:10", "proof", "", checklist.Open, "proof-first"); g.Reason != "Photo of the plate beside proof C." {
		t.Error(g.Reason)
	}
	holds("5:10", true)
	w.add("5:20", jobLog, checklist.Evidence{What: "proof-plate", Passed: true})
	if g := w.want("5:30", "proof", "", checklist.Open, "proof-first"); g.Reason != "The photo of the plate is missing." {
		t.Error(g.Reason)
	}
	photo := strings.Repeat("ab", 32)
	w.add("5:35", jobLog, checklist.Evidence{What: "proof-plate", Passed: false, Photo: photo})
	if g := w.want("5:36", "proof", "", checklist.Open, "wrong-proof"); g.Reason != "Proof C is not for this vehicle." || g.WayOut != "Lay nothing. Ask the lead." {
		t.Error(show([]checklist.Gate{g}))
	}
	holds("5:36", true)
	w.add("5:40", jobLog, checklist.Evidence{What: "proof-plate", Passed: true, Photo: photo})
	w.want("5:41", "proof", "", checklist.Done, "")
	holds("5:41", false)
	// Another version wants another look.
	open.Proof = "D"
	w.add("6:00", jobLog, open)
	w.want("6:01", "proof", "", checklist.Open, "proof-first")
	holds("6:01", true)
	// A job without a proof has no such step.
	open.Proof = ""
	w.add("6:10", jobLog, open)
	for _, g := range w.at("6:11").Gates(jobLog.ID, sharp("6:11")) {
		if g.Stage == "proof" {
			t.Error(show([]checklist.Gate{g}))
		}
	}
	holds("6:11", false)
}
