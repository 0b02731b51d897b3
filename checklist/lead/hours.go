package lead

import (
	"slices"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/plan"
)

// UsualHours is when somebody is there until the shop says when: 07:30 to 17:00,
// Monday to Saturday (common practice, no source).
var UsualHours = func() (h checklist.ShopHours) {
	for range 6 {
		h.Week = append(h.Week, 7*hour+30*minute, 17*hour)
	}
	h.Week = append(h.Week, 0, 0)
	return h
}()

// HoursOf returns the shop's own hours, or the usual ones.
func HoursOf(s *checklist.Shop) checklist.ShopHours {
	if h, ok := s.Hours(); ok && len(h.Week) == 14 {
		return h
	}
	return UsualHours
}

// OpenHours returns the opening hours of the days from one moment to another,
// in the shop's zone: a day with a clock change opens at the same time on the
// wall.
func OpenHours(h checklist.ShopHours, zone *time.Location, from, to int64) []plan.Span {
	var out []plan.Span
	first := time.UnixMilli(from).In(zone)
	for d := 0; ; d++ {
		day := time.Date(first.Year(), first.Month(), first.Day()+d, 0, 0, 0, 0, zone)
		if day.UnixMilli() > to {
			return out
		}
		if slices.Contains(h.Shut, day.Format(time.DateOnly)) {
			continue
		}
		wall := func(ms int64) int64 {
			return time.Date(day.Year(), day.Month(), day.Day(), int(ms/hour), int(ms%hour/minute), 0, 0, zone).UnixMilli()
		}
		i := weekday(day)
		if s := (plan.Span{From: wall(h.Week[i]), To: wall(h.Week[i+1])}); s.From < s.To {
			out = append(out, s)
		}
	}
}

// weekday is where a day's hours stand in a week that begins on Monday.
func weekday(day time.Time) int { return (int(day.Weekday()) + 6) % 7 * 2 }
