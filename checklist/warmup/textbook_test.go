package warmup

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.7g, want %.7g within %g", what, got, want, tol)
	}
}

// Incropera et al., 6th ed., example 5.1: a thermocouple junction (h 400, k 20, rho
// 8500, c 400, tau 1 s) of 7.06e-4 m, Bi 2.35e-3, from 25 to 199 C in gas of 200 C:
// 5.2 s.
func TestIncroperaThermocouple(t *testing.T) {
	const d = 6 * 400 * 1 / (8500.0 * 400)
	near(t, "diameter, m", d, 7.06e-4, 0.01e-4)
	near(t, "tau, s", TimeConstant(8500, 400, d/6, 400), 1, 1e-9)
	near(t, "Biot", Biot(400, d/6, 20), 2.35e-3, 0.01e-3)
	s, ok := Remaining(25, 200, 199, 1)
	if !ok {
		t.Fatal("never")
	}
	near(t, "s", s, 5.2, 0.05)
}

// Example 5.2: the same junction (emissivity 0.9) between gas of 200 C and a duct of
// 400 C settles at 218.7 C, and is within 1 K of it after 4.9 s. A public
// recomputation of the book prints 217.7.
func TestIncroperaDuct(t *testing.T) {
	s := Surface{H: 400, AirC: 200, Emissivity: 0.9, WallsC: 400}
	near(t, "settles", s.Settles(), 218.7, 0.05)
	rho, c, lc := 8500.0, 400.0, 7.06e-4/6
	seconds := integrate(s, rho*c*lc, 25, 217.7, 1e-4)
	near(t, "to within 1 K, s", seconds, 4.9, 0.12)
}

// Example 5.3: an aluminium panel 3 mm thick, coated on both faces (rho 2770, c 875,
// emissivity 0.8), oven at 175 C with h 40: 150 C after 124 s; then 300 s of cure end
// at 175 C; then air at 25 C with h 10: 37 C at 989 s.
func TestIncroperaCuring(t *testing.T) {
	store := 2770 * 875 * 0.003 / 2 // per m2 of one of the two faces
	oven := Surface{H: 40, AirC: 175, Emissivity: 0.8, WallsC: 175}
	heatUp := integrate(oven, store, 25, 150, 1e-2)
	near(t, "to 150 C, s", heatUp, 124, 1.5)
	temp := 150.0
	for range 30_000 {
		temp += oven.Flux(temp) / store * 1e-2
	}
	near(t, "end of cure, C", temp, 175, 0.5)
	cool := integrate(Surface{H: 10, AirC: 25, Emissivity: 0.8, WallsC: 25}, store, temp, 37, 1e-2)
	near(t, "all of it, s", heatUp+300+cool, 989, 4)
}

// integrate steps the surface with that storage in J/(m2 K) from one temperature to
// another and returns the seconds.
func integrate(s Surface, store, from, to, dt float64) float64 {
	seconds := 0.0
	for up := to > from; up == (from < to) && seconds < 1e5; seconds += dt {
		from += s.Flux(from) / store * dt
	}
	return seconds
}

// Cengel, Heat and Mass Transfer, example 4-1: a junction of 1 mm (k 35, rho 8500, c
// 320, h 210): b 0.463 1/s, 99 % after 10 s. Example 4-2: a body found at 25 C in a
// room of 20 C (0.3 by 1.7 m, rho 996, c 4178, k 0.617, h 8), once at 37 C: Lc 0.0689
// m, Bi 0.89, b 2.79e-5 1/s, 12.2 h: rough only, as Bi says. A public recomputation
// that divides integers prints 10.94 h.
func TestCengel(t *testing.T) {
	tau := TimeConstant(8500, 320, 0.001/6, 210)
	near(t, "b", 1/tau, 0.463, 0.001)
	s, _ := Remaining(0, 100, 99, tau)
	near(t, "99 %, s", s, 9.94, 0.02)

	r, l := 0.15, 1.7
	lc := math.Pi * r * r * l / (2*math.Pi*r*l + 2*math.Pi*r*r)
	near(t, "Lc", lc, 0.0689, 0.0001)
	near(t, "Bi", Biot(8, lc, 0.617), 0.89, 0.005)
	tau = TimeConstant(996, 4178, lc, 8)
	near(t, "b", 1/tau, 2.79e-5, 0.01e-5)
	s, _ = Remaining(37, 20, 25, tau)
	near(t, "h", s/3600, 12.19, 0.01)
}

