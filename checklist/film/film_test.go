package film

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"bayhold/checklist/stretch"
)

// The trade's table of surface and film, written down a second time as
// questions and answers: common practice, no source.
func TestTradeTable(t *testing.T) {
	years := func(n float64) float64 { return 12 * n }
	for _, c := range []struct {
		name string
		job  Job
		film Family
		want Rating
		why  string
	}{
		{"flat box side, calendered", Job{Surface: Flat, StayMonths: years(5), Laminate: CalenderedLaminate, ThicknessUM: 75}, CalenderedLong, First, ""},
		{"flat box side, cast", Job{Surface: Flat, StayMonths: years(5), Laminate: CastLaminate, ThicknessUM: 55}, CastPrint, First, ""},
		{"flat, short-life, promotion", Job{Surface: Flat, StayMonths: 12}, CalenderedShort, Acceptable, "promotions"},
		{"flat, short-life, three years", Job{Surface: Flat, StayMonths: years(3)}, CalenderedShort, Refused, "two years"},
		{"simple curve, wide", Job{Surface: SimpleCurve, StayMonths: years(5), RadiusMM: 150}, CalenderedLong, First, ""},
		{"simple curve, tight", Job{Surface: SimpleCurve, StayMonths: years(5), RadiusMM: 99}, CalenderedLong, Refused, "100 mm"},
		{"simple curve, tight, cast", Job{Surface: SimpleCurve, StayMonths: years(5), RadiusMM: 99}, Cast, First, ""},
		{"simple curve, short-life", Job{Surface: SimpleCurve, StayMonths: 6, RadiusMM: 500}, CalenderedShort, Refused, "springs back"},
		{"compound, cast under laminate", Job{Surface: Compound, StayMonths: years(5), Laminate: CastLaminate, ThicknessUM: 50.8}, CastPrint, First, ""},
		{"compound, thick colour film", Job{Surface: Compound, StayMonths: years(5), ThicknessUM: 101.6}, Cast, Acceptable, "without laminate"},
		{"compound, 4 mil under laminate", Job{Surface: Compound, StayMonths: years(5), Laminate: CastLaminate, ThicknessUM: 101.6}, CastPrint, Refused, "thin film"},
		{"compound, calendered", Job{Surface: Compound, StayMonths: years(5)}, CalenderedLong, Refused, "two-way"},
		{"compound, reflective", Job{Surface: Compound, StayMonths: years(5)}, Reflective, Refused, "recesses"},
		{"compound, removable", Job{Surface: Compound, StayMonths: 6, Adhesive: Removable}, Cast, Refused, "channels"},
		{"compound, cast with a calendered laminate", Job{Surface: Compound, StayMonths: years(5), Laminate: CalenderedLaminate}, CastPrint, Refused, "its calendered laminate makes it calendered"},
		{"corrugated, calendered", Job{Surface: Corrugated, StayMonths: years(5)}, CalenderedLong, Refused, ""},
		{"corrugated, reflective", Job{Surface: Corrugated, StayMonths: years(5)}, Reflective, Refused, ""},
		{"corrugated, cast", Job{Surface: Corrugated, StayMonths: years(5), ThicknessUM: 55}, Cast, First, ""},
		{"rivets, strong", Job{Surface: Rivets, StayMonths: years(5), Laminate: CastLaminate, Adhesive: Strong, ThicknessUM: 55}, CastPrint, First, ""},
		{"rivets, unlaminated", Job{Surface: Rivets, StayMonths: years(5), Adhesive: Strong}, Cast, Acceptable, ""},
		{"rivets, removable", Job{Surface: Rivets, StayMonths: 6, Adhesive: Removable}, Cast, Refused, "rivets"},
		{"rivets, calendered", Job{Surface: Rivets, StayMonths: years(5), Adhesive: Strong}, CalenderedLong, Refused, ""},
		{"campaign, removable on flat", Job{Surface: Flat, StayMonths: 6, Adhesive: Removable}, CalenderedLong, First, ""},
		{"campaign, permanent on flat", Job{Surface: Flat, StayMonths: 6}, CalenderedLong, Acceptable, "removable"},
		{"removable for 18 months", Job{Surface: Flat, StayMonths: 18, Adhesive: Removable}, Cast, Acceptable, "over a year"},
		{"removable for a year", Job{Surface: Flat, StayMonths: 12, Adhesive: Removable}, Cast, First, ""},
		{"removable for three years", Job{Surface: Flat, StayMonths: 36, Adhesive: Removable}, Cast, Refused, "two years"},
		{"removable on fresh paint", Job{Surface: Flat, StayMonths: 6, Adhesive: Removable, FreshPaint: true}, Cast, Refused, "fresh paint"},
		{"fresh paint", Job{Surface: Compound, StayMonths: years(5), Laminate: CastLaminate, FreshPaint: true}, CastPrint, First, ""},
		{"glass", Job{Surface: Glass, StayMonths: years(3), Laminate: CastLaminate}, Perforated, First, ""},
		{"glass, cast", Job{Surface: Glass, StayMonths: years(3)}, Cast, Refused, "glass"},
		{"matt paint", Job{Surface: LowEnergy, StayMonths: years(3), Adhesive: Strong}, Cast, First, "test strip"},
		{"matt paint, permanent", Job{Surface: LowEnergy, StayMonths: years(3)}, Cast, Refused, "strong"},
		{"raw textured plastic", Job{Surface: Textured, StayMonths: years(3), Adhesive: Strong}, Cast, Refused, "textured"},
		{"waxed", Job{Surface: Coated, StayMonths: years(3)}, Cast, Refused, "strip the coating"},
		{"bridge a moving seam", Job{Surface: MovingSeam, StayMonths: years(3)}, Cast, Refused, "cut"},
		{"emergency exit", Job{Surface: Kept, StayMonths: 1}, Cast, Refused, "exits"},
		{"calendered with a cast laminate", Job{Surface: Flat, StayMonths: years(5), Laminate: CastLaminate}, CalenderedLong, Refused, "family"},
		{"flat, unlaminated print", Job{Surface: Flat, StayMonths: years(5)}, CastPrint, Acceptable, "third"},
		{"flat, 150 um", Job{Surface: Flat, StayMonths: years(5), ThicknessUM: 150}, Cast, Acceptable, "4 mil"},
	} {
		a, err := Choose(c.job)
		if err != nil {
			t.Fatal(c.name, err)
		}
		got := a.Of(c.film)
		if got.Rating != c.want || !strings.Contains(got.Why, c.why) {
			t.Errorf("%s, %s: %s (%s), want %s (%s)", c.name, FamilyNames[c.film], RatingNames[got.Rating], got.Why, RatingNames[c.want], c.why)
		}
	}
}

