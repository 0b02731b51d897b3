package stretch

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

func measure(t *testing.T, c interface{ Measure() (Strain, error) }) Strain {
	t.Helper()
	s, err := c.Measure()
	if err != nil {
		t.Fatalf("%+v: %v", c, err)
	}
	return s
}

// The table was computed apart, with numpy, from the closed forms: see
// testdata/reference/ORIGIN-geometry.md.
type table struct {
	Circular struct {
		Rows []struct{ W, D, R, Arc, Strain, Parabola_len, Parabola_strain float64 }
	} `json:"circular_channel"`
	V struct {
		Rows []struct{ W, D, Len, Strain float64 }
	} `json:"v_channel"`
	Trapezoid struct {
		Rows []struct{ W_top, W_bottom, D, Len, Strain float64 }
	} `json:"trapezoid_channel"`
	Dome struct {
		Rows []struct {
			A, H, R, Area, Disc                                                                        float64
			Area_strain_closed, Equi_biaxial_strain, Meridian_arc_strain, Thickness_ratio, Area_strain float64
		}
	} `json:"dome"`
	FromR []struct{ R, A, H, Area_strain, Eb float64 } `json:"dome_from_R"`
}

func load(t *testing.T) table {
	b, err := os.ReadFile("../../testdata/reference/ref_geometry_film_misc.json")
	if err != nil {
		t.Fatal(err)
	}
	var d table
	if err := json.Unmarshal(b, &d); err != nil {
		t.Fatal(err)
	}
	if len(d.Circular.Rows) != 9 || len(d.V.Rows) != 7 || len(d.Trapezoid.Rows) != 6 || len(d.Dome.Rows) != 7 || len(d.FromR) != 5 {
		t.Fatal("the table is not whole")
	}
	return d
}

func TestReferenceTable(t *testing.T) {
	d := load(t)
	for _, r := range d.Circular.Rows {
		s := measure(t, Channel{Shape: Round, Width: r.W, Depth: r.D})
		near(t, "arc", s.Path, r.Arc, 1e-9*r.Arc)
		near(t, "round strain", s.Line, r.Strain, 1e-11)
		s = measure(t, Channel{Shape: Parabola, Width: r.W, Depth: r.D})
		near(t, "parabola", s.Path, r.Parabola_len, 1e-9*r.Arc)
		near(t, "parabola strain", s.Line, r.Parabola_strain, 1e-11)
	}
	for _, r := range d.V.Rows {
		s := measure(t, Channel{Shape: V, Width: r.W, Depth: r.D})
		near(t, "V", s.Path, r.Len, 1e-9*r.Len)
		near(t, "V strain", s.Line, r.Strain, 1e-11)
	}
	for _, r := range d.Trapezoid.Rows {
		s := measure(t, Channel{Shape: Trapezoid, Width: r.W_top, Depth: r.D, Floor: r.W_bottom})
		near(t, "trapezoid", s.Path, r.Len, 1e-9*r.Len)
		near(t, "trapezoid strain", s.Line, r.Strain, 1e-11)
	}
	for _, r := range d.Dome.Rows {
		dome := Dome{r.A, r.H}
		s := measure(t, dome)
		near(t, "radius", dome.Radius(), r.R, 1e-9*r.R)
		near(t, "area strain", s.Area, r.Area_strain_closed, 1e-12)
		near(t, "cap over disc", s.Area, r.Area/r.Disc-1, 1e-9)
		near(t, "even strain", s.Even, r.Equi_biaxial_strain, 1e-12)
		near(t, "meridian strain", s.Line, r.Meridian_arc_strain, 1e-11)
		near(t, "thickness left", s.Left, r.Thickness_ratio, 1e-12)
	}
	for _, r := range d.FromR {
		dome, err := DomeOfRadius(r.R, r.A)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "height from radius", dome.Height, r.H, 1e-9*r.H)
		near(t, "area strain from radius", measure(t, dome).Area, r.Area_strain, 1e-12)
	}
}

