package forecast

import (
	"math"
	"slices"

	"bayhold/checklist/air"
)

// Sample is the air at a moment in ms since the Unix epoch: temperature and dew
// point in C.
type Sample struct {
	At         int64
	AirC, DewC float64
}

// Range is a value with the least and the most that it may be.
type Range struct{ Low, Mid, High float64 }

// Point is the air at a moment to come.
type Point struct {
	At       int64
	Air, Dew Range // C
}

const hourMS = 3_600_000

// grid is a series on equal steps; a value that is not known is NaN.
type grid struct {
	from, step int64
	v          []float64
	noise      float64 // variance of the instrument's scatter
}

func (g *grid) at(t int64) float64 {
	i := (t - g.from) / g.step
	if t < g.from || i >= int64(len(g.v)) {
		return math.NaN()
	}
	return g.v[i]
}

// until is the first n values.
func (g grid) until(n int) grid { return grid{g.from, g.step, g.v[:n], g.noise} }

// gridOf lays samples on ten minutes, the last one on the last of them. Between two samples at most an hour apart
// the line goes straight; longer gaps are not known.
func gridOf(samples []Sample, of func(Sample) float64) grid {
	const step = hourMS / 6
	g := grid{step: step}
	if len(samples) == 0 {
		return g
	}
	last := samples[len(samples)-1].At
	g.from = last - (last-samples[0].At)/step*step
	k := 0
	for t := g.from; t <= last; t += step {
		for k+1 < len(samples) && samples[k+1].At <= t {
			k++
		}
		a := samples[k]
		x := math.NaN()
		switch {
		case a.At == t:
			x = of(a)
		case k+1 < len(samples) && a.At < t && samples[k+1].At-a.At <= hourMS:
			b := samples[k+1]
			f := float64(t-a.At) / float64(b.At-a.At)
			x = of(a) + f*(of(b)-of(a))
		}
		g.v = append(g.v, x)
	}
	// Second differences of a quiet bay are six times that variance; the median,
	// for the bay is not quiet all the time.
	var d []float64
	for i := 2; i < len(g.v); i++ {
		if x := g.v[i] - 2*g.v[i-1] + g.v[i-2]; !math.IsNaN(x) {
			d = append(d, x*x)
		}
	}
	g.noise = quantile(d, 0.5) / 0.455 / 6
	return g
}

// ordered returns the samples of the last week that are numbers, by time, one a
// moment.
func ordered(samples []Sample) []Sample {
	var out []Sample
	for _, s := range samples {
		if !math.IsNaN(s.AirC+s.DewC) && !math.IsInf(s.AirC+s.DewC, 0) {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b Sample) int {
		switch {
		case a.At < b.At:
			return -1
		case a.At > b.At:
			return 1
		}
		return 0
	})
	out = slices.CompactFunc(out, func(a, b Sample) bool { return a.At == b.At })
	for len(out) > 1 && out[len(out)-1].At-out[0].At > keepHours*hourMS {
		out = out[1:]
	}
	return out
}

func airOf(s Sample) float64    { return s.AirC }
func vapourOf(s Sample) float64 { return air.SaturationPressure(s.DewC) / 100 } // hPa

// hourOfDay is the hour of a moment in a zone that lies offset ms east of UTC.
func hourOfDay(t, offset int64) float64 {
	const day = 24 * hourMS
	return float64(((t+offset)%day+day)%day) / hourMS
}
