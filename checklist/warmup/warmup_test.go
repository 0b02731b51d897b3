package warmup

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"bayhold/checklist/say"
	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

func spoken(t *testing.T, sentence string) string {
	t.Helper()
	s := say.Plain(sentence)
	short := strings.NewReplacer(" C", "C", " K", "K", " h ", "h", " min", "min", " d ", "d", " s ", "s ").Replace(s)
	if n := len(strings.Fields(short)); n == 0 || n > 12 {
		t.Errorf("%d words, want 1 to 12: %q", n, s)
	}
	return s
}

func c(f float64) float64 { return (f - 32) / 1.8 }

type linear struct {
	Tinf      float64
	Slope     float64
	Intercept float64
	Hit       *float64   `json:"t_hit_min"`
	Fieller   [2]float64 `json:"ci95_fieller"`
}

type nonlinear struct {
	T0    float64
	Tau   float64    `json:"tau_min"`
	Hit   *float64   `json:"t_hit_min"`
	Delta [2]float64 `json:"ci95_delta"`
	SSE   float64
}

type dataSet struct {
	Name      string
	T         []float64  `json:"t_min"`
	F         []float64  `json:"T_F"`
	Threshold float64    `json:"threshold_F"`
	Log       *linear    `json:"loglinear_known_ambient"`
	NLS       *nonlinear `json:"nls_known_ambient"`
}

func (d dataSet) series(ambientF float64) series {
	s := series{t: d.T}
	side := 1.0
	if d.F[0] > ambientF {
		side = -1
	}
	for _, f := range d.F {
		s.u = append(s.u, side*(ambientF-f)/1.8)
	}
	return s
}

func (d dataSet) readings() []Reading {
	var r []Reading
	for i := range d.T {
		r = append(r, Reading{d.T[i], c(d.F[i])})
	}
	return r
}

func dataSets(t *testing.T) map[string]dataSet {
	var d struct {
		Sets []dataSet `json:"fit_sets"`
	}
	load(t, &d)
	m := map[string]dataSet{}
	for _, s := range d.Sets {
		m[s.Name] = s
	}
	if len(m) != 6 {
		t.Fatalf("%d data sets", len(m))
	}
	return m
}

// The four sets with a measured ambient, against scipy's least squares: T0, tau, the
// hit time and its sum of squares. scipy stops at 1e-8 of a step; 1e-5 of each.
func TestFitAgainstScipy(t *testing.T) {
	checked := 0
	for name, d := range dataSets(t) {
		if d.NLS == nil || d.Log == nil {
			continue
		}
		checked++
		e, ok := fitOne(d.series(d.Log.Tinf))
		if !ok {
			t.Fatalf("%s: no fit", name)
		}
		side := 1.0
		if d.F[0] > d.Log.Tinf {
			side = -1
		}
		near(t, name+" T0 F", d.Log.Tinf-side*1.8*e.at(0), d.NLS.T0, 1e-4)
		near(t, name+" tau", -1/e.b, d.NLS.Tau, 1e-4*d.NLS.Tau)
		near(t, name+" SSE F2", e.sse*1.8*1.8, d.NLS.SSE, 1e-6)
		hit := (math.Log(side*(d.Log.Tinf-d.Threshold)/1.8) - e.a) / e.b
		near(t, name+" hit", hit, *d.NLS.Hit, 1e-3)
		// Fieller's interval is not the delta method's, which is symmetric, but for
		// many readings it lies beside it: a tenth of its width.
		low, high, ok := e.fieller(math.Log(side*(d.Log.Tinf-d.Threshold)/1.8), halfWidth(e.sse, len(d.T)-2, 0))
		if !ok {
			t.Fatalf("%s: no end", name)
		}
		if len(d.T) >= 10 {
			width := d.NLS.Delta[1] - d.NLS.Delta[0]
			near(t, name+" low", low, d.NLS.Delta[0], 0.1*width)
			near(t, name+" high", high, d.NLS.Delta[1], 0.1*width)
		}
	}
	if checked != 4 {
		t.Errorf("%d sets had a measured ambient", checked)
	}
}

// The same minimum by gonum's Nelder and Mead, which knows no derivative.
func TestFitAgainstGonum(t *testing.T) {
	for name, d := range dataSets(t) {
		if d.Log == nil {
			continue
		}
		s := d.series(d.Log.Tinf)
		r, err := optimize.Minimize(optimize.Problem{Func: func(x []float64) float64 {
			return exponential{a: x[0], b: x[1]}.misfit(s)
		}}, []float64{2, -0.01}, nil, &optimize.NelderMead{})
		if err != nil {
			t.Fatal(err)
		}
		e, _ := fitOne(s)
		near(t, name+" a", e.a, r.X[0], 1e-4)
		near(t, name+" b", e.b, r.X[1], 1e-5)
		if e.sse > r.F+1e-9 {
			t.Errorf("%s: SSE %v, gonum finds %v", name, e.sse, r.F)
		}
	}
}

