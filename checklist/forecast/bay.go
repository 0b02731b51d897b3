package forecast

import (
	"errors"
	"math"
	"slices"

	"bayhold/checklist/air"
)

type kind uint8

const (
	airKind kind = iota
	dewKind
	outsideKind
)

// Bay is the history that a forecast is made from.
type Bay struct {
	Samples []Sample
	Things  []Thing // what acted on it besides its habits, at most four
	Zone    int64   // ms that the shop's clock lies east of UTC
	Weather *Weather
}

// Thing acts on a bay's air while it is on: a heater that was lit, an open
// door. Key names its sort.
type Thing struct {
	Key   string
	Spans []Span
}

// Span is from a moment to another; To is zero while it goes on.
type Span struct{ From, To int64 }

func (t *Thing) on(at int64) bool {
	for _, s := range t.Spans {
		if s.From <= at && (s.To == 0 || at < s.To) {
			return true
		}
	}
	return false
}

// Plan says whether a thing will be on at a moment to come. The nil Plan leaves
// everything as it is.
type Plan func(key string, at int64) bool

// Model is a bay fitted.
type Model struct {
	now      int64
	zone     int64
	things   []Thing
	weather  *Weather
	t, e     law
	lastT    float64
	lastE    float64
	airHalf  []float64 // half-width by hour ahead
	dewHalf  []float64
	Hours    float64 // of history
	Settling bool    // less than an hour since something was lit, opened or ended
}

// law is dy/dt = rate (b out - y) + level[hour] + on.
type law struct {
	rate, out float64
	on        [mostThings]float64
	level     [24]float64
}

var errShort = errors.New("less than an hour of this bay's air is known; read it again or wait for the logger")

// Fit learns a bay. It needs an hour of its air.
func Fit(b Bay) (*Model, error) {
	samples := ordered(b.Samples)
	if len(samples) < 3 || samples[len(samples)-1].At-samples[0].At < hourMS {
		return nil, errShort
	}
	last := samples[len(samples)-1]
	m := &Model{now: last.At, zone: b.Zone, things: b.Things[:min(len(b.Things), mostThings)], weather: b.Weather,
		lastT: last.AirC, lastE: vapourOf(last), Hours: float64(last.At-samples[0].At) / hourMS}
	for _, th := range m.things {
		for _, sp := range th.Spans {
			for _, edge := range [2]int64{sp.From, sp.To} {
				m.Settling = m.Settling || edge != 0 && edge <= last.At && last.At-edge < hourMS
			}
		}
	}
	t, e := gridOf(samples, airOf), gridOf(samples, vapourOf)
	m.t = m.fit(t, airKind)
	m.e = m.fit(e, dewKind)
	m.airHalf, m.dewHalf = m.misses(t, e)
	return m, nil
}

// columns of the fit: rate, influence of outside, what is on, 24 hours.
const (
	colRate = iota
	colOut
	colOn
	mostThings = 4
	colHour    = colOn + mostThings
	columns    = colHour + 24
)

func (m *Model) fit(g grid, k kind) law {
	const lag = int(fitHours * 6)
	type row struct {
		x    []float64
		y, w float64
	}
	var rows []row
	mean, n := 0.0, 0
	for _, v := range g.v {
		if !math.IsNaN(v) {
			mean += v
			n++
		}
	}
	mean /= float64(max(n, 1))
	for i := 0; i+lag < len(g.v); i++ {
		a, b := g.v[i], g.v[i+lag]
		if math.IsNaN(a + b) {
			continue
		}
		t := g.from + int64(i)*g.step
		mid := t + g.step*int64(lag)/2
		x := make([]float64, columns)
		y := (a + b) / 2
		x[colRate] = mean - y
		if m.weather != nil {
			out := m.weather.value(mid, k)
			if k == dewKind {
				x[colRate] = out - y
			} else {
				x[colOut] = (out - mean) / 10
			}
		}
		for k := range m.things {
			if m.things[k].on(mid) {
				x[colOn+k] = 1
			}
		}
		x[colHour+int(hourOfDay(mid, m.zone))] = 1
		rows = append(rows, row{x, (b - a) / fitHours, 1})
	}
	var p []float64
	for range 4 {
		q := newNormal(columns)
		prior, weight := airRate, airPrior
		if k == dewKind {
			prior, weight = dewRate, dewPrior
		}
		one := func(i int, y, w float64) {
			x := make([]float64, columns)
			x[i] = 1
			q.add(x, y, w)
		}
		one(colRate, prior, weight)
		one(colOut, 0, 1)
		for k := range mostThings {
			one(colOn+k, 0, tiny)
		}
		for h := range 24 {
			x := make([]float64, columns)
			x[colHour+h], x[colHour+(h+1)%24] = 1, -1
			q.add(x, 0, smooth)
			one(colHour+h, 0, tiny)
		}
		for _, r := range rows {
			q.add(r.x, r.y, r.w)
		}
		var ok bool
		if p, ok = q.solve(); !ok {
			break
		}
		// Huber's weights: what lies farther out than 1.345 of the usual miss
		// pulls no harder than that.
		miss := make([]float64, len(rows))
		for i, r := range rows {
			s := r.y
			for c, x := range r.x {
				s -= p[c] * x
			}
			miss[i] = math.Abs(s)
		}
		scale := 1.4826 * quantile(miss, 0.5)
		for i := range rows {
			rows[i].w = 1
			if d := 1.345 * max(scale, usual); miss[i] > d {
				rows[i].w = d / miss[i]
			}
		}
	}
	var l law
	if p == nil {
		return law{rate: leastRate}
	}
	l.rate = min(max(p[colRate], leastRate), mostRate)
	copy(l.on[:], p[colOn:])
	for h := range 24 {
		l.level[h] = p[colHour+h]
	}
	if k == airKind {
		// rate (mean - y) + out (To - mean)/10, gathered.
		l.out = p[colOut] / 10
		for h := range l.level {
			l.level[h] += l.rate * mean
			if m.weather != nil {
				l.level[h] -= l.out * mean
			}
		}
		if m.weather == nil {
			l.out = 0
		}
	} else {
		l.out = l.rate
		if m.weather == nil {
			l.out = 0
			for h := range l.level {
				l.level[h] += l.rate * mean
			}
		}
	}
	return l
}

