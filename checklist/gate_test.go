package checklist_test

import (
	"slices"
	"testing"

	"bayhold/checklist"
)

// The numbers of these tests are the defaults of the rule table: common
// practice, no source.

func TestStagesInOrder(t *testing.T) {
	w := bare(t)
	w.add("5:00", jobLog, vanV)
	w.want("5:30", "wash", "", checklist.Open, "wash-first")
	w.want("5:30", "inspection", "", checklist.Held, "wash-first")
	w.want("5:30", "dry", "lower", checklist.Held, "not-washed")
	w.want("5:30", "wipe", "sill", checklist.Held, "wash-first")
	w = newWorld(t)
	w.want("6:10", "dry", "lower", checklist.NotKnown, "no-reading")
	w.want("6:10", "window", "lower", checklist.NotKnown, "no-reading")
	w = ready(t)
	w.want("17:59", "dry", "lower", checklist.Waits, "not-dry")
	g := w.want("18:00", "dry", "lower", checklist.Done, "")
	if g.Counted != 12*60*60_000 {
		t.Errorf("counted %d", g.Counted)
	}
	w.want("18:00", "wipe", "sill", checklist.Open, "wipe-first")
	w.want("18:00", "primer", "sill", checklist.Held, "wipe-first")
	w.add("18:00", jobLog, checklist.Tick{Stage: "wipe", Panel: "sill", Answer: "done"})
	w.want("18:01", "primer", "sill", checklist.Open, "primer-first")
	w.want("18:01", "lay", "sill", checklist.Held, "primer-first")
	w.add("18:02", jobLog, checklist.Tick{Stage: "primer", Panel: "sill", Answer: "done"})
	// 6 min at 21 C is 6 min x 2^0.2 = 413.5 s at 19 C: 414 s after 18:02
	// (Q10 of 2, common practice, no source).
	g = w.want("18:05", "lay", "sill", checklist.Waits, "primer-wet")
	if want := clock("18:02") + 414_000; g.Until != want {
		t.Errorf("tack-dry %d s after the wipe, want 414", (g.Until-clock("18:02"))/1000)
	}
	w.want("18:09", "lay", "sill", checklist.Open, "lay-first")
	w.want("18:09", "lay", "shoulder", checklist.Held, "wipe-first")
	w.add("18:20", jobLog, checklist.Tick{Stage: "lay", Panel: "sill", Answer: "done"})
	w.want("20:00", "lay", "sill", checklist.Done, "")
	w.want("20:00", "wipe", "sill", checklist.Done, "")
}

