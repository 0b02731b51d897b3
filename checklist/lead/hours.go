package lead

import (
	"time"

	"bayhold/checklist/plan"
)

// Opening is one number of the shop's week, by its key in a rule set.
type Opening struct {
	Key     string
	Default int64
	What    string
}

// Openings is when somebody is there: common practice, no source.
var Openings = []Opening{
	{"open_from", 7*hour + 30*minute, "ms after midnight at which work begins"},
	{"open_to", 17 * hour, "ms after midnight at which it ends"},
	{"open_days", 6, "working days of a week, from Monday on"},
}

// OpenHours returns the opening hours of the days from one moment to another,
// in the shop's zone: a day with a clock change opens at the same time on the
// wall.
func OpenHours(rules map[string]int64, zone *time.Location, from, to int64) []plan.Span {
	at := func(key string) int64 {
		for _, o := range Openings {
			if o.Key == key {
				if v, ok := rules[key]; ok {
					return v
				}
				return o.Default
			}
		}
		return 0
	}
	var out []plan.Span
	first := time.UnixMilli(from).In(zone)
	for d := 0; ; d++ {
		day := time.Date(first.Year(), first.Month(), first.Day()+d, 0, 0, 0, 0, zone)
		if day.UnixMilli() > to {
			return out
		}
		if (int64(day.Weekday())+6)%7 >= at("open_days") {
			continue
		}
		wall := func(ms int64) int64 {
			return time.Date(day.Year(), day.Month(), day.Day(), int(ms/hour), int(ms%hour/minute), 0, 0, zone).UnixMilli()
		}
		if s := (plan.Span{From: wall(at("open_from")), To: wall(at("open_to"))}); s.From < s.To {
			out = append(out, s)
		}
	}
}
