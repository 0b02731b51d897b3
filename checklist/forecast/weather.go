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
	Typed   bool // from a day's lowest and highest
	Known   float64
}

// wave is a level with one daily swing, and what it missed at the end.
type wave struct {
	level, cos, sin float64
	end             int64
	miss            float64
}

// FitWeather learns the weather from samples of at least three hours.
func FitWeather(samples []Sample, zone int64) (*Weather, error) {
	samples = ordered(samples)
	if len(samples) < 4 || samples[len(samples)-1].At-samples[0].At < 3*hourMS {
		return nil, errors.New("less than three hours of the air outside are known; type tonight's lowest and highest")
	}
	w := &Weather{samples: samples, zone: zone}
	last := samples[len(samples)-1]
	w.Known = float64(last.At-samples[0].At) / hourMS
	w.t, w.e = w.fit(airOf), w.fit(vapourOf)
	return w, nil
}

// TypeWeather makes the weather of a day's lowest and highest temperature in C:
// a wave with its lowest at 06:00 and its highest at 15:00, and air at the usual
// damp of a winter's day or, if dewKnown, at the dew point given.
func TypeWeather(lowC, highC, dewC float64, dewKnown bool, zone int64) (*Weather, error) {
	if !(lowC <= highC) || lowC < -40 || highC > 50 {
		return nil, errors.New("lowest and highest outside must rise and lie between -40 and 50 C")
	}
	w := &Weather{zone: zone, Typed: true}
	mid, swing := (lowC+highC)/2, (highC-lowC)/2
	phase := 2 * math.Pi * (warmest - 0.5) / 24
	w.t = wave{level: mid, cos: swing * math.Cos(phase), sin: swing * math.Sin(phase)}
	e := damp * air.SaturationPressure(mid) / 100
	if dewKnown {
		e = air.SaturationPressure(dewC) / 100
	}
	w.e = wave{level: e}
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
	return max(0.5, min(e.at(at, w.zone), air.SaturationPressure(t.at(at, w.zone))/100))
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
	x := v.at(t, w.zone)
	if lo == 0 && len(s) > 0 {
		x -= v.miss // before all samples: the wave alone
	}
	if k == dewKind {
		x = max(0.5, min(x, air.SaturationPressure(w.t.at(t, w.zone))/100))
	}
	return x
}

// At is the air outside at a moment.
func (w *Weather) At(t int64) Point {
	temp, e := w.value(t, airKind), w.value(t, dewKind)
	h := 6.0
	if n := len(w.samples); n > 0 {
		h = max(0, float64(t-w.samples[n-1].At)/hourMS)
	}
	dew, a := air.DewPointAt(100*e), outsideHalf(h)
	return Point{t, Range{temp - a, temp, temp + a}, Range{dew - a, dew, dew + a}}
}
