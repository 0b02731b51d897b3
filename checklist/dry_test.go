package checklist_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"bayhold/checklist"
	"bayhold/checklist/air"
)

// Hours that count, checked by sums done by hand: coldest surface at or over
// 10 C, 3 K above the dew point, humidity at or under 70 % (common practice, no
// source). Air of 20 C at 40 % has a dew point of 6.0 C, at 70 % 14.4 C, at
// 80 % 16.4 C (PsychroLib, ASHRAE Handbook Fundamentals 2017 chapter 1).

const hour = int64(3_600_000)

func (w *world) counted(at, zone string, hours float64) checklist.Gate {
	w.t.Helper()
	g := w.gate(at, "dry", zone)
	if g.Counted != int64(math.Round(hours*float64(hour))) {
		w.t.Errorf("%s %s: %.3f h counted, want %.3f\n%s", at, zone, float64(g.Counted)/float64(hour), hours, show([]checklist.Gate{g}))
	}
	return g
}

func TestPauseAndResume(t *testing.T) {
	w := newWorld(t)
	w.climate(bay1, "6:00", "8:00", 20, 40)
	w.climate(bay1, "8:00", "9:00", 20, 71) // too damp; the dew point stays under the surfaces
	w.climate(bay1, "9:00", "12:00", 20, 40)
	w.probes("6:00", "9:50", 19, 19)
	w.probes("10:00", "11:00", 19, 9.9) // too cold, below only
	w.probes("11:10", "12:00", 19, 19)
	w.counted("8:00", "lower", 2)
	g := w.want("8:30", "dry", "lower", checklist.Held, "not-dry")
	if w.text(g.Reason) != "Drying: 2.0 h of 12.0 h. Paused, air too damp." {
		t.Error(w.text(g.Reason))
	}
	w.counted("9:00", "lower", 2)
	// Between two readings of a spot the lower one holds: cold from the
	// reading before 10:00 to the one after 11:00.
	w.counted("12:00", "lower", 2+50./60+50./60)
	w.counted("12:00", "upper", 5)
	g = w.gate("12:00", "dry", "upper")
	if g.State != checklist.Waits || !g.Running || g.Until != clock("19:00") {
		t.Error(show([]checklist.Gate{g}))
	}
}

// The edges count: 10.000 C, 3.000 K and 70.000 % do, a thousandth beside them
// does not.
func TestEdgesOfCounting(t *testing.T) {
	for _, c := range []struct {
		surface, rh, counts int32
	}{
		{10_000, 40_000, 1}, {9_999, 40_000, 0},
		{17_999, 70_000, 1}, {17_999, 70_001, 0},
	} {
		w := newWorld(t)
		w.climate(bay1, "6:00", "7:00", 20, float64(c.rh)/1000)
		w.probes("6:00", "7:00", float64(c.surface)/1000, float64(c.surface)/1000)
		w.counted("7:00", "upper", float64(c.counts))
	}
	// 3.000 K over the dew point of that air is the least margin.
	dew, _ := air.DewPointMilli(20_000, 70_000)
	for above, counts := range map[int32]float64{3_000: 1, 2_999: 0} {
		w := newWorld(t)
		w.climate(bay1, "6:00", "7:00", 20, 70)
		for _, at := range []string{"6:00", "7:00"} {
			w.add(at, jobLog, checklist.Reading{Instrument: "logger", Values: []checklist.SpotValue{{Spot: "1", Surface: dew + above}}})
		}
		w.counted("7:00", "upper", counts)
	}
}

// Where two loggers hang in one bay, the worse of them counts.
func TestTwoLoggers(t *testing.T) {
	w := newWorld(t)
	w.climate(bay1, "6:00", "8:00", 20, 40)
	n := len(w.lines)
	w.climate(bay1, "7:00", "9:00", 22, 65) // dew point 15.1 C: 2.9 K under 18 C
	for i := n; i < len(w.lines); i++ {
		b := w.lines[i].Body.(checklist.ClimateBlock)
		b.Instrument = "up under the roof"
		w.lines[i].Body = b
	}
	w.probes("6:00", "9:00", 18, 19)
	w.counted("9:00", "upper", 1) // until 7:00
	w.counted("9:00", "lower", 3) // 19 C is far enough above both
}

