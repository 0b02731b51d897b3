package drying

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"bayhold/checklist/air"
	"bayhold/checklist/say"
	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.6g, want %.6g within %g", what, got, want, tol)
	}
}

type testingT interface {
	Helper()
	Errorf(string, ...any)
}

func spoken(t testingT, sentence string) string {
	t.Helper()
	s := say.Plain(sentence)
	short := strings.NewReplacer(" h ", "h", " min", "min", " d ", "d", " h.", "h.", " s.", "s.", " mm", "mm").Replace(s)
	if n := len(strings.Fields(short)); n == 0 || n > 12 {
		t.Errorf("%d words, want 1 to 12: %q", n, s)
	}
	return s
}

// The reference table: the same equations by another program, with the
// saturation pressure of Hyland and Wexler.
func TestReferenceTable(t *testing.T) {
	var d struct {
		OpenFilm []struct {
			T      float64 `json:"t_c"`
			RH     float64 `json:"rh"`
			H      float64 `json:"h"`
			Wet    float64 `json:"min_per_100um_wetbulb"`
			Iso    float64 `json:"min_per_100um_isothermal"`
			Analog float64 `json:"Le"`
		} `json:"open_film"`
		Seam []struct {
			T     float64 `json:"t_c"`
			RH    float64 `json:"rh"`
			L1    float64 `json:"L1_mm"`
			L2    float64 `json:"L2_mm"`
			Hours float64 `json:"hours"`
		}
	}
	b, err := os.ReadFile("../../testdata/reference/ref_drying.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &d); err != nil {
		t.Fatal(err)
	}
	for _, r := range d.OpenFilm {
		f, err := FilmOf(r.T, 100*r.RH, r.T, r.H, 0.1)
		if err != nil {
			t.Fatal(err)
		}
		// The wet bulb's 0.02 K is up to 1 % of a small difference; the
		// reference takes moist air's diffusivity of heat, dry air here: 2 %.
		near(t, "air bound", f.AirBoundMin/r.Wet, 1, 0.012)
		near(t, "panel bound", f.PanelBoundMin/r.Iso, 1, 0.02)
		if f.LowMin != f.PanelBoundMin || f.HighMin != f.AirBoundMin {
			t.Errorf("the panel's heat is the fast bound at the air's temperature: %+v", f)
		}
	}
	for _, r := range d.Seam {
		s, err := SeamOf(r.L2, r.L1, r.T, max(air.RHInput.Low, 100*r.RH), r.T)
		if err != nil {
			t.Fatal(err)
		}
		// 0.25 % of the pressure, its excess over the bay's alike.
		near(t, "seam", s.Hours/r.Hours, 1, 0.004)
		if !(s.LowHours < s.Hours && s.Hours < s.HighHours) {
			t.Errorf("hours outside of their range: %+v", s)
		}
	}
	if len(d.OpenFilm) < 15 || len(d.Seam) < 20 {
		t.Errorf("%d films, %d seams", len(d.OpenFilm), len(d.Seam))
	}
}