// Fieller's interval by itself: on the line that gonum's LinearRegression puts
// through the logarithms, where the reference has it.
func TestFiellerAgainstReference(t *testing.T) {
	checked := 0
	for name, d := range dataSets(t) {
		if d.Log == nil || d.Log.Hit == nil {
			continue
		}
		checked++
		// The reference works in F; the line of ln u differs by ln 1.8.
		var ts, ls []float64
		side := 1.0
		if d.F[0] > d.Log.Tinf {
			side = -1
		}
		for i, f := range d.F {
			ts, ls = append(ts, d.T[i]), append(ls, math.Log(side*(d.Log.Tinf-f)))
		}
		a, b := stat.LinearRegression(ts, ls, nil, false)
		near(t, name+" a", a, d.Log.Intercept, 1e-9)
		near(t, name+" b", b, d.Log.Slope, 1e-9)
		n := float64(len(ts))
		mean, sxx, sse := stat.Mean(ts, nil), 0.0, 0.0
		for i := range ts {
			sxx += (ts[i] - mean) * (ts[i] - mean)
			sse += (ls[i] - a - b*ts[i]) * (ls[i] - a - b*ts[i])
		}
		e := exponential{a: a, b: b, vaa: 1/n + mean*mean/sxx, vab: -mean / sxx, vbb: 1 / sxx}
		l := math.Log(side * (d.Log.Tinf - d.Threshold))
		low, high, ok := e.fieller(l, halfWidth(sse, len(ts)-2, 0))
		if !ok {
			t.Fatalf("%s: no end", name)
		}
		// Student's t has three decimals here: 2e-4 of the width.
		width := d.Log.Fieller[1] - d.Log.Fieller[0]
		near(t, name+" low", low, d.Log.Fieller[0], 3e-4*width+1e-6)
		near(t, name+" high", high, d.Log.Fieller[1], 3e-4*width+1e-6)
	}
	if checked != 4 {
		t.Errorf("%d sets", checked)
	}
}

func TestStudent(t *testing.T) {
	for dof := 1; dof <= 400; dof++ {
		want := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(dof)}.Quantile(0.975)
		near(t, "t", quantile(dof), want, 0.0012)
	}
}