// Lienhard, A Heat Transfer Textbook, example 1.4: an aluminium sphere's tau is 1.116
// s, Bi 0.00278, T = 200 - 180 exp(-t/1.116) from 20 C.
func TestLienhard(t *testing.T) {
	s, ok := Remaining(20, 200, 200-180*math.Exp(-2), 1.116)
	if !ok {
		t.Fatal("never")
	}
	near(t, "two time constants", s, 2.232, 1e-9)
}

// Bejan and Kraus, Heat Transfer Handbook, equation 3.286, as the table has it; n of
// 0 is the exponential. The exponential is early: less is left of it.
func TestStillAirTable(t *testing.T) {
	var d struct {
		Bejan struct {
			Rows []struct{ N, X, Theta float64 }
		} `json:"bejan_3.286"`
	}
	load(t, &d)
	if len(d.Bejan.Rows) != 12 {
		t.Fatalf("%d rows", len(d.Bejan.Rows))
	}
	for _, r := range d.Bejan.Rows {
		near(t, "theta", StillAir(r.X, r.N), r.Theta, 1e-9)
		if r.N > 0 && StillAir(r.X, r.N) <= StillAir(r.X, 0) {
			t.Errorf("still air is not slower at %v", r.X)
		}
	}
	// The factor that stretches the late end is the ratio of the two laws' times.
	ratio := 1 / StillAir(1.3, stillAir)
	near(t, "stretch", (math.Pow(ratio, stillAir)-1)/stillAir, 1.3, 1e-12)
}

// A steel skin of 0.8 mm heated from one side at h 10 W/(m2 K) has tau = 301 s
// (rho 7850, c 480: derived).
func TestSkin(t *testing.T) {
	near(t, "tau, s", TimeConstant(7850, 480, 0.0008, 10), 301, 0.5)
	s, err := PanelOf(0.8, 7850, 480, 50, 20, 12, 5, 0.93)
	if err != nil || !s.Lumped {
		t.Fatalf("%+v, %v", s, err)
	}
	// h of radiation at 16 C is 4 eps sigma T3 = 5.1: half way between air and walls.
	near(t, "settles", s.SettlesC, 16, 0.2)
	near(t, "tau, min", s.TauMin, TimeConstant(7850, 480, 0.0008, 5+5.1)/60, 0.05)
	if got, want := spoken(t, s.Sentence), "Skin follows in 15 min, settles at 16.0 C."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if s, _ = PanelOf(50, 1400, 1500, 0.17, 20, 12, 5, 0.93); s.Lumped {
		t.Errorf("50 mm of plastic is one lump: %+v", s)
	}
}

func TestRemainingNever(t *testing.T) {
	for _, c := range []struct{ start, ambient, threshold float64 }{
		{40, 58, 60}, {40, 60, 60}, {60, 58, 70}, {20, 20, 25}, {40, 30, 20}, {40, math.NaN(), 50},
	} {
		if s, ok := Remaining(c.start, c.ambient, c.threshold, 1); ok {
			t.Errorf("%+v: %v", c, s)
		}
	}
	if s, ok := Remaining(20, 30, 20, 5); !ok || s != 0 {
		t.Errorf("at the start: %v %v", s, ok)
	}
	h, err := HitOf(-3, 20, 16, 3.2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "common practice: -3 to 16 C in 20 C air with tau 3.2 h", h.Hours, 5.6, 0.05)
	if got, want := spoken(t, h.Sentence), "About 5 h 36 min to 16.0 C. Read the coldest spot."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	h, _ = HitOf(-3, 14, 16, 3.2)
	if got, want := spoken(t, h.Sentence), "Never at air 14.0 C: needs 16.0 C. Heat the bay."; got != want || !h.Never {
		t.Errorf("got %q, want %q", got, want)
	}
	h, _ = HitOf(17, 20, 16, 3.2)
	if got, want := spoken(t, h.Sentence), "Already 17.0 C. Read the coldest spot."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func load(t testing.TB, into any) {
	t.Helper()
	b, err := os.ReadFile("../../testdata/reference/ref_thermal_fit.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, into); err != nil {
		t.Fatal(err)
	}
}
