package checklist_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"bayhold/checklist"
)

// A phone that starts asks for a job's gates when it has read the shop, the job
// and the places that the job hangs on, and before it has read the others. What
// it is told must be what the whole store says: a gate that opened for want of a
// door next door would be the worst that a slow start could do.
func TestHangsOnIsEnough(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		lines := drawn(r, t)
		if rapid.Bool().Draw(r, "stays") { // or it soon was everywhere
			lines = slices.DeleteFunc(lines, func(l checklist.Line) bool { return l.Kind == "job.move" })
		}
		w := &world{t: t, seq: map[string]uint64{}}
		places := []checklist.Log{bay1, bay2, yard}
		at := func() checklist.Span {
			e := clock("6:00") + rapid.Int64Range(0, 36*60).Draw(r, "at")*60_000
			return checklist.Span{Earliest: e, Latest: e}
		}
		for range rapid.IntRange(0, 3).Draw(r, "shared") {
			two := rapid.Permutation(places).Draw(r, "which")[:2]
			w.line("shares", at(), shopLog, checklist.AirShared{Places: []checklist.ID{two[0].ID, two[1].ID}})
		}
		for range rapid.IntRange(0, 6).Draw(r, "events") {
			log := rapid.SampledFrom(places).Draw(r, "where")
			w.line("tells", at(), log, checklist.PlaceEvent{Cause: rapid.SampledFrom([]string{"door-open", "heater-off", "silicone"}).Draw(r, "cause"), From: at().Earliest})
		}
		for range rapid.IntRange(0, 3).Draw(r, "hands") {
			log := rapid.SampledFrom(places).Draw(r, "where")
			w.line("reads", at(), log, checklist.ClimateReading{Air: 18_000, RH: 50_000})
		}
		lines = append(lines, w.lines...)

		whole, first := checklist.NewShop(), checklist.NewShop()
		for _, l := range lines {
			whole.Add(l)
			if l.Log == jobLog || l.Log == shopLog {
				first.Add(l)
			}
		}
		needs := first.HangsOn(jobLog.ID)
		for _, l := range lines {
			if l.Log.Class == checklist.PlaceLog && slices.Contains(needs, l.Log.ID) {
				first.Add(l)
			}
		}
		for _, at := range []string{"9:00", "19:30", "1+8:10", "1+18:00"} {
			if a, b := answers(whole, sharp(at)), answers(first, sharp(at)); a != b {
				r.Fatalf("at %s, hanging on %d of 3 places\nwhole: %s\nfirst: %s", at, len(needs), a, b)
			}
		}
	})
}

// Bay 2 shared air with bay 1, where the van stands; the yard did not.
func TestHangsOn(t *testing.T) {
	w := newWorld(t)
	w.add("7:00", shopLog, checklist.AirShared{Places: []checklist.ID{bay1.ID, bay2.ID}})
	if got, want := w.shop().HangsOn(jobLog.ID), []checklist.ID{bay1.ID, bay2.ID}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	w.add("8:00", jobLog, checklist.JobMove{Place: yard.ID})
	if got, want := w.shop().HangsOn(jobLog.ID), []checklist.ID{bay1.ID, bay2.ID, yard.ID}; !slices.Equal(got, want) {
		t.Errorf("after a move: got %v, want %v", got, want)
	}
	if got := w.shop().HangsOn(id("nobody's")); len(got) > 0 {
		t.Errorf("a job that is not here hangs on %v", got)
	}
}
