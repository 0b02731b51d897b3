package paint

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.9g, want %.9g within %g", what, got, want, tol)
	}
}

// The Q10 rule against ASTM F1980's own example (one week at 55 C is eight at
// 25 C) and a table that was computed apart.
func TestFactor(t *testing.T) {
	b, err := os.ReadFile("../../testdata/reference/ref_geometry_film_misc.json")
	if err != nil {
		t.Fatal(err)
	}
	var d struct {
		Arrhenius struct {
			F1980 []struct{ Q10, Taa, Trt, AAF float64 } `json:"ASTM_F1980"`
			Ea    []struct {
				Ea  float64 `json:"Ea_kJ"`
				Q10 float64
			} `json:"Q10_from_Ea_25C"`
			Mult []struct {
				T    float64 `json:"T_F"`
				Ref  float64 `json:"ref_F"`
				Mult float64
			} `json:"time_multiplier_Q10_2"`
			EaForTwo float64 `json:"Ea_for_Q10_2_at_25C"`
		}
	}
	if err := json.Unmarshal(b, &d); err != nil {
		t.Fatal(err)
	}
	if len(d.Arrhenius.F1980) != 3 || len(d.Arrhenius.Mult) != 6 || len(d.Arrhenius.Ea) != 5 {
		t.Fatal("the table is not whole")
	}
	for _, r := range d.Arrhenius.F1980 {
		near(t, "AAF", Factor(r.Q10, r.Taa, r.Trt), r.AAF, 1e-9)
	}
	near(t, "ASTM F1980", Factor(2, 55, 25), 8, 1e-12)
	for _, r := range d.Arrhenius.Mult {
		near(t, "time multiplier", 1/Factor(2, (r.T-32)/1.8, (r.Ref-32)/1.8), r.Mult, 1e-9)
	}
	// A Q10 of 2 is the Arrhenius equation with 52.9 kJ/mol at 25 C.
	arrhenius := func(ea, t1, t2 float64) float64 {
		return math.Exp(ea / 8.314462618 * (1/(t1+273.15) - 1/(t2+273.15)))
	}
	near(t, "Q10 by Arrhenius", arrhenius(d.Arrhenius.EaForTwo, 25, 35), Factor(2, 35, 25), 1e-4)
	for _, r := range d.Arrhenius.Ea {
		near(t, "Q10 by Arrhenius", arrhenius(r.Ea*1000, 25, 35), r.Q10, 1e-4)
	}
}

// "Double when it stood at 5 to 10 C" (common practice, no source): never less
// than that here, and warmth never shortens.
func TestCredit(t *testing.T) {
	for _, c := range []struct {
		c    int32
		want int64 // of 10,000 s
	}{
		{20_000, 10_000_000}, {19_999, 10_000_000}, {35_000, 10_000_000}, {60_000, 10_000_000},
		{10_000, 5_000_000}, {15_000, 7_070_000}, {5_000, 3_540_000}, {4_999, 0}, {-40_000, 0},
	} {
		if got := Credit(c.c, 10_000_000); got != c.want {
			t.Errorf("Credit(%d) = %d, want %d", c.c, got, c.want)
		}
	}
	for c := int32(5_000); c <= 10_000; c += 100 {
		if Credit(c, 1_000_000) > 500_000 {
			t.Errorf("at %d it counts more than half", c)
		}
	}
}

func TestWait(t *testing.T) {
	for _, c := range []struct {
		cure   string
		stood  []Stood
		remain int64
		cold   int64
		say    string
	}{
		{"factory", nil, 0, 0, "Factory paint: no wait."},
		{"baked", nil, 7 * day, 7 * day, "Paint: 0 of 7 days. Wait, or patch test."},
		{"baked", []Stood{{7 * day, 21_000}}, 0, 0, "Paint: 7 of 7 days. Wait is over."},
		{"baked", []Stood{{7*day - 1, 21_000}}, 1, 1, "Paint: 6.9 of 7 days. Wait, or patch test."},
		{"air-dried", []Stood{{14 * day, 10_000}}, 14 * day, 28 * day, "Paint: 7 of 21 days. Wait, or patch test."},
		{"air-dried", []Stood{{10 * day, 20_000}, {20 * day, 2_000}}, 11 * day, NeverMs, "Paint: 10 of 21 days. Paused, too cold. Bring it in."},
		{"thick", []Stood{{30 * day, 25_000}}, 0, 0, "Paint: 30 of 30 days. Patch test before film."},
		{"unknown", []Stood{{15 * day, 20_000}}, 15 * day, 15 * day, "Paint: 15 of 30 days. Wait, or patch test."},
	} {
		cure, ok := CureOf(c.cure)
		if !ok {
			t.Fatal(c.cure)
		}
		w, err := WaitOf(cure, c.stood)
		if err != nil {
			t.Fatal(err)
		}
		if w.RemainingMs != c.remain || w.ColdMs != c.cold || w.Sentence != c.say || w.Ready != (c.remain == 0) {
			t.Errorf("%s %v: %+v", c.cure, c.stood, w)
		}
		if w.LowMs > w.RemainingMs || w.HighMs < w.RemainingMs {
			t.Errorf("%s: %d is outside of %d to %d", c.cure, w.RemainingMs, w.LowMs, w.HighMs)
		}
		if n := len(strings.Fields(w.Sentence)); n > 12 {
			t.Errorf("%d words: %s", n, w.Sentence)
		}
	}
}

