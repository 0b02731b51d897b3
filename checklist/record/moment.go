package record

import (
	"math"
	"strconv"
	"time"

	"bayhold/checklist"
)

// date is a day with its year, "" for none: 3 Mar 2026.
func (w *writer) date(ms int64) string {
	if ms == 0 {
		return ""
	}
	t := time.UnixMilli(ms).In(w.Zone)
	return strconv.Itoa(t.Day()) + " " + w.month(t) + " " + strconv.Itoa(t.Year())
}

func (w *writer) month(t time.Time) string { return months[t.Month()-1][w.language] }

// clock is a moment: 3 Mar 08:30, with the year where it is not that of the
// check-in.
func (w *writer) clock(ms int64) string {
	if ms == 0 {
		return ""
	}
	t := time.UnixMilli(ms).In(w.Zone)
	day := strconv.Itoa(t.Day()) + " " + w.month(t)
	if t.Year() != time.UnixMilli(w.job.Opened.Latest).In(w.Zone).Year() {
		day += " " + strconv.Itoa(t.Year())
	}
	return day + t.Format(" 15:04")
}

// full is a moment with its year.
func (w *writer) full(ms int64) string {
	if ms == 0 {
		return ""
	}
	return w.date(ms) + time.UnixMilli(ms).In(w.Zone).Format(" 15:04")
}

const (
	minute = 60_000
	hour   = 60 * minute
	day    = 24 * hour
)

// span is an interval: one time where both ends fall into the same minute.
func (w *writer) span(s checklist.Span) string {
	if s.Latest == 0 {
		return ""
	}
	if s.Earliest/minute == s.Latest/minute {
		return w.clock(s.Latest)
	}
	return w.say(sayBetween, w.clock(s.Earliest), w.clock(s.Latest))
}

// when is the moment of a line's act: as written, or as typed and then written.
func (w *writer) when(l *checklist.Line) string {
	if at := checklist.TypedAt(l.Body); at != 0 && (at < l.Span.Earliest-minute || at > l.Span.Latest+minute) {
		return w.say(sayTyped, w.clock(at), w.span(l.Span))
	}
	return w.span(l.Span)
}

// act is the moment of a line's act for a plot and for order.
func act(l *checklist.Line) int64 {
	if at := checklist.TypedAt(l.Body); at != 0 {
		return at
	}
	return l.Span.Latest
}

// degrees is a temperature in thousandths of the shop's unit.
func (w *writer) degrees(milli int64) int64 {
	if w.fahrenheit {
		return milli*9/5 + 32_000
	}
	return milli
}

func (w *writer) unit() string {
	if w.fahrenheit {
		return "F"
	}
	return "C"
}

// temp is a temperature: 19.4 C.
func (w *writer) temp(milli int64) string { return tenth(w.degrees(milli)) + " " + w.unit() }

// margin is a difference of temperatures: 3.1 K.
func (w *writer) margin(milli int64) string {
	if w.fahrenheit {
		return tenth(milli*9/5) + " F"
	}
	return tenth(milli) + " K"
}

// tenth writes thousandths with one decimal.
func tenth(milli int64) string {
	return strconv.FormatFloat(math.Floor(float64(milli)/100+0.5)/10+0, 'f', 1, 64)
}

// percent writes thousandths of a percent.
func percent(milli int64) string { return strconv.FormatInt((milli+500)/1000, 10) + " %" }

// metres writes micrometres as metres with one decimal, millimetres as they are.
func metres(um int64) string { return tenth(um/1000) + " m" }

func mm(um int64) string {
	if um%1000 != 0 {
		return tenth(um)
	}
	return number(um / 1000)
}

// length is 14 min below an hour, 6.5 h above; cut, not rounded.
func length(ms int64) string {
	if ms < hour {
		return strconv.FormatInt(ms/minute, 10) + " min"
	}
	return strconv.FormatInt(ms/hour, 10) + "." + strconv.FormatInt(ms%hour*10/hour, 10) + " h"
}

func number(n int64) string { return strconv.FormatInt(n, 10) }
