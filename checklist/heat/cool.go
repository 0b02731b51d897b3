package heat

import (
	"errors"
	"math"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// PVC film: density kg/m3, heat capacity J/(kg K), conductivity W/(m K).
const (
	density      = 1380
	heatCapacity = 1200
	conductivity = 0.17
	lowFactor    = 0.75 // of the time: the bare resin of the NIST WebBook
	highFactor   = 1.4  // a plasticised film of the handbooks
)

// CoolInputs are the inputs of [Cool]. Without an h, or with 0, it is that of
// still air.
var CoolInputs = []limit.Input{
	{Key: "thickness", Name: "film thickness with laminate", Low: 10, High: 500, Unit: "um"},
	{Key: "air", Name: "air temperature", Low: -40, High: 60, Unit: "C"},
	{Key: "from", Name: "film temperature", Low: 20, High: 200, Unit: "C", Free: true, Usual: 740.0 / 9},
	{Key: "to", Name: "temperature to heat again at", Low: 0, High: 200, Unit: "C", Free: true, Usual: 590.0 / 9},
	{Key: "sides", Name: "sides in the air", Low: 1, High: 2, Free: true, Usual: 2},
	{Key: "h", Name: "heat transfer to the air", Low: 0, High: 250, Unit: "W/m2K", Free: true, Usual: 0},
}

// Cooling is how fast a film off the panel cools.
type Cooling struct {
	ThicknessUM, AirC, FromC, ToC, Sides, H float64 // as asked; H as used

	TauS        float64
	Seconds     float64
	LowS, HighS float64 // for the heat capacities of the handbooks
	Biot        float64 // under 0.1 the film is one lump; over that the time is rough
	Sentence    string
}

// Cool returns how long a film of thicknessUM micrometres, off the panel with
// that many sides in air at airC, takes from fromC to toC. h is the heat
// transfer to the air in W/(m2 K), 0 for still air. It refuses a film that
// does not cool to toC in this air.
func Cool(thicknessUM, airC, fromC, toC, sides, h float64) (Cooling, error) {
	if err := limit.Check(CoolInputs, thicknessUM, airC, fromC, toC, sides, h); err != nil {
		return Cooling{}, err
	}
	if err := whole(CoolInputs[4], sides); err != nil {
		return Cooling{}, err
	}
	if toC >= fromC {
		return Cooling{}, errors.New("the film is not over the lower temperature; valid is a film over " + say.C(toC))
	}
	if toC-airC < 0.5 {
		return Cooling{}, errors.New("air at " + say.C(airC) + " never cools the film so far; valid is over " + say.C(airC+0.5))
	}
	if h == 0 {
		h = StillAir((fromC+toC)/2, airC)
	}
	c := Cooling{ThicknessUM: thicknessUM, AirC: airC, FromC: fromC, ToC: toC, Sides: sides, H: h}
	delta := thicknessUM * 1e-6
	c.TauS = density * heatCapacity * delta / (sides * h)
	c.Seconds = c.TauS * math.Log((fromC-airC)/(toC-airC))
	c.LowS, c.HighS = lowFactor*c.Seconds, highFactor*c.Seconds
	c.Biot = h * delta / sides / conductivity
	c.Sentence = "Under " + say.C(toC) + " in " + say.Number(c.Seconds, 1) + " s. No counting: read, heat again."
	return c, nil
}

// StillAir returns the heat transfer in W/(m2 K) of a film at filmC to still
// air and walls at airC: natural convection on a vertical plate of 0.3 m
// (Churchill and Chu 1975, Incropera equation 9.26) and radiation at an
// emissivity of 0.95.
func StillAir(filmC, airC float64) float64 {
	return convection(filmC, airC) + radiation(filmC, airC)
}

func convection(filmC, airC float64) float64 {
	const gravity, height = 9.81, 0.3
	t := (filmC+airC)/2 + 273.15
	// Air at one atmosphere: Sutherland's law for the viscosity (White, Viscous
	// Fluid Flow, table 1-2) and for the conductivity (table 1-3).
	mu := 1.716e-5 * math.Pow(t/273, 1.5) * (273 + 111) / (t + 111)
	k := 0.0241 * math.Pow(t/273, 1.5) * (273 + 194) / (t + 194)
	nu := mu * 287.05 * t / 101325
	const prandtl = 0.705
	rayleigh := gravity / t * math.Abs(filmC-airC) * height * height * height / (nu * nu / prandtl)
	n := 0.825 + 0.387*math.Pow(rayleigh, 1.0/6.0)/math.Pow(1+math.Pow(0.492/prandtl, 9.0/16.0), 8.0/27.0)
	return n * n * k / height
}

func radiation(filmC, airC float64) float64 {
	const stefanBoltzmann, emissivity = 5.670374419e-8, 0.95
	a, b := filmC+273.15, airC+273.15
	return emissivity * stefanBoltzmann * (a*a + b*b) * (a + b)
}

// Effusivity sqrt(k ρ c) in J/(m2 K s^0.5) of what film meets.
const (
	FilmEffusivity  = 530.6
	SteelEffusivity = 13021.5 // carbon steel
	PaintEffusivity = 600     // a thick coat
)

// ContactC returns the temperature in C at which film at filmC and a panel at
// panelC of that effusivity meet, within milliseconds of being laid.
func ContactC(filmC, panelC, effusivity float64) float64 {
	return (FilmEffusivity*filmC + effusivity*panelC) / (FilmEffusivity + effusivity)
}