// run carries temperature and vapour from a moment on, step by step; out gets
// every step.
func (m *Model) run(from int64, t, e float64, steps int, plan Plan, out func(i int, at int64, t, e float64)) {
	for i := 0; i <= steps; i++ {
		at := from + int64(float64(i)*stepHours*hourMS)
		out(i, at, t, e)
		mid := at + int64(stepHours*hourMS/2)
		var on [mostThings]bool
		for k := range m.things {
			on[k] = m.things[k].on(mid)
			if plan != nil && mid >= m.now {
				on[k] = plan(m.things[k].Key, mid)
			}
		}
		t = m.t.next(t, m.outside(mid, airKind), hourOfDay(mid, m.zone), on)
		e = m.e.next(e, m.outside(mid, dewKind), hourOfDay(mid, m.zone), on)
		e = max(0.5, min(e, air.SaturationPressure(t)/100))
	}
}

func (m *Model) outside(t int64, k kind) float64 {
	if m.weather == nil {
		return 0
	}
	return m.weather.value(t, k)
}

// next goes one step: the equation is linear, so the step is exact while its
// inputs stand.
func (l *law) next(y, outside, hour float64, on [mostThings]bool) float64 {
	g := l.out*outside + l.level[int(hour)]
	for k, is := range on {
		if is {
			g += l.on[k]
		}
	}
	end := g / l.rate
	return end + (y-end)*math.Exp(-l.rate*stepHours)
}

// ahead is the farthest that an interval is learnt for, in hours.
const ahead = 16

// misses forecasts from every full hour of the past and returns, by hours ahead,
// the half-width that covers nine misses in ten of air and of dew point.
func (m *Model) misses(t, e grid) (airHalf, dewHalf []float64) {
	var missT, missE [ahead + 1][]float64
	for i := 0; i < len(t.v); i += 6 {
		at := t.from + int64(i)*t.step
		if math.IsNaN(t.v[i] + e.v[i]) {
			continue
		}
		m.run(at, t.v[i], e.v[i], ahead*6, nil, func(k int, then int64, ft, fe float64) {
			if k == 0 || k%6 != 0 {
				return
			}
			x, y := t.at(then), e.at(then)
			if math.IsNaN(x + y) {
				return
			}
			missT[k/6] = append(missT[k/6], math.Abs(ft-x))
			missE[k/6] = append(missE[k/6], math.Abs(air.DewPointAt(100*fe)-air.DewPointAt(100*y)))
		})
	}
	half := func(miss *[ahead + 1][]float64, k kind) []float64 {
		out := make([]float64, ahead+1)
		most := 0.0
		for h := 0; h <= ahead; h++ {
			if len(miss[h]) >= 4 {
				most = max(most, quantile(miss[h], wise))
			}
			// Parameters fitted on these very misses make them too small.
			out[h] = max(1.25*most, floorOf(k, float64(h)))
		}
		return out
	}
	return half(&missT, airKind), half(&missE, dewKind)
}

// widthAt is a half-width h hours ahead; beyond what was learnt it grows on.
func widthAt(half []float64, h float64) float64 {
	n := len(half) - 1
	if h >= float64(n) {
		return half[n] * math.Sqrt(max(1, h/float64(n)))
	}
	i := int(h)
	return half[i] + (h-float64(i))*(half[i+1]-half[i])
}

// Ahead returns the next hours in steps of ten minutes, the present first.
func (m *Model) Ahead(hours float64, plan Plan) []Point {
	var out []Point
	m.run(m.now, m.lastT, m.lastE, int(hours/stepHours+0.5), plan, func(i int, at int64, t, e float64) {
		h := float64(i) * stepHours
		dew := air.DewPointAt(100 * e)
		a, d := widthAt(m.airHalf, h), widthAt(m.dewHalf, h)
		out = append(out, Point{at, Range{t - a, t, t + a}, Range{dew - d, dew, min(dew+d, t+a)}})
	})
	return out
}

// Now is the moment of the last sample.
func (m *Model) Now() int64 { return m.now }

// quantile returns the least value that the share q of the values keeps under.
func quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return 0
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return v[min(len(v)-1, int(math.Ceil(q*float64(len(v)))-1+1e-9))]
}
