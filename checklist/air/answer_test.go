package air

import (
	"math"
	"strings"
	"testing"

	"bayhold/checklist/say"
)

func spoken(t *testing.T, sentence string) string {
	t.Helper()
	s := say.Plain(sentence)
	// A number and its unit are one word to the ear.
	short := strings.NewReplacer(" C", "C", " K", "K", " %", "%").Replace(s)
	if n := len(strings.Fields(short)); n == 0 || n > 12 {
		t.Errorf("%d words, want 1 to 12: %q", n, s)
	}
	return s
}

func fahrenheit(f float64) float64 { return (f - 32) / 1.8 }

// Saturation pressure: IAPWS-IF97 equation 30 as python3-iapws computes it, the
// printed values of ASHRAE Fundamentals 2017 chapter 1 table 3, and
// Hyland-Wexler at every degree. Tolerance 0.4 %, the claim of Alduchov and
// Eskridge.
func TestSaturationPressure(t *testing.T) {
	var iapws struct {
		Rows []struct {
			T    float64 `json:"t_c"`
			IF97 float64 `json:"if97_pa"`
		}
	}
	load(t, "ref_psat_iapws.json", &iapws)
	n := 0
	for _, r := range iapws.Rows {
		if r.T <= 50 {
			n++
			near(t, "psat IF97", SaturationPressure(r.T)/r.IF97, 1, 0.004)
		}
	}
	if n < 9 {
		t.Errorf("only %d rows of IF97", n)
	}
	for _, r := range []struct{ t, pa float64 }{{5, 872.6}, {25, 3169.7}, {50, 12351.3}} {
		near(t, "psat ASHRAE", SaturationPressure(r.t)/r.pa, 1, 0.004)
	}
	for _, r := range []struct{ t, pa float64 }{{-20, 103.24}, {-5, 401.74}} {
		near(t, "psat over ice, ASHRAE", SaturationPressureIce(r.t)/r.pa, 1, 0.004)
	}
	for _, r := range grid(t) {
		if r.T > 0 {
			near(t, "psat Hyland-Wexler", SaturationPressure(r.T)/r.Psat, 1, 0.004)
		}
	}
}

// A formula that goes round the web, exp(77.345+0.0057T-7235/T)/T^8.2, is quoted
// with 31.30 hPa at 25 C where the tables give 31.69: that is 298 K, the 0.15
// dropped. The tolerance must tell the two apart, and 0 C is 273.15 K here.
func TestSaturationPressureKeepsThe015(t *testing.T) {
	web := func(T float64) float64 { return math.Exp(77.345+0.0057*T-7235/T) / math.Pow(T, 8.2) }
	near(t, "the web formula at 298 K, Pa", web(298), 3130, 1)
	near(t, "the web formula at 298.15 K", web(25+Kelvin)/3169.7, 1, 0.004)
	near(t, "psat(25 C)", SaturationPressure(25)/3169.7, 1, 0.004)
	if r := SaturationPressure(25) / 3130; r < 1.008 {
		t.Errorf("psat(25 C) is only %.4f times the wrong value", r)
	}
}

// Worked values from print. The tolerance of each is the rounding of the source
// plus the 0.05 K of the fit.
func TestDewPointPublished(t *testing.T) {
	for _, c := range []struct {
		source       string
		t, rh, want  float64
		tolerance    float64
		inFahrenheit bool
	}{
		{"PsychroLib's own example", 25, 80, 21.3094, 0.05, false},
		{"a glossary of coatings: 30 C and 55 % give 20 C", 30, 55, 20, 0.5, false},
		{"published note on painting steel, ambient 16 C 71 %, chart 11 C", 16, 71, 11, 0.5, false},
		{"ASHRAE 2017 by PsychroLib, I-P", 60, 80, 53.82, 0.09, true},
		{"ASHRAE 2017 by PsychroLib, I-P", 80, 60, 64.88, 0.09, true},
	} {
		got := DewPoint(c.t, c.rh)
		if c.inFahrenheit {
			got = DewPoint(fahrenheit(c.t), c.rh)*1.8 + 32
		}
		near(t, c.source, got, c.want, c.tolerance)
	}
	var ip struct {
		Rows []struct {
			T   float64 `json:"t_f"`
			RH  float64 `json:"rh_pct"`
			Dew float64 `json:"tdew_f"`
		}
	}
	load(t, "ref_psychro_ip_spot.json", &ip)
	for _, r := range ip.Rows {
		if r.Dew > 32 {
			near(t, "I-P spot", DewPoint(fahrenheit(r.T), r.RH)*1.8+32, r.Dew, 0.09)
		}
	}
	// Lawrence 2005, BAMS 86:225: Td = t - (100-RH)/5 above 50 %, good to
	// about 1 K in a mild room: a hand check of order and sign.
	near(t, "Lawrence's rule", DewPoint(20, 80), 20-20/5.0, 1)
}

