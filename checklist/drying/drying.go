// Package drying models how water leaves a vehicle: a film on open metal, and a
// wet seam through its mouth.
//
// The shop's rule is counted hours, and it stands elsewhere. These models stand
// beside it. They show when the rule's hours are too few for this air, and what
// an hour of heat or of extraction would save. They may lengthen a wait, never
// shorten it: a seam that was not blown out, a drip or a rag left in a sill is
// not in any equation. A card strip drawn dry outranks them.
//
// # An open film has two bounds
//
// The film evaporates as fast as heat comes to it. If the air alone brings it,
// the film sits at the wet bulb; if the panel brings it, at the panel's
// temperature. On sheet metal the truth lies between:
//
//	m"_air   = h (Ta - Twb) / hfg                    hfg = (2501 - 2.36 Twb) kJ/kg
//	m"_panel = hm (rho_sat(Tp) - rho_v)              h/hm = rho cp Le^(2/3)
//
// m" in kg/(m2 s), h the heat-transfer coefficient, W/(m2 K): 3 to 6 in still
// air, 10 to 20 under a fan. The second line is the analogy of Chilton and
// Colburn, valid for Prandtl and Schmidt numbers of gases (0.6 to 60, 0.6 to
// 3000); Le is the thermal diffusivity of air over the diffusivity of vapour,
// 0.85 to 0.90.
//
// # A wet seam is a Stefan tube
//
// Vapour leaves a narrow gap by diffusion through the still air that the
// receding water leaves behind, so the dry part slows its own growth:
//
//	N = (c D/L) ln((1-y_air)/(1-y_sat))              Stefan 1874; mol/(m2 s)
//	dL2/dt = 2 c D M ln((1-y_air)/(1-y_sat)) / rho_l
//
// L is the depth that is dry, y the mole fractions of vapour in the bay and,
// saturated, at the panel's temperature; c, D the molar density and diffusivity
// of air at the panel. The square grows by constant steps in constant air, so a
// changing climate is summed exactly, interval by interval. Twice the depth
// takes four times as long; 12 h at 21 C and 50 % clear 4.4 mm, no more:
// "overnight" is no promise for a deeper seam. Where the air holds more vapour
// than the panel's water gives off, the sign turns and the seam takes up water.
//
// Hot air at a seam is a spell with a hot panel: it raises y_sat and leaves the
// vapour of the bay as it is.
//
// # Range and error
//
// Air -40 to 60 C, panel -20 to 80 C, seams to 100 mm. One mouth, water along the
// whole depth, no wicking, no wind in the gap; a seam open at both ends counts
// with half its depth. D after Marrero and Mason (1972) is 2 to 5 % from other
// sources. Each answer carries the range that a hygrometer good to 3 % and a
// panel reading good to 1 K leave (common practice, no source), D's doubt
// included. Below 0 C the water is taken as supercooled: ice dries slower.
//
// A time that has no end, at 100 % RH above all, is Never, not an infinity.
//
// # Sources
//
// Geankoplis, Transport Processes and Unit Operations, ch. 6 and 9; Cengel, Heat
// and Mass Transfer, ch. 14; Incropera et al., Fundamentals of Heat and Mass
// Transfer, 6th ed., ch. 6 and 14; Marrero and Mason 1972 (diffusivity). Their
// worked examples are the tests.
//
// # Who calls it
//
// The screen of the step 'dry' shows [SeamAfter] beside the hours that count,
// [SeamOf] when the lead asks how long, and [HeaterHour] and [ExtractorHour] as
// the way out. The wash screen shows [FilmOf]. Nothing here says that anything
// is safe; hot air near solvent is told where the solvent is.
package drying

import (
	"math"

	"bayhold/checklist/air"
)

const (
	gas      = 8.314462618 // J/(mol K), CODATA
	water    = 0.01801528  // kg/mol
	liquid   = 998.2       // kg/m3 at 20 C
	gasOfAir = 287.05      // J/(kg K), dry air
	heatOf   = 1006.0      // J/(kg K), dry air
)

// Diffusivity returns that of water vapour in air at t in C and the standard
// pressure, m2/s: 1.87e-10 T^2.072 (Marrero and Mason 1972, as Cengel gives it),
// for 280 to 450 K.
func Diffusivity(t float64) float64 {
	return 1.87e-10 * math.Pow(t+air.Kelvin, 2.072)
}

// StefanFlux returns the flux of vapour in mol/(m2 s) through length m of still
// gas with molar density c in mol/m3 and diffusivity d in m2/s, from the mole
// fraction y0 at the water to y1 at the mouth; both under 1. It is below zero
// when vapour goes in.
func StefanFlux(c, d, length, y0, y1 float64) float64 {
	return c * d / length * math.Log((1-y1)/(1-y0))
}

// MassTransfer returns hm in m/s for a heat-transfer coefficient h in W/(m2 K),
// by the analogy of Chilton and Colburn: density rho in kg/m3, heat capacity cp
// in J/(kg K), Lewis number le.
func MassTransfer(h, rho, cp, le float64) float64 {
	// 2.0/3.0, not 2/3: the integer constant is 0, and 93 W/(m2 K) stands in
	// print where 215 is right.
	return h / (rho * cp * math.Pow(le, 2.0/3.0))
}

// AirFlux returns the evaporation in kg/(m2 s) of a film at tw in C that gets
// its heat from air at t in C alone, with h in W/(m2 K).
func AirFlux(h, t, tw float64) float64 {
	return h * (t - tw) / ((2501 - 2.36*tw) * 1000)
}

// PanelFlux returns the evaporation in kg/(m2 s) of a film that a panel holds at
// panel in C, in air at t in C with rh in percent, with h in W/(m2 K). It is
// below zero when the panel takes up water.
func PanelFlux(h, t, rh, panel float64) float64 {
	rho := air.Pressure / (gasOfAir * (t + air.Kelvin))
	alpha := conductivity(t) / (rho * heatOf)
	hm := MassTransfer(h, rho, heatOf, alpha/Diffusivity(t))
	return hm * (air.Density(panel, air.SaturationPressure(panel)) - air.Density(t, air.VapourPressure(t, rh)))
}

// conductivity of dry air in W/(m K), between the rows 250 K (0.0223) and 300 K
// (0.0263) of Incropera's table A.4.
func conductivity(t float64) float64 {
	return 0.0223 + (t+air.Kelvin-250)*(0.0263-0.0223)/50
}

// Growth returns by how much the square of a seam's dry depth grows, m2/s, while
// vapour at e in Pa stands at its mouth and its metal is at panel in C. It is
// below zero when the seam takes up water. It does not allocate.
func Growth(e, panel float64) float64 {
	return growth(e, panel, Diffusivity(panel))
}

func growth(e, panel, d float64) float64 {
	c := air.Pressure / (gas * (panel + air.Kelvin))
	// With a length of 1 m the flux is c D ln(...).
	return 2 * water / liquid * StefanFlux(c, d, 1, air.SaturationPressure(panel)/air.Pressure, e/air.Pressure)
}

// Advance returns the dry depth in m of a seam depth m deep whose dry part was
// dry m, after seconds at that growth. It does not allocate.
func Advance(dry, depth, growth, seconds float64) float64 {
	square := dry*dry + growth*seconds
	return min(depth, math.Sqrt(max(0, square)))
}
