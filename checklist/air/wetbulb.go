package air

// HumidityRatio returns kg of vapour per kg of dry air for vapour at e Pa at
// the standard pressure (ASHRAE Handbook Fundamentals 2017, chapter 1,
// equation 20). It has a meaning while e is under the air's own pressure.
func HumidityRatio(e float64) float64 {
	return 0.621945 * e / (Pressure - e)
}

// WetBulb returns the thermodynamic wet-bulb temperature in C of air at t in C
// with rh in percent, over liquid water at the standard pressure: where a wet
// surface settles that gets its heat from the air alone. Equation 33 of the
// ASHRAE Handbook Fundamentals 2017, chapter 1, solved by bisection between the
// dew point and the air's temperature, to a millionth of a degree.
func WetBulb(t, rh float64) float64 {
	w := HumidityRatio(VapourPressure(t, rh))
	low, high := DewPoint(t, rh), t
	for high-low > 1e-6 {
		tw := (low + high) / 2
		ws := HumidityRatio(SaturationPressure(tw))
		if ((2501-2.326*tw)*ws-1.006*(t-tw))/(2501+1.86*t-4.186*tw) > w {
			high = tw
		} else {
			low = tw
		}
	}
	return (low + high) / 2
}
