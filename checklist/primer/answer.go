package primer

import (
	"math"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// ColdC is the panel temperature in C under which primer is not to be coated
// (common practice, no source: 10 to 12 C).
const ColdC = 10

// The unkind end of the Q10 that ASTM F1980 names, 1.8 to 2.5.
const highQ10 = 2.5

var (
	sheetInput = limit.Input{Key: "sheet", Name: "temperature that the sheet names", Low: 0, High: 50, Unit: "C", Free: true, Usual: 21}
	panelInput = limit.Input{Key: "panel", Name: "panel temperature", Low: -40, High: 80, Unit: "C"}
)

// OfInputs are the arguments of [Of].
var OfInputs = []limit.Input{
	{Key: "minimum", Name: "minimum time on the sheet", Low: 0.1, High: 2880, Unit: "min"},
	{Key: "open", Name: "open time on the sheet", Low: 0.1, High: 2880, Unit: "min", Free: true, Usual: 60},
	sheetInput, panelInput,
}

// FlashInputs are the arguments of [FlashOf].
var FlashInputs = []limit.Input{
	{Key: "minimum", Name: "flash-off time on the sheet", Low: 0.1, High: 240, Unit: "min"},
	sheetInput, panelInput,
}

// Primer is when primer may be covered, counted from the last of the coat.
type Primer struct {
	MinimumMin, OpenMin, SheetC, PanelC float64 // as given

	ReadyMin float64 // cover it no earlier; whole seconds
	HighMin  float64 // the same with the unkind end of Q10
	ShutMin  float64 // cover it no later; whole seconds
	TooCold  bool    // the panel is under ColdC: do not coat
	NoWindow bool    // it would be ready only after it has shut
	Sentence string
}

// Of returns the window in which primer with a minimum of minimumMin and an open
// time of openMin, both in minutes at sheetC in C, is to be covered on a panel at
// panelC in C.
func Of(minimumMin, openMin, sheetC, panelC float64) (Primer, error) {
	if err := limit.Check(OfInputs, minimumMin, openMin, sheetC, panelC); err != nil {
		return Primer{}, err
	}
	p := Primer{
		MinimumMin: minimumMin, OpenMin: openMin, SheetC: sheetC, PanelC: panelC,
		ReadyMin: minimum(minimumMin, sheetC, panelC),
		HighMin:  unkind(minimumMin, sheetC, panelC),
		ShutMin:  minutes(OpenMillis(millis(openMin), milli(sheetC), milli(panelC))),
		TooCold:  panelC < ColdC,
	}
	p.NoWindow = p.ReadyMin >= p.ShutMin
	switch {
	case p.TooCold:
		p.Sentence = "Panel " + say.C(panelC) + ", too cold for primer. Warm it first."
	case p.NoWindow:
		p.Sentence = "Primer shuts before it is dry. Warm the panel."
	default:
		p.Sentence = "Primer: lay after " + say.Minutes(p.ReadyMin) + ", within " + say.Minutes(p.ShutMin) + ". Knuckle test."
	}
	return p, nil
}

// Flash is how long solvent needs to leave a panel.
type Flash struct {
	MinimumMin, SheetC, PanelC float64 // as given

	ReadyMin float64 // whole seconds
	HighMin  float64 // the same with the unkind end of Q10
	Sentence string
}

// FlashOf returns the flash-off time of a solvent that needs minimumMin minutes
// at sheetC in C, on a panel at panelC in C.
func FlashOf(minimumMin, sheetC, panelC float64) (Flash, error) {
	if err := limit.Check(FlashInputs, minimumMin, sheetC, panelC); err != nil {
		return Flash{}, err
	}
	f := Flash{
		MinimumMin: minimumMin, SheetC: sheetC, PanelC: panelC,
		ReadyMin: minimum(minimumMin, sheetC, panelC),
		HighMin:  unkind(minimumMin, sheetC, panelC),
	}
	f.Sentence = "Solvent gone in " + say.Minutes(f.ReadyMin) + ". Dry-cloth it before it flashes."
	return f, nil
}

func minimum(minimumMin, sheetC, panelC float64) float64 {
	return minutes(MinimumMillis(millis(minimumMin), milli(sheetC), milli(panelC)))
}

// unkind is the minimum with the end of Q10 that makes it longer: never under
// the sheet's own.
func unkind(minimumMin, sheetC, panelC float64) float64 {
	return minimumMin * max(1, math.Pow(highQ10, (sheetC-panelC)/10))
}

func millis(min float64) int64    { return int64(math.Round(min * 60_000)) }
func minutes(ms int64) float64    { return float64(ms) / 60_000 }
func milli(celsius float64) int32 { return int32(math.Round(celsius * 1000)) }
