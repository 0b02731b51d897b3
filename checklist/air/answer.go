package air

import (
	"math"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// NeedK is the margin in K that a surface keeps to the dew point before work
// starts: ISO 8502-4 and the coating trade, by analogy. A shop may set its own.
const NeedK = 3.0

// The numbers that every science of the bay's air takes.
var (
	AirInput     = limit.Input{Key: "air", Name: "air temperature", Low: -40, High: 60, Unit: "C"}
	RHInput      = limit.Input{Key: "rh", Name: "relative humidity", Low: 0.001, High: 100, Unit: "%"}
	SurfaceInput = limit.Input{Key: "surface", Name: "surface temperature", Low: -40, High: 80, Unit: "C"}
	NeedInput    = limit.Input{Key: "need", Name: "margin needed", Low: 0, High: 20, Unit: "K", Free: true, Usual: NeedK}
)

// What a hygrometer of the trade may be off (common practice, no source).
const (
	usualAirErrorK  = 0.5
	usualRHErrorPct = 3.0
)

// OfInputs are the arguments of [Of].
var OfInputs = []limit.Input{AirInput, RHInput}

// MarginInputs are the arguments of [MarginOf]. The usual errors are those of a
// hand infrared thermometer and a hygrometer of 3 % (common practice, no source).
var MarginInputs = []limit.Input{
	AirInput, RHInput, SurfaceInput, NeedInput,
	{Key: "air-error", Name: "error of the air thermometer", Low: 0, High: 5, Unit: "K", Free: true, Usual: usualAirErrorK},
	{Key: "rh-error", Name: "error of the hygrometer", Low: 0, High: 20, Unit: "%", Free: true, Usual: usualRHErrorPct},
	{Key: "surface-error", Name: "error of the surface thermometer", Low: 0, High: 5, Unit: "K", Free: true, Usual: 1},
}

// Air is the state of a bay's air.
type Air struct {
	AirC, RHPct float64 // as read

	DewPointC   float64 // where a surface starts to take up water
	DewLowC     float64 // the same with a usual hygrometer's errors to the dry side
	DewHighC    float64 // and to the damp side
	FrostPointC float64 // where a surface below 0 C starts to take up frost
	WetBulbC    float64 // where a wet surface settles that gets heat from the air alone
	VapourPa    float64
	DeficitPa   float64 // how much drying the air can still do
	WaterGM3    float64 // absolute humidity, g/m3
	Sentence    string
}

// Of returns the state of air at airC in C with rhPct in percent, or a refusal
// that names the valid range.
func Of(airC, rhPct float64) (Air, error) {
	if err := limit.Check(OfInputs, airC, rhPct); err != nil {
		return Air{}, err
	}
	e := VapourPressure(airC, rhPct)
	low, high := dewRange(airC, rhPct, usualAirErrorK, usualRHErrorPct)
	a := Air{
		AirC: airC, RHPct: rhPct,
		DewPointC: DewPoint(airC, rhPct), DewLowC: low, DewHighC: high, FrostPointC: FrostPointAt(e), WetBulbC: WetBulb(airC, rhPct),
		VapourPa: e, DeficitPa: Deficit(airC, rhPct), WaterGM3: 1000 * Density(airC, e),
	}
	switch {
	case rhPct == 100:
		a.Sentence = "Air is full: nothing dries. Vent or heat."
	case a.DewPointC < 0:
		a.Sentence = "Dew point " + say.C(a.DewPointC) + ", frost from " + say.C(min(0, a.FrostPointC)) + " down."
	default:
		a.Sentence = "Dew point " + say.C(a.DewPointC) + ": colder metal gets wet."
	}
	return a, nil
}

// dewRange returns the dew point with both errors to the dry and to the damp side;
// RH stays within its range.
func dewRange(airC, rhPct, airErrorK, rhErrorPct float64) (low, high float64) {
	return DewPoint(airC-airErrorK, max(RHInput.Low, rhPct-rhErrorPct)),
		DewPoint(airC+airErrorK, min(100, rhPct+rhErrorPct))
}

// Margin is how far a surface is from getting wet.
type Margin struct {
	AirC, RHPct, SurfaceC               float64 // as read
	NeedK                               float64 // what the shop asks for
	AirErrorK, RHErrorPct, SurfaceError float64 // what the instruments may be off, K, %, K

	DewPointC  float64
	SurfaceRH  float64 // humidity right at the surface, %; over 100 it takes up water
	MarginK    float64 // surface less dew point
	LowK       float64 // the margin if every instrument is off to the wrong side
	HighK      float64 // and to the right side
	LikelyK    float64 // half-width if the two instruments err independently
	Enough     bool    // MarginK >= NeedK, compared before rounding
	Frost      bool    // the surface is below 0 C and takes up frost
	FrostPoint float64 // in C, has a meaning for a surface below 0 C
	Sentence   string
}

// MarginOf returns the margin of a surface at surfaceC in C to the dew point of
// air at airC in C with rhPct in percent. needK is the margin asked for; the
// three errors are what the instruments may be off, each to both sides.
//
// The interval LowK to HighK is exact for these bounds: the dew point rises
// with air temperature and with RH, so the ends lie at the corners. RH stays
// within its range there. LikelyK adds the two errors of the hygrometer, as one
// housing holds both sensors, and takes the root of the sum of squares with the
// surface thermometer. Enough counts the error nowhere: NeedK is what pays
// for it. Who compares LowK wants 0, not NeedK.
func MarginOf(airC, rhPct, surfaceC, needK, airErrorK, rhErrorPct, surfaceErrorK float64) (Margin, error) {
	if err := limit.Check(MarginInputs, airC, rhPct, surfaceC, needK, airErrorK, rhErrorPct, surfaceErrorK); err != nil {
		return Margin{}, err
	}
	td := DewPoint(airC, rhPct)
	low, high := dewRange(airC, rhPct, airErrorK, rhErrorPct)
	m := Margin{
		AirC: airC, RHPct: rhPct, SurfaceC: surfaceC, NeedK: needK,
		AirErrorK: airErrorK, RHErrorPct: rhErrorPct, SurfaceError: surfaceErrorK,
		DewPointC: td, SurfaceRH: SurfaceHumidity(surfaceC, airC, rhPct),
		MarginK: surfaceC - td, LowK: surfaceC - surfaceErrorK - high, HighK: surfaceC + surfaceErrorK - low,
		FrostPoint: FrostPointAt(VapourPressure(airC, rhPct)),
	}
	m.LikelyK = math.Hypot(max(high-td, td-low), surfaceErrorK)
	m.Enough = m.MarginK >= needK
	m.Frost = surfaceC < 0 && surfaceC < m.FrostPoint
	m.Sentence = m.sentence()
	return m, nil
}

func (m Margin) sentence() string {
	switch {
	case m.Frost:
		return "Frost: surface " + say.C(m.SurfaceC) + ", frost point " + say.C(m.FrostPoint) + ". Warm it."
	case m.MarginK < 0:
		return "Wet: surface " + say.C(m.SurfaceC) + ", dew point " + say.C(m.DewPointC) + ". Vent."
	case !m.Enough:
		return "Margin " + say.K(m.MarginK) + ", needs " + say.K(m.NeedK) + ". Warm panel or vent."
	}
	return "Margin " + say.K(m.MarginK) + ", needs " + say.K(m.NeedK) + "."
}