func TestPatch(t *testing.T) {
	good := PatchTest{SizeMM: 150, Places: 3, Thickest: true, StoodH: 24, ColdestC: 20, CycleC: 55, CycleH: 1}
	with := func(change func(*PatchTest)) PatchTest { p := good; change(&p); return p }
	for _, c := range []struct {
		p    PatchTest
		want Outcome
		say  string
	}{
		{good, NoGasSeen, "No gas seen under the patch."},
		{with(func(p *PatchTest) { p.ColdestC = 19.999 }), NotValid, "Patch test not valid: stood under ⟨c:20000⟩."},
		{with(func(p *PatchTest) { p.ColdestC = (68.0 - 32) / 1.8 }), NoGasSeen, ""},
		{with(func(p *PatchTest) { p.ColdestC = (67.9 - 32) / 1.8 }), NotValid, ""},
		{with(func(p *PatchTest) { p.StoodH = 23.99 }), NotValid, "24 h"},
		{with(func(p *PatchTest) { p.Places = 2 }), NotValid, "three places"},
		{with(func(p *PatchTest) { p.Thickest = false }), NotValid, "thickest"},
		{with(func(p *PatchTest) { p.SizeMM = 149 }), NotValid, "150 mm"},
		{with(func(p *PatchTest) { p.CycleH = 0 }), NotValid, "warm cycle missing"},
		{with(func(p *PatchTest) { p.CycleC = 45 }), NotValid, "warm cycle missing"},
		{with(func(p *PatchTest) { p.CycleC = 75 }), NotValid, "over ⟨c:60000⟩"},
		// What was seen counts, in a cold bay too.
		{with(func(p *PatchTest) { p.ColdestC = 8; p.StoodH = 2; p.Bubbles = true }), Gas, "still gassing"},
		{with(func(p *PatchTest) { p.Bubbles = true; p.PaintFlake = true }), Flake, "refuse film"},
	} {
		r, err := c.p.Judge()
		if err != nil {
			t.Fatal(err)
		}
		if r.Outcome != c.want || !strings.Contains(r.Sentence, c.say) {
			t.Errorf("%+v: %s, %q", c.p, OutcomeNames[r.Outcome], r.Sentence)
		}
		if n := len(strings.Fields(r.Sentence)); n > 12 {
			t.Errorf("%d words: %s", n, r.Sentence)
		}
		if r.Outcome == Gas && r.RepeatMs != 7*day {
			t.Errorf("repeat after %d", r.RepeatMs)
		}
		if strings.Contains(strings.ToLower(r.Sentence), "safe") {
			t.Errorf("says that something is safe: %s", r.Sentence)
		}
	}
}

func TestRefused(t *testing.T) {
	air, _ := CureOf("air-dried")
	for _, s := range []Stood{{-1, 20_000}, {9000 * hour, 20_000}, {day, 61_000}, {day, -41_000}} {
		if w, err := WaitOf(air, []Stood{s}); err == nil || w != (Wait{}) || !strings.Contains(err.Error(), "valid is") {
			t.Errorf("%+v: %+v, %v", s, w, err)
		}
	}
	if _, err := (PatchTest{SizeMM: -150}).Judge(); err == nil || err.Error() != "side of the patch -150 mm is out of range; valid is 1 to 1000 mm" {
		t.Error(err)
	}
	if _, err := (PatchTest{SizeMM: 150, Places: 2.5}).Judge(); err == nil || err.Error() != "places 2.50 is not a whole number; valid is 0 to 20" {
		t.Error(err)
	}
	if _, ok := CureOf("sun"); ok {
		t.Error("an unknown cure was found")
	}
}

func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Int32Range(-40_000, 60_000).Draw(t, "c")
		span := rapid.Int64Range(0, 8784*hour).Draw(t, "span")
		got := Credit(c, span)
		if got < 0 || got > span {
			t.Fatalf("Credit(%d, %d) = %d", c, span, got)
		}
		if Credit(c+1, span) < got {
			t.Fatalf("warmer counts less at %d", c)
		}
	})
}

func FuzzPaint(f *testing.F) {
	f.Add(int64(day), int32(10_000), 150.0, 3.0, 24.0, 20.0, 55.0, 1.0)
	f.Add(int64(math.MaxInt64), int32(math.MinInt32), math.NaN(), math.Inf(1), -1.0, 1e300, 0.0, 0.0)
	f.Fuzz(func(t *testing.T, span int64, c int32, a, b, d, e, g, h float64) {
		if got := Credit(c, span); got < 0 || got > max(0, span) {
			t.Fatal(got)
		}
		for _, cure := range Cures {
			w, err := WaitOf(cure, []Stood{{span, c}, {span, c}})
			if err == nil && (w.CountedMs < 0 || w.RemainingMs < 0 || w.LowMs < 0 || w.HighMs < 0 || w.ColdMs < NeverMs || w.Sentence == "") {
				t.Fatalf("%+v", w)
			}
		}
		if r, err := (PatchTest{SizeMM: a, Places: b, StoodH: d, ColdestC: e, CycleC: g, CycleH: h, Thickest: true}).Judge(); err == nil && r.Sentence == "" {
			t.Fatalf("%+v", r)
		}
	})
}

func BenchmarkCredit(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Credit(12_345, day)
	}
}

func TestCreditAllocatesNothing(t *testing.T) {
	if n := testing.AllocsPerRun(100, func() { Credit(12_345, day) }); n != 0 {
		t.Errorf("Credit allocates %v times", n)
	}
}
