package checklist_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"bayhold/checklist"
)

// A phone that starts asks for a job's gates when it has read the shop, the job
// and the places that the job hangs on, and before it has read the others. What
// it is told must be what the whole store says: a gate that opened for want of a
// door next door would be the worst that a slow start could do. Of the air of these
// places it leaves out what is older than the job, but for the last day that each
// was heard.
func TestHangsOnIsEnough(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		lines := drawn(r, t)
		if rapid.Bool().Draw(r, "stays") { // or it soon was everywhere
			lines = slices.DeleteFunc(lines, func(l checklist.Line) bool { return l.Kind == "job.move" })
		}
		if rapid.Bool().Draw(r, "hood") { // a route that asks about paint
			i := slices.IndexFunc(lines, func(l checklist.Line) bool { return l.Kind == "job.open" })
			open := lines[i].Body.(checklist.JobOpen)
			open.Route = "hood"
			lines[i].Body = open
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
		for _, log := range places { // the days before
			for range rapid.IntRange(0, 20).Draw(r, "blocks") {
				from := clock("6:00") - rapid.Int64Range(0, 7*24*6).Draw(r, "ago")*min10
				air, rh := int32(rapid.IntRange(8, 22).Draw(r, "air"))*1000, int32(rapid.IntRange(30, 85).Draw(r, "rh"))*1000
				w.line("older", checklist.Span{Earliest: from + min10, Latest: from + min10}, log, checklist.ClimateBlock{
					Instrument: rapid.SampledFrom([]string{"logger", "another"}).Draw(r, "instrument"), From: from, To: from + min10, N: 1,
					Air: checklist.Range{Least: air, Most: air, Last: air}, RH: checklist.Range{Least: rh, Most: rh, Last: rh}, Dew: checklist.Range{Most: air - 2_000}})
			}
		}
		for range rapid.IntRange(0, 2).Draw(r, "paints") {
			paint := checklist.Paint{Cure: rapid.SampledFrom([]string{"baked", "unknown"}).Draw(r, "cure"), Source: "owner"}
			if rapid.Bool().Draw(r, "told when") {
				paint.Painted = clock("6:00") - rapid.Int64Range(0, 6*24).Draw(r, "painted")*60*60_000
			}
			w.line("paints", at(), jobLog, paint)
		}
		lines = append(lines, w.lines...)

		whole, first := checklist.NewShop(), checklist.NewShop()
		for _, l := range lines {
			whole.Add(l)
			if l.Log == jobLog || l.Log == shopLog {
				first.Add(l)
			}
		}
		needs, since := first.HangsOn(jobLog.ID)
		newest := map[checklist.ID]int64{}
		for _, l := range lines {
			if b, ok := l.Body.(checklist.ClimateBlock); ok {
				newest[l.Log.ID] = max(newest[l.Log.ID], b.To)
			}
		}
		for _, l := range lines {
			if b, ok := l.Body.(checklist.ClimateBlock); ok && b.To < min(since, newest[l.Log.ID]-dayMs) {
				continue
			}
			if l.Log.Class == checklist.PlaceLog && slices.Contains(needs, l.Log.ID) {
				first.Add(l)
			}
		}
		// What a job's view asks of the air.
		answers := func(s *checklist.Shop, now checklist.Span) string {
			j, _ := s.Job(jobLog.ID)
			c, known := s.Climate(j.Place, now)
			m, told := s.Margin(jobLog.ID, now)
			return fmt.Sprintf("%s %+v %v %+v %v %+v", answers(s, now), c, known, m, told, s.Ongoing(j.Place, now))
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
	is := func(when string, since int64, want ...checklist.ID) {
		t.Helper()
		if got, from := w.shop().HangsOn(jobLog.ID); !slices.Equal(got, want) || from != since-dayMs {
			t.Errorf("%s: got %v since %d, want %v since %d", when, got, from, want, since-dayMs)
		}
	}
	j, _ := w.shop().Job(jobLog.ID)
	opened := j.Opened.Earliest
	is("checked in", opened, bay1.ID, bay2.ID)
	w.add("8:00", jobLog, checklist.JobMove{Place: yard.ID})
	is("after a move", opened, bay1.ID, bay2.ID, yard.ID)
	w.add("8:05", jobLog, checklist.Tick{Stage: "wash", Answer: "done", At: opened - 3*60*60_000})
	is("washed three hours before", opened-3*60*60_000, bay1.ID, bay2.ID, yard.ID)
	w.add("8:10", jobLog, checklist.Paint{Cure: "unknown", Painted: opened - 5*dayMs, Source: "owner"})
	is("of paint all air counts, and the air outdoors with it", 0, yard.ID, bay1.ID, bay2.ID)
	if got, _ := w.shop().HangsOn(id("nobody's")); len(got) > 0 {
		t.Errorf("a job that is not here hangs on %v", got)
	}
}