// "Overnight" is no guarantee: 12 h at 21 C and 50 % clear about 4.4 mm, and a
// depth of 10 mm takes 61 h, not twice the 15 h of 5 mm.
func TestOvernightClearsFourMillimetres(t *testing.T) {
	d, err := SeamAfter(10, []Spell{{12, 21, 50, 21}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mm after a night", d.DryMM, 4.4, 0.05)
	near(t, "share", d.Share, 0.44, 0.005)
	if got, want := spoken(t, d.Sentence), "Seam dry 4.4 of 10.0 mm by the model."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	five, _ := SeamOf(5, 0, 21, 50, 21)
	ten, _ := SeamOf(10, 0, 21, 50, 21)
	near(t, "twice the depth", ten.Hours/five.Hours, 4, 1e-9)
	if got, want := spoken(t, ten.Sentence), "Seam needs 2 d 13 h more in this air."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// RH 100 % is never, and an answer never holds an infinity that JSON refuses.
func TestNever(t *testing.T) {
	s, err := SeamOf(5, 0, 21, 100, 21)
	if err != nil || !s.Never || s.Hours != 0 || !s.HighNever {
		t.Errorf("%+v, %v", s, err)
	}
	if got, want := spoken(t, s.Sentence), "Seam never dries in this air. Heat or vent."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	f, err := FilmOf(21, 100, 21, 5, 0.1)
	if err != nil || !f.Never {
		t.Errorf("%+v, %v", f, err)
	}
	h, err := HeaterHour(5, 0, 21, 100, 21, 50)
	if err != nil || !h.WithoutNever || h.GainMM <= 0 {
		t.Errorf("%+v, %v", h, err)
	}
	for _, v := range []any{s, f, h} {
		if _, err := json.Marshal(v); err != nil {
			t.Error(err)
		}
	}
	// 98 % and a hygrometer good to 3 %: it dries, perhaps never.
	s, _ = SeamOf(1, 0, 21, 98, 21)
	if s.Never || !s.HighNever || s.HighHours != 0 {
		t.Errorf("%+v", s)
	}
	// A panel under the dew point takes up water however the air blows.
	f, _ = FilmOf(21, 70, 12, 10, 0.1)
	if !f.HighNever || f.PanelBoundMin != 0 || f.LowMin != f.AirBoundMin {
		t.Errorf("%+v", f)
	}
}

// A night in three parts, the seam taking up water in the middle: the sum of the
// squares by hand, with the growth of each part.
func TestSeamAfterSumsTheClimate(t *testing.T) {
	past := []Spell{{5, 20, 50, 20}, {4, 20, 80, 14}, {6, 18, 45, 18}}
	want := 0.0
	for _, s := range past {
		want = max(0, want+3600*s.Hours*Growth(air.VapourPressure(s.AirC, s.RHPct), s.PanelC))
	}
	if Growth(air.VapourPressure(20, 80), 14) >= 0 {
		t.Fatal("the middle part was to take up water")
	}
	d, err := SeamAfter(20, past)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mm", d.DryMM, 1000*math.Sqrt(want), 1e-9)
	near(t, "hours", d.Hours, 15, 1e-9)
	// The slow way: the front itself, moved in steps of a tenth of a second from
	// a twentieth of a millimetre, where its speed is still finite.
	l := 5e-5
	for _, s := range past {
		g := Growth(air.VapourPressure(s.AirC, s.RHPct), s.PanelC)
		for range int(s.Hours * 36_000) {
			l = max(5e-5, l+0.1*g/(2*l))
		}
	}
	near(t, "mm in small steps", d.DryMM, 1000*l, 0.002)
	// A seam that is wet to its mouth cannot take up more.
	wet, _ := SeamAfter(20, []Spell{past[1], {12, 21, 50, 21}})
	dry, _ := SeamAfter(20, []Spell{{12, 21, 50, 21}})
	near(t, "wet first", wet.DryMM, dry.DryMM, 1e-12)
	// Split anywhere, the sum is the same.
	split, _ := SeamAfter(20, []Spell{{2, 20, 50, 20}, {3, 20, 50, 20}, past[1], past[2]})
	near(t, "split", split.DryMM, d.DryMM, 1e-9)
}

// Hot air at a seam: the metal at 50 C in the same bay works many times faster,
// by the vapour pressures' ratio and more.
func TestHotAir(t *testing.T) {
	h, err := HeaterHour(5, 0, 21, 50, 21, 50)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "without", h.WithoutHours, 15.24, 0.05)
	// Saved is growth'/growth - 1 for an hour that does not finish the seam.
	ratio := Growth(air.VapourPressure(21, 50), 50) / Growth(air.VapourPressure(21, 50), 21)
	near(t, "saved", h.SavedHours, ratio-1, 1e-9)
	if ratio < 9 || ratio > 13 {
		t.Errorf("50 C works %.1f times as fast as 21 C", ratio)
	}
	if got, want := spoken(t, h.Sentence), "One hour of heat saves 9 h 26 min of 15 h 17 min."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	h, _ = HeaterHour(1, 0, 21, 50, 21, 50)
	if got := spoken(t, h.Sentence); !strings.HasPrefix(got, "One hour of heat finishes the seam in ") {
		t.Errorf("got %q", got)
	}
}

func TestExtractor(t *testing.T) {
	// Winter: outside 2 C at 85 % is dry air once inside.
	x, err := ExtractorHour(5, 0, 20, 70, 20, 2, 85, 5)
	if err != nil || x.SavedHours <= 0.3 {
		t.Errorf("%+v, %v", x, err)
	}
	spoken(t, x.Sentence)
	// A thundery day: outside is damper than the bay, the hour does harm.
	x, err = ExtractorHour(5, 1, 20, 50, 20, 26, 70, 5)
	if err != nil || x.SavedHours >= 0 {
		t.Errorf("%+v, %v", x, err)
	}
	if got := spoken(t, x.Sentence); !strings.Contains(got, "costs") {
		t.Errorf("got %q", got)
	}
	// The mean vapour is right: by small steps.
	in, out, n := air.VapourPressure(20, 70), air.VapourPressure(2, 85), 5.0
	sum := 0.0
	for i := range 100_000 {
		sum += out + (in-out)*math.Exp(-n*(float64(i)+0.5)/100_000)
	}
	y, _ := ExtractorHour(5, 0, 20, 70, 20, 2, 85, n)
	near(t, "mean vapour", y.HelpVapourPa, sum/100_000, 0.01)
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		err  error
		want string
	}{
		{second(SeamOf(0, 0, 20, 50, 20)), "depth of the seam 0 mm is out of range; valid is 0.1 to 100 mm"},
		{second(SeamOf(-5, 0, 20, 50, 20)), "depth of the seam -5 mm is out of range; valid is 0.1 to 100 mm"},
		{second(SeamOf(5, 6, 20, 50, 20)), "depth that is dry already is more than the seam is deep; valid is 0 to 5.0 mm"},
		{second(SeamOf(5, 0, 20, 130, 20)), "relative humidity 130 % is out of range; valid is 0.001 to 100 %"},
		{second(SeamAfter(5, []Spell{{-1, 20, 50, 20}})), "length of the spell -1 h is out of range; valid is 0 to 10000 h"},
		{second(SeamAfter(5, []Spell{{1, 20, 50, 100}})), "panel temperature 100 C is out of range; valid is -20 to 80 C"},
		{second(SeamAfter(5, make([]Spell, mostSpells+1))), "more than a year of ten-minute readings; valid is 0 to 53000 spells"},
		{second(FilmOf(20, 50, 20, math.Inf(1), 0.1)), "heat-transfer coefficient +Inf W/m2K is out of range; valid is 1 to 100 W/m2K"},
		{second(HeaterHour(5, 0, 20, 50, 20, 200)), "temperature of the panel under the heater 200 C is out of range; valid is -20 to 80 C"},
		{second(ExtractorHour(5, 0, 20, 50, 20, 0, 80, 0)), "air changes in the hour 0 1/h is out of range; valid is 0.1 to 30 1/h"},
	} {
		if c.err == nil || c.err.Error() != c.want {
			t.Errorf("got %v, want %q", c.err, c.want)
		}
	}
}

func second[T any](_ T, err error) error { return err }

// Properties: time goes with the square of depth, falls with temperature at one
// RH, rises with RH; twice the h is half the film's time; the air alone is slower
// than a panel at the air's temperature.
func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(2, 40).Draw(t, "C")
		rh := rapid.Float64Range(5, 90).Draw(t, "RH")
		depth := rapid.Float64Range(0.5, 20).Draw(t, "mm")
		one, err := SeamOf(depth, 0, c, rh, c)
		if err != nil {
			t.Fatal(err)
		}
		two, _ := SeamOf(2*depth, 0, c, rh, c)
		if !two.Never && math.Abs(two.Hours/one.Hours-4) > 1e-9 {
			t.Errorf("twice the depth takes %v times", two.Hours/one.Hours)
		}
		warm, _ := SeamOf(depth, 0, c+1, rh, c+1)
		damp, _ := SeamOf(depth, 0, c, rh+1, c)
		if warm.Hours >= one.Hours || damp.Hours <= one.Hours {
			t.Errorf("%v h, a degree warmer %v, a percent damper %v", one.Hours, warm.Hours, damp.Hours)
		}
		f, err := FilmOf(c, rh, c, 5, 0.1)
		if err != nil {
			t.Fatal(err)
		}
		g, _ := FilmOf(c, rh, c, 10, 0.1)
		if math.Abs(f.HighMin/g.HighMin-2) > 1e-9 || math.Abs(f.LowMin/g.LowMin-2) > 1e-9 {
			t.Errorf("twice the h: %v against %v", f, g)
		}
		if f.AirBoundMin <= f.PanelBoundMin {
			t.Errorf("the air alone is faster: %+v", f)
		}
	})
}

