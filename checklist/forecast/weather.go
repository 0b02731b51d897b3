package forecast

import (
	"errors"
	"math"

	"bayhold/checklist/air"
)

// Weather is the air outside, before and after now.
type Weather struct {
	samples []Sample
	zone    int64
	t, e    wave
	damp    float64 // of a reading typed once: vapour over that of wet air, which it keeps; 0 otherwise
}

// wave is a level with one daily swing, and what it missed at the end.
type wave struct {
	level, cos, sin float64
	end             int64
	miss            float64
}

// FitWeather learns the weather from the samples of the last days. Where nobody
// measures outside, one that somebody typed will do for half a day: it is taken for
// a usual day's, which is warmest at 15:00.
func FitWeather(samples []Sample, now, zone int64) (*Weather, error) {
	samples = ordered(samples)
	w := &Weather{samples: samples, zone: zone}
	if n := len(samples); n == 0 || now-samples[n-1].At > typedHours*hourMS {
		return nil, errors.New("nobody read the air outside within twelve hours; read it and type it once")
	}
	last := samples[len(samples)-1]
	if len(samples) < 4 || last.At-samples[0].At < 3*hourMS {
		a := 2 * math.Pi * warmest / 24
		w.t = wave{cos: swing * math.Cos(a), sin: swing * math.Sin(a)}
		w.t.level = last.AirC - w.t.at(last.At, zone)
		w.damp = min(1, air.SaturationPressure(last.DewC)/air.SaturationPressure(last.AirC))
		return w, nil
	}
	w.t, w.e = w.fit(airOf), w.fit(vapourOf)
	return w, nil
}

func (w *Weather) fit(of func(Sample) float64) wave {
	q := newNormal(3)
	for _, s := range w.samples {
		a := 2 * math.Pi * hourOfDay(s.At, w.zone) / 24
		q.add([]float64{1, math.Cos(a), math.Sin(a)}, of(s), 1)
	}
	// A day seen in part says little about its swing.
	q.add([]float64{0, 1, 0}, 0, 3)
	q.add([]float64{0, 0, 1}, 0, 3)
	p, ok := q.solve()
	if !ok {
		p = []float64{of(w.samples[len(w.samples)-1]), 0, 0}
	}
	v := wave{level: p[0], cos: p[1], sin: p[2]}
	last := w.samples[len(w.samples)-1]
	v.miss, v.end = of(last)-v.at(last.At, w.zone), last.At
	return v
}

func (v *wave) at(t, zone int64) float64 {
	a := 2 * math.Pi * hourOfDay(t, zone) / 24
	x := v.level + v.cos*math.Cos(a) + v.sin*math.Sin(a)
	if v.end != 0 && t > v.end {
		x += v.miss * math.Exp(-float64(t-v.end)/hourMS/fading)
	} else if v.end != 0 {
		x += v.miss
	}
	return x
}

// known is the waves as they were known at a moment: what they missed then, they go
// on missing.
func (w *Weather) known(from int64) (t, e wave) {
	t, e = w.t, w.e
	if n := len(w.samples); n > 0 && w.samples[0].At < from && from < w.samples[n-1].At {
		for k, v := range [2]*wave{&t, &e} {
			v.end, v.miss = from, 0
			v.miss = w.value(from, kind(k)) - v.at(from, w.zone)
		}
	}
	return t, e
}

// ahead is the temperature or the vapour that such waves say.
func (w *Weather) ahead(t, e *wave, at int64, k kind) float64 {
	if k == airKind {
		return t.at(at, w.zone)
	}
	wet := air.SaturationPressure(t.at(at, w.zone)) / 100
	if w.damp > 0 {
		return w.damp * wet
	}
	return max(0.5, min(e.at(at, w.zone), wet))
}

// value is the temperature in C or the vapour in hPa outside: as measured where
// it was, otherwise as fitted.
func (w *Weather) value(t int64, k kind) float64 {
	of, v := airOf, &w.t
	if k == dewKind {
		of, v = vapourOf, &w.e
	}
	s := w.samples
	lo, hi := 0, len(s)
	for lo < hi {
		if m := (lo + hi) / 2; s[m].At > t {
			hi = m
		} else {
			lo = m + 1
		}
	}
	if lo > 0 && lo < len(s) && s[lo].At-s[lo-1].At <= 3*hourMS {
		a, b := s[lo-1], s[lo]
		f := float64(t-a.At) / float64(b.At-a.At)
		return of(a) + f*(of(b)-of(a))
	}
	early := *v
	if lo == 0 {
		early.miss = 0 // before all samples: the wave alone
	}
	if k == airKind {
		return w.ahead(&early, &w.e, t, k)
	}
	return w.ahead(&w.t, &early, t, k)
}

// At is the air outside at a moment.
func (w *Weather) At(t int64) Point {
	temp, e := w.value(t, airKind), w.value(t, dewKind)
	h := max(0, float64(t-w.samples[len(w.samples)-1].At)/hourMS)
	if w.damp > 0 {
		h += 6 // how this day goes nobody has seen
	}
	dew, a := air.DewPointAt(100*e), outsideHalf(h)
	return Point{t, Range{temp - a, temp, temp + a}, Range{dew - a, dew, dew + a}}
}