// A calendered laminate pulls a cast film until it is calendered, and says so.
func TestCalenderedLaminate(t *testing.T) {
	for f, want := range map[Family]Family{Cast: CalenderedLong, CastPrint: CalenderedLong, CastStructured: CalenderedLong, Reflective: Reflective, CalenderedShort: CalenderedShort} {
		c := Rate(f, Job{Surface: SimpleCurve, StayMonths: 60, RadiusMM: 60, Laminate: CalenderedLaminate})
		if c.As != want {
			t.Errorf("%s is judged as %s, want %s", FamilyNames[f], FamilyNames[c.As], FamilyNames[want])
		}
		if want == CalenderedLong && c.Rating != Refused {
			t.Errorf("%s under a calendered laminate on a radius of 60 mm: %s", FamilyNames[f], RatingNames[c.Rating])
		}
	}
}

func TestSentences(t *testing.T) {
	for _, c := range []struct {
		job  Job
		want string
	}{
		{Job{Surface: Compound, StayMonths: 60, Laminate: CastLaminate, ThicknessUM: 55}, "First choice: cast plain colour; 4 refused."},
		{Job{Surface: Rust, StayMonths: 60}, "Refuse: rust or blistered paint. Owner must answer."},
		{Job{Surface: Rivets, StayMonths: 60, Laminate: CastLaminate}, "Acceptable: cast plain colour (rivets want a strong adhesive)."},
	} {
		a, err := Choose(c.job)
		if err != nil || a.Sentence != c.want {
			t.Errorf("%q, %v, want %q", a.Sentence, err, c.want)
		}
	}
}

func everyJob(see func(Job)) {
	for s := Flat; s < surfaces; s++ {
		for glue := range AdhesiveKeys {
			for lam := range LaminateKeys {
				for _, stay := range []float64{0, 11, 12, 18, 30, 84} {
					for _, um := range []float64{0, 50, 90, 160} {
						for _, rad := range []float64{0, 60, 400} {
							see(Job{s, stay, Laminate(lam), Adhesive(glue), rad, um, s == Flat && um == 50})
						}
					}
				}
			}
		}
	}
}

// Every question has an answer for every film, a refusal or a limit has a
// reason, and what an installer reads is at most a dozen words.
func TestEveryJob(t *testing.T) {
	used := make([]bool, len(Rules))
	everyJob(func(j Job) {
		a, err := Choose(j)
		if err != nil {
			t.Fatal(err)
		}
		if len(a.Choices) != len(FamilyKeys) {
			t.Fatalf("%+v: %d choices", j, len(a.Choices))
		}
		for i, c := range a.Choices {
			if c.Rating > First && c.Why == "" {
				t.Fatalf("%+v, %s: no reason", j, FamilyNames[c.Family])
			}
			if i > 0 && c.Rating < a.Choices[i-1].Rating {
				t.Fatalf("%+v: not best first", j)
			}
			for r := range Rules {
				if Rules[r].On.has(uint8(j.Surface)) && Rules[r].Film.has(uint8(c.As)) {
					used[r] = true
					break
				}
			}
		}
		if n := len(strings.Fields(a.Sentence)); n > 12 {
			t.Fatalf("%d words: %s", n, a.Sentence)
		}
	})
	for r, u := range used {
		if !u {
			t.Errorf("rule %d can never count: %+v", r, Rules[r])
		}
	}
	for l := range Limits {
		hit := false
		everyJob(func(j Job) {
			for f := Cast; f < families && !hit; f++ {
				hit = Limits[l].applies(f, j)
			}
		})
		if !hit {
			t.Errorf("limit %d can never apply: %+v", l, Limits[l])
		}
	}
}