// A zone starts from zero after two readings running below the dew point, and
// not after one; the other zone keeps its hours.
func TestSweating(t *testing.T) {
	w := newWorld(t)
	w.climate(bay1, "6:00", "10:00", 20, 40)
	w.climate(bay1, "10:00", "11:00", 20, 68) // dew point 13.9 C
	w.climate(bay1, "11:00", "23:30", 20, 40)
	w.add("9:50", jobLog, checklist.Tick{Stage: "wipe", Panel: "sill", Answer: "done"})
	w.probes("6:00", "10:00", 19, 19)
	w.probes("10:10", "10:10", 19, 12)
	g := w.gate("10:11", "dry", "lower")
	if g.Counted != 4*hour || g.State != checklist.Held {
		t.Error(show([]checklist.Gate{g}))
	}
	w.probes("10:20", "10:20", 19, 12)
	g = w.want("10:21", "dry", "lower", checklist.Held, "wet")
	if g.Counted != 0 || g.Ask != "2" || w.text(g.Reason) != "Wet: rear left sill 12.0 C, dew point 13.9 C. Drying starts over." {
		t.Error(w.text(g.Reason), g.Counted)
	}
	w.counted("10:21", "upper", 4+20./60) // 19 C is 5 K above; 68 % still counts
	if c := w.shop().Claim(jobLog.ID, "wipe", "sill", "", sharp("10:21")); c.State != checklist.SpoiledClaim || c.Cause != "sweat" {
		t.Errorf("the wipe under the dew is %v", c.State)
	}
	w.probes("10:30", "23:00", 19, 19)
	// Counted from 11:00: at 12 C for the reading before 10:30 nothing, and at
	// 19 C with 5 K of margin from 10:30 on.
	w.counted("22:00", "lower", 11.5)
	w.want("22:20", "dry", "lower", checklist.Waits, "not-dry")
	w.want("22:30", "dry", "lower", checklist.Done, "")

	// One reading alone below asks for another and loses nothing.
	w = newWorld(t)
	w.climate(bay1, "6:00", "18:00", 20, 40)
	w.probes("6:00", "18:00", 19, 19)
	w.climate(bay1, "18:00", "18:40", 20, 68)
	w.probes("18:10", "18:10", 19, 12)
	w.want("18:11", "dry", "lower", checklist.NotKnown, "under-dew-once")
	w.probes("18:20", "18:20", 19, 18)
	w.want("18:21", "dry", "lower", checklist.Done, "")
}

// After sweating: twelve counted hours, or four after the last visible water
// with six card strips drawn dry and a reading since.
func TestShorterWayAfterSweat(t *testing.T) {
	begin := func() *world {
		w := ready(t)
		w.climate(bay1, "18:00", "18:30", 20, 68)
		w.probes("18:10", "18:20", 19, 12) // wet at 18:20
		w.climate(bay1, "18:30", "1+7:00", 20, 40)
		w.probes("18:30", "1+7:00", 19, 19)
		w.add("19:00", jobLog, checklist.Evidence{What: "water-gone", Passed: true})
		return w
	}
	w := begin()
	w.want("23:10", "dry", "lower", checklist.Waits, "not-dry")
	w.add("23:00", jobLog, checklist.Evidence{What: "card-strips", Passed: true, Count: 5})
	w.want("23:10", "dry", "lower", checklist.Waits, "not-dry")
	w.add("23:05", jobLog, checklist.Evidence{What: "card-strips", Passed: true, Count: 6})
	w.want("23:10", "dry", "lower", checklist.Done, "")
	w.want("23:04", "dry", "lower", checklist.Waits, "not-dry")
	// Strips drawn dry before the water was gone say nothing.
	w = begin()
	w.add("18:40", jobLog, checklist.Evidence{What: "card-strips", Passed: true, Count: 6})
	w.want("23:10", "dry", "lower", checklist.Waits, "not-dry")
	// A van that sweated early is not dry the sooner for it: the hours of the
	// wash are needed too.
	w = newWorld(t)
	w.climate(bay1, "6:00", "8:00", 20, 68)
	w.probes("6:00", "6:20", 19, 12)
	w.climate(bay1, "8:00", "23:50", 20, 40)
	w.probes("6:30", "23:50", 19, 19)
	w.add("6:40", jobLog, checklist.Evidence{What: "water-gone", Passed: true})
	w.add("6:45", jobLog, checklist.Evidence{What: "card-strips", Passed: true, Count: 6})
	g := w.want("12:00", "dry", "lower", checklist.Waits, "not-dry")
	if g.Counted != 5*hour+hour/2 || g.Until != clock("18:30") {
		t.Error(show([]checklist.Gate{g}))
	}
	// A wet strip holds even after twelve hours.
	w = begin()
	w.add("1+7:00", jobLog, checklist.Evidence{What: "card-strips", Passed: false, Count: 6})
	w.want("1+6:30", "dry", "lower", checklist.Done, "")
	w.want("1+7:00", "dry", "lower", checklist.Held, "strip-wet")
}

