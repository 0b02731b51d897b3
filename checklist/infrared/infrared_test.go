package infrared

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"bayhold/checklist/say"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.6g, want %.6g within %g", what, got, want, tol)
	}
}

func spoken(t *testing.T, sentence string) string {
	t.Helper()
	s := say.Plain(sentence)
	short := strings.NewReplacer(" C", "C", " K", "K").Replace(s)
	if n := len(strings.Fields(short)); n == 0 || n > 12 {
		t.Errorf("%d words, want 1 to 12: %q", n, s)
	}
	return s
}

func c(f float64) float64 { return (f - 32) / 1.8 }
func f(c float64) float64 { return c*1.8 + 32 }

// Planck's law integrated over 8 to 14 um by Simpson's rule: an instrument's
// black-body signal without the Sakuma-Hattori fit. Constants: CODATA.
func planck(t float64) float64 {
	const c2um = 14387.768775
	T, n := t+kelvin, 400
	sum := 0.0
	for i := range n + 1 {
		um := 8 + 6*float64(i)/float64(n)
		w := 2.0
		if i%2 == 1 {
			w = 4
		}
		if i == 0 || i == n {
			w = 1
		}
		sum += w / math.Pow(um, 5) / (math.Exp(c2um/(um*T)) - 1)
	}
	return sum
}

