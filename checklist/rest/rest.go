// Package rest counts the hours that a finished vehicle has rested warm enough,
// and names when it may leave, see rain and be washed.
//
// # Counting
//
// The adhesive grips about half within the hour and most of it in a day, and
// only where it is warm. So rest counts hours, not the clock on the wall:
//
//	an hour counts    while the coldest spot is at or over 15 C; 18 C is advised
//	it pauses         under 15 C
//	not known         where no sample came for more than 20 min
//	from zero         after rain or frost
//
// Between two samples the colder one holds. The answer carries a cautious count
// as its lower end, in which an hour between 15 and 18 C counts half: grip at
// 15 C takes longer, and nobody knows for a given glue how much. 12 counted
// hours are the least, 24 are preferred. All of these are common practice, no
// source; the film maker's sheet wins, and a shop sets its own.
//
// # After hand-over
//
// [Table] says what the vehicle may see when, counted from the moment the last
// piece was laid. These are lengths of time added to an instant: 72 hours are
// 72 hours also over the night when the clocks change.
//
// # Shapes and errors
//
// Times are milliseconds since the Unix epoch, temperatures thousandths of a
// degree Celsius, so that every copy agrees. Samples must be in order of time;
// [Count] refuses others. It does not allocate.
//
// # Who calls it
//
// The gate of the re-check and of hand-over calls [Count] (or [Credit] for one
// span) and [ReleaseOf]; the hand-over screen and the care sheet print
// [Care.From].
package rest

import (
	"errors"
	"strconv"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

const hour = 3_600_000 // ms

// The defaults: common practice, no source.
const (
	CountsFromMilliC = 15_000      // an hour counts from here
	AdvisedMilliC    = 18_000      // rest is advised from here; the cautious count is whole from here
	LeastMs          = 12 * hour   // counted, before release
	PreferredMs      = 24 * hour   // counted, preferred
	SilentMs         = 20 * 60_000 // longer without a sample is not known
)

// Inputs of the command line and of a form, for one stretch of rest.
var (
	AtC  = limit.Input{Key: "at", Name: "temperature", Low: -40, High: 60, Unit: "C"}
	Span = limit.Input{Key: "span", Name: "time", Low: 0, High: 8784, Unit: "h"}
	Need = limit.Input{Key: "need", Name: "hours needed", Low: 1, High: 336, Unit: "h", Free: true, Usual: 12}
)

// Credit returns how much of spanMs counts as rest with the coldest spot at
// milliC: all or nothing. A negative span counts nothing.
func Credit(milliC int32, spanMs int64) int64 {
	if milliC < CountsFromMilliC || spanMs < 0 {
		return 0
	}
	return spanMs
}

// Cautious returns what counts of spanMs in the cautious count: half between
// 15 and 18 C.
func Cautious(milliC int32, spanMs int64) int64 {
	if milliC < AdvisedMilliC {
		return Credit(milliC, spanMs) / 2
	}
	return Credit(milliC, spanMs)
}

// Sample is the coldest spot at one moment. Wet says that rain or frost was on
// the vehicle since the sample before.
type Sample struct {
	At     int64 // ms since the Unix epoch
	MilliC int32
	Wet    bool
}

// Counted is what a series of samples counts.
type Counted struct {
	Ms         int64 // counted hours, in ms
	CautiousMs int64 // the lower end
	PausedMs   int64 // too cold, since the last start
	UnknownMs  int64 // no sample, since the last start
	Restarts   int   // times that it began from zero
	Running    bool  // the newest sample lets it run
}

// What [Count] refuses.
var (
	errOrder = errors.New("samples are not in order of time; valid is each later than the one before")
	errTime  = errors.New("a sample's time is out of range; valid is 1970 to 9999")
	errTemp  = errors.New("a sample's temperature is out of range; valid is -40 to 60 C")
)

const lastMs = 253_402_300_799_999 // the end of 9999

// Count counts the rest that the samples show. It does not allocate.
func Count(samples []Sample) (Counted, error) {
	var c Counted
	for i, s := range samples {
		if s.At < 0 || s.At > lastMs {
			return Counted{}, errTime
		}
		if s.MilliC < -40_000 || s.MilliC > 60_000 {
			return Counted{}, errTemp
		}
		c.Running = s.MilliC >= CountsFromMilliC
		if i == 0 {
			continue
		}
		before := samples[i-1]
		if s.At <= before.At {
			return Counted{}, errOrder
		}
		span, colder := s.At-before.At, min(s.MilliC, before.MilliC)
		switch {
		case s.Wet:
			c = Counted{Restarts: c.Restarts + 1, Running: c.Running}
		case span > SilentMs:
			c.UnknownMs += span
		case colder < CountsFromMilliC:
			c.PausedMs += span
		default:
			c.Ms += Credit(colder, span)
			c.CautiousMs += Cautious(colder, span)
		}
	}
	return c, nil
}

// Release is how far the rest has come.
type Release struct {
	Counted     Counted
	NeedMs      int64
	NowMs       int64
	Ready       bool
	RemainingMs int64
	EarliestMs  int64 // the moment of release if it stays warm from now on; NowMs if ready
	LatestMs    int64 // the same by the cautious count
	Sentence    string
}

// ReleaseOf returns when a vehicle with that count may leave: an earliest time
// if it stays at 15 C or over, never a promise. needMs is at least an hour.
func ReleaseOf(c Counted, needMs, nowMs int64) (Release, error) {
	if needMs < hour || needMs > 336*hour {
		return Release{}, Need.Check(float64(needMs) / hour)
	}
	if nowMs < 0 || nowMs > lastMs {
		return Release{}, errTime
	}
	r := Release{Counted: c, NeedMs: needMs, NowMs: nowMs}
	r.RemainingMs = max(0, needMs-max(0, c.Ms))
	r.Ready = r.RemainingMs == 0
	r.EarliestMs = nowMs + r.RemainingMs
	r.LatestMs = nowMs + max(0, needMs-max(0, c.CautiousMs))
	tenths := max(0, c.Ms) / (hour / 10) // down, so that 12.0 of 12 h is never still waiting
	done := "Rest: " + say.Number(float64(tenths)/10, 1) + " of " + say.Number(float64(needMs)/hour, 0) + " h"
	switch {
	case r.Ready:
		r.Sentence = done + ". Re-check, then hand over."
	case !c.Running:
		r.Sentence = done + ". Paused: under " + say.C(CountsFromMilliC/1000) + ". Heat."
	default:
		r.Sentence = done + ", about " + moment(r.EarliestMs) + " if it stays warm."
	}
	return r, nil
}

// moment writes a moment as a mark.
func moment(ms int64) string { return "⟨t:" + strconv.FormatInt(ms, 10) + "⟩" }