func TestWipeGoesStale(t *testing.T) {
	w := ready(t)
	w.climate(bay1, "18:00", "19:00", 20, 40)
	w.probes("18:10", "19:00", 19, 19)
	w.add("18:00", jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
	w.want("18:29", "lay", "shoulder", checklist.Open, "lay-first")
	w.want("18:30", "lay", "shoulder", checklist.Held, "wipe-stale")
	g := w.want("18:30", "wipe", "shoulder", checklist.Open, "wipe-stale")
	if want := "Final wipe again: too old since 18:30."; w.text(g.Reason) != want {
		t.Errorf("%q", g.Reason)
	}
	// In air over 28 C a wipe is good for 15 minutes.
	hot := ready(t)
	hot.climate(bay1, "18:00", "19:00", 29, 30)
	hot.probes("18:10", "18:20", 25, 25)
	hot.add("18:00", jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
	hot.want("18:20", "lay", "shoulder", checklist.Held, "wipe-stale")
	// 'From memory' is a true answer and opens nothing.
	w.add("18:40", jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "from-memory"})
	w.want("18:41", "lay", "shoulder", checklist.Held, "wipe-stale")
}

// A moment is an interval: a claim ages from its earliest, a wait runs from
// its latest moment.
func TestIntervals(t *testing.T) {
	w := ready(t)
	w.climate(bay1, "18:00", "18:30", 20, 40)
	w.line("J", checklist.Span{Earliest: clock("17:50"), Latest: clock("18:00")}, jobLog, checklist.Tick{Stage: "wipe", Panel: "sill", Answer: "done"})
	w.want("18:19", "primer", "sill", checklist.Open, "primer-first")
	w.want("18:20", "primer", "sill", checklist.Held, "wipe-stale")
	w.line("J", checklist.Span{Earliest: clock("18:00"), Latest: clock("18:10")}, jobLog, checklist.Tick{Stage: "primer", Panel: "sill", Answer: "done"})
	g := w.gate("18:12", "primer", "sill")
	if want := clock("18:10") + 414_000; g.Until != want {
		t.Errorf("got %d, want %d", g.Until, want)
	}
	// A wipe that may have come before the touch is spoiled by it; one that the
	// same hand wrote after it is not, whatever the clock.
	touch := func(who string) *world {
		w := ready(t)
		w.climate(bay1, "18:00", "18:30", 20, 40)
		w.line("J", checklist.Span{Earliest: clock("18:05"), Latest: clock("18:10")}, jobLog, checklist.Setback{Cause: "touched", Panels: []string{"shoulder"}})
		w.line(who, checklist.Span{Earliest: clock("18:05"), Latest: clock("18:12")}, jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
		return w
	}
	touch("R").want("18:13", "lay", "shoulder", checklist.Held, "touched")
	touch("J").want("18:13", "lay", "shoulder", checklist.Open, "lay-first")
	// now is an interval too: earliest(now) opens, latest(now) closes.
	s := w.shop()
	wide := checklist.Span{Earliest: clock("18:12"), Latest: clock("18:18")}
	if g := pick(t, s.Gates(jobLog.ID, wide), "primer", "sill"); g.State != checklist.Waits {
		t.Error(show([]checklist.Gate{g}))
	}
}

func TestInspection(t *testing.T) {
	w := newWorld(t)
	w.climate(bay1, "6:00", "18:00", 20, 40)
	w.probes("6:00", "18:00", 19, 19)
	f := w.add("7:00", jobLog, checklist.Finding{Panel: "sill", What: "chip"})
	g := w.want("18:00", "inspection", "", checklist.Held, "finding")
	if w.text(g.Reason) != "Chip on left sill." {
		t.Error(g.Reason)
	}
	// It holds its own panel alone.
	w.want("18:00", "wipe", "sill", checklist.Held, "finding")
	w.want("18:00", "wipe", "shoulder", checklist.Open, "wipe-first")
	a := w.as("M", "17:02", jobLog, checklist.FindingAnswer{Finding: f, Answer: "accepted"})
	w.want("18:00", "wipe", "sill", checklist.Open, "wipe-first")
	// Two answers that nobody struck: the one that holds longer counts, in
	// whatever order they were given.
	w.as("J", "17:01", jobLog, checklist.FindingAnswer{Finding: f, Answer: "declined"})
	g = w.want("18:00", "lay", "sill", checklist.Held, "bare")
	if w.text(g.Reason) != "Stays bare: owner said no." {
		t.Error(g.Reason)
	}
	w.line("M", sharp("17:05"), jobLog, nil, a)
	w.want("18:00", "lay", "sill", checklist.Held, "bare")
	// Without signatures nothing goes on.
	w = ready(t)
	w.lines = slices.DeleteFunc(w.lines, func(l checklist.Line) bool {
		s, ok := l.Body.(checklist.Sign)
		return ok && s.As == "owner"
	})
	w.want("18:00", "wipe", "shoulder", checklist.Held, "sign-owner")
}

func TestWaiver(t *testing.T) {
	cold := func(who string, causes ...string) *world {
		w := newWorld(t)
		w.climate(bay1, "6:00", "18:10", 17, 40)
		w.probes("6:00", "18:00", 19, 14)
		if causes != nil {
			w.as(who, "18:01", jobLog, checklist.Waiver{Stage: "window", Zone: "lower", Causes: causes, Sentence: "Flat and small, I look at it."})
		}
		return w
	}
	g := cold("M").want("18:02", "window", "lower", checklist.Held, "cold")
	if !slices.Equal(g.Causes, []string{"cold=2056"}) { // 15.556 - 14.000 + 0.5 error
		t.Fatal(g.Causes)
	}
	w := cold("M", g.Causes...)
	g = w.want("18:02", "window", "lower", checklist.Open, "cold")
	if !g.Waived || w.text(g.Reason) != "Go-ahead by the lead: Flat and small, I look at it." {
		t.Error(show([]checklist.Gate{g}))
	}
	w.want("18:02", "wipe", "sill", checklist.Open, "wipe-first")
	// A colder reading and a new cause hold again.
	w.probes("18:05", "18:05", 19, 13.9)
	w.want("18:06", "window", "lower", checklist.Held, "cold")
	w = cold("M", "cold=2056")
	w.climate(bay1, "18:10", "18:20", 17, 90)
	w.want("18:20", "window", "lower", checklist.Held, "margin")
	// Only a lead's waiver counts.
	cold("J", "cold=2056").want("18:02", "window", "lower", checklist.Held, "cold")
	// A waiver of a stale wipe does not cover the next one that goes stale.
	w = ready(t)
	w.climate(bay1, "18:00", "20:00", 20, 40)
	w.probes("18:10", "20:00", 19, 19)
	w.add("18:00", jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
	w.as("M", "18:40", jobLog, checklist.Waiver{Stage: "lay", Panel: "shoulder", Causes: []string{"wipe-stale"}, Sentence: "No dust here."})
	w.want("18:45", "lay", "shoulder", checklist.Open, "wipe-stale")
	w.add("18:50", jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
	w.want("19:19", "lay", "shoulder", checklist.Open, "lay-first")
	w.want("19:20", "lay", "shoulder", checklist.Held, "wipe-stale")
}

func TestUnknownRules(t *testing.T) {
	w := bare(t)
	o := vanV
	o.Rules = "no such set"
	w.add("5:00", jobLog, o)
	for _, g := range w.shop().Gates(jobLog.ID, sharp("6:00")) {
		if g.State != checklist.NotKnown || g.Cause != "no-rules" {
			t.Error(show([]checklist.Gate{g}))
		}
	}
	w.add("4:00", shopLog, checklist.RulesSet{Hash: "no such set", Values: checklist.DefaultRules()})
	w.want("6:00", "wash", "", checklist.Open, "wash-first")
}

// Two people who tick without seeing each other leave two ticks; the one that
// holds longer counts until one is struck.
func TestConcurrentTicks(t *testing.T) {
	w := ready(t)
	w.climate(bay1, "18:00", "19:00", 20, 40)
	w.probes("18:10", "19:00", 19, 19)
	w.line("J", checklist.Span{Earliest: clock("17:45"), Latest: clock("18:00")}, jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
	other := w.line("R", checklist.Span{Earliest: clock("17:40"), Latest: clock("17:55")}, jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
	w.want("18:12", "lay", "shoulder", checklist.Held, "wipe-stale") // from 17:40, not 17:45
	w.line("R", sharp("18:01"), jobLog, nil, other)
	w.want("18:12", "lay", "shoulder", checklist.Open, "lay-first")
	// A tick that surely came later replaces the other.
	w.line("R", sharp("18:14"), jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
	w.want("18:40", "lay", "shoulder", checklist.Open, "lay-first")
}

func (w *world) text(s string) string {
	return marks.ReplaceAllStringFunc(s, func(m string) string {
		if p := marks.FindStringSubmatch(m); p[1] == "t" {
			return unmark(m)[4:] // without the day
		}
		return unmark(m)
	})
}

// TestRoutes: what a stage needs stands before it, and every rule that a table
// names exists.
func TestTables(t *testing.T) {
	rules := checklist.DefaultRules()
	if len(rules) != len(checklist.RuleTable) {
		t.Error("a rule key stands twice")
	}
	for _, r := range checklist.Routes {
		seen := map[string]bool{}
		for _, st := range r.Stages {
			for _, n := range append(slices.Clone(st.Needs), st.From) {
				// Routes share stages, and one may lack what another has.
				if _, has := stageIn(r, n); n != "" && has && !seen[n] {
					t.Errorf("%s: %s needs %s, which stands behind it", r.Key, st.Key, n)
				}
				if n != "" && !anyRoute(n) {
					t.Errorf("%s: %s needs %s, which no route has", r.Key, st.Key, n)
				}
			}
			if seen[st.Key] {
				t.Errorf("%s has %s twice", r.Key, st.Key)
			}
			seen[st.Key] = true
			for _, key := range []string{st.Shelf, st.Hours, st.Clock} {
				if _, ok := rules[key]; key != "" && !ok {
					t.Errorf("%s: %s names no rule: %s", r.Key, st.Key, key)
				}
			}
		}
	}
	causes := map[string]bool{}
	for _, row := range checklist.Setbacks {
		if causes[row.Cause] || row.Name == "" || row.Said == "" || row.Redo == "" || row.Seen == "" {
			t.Errorf("setback %q is not complete or stands twice", row.Cause)
		}
		causes[row.Cause] = true
		for _, key := range []string{row.More, row.Least} {
			if _, ok := rules[key]; key != "" && !ok {
				t.Errorf("%s names no rule: %s", row.Cause, key)
			}
		}
		if (row.Dry == checklist.DryMore) != (row.More != "") {
			t.Errorf("%s: how many hours more?", row.Cause)
		}
	}
}

func stageIn(r checklist.Route, key string) (checklist.Stage, bool) {
	for _, st := range r.Stages {
		if st.Key == key {
			return st, true
		}
	}
	return checklist.Stage{}, false
}

func anyRoute(key string) bool {
	return slices.ContainsFunc(checklist.Routes, func(r checklist.Route) bool { _, ok := stageIn(r, key); return ok })
}
