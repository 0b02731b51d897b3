package checklist_test

import (
	"fmt"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"bayhold/checklist"
	"bayhold/checklist/air"
)

// drawn draws what may happen to one van in a day and a half: climate with
// holes, readings, doors, rain, moves, ticks, struck lines. Every time is
// drawn, so lines overlap, repeat and contradict each other.
func drawn(t *rapid.T, fake *testing.T) []checklist.Line {
	w := newWorld(fake)
	from, to := clock("6:00"), clock("1+18:00")
	at := func() checklist.Span {
		e := rapid.Int64Range(from/60_000, to/60_000).Draw(t, "at") * 60_000
		return checklist.Span{Earliest: e, Latest: e + rapid.Int64Range(0, 5).Draw(t, "unsure")*60_000}
	}
	zones := [][]string{nil, {"upper"}, {"lower"}}
	panels := []string{"shoulder", "sill"}
	pick := func(s []string) string { return rapid.SampledFrom(s).Draw(t, "which") }
	for i := int64(0); i < 36*6; i++ {
		if rapid.IntRange(0, 9).Draw(t, "hole") == 0 {
			continue
		}
		a := int32(rapid.IntRange(8, 22).Draw(t, "air")) * 1000
		h := int32(rapid.IntRange(30, 85).Draw(t, "rh")) * 1000
		dew, _ := air.DewPointMilli(a, h)
		log := rapid.SampledFrom([]checklist.Log{bay1, bay1, bay2}).Draw(t, "bay")
		end := from + (i+1)*min10
		w.line("server", checklist.Span{Earliest: end, Latest: end}, log, checklist.ClimateBlock{Instrument: "logger", From: end - min10, To: end, N: 1,
			Air: checklist.Range{Least: a, Most: a, Last: a}, RH: checklist.Range{Least: h, Most: h, Last: h}, Dew: checklist.Range{Least: dew, Most: dew, Last: dew}})
	}
	n := rapid.IntRange(20, 90).Draw(t, "lines")
	var own []checklist.LineID
	for range n {
		who := pick([]string{"J", "M"})
		var body checklist.Body
		log := jobLog
		switch rapid.IntRange(0, 11).Draw(t, "kind") {
		case 0, 1, 2, 3:
			read := surfaces(pick([]string{"contact", "infrared", "logger"}), float64(rapid.IntRange(-4, 22).Draw(t, "upper")), float64(rapid.IntRange(-4, 22).Draw(t, "lower")))
			read.With = pick([]string{"", "probe 2"})
			body = read
		case 4:
			body = checklist.Tick{Stage: pick([]string{"wash", "dry", "wipe", "primer", "lay"}), Panel: pick(panels), Answer: pick([]string{"done", "done", "started", "not-done"})}
		case 5:
			body = checklist.Setback{Cause: rapid.SampledFrom(checklist.Setbacks).Draw(t, "row").Cause, Zones: rapid.SampledFrom(zones).Draw(t, "zones")}
		case 6:
			log, body = bay1, checklist.PlaceEvent{Cause: pick([]string{"door-open", "silicone", "heater-off"}), From: at().Earliest}
		case 7:
			body = checklist.JobMove{Place: rapid.SampledFrom([]checklist.ID{bay1.ID, bay2.ID, yard.ID}).Draw(t, "to"), Wet: pick([]string{"no", "no", "yes", "unknown"})}
		case 8:
			log, body = bay1, checklist.ClimateReading{Air: int32(rapid.IntRange(10, 22).Draw(t, "air")) * 1000, RH: int32(rapid.IntRange(30, 80).Draw(t, "rh")) * 1000}
		case 9:
			body = checklist.Evidence{What: pick([]string{"blown-out", "card-strips", "water-gone"}), Zone: pick([]string{"", "upper", "lower"}), Passed: true, Count: 6}
		case 11:
			log, body = shopLog, checklist.Instrument{Name: pick([]string{"probe 2", "logger"}), Sort: "contact", Error: rapid.Int64Range(1, 4_000).Draw(t, "error"), RHError: rapid.Int64Range(0, 6_000).Draw(t, "rh error")}
		case 10:
			if len(own) > 0 {
				w.line("M", at(), jobLog, nil, rapid.SampledFrom(own).Draw(t, "struck"))
				w.lines[len(w.lines)-1].Kind = "strike"
				continue
			}
			body = checklist.Note{Text: "nothing"}
		}
		ref := w.line(who, at(), log, body)
		if log == jobLog {
			own = append(own, ref)
		}
	}
	// One hand's lines go forward in time.
	last := map[string]int64{}
	slices.SortStableFunc(w.lines, func(a, b checklist.Line) int { return int(a.Span.Earliest - b.Span.Earliest) })
	seqs := map[string]uint64{}
	renamed := map[string]checklist.LineID{}
	for i := range w.lines {
		l := &w.lines[i]
		writer := fmt.Sprint(l.Log, l.ID.Writer)
		seqs[writer]++
		l.Span.Latest = max(l.Span.Latest, last[writer])
		last[writer] = l.Span.Latest
		was := fmt.Sprint(l.Log, l.ID)
		l.ID.Seq = seqs[writer]
		renamed[was] = l.ID
	}
	for i := range w.lines {
		l := &w.lines[i]
		for k, s := range l.Strikes {
			l.Strikes[k] = renamed[fmt.Sprint(l.Log, s)]
		}
	}
	return w.lines
}