// bisect inverts a rising signal.
func bisect(signal func(float64) float64, s float64) float64 {
	low, high := -100.0, 500.0
	for range 80 {
		if mid := (low + high) / 2; signal(mid) < s {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// The reference table, made with another program: numerical integral of
// Planck's law over 8 to 14 um, T^4, and Sakuma-Hattori. It is printed to
// 0.001 F. 0.02 F against the integral for emissivities from 0.85 is the fit's
// own error; the same fit must agree to the print.
func TestReferenceTable(t *testing.T) {
	var d struct {
		Forward []struct {
			True   float64 `json:"T_true_F"`
			Eps    float64 `json:"eps_true"`
			Set    float64 `json:"eps_set"`
			Refl   float64 `json:"T_refl_F"`
			T4     float64 `json:"shown_T4_F"`
			Band   float64 `json:"shown_band8_14_F"`
			Sakuma float64 `json:"shown_sakuma_hattori_F"`
		}
		Inverse []struct {
			Read   float64  `json:"T_read_F"`
			Eps    float64  `json:"eps_true"`
			Set    float64  `json:"eps_set"`
			Refl   float64  `json:"T_refl_F"`
			T4     *float64 `json:"T_corr_T4_F"`
			Band   *float64 `json:"T_corr_band8_14_F"`
			Sakuma *float64 `json:"T_corr_sakuma_hattori_F"`
		}
	}
	b, err := os.ReadFile("../../testdata/reference/ref_ir.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &d); err != nil {
		t.Fatal(err)
	}
	for _, r := range d.Forward {
		got := f(Shown(c(r.True), r.Eps, r.Set, c(r.Refl)))
		near(t, "shown", got, r.Sakuma, 0.0006)
		if r.Eps >= 0.85 {
			near(t, "shown, against the integral", got, r.Band, 0.02)
		}
	}
	refused := 0
	for _, r := range d.Inverse {
		got, ok := True(c(r.Read), r.Set, r.Eps, c(r.Refl))
		if ok != (r.Sakuma != nil) {
			t.Errorf("%+v: ok = %v", r, ok)
			continue
		}
		if !ok {
			refused++
			continue
		}
		near(t, "true", f(got), *r.Sakuma, 0.0006)
		if r.Eps >= 0.85 {
			near(t, "true, against the integral", f(got), *r.Band, 0.02)
		}
		if t4, ok := TrueBroadband(c(r.Read), r.Set, r.Eps, c(r.Refl)); ok && r.T4 != nil {
			near(t, "broadband", f(t4), *r.T4, 0.0006)
			if r.Eps >= 0.85 {
				near(t, "broadband beside the band", t4, got, 0.6)
			}
		}
	}
	if len(d.Forward) < 50 || len(d.Inverse) < 50 {
		t.Errorf("%d rows forward, %d back (%d without an answer)", len(d.Forward), len(d.Inverse), refused)
	}
}

// The same against Planck's law here, so that no table stands between.
func TestAgainstPlanck(t *testing.T) {
	for _, eps := range []float64{0.85, 0.9, 0.96} {
		for trueC := -20.0; trueC <= 110; trueC += 10 {
			for _, mirror := range []float64{-5, 20, 40} {
				s := (eps*planck(trueC) + (0.95-eps)*planck(mirror)) / 0.95
				want := bisect(planck, s)
				near(t, "shown", Shown(trueC, eps, 0.95, mirror), want, 0.02)
			}
		}
	}
}

// Computed in the trade with T^4, no published source: panel 8 C, surroundings
// 20 C, emissivity 0.92 read as 1.0 shows about 9 C; bare metal at 0.2 shows
// 17.7 C, the room.
func TestTradeLies(t *testing.T) {
	near(t, "paint", Shown(8, 0.92, 1, 20), 9, 0.1)
	near(t, "bare metal", Shown(8, 0.2, 1, 20), 17.7, 0.1)
}

// 60 F read in a bay of 75 F, set 0.95: a panel of emissivity 0.85 is 58.15 F and
// under a window of 60 F. 180 F read off film of 0.90 is 184.5 (T^4) to 184.8.
func TestPaintedPanel(t *testing.T) {
	r, err := Of(c(60), 0.95, 0.85, c(75), 0.03, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "panel", f(r.TrueC), 58.15, 0.02)
	if !(r.TrueC < c(60) && r.OffK > 0.9 && r.LowC < r.TrueC && r.TrueC < r.HighC) {
		t.Errorf("%+v", r)
	}
	if got, want := spoken(t, r.Sentence), "Reads 1.0 K warm: panel is 14.5 C. Tape it."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	r, _ = Of(c(180), 0.95, 0.90, c(75), 0.05, 1)
	near(t, "film", f(r.TrueC), 184.76, 0.02)
	near(t, "film, broadband", f(r.BroadbandC), 184.50, 0.02)
	if got, want := spoken(t, r.Sentence), "Reads 2.6 K cold: surface is 84.9 C."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	// Small signal: dT = (d eps/eps)(T^4-Tr^4)/(4 T^3): 0.05 at 180 F in 75 F is
	// 4.3 F. The interval without the instrument's error is about that wide to
	// each side; the band is steeper than T^4 by under a tenth.
	r, _ = Of(c(180), 0.95, 0.95, c(75), 0.05, 0)
	near(t, "doubt of 0.05", 1.8*(r.HighC-r.TrueC), 4.3, 0.6)
}

func TestInvariants(t *testing.T) {
	for read := -30.0; read <= 150; read += 15 {
		for _, eps := range []float64{0.6, 0.8, 0.95, 1} {
			got, ok := True(read, 0.95, eps, read)
			if !ok {
				t.Fatal("refused")
			}
			near(t, "mirrored as warm as the surface", got, read, 1e-9)
			if got, ok = True(read, eps, eps, 5); !ok {
				t.Fatal("refused")
			}
			near(t, "set to the surface's own", got, read, 1e-9)
			back, ok := True(Shown(read, eps, 0.95, 12), 0.95, eps, 12)
			if !ok {
				t.Fatal("refused")
			}
			near(t, "there and back", back, read, 1e-8)
		}
	}
}

// Traps: an emissivity that is too low, a root of a negative, a total emissivity
// in the place of a long-wave one.
func TestRefusals(t *testing.T) {
	if _, err := Of(15, 0.95, 0.1, 24, 0, 1); err != errMetal {
		t.Errorf("bare aluminium: %v", err)
	}
	if _, err := Of(15, 0.95, 0.599, 24, 0, 1); err != errMetal {
		t.Errorf("0.599: %v", err)
	}
	if _, ok := TrueBroadband(c(60), 0.95, 0.1, c(75)); ok {
		t.Error("60 F off emissivity 0.1 in 75 F has no answer")
	}
	if _, ok := True(c(60), 0.95, 0.1, c(75)); ok {
		t.Error("60 F off emissivity 0.1 in 75 F has no answer in the band")
	}
	if _, err := Of(-40, 0.95, 0.6, 200, 0, 0); err != errMirror {
		t.Errorf("outshone by the surroundings: %v", err)
	}
	for _, x := range []struct {
		err  error
		want string
	}{
		{second(Of(300, 0.95, 0.9, 20, 0, 1)), "infrared reading 300 C is out of range; valid is -40 to 200 C"},
		{second(Of(20, 0.95, 1.2, 20, 0, 1)), "emissivity of the surface 1.2 is out of range; valid is 0.6 to 1"},
		{second(Of(20, 0.95, math.NaN(), 20, 0, 1)), "emissivity of the surface is not a number; valid is 0.6 to 1"},
		{second(Of(20, 0.95, -1, 20, 0, 1)), "emissivity of the surface -1 is out of range; valid is 0.6 to 1"},
	} {
		if x.err == nil || x.err.Error() != x.want {
			t.Errorf("got %v, want %q", x.err, x.want)
		}
	}
	a, _ := Find("anodised")
	if !a.Readable() || a.Low < 0.9 {
		t.Errorf("anodised aluminium is 0.95 to 0.97 in 8 to 14 um (0.55 is its total): %+v", a)
	}
	for _, key := range []string{"bare-aluminium", "stainless", "chrome", "cast-aluminium", "metallic-lacquer"} {
		if s, ok := Find(key); !ok || s.Readable() {
			t.Errorf("%s can be read: %+v", key, s)
		}
	}
	for _, s := range Surfaces {
		if s.Low > s.High || s.Low <= 0 || s.High > 1 {
			t.Errorf("%+v", s)
		}
		if got, ok := Find(s.Key); !ok || got != s {
			t.Errorf("Find(%q) = %+v", s.Key, got)
		}
	}
	if _, ok := Find("gold"); ok {
		t.Error("found gold")
	}
}

func second[T any](_ T, err error) error { return err }

func FuzzOf(f *testing.F) {
	f.Add(15.6, 0.95, 0.9, 24.0, 0.03, 1.0)
	f.Add(-40.0, 1.0, 0.6, 200.0, 0.2, 5.0)
	f.Add(200.0, 0.1, 0.6, -40.0, 0.2, 5.0)
	f.Add(math.NaN(), math.Inf(1), 0.7, math.Inf(-1), 0.0, 0.0)
	f.Fuzz(func(t *testing.T, read, set, eps, mirrored, doubt, readError float64) {
		r, err := Of(read, set, eps, mirrored, doubt, readError)
		if err != nil {
			return
		}
		spoken(t, r.Sentence)
		for _, v := range []float64{r.TrueC, r.BroadbandC, r.OffK, r.LowC, r.HighC} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Errorf("%+v", r)
			}
		}
		if r.LowC > r.TrueC || r.HighC < r.TrueC {
			t.Errorf("answer outside of its interval: %+v", r)
		}
	})
}
