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

// What makes a patch test valid: common practice, no source.
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

// Judge returns what the patch test says. What was seen counts whatever the
// test was worth; that nothing was seen counts only if it was valid. A test in a
// cold bay passes falsely.
func (p PatchTest) Judge() (Patch, error) {
	if err := limit.Check(PatchInputs, p.SizeMM, p.Places, p.StoodH, p.ColdestC, p.CycleC, p.CycleH); err != nil {
		return Patch{}, err
	}
	if p.Places != math.Trunc(p.Places) {
		return Patch{}, errors.New("places " + say.Number(p.Places, 2) + " is not a whole number; valid is 0 to 20")
	}
	// Compared in thousandths, as typed: 68 F is 20 C.
	coldest, cycle := math.Round(p.ColdestC*1000), math.Round(p.CycleC*1000)
	r := Patch{Test: p, Outcome: NotValid}
	switch {
	case p.PaintFlake:
		r.Outcome, r.Why = Flake, "paint came off with the tape"
		r.Sentence = "Paint came off: refuse film here. Owner must answer."
	case p.Bubbles:
		r.Outcome, r.Why, r.RepeatMs = Gas, "bubbles under the patch", RepeatDays*day
		r.Sentence = "Paint still gassing: wait 7 days, patch again."
	case coldest < PatchColdestC*1000:
		r.Why = "it stood under " + say.C(PatchColdestC)
		r.Sentence = "Patch test not valid: stood under " + say.C(PatchColdestC) + ". Repeat warm."
	case p.StoodH < PatchHours:
		r.Why = "it stood under 24 h"
		r.Sentence = "Patch test not valid: " + say.Hours(p.StoodH) + " of 24 h. Leave it on."
	case p.Places < PatchPlaces:
		r.Why = "under three places"
		r.Sentence = "Patch test not valid: three places needed. Add patches."
	case !p.Thickest:
		r.Why = "no patch on the thickest paint"
		r.Sentence = "Patch test not valid: none on the thickest paint. Add one."
	case p.SizeMM < PatchSizeMM:
		r.Why = "the patch is under 150 mm"
		r.Sentence = "Patch test not valid: patch too small, needs 150 mm."
	case p.CycleH < PatchCycleHours || cycle < PatchCycleLowC*1000:
		r.Why = "no warm cycle of an hour at 50 to 60 C"
		r.Sentence = "Patch test not valid: warm cycle missing. One hour at " + say.C(PatchCycleLowC) + "."
	case cycle > PatchCycleHighC*1000:
		r.Why = "the warm cycle was over 60 C"
		r.Sentence = "Patch test not valid: warm cycle over " + say.C(PatchCycleHighC) + ". Repeat cooler."
	default:
		r.Outcome, r.Why = NoGasSeen, "24 h warm, three places, no bubble"
		r.Sentence = "No gas seen under the patch. Photo it, then go on."
	}
	return r, nil
}