// Geankoplis, Transport Processes and Unit Operations, example 9.3-1: 26.7 C,
// vapour at 2.76 kPa, 101.3 kPa: H = 0.01742 and Hs = 0.02226 kg/kg, RH 78.9 %.
func TestHumidityRatioGeankoplis(t *testing.T) {
	near(t, "H", HumidityRatio(2760), 0.01742, 0.00002)
	near(t, "Hs", HumidityRatio(SaturationPressure(26.7)), 0.02226, 0.0001)
	near(t, "RH", 100*2760/SaturationPressure(26.7), 78.9, 0.3)
}

// The wet bulb of PsychroLib's grid where that stays over water; it is
// converged to 0.001 C. The rest of 0.05 K is the fit of the pressure.
func TestWetBulbGrid(t *testing.T) {
	n := 0
	for _, r := range grid(t) {
		if r.WetBulb > 0.5 {
			n++
			near(t, "wet bulb", WetBulb(r.T, r.RH), r.WetBulb, 0.05)
		}
		near(t, "humidity ratio", HumidityRatio(VapourPressure(r.T, r.RH))/r.HumRatio, 1, 0.005)
		near(t, "vapour pressure", VapourPressure(r.T, r.RH)/r.E, 1, 0.004)
		near(t, "deficit", Deficit(r.T, r.RH), r.VPD, 0.004*r.Psat)
	}
	if n < 700 {
		t.Errorf("only %d wet bulbs checked", n)
	}
}

// Water in saturated air at 20 C is 17.3 g/m3 (every steam table: 1/57.8 m3/kg).
func TestDensity(t *testing.T) {
	near(t, "g/m3", 1000*Density(20, VapourPressure(20, 100)), 17.3, 0.1)
	near(t, "there and back", PressureOf(20, Density(20, 1234)), 1234, 1e-9)
}

// The five situations of the reference table, in the units of their sources.
func TestMarginScenarios(t *testing.T) {
	var d struct {
		Scenarios []struct {
			Name    string
			AirF    float64  `json:"air_F"`
			RH      float64  `json:"rh"`
			SurfF   float64  `json:"surface_F"`
			MarginF *float64 `json:"margin_F"`
			Expect  string
		}
		SurfaceRH []struct {
			Ts     float64 `json:"Ts_F"`
			Spread float64 `json:"spread_F"`
			RH     float64 `json:"surface_RH_pct"`
		} `json:"surface_RH"`
		Sensitivity []struct {
			T     float64 `json:"T_F"`
			RH    float64
			PerRH float64 `json:"dTd_per_1pctRH_F"`
			PerF  float64 `json:"dTd_per_1F"`
		}
	}
	load(t, "ref_dewpoint_gate.json", &d)
	n := 0
	for _, s := range d.Scenarios {
		if s.MarginF == nil {
			continue
		}
		n++
		m, err := MarginOf(fahrenheit(s.AirF), s.RH, fahrenheit(s.SurfF), NeedK, 0, 0, 0)
		if err != nil {
			t.Fatal(err)
		}
		// A difference takes 1.8 and no 32. 0.1 F covers the fit.
		near(t, s.Name, m.MarginK*1.8, *s.MarginF, 0.1)
		pass := strings.HasPrefix(s.Expect, "passes 60F minimum and")
		if m.Enough != pass {
			t.Errorf("%s: enough = %v, want %v (%s)", s.Name, m.Enough, pass, s.Expect)
		}
	}
	if n != 4 {
		t.Errorf("%d situations in Fahrenheit, want 4", n)
	}
	for _, s := range d.SurfaceRH {
		// Air at the dew point that lies so far under the surface.
		e := SaturationPressure(fahrenheit(s.Ts - s.Spread))
		got := 100 * e / SaturationPressure(fahrenheit(s.Ts))
		near(t, "surface RH", got, s.RH, 0.15)
	}
	for _, s := range d.Sensitivity {
		c := fahrenheit(s.T)
		near(t, "per 1 % RH", (DewPoint(c, s.RH+0.5)-DewPoint(c, s.RH-0.5))*1.8, s.PerRH, 0.005)
		near(t, "per 1 F", DewPoint(c+0.5, s.RH)-DewPoint(c-0.5, s.RH), s.PerF, 0.005)
	}
	// Published note on painting steel: ambient 16 C 71 %, substrate 13 C: the
	// margin is 2.25 K and the work is not to start. Substrate 19 C over a dew
	// point of 15 C: accepted with 4 K.
	m, _ := MarginOf(16, 71, 13, NeedK, 0, 0, 0)
	near(t, "published margin", m.MarginK, 2.25, 0.05)
	if m.Enough {
		t.Error("2.25 K passed")
	}
	rh := 100 * SaturationPressure(15) / SaturationPressure(22)
	if m, _ = MarginOf(22, rh, 19, NeedK, 0, 0, 0); !m.Enough || math.Abs(m.MarginK-4) > 1e-9 {
		t.Errorf("substrate 19 C, dew point 15 C: %+v", m)
	}
}

