package checklist_test

import (
	"fmt"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/air"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// loaded is a shop with two weeks of climate in one bay and a job of 2,000
// entries that has stood there since; older jobs stand beside it.
func loaded(older int) (s *checklist.Shop, lines []checklist.Line, now int64) {
	const minute = int64(60_000)
	begin := int64(1_768_000_000_000)
	var out []checklist.Line
	seq := map[checklist.Log]uint64{}
	add := func(log checklist.Log, at int64, body checklist.Body) {
		seq[log]++
		out = append(out, checklist.Line{Log: log, ID: checklist.LineID{Writer: id("w"), Seq: seq[log]}, Order: seq[log],
			Span: checklist.Span{Earliest: at - 40, Latest: at}, By: id("J"), Kind: body.Kind(), Body: body})
	}
	shop, bay := checklist.Log{Class: 's', ID: id("shop")}, checklist.Log{Class: 'p', ID: id("bay")}
	add(shop, begin, checklist.PlaceAdd{Place: id("bay"), Name: "Bay 1", Sort: "bay"})
	add(shop, begin, checklist.PersonAdd{Person: id("J"), Name: "J", Initials: "J", Role: "lead"})
	for i := int64(0); i < 14*24*6; i++ {
		from := begin + i*10*minute
		airC, rh := int32(20_000+i%7*100), int32(50_000+i%13*1000)
		dew, _ := air.DewPointMilli(airC, rh)
		add(bay, from+10*minute, checklist.ClimateBlock{Instrument: "l", From: from, To: from + 10*minute, N: 10,
			Air: checklist.Range{Least: airC, Most: airC, Last: airC}, RH: checklist.Range{Least: rh, Most: rh, Last: rh}, Dew: checklist.Range{Least: dew, Most: dew, Last: dew}})
	}
	job := func(name string, entries int) {
		log := checklist.Log{Class: 'j', ID: id(name)}
		o := checklist.JobOpen{Label: name, Route: "van", Place: id("bay")}
		for i := range 12 {
			zone := "upper"
			if i > 5 {
				zone = "lower"
			}
			o.Panels = append(o.Panels, checklist.Panel{ID: fmt.Sprint("p", i), Name: fmt.Sprint("panel ", i), Zone: zone, Contour: true, Primer: i%2 == 0})
		}
		for i := range 8 {
			zone := "upper"
			if i > 3 {
				zone = "lower"
			}
			o.Spots = append(o.Spots, checklist.Spot{ID: fmt.Sprint(i + 1), Name: fmt.Sprint("spot ", i+1), Zone: zone})
		}
		add(log, begin, o)
		add(log, begin+minute, checklist.Tick{Stage: "wash", Answer: "done"})
		add(log, begin+2*minute, checklist.Evidence{What: "blown-out", Passed: true})
		add(log, begin+2*minute, checklist.Sign{What: "inspection", As: "installer", Name: "J"})
		add(log, begin+2*minute, checklist.Sign{What: "inspection", As: "owner", Name: "an owner"})
		step := 14 * 24 * 60 * minute / int64(entries)
		for i := 5; i < entries; i++ {
			at := begin + int64(i)*step
			switch i % 4 {
			case 0, 1:
				var v []checklist.SpotValue
				for k := range 8 {
					v = append(v, checklist.SpotValue{Spot: fmt.Sprint(k + 1), Surface: int32(18_000 + i%5*100 + k*50)})
				}
				add(log, at, checklist.Reading{Instrument: "contact", Values: v})
			case 2:
				add(log, at, checklist.Tick{Stage: "wipe", Panel: fmt.Sprint("p", i%12), Answer: "done"})
			case 3:
				if i%8 == 3 {
					add(log, at, checklist.Setback{Cause: "touched", Panels: []string{fmt.Sprint("p", i%12)}})
				} else {
					add(log, at, checklist.Tick{Stage: "primer", Panel: fmt.Sprint("p", i%12), Answer: "done"})
				}
			}
		}
	}
	for i := range older {
		job(fmt.Sprint("old ", i), 400)
	}
	job("job", 2000)
	s = checklist.NewShop()
	for _, l := range out {
		s.Add(l)
	}
	return s, out, begin + 14*24*60*minute
}

// BenchmarkBudgetGates: every gate of one job with 2,000 entries, after one
// new entry with the state already folded, two weeks of climate included.
// Budget: 200 us, unchanged by older jobs. The new entry is a tick, a setback,
// a reading (which counts all hours again) or a climate block.
func BenchmarkBudgetGates(b *testing.B) {
	for _, older := range []int{0, 49} {
		s, lines, at := loaded(older)
		now := checklist.Span{Earliest: at, Latest: at + 40}
		last := map[string]checklist.Line{}
		for _, l := range lines {
			last[l.Kind] = l
		}
		for _, kind := range []string{"tick", "setback", "reading", "climate.block"} {
			b.Run(fmt.Sprintf("older=%d/%s", older, kind), func(b *testing.B) {
				l := last[kind]
				l.Span = checklist.Span{Earliest: at - 40, Latest: at}
				b.ReportAllocs()
				for b.Loop() {
					l.Order++
					if c, ok := l.Body.(checklist.ClimateBlock); ok {
						l.ID.Seq++
						c.From, c.To = c.To, c.To+600_000
						l.Body = c
						now = checklist.Span{Earliest: c.To, Latest: c.To + 40}
					}
					// A line of the job is taken again with a new receipt: the
					// same work as a new one, without growing the job.
					s.Add(l)
					if g := s.Gates(id("job"), now); len(g) == 0 {
						b.Fatal("no gates")
					}
				}
			})
		}
	}
}

// BenchmarkBudgetColdFold reads a job of 2,000 entries and two weeks of climate
// from their bytes, folds them from nothing and asks the job's gates once.
func BenchmarkBudgetColdFold(b *testing.B) {
	_, lines, at := loaded(0)
	raw := make([][]byte, len(lines))
	for i, l := range lines {
		e := logbook.Entry{Log: logbook.Log{Class: l.Log.Class, ID: logbook.ID(l.Log.ID)}, Writer: logbook.ID(l.ID.Writer),
			Seq: l.ID.Seq, By: logbook.ID(l.By), Kind: l.Kind, Body: line.Encode(l.Body)}
		raw[i] = e.Append(nil)
	}
	b.ReportAllocs()
	for b.Loop() {
		s := checklist.NewShop()
		for i, bytes := range raw {
			e, err := logbook.Decode(bytes)
			if err != nil {
				b.Fatal(err)
			}
			l, err := line.Of(e, lines[i].Order, lines[i].Span)
			if err != nil {
				b.Fatal(err)
			}
			s.Add(l)
		}
		s.Gates(id("job"), checklist.Span{Earliest: at, Latest: at})
	}
}

func id(name string) checklist.ID {
	var out checklist.ID
	copy(out[:], name)
	return out
}
