package checklist_test

import (
	"reflect"
	"testing"

	"bayhold/checklist"
	"bayhold/testdata/demo/story"
)

// After the lead let drying pass there is nothing to do in it: what comes next
// is the stage behind it. (The rule is ours: a go-ahead ends what nobody
// ticks.)
func TestNextAfterAGoAhead(t *testing.T) {
	w := newWorld(t)
	w.climate(bay1, "6:00", "9:00", 20, 40)
	w.probes("6:00", "9:00", 19, 19)
	for _, zone := range []string{"upper", "lower"} {
		g := w.gate("9:00", "dry", zone)
		w.as("M", "9:00", jobLog, checklist.Waiver{Stage: "dry", Zone: zone, Causes: g.Causes, Sentence: "Seams blown out twice, strips dry."})
	}
	if g := w.shop().Next(jobLog.ID, sharp("9:00")); g.Stage != "wipe" || g.State != checklist.Open {
		t.Errorf("next is %s", show([]checklist.Gate{g}))
	}
}

// A van that sweats shows that, although its panels could be fitted dry
// meanwhile: the lead looks for it at 08:00 (the demo's trap, as the trade tells
// it). Once it is above the dew point, what can be done goes first again.
func TestNextOfAWetVehicle(t *testing.T) {
	for _, c := range []struct {
		run   byte
		at    string
		stage string
		state checklist.State
	}{
		{'A', "05:30", "dry-fit", checklist.Open}, // in the yard, nothing is known to be wet
		{'A', "08:00", "dry", checklist.Held},
		{'B', "09:30", "wipe", checklist.Open}, // the bay was flushed first: nothing sweats, the upper panels may start
	} {
		at := story.At(story.Wednesday, c.at).UnixMilli()
		s := checklist.NewShop()
		for _, e := range story.Run(c.run) {
			if e.At.UnixMilli() <= at {
				s.Add(e.Line())
			}
		}
		now := checklist.Span{Earliest: at, Latest: at}
		for _, id := range s.Jobs() {
			if j, _ := s.Job(id); j.Open.Label == "V5" {
				if g := s.Next(id, now); g.Stage != c.stage || g.State != c.state {
					t.Errorf("run %c, %s: next is %s", c.run, c.at, show([]checklist.Gate{g}))
				}
			}
		}
	}
}

// The upper panels dry, and nobody has read the sill: its hours do not run, so the
// next thing is to read it, not to wait. (Common practice, no source.)
func TestNextReadsTheOtherZone(t *testing.T) {
	w := newWorld(t)
	w.climate(bay1, "6:00", "7:00", 20, 40)
	w.add("6:10", jobLog, checklist.Reading{Instrument: "contact", Values: []checklist.SpotValue{{Spot: "1", Surface: 19_000}}})
	if g := w.shop().Next(jobLog.ID, sharp("6:20")); g.Stage != "dry" || g.Zone != "lower" || g.State != checklist.NotKnown || g.Ask != "2" {
		t.Errorf("next is %s, want the reading of the sill", show([]checklist.Gate{g}))
	}
	w.add("6:20", jobLog, checklist.Reading{Instrument: "contact", Values: []checklist.SpotValue{{Spot: "2", Surface: 19_000}}})
	if g := w.shop().Next(jobLog.ID, sharp("6:20")); g.Stage != "dry" || g.State != checklist.Waits {
		t.Errorf("next is %s, want both zones to dry", show([]checklist.Gate{g}))
	}
}

// A wipe is good for 30 minutes (common practice, no source): what it was made for
// comes before the wipe of another panel, which would use up its time.
func TestNextUsesTheWipe(t *testing.T) {
	w := ready(t)
	next := func(at string) string {
		g := w.shop().Next(jobLog.ID, sharp(at))
		return g.Stage + " " + g.Panel
	}
	for _, step := range []struct{ at, want, stage, panel string }{
		{"18:00", "wipe shoulder", "wipe", "shoulder"},
		{"18:01", "lay shoulder", "", ""},
		{"18:02", "lay shoulder", "lay", "shoulder"},
		{"18:03", "wipe sill", "wipe", "sill"},
		{"18:04", "primer sill", "", ""},
	} {
		if got := next(step.at); got != step.want {
			t.Errorf("at %s next is %s, want %s", step.at, got, step.want)
		}
		if step.stage != "" {
			w.add(step.at, jobLog, checklist.Tick{Stage: step.stage, Panel: step.panel, Answer: "done"})
		}
	}
}