// 5 F is 2.78 K: a margin between them passes a rule of 5 F and not one of 3 K.
func TestFiveFahrenheitIsNotThreeKelvin(t *testing.T) {
	m, err := MarginOf(fahrenheit(70), 65, fahrenheit(62.9), NeedK, 0, 0, 0)
	if err != nil || m.Enough || m.MarginK*1.8 < 5 {
		t.Errorf("5.19 F: %+v, %v", m, err)
	}
	five, err := MarginOf(fahrenheit(70), 65, fahrenheit(62.9), 5/1.8, 0, 0, 0)
	if err != nil || !five.Enough {
		t.Errorf("a shop that sets 5 F: %+v, %v", five, err)
	}
}

// A trade article on dehumidifying gives 74 to 80 % at a surface 10 F above the
// dew point. Psychrometrics gives 69.5 % at 60 F and 70.6 % at 70 F.
func TestSurfaceHumidityIsNotTheArticle(t *testing.T) {
	for _, c := range []struct{ ts, want float64 }{{60, 69.5}, {70, 70.6}} {
		got := 100 * SaturationPressure(fahrenheit(c.ts-10)) / SaturationPressure(fahrenheit(c.ts))
		near(t, "surface RH 10 F above dew point", got, c.want, 0.15)
	}
}

// Compared before it is rounded: 2.9996 K prints as 3.0 and is not enough.
func TestMarginComparesBeforeRounding(t *testing.T) {
	td := DewPoint(20, 60)
	for _, c := range []struct {
		margin float64
		want   bool
	}{{2.9996, false}, {3.0000001, true}} {
		m, err := MarginOf(20, 60, td+c.margin, 3, 0, 0, 0)
		if err != nil || m.Enough != c.want {
			t.Errorf("margin %v: enough = %v, %v", c.margin, m.Enough, err)
		}
	}
}

// Common practice, no source: at 20 C and 60 % the dew point is 12.0; with
// 0.5 K and 3 % to the wrong side it is 13.2, and with 1 K on the surface meter
// the margin is good to about 1.6 K.
func TestMarginInterval(t *testing.T) {
	m, err := MarginOf(20, 60, 16, 3, 0.5, 3, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "margin", m.MarginK, 4.0, 0.05)
	a, _ := Of(20, 60)
	near(t, "dew point, damp side", a.DewHighC, 13.2, 0.07)
	if !(a.DewLowC < a.DewPointC && a.DewPointC < a.DewHighC) {
		t.Errorf("%+v", a)
	}
	near(t, "low", m.LowK, 16-1-13.2, 0.07)
	near(t, "likely", m.LikelyK, 1.6, 0.07)
	if !(m.LowK < m.MarginK && m.MarginK < m.HighK) {
		t.Errorf("margin outside of its interval: %+v", m)
	}
	if m, err = MarginOf(20, 99, 25, 3, 0.5, 3, 1); err != nil || m.LowK < 25-1-20.5-1e-9 {
		t.Errorf("the interval left 100 %% RH: %+v, %v", m, err)
	}
	if m, err = MarginOf(20, 2, 25, 3, 0.5, 5, 1); err != nil || math.IsInf(m.HighK, 0) || math.IsNaN(m.HighK) {
		t.Errorf("the interval left RH above 0: %+v, %v", m, err)
	}
}

