package paint

import (
	"errors"
	"math"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// PatchInputs are the numbers of a patch test.
var PatchInputs = []limit.Input{
	{Key: "size", Name: "side of the patch", Low: 1, High: 1000, Unit: "mm", Free: true, Usual: 150},
	{Key: "places", Name: "places", Low: 0, High: 20, Free: true, Usual: 3},
	{Key: "stood", Name: "time the patch stood", Low: 0, High: 8784, Unit: "h"},
	{Key: "coldest", Name: "coldest while it stood", Low: -40, High: 80, Unit: "C"},
	{Key: "cycle", Name: "warm cycle", Low: -40, High: 120, Unit: "C"},
	{Key: "cycle-time", Name: "time of the warm cycle", Low: 0, High: 72, Unit: "h", Free: true, Usual: 1},
}

// What makes a patch test valid: common practice, no source. A shop may ask for
// more or less by its own [PatchNeed].
const (
	PatchSizeMM     = 150
	PatchPlaces     = 3
	PatchHours      = 24
	PatchColdestC   = 20
	PatchCycleLowC  = 50
	PatchCycleHighC = 60
	PatchCycleHours = 1
	RepeatDays      = 7 // after a bubble, wait and repeat
)

// PatchNeed is what a patch test must have been to say anything, in ms and
// thousandths of a degree Celsius.
type PatchNeed struct {
	StandMs, CycleMs                       int64
	Places                                 int64
	ColdestMilliC, CycleLowMC, CycleHighMC int64
}

// UsualNeed is the need by the constants above.
var UsualNeed = PatchNeed{
	StandMs: PatchHours * hour, CycleMs: PatchCycleHours * hour, Places: PatchPlaces,
	ColdestMilliC: PatchColdestC * 1000, CycleLowMC: PatchCycleLowC * 1000, CycleHighMC: PatchCycleHighC * 1000,
}

// Sealed is a patch as it stood, in the same units.
type Sealed struct {
	StoodMs, CycleMs     int64
	Places               int64
	ColdestMilliC        int64
	CycleMC              int64
	Bubbles, PaintFlake  bool
	NotThickest, TooTiny bool
}

// Fault is the first thing that a patch test shows or lacks.
type Fault uint8

// The faults, in the order in which they count.
const (
	NoFault Fault = iota
	Flaked
	Gassed
	StoodCold
	StoodShort
	FewPlaces
	NotOnThickest
	SmallPatch
	NoCycle
	HotCycle
)

// Outcome is what a fault makes of the test.
func (f Fault) Outcome() Outcome {
	switch f {
	case NoFault:
		return NoGasSeen
	case Flaked:
		return Flake
	case Gassed:
		return Gas
	}
	return NotValid
}

// Fault returns what the test shows or lacks. What was seen counts whatever the
// test was worth; that nothing was seen counts only if it was valid. It does
// not allocate.
func (n *PatchNeed) Fault(p Sealed) Fault {
	switch {
	case p.PaintFlake:
		return Flaked
	case p.Bubbles:
		return Gassed
	case p.ColdestMilliC < n.ColdestMilliC:
		return StoodCold
	case p.StoodMs < n.StandMs:
		return StoodShort
	case p.Places < n.Places:
		return FewPlaces
	case p.NotThickest:
		return NotOnThickest
	case p.TooTiny:
		return SmallPatch
	case p.CycleMs < n.CycleMs || p.CycleMC < n.CycleLowMC:
		return NoCycle
	case p.CycleMC > n.CycleHighMC:
		return HotCycle
	}
	return NoFault
}

// PatchTest is a patch as it was made and what was seen.
type PatchTest struct {
	SizeMM     float64
	Places     float64
	Thickest   bool // one place is on the thickest paint
	StoodH     float64
	ColdestC   float64
	CycleC     float64 // of the warm cycle, the warmest it was held at
	CycleH     float64 // 0: there was none
	Bubbles    bool
	PaintFlake bool // paint came off with the tape or the patch
}

// Outcome of a patch test.
type Outcome uint8

// The outcomes.
const (
	NoGasSeen Outcome = iota
	NotValid          // says nothing: make it again
	Gas               // wait RepeatDays and repeat
	Flake             // refuse film on this paint
)

// OutcomeNames are the words of the outcomes.
var OutcomeNames = [...]string{"no gas seen", "not valid", "gas: wait and repeat", "paint comes off: refuse"}

// Patch is a patch test judged.
type Patch struct {
	Test     PatchTest
	Outcome  Outcome
	Why      string
	RepeatMs int64 // wait before the next one, 0 if none
	Sentence string
}

// Judge returns what the patch test says, by [UsualNeed]. A test in a cold bay
// passes falsely.
func (p PatchTest) Judge() (Patch, error) {
	if err := limit.Check(PatchInputs, p.SizeMM, p.Places, p.StoodH, p.ColdestC, p.CycleC, p.CycleH); err != nil {
		return Patch{}, err
	}
	if p.Places != math.Trunc(p.Places) {
		return Patch{}, errors.New("places " + say.Number(p.Places, 2) + " is not a whole number; valid is 0 to 20")
	}
	// Compared in thousandths, as typed: 68 F is 20 C.
	fault := UsualNeed.Fault(Sealed{
		StoodMs: int64(math.Round(p.StoodH * hour)), CycleMs: int64(math.Round(p.CycleH * hour)), Places: int64(p.Places),
		ColdestMilliC: int64(math.Round(p.ColdestC * 1000)), CycleMC: int64(math.Round(p.CycleC * 1000)),
		Bubbles: p.Bubbles, PaintFlake: p.PaintFlake, NotThickest: !p.Thickest, TooTiny: p.SizeMM < PatchSizeMM,
	})
	r := Patch{Test: p, Outcome: fault.Outcome()}
	if fault == Gassed {
		r.RepeatMs = RepeatDays * day
	}
	switch fault {
	case Flaked:
		r.Why = "paint came off with the tape"
		r.Sentence = "Paint came off: refuse film here. Owner must answer."
	case Gassed:
		r.Why = "bubbles under the patch"
		r.Sentence = "Paint still gassing: wait 7 days, patch again."
	case StoodCold:
		r.Why = "it stood under " + say.C(PatchColdestC)
		r.Sentence = "Patch test not valid: stood under " + say.C(PatchColdestC) + ". Repeat warm."
	case StoodShort:
		r.Why = "it stood under 24 h"
		r.Sentence = "Patch test not valid: " + say.Hours(p.StoodH) + " of 24 h. Leave it on."
	case FewPlaces:
		r.Why = "under three places"
		r.Sentence = "Patch test not valid: three places needed. Add patches."
	case NotOnThickest:
		r.Why = "no patch on the thickest paint"
		r.Sentence = "Patch test not valid: none on the thickest paint. Add one."
	case SmallPatch:
		r.Why = "the patch is under 150 mm"
		r.Sentence = "Patch test not valid: patch too small, needs 150 mm."
	case NoCycle:
		r.Why = "no warm cycle of an hour at 50 to 60 C"
		r.Sentence = "Patch test not valid: warm cycle missing. One hour at " + say.C(PatchCycleLowC) + "."
	case HotCycle:
		r.Why = "the warm cycle was over 60 C"
		r.Sentence = "Patch test not valid: warm cycle over " + say.C(PatchCycleHighC) + ". Repeat cooler."
	default:
		r.Why = "24 h warm, three places, no bubble"
		r.Sentence = "No gas seen under the patch. Photo it, then go on."
	}
	return r, nil
}
