// Package sweat answers the porter's question before the move: if this vehicle
// goes into that bay, does it get wet, how wet, until when, and what avoids it.
//
// A van out of the frost cools the bay's air at its metal. Where the metal is
// colder than the dew point, water gathers, first as a haze on the skin that one
// wipes and is fooled by, then in sills, posts and seams, where it runs in and
// stays. It undoes the drying of days.
//
// # Model
//
// The vehicle is two lumps and a hidden spot, per m2 of skin:
//
//	skin   Cs dTs/dt = hs (Ta-Ts) + hb (Tb-Ts) + L m"      Cs = 3.2 kJ/(m2 K)
//	body   Cb dTb/dt = hb (Ts-Tb) + ha (Ta-Tb)
//	spot   dTc/dt = (Ta-Tc)/tau                            sill, rail, hinge post
//	water  m" = hm (rho_v - rho_sat(T))                    kg/(m2 s), while wet or under the dew point
//
// hm is h/(rho cp), the Lewis relation with Le = 1, for a convective h of
// 4 W/(m2 K) at the skin and half of that in a sill; rho_v and rho_sat are the
// vapour of the air and at saturation on the metal. L is the heat of
// condensation: it warms a sweating skin, as it should. The steps are 30 s.
// Warming alone, the last line of it, is T = Ta - (Ta-T0) exp(-t/tau).
//
// A flush is a well-mixed bay: the vapour falls as
// e = e_out + (e_in - e_out) exp(-n t) with n air changes an hour.
//
// # Range and error
//
// Vehicle -40 to 60 C, air -40 to 60 C. The constants of the skin (6, 5 and
// 1.5 W/(m2 K)) and tau (3 h for an empty van, 4 to 5 loaded, 4 to 6 a bus rail;
// fans cut it by a third) are felt, not measured: common practice, no source. So
// [Of] computes the kind and the unkind end too: tau a fifth shorter and a
// quarter longer, hygrometer 3 % to either side. Its air is constant, as if the
// bay's vapour never ran out: where a van dries the bay's air as it sweats, less
// water gathers, a quarter less in the invented morning of the tests. The analogy
// with the true Le of 0.87 would give 13 % more. Frost is reckoned as water: it
// melts later than this says.
//
// # Sources
//
// Incropera et al., Fundamentals of Heat and Mass Transfer (lumped bodies ch. 5,
// heat and mass analogy ch. 6); moist air as in package air. The bay and van of
// the tests' two mornings are invented and calculated, and say so.
//
// # Who calls it
//
// The move screen ('may this van go into bay 4 now?'), the close-up walk and the
// night watch call [Of], [FlushOf] and [WarmOf]; the board's night forecast calls
// [Over] with the bay's planned climate. A forecast warns; a gate passes on a
// fresh reading only. Whether a heater may burn unattended, and what it does to
// the air one breathes, is for its maker's sheet and the local rules.
package sweat

import (
	"math"

	"bayhold/checklist/air"
)

const (
	skinHeat  = 3200.0     // J/(m2 K)
	skinGain  = 6.0        // W/(m2 K), air to skin, radiation included
	bodyLink  = 5.0        // W/(m2 K), body to skin
	bodyGain  = 1.5        // W/(m2 K), air to body
	bodyHeat  = 40_000.0   // J/(m2 K)
	transfer  = 4.0 / 1200 // m/s: convective h over rho cp
	sheltered = 0.5        // of that, in a sill
	latent    = 2.5e6      // J/kg
	step      = 30.0       // s
)

// Vehicle is a vehicle's warmth: its skin, the body behind it, and the coldest
// hidden spot with its time constant.
type Vehicle struct {
	SkinC, BodyC, SpotC float64
	SpotHours           float64 // time constant of the spot, h
}

// Air is the bay's air at an hour from the start. Between two of them the
// temperature and the vapour pressure go in straight lines.
type Air struct {
	Hour, AirC, RHPct float64
}

