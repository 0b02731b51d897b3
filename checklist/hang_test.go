package checklist_test

import (
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/checklist/material"
)

// TestHangOrder: TRADE section 8, panel order in order of force: airflow (rear
// panel first, the next one forward laps on top), then water (lower first),
// then reach, then sight (common practice, no source).
func TestHangOrder(t *testing.T) {
	w := bare(t)
	w.add("5:00", jobLog, checklist.JobOpen{Label: "V", Route: "van", Place: bay1.ID, Panels: []checklist.Panel{
		{ID: "roof-front", Name: "roof front", Zone: "upper"}, {ID: "side", Name: "left side", Zone: "upper"}, {ID: "roof-rear", Name: "roof rear", Zone: "upper"}}})
	order := func(at string) (string, []checklist.HangPiece, string) {
		pieces, circle := w.at(at).HangOrder(jobLog.ID, sharp(at))
		var names []string
		for _, p := range pieces {
			names = append(names, p.Panel)
		}
		return strings.Join(names, " "), pieces, circle
	}
	if got, _, _ := order("5:10"); got != "roof-front side roof-rear" {
		t.Error("without seams, as the job lists them:", got)
	}
	seam := func(at, over, under, force string) {
		w.add(at, jobLog, checklist.Feature{Panel: over, ID: "to " + under, Sort: "seam", Under: under, Force: force})
	}
	seam("5:20", "roof-front", "roof-rear", "airflow")
	seam("5:20", "roof-rear", "side", "water")
	got, pieces, _ := order("5:30")
	if got != "side roof-rear roof-front" || strings.Join(pieces[2].Under, " ") != "roof-rear" {
		t.Errorf("%s %+v", got, pieces)
	}
	ask := func(at, panel string) line.Refusal {
		b := checklist.Tick{Stage: "lay", Panel: panel, Answer: "started"}
		return line.Check(checklist.Line{Log: jobLog, Kind: b.Kind(), By: id("J"), Body: b}, w.at(at), sharp(at))
	}
	if r := ask("5:40", "roof-front"); !r.Ask || r.Text != "Roof front before roof rear: its lap faces forward. Lay it all the same?" {
		t.Errorf("%+v", r)
	}
	if r := ask("5:40", "roof-rear"); !r.Ask || r.Text != "Left side should lie under roof rear. Lay it all the same?" {
		t.Errorf("%+v", r)
	}
	if r := ask("5:40", "side"); r.Text != "" {
		t.Errorf("%+v", r)
	}
	w.add("6:00", jobLog, tick("lay", "side"))
	w.add("6:10", jobLog, tick("lay", "roof-front"))
	if r := ask("6:20", "roof-rear"); r.Text != "" {
		t.Errorf("%+v", r)
	}
	if _, pieces, _ := order("6:20"); !pieces[2].Early || pieces[0].Early || pieces[1].Early {
		t.Errorf("%+v", pieces)
	}
	w.add("7:00", jobLog, tick("lay", "roof-rear"))
	if _, pieces, _ := order("7:10"); !pieces[2].Early {
		t.Error("its lap still faces forward")
	}

	// What is seen gives way to air and water.
	seam("7:30", "side", "roof-front", "sight")
	if got, _, _ := order("7:31"); got != "side roof-rear roof-front" {
		t.Error("the edge that is seen was stronger than air and water:", got)
	}

	// Where forces fight, airflow wins on what drives.
	seam("8:00", "side", "roof-front", "airflow")
	if got, pieces, circle := order("8:10"); got != "roof-rear roof-front side" || circle != "" || len(pieces[0].Under) != 0 {
		t.Errorf("%s %s %+v", got, circle, pieces)
	}
	// Seams that go round are named, each under the next, and the job's own
	// order stands.
	seam("8:20", "roof-rear", "side", "airflow")
	if got, _, circle := order("8:30"); got != "roof-front side roof-rear" || circle != "Seams go round: roof rear, roof front, left side, roof rear. Strike one." {
		t.Errorf("%s %s", got, circle)
	}
}

// TestDrops: TRADE section 8: ceil((L - overlap)/(usable - overlap)) with 30 mm
// of spare, as package material has it.
func TestDrops(t *testing.T) {
	for side := 500.0; side < 14_000; side += 130 {
		for _, width := range material.Widths {
			want, err := material.Drops(side, width, 30, 15)
			if got := checklist.Drops(um(side), um(width)); err != nil || got != int64(want) {
				t.Errorf("%v mm of %v: %d drops, %d (%v)", side, width, got, want, err)
			}
		}
	}
	// "12 m bus side: 10 drops of 1.37" (common practice, no source).
	if got := checklist.Drops(um(12_000), um(1370)); got != 10 {
		t.Error(got)
	}
	if checklist.Drops(um(12_000), um(100)) != 0 || checklist.Drops(0, um(1370)) != 0 {
		t.Error("a roll that is no roll")
	}
}
