// Package ical writes the content lines of an iCalendar object (RFC 5545), for
// the plan that calendars subscribe to and for the dates of a vehicle's record.
package ical

import (
	"strings"
	"time"
	"unicode/utf8"
)

// Line writes a content line in pieces of at most 75 octets, section 3.1, and
// breaks no character.
func Line(b *strings.Builder, line string) {
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

// UTC is a moment in ms as section 3.3.5 writes it, form 2.
func UTC(ms int64) string { return time.UnixMilli(ms).UTC().Format("20060102T150405Z") }

// Text is a TEXT value, section 3.3.11; control characters are not allowed in
// one.
func Text(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' || r == 0x7f {
			return -1
		}
		return r
	}, s)
	return strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\n", `\n`).Replace(s)
}
