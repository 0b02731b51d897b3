package lead_test

import (
	"slices"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/lead"
	"bayhold/sync/logbook"
)

// Three strips on cast film of three to five years: a square metre at the pace
// of the quickest, 6 min for 0.09 m2, is 6/0.09 = 66 2/3 min, at that of the
// slowest 14/0.09 = 155 5/9 min; what was measured, 2 m2, takes twice that. Cast
// film up to five years comes at 45 to 60 C, 130 to 160 degrees, 1 to 2 m a
// minute (common practice, no source).
func TestRemovalIsEstimated(t *testing.T) {
	id := func(name string) checklist.ID { return checklist.ID(logbook.Named(name)) }
	s, seq, now := checklist.NewShop(), uint64(0), int64(1_768_377_600_000)
	job := checklist.Log{Class: checklist.JobLog, ID: id("V")}
	add := func(log checklist.Log, b checklist.Body) {
		seq++
		now += 60_000
		s.Add(checklist.Line{Log: log, ID: checklist.LineID{Writer: id("phone"), Seq: seq}, Order: seq, By: id("J"), Kind: b.Kind(), Body: b, Span: checklist.Span{Earliest: now, Latest: now}})
	}
	say := func() []string {
		return lead.At(s, checklist.Span{Earliest: now, Latest: now}, 0, nil).Removal(job.ID)
	}
	add(checklist.Log{Class: checklist.ShopLog, ID: id("shop")}, checklist.PlaceAdd{Place: id("bay"), Name: "Bay 1", Sort: "bay"})
	add(job, checklist.JobOpen{Label: "V", Route: "removal", Place: id("bay"), Panels: []checklist.Panel{
		{ID: "side", Name: "left side", Zone: "upper", Area: 2_000_000}, {ID: "hood", Name: "hood", Zone: "upper"}}})
	add(job, checklist.Asked{What: "film-age", Answer: "3 to 5 years"})
	add(job, checklist.Asked{What: "film-kind", Answer: "cast"})
	if got := say(); got != nil {
		t.Errorf("without a strip: %q", got)
	}
	for _, x := range []struct{ took, residue int64 }{{14, 40_000}, {6, 10_000}, {8, 20_000}} {
		add(job, checklist.Trial{Place: "side", Angle: 150, Took: x.took * 60_000, Area: 90_000, Residue: x.residue, Paint: "sound"})
	}
	want := []string{
		"Estimate from 3 strips: ⟨h:4000000⟩ to ⟨h:9333333⟩ by hand a square metre.",
		"All measured panels: ⟨h:8000000⟩ to ⟨h:18666666⟩ by hand.",
		"Not in it: 1 panel that nobody measured.",
		"Adhesive left: 10 % to 40 %.",
		"Left side, hood: cast, up to 5 years, ⟨c:45000⟩ to ⟨c:60000⟩. Pull at 130 to 160 degrees, 1000 to 2000 mm a minute. Comes in sheets, little adhesive.",
	}
	if got := say(); !slices.Equal(got, want) {
		t.Errorf("%q\nwant %q", got, want)
	}
	add(job, checklist.Trial{Place: "hood", Panel: "hood", Took: 60_000, Area: 90_000, Paint: "peeled"})
	if got := say(); got[len(got)-1] != "A strip took paint along: ask the owner before pulling there." {
		t.Errorf("%q", got)
	}
}
