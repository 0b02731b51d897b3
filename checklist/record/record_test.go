package record_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/record"
	demo "bayhold/testdata/demo/story"
	"bayhold/testdata/jobs/story"
)

func has(t *testing.T, text string, says ...string) {
	t.Helper()
	for _, s := range says {
		if !strings.Contains(text, strings.ReplaceAll(s, "|", "\t")) {
			t.Errorf("the record does not say %q", s)
		}
	}
}

// TestFirstPage: go-aheads with name and sentence, lines that came late and what
// was not measured stand in the first section, before anything else, as the shop
// floor asked.
func TestFirstPage(t *testing.T) {
	b := bookOf("van")
	b.says("03 06:55", "M", checklist.Waiver{Stage: "window", Zone: "lower", Causes: []string{"cold=400"}, Sentence: "Sill is flat there, I look at it."})
	// Typed at 17:00, written at 19:30: two and a half hours late.
	b.says("04 19:30", "R", checklist.Tick{Stage: "refit", Answer: "done", At: clock("04 17:00").UnixMilli()})
	b.says("04 19:31", "R", checklist.Tick{Stage: "edge-check", Panel: "roof", Answer: "from-memory"})
	b.says("05 12:00", "J", checklist.Reading{Answer: "not-measured"})
	b.says("05 12:01", "J", checklist.Heat{Panel: "roof", Length: 1_000_000, Answer: "not-measured"})
	r := b.record(t)
	if r.Sections[0].Key != "front" {
		t.Fatalf("the record begins with %s", r.Sections[0].Key)
	}
	front := (&record.Record{Sections: r.Sections[:1]}).Text()
	has(t, front, "Temperature|lower|Sill is flat there, I look at it.|cold=400|M|3 Mar 06:55",
		"Trim back on, lamps tested: at 4 Mar 17:00 as typed, written 2.5 h later by R.",
		"Edges, by another hand, roof: from memory, 4 Mar 19:31, R.",
		"Surface: not measured, 5 Mar 12:00, J.", "Post-heat on roof: film not read, 5 Mar 12:01, J.", "VIN|not written down")
	last := -1
	for _, s := range []string{"The lead's go-aheads", "Lines that came late", "Not measured, not done, not reported"} {
		if at := strings.Index(front, s); at <= last {
			t.Errorf("%q stands at %d, after %d", s, at, last)
		} else {
			last = at
		}
	}
}

// TestInstruments: what the readings were taken with stands beside them as the
// register had it then, and a check that was too long ago by the shop's month
// (common practice, no source) is said. A check that came after the reading says
// nothing for it.
func TestInstruments(t *testing.T) {
	b := bookOf("van")
	shop := ""
	for _, e := range b.lines {
		if _, ok := e.Body.(checklist.ShopSet); ok {
			shop = e.Log
		}
	}
	b.put(shop, "01 06:00", "M", checklist.Instrument{Name: "IR 1", Sort: "infrared", Error: 1500, Checked: clock("01 06:00").AddDate(0, 0, -40).UnixMilli(), Against: "ice water"})
	b.put(shop, "01 06:00", "M", checklist.Instrument{Name: "probe 2", Sort: "contact", Error: 300, Checked: clock("01 06:00").UnixMilli(), Against: "IR 1"})
	spot := checklist.SpotValue{Spot: "1", Surface: 18_000}
	b.says("03 06:55", "J", checklist.Reading{Instrument: "infrared", With: "IR 1", Values: []checklist.SpotValue{spot}})
	b.says("03 06:56", "J", checklist.Reading{Instrument: "contact", With: "probe 2", Values: []checklist.SpotValue{spot}})
	b.put(shop, "04 06:00", "M", checklist.Instrument{Name: "IR 1", Sort: "infrared", Error: 2500, Checked: clock("04 06:00").UnixMilli()})
	text := b.record(t).Text()
	has(t, text, "IR 1|infrared|1.5 K|20 Jan 2026|ice water", "probe 2|contact probe|0.3 K|1 Mar 2026|IR 1",
		"IR 1, read with on 3 Mar 2026: its last check was too long ago (20 Jan 2026).")
	if strings.Contains(text, "probe 2, read with") || strings.Contains(text, "2.5 K") {
		t.Error("a fresh check is old, or a later one came before its reading")
	}
}

// TestClean: the van's job, in which nothing was left out, says so of each.
func TestClean(t *testing.T) {
	has(t, bookOf("van").record(t).Text(), "The lead let no stopped step pass.", "Every line was written within 30 minutes of its act.",
		"Nothing that the shop's steps ask for is missing.", "No line was taken back.")
}

// TestNothingKnown: a job of which nothing is written but that it was opened
// says everywhere that nothing is known, and never that it was fine.
func TestNothingKnown(t *testing.T) {
	s := checklist.NewShop()
	for _, e := range story.Jobs["van"]() {
		if _, ok := e.Body.(checklist.JobOpen); ok {
			s.Add(e.Line())
		}
	}
	for _, language := range checklist.Languages {
		now := clock("02 08:00").UnixMilli()
		r, ok := record.Of(s, record.Asked{Job: s.Jobs()[0], Now: checklist.Span{Earliest: now, Latest: now}, Language: language})
		if !ok {
			t.Fatal("no record")
		}
		text := r.Text()
		if language == "en" {
			has(t, text, "Nobody wrote down how the vehicle came.", "No film was laid on rear doors", "No surface was read.", "the climate is not known", "No photo was taken.",
				"Nobody signed.", "No wash is written down.", "No post-heat is written down.", "Not sealed", "Handed over|not yet", "No door was reported open.", "name not known")
		}
		if strings.Contains(text, "{") || strings.Contains(text, "⟨") {
			t.Errorf("a hole is left open in %s", language)
		}
	}
	if _, ok := record.Of(s, record.Asked{}); ok {
		t.Error("a record of no job")
	}
}