// Foresee answers every open job once, one at each call, and then no more until a
// line comes: of one job, that job again; of the shop, all of them.
func TestForesee(t *testing.T) {
	s := checklist.NewShop()
	end := story.At(story.Tuesday, "12:30").UnixMilli()
	now := checklist.Span{Earliest: end, Latest: end}
	var ofJob, ofShop checklist.Line
	for _, e := range story.Run('A') {
		if e.At.UnixMilli() > end {
			continue
		}
		l := e.Line()
		s.Add(l)
		switch l.Kind {
		case "tick":
			ofJob = l
		case "place.add":
			ofShop = l
		}
	}
	open := 0
	for _, id := range s.Jobs() {
		if j, _ := s.Job(id); j.Closed == "" {
			open++
		}
	}
	again := func(l checklist.Line) checklist.Line {
		l.ID.Seq += 1000
		return l
	}
	for _, c := range []struct {
		what string
		came func()
		want int
	}{
		{"the first time", func() {}, open},
		{"nothing came", func() {}, 0},
		{"a line of one job", func() { s.Add(again(ofJob)) }, 1},
		{"a line of the shop", func() { s.Add(again(ofShop)) }, open},
		{"the shop is out of reach", func() { s.Offline(end - 1) }, open},
	} {
		c.came()
		n := 0
		for s.Foresee(now) {
			if n++; n > open {
				t.Fatalf("%s: more than the %d open jobs", c.what, open)
			}
		}
		if n != c.want {
			t.Errorf("%s: %d jobs answered, want %d", c.what, n, c.want)
		}
	}
	if open < 3 {
		t.Errorf("%d open jobs: the test shows little", open)
	}
}

// A glance is the answer that holds, whatever line came last: the demo's lines
// one by one, each followed by a glance at every job. It may be up to 50 s old.
func TestGlance(t *testing.T) {
	s := checklist.NewShop()
	end := story.At(story.Tuesday, "12:30").UnixMilli()
	now := checklist.Span{Earliest: end, Latest: end}
	blocks := 0
	for _, e := range story.Run('A') {
		l := e.Line()
		if e.At.UnixMilli() > end {
			continue
		}
		s.Add(l)
		if blocks++; l.Kind == "climate.block" && blocks%40 != 0 {
			continue // hundreds of them, all alike
		}
		for _, id := range s.Jobs() {
			got, gates := s.Glance(id, now)
			if want := s.Next(id, now); !reflect.DeepEqual(got, want) {
				t.Fatalf("after %s of %v: %s\nwant %s", l.Kind, l.Log, show([]checklist.Gate{got}), show([]checklist.Gate{want}))
			}
			if want := s.Gates(id, now); !reflect.DeepEqual(gates, want) {
				t.Fatalf("after %s of %v: %s\nwant %s", l.Kind, l.Log, show(gates), show(want))
			}
		}
	}
	s.Offline(end - 3_600_000)
	was, changed := map[checklist.ID]checklist.Gate{}, 0
	for _, id := range s.Jobs() {
		was[id], _ = s.Glance(id, now)
		if want := s.Next(id, now); !reflect.DeepEqual(was[id], want) {
			t.Errorf("offline: %s\nwant %s", show([]checklist.Gate{was[id]}), show([]checklist.Gate{want}))
		}
	}
	for _, id := range s.Jobs() {
		soon := checklist.Span{Earliest: end + 49_999, Latest: end + 49_999}
		if got, _ := s.Glance(id, soon); !reflect.DeepEqual(got, was[id]) {
			t.Errorf("49.999 s later: %s\nwas %s", show([]checklist.Gate{got}), show([]checklist.Gate{was[id]}))
		}
		later := checklist.Span{Earliest: end + 7_200_000, Latest: end + 7_200_000}
		got, _ := s.Glance(id, later)
		if want := s.Next(id, later); !reflect.DeepEqual(got, want) {
			t.Errorf("two hours later: %s\nwant %s", show([]checklist.Gate{got}), show([]checklist.Gate{want}))
		}
		if !reflect.DeepEqual(got, was[id]) {
			changed++
		}
	}
	if changed == 0 {
		t.Error("nothing changed in two hours: the test shows nothing")
	}
}
