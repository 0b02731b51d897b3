// Package infrared corrects the reading of an infrared thermometer for what the
// surface really is and for what mirrors in it, and refuses where no correction
// can help.
//
// # Equations
//
// The instrument sees the surface's own radiation and the mirrored radiation of
// its surroundings, and computes with the emissivity set on it:
//
//	eps_set f(T_read) + (1-eps_set) f(T_mirrored) = eps f(T) + (1-eps) f(T_mirrored)
//
// f is the signal of a black body. Handheld instruments see 8 to 14 um, not the
// whole spectrum; for that band the Sakuma-Hattori equation in Planckian form
// stands (the interpolation that ASTM E2847 uses):
//
//	f(T) = 1 / (exp(c2/(A T + B)) - 1)      A = 9.364 um, B = 178.4 um K, c2 = 14387.77 um K
//
// It is solved for T in closed form. The broadband law f = sigma T^4 is offered
// beside it as a check; the two agree within 0.6 K for paint up to 93 C.
//
// # Range and error
//
// Surface and surroundings -40 to 200 C, emissivity 0.6 to 1. Under 0.6 (bare
// aluminium, stainless, chrome, rivet heads, metallised film) the instrument
// reports the room and the answer is refused: put matt tape on the spot, wait
// 2 to 3 min, or use a contact probe. The constants A and B are from memory;
// against the numerical integral of Planck's law over 8 to 14 um they are within
// 0.02 K for emissivities from 0.85. The emissivity itself is the larger doubt:
// 0.05 of it at 82 C in a bay of 24 C is 2.4 K, so an answer has an interval.
//
// # Where a painted panel lies
//
// Paint reflects 5 to 15 % of its surroundings. So a panel that is colder than
// what mirrors in it reads warm: 60 F read in a bay of 75 F can be a panel of
// 58 F, under the window; a van from the frost beside a radiant heater lies
// worse. A panel warmer than its surroundings reads cold: film at 180 F under the
// gun shows 171 to 176. When the surface is as warm as its surroundings every
// emissivity reads right.
//
// # Sources
//
// ASTM E1933 (emissivity), E1862 (reflected temperature), E2758 (wideband
// low-temperature instruments), E2847 (their calibration). The emissivities of
// [Surfaces] are long-wave values, 8 to 14 um, from published compilations after
// Bramson and after Wolfe and Zissis. A total emissivity is another number:
// anodised aluminium is 0.95 to 0.97 in this band and 0.55 in total.
//
// # Who calls it
//
// The screen of the step 'temperature' shows [Of] when a reading was taken by
// infrared, and the screen of 'post-heat' when the gun's film is read. The gate
// judges the value that was typed in, with the instrument's error counted once;
// the correction is advice.
package infrared

import "math"

const (
	bandA, bandB = 9.364, 178.4 // um, um K
	c2           = 14387.77     // um K, second radiation constant
	kelvin       = 273.15
)

// Floor is the emissivity under which an infrared reading is refused (common
// practice, no source).
const Floor = 0.6

// signal is the black body's signal in 8 to 14 um at t in C, on a scale of its
// own.
func signal(t float64) float64 {
	return 1 / (math.Exp(c2/(bandA*(t+kelvin)+bandB)) - 1)
}

// temperature is the inverse of signal, in C; s is above 0.
func temperature(s float64) float64 {
	return (c2/math.Log(1+1/s)-bandB)/bandA - kelvin
}

// Shown returns what an instrument set to epsSet shows in C for a surface at
// trueC with emissivity eps, when mirroredC mirrors in it and the instrument
// reckons with the same mirrored temperature.
func Shown(trueC, eps, epsSet, mirroredC float64) float64 {
	m := signal(mirroredC)
	return temperature((eps*signal(trueC) + (epsSet-eps)*m) / epsSet)
}

// True returns the surface's temperature in C from what an instrument set to
// epsSet shows. ok is false when no temperature gives that reading: more would
// be mirrored than was read at all.
func True(readC, epsSet, eps, mirroredC float64) (trueC float64, ok bool) {
	m := signal(mirroredC)
	s := (epsSet*signal(readC) + (eps-epsSet)*m) / eps
	if !(s > 0) {
		return 0, false
	}
	return temperature(s), true
}

// TrueBroadband is True for an instrument that sees the whole spectrum, by the
// law of Stefan and Boltzmann. sigma cancels.
func TrueBroadband(readC, epsSet, eps, mirroredC float64) (trueC float64, ok bool) {
	m := fourth(mirroredC)
	s := (epsSet*fourth(readC) + (eps-epsSet)*m) / eps
	if !(s > 0) {
		return 0, false
	}
	return math.Sqrt(math.Sqrt(s)) - kelvin, true
}

func fourth(t float64) float64 {
	t2 := (t + kelvin) * (t + kelvin)
	return t2 * t2
}
