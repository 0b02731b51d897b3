package forecast

// The constants of the model: common practice of fitting, no source, except
// where a line says otherwise. Those that weigh were chosen on generated bays
// (package backtest), never on the demo shop's air.
const (
	stepHours = 1.0 / 6 // of a forecast
	stepMS    = hourMS / 6
	stepsDay  = 24 * 6
	fitHours  = 0.5    // of the differences that are fitted
	smooth    = 0.4    // weight of the penalty between neighbouring hours of the day
	habit     = 0.1    // and of that on what an hour differs from the others: in steps, six an hour of a day
	doubt     = 20.0   // and of that on what a thing does that acts on the air: steps of ten minutes
	tiny      = 1e-3   // ridge on the level, so that the fit has one answer
	keepHours = 7 * 24 // a week of history; older habits are forgotten

	airRate, airPrior = 1.0, 20.0 // 1/h that a heated bay's air is taken to follow, and the weight of that
	dewRate, dewPrior = 0.5, 60.0 // air changes an hour of a closed bay: 0.3 to 1
	usual             = 0.3       // K/h or hPa/h: a miss that is no event, at least
	leastRate         = 0.1       // 1/h
	mostRate          = 2.5       // 1/h: faster than that the half hours do not show

	driftHours = 2.0  // h in which fades what the law does not explain of the last while
	sameFrom   = 18.0 // h ahead from which the same hour of the day before has a say
	sameHour   = 0.9  // its share a day ahead

	wise    = 0.90 // share of past misses that the interval covers
	trust   = 0.5  // of the usual miss against the bay's own: how many of those it counts for
	fading  = 24.0 // h in which a miss of the weather's wave fades
	warmest = 15.0 // hour of a usual day
	swing   = 3.0  // K that such a day goes up and down

	typedHours = 12 // h that a reading of the air outside is good for
)

// Usually is what a forecast from a day's history or less misses in generated
// bays, in K, so many steps of ten minutes ahead: nine in ten keep under it for
// the air and, as it is the dew point that warns, nineteen in twenty for that.
// TestUsually counts it again.
var Usually = [...]struct {
	Step     int
	Air, Dew float64
}{
	{2, 0.6, 1.6},
	{6, 0.9, 2.7},
	{12, 1.3, 3.3},
	{18, 1.7, 3.5},
	{36, 2.9, 5.7},
	{54, 3.6, 6.1},
	{72, 3.6, 6.4},
	{108, 3.6, 6.4},
	{144, 3.6, 6.4},
}

// outsideHalf is the half-width of the weather's interval, h hours ahead: the
// instrument's error and a part that grows.
func outsideHalf(h float64) float64 { return min(0.8+0.25*h, 4) }
