// Package air is the moist air of a bay: how much water it holds, at which
// temperature a surface in it starts to sweat, and how far a panel is from
// that.
//
// # Equations
//
// Everything rests on one fit of the saturation pressure over liquid water,
// the Magnus form with the coefficients of Alduchov and Eskridge 1996,
// "Improved Magnus form approximation of saturation vapor pressure", J. Appl.
// Meteor. 35(4), 601-609, equation 21 (equation 23 over ice, its coefficients
// from memory; tests hold them against a library's ice branch):
//
//	es(t) = 610.94 Pa exp(17.625 t / (243.04 + t))        t in C, liquid water
//	ei(t) = 611.21 Pa exp(22.587 t / (273.86 + t))        t in C, ice
//
// The dew point is its inverse in closed form, and the rest follows:
//
//	e   = RH/100 es(t)                                    vapour pressure, Pa
//	Td  : g = ln(RH/100) + B t/(C+t),  Td = C g/(B-g)     dew point, C
//	VPD = es(t) - e                                       vapour-pressure deficit, Pa
//	ρv  = e / (461.5 J/(kg K) T)                          absolute humidity, kg/m3
//	RHs = 100 e / es(ts)                                  humidity at a surface, %
//	margin = ts - Td                                      K
//
// RH belongs to the air's temperature, never to the surface's.
//
// # Range and error
//
// Air -40 to 60 C (the paper claims -40 to 50 C and 0.4 % in pressure), RH
// above 0 up to 100 %. Against the ASHRAE formulation (Hyland and Wexler 1983;
// ASHRAE Handbook Fundamentals 2017, chapter 1) over 0 to 45 C and 10 to 100 %
// the dew point is off by at most 0.041 K, the pressure by 0.24 %. That is
// small beside the instruments: a probe good to 3 % RH moves the dew point by
// 0.6 to 1.1 K. So a margin comes with the interval that the instruments' errors
// give it.
//
// Below 0 C the dew point stays that over liquid (supercooled) water, as
// hygrometers are calibrated. The frost point lies above it, by 2.7 K at 0 C
// and 10 %; a panel below 0 C takes frost from the frost point on, so the
// margin of such a panel names it.
//
// # The 3 K rule
//
// ISO 8502-4 (guidance on the probability of condensation before painting
// steel) and the coating trade ask for a surface at least 3 K above the dew
// point. The rule was made for paint on steel; for adhesive film it is used by
// analogy, as common practice. 3 K is 5.4 F: the "5 F" of other sheets is 2.78 K
// and lets more through. Subtract the instruments' error or ask for 3 K, not
// both, or nothing ever opens.
//
// # Who calls it
//
// The gates of drying, temperature and wipe call [DewPointMilli], in integers
// so that every copy agrees to the thousandth. The screens 'may I start?' and
// the bay's climate show [Of] and [MarginOf]. The numbers say when a surface is
// dry or wet; they never say that anything is safe.
package air

import "math"

// Magnus coefficients of Alduchov and Eskridge 1996, equations 21 and 23.
const (
	liquidA, liquidB, liquidC = 610.94, 17.625, 243.04
	iceA, iceB, iceC          = 611.21, 22.587, 273.86
)

// VapourConstant is the specific gas constant of water vapour in J/(kg K).
const VapourConstant = 461.5

// Kelvin is 0 C in kelvin.
const Kelvin = 273.15

// Pressure is the air pressure, in Pa, that this package and its users assume:
// the standard atmosphere at sea level. The dew point does not depend on it.
const Pressure = 101325

// SaturationPressure returns the saturation pressure over liquid water in Pa
// at t in C.
func SaturationPressure(t float64) float64 {
	return liquidA * math.Exp(liquidB*t/(liquidC+t))
}

// SaturationPressureIce returns the saturation pressure over ice in Pa at t in
// C, for t below 0.
func SaturationPressureIce(t float64) float64 {
	return iceA * math.Exp(iceB*t/(iceC+t))
}

// VapourPressure returns the partial pressure of the vapour in Pa of air at t
// in C with rh in percent.
func VapourPressure(t, rh float64) float64 {
	return rh / 100 * SaturationPressure(t)
}

// DewPoint returns the temperature in C at which air at t in C with rh in
// percent, above 0, is saturated over liquid water.
func DewPoint(t, rh float64) float64 {
	g := math.Log(rh/100) + liquidB*t/(liquidC+t)
	return liquidC * g / (liquidB - g)
}

// DewPointAt returns the dew point in C of vapour at e Pa, e above 0.
func DewPointAt(e float64) float64 {
	g := math.Log(e / liquidA)
	return liquidC * g / (liquidB - g)
}

// FrostPointAt returns the temperature in C at which vapour at e Pa is
// saturated over ice; it has a meaning where the result is below 0.
func FrostPointAt(e float64) float64 {
	g := math.Log(e / iceA)
	return iceC * g / (iceB - g)
}

// Density returns the absolute humidity in kg/m3 of vapour at e Pa in air at t
// in C.
func Density(t, e float64) float64 {
	return e / (VapourConstant * (t + Kelvin))
}

// PressureOf returns the vapour pressure in Pa of rho kg/m3 of vapour in air
// at t in C.
func PressureOf(t, rho float64) float64 {
	return rho * VapourConstant * (t + Kelvin)
}

// Deficit returns the vapour-pressure deficit in Pa of air at t in C with rh
// in percent: how much drying the air can still do.
func Deficit(t, rh float64) float64 {
	return SaturationPressure(t) - VapourPressure(t, rh)
}

// SurfaceHumidity returns the relative humidity in percent right at a surface
// at ts in C, in air at t in C with rh in percent. Above 100 the surface takes
// up water.
func SurfaceHumidity(ts, t, rh float64) float64 {
	return 100 * VapourPressure(t, rh) / SaturationPressure(ts)
}

// Limits of what [DewPointMilli] accepts, in thousandths of a degree Celsius
// and of a percent.
const (
	lowMilliC, highMilliC = -40_000, 60_000
	highMilliPct          = 100_000
)

// DewPointMilli returns the dew point in thousandths of a degree Celsius of
// air at airMilliC thousandths of a degree Celsius with rhMilliPct thousandths
// of a percent (55 % is 55000). It is rounded once, to the nearest thousandth,
// so that copies on different processors agree although their exp and log
// differ in the last bit. ok is false for air outside -40 to 60 C and for RH
// at or under 0 or over 100 %: a gate treats that as not known. It does not
// allocate.
func DewPointMilli(airMilliC, rhMilliPct int32) (dewMilliC int32, ok bool) {
	if airMilliC < lowMilliC || airMilliC > highMilliC || rhMilliPct <= 0 || rhMilliPct > highMilliPct {
		return 0, false
	}
	td := DewPoint(float64(airMilliC)/1000, float64(rhMilliPct)/1000)
	return int32(math.Round(td * 1000)), true
}
