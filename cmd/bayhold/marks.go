package main

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"time"
)

// reader is whoever reads an answer on a terminal: a zone, units and the
// moment that 'today' is taken from.
type reader struct {
	zone       *time.Location
	fahrenheit bool
	now        time.Time
	dated      bool // every moment with its date
}

var mark = regexp.MustCompile(`⟨([tckh]):(-?\d+)⟩`)

// marks puts what depends on the reader into a sentence of the core; see
// checklist.Gate for the marks. An unknown mark stays as it is.
func (r reader) marks(sentence string) string {
	return mark.ReplaceAllStringFunc(sentence, func(m string) string {
		part := mark.FindStringSubmatch(m)
		n, err := strconv.ParseInt(part[2], 10, 64)
		if err != nil {
			return m
		}
		switch part[1] {
		case "t":
			return r.clock(n)
		case "c":
			return r.temperature(n)
		case "k":
			return r.difference(n)
		}
		return hours(n)
	})
}

// clock is 12:20 today, Thu 07:30 within six days, 24 Nov 07:30 beyond.
func (r reader) clock(ms int64) string {
	t, now := time.UnixMilli(ms).In(r.zone), r.now.In(r.zone)
	y, m, d := t.Date()
	ny, nm, nd := now.Date()
	switch {
	case r.dated:
		return t.Format("2 Jan 15:04")
	case y == ny && m == nm && d == nd:
		return t.Format("15:04")
	case t.Sub(now).Abs() < 6*24*time.Hour:
		return t.Format("Mon 15:04")
	}
	return t.Format("2 Jan 15:04")
}

func (r reader) temperature(milli int64) string {
	if r.fahrenheit {
		return tenth(float64(milli)*9/5+32000) + " F"
	}
	return tenth(float64(milli)) + " C"
}

func (r reader) difference(milli int64) string {
	if r.fahrenheit {
		return tenth(float64(milli)*9/5) + " F"
	}
	return tenth(float64(milli)) + " K"
}

// tenth writes thousandths with one decimal, as the phone's page does.
func tenth(milli float64) string {
	return strconv.FormatFloat(math.Floor(milli/100+0.5)/10+0, 'f', 1, 64)
}

// hours is 14 min below an hour, 6.5 h above, whole hours bare. Cut, not
// rounded: a count never shows time that it does not have yet.
func hours(ms int64) string {
	sign := ""
	if ms < 0 {
		sign, ms = "-", -ms
	}
	span := time.Duration(ms) * time.Millisecond
	if span < time.Hour {
		return fmt.Sprintf("%s%d min", sign, span/time.Minute)
	}
	tenths := span / (time.Hour / 10)
	if tenths%10 == 0 {
		return fmt.Sprintf("%s%d h", sign, tenths/10)
	}
	return fmt.Sprintf("%s%d.%d h", sign, tenths/10, tenths%10)
}