// Course is what a vehicle does over a stretch of climate. Hours count from the
// start; 0 means that it never came to that, and the flag beside it that it does
// not end within the climate.
type Course struct {
	Sweats     bool    // skin or spot was under the dew point
	LeastK     float64 // least margin of the spot to the dew point
	SkinGM2    float64 // most water on the skin, g/m2
	SpotGM2    float64 // most water at the spot, g/m2
	SkinClear  float64 // the skin stays above the dew point from here
	SpotClear  float64 // the spot does
	SpotReady  float64 // the spot keeps the margin from here
	Dry        float64 // the last water is gone
	ClearNever bool
	ReadyNever bool
	DryNever   bool
	End        Vehicle // at the end of the climate
}

// run steps the vehicle through the climate, which has at least two entries with
// rising hours, and tells watch, if there is one, what it saw at every step.
func run(v Vehicle, climate []Air, needK float64, watch func(hour float64, v Vehicle, skin, spot float64)) Course {
	c := Course{LeastK: math.Inf(1)}
	start := climate[0].Hour
	hours := climate[len(climate)-1].Hour - start
	steps := int(hours*3600/step + 0.5)
	var skin, spot float64 // water, kg/m2
	leg := 0
	from, to := pointOf(climate[0], start), pointOf(climate[1], start)
	for i := 0; i <= steps; i++ {
		hour := float64(i) * step / 3600
		for leg < len(climate)-2 && hour >= to.hour {
			leg++
			from, to = to, pointOf(climate[leg+1], start)
		}
		t, e := between(from, to, hour)
		dew := air.DewPointAt(e)
		c.look(hour, v, dew, skin, spot, needK)
		if watch != nil {
			watch(hour, v, skin, spot)
		}
		vapour := air.Density(t, e)
		took := take(&skin, transfer*(vapour-saturated(v.SkinC)))
		take(&spot, sheltered*transfer*(vapour-saturated(v.SpotC)))
		gain := skinGain*(t-v.SkinC) + bodyLink*(v.BodyC-v.SkinC)
		v.SkinC += (gain*step + latent*took) / skinHeat
		v.BodyC += (bodyLink*(v.SkinC-v.BodyC) + bodyGain*(t-v.BodyC)) * step / bodyHeat
		v.SpotC += (t - v.SpotC) * step / (v.SpotHours * 3600)
		c.SkinGM2, c.SpotGM2 = max(c.SkinGM2, 1000*skin), max(c.SpotGM2, 1000*spot)
	}
	c.ClearNever = c.SkinClear > hours || c.SpotClear > hours
	c.ReadyNever, c.DryNever = c.SpotReady > hours, c.Dry > hours
	c.End = v
	for _, h := range [4]*float64{&c.SkinClear, &c.SpotClear, &c.SpotReady, &c.Dry} {
		if *h > hours {
			*h = 0
		}
	}
	return c
}

// trace is the water in kg/m2 that a finger does not find: 0.01 g/m2.
const trace = 1e-5

// look notes what holds at this hour. An end that is not reached yet is the hour
// after this one, so that the last note is the first hour from which it holds.
func (c *Course) look(hour float64, v Vehicle, dew, skin, spot, needK float64) {
	next := hour + step/3600
	c.LeastK = min(c.LeastK, v.SpotC-dew)
	if v.SkinC < dew {
		c.Sweats, c.SkinClear = true, next
	}
	if v.SpotC < dew {
		c.Sweats, c.SpotClear = true, next
	}
	if v.SpotC < dew+needK {
		c.SpotReady = next
	}
	if skin > trace || spot > trace {
		c.Dry = next
	}
}

// take moves water onto the metal, or off as far as there is any, and returns
// what it moved, kg/m2.
func take(on *float64, flux float64) float64 {
	d := max(flux*step, -*on)
	*on += d
	return d
}

func saturated(t float64) float64 { return air.Density(t, air.SaturationPressure(t)) }

// point is an air with its vapour pressure in Pa, its hour counted from the
// start.
type point struct{ hour, t, e float64 }

func pointOf(a Air, start float64) point {
	return point{a.Hour - start, a.AirC, air.VapourPressure(a.AirC, a.RHPct)}
}

// between returns temperature and vapour pressure at an hour between two points.
func between(a, b point, hour float64) (t, e float64) {
	f := min(1, max(0, (hour-a.hour)/(b.hour-a.hour)))
	return a.t + f*(b.t-a.t), a.e + f*(b.e-a.e)
}
