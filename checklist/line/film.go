package line

import (
	"bayhold/checklist"
	films "bayhold/checklist/film"
	"bayhold/checklist/stretch"
)

// film judges the words and measures of a film or of what it has to follow.
func film(b checklist.Body, one func(what, value string, of ...string) string) string {
	given := func(what, value string, of []string) string {
		if value == "" {
			return ""
		}
		return one(what, value, of...)
	}
	all := func(texts ...string) string {
		for _, t := range texts {
			if t != "" {
				return t
			}
		}
		return ""
	}
	switch b := b.(type) {
	case checklist.FilmRoll:
		text := all(one("A film's family", b.Family, films.FamilyKeys[:]...), given("A laminate", b.Laminate, films.LaminateKeys[:]),
			given("An adhesive", b.Adhesive, films.AdhesiveKeys[:]))
		for _, l := range b.Limits {
			text = all(text, sheetLimit(l))
		}
		return text
	case checklist.Feature:
		shapes := stretch.ShapeNames[:]
		if b.Sort == "surface" {
			shapes = films.SurfaceKeys[:]
		}
		return all(one("A feature", b.Sort, "channel", "dome", "rivets", "seam", "gap", "keep-clear", "surface", "flat"),
			given("Its shape", b.Shape, shapes),
			given("How it is laid", b.Laid, []string{"floor-first", "bridged"}),
			given("What is planned", b.Plan, []string{"stretch", "relief-cut", "inlay", "bare"}),
			given("Why it lies under", b.Force, checklist.Forces[:]),
			fits(b))
	}
	return ""
}

// fits refuses measures that contradict each other.
func fits(b checklist.Feature) string {
	const slack = 1_000 // error of a tape, in micrometres: package stretch
	switch {
	case b.Sort == "channel" && b.Floor > b.Width:
		return "The floor is wider than the mouth. Measure both again."
	case b.Sort == "channel" && b.Path != 0 && b.Path < b.Width-slack:
		return "The tape is shorter than the mouth. Measure both again."
	case b.Sort == "dome" && b.Height > b.HalfWidth:
		return "A dome is no higher than half its width. Measure again."
	case b.Sort == "surface" && b.Shape == "":
		return "Say what the surface is."
	case b.Under != "" && b.Under == b.Panel:
		return "A panel cannot lie under itself."
	}
	return ""
}

// sheetLimit refuses a number of a film's sheet that no gate has, or that no
// sheet can say.
func sheetLimit(l checklist.Limit) string {
	for i := range checklist.RuleTable {
		row := &checklist.RuleTable[i]
		if row.Key != l.Key {
			continue
		}
		if !Plausible(row.Unit, l.Value) {
			return "The sheet's number for '" + row.What + "' cannot be. Check its unit."
		}
		return ""
	}
	return "No step asks for '" + l.Key + "'."
}

// Plausible says whether a number of that unit can be a limit at all: a
// temperature of shops and vehicles, a share, a time up to a year.
func Plausible(unit string, v int64) bool {
	switch unit {
	case "mC":
		return v >= -40_000 && v <= 120_000
	case "mK":
		return v >= 0 && v <= 60_000
	case "m%":
		return v >= 0 && v <= 100_000
	case "ms":
		return v >= 0 && v <= 366*24*3_600_000
	}
	return v >= 0
}

// filmQuestion asks about a film line that may well be true.
func filmQuestion(l checklist.Line, s *checklist.Shop, now checklist.Span) string {
	switch b := l.Body.(type) {
	case checklist.FilmRoll:
		for _, f := range s.Films(l.Log.ID) {
			if b.Batch != "" && f.Batch != "" && f.Batch != b.Batch && f.Family == b.Family && f.Sheet == b.Sheet {
				return "Batches " + f.Batch + " and " + b.Batch + " may differ in shade. Use both?"
			}
		}
	case checklist.Tick:
		if b.Stage == "lay" && (b.Answer == "done" || b.Answer == "started") {
			return s.BeforeUnder(l.Log.ID, b.Panel, now)
		}
	}
	return ""
}