// The whole answer on the noisy set: 13 readings over an hour, air 72 F, threshold 60
// F reached at 33 min. At 30 min it is a forecast; at 60 it is there.
func TestForecastNoisy(t *testing.T) {
	d := dataSets(t)["noise0.5F_13pts"]
	a, err := Forecast(d.readings()[:6], c(72), c(60), 0.3, 0.2)
	if err != nil || !a.Known || a.Masses != 1 {
		t.Fatalf("%+v, %v", a, err)
	}
	if a.LowMin > 32.99-25 || a.HighMin < 32.99-25 {
		t.Errorf("8 min are not in %v to %v", a.LowMin, a.HighMin)
	}
	if got, want := spoken(t, a.Sentence), "more. Then read again."; !strings.HasSuffix(got, want) {
		t.Errorf("got %q", got)
	}
	a, _ = Forecast(d.readings(), c(72), c(60), 0.3, 0.2)
	if !a.There || a.Known {
		t.Errorf("%+v", a)
	}
	if got, want := spoken(t, a.Sentence), "Last reading 18.8 C is there. Read again to start."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// The exact sets: tau 40, air 72 F, 45 to 60 F at 32.437 min; three readings with tau
// 50 and air 70 F, 60 F at 54.931 min.
func TestForecastExact(t *testing.T) {
	sets := dataSets(t)
	a, err := One(sets["exact_tau40_ambient72_T0_45"].readings()[:3], c(72), c(60), 0.01, 0)
	if err != nil || !a.Known {
		t.Fatalf("%+v, %v", a, err)
	}
	near(t, "tau", a.TauMin, 40, 0.001)
	near(t, "hit", a.HitMin, 32.43721, 0.001)
	a, err = One(sets["three_equal_spaced"].readings(), c(70), c(60), 0.01, 0)
	if err != nil || !a.Known {
		t.Fatalf("%+v, %v", a, err)
	}
	near(t, "hit", a.HitMin, 54.9306, 0.001)
	// Warm panel cooling to a ceiling: 90 F at 12.4 min.
	d := sets["cooling_hot_panel_to_90F"]
	cool := d.readings()
	e, _ := fitOne(d.series(70))
	near(t, "hit", (math.Log(20/1.8)-e.a)/e.b, 12.4334, 0.001)
	if a, err = One(cool[:1], c(70), c(90), 0.3, 0); err != nil || a.Why != WhyFew {
		t.Errorf("%+v, %v", a, err)
	}
	if a, err = One(cool[:4], c(70), c(90), 0.3, 0); err != nil || !a.There {
		t.Errorf("cooled under 90 F: %+v, %v", a, err)
	}
	if a, err = One(cool[:5], c(70), c(75), 0.3, 0.1); err != nil || !a.Known || a.LowMin > 53 || a.HighMin < 53 {
		t.Errorf("cooling on to 75 F, about 93 min: %+v, %v", a, err)
	}
}

// Four readings over half an hour, tau 90: 63 to 119 min. It is not told.
func TestForecastRefusesTheShortWindow(t *testing.T) {
	d := dataSets(t)["noise0.5F_4pts_short_window(tau90)"]
	a, err := One(d.readings(), c(75), c(60), 0.1, 0)
	if err != nil || a.Known || a.Why != WhyWide {
		t.Errorf("%+v, %v", a, err)
	}
	if got, want := spoken(t, a.Sentence), "No honest estimate yet. Read again in 15 min."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Air of 58 F never warms a spot to 60 F; air of 60.5 F, good to half a kelvin, may or
// may not.
func TestForecastNever(t *testing.T) {
	d := dataSets(t)["ambient_below_threshold"]
	a, err := Forecast(d.readings(), c(58), c(60), 0.3, 0.5)
	if err != nil || a.Known || a.Why != WhyNever || a.HitMin != 0 {
		t.Errorf("%+v, %v", a, err)
	}
	if got, want := spoken(t, a.Sentence), "Never at air 14.4 C: needs 15.6 C. Heat the bay."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if a, _ = Forecast(d.readings(), c(60.5), c(60), 0.3, 0.5); a.Why != WhyNearly {
		t.Errorf("%+v", a)
	}
	if _, err := json.Marshal(a); err != nil {
		t.Error(err)
	}
}

// A thin skin of 8 min before a body of 150: 60 F after 70.5 min in truth. One
// exponential through the first 20, 30 and 60 min says 32, 40 and 58. It must not be
// told; what is told must hold the truth.
func TestTwoMassTrap(t *testing.T) {
	var d struct {
		Trap struct {
			T     []float64 `json:"t_min"`
			F     []float64 `json:"T_F"`
			Truth float64   `json:"true_hit_min"`
		} `json:"two_lump_trap"`
	}
	load(t, &d)
	var all []Reading
	for i := range d.Trap.T {
		all = append(all, Reading{d.Trap.T[i], c(d.Trap.F[i])})
	}
	told := 0
	for n := 3; n <= 14; n++ {
		for _, scatter := range []float64{0, 0.05, 0.1, 0.2, 0.3, 0.5, 1} {
			one, err := One(all[:n], c(72), c(60), scatter, 0)
			if err != nil {
				t.Fatal(err)
			}
			if one.Known {
				t.Errorf("%d readings, scatter %v: one mass was told: %v to %v min, truth %.1f", n, scatter, one.LastMin+one.LowMin, one.LastMin+one.HighMin, d.Trap.Truth)
			}
			a, err := Forecast(all[:n], c(72), c(60), scatter, 0)
			if err != nil {
				t.Fatal(err)
			}
			if !a.Known {
				spoken(t, a.Sentence)
				continue
			}
			told++
			if a.Masses != 2 || a.LastMin+a.LowMin > d.Trap.Truth || a.LastMin+a.HighMin < d.Trap.Truth {
				t.Errorf("%d readings, scatter %v: %+v", n, scatter, a)
			}
		}
	}
	if told < 10 {
		t.Errorf("two masses were told only %d times", told)
	}
	// An hour of readings with a good probe: within minutes.
	a, _ := Forecast(all[:13], c(72), c(60), 0.2, 0)
	near(t, "hit", a.HitMin, d.Trap.Truth, 1.5)
	near(t, "tau", a.TauMin, 150, 15)
	near(t, "skin", a.SkinMin, 8, 1)
}

// Many vehicles with known truth: the interval holds the hit time at least as often
// as it says, and it is told often enough to be of use.
func TestIntervalCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	for _, body := range []struct {
		name string
		u    func(t float64) float64
	}{
		{"one mass", func(t float64) float64 { return 23 * math.Exp(-t/180) }},
		{"skin and body", func(t float64) float64 { return 23 * (0.4*math.Exp(-t/10) + 0.6*math.Exp(-t/200)) }},
	} {
		truth := 0.0
		for body.u(truth) > 6 {
			truth += 0.01
		}
		told, held := 0, 0
		const trials = 120
		for range trials {
			var r []Reading
			for m := 0.0; m <= 90; m += 7.5 {
				r = append(r, Reading{m, 20 - body.u(m) + 0.15*rng.NormFloat64()})
			}
			a, err := Forecast(r, 20, 14, 0.3, 0)
			if err != nil {
				t.Fatal(err)
			}
			if a.Known {
				told++
				if a.LastMin+a.LowMin <= truth && truth <= a.LastMin+a.HighMin {
					held++
				}
			}
		}
		if told < trials/2 || float64(held) < 0.9*float64(told) {
			t.Errorf("%s: told %d of %d, held %d", body.name, told, trials, held)
		}
	}
}

// A noisy reading past the air's temperature has no logarithm: it is kept, and a
// reading clearly past it is a wrong air temperature. No end lies before the last
// reading.
func TestPastTheAir(t *testing.T) {
	r := []Reading{{0, 5}, {60, 14}, {120, 17.8}, {180, 19.2}, {240, 19.9}, {300, 20.2}}
	a, err := One(r, 20, 20.9, 0.5, 1)
	if err != nil || a.Known || a.Why != WhyNearly {
		t.Errorf("%+v, %v", a, err)
	}
	if a, err = One(r, 19, 18.9, 0.5, 0); err != nil || !a.There {
		t.Errorf("%+v, %v", a, err)
	}
	if a, err = One([]Reading{{0, 5}, {60, 14}, {90, 22}, {120, 16}}, 20, 18, 0.5, 0.5); err != nil || a.Why != WhyPast {
		t.Errorf("%+v, %v", a, err)
	}
	if got, want := spoken(t, a.Sentence), "Spot is past the air temperature. Measure the air again."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if a, err = One([]Reading{{0, 5}, {60, 14}, {90, 20.3}, {120, 17.8}}, 20, 18, 0.5, 0.1); err != nil || a.LowMin < 0 {
		t.Errorf("%+v, %v", a, err)
	}
}

func TestNotYet(t *testing.T) {
	for _, x := range []struct {
		why  string
		r    []Reading
		want string
	}{
		{WhyFew, nil, "Too few readings. Read this spot again in 15 min."},
		{WhyFew, []Reading{{0, 5}, {15, 7}}, "Too few readings. Read this spot again in 15 min."},
		{WhyStill, []Reading{{0, 5}, {15, 5.2}, {30, 5.4}}, "Hardly moved yet. Read again in 15 min."},
		{WhyAway, []Reading{{0, 9}, {15, 8}, {30, 6}}, "Spot moves away from the air. Check heater and door."},
	} {
		a, err := Forecast(x.r, 20, 16, 0.5, 0.5)
		if err != nil || a.Known || a.Why != x.why {
			t.Errorf("%+v, %v; want %s", a, err, x.why)
		}
		if got := spoken(t, a.Sentence); got != x.want {
			t.Errorf("got %q, want %q", got, x.want)
		}
	}
}

func TestRefusals(t *testing.T) {
	r := []Reading{{0, 5}, {15, 7}, {30, 9}}
	for _, x := range []struct {
		err  error
		want string
	}{
		{second(Forecast(r, 400, 16, 0.5, 0.5)), "air temperature as measured 400 C is out of range; valid is -40 to 120 C"},
		{second(Forecast(r, 20, math.NaN(), 0.5, 0.5)), "threshold is not a number; valid is -40 to 120 C"},
		{second(Forecast([]Reading{{0, 5}, {0, 7}, {30, 9}}, 20, 16, 0.5, 0.5)), "minutes of the readings do not rise; sort them by time, one reading a moment"},
		{second(Forecast([]Reading{{0, math.Inf(1)}}, 20, 16, 0.5, 0.5)), "temperature read +Inf C is out of range; valid is -40 to 120 C"},
		{second(Forecast(make([]Reading, 501), 20, 16, 0.5, 0.5)), "more than 500 readings; valid is 3 to 500: leave out the oldest"},
		{second(HitOf(5, 20, 16, 0)), "time constant 0 h is out of range; valid is 0.01 to 48 h"},
		{second(PanelOf(-1, 7850, 480, 50, 20, 20, 5, 0.9)), "thickness of the skin -1 mm is out of range; valid is 0.1 to 50 mm"},
	} {
		if x.err == nil || x.err.Error() != x.want {
			t.Errorf("got %v, want %q", x.err, x.want)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func FuzzForecast(f *testing.F) {
	f.Add(5.0, 7.0, 9.0, 10.5, 11.7, 12.6, 15.0, 20.0, 16.0, 0.5, 0.5)
	f.Add(-40.0, 120.0, -40.0, 120.0, -40.0, 120.0, 0.001, 20.0, 16.0, 0.0, 0.0)
	f.Add(15.0, 15.0, 15.0, 15.0, 15.0, 15.0, 1000.0, 20.0, 16.0, 0.0, 0.0)
	f.Add(5.0, 19.9, 19.99, 19.999, 19.9999, 20.0, 60.0, 20.0, 20.0, 0.0, 0.0)
	f.Add(math.NaN(), 0.0, 0.0, 0.0, 0.0, 0.0, math.Inf(1), 20.0, 16.0, 0.5, 0.5)
	f.Fuzz(func(t *testing.T, t0, t1, t2, t3, t4, t5, gap, ambient, threshold, scatter, airError float64) {
		var r []Reading
		for i, v := range []float64{t0, t1, t2, t3, t4, t5} {
			r = append(r, Reading{float64(i) * gap, v})
		}
		for n := range len(r) + 1 {
			for _, f := range []func([]Reading, float64, float64, float64, float64) (Answer, error){One, Two, Forecast} {
				a, err := f(r[:n], ambient, threshold, scatter, airError)
				if err != nil {
					continue
				}
				spoken(t, a.Sentence)
				for _, v := range []float64{a.TauMin, a.SkinMin, a.HitMin, a.LeftMin, a.LowMin, a.HighMin} {
					if math.IsNaN(v) || math.IsInf(v, 0) {
						t.Errorf("%+v", a)
					}
				}
				if a.Known && (a.LowMin < 0 || a.LowMin > a.LeftMin || a.LeftMin > a.HighMin || a.TauMin <= 0) {
					t.Errorf("%+v", a)
				}
				if a.Known == (a.Why != "" || a.There) {
					t.Errorf("neither a forecast nor a reason: %+v", a)
				}
			}
		}
	})
}

func FuzzPlan(f *testing.F) {
	f.Add(-3.0, 20.0, 16.0, 3.2, 0.8, 7850.0, 480.0, 50.0, 12.0, 5.0, 0.93)
	f.Add(-40.0, 120.0, 120.0, 48.0, 50.0, 100.0, 100.0, 0.02, -40.0, 0.5, 1.0)
	f.Fuzz(func(t *testing.T, start, ambient, threshold, tau, mm, rho, heat, k, walls, h, eps float64) {
		if r, err := HitOf(start, ambient, threshold, tau); err == nil {
			spoken(t, r.Sentence)
			if math.IsNaN(r.Hours+r.LowHours+r.HighHours) || math.IsInf(r.HighHours, 0) || r.Hours < 0 {
				t.Errorf("%+v", r)
			}
		}
		if r, err := PanelOf(mm, rho, heat, k, ambient, walls, h, eps); err == nil {
			spoken(t, r.Sentence)
			if math.IsNaN(r.TauMin+r.Biot+r.SettlesC) || math.IsInf(r.TauMin+r.Biot, 0) {
				t.Errorf("%+v", r)
			}
			if r.SettlesC < min(ambient, walls)-1e-6 || r.SettlesC > max(ambient, walls)+1e-6 {
				t.Errorf("%+v", r)
			}
		}
	})
}

func BenchmarkForecastOneMass(b *testing.B) {
	var r []Reading
	for m := 0.0; m <= 90; m += 7.5 {
		r = append(r, Reading{m, 20 - 23*math.Exp(-m/180)})
	}
	b.ReportAllocs()
	for range b.N {
		if a, err := Forecast(r, 20, 14, 0.3, 0.5); err != nil || !a.Known {
			b.Fatalf("%+v, %v", a, err)
		}
	}
}

func BenchmarkForecastTwoMasses(b *testing.B) {
	var r []Reading
	for m := 0.0; m <= 90; m += 7.5 {
		r = append(r, Reading{m, 20 - 23*(0.4*math.Exp(-m/10)+0.6*math.Exp(-m/200))})
	}
	b.ReportAllocs()
	for range b.N {
		if a, err := Forecast(r, 20, 14, 0.2, 0.1); err != nil || a.Masses != 2 {
			b.Fatalf("%+v, %v", a, err)
		}
	}
}