// TestInterval: a line whose moment is not known to the minute says both ends,
// and half an hour and more says so on the first page.
func TestInterval(t *testing.T) {
	b := bookOf("van")
	s, a := b.shop()
	l := demo.Entry{Log: b.log, Writer: "a phone in the bay", Seq: 1, By: "R", Body: checklist.Note{Text: "rinsed twice"}}.Line()
	l.Span = checklist.Span{Earliest: clock("04 09:00").UnixMilli(), Latest: clock("04 11:40").UnixMilli()}
	s.Add(l)
	r, _ := record.Of(s, a)
	has(t, r.Text(), "4 Mar 09:00 to 4 Mar 11:40|Note||R|rinsed twice", "Note rinsed twice: between 4 Mar 09:00 and 4 Mar 11:40, by R; the phone was out of reach.")
}

// TestStruck: a line that was taken back stays readable, with who took it back,
// and no table counts it.
func TestStruck(t *testing.T) {
	b := bookOf("van")
	b.says("04 14:55", "R", checklist.Heat{Panel: "bumper", Length: 9_000_000, Took: 60_000, Films: []int64{99_000}, Instrument: "infrared", Answer: "done"})
	s, a := b.shop()
	s.Add(checklist.Line{Log: demo.LogOf(b.log), ID: checklist.LineID{Writer: demo.ID("phone of M"), Seq: 1}, By: demo.ID("M"), Kind: "strike",
		Span: checklist.Span{Earliest: clock("04 15:02").UnixMilli(), Latest: clock("04 15:02").UnixMilli()}, Strikes: []checklist.LineID{{Writer: demo.ID("another phone"), Seq: 1}}})
	r, _ := record.Of(s, a)
	text := r.Text()
	has(t, text, "Post-heat, front bumper|R|4 Mar 14:55|M|4 Mar 15:02")
	if strings.Contains(text, "9.0 m") || strings.Contains(text, "No line was taken back.") {
		t.Error("what was taken back is told as if it stood")
	}
}

// TestZoneAndUnits: times are those of the shop's zone, temperatures in its unit.
// 12:30 UTC of 4 March is 07:30 in New York (UTC-5 until 8 March 2026); 19.2 C is
// 19.2 * 9/5 + 32 = 66.6 F, and 0.5 K is 0.9 F.
func TestZoneAndUnits(t *testing.T) {
	b := bookOf("van")
	b.says("04 12:30", "J", checklist.Reading{Instrument: "contact", Values: []checklist.SpotValue{{Spot: "3", Surface: 19_200}}})
	edit(b, func(_ *demo.Entry, x *checklist.ShopSet) bool { x.Units = "F"; return true })
	s, a := b.shop()
	a.Zone = time.FixedZone("New York in winter", -5*3600)
	r, _ := record.Of(s, a)
	has(t, r.Text(), "4 Mar 07:30|||66.6 F||contact probe|J", "contact 0.9 F")
}

// TestPlot: what is drawn is what was read: every air block of the two bays while
// the vehicle stood there, every reading's coldest dot.
func TestPlot(t *testing.T) {
	b := bookOf("van")
	r := b.record(t)
	var plot record.Plot
	for _, p := range r.Sections {
		for _, block := range p.Blocks {
			if x, ok := block.(record.Plot); ok {
				plot = x
			}
		}
	}
	from, moved, to := clock("02 10:40").UnixMilli(), clock("02 13:00").UnixMilli(), clock("06 14:10").UnixMilli()
	if plot.From != from || plot.To != to {
		t.Errorf("from %v to %v", time.UnixMilli(plot.From).UTC(), time.UnixMilli(plot.To).UTC())
	}
	var air, dots []record.Spot
	for _, e := range b.lines {
		switch x := e.Body.(type) {
		case checklist.ClimateBlock:
			if e.Log == "place:bay 1" && x.To >= from && x.To <= moved || e.Log == "place:bay 2" && x.To >= moved && x.To <= to {
				air = append(air, record.Spot{At: x.To, Value: int64(x.Air.Last)})
			}
		case checklist.Reading:
			least := x.Values[0].Surface
			for _, v := range x.Values {
				least = min(least, v.Surface)
			}
			if at := e.At.UnixMilli(); at >= from && at <= to {
				dots = append(dots, record.Spot{At: at, Value: int64(least)})
			}
		}
	}
	byTime := func(a, b record.Spot) int { return int((a.At - b.At) / 1000) }
	slices.SortFunc(air, byTime)
	slices.SortFunc(dots, byTime)
	if !slices.Equal(plot.Curves[0].Spots, air) {
		t.Errorf("%d values of air, %d were written", len(plot.Curves[0].Spots), len(air))
	}
	if !slices.Equal(plot.Curves[2].Spots, dots) {
		t.Errorf("%d readings, %d were written", len(plot.Curves[2].Spots), len(dots))
	}
	if len(plot.Marks) != 3 || len(plot.Days) != 5 {
		t.Errorf("%d things happened, %d days", len(plot.Marks), len(plot.Days))
	}
}
