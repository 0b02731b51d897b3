package checklist_test

import (
	"strconv"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/air"
)

// world is a small shop for tests: two bays, a yard, a lead, and one van V in
// bay 1 with an upper and a lower zone, washed, blown out, looked over, and
// read every ten minutes by taped-on probes. Clocks are "10:30" on the first
// day and "1+10:30" on the next.
type world struct {
	t     *testing.T
	lines []checklist.Line
	seq   map[string]uint64
}

const min10 = 10 * 60_000

// clock is a moment of the world.
func clock(s string) int64 {
	day := int64(0)
	if d, rest, ok := strings.Cut(s, "+"); ok {
		n, _ := strconv.Atoi(d)
		day, s = int64(n), rest
	}
	h, m, _ := strings.Cut(s, ":")
	hh, _ := strconv.Atoi(h)
	mm, err := strconv.Atoi(m)
	if err != nil {
		panic(s)
	}
	return 1_768_262_400_000 + ((day*24+int64(hh))*60+int64(mm))*60_000
}

func sharp(s string) checklist.Span { return checklist.Span{Earliest: clock(s), Latest: clock(s)} }

var (
	jobLog  = checklist.Log{Class: checklist.JobLog, ID: id("V")}
	bay1    = checklist.Log{Class: checklist.PlaceLog, ID: id("bay 1")}
	bay2    = checklist.Log{Class: checklist.PlaceLog, ID: id("bay 2")}
	yard    = checklist.Log{Class: checklist.PlaceLog, ID: id("yard")}
	shopLog = checklist.Log{Class: checklist.ShopLog, ID: id("shop")}
)

func bare(t *testing.T) *world {
	w := &world{t: t, seq: map[string]uint64{}}
	w.add("0:00", shopLog, checklist.PlaceAdd{Place: bay1.ID, Name: "Bay 1", Sort: "bay", Order: 1})
	w.add("0:00", shopLog, checklist.PlaceAdd{Place: bay2.ID, Name: "Bay 2", Sort: "bay", Order: 2})
	w.add("0:00", shopLog, checklist.PlaceAdd{Place: yard.ID, Name: "Yard", Sort: "yard", Order: 3})
	w.add("0:00", shopLog, checklist.PersonAdd{Person: id("M"), Name: "M", Initials: "M", Role: "lead"})
	w.add("0:00", shopLog, checklist.PersonAdd{Person: id("J"), Name: "J", Initials: "J", Role: "crew"})
	return w
}

var vanV = checklist.JobOpen{
	Label: "V", Route: "panels", Place: bay1.ID,
	Panels: []checklist.Panel{
		{ID: "shoulder", Name: "left shoulder", Zone: "upper", Contour: true},
		{ID: "sill", Name: "left sill", Zone: "lower", Contour: true, Primer: true},
	},
	Spots: []checklist.Spot{{ID: "1", Name: "shoulder", Zone: "upper"}, {ID: "2", Name: "rear left sill", Zone: "lower"}},
}

// newWorld begins at 6:00: V is washed and dries in air of 20 C and 40 % (dew
// point 6 C), its surfaces at 19 C.
func newWorld(t *testing.T) *world {
	w := bare(t)
	w.add("5:00", jobLog, vanV)
	w.add("6:00", jobLog, checklist.Tick{Stage: "wash", Answer: "done"})
	w.add("6:00", jobLog, checklist.Evidence{What: "blown-out", Passed: true})
	w.add("6:05", jobLog, checklist.Sign{What: "inspection", As: "installer"})
	w.add("6:05", jobLog, checklist.Sign{What: "inspection", As: "owner"})
	return w
}

// ready goes on to 18:00, when V has its twelve hours.
func ready(t *testing.T) *world {
	w := newWorld(t)
	w.climate(bay1, "6:00", "18:00", 20, 40)
	w.probes("6:00", "18:00", 19, 19)
	return w
}

func (w *world) add(at string, log checklist.Log, body checklist.Body) checklist.LineID {
	return w.as("J", at, log, body)
}

