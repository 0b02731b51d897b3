package server

import (
	"fmt"
	"strings"
	"time"

	"bayhold/checklist"
	leads "bayhold/checklist/lead"
	"bayhold/checklist/plan"
	"bayhold/server/ical"
	"bayhold/sync/logbook"
)

// calendarOf writes the plan as an iCalendar object (RFC 5545): an event for
// each piece of work and each stretch of hours, one for each promise. An event
// keeps its UID from plan to plan, so that a calendar moves it. Of one job alone,
// which may go to somebody outside, it tells the dates: not whose hands, nor which
// other vehicle it waits for.
func calendarOf(name string, s *leads.Schedule, job checklist.ID, now int64, zone *time.Location) []byte {
	var b strings.Builder
	put := func(format string, args ...any) { ical.Line(&b, fmt.Sprintf(format, args...)) }
	put("BEGIN:VCALENDAR")
	put("VERSION:2.0")
	put("PRODID:-//Bayhold//Plan//EN")
	put("X-WR-CALNAME:%s", ical.Text(name))
	one := job != (checklist.ID{})
	seen := map[string]int{}
	event := func(uid, summary, place, text string, from, to int64) {
		if seen[uid]++; seen[uid] > 1 {
			uid = fmt.Sprintf("%d-%s", seen[uid], uid)
		}
		put("BEGIN:VEVENT")
		put("UID:%s", uid)
		put("DTSTAMP:%s", ical.UTC(now))
		put("DTSTART:%s", ical.UTC(from))
		put("DTEND:%s", ical.UTC(to))
		put("SUMMARY:%s", ical.Text(summary))
		if place != "" {
			put("LOCATION:%s", ical.Text(place))
		}
		if text != "" {
			put("DESCRIPTION:%s", ical.Text(text))
		}
		put("END:VEVENT")
	}
	if s.Plan != nil {
		for _, bar := range s.Bars {
			// RFC 5545 section 3.6.1: an end is later than its start.
			if bar.To/1000 <= bar.From/1000 || one && s.Jobs[bar.Chain] != job {
				continue
			}
			c := &s.Problem.Chains[bar.Chain]
			kind, place := "work", ""
			if bar.Wait {
				kind = "hours"
			}
			if bar.Bay != plan.None {
				place = s.Problem.Bays[bar.Bay].Name
			}
			text := ""
			if !one {
				text = strings.Join(bar.Who, ", ")
				if word := s.Word(bar); word != "" {
					if text != "" {
						text += "\n"
					}
					text += "Not earlier: " + word
				}
			}
			film := ""
			if c.Film {
				film = "film-"
			}
			event(fmt.Sprintf("%s-%s%s-%s@plan.bayhold", logbook.ID(s.Jobs[bar.Chain]), film, kind, strings.ReplaceAll(bar.Key, " ", "-")),
				c.Name+": "+bar.Key, place, text, bar.From, bar.To)
		}
		for i := range s.Problem.Chains {
			if c := &s.Problem.Chains[i]; c.Due != 0 && !c.Film && (!one || s.Jobs[i] == job) {
				text := "Planned " + time.UnixMilli(s.Ends[i]).In(zone).Format("Mon 15:04")
				if s.Ends[i] > c.Due {
					text = "LATE. " + text
				}
				event(fmt.Sprintf("%s-promise@plan.bayhold", logbook.ID(s.Jobs[i])), c.Name+" promised", "", text, c.Due, c.Due+15*60*1000)
			}
		}
	}
	put("END:VCALENDAR")
	return []byte(b.String())
}
