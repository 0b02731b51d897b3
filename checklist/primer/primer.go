// Package primer tells how long primer or solvent must be left alone on a
// panel, and how long primer stays open.
//
// # Equation
//
// The sheet states a minimum time at a temperature. Evaporation and cure slow
// down in the cold by about a factor of two for 10 K, the rule that ASTM F1980
// uses for ageing with Q10 = 2 and that follows from the Arrhenius equation with
// an activation energy of 53 kJ/mol near 25 C:
//
//	t = t_sheet max(1, 2^((T_sheet - T)/10 K))       minimum, only ever longer
//	o = o_sheet min(1, 2^((T_sheet - T)/10 K))       open time, only ever shorter
//
// T is the panel, not the air. A warm panel does not earn a shorter minimum: a
// maker's stated time is never cut by a formula. A cold one does not earn a
// longer open time.
//
// # Range and error
//
// Q10 is 1.8 to 2.5 in ASTM F1980; at 10 K under the sheet's temperature that is
// 10 % under to 25 % over the answer, and [Of] names the long end. Arrhenius with
// the energy above asks for 9 % more at 20 K under. The rule does not hold through a glass transition or near freezing: under 10 to 12 C primer
// is not to be coated at all (common practice, no source). Humidity is left out
// on purpose: primers that cure with moisture speed up with it, water-borne ones
// slow down, and only the tin knows. So the clock says when to try, and the
// gloved knuckle on the edge says whether it is tack-dry.
//
// Solvent that flashes off quickly chills the panel and can draw dew onto it:
// the margin to the dew point is to be held while it dries, too.
//
// # Source
//
// ASTM F1980 (accelerated ageing, Q10); the Arrhenius equation with the CODATA
// gas constant. The times that a shop starts from (primer 3 to 10 min at 20 to
// 23 C, open 30 to 60 min, solvent 1 to 3 min at 20 C) are common practice from
// memory; the sheet on the tin outranks them.
//
// # Safety
//
// General information only. Alcohol cleaner is above its flash point in any heated
// bay (isopropyl alcohol: 12 C, NIOSH Pocket Guide), and its vapour is twice as
// heavy as air. Follow the product's safety
// data sheet and the local fire, building and workplace rules; where they
// differ, they win. This package says when a coat is likely dry; it never says
// that heat, flame or a person is safe.
//
// # Who calls it
//
// The primer gate calls [MinimumMillis] and [OpenMillis], in integers, so that
// every copy agrees. The screens of the steps 'primer' and 'solvent wipe' show
// [Of] and [FlashOf].
package primer

import "math"

// Never is the minimum that has no end in practice: a time too long to count.
const Never int64 = math.MaxInt64 / 4

// MinimumMillis returns the minimum time in ms on a panel at panelMilliC, for a
// sheet that states base ms at baseMilliC (thousandths of a degree Celsius). It
// is rounded up to a whole second, never under base, and [Never] when it would
// not fit. A base of zero or less has no minimum: 0.
//
// The float is rounded to a millisecond before the second is rounded up, so
// that processors whose exp2 differs in the last bit agree. It does not
// allocate.
func MinimumMillis(base int64, baseMilliC, panelMilliC int32) int64 {
	if base <= 0 {
		return 0
	}
	ms := math.Round(float64(base) * slowing(baseMilliC, panelMilliC))
	if base >= Never || ms >= float64(Never) {
		return Never
	}
	return (max(base, int64(ms)) + 999) / 1000 * 1000
}

// OpenMillis returns the open time in ms on a panel at panelMilliC, for a sheet
// that states base ms at baseMilliC: rounded down to a whole second, never over
// base. It does not allocate.
func OpenMillis(base int64, baseMilliC, panelMilliC int32) int64 {
	if base <= 0 {
		return 0
	}
	f := slowing(baseMilliC, panelMilliC)
	if f >= 1 {
		return base / 1000 * 1000
	}
	return int64(math.Round(float64(base)*f)) / 1000 * 1000
}

// slowing is 2^((base-panel)/10 K): by how much a process is slower on the
// panel than at the sheet's temperature. The difference is taken in integers.
func slowing(baseMilliC, panelMilliC int32) float64 {
	return math.Exp2(float64(int64(baseMilliC)-int64(panelMilliC)) / 10_000)
}
