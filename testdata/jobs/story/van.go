package story

import (
	"bayhold/checklist"
	demo "bayhold/testdata/demo/story"
)

// van is a long high-roof van: printed cast film over compound contours. The
// heater trips in the night, a wipe goes old over lunch, a door goes up on
// wiped panels, film is lifted after its heat, and one recess has risen when
// they look again.
func van() []demo.Entry {
	b := newBook("F27 07:30", "V21")
	o := &b.open
	o.Customer, o.Vehicle, o.Plate = "Quillgate Flowers", "long high-roof van", "QF 21"
	o.Route, o.Film, o.Promise = "van", "cast-print", clock("07 14:00").UnixMilli()
	o.Panels = []checklist.Panel{
		{ID: "rear-doors", Name: "rear doors", Zone: "upper", Contour: true},
		{ID: "left-side", Name: "left side", Zone: "lower", Contour: true, Primer: true},
		{ID: "right-side", Name: "right side", Zone: "lower", Contour: true},
		{ID: "roof", Name: "roof", Zone: "upper"},
		{ID: "left-door", Name: "left front door", Zone: "upper", Contour: true},
		{ID: "right-door", Name: "right front door", Zone: "upper", Contour: true},
		{ID: "bonnet", Name: "bonnet", Zone: "upper"},
		{ID: "bumper", Name: "front bumper", Zone: "lower", Contour: true, Primer: true},
	}
	o.Spots = []checklist.Spot{{ID: "1", Name: "left shoulder", Zone: "upper"}, {ID: "2", Name: "roof rail", Zone: "upper"},
		{ID: "3", Name: "rear left sill", Zone: "lower"}, {ID: "4", Name: "right sill", Zone: "lower"}}

	// Friday: the desk opens the job, the lead has measured at the owner's.
	b.says("F27 09:00", "D", *o)
	channel := func(panel, id, name string, width, depth, length int64) checklist.Feature {
		return checklist.Feature{Panel: panel, ID: id, Sort: "channel", Name: name, Shape: "V", Width: width * 1000, Depth: depth * 1000, Length: length * 1000, Laid: "floor-first", Plan: "stretch"}
	}
	b.says("F27 09:20", "M",
		channel("rear-doors", "1", "door pressing", 80, 15, 4200),
		channel("left-side", "1", "body line", 80, 15, 7600),
		checklist.Feature{Panel: "left-side", ID: "2", Sort: "channel", Name: "rail recess", Shape: "trapezoid", Width: 50_000, Depth: 20_000, Floor: 40_000, Length: 2_400_000, Plan: "inlay"},
		checklist.Feature{Panel: "left-side", ID: "3", Sort: "gap", Name: "sliding door", Length: 3_900_000, Moving: true},
		channel("right-side", "1", "body line", 80, 15, 7600),
		checklist.Feature{Panel: "right-side", ID: "3", Sort: "keep-clear", Name: "fuel flap"},
		channel("left-door", "1", "door pressing", 60, 8, 2100),
		channel("right-door", "1", "door pressing", 60, 8, 2100),
		checklist.Feature{Panel: "bumper", ID: "1", Sort: "dome", Name: "corner bulge", HalfWidth: 200_000, Height: 90_000, Length: 1_800_000, Laid: "floor-first", Plan: "stretch"},
		checklist.Feature{Panel: "bumper", ID: "2", Sort: "keep-clear", Name: "parking sensors"})
	b.says("F27 10:00", "M", checklist.FilmRoll{Family: "cast-print", Laminate: "cast", Adhesive: "permanent", Thickness: 50,
		Batch: "C-2231", Roll: "7", Sheet: "cast print film, 2 mil", Printed: true, Months: 60})
	b.done("F27 11:00", "S", "print")
	b.done("F28 12:00", "S", "laminate")
	b.done("02 07:30", "P", "film-in")

	// Monday: check-in, trim off, wash, the walk on clean paint, blown out.
	b.moved("02 08:00", "bay 1", "no")
	b.finding("02 08:20", "J", checklist.Finding{Panel: "rear-doors", Place: "below the handle", What: "chip", Walk: "check-in", Size: 4}, "02 08:40", "accepted")
	for i, where := range []string{"left", "right", "front", "rear", "roof", "wheels"} {
		b.photo("02 08:2"+string(rune('1'+i)), "J", "", "check-in "+where)
	}
	b.signs("02 08:45", "D", "check-in", "owner")
	b.done("02 10:30", "R", "strip")
	b.says("02 10:30", "R", checklist.Evidence{What: "trim-bags", Passed: true, Count: 14, Of: 14})
	b.begun("02 10:40", "T", "wash")
	b.place("02 10:40", "T", "bay 1", "wash-near", "02 10:40", "02 12:20", "")
	b.done("02 12:20", "T", "wash")
	b.finding("02 12:40", "J", checklist.Finding{Panel: "left-side", Place: "over the rear wheel", What: "scratch", Walk: "clean", Size: 60}, "02 13:40", "accepted")
	b.signs("02 12:50", "J", "inspection", "installer")
	b.signs("02 13:45", "D", "inspection", "owner")
	b.moved("02 13:00", "bay 2", "no")
	b.says("02 13:30", "T", checklist.Evidence{What: "blown-out", Passed: true})
	b.read("02 14:00", "T", 17.2, 16.8, 15.1, 15.3)
	b.read("02 17:30", "P", 19.0, 18.8, 17.6, 17.8)
	b.place("02 22:05", "P", "bay 2", "heater-off", "02 22:05", "", "tripped")
	b.place("02 23:35", "P", "bay 2", "heater-off", "02 22:05", "02 23:35", "reset")
	b.climate("bay 1", weather{"02 07:30", "02 14:00", 15, 1, 55})
	b.climate("bay 2", weather{"02 07:30", "09 18:00", 20, 1, 45})

	// Tuesday: dry fit, then from the rear.
	b.read("03 07:00", "J", 19.4, 19.2, 18.9, 19.0)
	b.done("03 07:35", "J", "dry-fit", b.panels()...)
	hourly := func(day string, hours ...string) {
		for _, h := range hours {
			b.read(day+" "+h, "J", 19.8, 19.6, 19.2, 19.3)
		}
	}
	hourly("03", "08:15", "09:15", "10:10", "11:10", "12:38", "13:35")
	b.laid("J", "03 08:30", "03 08:36", "03 10:30", "rear-doors")
	// The left side is primed at the ends of its recess.
	b.done("03 10:40", "J", "wipe", "left-side")
	b.done("03 10:46", "J", "primer", "left-side")
	b.begun("03 10:54", "J", "lay", "left-side")
	b.done("03 13:50", "J", "lay", "left-side")
	b.photo("03 13:50", "J", "left-side", "laid")
	// R wipes, and goes to lunch.
	b.done("03 11:52", "R", "wipe", "right-side")
	b.laid("R", "03 12:45", "03 12:50", "03 15:40", "right-side")
	b.done("03 14:57", "R", "wipe", "right-side") // what the door left open
	// J wipes the roof when the door goes up for film.
	b.done("03 14:12", "J", "wipe", "roof")
	b.place("03 14:16", "P", "bay 2", "door-open", "03 14:16", "", "delivery of film")
	b.place("03 14:25", "P", "bay 2", "door-open", "03 14:16", "03 14:25", "delivery of film")
	b.read("03 14:56", "J", 18.6, 18.2, 18.0, 18.1)
	b.laid("J", "03 14:58", "03 15:02", "03 17:20", "roof")
	b.read("03 15:10", "R", 19.0, 18.8, 18.4, 18.6)
	b.read("03 16:05", "R", 19.4, 19.2, 18.8, 19.0)
	b.read("03 17:00", "J", 19.6, 19.4, 19.0, 19.2)
	b.read("03 17:30", "P", 19.6, 19.4, 19.0, 19.2)

	// Wednesday: doors, bonnet, bumper.
	hourly("04", "07:30", "08:25", "09:20", "10:15", "11:10")
	b.laid("J", "04 07:40", "04 07:45", "04 08:50", "left-door")
	b.laid("R", "04 07:42", "04 07:47", "04 08:55", "right-door")
	b.laid("J", "04 09:10", "04 09:15", "04 10:20", "bonnet")
	b.done("04 09:15", "R", "wipe", "bumper")
	b.done("04 09:21", "R", "primer", "bumper")
	b.begun("04 09:30", "R", "lay", "bumper")
	b.done("04 11:30", "R", "lay", "bumper")
	b.photo("04 11:30", "R", "bumper", "laid")
	finishVan(b)
	return b.close()
}

