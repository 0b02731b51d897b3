package sealed

import (
	"strings"

	"bayhold/checklist"
	"bayhold/server/ical"
)

// careDates are the lines of the care sheet that name a day from which the film
// may see something.
var careDates = map[string]string{
	"hand-wash": "hand wash from today, soft cloth",
	"jet-wash":  "pressure wash from today, 300 mm off",
	"call-back": "call back: bring it to be looked at",
}

// dates writes the vehicle's dates as an iCalendar object: moments, not spans.
func (l *Lines) dates() []byte {
	id := checklist.ID(l.Job)
	facts, _ := l.Shop.Job(id)
	var b strings.Builder
	put := func(line string) { ical.Line(&b, line) }
	put("BEGIN:VCALENDAR")
	put("VERSION:2.0")
	put("PRODID:-//Bayhold//Record//EN")
	event := func(key, what string, at int64) {
		if at == 0 {
			return
		}
		put("BEGIN:VEVENT")
		put("UID:" + key + "-" + l.Job.String() + "@record.bayhold")
		put("DTSTAMP:" + ical.UTC(facts.ClosedAt.Latest))
		put("DTSTART:" + ical.UTC(at))
		put("SUMMARY:" + ical.Text(facts.Open.Label+" "+what))
		put("END:VEVENT")
	}
	event("check-in", "checked in", facts.Opened.Latest)
	event("promise", "promised", facts.Open.Promise)
	how := "handed over"
	if facts.Closed != "handed-over" {
		how = "left without film"
	}
	event("hand-over", how, facts.ClosedAt.Latest)
	if facts.Closed == "handed-over" {
		care, _ := l.Shop.CareSheet(id, "en", facts.ClosedAt)
		for _, c := range care {
			if what := careDates[c.Key]; what != "" {
				event(c.Key, what, c.From)
			}
		}
	}
	put("END:VCALENDAR")
	return []byte(b.String())
}