// A silent instrument pauses as not known after twenty minutes; what it sends
// late still counts; an offline phone says that nothing was received.
func TestSilence(t *testing.T) {
	w := newWorld(t)
	w.climate(bay1, "6:00", "8:00", 20, 40)
	w.probes("6:00", "10:00", 19, 19)
	w.counted("8:19", "upper", 2)
	w.want("8:19", "dry", "upper", checklist.Waits, "not-dry")
	g := w.want("8:20", "dry", "upper", checklist.NotKnown, "air-unknown")
	if w.text(g.Reason) != "Not known since 8:00: logger silent." && w.text(g.Reason) != "Not known since 08:00: logger silent." {
		t.Error(w.text(g.Reason))
	}
	w.want("8:20", "window", "upper", checklist.NotKnown, "air-unknown")
	s := w.shop()
	s.Offline(clock("8:05"))
	if g := pick(t, s.Gates(jobLog.ID, sharp("8:40")), "dry", "upper"); w.text(g.Reason) != "Not received since 08:00." {
		t.Error(w.text(g.Reason))
	}
	// Silent 8:00 to 8:30: half an hour that nobody knows.
	w.climate(bay1, "8:30", "10:00", 20, 40)
	w.counted("10:00", "upper", 3.5)
	// Twenty minutes are no silence yet: the worse end holds between.
	w.climate(bay1, "8:20", "8:30", 20, 40)
	w.counted("10:00", "upper", 4)
	w = newWorld(t)
	w.climate(bay1, "6:00", "8:00", 20, 40)
	w.climate(bay1, "8:20", "10:00", 20, 75)
	w.probes("6:00", "10:00", 19, 19)
	w.counted("10:00", "upper", 2)
	// The missing samples come late, and count.
	w = newWorld(t)
	w.climate(bay1, "6:00", "8:00", 20, 40)
	w.climate(bay1, "9:00", "10:00", 20, 40)
	w.probes("6:00", "10:00", 19, 19)
	w.counted("10:00", "upper", 3)
	w.climate(bay1, "8:00", "9:00", 20, 40)
	w.counted("10:00", "upper", 4)
}

// Hours without a closing reading are a guess: they open nothing until the
// spot that was coldest is read again, and then the lower value holds.
func TestHoursNeedAClosingReading(t *testing.T) {
	begin := func() *world {
		w := newWorld(t)
		w.climate(bay1, "6:00", "20:00", 20, 40)
		w.add("6:00", jobLog, surfaces("contact", 19, 18))
		return w
	}
	w := begin()
	w.counted("19:00", "lower", 0)
	g := w.want("19:00", "dry", "lower", checklist.NotKnown, "hours-open")
	if g.Ask != "2" || w.text(g.WayOut) != "Read rear left sill." {
		t.Error(show([]checklist.Gate{g}))
	}
	w.add("19:00", jobLog, surfaces("contact", 19, 17))
	w.counted("19:00", "lower", 13)
	w = begin()
	w.add("19:00", jobLog, surfaces("contact", 19, 9.5))
	w.counted("19:00", "lower", 0)
	w.counted("19:00", "upper", 13)

	// Two spots in a zone: reading the warm one closes nothing.
	w = bare(t)
	o := vanV
	o.Spots = []checklist.Spot{{ID: "1", Name: "shoulder", Zone: "lower"}, {ID: "2", Name: "sill", Zone: "lower"}}
	w.add("5:00", jobLog, o)
	w.add("6:00", jobLog, checklist.Tick{Stage: "wash", Answer: "done"})
	w.climate(bay1, "6:00", "20:00", 20, 40)
	w.add("6:00", jobLog, surfaces("contact", 19, 15))
	w.add("19:00", jobLog, checklist.Reading{Instrument: "contact", Values: []checklist.SpotValue{{Spot: "1", Surface: 19_000}}})
	g = w.counted("19:00", "lower", 0)
	if g.Ask != "2" {
		t.Error(show([]checklist.Gate{g}))
	}
	// A value from memory is a true answer and closes nothing either.
	memory := surfaces("contact", 19, 19)
	memory.Answer = "from-memory"
	w.add("19:10", jobLog, memory)
	w.counted("19:10", "lower", 0)
	w.add("19:20", jobLog, checklist.Reading{Instrument: "contact", Values: []checklist.SpotValue{{Spot: "2", Surface: 19_000}}})
	w.counted("19:20", "lower", 13+20./60)
}

