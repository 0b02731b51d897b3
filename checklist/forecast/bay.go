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
	now              int64
	zone             int64
	things           []Thing
	weather          *Weather
	t, e             law
	last             start
	airHalf, dewHalf halves
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
	m := &Model{now: last.At, zone: b.Zone, things: b.Things[:min(len(b.Things), mostThings)], weather: b.Weather}
	t, e := gridOf(samples, airOf), gridOf(samples, vapourOf)
	m.airHalf, m.dewHalf = m.misses(t, e)
	m.learn(t, e)
	m.last = m.begin(t, e, m.now)
	return m, nil
}

// learn fits both laws to a stretch of history.
func (m *Model) learn(t, e grid) { m.t, m.e = m.fit(t, airKind), m.fit(e, dewKind) }

// columns of the fit: rate, influence of outside, what is on, the level of all
// hours, and what each hour differs from it.
const (
	colRate = iota
	colOut
	colOn
	mostThings = 4
	colLevel   = colOn + mostThings
	colHour    = colLevel + 1
	columns    = colHour + 24
)

// lag is the steps of a difference that is fitted.
const lag = int(fitHours * 6)

func (m *Model) fit(g grid, k kind) law {
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
		x[colLevel] = 1
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
		one(colLevel, 0, tiny)
		for k := range mostThings {
			one(colOn+k, 0, doubt)
		}
		for h := range 24 {
			x := make([]float64, columns)
			x[colHour+h], x[colHour+(h+1)%24] = 1, -1
			q.add(x, 0, smooth)
			one(colHour+h, 0, habit)
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
		l.level[h] = p[colLevel] + p[colHour+h]
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

// state is which things are on at a moment, as it was known at another: what was
// on then stays so.
func (m *Model) state(at int64) (on [mostThings]bool) {
	for k := range m.things {
		on[k] = m.things[k].on(at)
	}
	return on
}

// input is what drives a law at a moment besides its own state.
func (m *Model) input(l *law, outside float64, at int64, on [mostThings]bool) float64 {
	g := l.level[int(hourOfDay(at, m.zone))] + l.out*outside
	for k, is := range on {
		if is {
			g += l.on[k]
		}
	}
	return g
}

// was is the air outside at a moment that has been.
func (m *Model) was(at int64, k kind) float64 {
	if m.weather == nil {
		return 0
	}
	return m.weather.value(at, k)
}

// will is the air outside at a moment to come, as known at the start.
func (m *Model) will(from *start, at int64, k kind) float64 {
	if m.weather == nil {
		return 0
	}
	return m.weather.ahead(&from.outT, &from.outE, at, k)
}

// drift is what drove a law over the last while besides its known inputs, less
// what the instrument's scatter alone would show as such: a share of it that is
// none where it is no larger than that (the positive part of James and Stein).
func (m *Model) drift(l *law, g grid, k kind, at int64) float64 {
	sum, n := 0.0, 0
	for i := range lag + 1 {
		to := at - int64(i)*g.step
		mid := to - g.step*int64(lag)/2
		a, b := g.at(to-g.step*int64(lag)), g.at(to)
		if !math.IsNaN(a + b) {
			sum += (b-a)/fitHours - (m.input(l, m.was(mid, k), mid, m.state(mid)) - l.rate*(a+b)/2)
			n++
		}
	}
	if n == 0 {
		return 0
	}
	r := sum / float64(n)
	// Differences over half an hour, of which half follow each other.
	scatter := 2 * g.noise / (fitHours * fitHours) * float64(lag) / float64(lag+1)
	return r * max(0, 1-2*scatter/(r*r+tiny*tiny))
}

// start is where a forecast begins: temperature and vapour, and what drives them
// besides what is known, in K/h and hPa/h.
type start struct {
	at             int64
	t, e           float64
	driftT, driftE float64
	outT, outE     wave
}

func (m *Model) begin(t, e grid, at int64) start {
	s := start{at: at, driftT: m.drift(&m.t, t, airKind, at), driftE: m.drift(&m.e, e, dewKind, at)}
	s.t, s.e = m.anchor(&m.t, t, airKind, at, s.driftT), m.anchor(&m.e, e, dewKind, at, s.driftE)
	if m.weather != nil {
		s.outT, s.outE = m.weather.known(at)
	}
	return s
}

// anchor is the state at a moment: the last reading, and where the instrument
// scatters, those before it too, each carried on to the moment.
func (m *Model) anchor(l *law, g grid, k kind, at int64, drift float64) float64 {
	var sum, weight float64
	for i := range int64(lag + 1) {
		from := at - i*g.step
		y := g.at(from)
		if math.IsNaN(y) {
			continue
		}
		for t := from; t < at; t += g.step {
			y = l.next(y, m.input(l, m.was(t+g.step/2, k), t+g.step/2, m.state(t+g.step/2))+drift)
		}
		age := float64(i) * stepHours
		w := 1 / (g.noise + usual*usual*age*age + tiny*tiny)
		sum, weight = sum+w*y, weight+w
	}
	return sum / weight
}

// run carries a bay on, step by step; out gets every step. It knows what was
// known at the start. From late in the first day on, the hour of the day is one
// that has just been seen: what the law makes of it, with all left as it is, goes
// over to what it was then, and what a plan makes goes along.
func (m *Model) run(from start, steps int, plan Plan, out func(i int, at int64, t, e float64)) {
	on := m.state(from.at)
	left := [2]float64{from.t, from.e} // with all left as it is
	planned := left
	var said [][2]float64
	for i := 0; i <= steps; i++ {
		at := from.at + int64(i)*stepMS
		again := sameHour * min(1, max(0, (float64(i)*stepHours-sameFrom)/(24-sameFrom)))
		then := left
		if again > 0 {
			then = said[max(0, i-stepsDay)]
		}
		off := [2]float64{again * (then[0] - left[0]), again * (then[1] - left[1])}
		said = append(said, [2]float64{left[0] + off[0], left[1] + off[1]})
		out(i, at, planned[0]+off[0], max(0.5, planned[1]+off[1]))
		fade := math.Exp(-float64(i) * stepHours / driftHours)
		left = m.step(&from, at, fade, left, on)
		if plan == nil {
			planned = left
			continue
		}
		var will [mostThings]bool
		for k := range m.things {
			will[k] = plan(m.things[k].Key, at+stepMS/2)
		}
		planned = m.step(&from, at, fade, planned, will)
	}
}

// step carries temperature and vapour one step on.
func (m *Model) step(from *start, at int64, fade float64, y [2]float64, on [mostThings]bool) [2]float64 {
	mid := at + stepMS/2
	t := m.t.next(y[0], m.input(&m.t, m.will(from, mid, airKind), mid, on)+from.driftT*fade)
	e := m.e.next(y[1], m.input(&m.e, m.will(from, mid, dewKind), mid, on)+from.driftE*fade)
	return [2]float64{t, max(0.5, min(e, air.SaturationPressure(t)/100))}
}

// next goes one step: the equation is linear, so the step is exact while its
// inputs stand.
func (l *law) next(y, input float64) float64 {
	end := input / l.rate
	return end + (y-end)*math.Exp(-l.rate*stepHours)
}

// misses forecasts again what has come, each time by a law that was fitted to what
// lay before, and returns, by lead, the half-width that covers nine misses in ten
// of air and of dew point. No law is asked that knew less than half of what is
// known now.
func (m *Model) misses(t, e grid) (airHalf, dewHalf halves) {
	var missT, missE [len(Usually)][]float64
	to := len(t.v)
	for _, back := range [...]int{6, 12, 24, 48, 72} {
		cut := len(t.v) - back*stepsDay/24
		if 2*cut < len(t.v) || cut < stepsDay/8 {
			break
		}
		m.learn(t.until(cut), e.until(cut))
		for i := cut; i < to; i += stepsDay / 24 {
			at := t.from + int64(i)*t.step
			if math.IsNaN(t.v[i] + e.v[i]) {
				continue
			}
			k := 0
			m.run(m.begin(t, e, at), min(stepsDay, len(t.v)-1-i), nil, func(step int, then int64, ft, fe float64) {
				if step != Usually[k].Step {
					return
				}
				if x, y := t.at(then), e.at(then); !math.IsNaN(x + y) {
					missT[k] = append(missT[k], math.Abs(ft-x))
					missE[k] = append(missE[k], math.Abs(air.DewPointAt(100*fe)-air.DewPointAt(100*y)))
				}
				k = min(k+1, len(Usually)-1)
			})
		}
		to = cut
	}
	for i, u := range Usually {
		airHalf[i], dewHalf[i] = halfOf(missT[i], u.Step, u.Air), halfOf(missE[i], u.Step, u.Dew)
		if i > 0 {
			airHalf[i], dewHalf[i] = max(airHalf[i], airHalf[i-1]), max(dewHalf[i], dewHalf[i-1])
		}
	}
	return airHalf, dewHalf
}

// halfOf weighs a bay's own misses against the usual one. Beginnings an hour apart
// tell one miss again and again until the lead is over, so of these only so many
// count.
func halfOf(miss []float64, step int, usual float64) float64 {
	n := float64(len(miss)) / float64(max(step*24/stepsDay, 1))
	return (n*quantile(miss, wise) + trust*usual) / (n + trust)
}

// halves is the half-width of an interval, by the leads of Usually.
type halves [len(Usually)]float64

// at is the half-width so many steps ahead.
func (h *halves) at(step int) float64 {
	for i := range Usually {
		b := Usually[i].Step
		switch {
		case step > b:
		case i == 0:
			return h[0]
		default:
			a := Usually[i-1].Step
			return h[i-1] + float64(step-a)/float64(b-a)*(h[i]-h[i-1])
		}
	}
	return h[len(h)-1]
}

// Ahead returns the next hours in steps of ten minutes, the present first.
func (m *Model) Ahead(hours float64, plan Plan) []Point {
	var out []Point
	m.run(m.last, int(hours/stepHours+0.5), plan, func(i int, at int64, t, e float64) {
		dew := air.DewPointAt(100 * e)
		a, d := m.airHalf.at(i), m.dewHalf.at(i)
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