func (w *world) as(who, at string, log checklist.Log, body checklist.Body) checklist.LineID {
	return w.line(who, sharp(at), log, body)
}

func (w *world) line(who string, span checklist.Span, log checklist.Log, body checklist.Body, strikes ...checklist.LineID) checklist.LineID {
	key := who + string(log.Class) + string(log.ID[:])
	w.seq[key]++
	l := checklist.Line{Log: log, ID: checklist.LineID{Writer: id("phone " + who), Seq: w.seq[key]}, Span: span, By: id(who), Body: body, Strikes: strikes}
	if body != nil {
		l.Kind = body.Kind()
	}
	w.lines = append(w.lines, l)
	return l.ID
}

func (w *world) climate(log checklist.Log, from, to string, airC, rh float64) {
	for t := clock(from); t < clock(to); t += min10 {
		a, h := int32(airC*1000), int32(rh*1000)
		dew, ok := air.DewPointMilli(a, h)
		if !ok {
			w.t.Fatal("no dew point")
		}
		end := t + min10
		w.line("server", checklist.Span{Earliest: end, Latest: end}, log, checklist.ClimateBlock{
			Instrument: "logger", From: t, To: end, N: 1, Air: checklist.Range{Least: a, Most: a, Last: a},
			RH: checklist.Range{Least: h, Most: h, Last: h}, Dew: checklist.Range{Least: dew, Most: dew, Last: dew}})
	}
}

func (w *world) probes(from, to string, upper, lower float64) {
	for t := clock(from); t <= clock(to); t += min10 {
		w.line("server", checklist.Span{Earliest: t, Latest: t}, jobLog, surfaces("logger", upper, lower))
	}
}

func surfaces(instrument string, upper, lower float64) checklist.Reading {
	return checklist.Reading{Instrument: instrument, Values: []checklist.SpotValue{
		{Spot: "1", Surface: int32(upper * 1000)}, {Spot: "2", Surface: int32(lower * 1000)}}}
}

func (w *world) shop() *checklist.Shop {
	s := checklist.NewShop()
	for _, l := range w.lines {
		s.Add(l)
	}
	return s
}

// at folds the lines that may have been written by then.
func (w *world) at(at string) *checklist.Shop {
	s := checklist.NewShop()
	for _, l := range w.lines {
		if l.Span.Earliest <= clock(at) {
			s.Add(l)
		}
	}
	return s
}

// gate answers for a stage on a panel or in a zone, from the lines until then.
// A second shop is asked between the last lines, so that it counts again only
// from where something changed; it must answer alike.
func (w *world) gate(at, stage, target string) checklist.Gate {
	w.t.Helper()
	g := pick(w.t, w.at(at).Gates(jobLog.ID, sharp(at)), stage, target)
	asked := checklist.NewShop()
	for i, l := range w.lines {
		if l.Span.Earliest <= clock(at) {
			asked.Add(l)
			if len(w.lines)-i < 12 {
				asked.Gates(jobLog.ID, sharp(at))
			}
		}
	}
	if again := pick(w.t, asked.Gates(jobLog.ID, sharp(at)), stage, target); show([]checklist.Gate{again}) != show([]checklist.Gate{g}) {
		w.t.Errorf("%s %s: asked in between\n%s, in one go\n%s", at, stage, show([]checklist.Gate{again}), show([]checklist.Gate{g}))
	}
	return g
}

func pick(t *testing.T, gates []checklist.Gate, stage, target string) checklist.Gate {
	t.Helper()
	for _, g := range gates {
		if g.Stage == stage && (target == "" || g.Panel == target || g.Panel == "" && g.Zone == target) {
			return g
		}
	}
	t.Fatalf("no gate of %s on %s", stage, target)
	return checklist.Gate{}
}

func (w *world) want(at, stage, target string, state checklist.State, cause string) checklist.Gate {
	w.t.Helper()
	g := w.gate(at, stage, target)
	if g.State != state || g.Cause != cause {
		w.t.Errorf("%s %s %s: got %s", at, stage, target, show([]checklist.Gate{g}))
	}
	return g
}