// finishVan is what follows laying, to the call back.
func finishVan(b *book) {
	// Settled, cut, tucked: each panel when its recesses had half an hour.
	for _, s := range []struct{ at, by, panel string }{
		{"03 11:05", "J", "rear-doors"}, {"03 14:30", "J", "left-side"}, {"03 16:20", "R", "right-side"},
		{"04 09:25", "J", "left-door"}, {"04 09:28", "R", "right-door"}, {"04 12:10", "R", "bumper"},
	} {
		b.done(s.at, s.by, "settle", s.panel)
		b.photo(s.at, s.by, s.panel, "recess")
	}
	b.says("04 13:00", "J", checklist.Evidence{What: "gap-cut", Panel: "left-side", Feature: "3", Passed: true})
	b.says("04 13:02", "R", checklist.Evidence{What: "keep-clear", Panel: "right-side", Feature: "3", Passed: true},
		checklist.Evidence{What: "keep-clear", Panel: "bumper", Feature: "2", Passed: true})
	b.cut("04 13:10", "J", "tape", "rear-doors", "left-side", "left-door", "bonnet", "roof")
	b.cut("04 13:20", "R", "tape", "right-side", "right-door")
	b.cut("04 13:22", "R", "knife", "bumper")
	// Post-heat: 29.8 m with one gun each, at half a metre to a metre a minute.
	heat := func(at, by, panel string, metres, minutes float64, films ...int64) {
		h := checklist.Heat{Panel: panel, Length: int64(metres * 1_000_000), Took: int64(minutes * 60_000), Guns: 1, Instrument: "infrared", Emissivity: 95_000, Answer: "done"}
		for _, c := range films {
			h.Films = append(h.Films, c*1000)
		}
		b.says(at, by, h)
	}
	heat("04 13:45", "J", "rear-doors", 4.2, 6, 96, 94, 98)
	heat("04 14:05", "J", "left-side", 5, 7, 97, 95)
	b.says("04 14:07", "J", checklist.Note{Text: "Phone rang, rest of the left side after.", Salt: salt("rang")})
	heat("04 14:20", "J", "left-side", 5, 7, 84) // too cold at the rear
	heat("04 14:32", "J", "left-side", 5, 8, 95, 97)
	heat("04 14:38", "J", "left-side", 3.9, 5, 96) // both lips of the sliding door
	heat("04 14:10", "R", "right-side", 7.6, 10, 94, 96, 97)
	heat("04 14:45", "J", "left-door", 2.1, 3, 95)
	heat("04 14:30", "R", "right-door", 2.1, 3, 96)
	heat("04 14:50", "R", "bumper", 1.8, 4, 93)
	// R lifts the right side once more to take out a seed of dust.
	b.says("04 15:10", "R", checklist.Setback{Cause: "film-lifted", Panels: []string{"right-side"}})
	heat("04 15:30", "R", "right-side", 7.6, 11, 95, 97, 96)
	// S looks along the edges under side light, and finds one corner.
	b.finding("04 16:05", "S", checklist.Finding{Panel: "bonnet", Place: "front left corner", What: "edge up", Walk: "edges", Size: 8}, "04 16:20", "repaired")
	b.says("04 16:25", "S", checklist.Evidence{What: "blade-line", Panel: "bumper", Feature: "cut", Passed: true})
	b.done("04 16:30", "S", "edge-check", "rear-doors", "left-side", "right-side", "left-door", "right-door", "bonnet", "roof", "bumper")
	b.says("04 17:05", "R", checklist.Evidence{What: "trim-bags", Passed: true, Count: 14, Of: 14})
	b.says("04 17:10", "R", checklist.Evidence{What: "lamps", Passed: true}, checklist.Evidence{What: "hose-test", Passed: true})
	b.done("04 17:15", "R", "refit")
	// Rest, read at close-up and in the morning, and a look on Friday.
	b.read("04 17:30", "P", 19.6, 19.5, 19.1, 19.2)
	b.read("05 07:00", "J", 19.1, 19.0, 18.6, 18.7)
	b.read("05 17:30", "P", 19.5, 19.4, 19.0, 19.2)
	b.read("06 07:00", "J", 19.1, 19.0, 18.5, 18.6)
	b.says("06 08:30", "J", checklist.Evidence{What: "risen", Count: 1, Of: 24, Passed: true})
	b.photo("06 08:32", "J", "left-side", "re-check")
	b.signs("06 14:00", "D", "hand-over", "owner", "driver")
	b.says("06 14:10", "D", checklist.JobClose{How: "handed-over"})
	b.done("14 10:00", "M", "call-back")
}
