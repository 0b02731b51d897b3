// Package paint is fresh paint: how long it must stand before film, by how it
// was cured and how warm it stood, and whether a patch test says anything.
//
// Film over paint that still gives off solvent lifts in pin-head bubbles days
// later, or takes the paint along when it comes off.
//
// # Waiting
//
// [Cures] is the table of waits at 20 C: common practice, no source; the paint
// maker's sheet wins. Paint that stood colder is not as old as the calendar
// says. Its days are counted by the Q10 rule (the form of ASTM F1980, AAF =
// Q10^((T-Tref)/10), with the usual Q10 of 2; by Arrhenius that is 53 kJ/mol at
// 25 C):
//
//	counted = span × min(1, 2^((T - 20)/10)),   nothing under 5 C
//
// so ten days at 10 C count five. The trade says "double at 5 to 10 C"; this is
// never shorter. The factor never passes 1: a stated wait is lengthened by
// cold and never shortened by warmth. Baking is a cure of its own, not a warm
// day. The rule is an estimate (Q10 of 1.8 to 2.5 in the standard), and does
// not hold across a paint's glass transition; the answer's range is the wait at
// those two values. A patch test on the paint itself outweighs it.
//
// # Patch test
//
// A clear patch of 150 by 150 mm sealed on the thickest paint and two other
// places, 24 h at 20 C or warmer all through, with one hour at 50 to 60 C; then
// tape pulled off fast. A bubble or a flake counts wherever it is seen, but no
// bubble in a cold bay says nothing: the test was not valid. All of it is
// common practice, no source. A valid patch without bubbles says that no gas
// was seen on that patch, and no more.
//
// # Shapes
//
// Spans in ms, temperatures in thousandths of a degree Celsius: [Credit] is
// rounded once, to the millisecond of a per-mille factor, so that every copy
// agrees. It does not allocate.
//
// # Who calls it
//
// The repaint route's gate before the wipe calls [Credit]; its check-in and
// patch-test screens show [WaitOf] and [PatchTest.Judge].
package paint