func finite(t *testing.T, vs ...float64) {
	t.Helper()
	for i, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Errorf("value %d is %v", i, v)
		}
	}
}

func FuzzFilm(f *testing.F) {
	f.Add(21.0, 50.0, 21.0, 5.0, 0.1)
	f.Add(-40.0, 100.0, 80.0, 1.0, 2.0)
	f.Add(60.0, 0.001, -20.0, 100.0, 0.001)
	f.Add(math.NaN(), math.Inf(1), 0.0, 0.0, 0.0)
	f.Fuzz(func(t *testing.T, airC, rh, panel, h, film float64) {
		r, err := FilmOf(airC, rh, panel, h, film)
		if err != nil {
			return
		}
		finite(t, r.LowMin, r.HighMin, r.AirBoundMin, r.PanelBoundMin)
		spoken(t, r.Sentence)
		if !r.HighNever && r.LowMin > r.HighMin {
			t.Errorf("%+v", r)
		}
	})
}

func FuzzSeam(f *testing.F) {
	f.Add(5.0, 1.0, 21.0, 50.0, 21.0, 12.0, 50.0, 2.0, 85.0, 5.0)
	f.Add(100.0, 100.0, -40.0, 100.0, 80.0, 10_000.0, -20.0, 50.0, 100.0, 30.0)
	f.Add(0.1, 0.0, 60.0, 0.001, -20.0, 0.0, 80.0, -40.0, 0.001, 0.1)
	f.Add(math.NaN(), 0.0, math.Inf(1), 0.0, 0.0, math.Inf(-1), 0.0, 0.0, 0.0, 0.0)
	f.Fuzz(func(t *testing.T, depth, dry, airC, rh, panel, spell, heated, outC, outRH, changes float64) {
		if r, err := SeamOf(depth, dry, airC, rh, panel); err == nil {
			finite(t, r.Hours, r.LowHours, r.HighHours)
			spoken(t, r.Sentence)
			if r.Never && !r.HighNever || !r.HighNever && r.Hours > r.HighHours || !r.Never && r.LowHours > r.Hours {
				t.Errorf("%+v", r)
			}
		}
		if r, err := SeamAfter(depth, []Spell{{spell, airC, rh, panel}, {spell, airC, rh, heated}}); err == nil {
			finite(t, r.DryMM, r.LowMM, r.HighMM, r.Share, r.Hours)
			spoken(t, r.Sentence)
			if r.LowMM > r.DryMM || r.DryMM > r.HighMM || r.DryMM > depth*(1+1e-12) || r.Share > 1 || r.DryMM < 0 {
				t.Errorf("%+v", r)
			}
		}
		if r, err := HeaterHour(depth, dry, airC, rh, panel, heated); err == nil {
			finite(t, r.WithoutHours, r.WithHours, r.SavedHours, r.GainMM)
			spoken(t, r.Sentence)
		}
		if r, err := ExtractorHour(depth, dry, airC, rh, panel, outC, outRH, changes); err == nil {
			finite(t, r.WithoutHours, r.WithHours, r.SavedHours, r.GainMM, r.HelpVapourPa)
			spoken(t, r.Sentence)
		}
	})
}

func TestGateFunctionsAllocateNothing(t *testing.T) {
	if n := testing.AllocsPerRun(100, func() { Advance(0.001, 0.01, Growth(1243, 21), 600) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkAdvance(b *testing.B) {
	b.ReportAllocs()
	dry := 0.0
	for i := range b.N {
		dry = Advance(dry, 0.01, Growth(1243, 15+float64(i%10)), 600)
	}
}

// A fortnight of ten-minute readings, as the screen of the step 'dry' folds it.
func BenchmarkSeamAfterFortnight(b *testing.B) {
	past := make([]Spell, 14*144)
	for i := range past {
		past[i] = Spell{1.0 / 6, 18 + float64(i%5), 50 + float64(i%30), 16 + float64(i%6)}
	}
	b.ReportAllocs()
	for range b.N {
		if _, err := SeamAfter(20, past); err != nil {
			b.Fatal(err)
		}
	}
}