// The dew points of the trade's table (WMO coefficients, one decimal).
func TestDewPointTradeTable(t *testing.T) {
	for _, r := range []struct {
		air  float64
		want [5]float64 // 40, 50, 60, 70, 80 %
	}{
		{8, [5]float64{-4.8, -1.8, 0.7, 2.9, 4.8}},
		{12, [5]float64{-1.2, 1.9, 4.5, 6.7, 8.7}},
		{16, [5]float64{2.4, 5.6, 8.2, 10.5, 12.5}},
		{20, [5]float64{6.0, 9.3, 12.0, 14.4, 16.4}},
		{24, [5]float64{9.6, 12.9, 15.8, 18.2, 20.3}},
		{28, [5]float64{13.1, 16.6, 19.5, 22.0, 24.2}},
	} {
		for i, want := range r.want {
			near(t, "dew point", DewPoint(r.air, 40+10*float64(i)), want, 0.08)
		}
	}
}

func TestSentences(t *testing.T) {
	m, _ := MarginOf(20, 75, 7.6, 3, 0.5, 3, 1)
	if got, want := spoken(t, m.Sentence), "Wet: surface 7.6 C, dew point 15.4 C. Vent."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	m, _ = MarginOf(16, 71, 13, 3, 0.5, 3, 1)
	if got, want := spoken(t, m.Sentence), "Margin 2.3 K, needs 3.0 K. Warm panel or vent."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	m, _ = MarginOf(-2, 95, -3, 3, 0.5, 3, 1)
	if got, want := spoken(t, m.Sentence), "Frost: surface -3.0 C, frost point -2.4 C. Warm it."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	a, _ := Of(20, 60)
	if got, want := spoken(t, a.Sentence), "Dew point 12.0 C: colder metal gets wet."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		name string
		err  error
		want string
	}{
		{"RH 130", second(Of(20, 130)), "relative humidity 130 % is out of range; valid is 0.001 to 100 %"},
		{"RH 0", second(Of(20, 0)), "relative humidity 0 % is out of range; valid is 0.001 to 100 %"},
		{"68 typed as C", second(Of(68, 50)), "air temperature 68 C is out of range; valid is -40 to 60 C"},
		{"surface 400", second(MarginOf(20, 50, 400, 3, 0, 0, 0)), "surface temperature 400 C is out of range; valid is -40 to 80 C"},
		{"NaN", second(MarginOf(20, math.NaN(), 20, 3, 0, 0, 0)), "relative humidity is not a number; valid is 0.001 to 100 %"},
		{"negative error", second(MarginOf(20, 50, 20, 3, -1, 0, 0)), "error of the air thermometer -1 K is out of range; valid is 0 to 5 K"},
	} {
		if c.err == nil || c.err.Error() != c.want {
			t.Errorf("%s: %v, want %q", c.name, c.err, c.want)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func finite(t *testing.T, vs ...float64) {
	t.Helper()
	for i, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Errorf("value %d is %v", i, v)
		}
	}
}

func FuzzMargin(f *testing.F) {
	f.Add(20.0, 60.0, 15.0, 3.0, 0.5, 3.0, 1.0)
	f.Add(-40.0, 0.001, -40.0, 0.0, 5.0, 20.0, 5.0)
	f.Add(60.0, 100.0, 80.0, 20.0, 5.0, 20.0, 5.0)
	f.Add(math.NaN(), math.Inf(1), math.Inf(-1), 0.0, 0.0, 0.0, 0.0)
	f.Fuzz(func(t *testing.T, air, rh, surface, need, ea, er, es float64) {
		if a, err := Of(air, rh); err == nil {
			finite(t, a.DewPointC, a.DewLowC, a.DewHighC, a.FrostPointC, a.WetBulbC, a.VapourPa, a.DeficitPa, a.WaterGM3)
			spoken(t, a.Sentence)
			if a.DewPointC > a.WetBulbC+1e-5 || a.WetBulbC > air+1e-5 {
				t.Errorf("dew point %v, wet bulb %v, air %v are out of order", a.DewPointC, a.WetBulbC, air)
			}
		}
		m, err := MarginOf(air, rh, surface, need, ea, er, es)
		if err != nil {
			return
		}
		finite(t, m.DewPointC, m.SurfaceRH, m.MarginK, m.LowK, m.HighK, m.LikelyK, m.FrostPoint)
		spoken(t, m.Sentence)
		if m.LowK > m.MarginK+1e-9 || m.HighK < m.MarginK-1e-9 {
			t.Errorf("margin %v outside of %v to %v", m.MarginK, m.LowK, m.HighK)
		}
		if m.MarginK > 1e-9 && m.SurfaceRH > 100 {
			t.Errorf("margin %v K but %v %% at the surface", m.MarginK, m.SurfaceRH)
		}
	})
}
