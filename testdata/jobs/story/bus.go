package story

import (
	"bayhold/checklist"
	demo "bayhold/testdata/demo/story"
)

// busSide is one side of a city bus with rivets and laps: a heater and a fan
// on one timer, a weep in the sweat test, rivets risen over the accepted share
// that are pressed again.
func busSide() []demo.Entry {
	b := newBook("F27 07:30", "B12")
	o := &b.open
	o.Customer, o.Vehicle, o.Fleet = "Hexmoor Transit", "12 m city bus, left side", "412"
	o.Route, o.Film, o.Promise = "bus-side", "cast-print", clock("07 05:00").UnixMilli()
	for i, name := range []string{"drop 1, rear", "drop 2", "drop 3", "drop 4", "drop 5, front"} {
		o.Panels = append(o.Panels, checklist.Panel{ID: "drop-" + string(rune('1'+i)), Name: name, Zone: "left side", Contour: true})
	}
	o.Spots = []checklist.Spot{{ID: "1", Name: "rivet rail, rear", Zone: "left side"}, {ID: "2", Name: "middle of the side", Zone: "left side"}, {ID: "3", Name: "rivet rail, front", Zone: "left side"}}

	b.says("01 07:00", "D", *o)
	for _, p := range o.Panels {
		b.says("01 07:20", "M",
			checklist.Feature{Panel: p.ID, ID: "1", Sort: "rivets", Name: "rail rivets", HalfWidth: 6_000, Height: 2_500, Count: 60, Laid: "bridged", Plan: "stretch"},
			checklist.Feature{Panel: p.ID, ID: "2", Sort: "seam", Name: "lap", Length: 2_200_000})
	}
	b.says("01 07:40", "M", checklist.Feature{Panel: "drop-3", ID: "3", Sort: "gap", Name: "hatch", Length: 2_400_000, Moving: true},
		checklist.Feature{Panel: "drop-4", ID: "3", Sort: "keep-clear", Name: "emergency exit, handle and lettering"})
	// The film came printed and laminated from outside.
	b.says("01 08:00", "M", checklist.FilmRoll{Family: "cast-print", Laminate: "cast", Adhesive: "strong", Thickness: 50, Batch: "C-2240", Roll: "11, 12", Sheet: "cast print film for rivets", Months: 60})
	b.done("01 08:30", "P", "film-in")
	b.moved("02 06:30", "bay 3", "yes")
	b.signs("02 06:50", "D", "check-in", "owner")
	b.says("02 06:55", "D", checklist.Asked{What: "last-wash", Answer: "today"}, checklist.Asked{What: "wash-product", Answer: "shampoo with wax"})
	b.photo("02 07:00", "S", "", "check-in left side")
	b.begun("02 07:10", "T", "wash")
	b.done("02 09:40", "T", "wash")
	b.done("02 11:00", "J", "sealant")
	b.finding("02 11:15", "J", checklist.Finding{Panel: "drop-5", Place: "behind the door", What: "dent", Walk: "clean", Size: 120}, "02 12:40", "accepted")
	b.signs("02 11:20", "J", "inspection", "installer")
	b.signs("02 12:45", "D", "inspection", "owner")
	b.says("02 12:00", "T", checklist.Evidence{What: "blown-out", Passed: true})
	b.read("02 12:10", "T", 13.4, 15.8, 13.2)
	b.read("02 17:30", "P", 16.0, 17.9, 15.9)
	// The timer takes heater and fan away from one until six.
	b.climate("bay 3", weather{"02 06:00", "03 01:00", 19, 0.8, 52}, weather{"03 01:00", "03 06:00", 14.5, 0.5, 74}, weather{"03 06:00", "07 06:00", 20, 0.8, 46})
	b.place("03 06:10", "M", "bay 3", "heater-off", "03 01:00", "03 06:00", "one timer for heater and fan")
	b.read("03 06:30", "J", 14.2, 14.6, 14.0)
	b.read("03 12:00", "J", 17.9, 19.0, 17.8)
	b.read("03 17:30", "P", 18.8, 19.4, 18.6)
	b.read("04 06:30", "J", 18.6, 19.0, 18.4)
	// One lap weeps when it is warmed; four hours later none does.
	b.says("03 18:00", "J", checklist.Evidence{What: "sweat-test", Passed: false, Note: "weep line at the lap of drop 2"})
	b.says("04 06:45", "J", checklist.Evidence{What: "sweat-test", Passed: true, Note: "every lap warmed, no weep line"})
	b.done("04 07:00", "J", "dry-fit", b.panels()...)
	for _, h := range []string{"07:15", "08:10", "09:05", "10:00", "10:55", "11:50", "12:45"} {
		b.read("04 "+h, "J", 19.0, 19.4, 18.9)
	}
	drops := [][4]string{{"drop-1", "04 07:30", "04 07:38", "04 08:20"}, {"drop-2", "04 08:30", "04 08:38", "04 09:15"}, {"drop-3", "04 09:25", "04 09:33", "04 10:10"},
		{"drop-4", "04 10:20", "04 10:28", "04 11:05"}, {"drop-5", "04 11:15", "04 11:23", "04 12:00"}}
	for i, d := range drops {
		by := []string{"J", "R"}[i%2]
		b.done(d[1], by, "wipe", d[0])
		b.begun(d[2], by, "lay", d[0])
		b.done(d[3], by, "lay", d[0])
		b.photo(d[3], by, d[0], "plumb")
	}
	b.done("04 12:40", "J", "settle", b.panels()...)
	b.says("04 13:00", "J", checklist.Evidence{What: "gap-cut", Panel: "drop-3", Feature: "3", Passed: true},
		checklist.Evidence{What: "keep-clear", Panel: "drop-4", Feature: "3", Passed: true})
	b.cut("04 14:30", "J", "tape", b.panels()...)
	for i, p := range b.panels() {
		at := []string{"04 15:00", "04 15:45", "04 16:30", "04 17:15", "04 18:00"}[i]
		length := int64(2_200_000) // the lap
		if p == "drop-3" {
			length += 2_400_000 // both lips of the hatch
		}
		b.says(at, "R", checklist.Heat{Panel: p, Length: length, Rivets: 60, Took: 40 * 60_000, Guns: 1, Films: []int64{95_000, 97_000, 94_000, 96_000, 95_000, 98_000}, Instrument: "infrared", Emissivity: 95_000, Answer: "done"})
	}
	b.done("04 18:40", "S", "edge-check", b.panels()...)
	b.says("04 18:50", "R", checklist.Evidence{What: "lamps", Passed: true})
	b.done("04 18:55", "R", "refit")
	b.read("04 19:00", "P", 19.2, 19.6, 19.1)
	b.read("05 07:00", "J", 18.9, 19.3, 18.8)
	b.read("05 17:30", "P", 19.3, 19.7, 19.2)
	b.read("06 07:00", "J", 18.9, 19.3, 18.8)
	// 21 of 300 rivets are 7 %: the cause is looked for, they are pressed again.
	b.says("06 07:30", "S", checklist.Evidence{What: "risen", Count: 21, Of: 300, Passed: false, Note: "row over the rear wheel, cold rivets"})
	b.says("06 08:10", "R", checklist.Heat{Panel: "drop-1", Rivets: 21, Took: 20 * 60_000, Guns: 1, Films: []int64{96_000, 97_000}, Instrument: "infrared", Emissivity: 95_000, Answer: "done"})
	b.says("06 16:00", "S", checklist.Evidence{What: "risen", Count: 2, Of: 300, Passed: true})
	b.signs("06 17:00", "D", "hand-over", "owner", "driver")
	b.says("06 17:10", "D", checklist.JobClose{How: "handed-over"})
	b.done("16 09:00", "M", "call-back")
	return b.close()
}
