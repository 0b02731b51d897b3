package story

import (
	"bayhold/checklist"
	demo "bayhold/testdata/demo/story"
)

// removal takes five-year-old film off a medium van and wraps it again. Paint
// chips on one door while it is pulled; the owner has it touched up, so that
// door waits for its paint and stays bare in the end.
func removal() []demo.Entry {
	b := newBook("F27 07:30", "V22")
	o := &b.open
	o.Customer, o.Vehicle, o.Plate = "Brindlecote Laundry", "medium van", "BL 22"
	o.Route, o.Film, o.Promise, o.Place = "removal", "cast", clock("07 10:00").UnixMilli(), demo.ID("yard")
	o.Panels = []checklist.Panel{
		{ID: "rear-doors", Name: "rear doors", Zone: "upper", Contour: true},
		{ID: "left-side", Name: "left side", Zone: "lower", Contour: true},
		{ID: "right-side", Name: "right side", Zone: "lower", Contour: true},
		{ID: "left-door", Name: "left front door", Zone: "upper", Contour: true},
	}
	o.Spots = []checklist.Spot{{ID: "1", Name: "left shoulder", Zone: "upper"}, {ID: "2", Name: "rear left sill", Zone: "lower"}}
	b.says("02 07:30", "D", *o)
	b.signs("02 07:45", "D", "check-in", "owner")
	b.says("02 07:50", "D", checklist.Asked{What: "film-age", Answer: "3 to 5 years"}, checklist.Asked{What: "film-kind", Answer: "unknown"},
		checklist.Asked{What: "paint-history", Answer: "yes, in a body shop"}, checklist.Asked{What: "fitted-by", Answer: "another shop"})
	b.moved("02 08:00", "bay 3", "no")
	b.climate("bay 3", weather{"02 07:30", "09 18:00", 21, 0.8, 45})
	b.climate("bay 1", weather{"03 12:00", "03 18:00", 16, 0.5, 55})
	b.read("02 08:10", "J", 6.2, 5.8)
	b.read("02 12:30", "J", 18.8, 18.2)
	b.says("02 13:00", "J", checklist.Trial{Place: "sunny roof edge", Surface: 62_000, Angle: 150, Speed: 500, Took: 14 * 60_000, Area: 90_000, Residue: 40_000, Paint: "sound"})
	b.says("02 13:20", "J", checklist.Trial{Place: "left side", Panel: "left-side", Surface: 54_000, Angle: 150, Speed: 1500, Took: 6 * 60_000, Area: 90_000, Residue: 10_000, Paint: "sound"})
	b.says("02 13:45", "J", checklist.Trial{Place: "left door, repaired", Panel: "left-door", Surface: 42_000, Angle: 165, Speed: 250, Took: 17 * 60_000, Area: 90_000, Residue: 20_000, Paint: "chipped"})
	b.signs("02 14:10", "D", "removal-risk", "owner")
	b.read("02 14:20", "J", 19.4, 18.9)
	pull := func(by, from, to, panel string) {
		b.begun(from, by, "pull", panel)
		b.done(to, by, "pull", panel)
	}
	pull("J", "02 14:30", "02 16:30", "rear-doors")
	pull("R", "02 14:30", "02 17:20", "left-side")
	b.read("03 07:10", "J", 19.6, 19.2)
	pull("J", "03 07:20", "03 09:30", "right-side")
	b.begun("03 07:20", "R", "pull", "left-door")
	b.finding("03 07:50", "R", checklist.Finding{Panel: "left-door", Place: "below the mirror", What: "peeling", Walk: "pull", Size: 40}, "03 11:20", "declined")
	b.done("03 08:20", "R", "pull", "left-door")
	for i, p := range b.panels() {
		at := []string{"03 09:40", "03 10:10", "03 10:45", "03 11:00"}[i]
		b.done(at, "R", "adhesive-off", p)
		b.says(at, "R", checklist.Evidence{What: "palm-drag", Panel: p, Passed: true})
	}
	b.signs("03 11:30", "M", "bare-paint", "installer")
	b.signs("03 11:40", "D", "bare-paint", "owner")
	b.moved("03 12:10", "bay 1", "no")
	b.begun("03 12:20", "T", "wash")
	b.place("03 12:20", "T", "bay 1", "wash-near", "03 12:20", "03 13:40", "")
	b.done("03 13:40", "T", "wash")
	b.says("03 14:00", "T", checklist.Evidence{What: "blown-out", Passed: true})
	b.signs("03 14:10", "J", "inspection", "installer")
	b.signs("03 14:20", "D", "inspection", "owner")
	b.moved("03 14:30", "bay 3", "no")
	channel := checklist.Feature{ID: "1", Sort: "channel", Name: "body line", Shape: "V", Width: 80_000, Depth: 15_000, Length: 3_000_000, Laid: "floor-first", Plan: "stretch"}
	for _, p := range o.Panels {
		channel.Panel = p.ID
		b.says("03 14:40", "M", channel)
	}
	b.says("03 14:50", "M", checklist.FilmRoll{Family: "cast", Laminate: "none", Adhesive: "permanent", Thickness: 80, Batch: "K-121", Roll: "2", Sheet: "cast colour film", Months: 60})
	b.done("03 15:00", "P", "film-in")
	b.read("03 15:10", "J", 18.4, 17.6)
	b.read("03 17:30", "P", 19.6, 19.0)
	b.read("04 07:00", "J", 20.0, 19.6)
	b.done("04 07:30", "J", "dry-fit", "rear-doors", "left-side", "right-side")
	for _, h := range []string{"08:00", "08:55", "09:50", "10:45", "11:40"} {
		b.read("04 "+h, "J", 20.2, 19.8)
	}
	b.laid("J", "04 08:10", "04 08:16", "04 10:00", "rear-doors")
	b.laid("R", "04 08:20", "04 08:26", "04 11:10", "left-side")
	b.laid("J", "04 10:15", "04 10:21", "04 12:30", "right-side")
	b.done("04 13:10", "J", "settle", "rear-doors", "left-side", "right-side")
	b.cut("04 14:00", "J", "tape", "rear-doors", "right-side")
	b.cut("04 14:00", "R", "tape", "left-side")
	for i, p := range []string{"rear-doors", "left-side", "right-side"} {
		b.says([]string{"04 14:20", "04 14:35", "04 14:50"}[i], "J", checklist.Heat{Panel: p, Length: 3_000_000, Took: 5 * 60_000, Guns: 1, Films: []int64{95_000, 96_000}, Instrument: "infrared", Emissivity: 95_000, Answer: "done"})
	}
	b.done("04 15:30", "S", "edge-check", "rear-doors", "left-side", "right-side")
	b.says("04 15:50", "R", checklist.Evidence{What: "lamps", Passed: true})
	b.done("04 16:00", "R", "refit")
	b.read("04 17:30", "P", 20.4, 20.0)
	b.read("05 07:00", "J", 19.8, 19.5)
	b.read("05 17:30", "P", 20.4, 20.0)
	b.says("06 08:00", "S", checklist.Evidence{What: "risen", Count: 0, Of: 9, Passed: true})
	b.signs("06 10:00", "D", "hand-over", "owner", "driver")
	b.says("06 10:05", "D", checklist.JobClose{How: "handed-over"})
	b.done("13 10:00", "M", "call-back")
	return b.close()
}
