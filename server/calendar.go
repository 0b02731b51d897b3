package server

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	leads "bayhold/checklist/lead"
	"bayhold/checklist/plan"
	"bayhold/sync/logbook"
)

// calendarOf writes the plan as an iCalendar object (RFC 5545): an event for
// each piece of work and each stretch of hours, one for each promise. An event
// keeps its UID from plan to plan, so that a calendar moves it.
func calendarOf(name string, s *leads.Schedule, now int64, zone *time.Location) []byte {
	var b strings.Builder
	put := func(format string, args ...any) { fold75(&b, fmt.Sprintf(format, args...)) }
	put("BEGIN:VCALENDAR")
	put("VERSION:2.0")
	put("PRODID:-//Bayhold//Plan//EN")
	put("X-WR-CALNAME:%s", escaped(name))
	seen := map[string]int{}
	event := func(uid, summary, place, text string, from, to int64) {
		if seen[uid]++; seen[uid] > 1 {
			uid = fmt.Sprintf("%d-%s", seen[uid], uid)
		}
		put("BEGIN:VEVENT")
		put("UID:%s", uid)
		put("DTSTAMP:%s", utc(now))
		put("DTSTART:%s", utc(from))
		put("DTEND:%s", utc(to))
		put("SUMMARY:%s", escaped(summary))
		if place != "" {
			put("LOCATION:%s", escaped(place))
		}
		if text != "" {
			put("DESCRIPTION:%s", escaped(text))
		}
		put("END:VEVENT")
	}
	if s.Plan != nil {
		for _, bar := range s.Bars {
			// RFC 5545 section 3.6.1: an end is later than its start.
			if bar.To/1000 <= bar.From/1000 {
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
			text := strings.Join(bar.Who, ", ")
			if word := s.Word(bar); word != "" {
				if text != "" {
					text += "\n"
				}
				text += "Not earlier: " + word
			}
			film := ""
			if c.Film {
				film = "film-"
			}
			event(fmt.Sprintf("%s-%s%s-%s@plan.bayhold", logbook.ID(s.Jobs[bar.Chain]), film, kind, strings.ReplaceAll(bar.Key, " ", "-")),
				c.Name+": "+bar.Key, place, text, bar.From, bar.To)
		}
		for i := range s.Problem.Chains {
			if c := &s.Problem.Chains[i]; c.Due != 0 && !c.Film {
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

// utc is RFC 5545 section 3.3.5, form 2.
func utc(ms int64) string { return time.UnixMilli(ms).UTC().Format("20060102T150405Z") }

// escaped is a TEXT value, section 3.3.11; control characters are not allowed
// in one.
func escaped(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' || r == 0x7f {
			return -1
		}
		return r
	}, s)
	return strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\n", `\n`).Replace(s)
}

// fold75 writes a content line in pieces of at most 75 octets, section 3.1, and
// breaks no character.
func fold75(b *strings.Builder, line string) {
	most := 75
	for len(line) > most {
		n := most
		for !utf8.RuneStart(line[n]) {
			n--
		}
		b.WriteString(line[:n] + "\r\n ")
		line, most = line[n:], 74 // the space counts
	}
	b.WriteString(line + "\r\n")
}