import (
	"errors"
	"math"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

const hour = 3_600_000 // ms

const day = 24 * hour

// Cure is one way that paint was hardened, and how long it waits at 20 C.
type Cure struct {
	Key, Name           string
	LeastDays, WaitDays float64 // some go from here; the gate
	PreferDays          float64
	Patch               bool // a patch test is asked for whatever the days say
}

// Cures is the table of waits at 20 C. Common practice, no source.
var Cures = []Cure{
	{"factory", "factory baked, sound", 0, 0, 0, false},
	{"baked", "body-shop bake, about 60 C for 30 min", 7, 7, 7, false},
	{"air-dried", "air-dried two-pack", 14, 21, 30, false},
	{"thick", "over filler or over 300 um", 30, 30, 30, true},
	{"unknown", "history not known", 30, 30, 30, true},
}

// CureOf returns the row of [Cures] with that key.
func CureOf(key string) (Cure, bool) {
	for _, c := range Cures {
		if c.Key == key {
			return c, true
		}
	}
	return Cure{}, false
}

// What counts: common practice, no source.
const (
	WholeMilliC = 20_000 // a day counts whole from here
	NoneMilliC  = 5_000  // below, nothing counts
)

// Inputs of one stretch of standing.
var (
	Days = limit.Input{Key: "span", Name: "time", Low: 0, High: 8784, Unit: "h"}
	AtC  = limit.Input{Key: "at", Name: "temperature", Low: -40, High: 60, Unit: "C"}
)

// Factor returns the rate of a cure at tC against refC by the Q10 rule:
// q10^((tC-refC)/10). Over 1 it is faster.
func Factor(q10, tC, refC float64) float64 { return math.Pow(q10, (tC-refC)/10) }

// Credit returns how much of spanMs counts of a wait at 20 C for paint that
// stood at milliC: never more than spanMs, nothing under 5 C. A negative span
// counts nothing. It does not allocate.
func Credit(milliC int32, spanMs int64) int64 {
	return share(math.Exp2((float64(milliC)-WholeMilliC)/10_000), milliC, spanMs)
}

// credit is Credit for another Q10, to say how sure the estimate is.
func credit(q10 float64, milliC int32, spanMs int64) int64 {
	return share(Factor(q10, float64(milliC)/1000, WholeMilliC/1000), milliC, spanMs)
}

func share(factor float64, milliC int32, spanMs int64) int64 {
	if spanMs <= 0 || milliC < NoneMilliC {
		return 0
	}
	if milliC >= WholeMilliC {
		return spanMs
	}
	permille := int64(math.Round(1000 * factor))
	return spanMs/1000*permille + spanMs%1000*permille/1000
}

// Stood is one stretch of time at one temperature, the coldest of it.
type Stood struct {
	SpanMs int64
	MilliC int32
}

// Wait is how far fresh paint has come.
type Wait struct {
	Cure        Cure
	StoodMs     int64 // by the calendar
	CountedMs   int64 // of a wait at 20 C
	NeedMs      int64
	RemainingMs int64 // at 20 C or warmer
	LowMs       int64 // RemainingMs for a Q10 of 1.8
	HighMs      int64 // and of 2.5
	ColdMs      int64 // RemainingMs if it goes on standing as it stood last; NeverMs if that counts nothing
	Ready       bool  // the days are up; a patch test may still be asked for
	Sentence    string
}

// NeverMs stands for a wait that does not end.
const NeverMs = -1

// WaitOf returns how far paint of that cure has come, having stood so. It
// refuses spans and temperatures out of range.
func WaitOf(c Cure, stood []Stood) (Wait, error) {
	w := Wait{Cure: c, NeedMs: int64(c.WaitDays * day)}
	var slow, fast int64
	for _, s := range stood {
		if s.SpanMs < 0 || s.SpanMs > 8784*hour {
			return Wait{}, Days.Check(float64(s.SpanMs) / hour)
		}
		if err := AtC.Check(float64(s.MilliC) / 1000); err != nil {
			return Wait{}, err
		}
		w.StoodMs += s.SpanMs
		w.CountedMs += Credit(s.MilliC, s.SpanMs)
		fast += credit(1.8, s.MilliC, s.SpanMs)
		slow += credit(2.5, s.MilliC, s.SpanMs)
	}
	if w.StoodMs > 10*8784*hour {
		return Wait{}, errors.New("the paint stood over ten years; valid is less: take it as factory paint")
	}
	w.RemainingMs = max(0, w.NeedMs-w.CountedMs)
	w.LowMs, w.HighMs = max(0, w.NeedMs-fast), max(0, w.NeedMs-slow)
	w.Ready = w.RemainingMs == 0
	w.ColdMs = w.RemainingMs
	if n := len(stood); n > 0 && !w.Ready {
		if per := Credit(stood[n-1].MilliC, 1000*hour); per > 0 {
			w.ColdMs = int64(math.Ceil(float64(w.RemainingMs) / float64(per) * 1000 * hour))
		} else {
			w.ColdMs = NeverMs
		}
	}
	w.Sentence = w.sentence()
	return w, nil
}

func (w Wait) sentence() string {
	counted := "Paint: " + days(w.CountedMs) + " of " + days(w.NeedMs) + " days"
	switch {
	case w.NeedMs == 0:
		return "Factory paint: no wait."
	case w.Ready && w.Cure.Patch:
		return counted + ". Patch test before film."
	case w.Ready:
		return counted + ". Wait is over."
	case w.ColdMs == NeverMs:
		return counted + ". Paused, too cold. Bring it in."
	}
	return counted + ". Wait, or patch test."
}

// days writes counted days, rounded down so that 21 of 21 is never waiting.
func days(ms int64) string {
	decimals := 1
	if ms%day == 0 {
		decimals = 0
	}
	return say.Number(float64(ms/(day/10))/10, decimals)
}