// Values that anyone can check with a triangle or a half circle.
func TestByHand(t *testing.T) {
	for _, c := range []struct {
		c    Channel
		want float64
	}{
		{Channel{Shape: V, Width: 6, Depth: 4}, 2.0 / 3.0},                           // two 3-4-5 triangles
		{Channel{Shape: V, Width: 8, Depth: 3}, 0.25},                                // two 4-3-5
		{Channel{Shape: V, Width: 100, Depth: 50}, math.Sqrt2 - 1},                   // a half square
		{Channel{Shape: Round, Width: 100, Depth: 50}, math.Pi/2 - 1},                // a half circle
		{Channel{Shape: Trapezoid, Width: 30, Floor: 30, Depth: 10}, 2.0 / 3.0},      // a slot: 2d/w
		{Channel{Shape: Trapezoid, Width: 100, Floor: 40, Depth: 40}, 0.40},          // 30-40-50
		{Channel{Shape: Trapezoid, Width: 100, Floor: 0, Depth: 50}, math.Sqrt2 - 1}, // no floor: the V
		{Channel{Shape: Tape, Width: 90, Path: 99}, 0.10},
	} {
		near(t, "strain", measure(t, c.c).Line, c.want, 1e-12)
	}
	// Archimedes: half a ball has twice the area of its disc.
	s := measure(t, Dome{50, 50})
	near(t, "half ball, area", s.Area, 1, 1e-12)
	near(t, "half ball, even", s.Even, math.Sqrt2-1, 1e-12)
	near(t, "half ball, line", s.Line, math.Pi/2-1, 1e-12)
	near(t, "half ball, left", s.Left, 0.5, 1e-12)
}

// Past a half circle the arcsine form gives the short arc; this is the long one.
func TestRoundChannelPastHalfCircle(t *testing.T) {
	s := measure(t, Channel{Shape: Round, Width: 40, Depth: 40})
	near(t, "strain", s.Line, 1.767872, 1e-6)
	if wrong := 2*25*math.Asin(40/(2*25.0))/40 - 1; wrong > 0.2 {
		t.Errorf("the arcsine form gives %.3f, this test no longer shows the trap", wrong)
	}
}

// A flat dome of a great ball: R - sqrt(R²-a²) loses its digits.
func TestDomeOfRadiusKeepsItsDigits(t *testing.T) {
	d, err := DomeOfRadius(1e9, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "height", d.Height, 5e-10, 1e-18) // a²/(2R)
	if _, err := DomeOfRadius(80, 100); err == nil {
		t.Error("a base wider than the ball is accepted")
	}
	if _, err := DomeOfRadius(math.NaN(), 100); err == nil {
		t.Error("a radius that is not a number is accepted")
	}
}

// Engineering strain compounds: 10 % twice is 21 %, not 20.
func TestStrainCompounds(t *testing.T) {
	near(t, "twice 10 %", Then(0.10, 0.10), 0.21, 1e-15)
	near(t, "there and back", Then(0.25, -0.20), 0, 1e-15)
	// A channel pulled in two steps is as long as one pulled at once.
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(0, 2).Draw(t, "a"), rapid.Float64Range(0, 2).Draw(t, "b")
		if got, want := Then(a, b), a+b; got < want-1e-12 {
			t.Fatalf("Then(%v, %v) = %v is less than the sum", a, b, got)
		}
	})
}

// Nonsense is refused with the reason and the valid range.
func TestRefused(t *testing.T) {
	for _, c := range []struct {
		m    interface{ Measure() (Strain, error) }
		want string
	}{
		{Channel{Shape: V, Width: -3, Depth: 5}, "width -3 mm is out of range; valid is 1 to 2000 mm"},
		{Channel{Shape: V, Width: 0, Depth: 5}, "valid is 1 to 2000 mm"},
		{Channel{Shape: Round, Width: 60, Depth: -1}, "depth -1 mm is out of range; valid is 0 to 500 mm"},
		{Channel{Shape: Round, Width: 60, Depth: math.NaN()}, "depth is not a number; valid is 0 to 500 mm"},
		{Channel{Shape: Round, Width: math.Inf(1), Depth: 1}, "valid is 1 to 2000 mm"},
		{Channel{Shape: Trapezoid, Width: 60, Depth: 5, Floor: 61}, "floor 61.0 mm is wider than the mouth; valid is 0 to 60.0 mm"},
		{Channel{Shape: Tape, Width: 60, Path: 50}, "tape path 50.0 mm is shorter than the width; valid is 60.0 mm or more"},
		{Channel{Shape: 9, Width: 60}, "shape is not known"},
		{Dome{90, 120}, "height 120.0 mm is more than the half-width; valid is 0 to 90.0 mm"},
		{Dome{-1, 5}, "half-width -1 mm is out of range; valid is 1 to 1000 mm"},
		{Dome{90, -5}, "height -5 mm is out of range"},
		{TapedDome{180, 300, 180, 200}, "tape path 300.0 mm is past the half ball; valid is up to 282.7 mm"},
	} {
		s, err := c.m.Measure()
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: error %v, want %q", c.m, err, c.want)
		}
		if s != (Strain{}) {
			t.Errorf("%+v: refused with an answer %+v", c.m, s)
		}
	}
	// A tape that reads 0.5 mm short is an honest flat.
	if s := measure(t, Channel{Shape: Tape, Width: 60, Path: 59.5}); s.Line != 0 {
		t.Errorf("strain %v of a flat", s.Line)
	}
}