// A shop without a logger: a reading by hand vouches for an hour (15 minutes
// when a door opened), a minimum-maximum instrument for its whole span by the
// worst combination.
func TestReadByHand(t *testing.T) {
	hand := checklist.ClimateReading{Air: 20_000, RH: 40_000, Instrument: "hand"}
	w := newWorld(t)
	w.add("7:00", bay1, hand)
	w.add("7:00", jobLog, surfaces("contact", 19, 19))
	w.add("9:00", jobLog, surfaces("contact", 19, 19))
	w.counted("9:00", "upper", 1)
	w.add("7:30", bay1, checklist.PlaceEvent{Cause: "heater-lit"})
	w.counted("9:00", "upper", 45./60)
	w.want("7:44", "window", "upper", checklist.Open, "")
	w.want("7:45", "window", "upper", checklist.NotKnown, "reading-old")
	w.add("7:46", jobLog, surfaces("contact", 19, 19))
	w.want("7:47", "window", "upper", checklist.NotKnown, "air-unknown")

	span := func(rhMost int32) *world {
		w := newWorld(t)
		w.add("17:00", jobLog, surfaces("contact", 19, 19))
		w.add("1+7:00", bay1, checklist.ClimateSpan{From: clock("17:00"), AirLeast: 16_000, AirMost: 20_000, RHLeast: 35_000, RHMost: rhMost})
		w.add("1+7:00", jobLog, surfaces("contact", 19, 17))
		return w
	}
	// Worst of 20 C with 55 % is a dew point of 10.7 C: 6.3 K below 17 C.
	span(55_000).counted("1+7:00", "lower", 14)
	// 20 C with 69 % would be 14.1 C, only 2.9 K below 17 C, although such air
	// may never have been there: the worst combination counts.
	span(69_000).counted("1+7:00", "lower", 0)
}

// Outside nothing counts; a short dry frost keeps what was counted; after more
// than a day outside card strips are asked for; rain on the way starts from
// the wash.
func TestOutside(t *testing.T) {
	out := func(back, wet string) *world {
		w := ready(t)
		w.add("18:00", jobLog, checklist.JobMove{Place: yard.ID, Wet: "no"})
		w.add(back, jobLog, checklist.JobMove{Place: bay1.ID, Wet: wet})
		for _, day := range []string{"1+", "2+"} {
			w.climate(bay1, day+"6:00", day+"20:00", 20, 40)
		}
		return w
	}
	w := out("1+7:00", "no")
	w.want("20:00", "dry", "lower", checklist.Held, "outside")
	w.probes("1+7:00", "1+8:00", 16, 12)
	w.want("1+8:00", "dry", "lower", checklist.Done, "")
	w.counted("1+8:00", "lower", 13)
	w = ready(t)
	w.add("18:00", jobLog, checklist.JobMove{Place: yard.ID, Wet: "no"})
	w.want("20:00", "dry", "lower", checklist.Held, "outside")
	w.want("20:00", "window", "lower", checklist.Held, "outside")

	w = out("2+7:00", "no")
	w.probes("2+7:00", "2+8:00", 16, 12)
	w.want("2+8:00", "dry", "lower", checklist.NotKnown, "outside-long")
	w.add("2+8:00", jobLog, checklist.Evidence{What: "card-strips", Zone: "lower", Passed: true, Count: 6})
	w.want("2+8:01", "dry", "lower", checklist.Done, "")
	w.want("2+8:01", "dry", "upper", checklist.NotKnown, "outside-long")

	w = out("1+7:00", "unknown")
	w.probes("1+7:00", "1+8:00", 16, 12)
	w.want("1+8:00", "dry", "lower", checklist.NotKnown, "move-unknown")
	w = out("1+7:00", "yes")
	w.probes("1+7:00", "1+8:00", 16, 12)
	w.want("1+8:00", "wash", "", checklist.Open, "rain")
	w.want("1+8:00", "dry", "lower", checklist.Held, "not-washed")
}

