package story

import (
	"bayhold/checklist"
	demo "bayhold/testdata/demo/story"
)

// hood is a freshly repainted hood: 'baked', says the owner, nine days ago; the
// first patch is taken in a cold bay and shows pin-heads after the warm cycle.
// A week later the second one lies flat.
func hood() []demo.Entry {
	b := newBook("F27 07:30", "H4")
	o := &b.open
	o.Customer, o.Vehicle, o.Plate = "Pellwick Bakery", "small car", "PB 4"
	o.Route, o.Film, o.Promise, o.Place = "hood", "cast", clock("16 17:00").UnixMilli(), demo.ID("bay 2")
	o.Panels = []checklist.Panel{{ID: "hood", Name: "hood", Zone: "upper", Contour: true}}
	o.Spots = []checklist.Spot{{ID: "1", Name: "middle of the hood", Zone: "upper"}, {ID: "2", Name: "over the brace", Zone: "upper"}}
	b.says("02 13:30", "D", *o)
	b.signs("02 13:40", "D", "check-in", "owner")
	b.photo("02 13:45", "R", "hood", "check-in")
	b.says("02 14:00", "D", checklist.Paint{Cure: "baked", Painted: clock("F21 12:00").UnixMilli(), Source: "owner", Thickness: []int64{180, 240, 250, 210, 190}})
	b.says("02 14:05", "M", checklist.Feature{Panel: "hood", ID: "1", Sort: "channel", Name: "crease", Shape: "V", Width: 60_000, Depth: 8_000, Length: 1_900_000, Laid: "floor-first", Plan: "stretch"})
	b.says("02 14:10", "M", checklist.FilmRoll{Family: "cast", Laminate: "none", Adhesive: "permanent", Thickness: 80, Batch: "K-118", Roll: "9", Sheet: "cast colour film", Months: 48})
	b.done("02 14:15", "P", "film-in")
	b.done("02 14:20", "R", "strip")
	// Cold bay, first patch: three places, a day, then an hour of warmth.
	b.climate("bay 2", weather{"02 13:00", "03 18:00", 16, 0.5, 50}, weather{"03 18:00", "12 18:00", 21.5, 0.5, 45}, weather{"12 18:00", "16 18:00", 20, 0.6, 45})
	b.read("02 15:00", "R", 15.6, 15.4)
	b.says("02 15:05", "R", checklist.Patch{Panel: "hood", From: clock("02 15:00").UnixMilli(), Places: 3})
	b.read("03 15:00", "R", 15.9, 15.6)
	b.says("03 15:05", "R", checklist.Patch{Panel: "hood", From: clock("02 15:00").UnixMilli(), To: clock("03 15:00").UnixMilli(), Places: 3, Coldest: 15_300, Seen: "nothing"})
	b.says("03 16:30", "R", checklist.Patch{Panel: "hood", From: clock("02 15:00").UnixMilli(), To: clock("03 16:30").UnixMilli(), Places: 3, Coldest: 15_300, Warm: 55_000, WarmFor: 60 * 60_000, Seen: "bubbles"})
	b.says("03 16:45", "D", checklist.Note{Text: "Owner told: pin-heads on patch 2, a week more.", Salt: salt("told")})
	// The painter writes: baked indeed. A week in the warm bay, second patch.
	b.says("04 10:00", "D", checklist.Paint{Cure: "baked", Painted: clock("F21 12:00").UnixMilli(), Source: "painter's note", Thickness: []int64{180, 240, 250, 210, 190}})
	for d := 4; d <= 10; d++ {
		b.read(day(d)+" 08:00", "R", 21.0, 20.8)
	}
	b.says("11 08:05", "R", checklist.Patch{Panel: "hood", From: clock("11 08:00").UnixMilli(), Places: 3})
	b.read("11 08:00", "R", 21.1, 20.9)
	b.read("12 08:00", "R", 21.0, 20.9)
	b.says("12 09:30", "R", checklist.Patch{Panel: "hood", From: clock("11 08:00").UnixMilli(), To: clock("12 09:30").UnixMilli(), Places: 3, Coldest: 20_600, Warm: 55_000, WarmFor: 60 * 60_000, Seen: "nothing"})
	b.photo("12 09:31", "R", "hood", "patch, no bubbles")
	b.says("12 09:40", "R", checklist.Evidence{What: "tape-pull", Passed: true, Panel: "hood"})
	b.signs("12 10:00", "D", "paint-risk", "owner")
	// A light wash, and on from there.
	b.done("12 10:40", "T", "wash")
	b.says("12 10:50", "T", checklist.Evidence{What: "blown-out", Passed: true})
	b.signs("12 11:00", "R", "inspection", "installer")
	b.signs("12 11:05", "D", "inspection", "owner")
	b.read("12 11:10", "R", 20.2, 19.8)
	b.read("12 17:30", "P", 20.6, 20.2)
	b.read("13 07:00", "R", 19.6, 19.4)
	b.done("13 07:10", "R", "dry-fit", "hood")
	b.done("13 07:40", "R", "wipe", "hood")
	b.begun("13 07:48", "R", "lay", "hood")
	b.done("13 08:50", "R", "lay", "hood")
	b.photo("13 08:51", "R", "hood", "laid")
	b.done("13 09:30", "R", "settle", "hood")
	b.cut("13 09:55", "R", "tape", "hood")
	// Low and slow: fresh paint stays under 80 C.
	b.says("13 10:20", "R", checklist.Heat{Panel: "hood", Over: "paint", Length: 1_900_000, Took: 9 * 60_000, Guns: 1, Films: []int64{74_000, 76_000}, Instrument: "infrared", Emissivity: 95_000, Answer: "done"})
	b.done("13 11:00", "S", "edge-check", "hood")
	b.says("13 11:10", "R", checklist.Evidence{What: "lamps", Passed: true})
	b.done("13 11:15", "R", "refit")
	b.read("13 12:00", "R", 20.2, 20.0)
	b.read("13 17:30", "P", 20.4, 20.1)
	b.read("14 07:30", "R", 19.5, 19.3)
	b.says("14 10:30", "S", checklist.Evidence{What: "risen", Count: 0, Of: 2, Passed: true})
	b.signs("14 11:00", "D", "hand-over", "owner", "driver")
	b.says("14 11:05", "D", checklist.JobClose{How: "handed-over"})
	b.done("21 10:00", "M", "call-back")
	return b.close()
}

// day is a day of the month in two digits.
func day(d int) string { return string(rune('0'+d/10)) + string(rune('0'+d%10)) }