func TestTapedDomeOfARoundDomeIsTheDome(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(5, 1000).Draw(t, "a")
		h := a * rapid.Float64Range(0.01, 0.999).Draw(t, "h/a")
		want, err := Dome{a, h}.Measure()
		if err != nil {
			t.Fatal(err)
		}
		got, err := TapedDome{2 * a, want.Path, 2 * a, want.Path}.Measure()
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range [][2]float64{{got.Area, want.Area}, {got.Line, want.Line}, {got.Even, want.Even}} {
			if math.Abs(c[0]-c[1]) > 1e-6 {
				t.Fatalf("taped %+v, measured %+v", got, want)
			}
		}
	})
}

func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(5, 2000).Draw(t, "w")
		d := rapid.Float64Range(0, 400).Draw(t, "d")
		shape := Shape(rapid.IntRange(0, 3).Draw(t, "shape"))
		c := Channel{Shape: shape, Width: w, Depth: d, Floor: w * rapid.Float64Range(0, 1).Draw(t, "f")}
		s, err := c.Measure()
		if err != nil {
			t.Fatal(err)
		}
		deeper := c
		deeper.Depth += 1
		if s2, _ := deeper.Measure(); s2.Line < s.Line {
			t.Fatalf("%+v: less strain when deeper", c)
		}
		if !(s.Low <= s.Line && s.Line <= s.High) {
			t.Fatalf("%+v: %v is outside of %v to %v", c, s.Line, s.Low, s.High)
		}
		// The same shape at twice the size has the same strain.
		twice := c
		twice.Width, twice.Depth, twice.Floor = w/2, d/2, c.Floor/2
		if s2, err := twice.Measure(); err == nil && math.Abs(s2.Line-s.Line) > 1e-9 {
			t.Fatalf("strain %v changes with size to %v", s.Line, s2.Line)
		}
		// The straight line is the shortest: a V is the least of all profiles that reach the depth.
		if v, _ := (Channel{Shape: V, Width: w, Depth: d}).Measure(); s.Path < v.Path-1e-9*v.Path {
			t.Fatalf("%+v is shorter than the V", c)
		}
	})
}

func finite(t *testing.T, s Strain) {
	for _, v := range []float64{s.Path, s.Drawn, s.Line, s.Low, s.High, s.Area, s.Even, s.Left, s.End} {
		if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
			t.Fatalf("%+v", s)
		}
	}
}

func FuzzMeasure(f *testing.F) {
	f.Add(uint8(0), 100.0, 20.0, 0.0, 0.0)
	f.Add(uint8(1), 100.0, 1e-300, 0.0, 0.0)
	f.Add(uint8(3), 1.0, 500.0, 1.0, 0.0)
	f.Add(uint8(4), 90.0, math.NaN(), math.Inf(1), 99.0)
	f.Fuzz(func(t *testing.T, shape uint8, w, d, floor, path float64) {
		for _, m := range []interface{ Measure() (Strain, error) }{
			Channel{Shape(shape), w, d, floor, path}, Dome{w, d}, TapedDome{w, path, d, floor},
		} {
			s, err := m.Measure()
			if err != nil {
				continue
			}
			finite(t, s)
			for _, fam := range Families {
				if a := Judge(s, fam, Plan{}); a.Sentence == "" || strings.Contains(a.Sentence, "NaN") {
					t.Fatalf("%+v", a)
				}
			}
		}
	})
}

func BenchmarkMeasure(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Channel{Shape: Trapezoid, Width: 90, Depth: 20, Floor: 40}.Measure()
	}
}

func TestMeasureAllocatesNothing(t *testing.T) {
	if n := testing.AllocsPerRun(100, func() {
		Channel{Shape: Round, Width: 90, Depth: 20}.Measure()
		Dome{90, 35}.Measure()
	}); n != 0 {
		t.Errorf("Measure allocates %v times", n)
	}
}
