package forecast

// The constants of the model: common practice of fitting, no source, except
// where a line says otherwise.
const (
	stepHours = 1.0 / 6 // of a forecast
	fitHours  = 0.5     // of the differences that are fitted
	smooth    = 0.4     // weight of the penalty between neighbouring hours of the day
	tiny      = 1e-3    // ridge on every level, so that the fit has one answer
	keepHours = 7 * 24  // a week of history; older habits are forgotten

	airRate, airPrior = 1.0, 20.0 // 1/h that a heated bay's air is taken to follow, and the weight of that
	dewRate, dewPrior = 0.5, 60.0 // air changes an hour of a closed bay: 0.3 to 1
	usual             = 0.3       // K/h or hPa/h: a miss that is no event, at least
	leastRate         = 0.1       // 1/h
	mostRate          = 2.5       // 1/h: faster than that the half hours do not show

	wise    = 0.90 // share of past misses that the interval covers
	fading  = 24.0 // h in which a miss of the weather's wave fades
	damp    = 0.85 // RH outside as a fraction where nobody read it, the usual of a winter's day
	warmest = 15.0 // hour of the day, of a typed day
	coldest = 6.0
)

// floorOf is the least half-width of an interval, h hours ahead: the
// instrument's error and a part that grows.
func floorOf(k kind, h float64) float64 {
	switch k {
	case airKind:
		return min(0.4+0.12*h, 2.5)
	case outsideKind:
		return min(0.8+0.25*h, 4)
	}
	return min(0.8+0.22*h, 3.5)
}
