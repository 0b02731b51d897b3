package warmup

import (
	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// HitInputs are the arguments of [HitOf].
var HitInputs = []limit.Input{
	{Key: "start", Name: "temperature now", Low: -40, High: 120, Unit: "C"},
	{Key: "air", Name: "air temperature as measured", Low: -40, High: 120, Unit: "C"},
	{Key: "threshold", Name: "threshold", Low: -40, High: 120, Unit: "C"},
	{Key: "tau", Name: "time constant", Low: 0.01, High: 48, Unit: "h", Free: true, Usual: 3.5},
}

// The range of a time constant that was felt and not measured: common practice,
// no source.
const kindTau, unkindTau = 0.8, 1.25

// Hit is when a vehicle with a usual time constant gets there.
type Hit struct {
	StartC, AmbientC, ThresholdC, TauHours float64 // as given

	Hours     float64 // 0 when Never
	LowHours  float64 // tau a fifth shorter
	HighHours float64 // tau a quarter longer
	Never     bool
	Sentence  string
}

// HitOf returns how long a spot takes from startC to thresholdC in air at ambientC,
// all in C, with the time constant tauHours in h: for the plan, before there are
// readings. A threshold that lies behind the start is reached: 0.
func HitOf(startC, ambientC, thresholdC, tauHours float64) (Hit, error) {
	if err := limit.Check(HitInputs, startC, ambientC, thresholdC, tauHours); err != nil {
		return Hit{}, err
	}
	h := Hit{StartC: startC, AmbientC: ambientC, ThresholdC: thresholdC, TauHours: tauHours}
	side := 1.0
	if ambientC < startC {
		side = -1
	}
	if side*(startC-thresholdC) >= 0 {
		h.Sentence = "Already " + say.C(startC) + ". Read the coldest spot."
		return h, nil
	}
	t, ok := Remaining(startC, ambientC, thresholdC, tauHours)
	if !ok || t*60 > horizon {
		h.Never = true
		h.Sentence = "Never at air " + say.C(ambientC) + ": needs " + say.C(thresholdC) + ". Heat the bay."
		return h, nil
	}
	h.Hours, h.LowHours, h.HighHours = t, kindTau*t, unkindTau*t
	h.Sentence = "About " + say.Hours(t) + " to " + say.C(thresholdC) + ". Read the coldest spot."
	return h, nil
}

// PanelInputs are the arguments of [PanelOf].
var PanelInputs = []limit.Input{
	{Key: "thickness", Name: "thickness of the skin", Low: 0.1, High: 50, Unit: "mm", Free: true, Usual: 0.8},
	{Key: "density", Name: "density", Low: 100, High: 12_000, Unit: "kg/m3", Free: true, Usual: 7850},
	{Key: "heat", Name: "heat capacity", Low: 100, High: 5000, Unit: "J/kgK", Free: true, Usual: 480},
	{Key: "conductivity", Name: "conductivity", Low: 0.02, High: 500, Unit: "W/mK", Free: true, Usual: 50},
	{Key: "air", Name: "air temperature", Low: -40, High: 120, Unit: "C"},
	{Key: "walls", Name: "temperature of walls and roof", Low: -40, High: 120, Unit: "C"},
	{Key: "h", Name: "heat-transfer coefficient", Low: 0.5, High: 500, Unit: "W/m2K", Free: true, Usual: 5},
	{Key: "emissivity", Name: "emissivity", Low: 0, High: 1, Free: true, Usual: 0.93},
}

// Skin is how a bare skin follows the air, heated from one side.
type Skin struct {
	ThicknessMM, Density, HeatCapacity, Conductivity float64 // as given
	AirC, WallsC, H, Emissivity                      float64 // as given

	TauMin   float64 // time constant with radiation in it
	Biot     float64
	Lumped   bool    // Biot under 0.1: the equation holds
	SettlesC float64 // where it ends, between air and walls
	Sentence string
}

// PanelOf returns how fast a skin thicknessMM mm thick, of that density (kg/m3),
// heat capacity (J/(kg K)) and conductivity (W/(m K)), follows air at airC in C
// with the coefficient h in W/(m2 K) on one side, and where it settles when walls
// at wallsC in C radiate to it. Radiation adds 4 eps sigma T3 to h. A body behind
// the skin holds it back: that is what [Two] is for.
func PanelOf(thicknessMM, density, heat, conductivity, airC, wallsC, h, emissivity float64) (Skin, error) {
	if err := limit.Check(PanelInputs, thicknessMM, density, heat, conductivity, airC, wallsC, h, emissivity); err != nil {
		return Skin{}, err
	}
	s := Skin{
		ThicknessMM: thicknessMM, Density: density, HeatCapacity: heat, Conductivity: conductivity,
		AirC: airC, WallsC: wallsC, H: h, Emissivity: emissivity,
		SettlesC: Surface{H: h, AirC: airC, Emissivity: emissivity, WallsC: wallsC}.Settles(),
	}
	t := s.SettlesC + kelvin
	whole := h + 4*emissivity*sigma*t*t*t
	lc := thicknessMM / 1000
	s.TauMin = TimeConstant(density, heat, lc, whole) / 60
	s.Biot = Biot(whole, lc, conductivity)
	s.Lumped = s.Biot < 0.1
	if s.Lumped {
		s.Sentence = "Skin follows in " + say.Minutes(3*s.TauMin) + ", settles at " + say.C(s.SettlesC) + "."
	} else {
		s.Sentence = "Too thick for this sum. Read it instead."
	}
	return s, nil
}