func answers(s *checklist.Shop, now checklist.Span) string {
	return fmt.Sprintf("%+v", s.Gates(jobLog.ID, now))
}

// Whatever the order in which lines come, how often they come, and what was
// asked in between, the answers are those of a copy that read them in one go.
// Questions in between fill every cache; the reason: a
// state is a fold over a set.
func TestOrderNeverMatters(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		lines := drawn(r, t)
		whole := checklist.NewShop()
		for _, l := range lines {
			whole.Add(l)
		}
		mixed := checklist.NewShop()
		for i, l := range rapid.Permutation(lines).Draw(r, "order") {
			if i%3 == 0 { // at first only on its phone: no order, a wider span
				early := l
				early.Order, early.Span.Latest = 0, l.Span.Latest+60_000
				mixed.Add(early)
			}
			mixed.Add(l)
			if i%7 == 0 {
				answers(mixed, sharp("1+"+strconv.Itoa(i%18)+":00"))
			}
		}
		for _, l := range lines[len(lines)/2:] {
			mixed.Add(l)
		}
		for _, at := range []string{"9:00", "19:30", "1+8:10", "1+18:00"} {
			if a, b := answers(whole, sharp(at)), answers(mixed, sharp(at)); a != b {
				r.Fatalf("at %s\nin one go: %s\nmixed:     %s", at, a, b)
			}
		}
	})
}

// A line that strikes a strike changes nothing.
func TestAStrikeCannotBeStruck(t *testing.T) {
	w := ready(t)
	wash := w.add("17:00", jobLog, checklist.Setback{Cause: "rain"})
	strike := w.line("J", sharp("17:01"), jobLog, nil, wash)
	w.lines[len(w.lines)-1].Kind = "strike"
	before := answers(w.shop(), sharp("18:00"))
	w.line("M", sharp("17:02"), jobLog, nil, strike)
	w.lines[len(w.lines)-1].Kind = "strike"
	if after := answers(w.shop(), sharp("18:00")); after != before {
		t.Errorf("a strike of a strike changed\n%s\nto\n%s", before, after)
	}
}

// A wider interval never opens a gate: what is less certain can only hold
// longer. The moments of ticks, readings and setbacks grow at both ends.
func TestWiderIntervalsNeverOpen(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		lines := drawn(r, t)
		sure := checklist.NewShop()
		for _, l := range lines {
			sure.Add(l)
		}
		wide := slices.Clone(lines)
		for i := range wide {
			switch wide[i].Body.(type) {
			case checklist.Tick, checklist.Reading, checklist.Setback:
				wide[i].Span.Earliest -= rapid.Int64Range(0, 90).Draw(r, "earlier") * 60_000
				wide[i].Span.Latest += rapid.Int64Range(0, 90).Draw(r, "later") * 60_000
			}
		}
		unsure := checklist.NewShop()
		for _, l := range wide {
			unsure.Add(l)
		}
		for _, at := range []string{"12:00", "19:30", "1+8:10"} {
			now := sharp(at)
			later := checklist.Span{Earliest: now.Earliest - 30*60_000, Latest: now.Latest + 30*60_000}
			a, b := sure.Gates(jobLog.ID, now), unsure.Gates(jobLog.ID, now)
			c := sure.Gates(jobLog.ID, later)
			for i := range a {
				if a[i].Stage != "wipe" && a[i].Stage != "window" && a[i].Stage != "dry" {
					continue
				}
				if a[i].Cause == "move-unknown" || a[i].Cause == "outside-long" {
					// Card strips are asked for old hours; a sweat that a wider
					// reading makes possible asks for twelve new ones instead.
					continue
				}
				if a[i].State != checklist.Open && a[i].State != checklist.Done && (b[i].State == checklist.Open || a[i].Stage == "dry" && b[i].State == checklist.Done) {
					r.Fatalf("at %s a wider tick opened %s\n%s", at, a[i].Stage, show([]checklist.Gate{a[i], b[i]}))
				}
				if a[i].State == checklist.Held && a[i].Cause == "not-dry" && c[i].State == checklist.Open {
					r.Fatalf("at %s a wider now opened %s\n%s", at, a[i].Stage, show([]checklist.Gate{a[i], c[i]}))
				}
			}
		}
	})
}