// At an uncertain edge between two bays the worse one counts.
func TestUncertainMove(t *testing.T) {
	w := newWorld(t)
	w.climate(bay1, "6:00", "12:00", 20, 40)
	w.climate(bay2, "6:00", "12:00", 20, 75)
	w.probes("6:00", "12:00", 19, 19)
	w.line("P", checklist.Span{Earliest: clock("8:00"), Latest: clock("9:00")}, jobLog, checklist.JobMove{Place: bay2.ID, Wet: "no"})
	w.counted("12:00", "upper", 2)
	w.line("P", checklist.Span{Earliest: clock("10:00"), Latest: clock("11:00")}, jobLog, checklist.JobMove{Place: bay1.ID, Wet: "no"})
	w.counted("12:00", "upper", 3)
}

// Not blown out, a van needs 24 counted hours; blown out before the wash is
// not blown out.
func TestBlownOut(t *testing.T) {
	w := bare(t)
	w.add("5:00", jobLog, vanV)
	w.add("5:30", jobLog, checklist.Evidence{What: "blown-out", Passed: true})
	w.add("6:00", jobLog, checklist.Tick{Stage: "wash", Answer: "done"})
	w.climate(bay1, "6:00", "8:00", 20, 40)
	w.probes("6:00", "8:00", 19, 19)
	g := w.gate("8:00", "dry", "lower")
	if g.Needed != 24*hour || w.text(g.WayOut) != "Blow out the seams: then 12.0 h are enough." {
		t.Error(show([]checklist.Gate{g}))
	}
	w.add("8:00", jobLog, checklist.Evidence{What: "blown-out", Passed: true})
	if g := w.gate("8:00", "dry", "lower"); g.Needed != 12*hour {
		t.Error(show([]checklist.Gate{g}))
	}
}

// More time, more climate and more readings never take counted hours away
// while nothing gets wet: at most 20 C and 78 % is a dew point of 16.0 C, and
// no surface is under 17 C.
func TestHoursOnlyGrow(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		w := newWorld(t)
		s := checklist.NewShop()
		told := 0
		before := int64(0)
		for i := range rapid.IntRange(2, 40).Draw(r, "steps") {
			from := clock("6:00") + int64(i)*min10
			if rapid.IntRange(0, 5).Draw(r, "heard") > 0 {
				w.climate(bay1, hm(from), hm(from+min10), float64(rapid.IntRange(18, 20).Draw(r, "air")), float64(rapid.IntRange(30, 78).Draw(r, "rh")))
			}
			if rapid.IntRange(0, 2).Draw(r, "read") > 0 {
				w.probes(hm(from), hm(from), float64(rapid.IntRange(17, 20).Draw(r, "upper")), float64(rapid.IntRange(17, 20).Draw(r, "lower")))
			}
			for ; told < len(w.lines); told++ {
				s.Add(w.lines[told])
			}
			at := from + int64(rapid.IntRange(0, 30).Draw(r, "later"))*60_000
			g := pick(t, s.Gates(jobLog.ID, checklist.Span{Earliest: at, Latest: at}), "dry", "lower")
			if g.Counted < before {
				r.Fatalf("%s: %d ms counted, %d before", hm(at), g.Counted, before)
			}
			before = g.Counted
		}
	})
}

// hm is the clock of a moment of the first day.
func hm(ms int64) string {
	m := (ms - clock("0:00")) / 60_000
	return string([]byte{byte('0' + m/600), byte('0' + m/60%10), ':', byte('0' + m%60/10), byte('0' + m%10)})
}
