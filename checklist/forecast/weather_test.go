package forecast

import (
	"math"
	"testing"
)

// A reading that somebody typed once: the weather passes through it, is coldest
// twelve hours off the warmest (15:00) and says so with a range; and half a day
// later it is nobody's weather any more.
func TestTypedWeather(t *testing.T) {
	const midnight = int64(1_768_348_800_000) // 2026-01-14 00:00 UTC
	at := func(hour float64) int64 { return midnight + int64(hour*hourMS) }
	read := []Sample{{At: at(-2), AirC: -1, DewC: -3}}
	w, err := FitWeather(read, at(-1), 0)
	if err != nil {
		t.Fatal(err)
	}
	if p := w.At(at(-2)); math.Abs(p.Air.Mid+1) > 1e-9 || math.Abs(p.Dew.Mid+3) > 0.01 {
		t.Errorf("%+v", p)
	}
	if three, six := w.At(at(3)).Air.Mid, w.At(at(6)).Air.Mid; three >= -1 || six <= three {
		t.Errorf("03:00 %.2f, 06:00 %.2f", three, six)
	}
	// Half a day on it is as far on the other side of its middle.
	mid := (w.At(at(-2)).Air.Mid + w.At(at(10)).Air.Mid) / 2
	if p := w.At(at(3)); math.Abs(mid-swing-p.Air.Mid) > 1e-9 {
		t.Errorf("lowest %.2f, %.1f under %.2f", p.Air.Mid, swing, mid)
	}
	// The air keeps its damp, so the dew point falls with it, and the range is wide.
	if p := w.At(at(3)); p.Dew.Mid >= p.Air.Mid || p.Dew.Mid >= -3 || p.Air.High-p.Air.Low < 2*swing {
		t.Errorf("%+v", p)
	}
	if _, err := FitWeather(read, at(11), 0); err == nil {
		t.Error("a reading of yesterday evening is this noon's weather")
	}
	if _, err := FitWeather(nil, at(0), 0); err == nil {
		t.Error("no reading is weather")
	}
}
