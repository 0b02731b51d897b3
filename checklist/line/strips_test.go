package line_test

import (
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
)

// What nobody can have measured on old film or fresh paint is refused; a
// surface under the gun is hot and no mistaken unit (definitions: an angle
// between two arms ends at 180 degrees, a share at 100 %; the other ends are
// common practice, no source).
func TestStripsAndPatchesAreJudged(t *testing.T) {
	s := checklist.NewShop()
	s.Add(checklist.Line{Log: checklist.Log{Class: checklist.JobLog}, ID: checklist.LineID{Seq: 1}, Kind: "job.open", Body: checklist.JobOpen{Label: "V", Route: "removal"}})
	now := checklist.Span{Earliest: 1_000_000_000, Latest: 1_000_000_000}
	strip := checklist.Trial{Place: "sunny roof edge", Surface: 62_000, Angle: 150, Speed: 500, Took: 840_000, Area: 90_000, Residue: 40_000, Paint: "sound"}
	with := func(change func(*checklist.Trial)) checklist.Trial { b := strip; change(&b); return b }
	for _, c := range []struct {
		body checklist.Body
		want string
	}{
		{strip, ""},
		{with(func(b *checklist.Trial) { b.Angle = 181 }), "An angle 181 cannot be. It goes from 0 to 180."},
		{with(func(b *checklist.Trial) { b.Angle = 1 << 40 }), "An angle 1000000000 cannot be. It goes from 0 to 180."},
		{with(func(b *checklist.Trial) { b.Residue = 100_001 }), "Adhesive left 100 % cannot be. It goes from 0 % to 100 %."},
		{with(func(b *checklist.Trial) { b.Paint = "gone" }), "The paint cannot be 'gone'."},
		{with(func(b *checklist.Trial) { b.At = 2_000_000_000 }), "That time is still to come. Check date and time."},
		{checklist.Patch{From: 900_000_000, To: 990_000_000, Places: 3, Coldest: 20_500, Warm: 55_000, WarmFor: 3_600_000, Seen: "nothing"}, ""},
		{checklist.Patch{From: 990_000_000, To: 900_000_000}, "It ends before it begins. Check both times."},
		{checklist.Paint{Cure: "sun"}, "How the paint was cured cannot be 'sun'."},
		{checklist.Paint{Cure: "baked", Painted: 2_000_000_000}, "That time is still to come. Check date and time."},
		{checklist.Paint{Cure: "baked", Thickness: []int64{-1}}, "Paint -1 micrometres cannot be. It goes from 0 micrometres to 5000 micrometres."},
	} {
		r := line.Check(checklist.Line{Log: checklist.Log{Class: checklist.JobLog}, Kind: c.body.Kind(), Body: c.body}, s, now)
		if r.Text != c.want || r.Ask {
			t.Errorf("%+v: %+v", c.body, r)
		}
	}
}