// The families are those of the stretch limits, by the same keys; a film that
// stretch lets follow a two-way curve is not refused on one, and the reverse.
func TestFamiliesAgreeWithStretch(t *testing.T) {
	if len(stretch.Families) != len(FamilyKeys) {
		t.Fatal("not as many families")
	}
	for f, key := range FamilyKeys {
		s, ok := stretch.FamilyOf(key)
		if !ok {
			t.Fatal("stretch has no " + key)
		}
		c := Rate(Family(f), Job{Surface: Compound, StayMonths: 60, Laminate: CastLaminate})
		if s.Compound != (c.Rating < Refused) {
			t.Errorf("%s: stretch says compound %v, film says %s", key, s.Compound, RatingNames[c.Rating])
		}
	}
}

func TestRefused(t *testing.T) {
	for _, c := range []struct {
		job  Job
		want string
	}{
		{Job{StayMonths: -1}, "stay -1 months is out of range; valid is 0 to 180 months"},
		{Job{StayMonths: math.NaN()}, "stay is not a number; valid is 0 to 180 months"},
		{Job{RadiusMM: -5}, "radius of the curve -5 mm is out of range; valid is 0 to 100000 mm"},
		{Job{ThicknessUM: 5000}, "thickness of the face film 5000 um is out of range; valid is 0 to 500 um"},
		{Job{Surface: surfaces}, errUnknown.Error()},
		{Job{Adhesive: 3}, errUnknown.Error()},
		{Job{Laminate: 3}, errUnknown.Error()},
	} {
		a, err := Choose(c.job)
		if err == nil || err.Error() != c.want || a.Choices != nil {
			t.Errorf("%+v: %v, want %q", c.job, err, c.want)
		}
	}
	if c := (Answer{}).Of(99); c.Rating != Refused {
		t.Error("an unknown film is not refused")
	}
}

// A longer stay never makes a removable film better, and the shorter keys and
// names are whole.
func TestProperties(t *testing.T) {
	if len(SurfaceKeys) != int(surfaces) || len(SurfaceNames) != int(surfaces) || len(FamilyNames) != len(FamilyKeys) || int(families) != len(FamilyKeys) {
		t.Fatal("keys and names are not whole")
	}
	rapid.Check(t, func(t *rapid.T) {
		j := Job{
			Surface: Surface(rapid.IntRange(0, int(surfaces)-1).Draw(t, "surface")), Adhesive: Removable,
			Laminate:   Laminate(rapid.IntRange(0, 2).Draw(t, "laminate")),
			StayMonths: rapid.Float64Range(0, 90).Draw(t, "stay"),
		}
		f := Family(rapid.IntRange(0, int(families)-1).Draw(t, "film"))
		longer := j
		longer.StayMonths += rapid.Float64Range(0, 90).Draw(t, "longer")
		if Rate(f, longer).Rating < Rate(f, j).Rating {
			t.Fatalf("%+v gets better by staying longer", j)
		}
	})
}

func FuzzChoose(f *testing.F) {
	f.Add(uint8(0), uint8(0), uint8(0), 60.0, 0.0, 55.0)
	f.Add(uint8(255), uint8(3), uint8(9), math.NaN(), math.Inf(1), -1.0)
	f.Fuzz(func(t *testing.T, s, glue, lam uint8, stay, rad, um float64) {
		a, err := Choose(Job{Surface(s), stay, Laminate(lam), Adhesive(glue), rad, um, false})
		if err == nil && (len(a.Choices) != len(FamilyKeys) || a.Sentence == "") {
			t.Fatalf("%+v", a)
		}
	})
}

func BenchmarkRate(b *testing.B) {
	j := Job{Surface: Compound, StayMonths: 60, Laminate: CastLaminate, ThicknessUM: 55}
	b.ReportAllocs()
	for b.Loop() {
		Rate(CastPrint, j)
	}
}

func TestRateAllocatesNothing(t *testing.T) {
	j := Job{Surface: Compound, StayMonths: 60, Laminate: CastLaminate, ThicknessUM: 55}
	if n := testing.AllocsPerRun(100, func() { Rate(CastPrint, j) }); n != 0 {
		t.Errorf("Rate allocates %v times", n)
	}
}
