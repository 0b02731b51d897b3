package air

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// The grid was computed with PsychroLib 2.5.0 (npm psychrolib 1.1.1), which
// implements the ASHRAE Handbook Fundamentals 2017; where the dew point is
// below 0.01 C that library answers with the frost point, so the grid carries
// the liquid branch of the same Hyland-Wexler equation as well.
type gridRow struct {
	T        float64 `json:"t_c"`
	RH       float64 `json:"rh_pct"`
	Psat     float64 `json:"psat_pa"`
	E        float64 `json:"e_pa"`
	VPD      float64 `json:"vpd_pa"`
	DewPsy   float64 `json:"tdew_psychrolib_c"`
	DewLiq   float64 `json:"tdew_hw_liquid_c"`
	WetBulb  float64 `json:"twet_c"`
	DewAE96  float64 `json:"tdew_magnus_ae96_c"`
	DewWMO   float64 `json:"tdew_magnus_wmo_c"`
	HumRatio float64 `json:"hum_ratio"`
}

func load(t testing.TB, name string, into any) {
	t.Helper()
	b, err := os.ReadFile("../../testdata/reference/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, into); err != nil {
		t.Fatal(err)
	}
}

func grid(t testing.TB) []gridRow {
	var d struct{ Rows []gridRow }
	load(t, "ref_psychro_grid.json", &d)
	if len(d.Rows) != 874 {
		t.Fatalf("grid has %d rows, want 874", len(d.Rows))
	}
	return d.Rows
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.6g, want %.6g within %g", what, got, want, tol)
	}
}

// Tolerance 0.05 K: the fit's own error against Hyland-Wexler is 0.041 K at
// most over this grid, and a good probe moves the dew point by 0.6 K.
func TestDewPointGrid(t *testing.T) {
	above, below := 0, 0
	for _, r := range grid(t) {
		milli, ok := DewPointMilli(int32(math.Round(r.T*1000)), int32(math.Round(r.RH*1000)))
		if !ok {
			t.Fatalf("%v C %v %% refused", r.T, r.RH)
		}
		got := float64(milli) / 1000
		want := r.DewLiq
		if r.DewPsy > 0 {
			above++
			want = r.DewPsy
		} else {
			below++
		}
		if math.Abs(got-want) > 0.05 {
			t.Errorf("dew point at %v C %v %% = %.3f, want %.3f", r.T, r.RH, got, want)
		}
		// The same equation by another hand, printed to four digits: 0.6 of
		// a thousandth is its rounding plus ours.
		if math.Abs(got-r.DewAE96) > 0.0006 {
			t.Errorf("dew point at %v C %v %% = %.3f, the same equation elsewhere gives %.4f", r.T, r.RH, got, r.DewAE96)
		}
	}
	// WMO-No. 8 annex 4.B has other coefficients (17.62, 243.12): 0.03 K away.
	for _, r := range grid(t) {
		near(t, "dew point, WMO", DewPoint(r.T, r.RH), r.DewWMO, 0.03)
	}
	if above != 645 || below != 229 {
		t.Fatalf("checked %d dew points above 0 C and %d below, want 645 and 229", above, below)
	}
}

// A dew point below 0 C is not a frost point: they differ by up to 2.7 K, and
// comparing one with the other would look like an error of the formula.
func TestDewPointIsNotFrostPoint(t *testing.T) {
	worst := 0.0
	for _, r := range grid(t) {
		if r.DewPsy >= 0 {
			continue
		}
		e := VapourPressure(r.T, r.RH)
		near(t, "frost point", FrostPointAt(e), r.DewPsy, 0.05)
		worst = max(worst, FrostPointAt(e)-DewPointAt(e))
	}
	if worst < 2.6 || worst > 2.8 {
		t.Errorf("frost point is at most %.2f K above the dew point, want 2.73 (0 C, 10 %%)", worst)
	}
}

func TestDewPointMilliRefuses(t *testing.T) {
	for _, c := range []struct {
		air, rh int32
		ok      bool
	}{
		{20_000, 0, false}, {20_000, -1, false}, {20_000, 100_001, false}, {20_000, 100_000, true},
		{-40_001, 50_000, false}, {-40_000, 50_000, true}, {60_001, 50_000, false}, {60_000, 50_000, true},
		{20_000, 1, true}, {math.MinInt32, math.MinInt32, false}, {math.MaxInt32, math.MaxInt32, false},
	} {
		dew, ok := DewPointMilli(c.air, c.rh)
		if ok != c.ok {
			t.Errorf("DewPointMilli(%d, %d) ok = %v, want %v", c.air, c.rh, ok, c.ok)
		}
		if !ok && dew != 0 {
			t.Errorf("DewPointMilli(%d, %d) = %d with ok false", c.air, c.rh, dew)
		}
	}
	for air := int32(-40_000); air <= 60_000; air += 500 {
		if dew, ok := DewPointMilli(air, 100_000); !ok || dew != air {
			t.Errorf("at 100 %% the dew point of %d is %d, want the air's own temperature", air, dew)
		}
	}
}

func FuzzDewPointMilli(f *testing.F) {
	f.Add(int32(20_000), int32(60_000))
	f.Add(int32(-40_000), int32(1))
	f.Add(int32(60_000), int32(100_000))
	f.Add(int32(math.MinInt32), int32(math.MaxInt32))
	f.Fuzz(func(t *testing.T, air, rh int32) {
		dew, ok := DewPointMilli(air, rh)
		if !ok {
			return
		}
		if dew > air {
			t.Errorf("dew point %d above the air's %d at %d", dew, air, rh)
		}
		if dew < -120_000 {
			t.Errorf("dew point %d of %d at %d is not of this earth", dew, air, rh)
		}
		if rh < 100_000 {
			if more, _ := DewPointMilli(air, rh+1); more < dew {
				t.Errorf("dew point falls from %d to %d as RH rises from %d at %d", dew, more, rh, air)
			}
		}
	})
}

func BenchmarkDewPointMilli(b *testing.B) {
	b.ReportAllocs()
	var sink int32
	for i := range b.N {
		dew, _ := DewPointMilli(int32(15_000+i%10_000), int32(40_000+i%50_000))
		sink += dew
	}
	_ = sink
}

func TestDewPointMilliAllocatesNothing(t *testing.T) {
	if n := testing.AllocsPerRun(100, func() { DewPointMilli(20_000, 60_000) }); n != 0 {
		t.Errorf("DewPointMilli allocates %v times", n)
	}
}
