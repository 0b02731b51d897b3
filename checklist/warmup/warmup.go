// Package warmup forecasts from a vehicle's own readings when its coldest spot
// will have warmed to a threshold, or cooled to it, and refuses where the
// readings do not carry a forecast.
//
// # Equations
//
// A lumped body follows
//
//	T(t) = Ta + (T0-Ta) exp(-t/tau),  tau = rho c V/(h A)          Biot h Lc/k < 0.1
//	t_hit = tau ln((Ta-T0)/(Ta-Thr))                               if Thr lies between T0 and Ta
//
// (Incropera et al., Fundamentals of Heat and Mass Transfer, equations 5.6 to
// 5.10). The air's temperature Ta is measured, never fitted: four readings over
// half an hour with a free Ta put t_hit between -558 and 702 min. T0 and tau are
// fitted by least squares in the temperatures (Gauss and Newton), not in their
// logarithms, which would weigh the last readings most.
//
// A vehicle is not one lump. Its skin follows the air within minutes and hides a
// body that takes hours, so a single exponential through the first readings is
// early by up to a factor of two. [One] therefore looks for a bend in the
// readings and answers no when it finds one, and [Two] fits
//
//	|Ta - T| = A exp(-t/tau1) + B exp(-t/tau2)                     A, B >= 0
//
// [Forecast] takes the first and, where it bends, the second.
//
// # The interval
//
// For one mass it is Fieller's: all t at which a + b t does not differ from the
// logarithm of the threshold's distance at 95 %, with Student's t for the few
// readings. It is not symmetric, and it has no end where the slope may be zero.
// For two masses it is the profile of the sum of squares over the four parameters
// at the same level. The scatter is never taken as less than the instrument's own
// error, so three readings on a line do not make a certainty. The air's error is
// carried by fitting at both its ends and taking the union. The late end is
// stretched by the law of still air, h falling with the difference to the power
// 1/4 (Bejan and Kraus, Heat Transfer Handbook, equation 3.286), under which the
// last degrees take longer than the exponential says.
//
// # What it refuses
//
// Fewer than three readings; readings that have moved less than three times the
// instrument's error; readings that move away from the air, or lie past it; a bend
// that one mass does not explain; an interval whose half-width is over half of
// the time left (and over 5 min). It says what to read next. A threshold that the
// air does not reach is 'never', not a number.
//
// A forecast is a hint for the plan. The gate passes on a fresh reading only.
//
// # Range
//
// Temperatures -40 to 120 C, 3 to 500 readings within a week, thresholds that are
// reached within 96 h. Air that changes by more than its stated error while the
// readings last makes the answer wrong without a sign: measure it again and say
// what it was.
//
// # Who calls it
//
// The screen of the step 'temperature' shows [Forecast] under 'from 12:20' once
// the coldest spot has three readings; the plan uses [HitOf] with a vehicle's usual
// time constant before there are any; [PanelOf] answers why a skin never reaches
// the air in a bay with cold walls.
package warmup

import "math"

// Stefan-Boltzmann constant, W/(m2 K4), CODATA.
const sigma = 5.670374419e-8

const kelvin = 273.15

// TimeConstant returns tau in s of a body of density rho in kg/m3, heat capacity
// c in J/(kg K) and volume per area lc in m under h in W/(m2 K).
func TimeConstant(rho, c, lc, h float64) float64 { return rho * c * lc / h }

// Biot returns h lc/k for the conductivity k in W/(m K): under 0.1 the body is one
// lump.
func Biot(h, lc, k float64) float64 { return h * lc / k }

// Remaining returns the time from start to threshold in the air's temperature
// ambient, all in C, in the unit of tau. ok is false when the threshold does not
// lie between start and ambient; the threshold at the start takes 0.
func Remaining(start, ambient, threshold, tau float64) (t float64, ok bool) {
	if start == threshold {
		return 0, true
	}
	ratio := (ambient - start) / (ambient - threshold)
	if !(ratio > 1) || math.IsInf(ratio, 0) {
		return 0, false
	}
	return tau * math.Log(ratio), true
}

// StillAir returns the share of the first difference that is left after x time
// constants (of the first moment), when h falls with the difference to the power
// n: (1+n x)^(-1/n), Bejan and Kraus equation 3.286; n is 1/4 for laminar still
// air, 0 for a constant h.
func StillAir(x, n float64) float64 {
	if n == 0 {
		return math.Exp(-x)
	}
	return math.Pow(1+n*x, -1/n)
}

// Surface is a surface that exchanges heat with the air and by radiation with the
// walls.
type Surface struct {
	H          float64 // W/(m2 K)
	AirC       float64
	Emissivity float64
	WallsC     float64
}

// Flux returns the heat in W/m2 that the surface takes up at t in C.
func (s Surface) Flux(t float64) float64 {
	return s.H*(s.AirC-t) + s.Emissivity*sigma*(fourth(s.WallsC)-fourth(t))
}

// Settles returns the temperature in C at which the surface takes up no more heat:
// between the air's and the walls'.
func (s Surface) Settles() float64 {
	low, high := min(s.AirC, s.WallsC), max(s.AirC, s.WallsC)
	for high-low > 1e-7 {
		if mid := (low + high) / 2; s.Flux(mid) > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

func fourth(t float64) float64 {
	t2 := (t + kelvin) * (t + kelvin)
	return t2 * t2
}
