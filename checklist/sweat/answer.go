package sweat

import (
	"errors"
	"math"

	"bayhold/checklist/air"
	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

var (
	spotInput = limit.Input{Key: "coldest", Name: "coldest spot of the vehicle", Low: -40, High: 60, Unit: "C"}
	tauInput  = limit.Input{Key: "tau", Name: "time constant of the coldest spot", Low: 0.2, High: 24, Unit: "h", Free: true, Usual: 3.5}
)

// OfInputs are the arguments of [Of].
var OfInputs = []limit.Input{spotInput, air.AirInput, air.RHInput, tauInput}

// FlushInputs are the arguments of [FlushOf].
var FlushInputs = []limit.Input{
	spotInput, air.AirInput, air.RHInput,
	{Key: "outside", Name: "temperature outside", Low: -40, High: 50, Unit: "C"},
	{Key: "outside-rh", Name: "relative humidity outside", Low: 0.001, High: 100, Unit: "%"},
	{Key: "changes", Name: "air changes an hour while flushing", Low: 0.1, High: 60, Unit: "1/h", Free: true, Usual: 4},
	{Key: "margin", Name: "margin to keep on arrival", Low: 0, High: 20, Unit: "K", Free: true, Usual: 0},
}

// WarmInputs are the arguments of [WarmOf].
var WarmInputs = []limit.Input{
	spotInput, air.AirInput, air.RHInput,
	{Key: "place", Name: "temperature of the place to warm it in", Low: -40, High: 60, Unit: "C"},
	{Key: "place-rh", Name: "relative humidity of that place", Low: 0.001, High: 100, Unit: "%"},
	tauInput,
	{Key: "margin", Name: "margin to keep on arrival", Low: 0, High: 20, Unit: "K", Free: true, Usual: 0},
}

// horizon is how far [Of] looks, in hours: a long weekend.
const horizon = 96

// The doubts of [Of]: common practice, no source.
const (
	doubtRH            = 3.0 // %
	kindTau, unkindTau = 0.8, 1.25
)

// Sweat is what a vehicle would do in a bay.
type Sweat struct {
	ColdestC, AirC, RHPct, SpotHours float64 // as given

	DewPointC float64 // of the bay; also what it must fall under
	Course            // with skin, body and spot at ColdestC at first
	Kind      Course  // the same with the doubts to the good side
	Unkind    Course  // and to the bad side
	Sentence  string
}

// Of returns what a vehicle at coldestC in C does in constant air at airC in C
// with rhPct in percent, when its hidden spot warms with the time constant
// spotHours in h.
func Of(coldestC, airC, rhPct, spotHours float64) (Sweat, error) {
	if err := limit.Check(OfInputs, coldestC, airC, rhPct, spotHours); err != nil {
		return Sweat{}, err
	}
	s := Sweat{ColdestC: coldestC, AirC: airC, RHPct: rhPct, SpotHours: spotHours, DewPointC: air.DewPoint(airC, rhPct)}
	s.Course = steady(coldestC, airC, rhPct, spotHours)
	s.Kind = steady(coldestC, airC, max(air.RHInput.Low, rhPct-doubtRH), spotHours*kindTau)
	s.Unkind = steady(coldestC, airC, min(100, rhPct+doubtRH), spotHours*unkindTau)
	switch {
	case s.Sweats:
		s.Sentence = "Will sweat: spot " + say.C(coldestC) + ", dew point " + say.C(s.DewPointC) + ". Flush before it comes in."
	case s.Unkind.Sweats || s.LeastK < air.NeedK:
		s.Sentence = "Close: margin " + say.K(s.LeastK) + ". Vent the bay or read again."
	default:
		s.Sentence = "Stays dry: margin " + say.K(s.LeastK) + "."
	}
	return s, nil
}

func steady(coldestC, airC, rhPct, spotHours float64) Course {
	v := Vehicle{SkinC: coldestC, BodyC: coldestC, SpotC: coldestC, SpotHours: spotHours}
	return run(v, []Air{{0, airC, rhPct}, {horizon, airC, rhPct}}, air.NeedK, nil)
}

// Over returns what a vehicle does over a planned or measured climate of at
// least two airs with rising hours, a week at most. needK is the margin that
// SpotReady waits for.
func Over(v Vehicle, climate []Air, needK float64) (Course, error) {
	for _, c := range [3]float64{v.SkinC, v.BodyC, v.SpotC} {
		if err := spotInput.Check(c); err != nil {
			return Course{}, err
		}
	}
	if err := tauInput.Check(v.SpotHours); err != nil {
		return Course{}, err
	}
	if err := air.NeedInput.Check(needK); err != nil {
		return Course{}, err
	}
	if len(climate) < 2 {
		return Course{}, errors.New("a climate needs at least two readings of air and RH")
	}
	if math.IsNaN(climate[0].Hour) || math.IsInf(climate[0].Hour, 0) {
		return Course{}, errors.New("the first hour of the climate is not a number")
	}
	hour := limit.Input{Name: "hour of the climate", Low: climate[0].Hour, High: climate[0].Hour + 168, Unit: "h"}
	for i, a := range climate {
		if err := limit.Check([]limit.Input{hour, air.AirInput, air.RHInput}, a.Hour, a.AirC, a.RHPct); err != nil {
			return Course{}, err
		}
		if i > 0 && a.Hour <= climate[i-1].Hour {
			return Course{}, errors.New("hours of the climate do not rise; sort the readings by time")
		}
	}
	return run(v, climate, needK, nil), nil
}

// Flush is how long to flush a bay with outside air before a cold vehicle comes.
type Flush struct {
	ColdestC, AirC, RHPct, OutsideC, OutsideRHPct, ChangesPerHour, MarginK float64 // as given

	DewPointC  float64 // of the bay now
	NeedDewC   float64 // it must fall to this
	OutsideDew float64 // what the flush can reach at most, C
	Minutes    float64 // 0 when none is needed or none helps
	HighMin    float64 // with the hygrometer 3 % under the truth and a quarter fewer air changes
	NoNeed     bool    // the bay is dry enough as it is
	NoHelp     bool    // outside is too damp for it
	Sentence   string
}

// FlushOf returns for how long a bay with air at airC in C and rhPct in percent is
// to be flushed with outside air at changesPerHour so that a vehicle at coldestC in
// C does not sweat on arrival, with marginK K to spare. The air is taken as well
// mixed: a door half open at one end is not. Bring the vented heat back after.
func FlushOf(coldestC, airC, rhPct, outsideC, outsideRHPct, changesPerHour, marginK float64) (Flush, error) {
	if err := limit.Check(FlushInputs, coldestC, airC, rhPct, outsideC, outsideRHPct, changesPerHour, marginK); err != nil {
		return Flush{}, err
	}
	f := Flush{
		ColdestC: coldestC, AirC: airC, RHPct: rhPct,
		OutsideC: outsideC, OutsideRHPct: outsideRHPct, ChangesPerHour: changesPerHour, MarginK: marginK,
		DewPointC: air.DewPoint(airC, rhPct), NeedDewC: coldestC - marginK, OutsideDew: air.DewPoint(outsideC, outsideRHPct),
	}
	in, out, need := air.VapourPressure(airC, rhPct), air.VapourPressure(outsideC, outsideRHPct), air.SaturationPressure(f.NeedDewC)
	switch {
	case in <= need:
		f.NoNeed = true
		f.Sentence = "No flush needed: dew point " + say.C(f.DewPointC) + ", spot " + say.C(coldestC) + "."
	case out >= need || Mixed(in, out, need, changesPerHour) > horizon:
		f.NoHelp = true
		f.Sentence = "Flush cannot help: outside dew point " + say.C(f.OutsideDew) + ". Warm it elsewhere."
	default:
		f.Minutes = 60 * Mixed(in, out, need, changesPerHour)
		f.HighMin = 60 * Mixed(air.VapourPressure(airC, min(100, rhPct+doubtRH)), out, need, changesPerHour*0.75)
		f.Sentence = "Flush " + say.Minutes(f.Minutes) + " with heater off, then vented heat."
	}
	return f, nil
}

// Mixed returns the hours that a well-mixed bay takes from the vapour in to the
// vapour need, both in Pa, with n air changes an hour of air with vapour out;
// out < need < in.
func Mixed(in, out, need, n float64) float64 {
	return math.Log((in-out)/(need-out)) / n
}

// Warm is how long to warm a vehicle in another place first.
type Warm struct {
	ColdestC, AirC, RHPct, PlaceC, PlaceRHPct, SpotHours, MarginK float64 // as given

	NeedC     float64 // the spot must reach this
	Hours     float64 // 0 when none is needed or none helps
	LowHours  float64 // tau a fifth shorter
	HighHours float64 // tau a quarter longer
	NoNeed    bool
	NoHelp    bool // the place is not warm enough, or the vehicle would sweat there
	Sentence  string
}

// WarmOf returns how long a vehicle at coldestC in C stands in a place at placeC in
// C with placeRHPct in percent until its coldest spot lies marginK K over the dew
// point of the bay it is to go to (airC in C, rhPct in percent).
func WarmOf(coldestC, airC, rhPct, placeC, placeRHPct, spotHours, marginK float64) (Warm, error) {
	if err := limit.Check(WarmInputs, coldestC, airC, rhPct, placeC, placeRHPct, spotHours, marginK); err != nil {
		return Warm{}, err
	}
	w := Warm{
		ColdestC: coldestC, AirC: airC, RHPct: rhPct, PlaceC: placeC, PlaceRHPct: placeRHPct,
		SpotHours: spotHours, MarginK: marginK, NeedC: air.DewPoint(airC, rhPct) + marginK,
	}
	switch {
	case coldestC >= w.NeedC:
		w.NoNeed = true
		w.Sentence = "Bring it in: coldest spot " + say.C(coldestC) + " stays dry."
	case air.DewPoint(placeC, placeRHPct) > coldestC:
		w.NoHelp = true
		w.Sentence = "It would sweat there too: dew point " + say.C(air.DewPoint(placeC, placeRHPct)) + "."
	case placeC-w.NeedC < 0.1:
		w.NoHelp = true
		w.Sentence = "That place is too cold. It needs over " + say.C(w.NeedC) + "."
	default:
		w.Hours = spotHours * math.Log((placeC-coldestC)/(placeC-w.NeedC))
		w.LowHours, w.HighHours = kindTau*w.Hours, unkindTau*w.Hours
		w.Sentence = "Warm it there " + say.Hours(w.Hours) + " first, to " + say.C(w.NeedC) + "."
	}
	return w, nil
}
