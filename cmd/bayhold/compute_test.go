package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// compute runs a line as typed, without quotes.
func compute(line string) (stdout, stderr string, code int) {
	var out, errs bytes.Buffer
	code = runCompute(strings.Fields(line), &out, &errs)
	return out.String(), errs.String(), code
}

type computed struct {
	Science  string
	Inputs   map[string]any
	Answer   map[string]any
	Sentence string
}

func mustJSON(t *testing.T, line string) computed {
	t.Helper()
	out, errs, code := compute(line + " --json")
	if code != 0 {
		t.Fatalf("%s: exit %d: %s", line, code, errs)
	}
	var c computed
	if err := json.Unmarshal([]byte(out), &c); err != nil {
		t.Fatalf("%s: %v in %s", line, err, out)
	}
	return c
}

// number is a value of the answer, in that unit.
func (c computed) number(t *testing.T, name, unit string) float64 {
	t.Helper()
	m, ok := c.Answer[name].(map[string]any)
	if !ok {
		t.Fatalf("%s has no number %s: %v", c.Science, name, c.Answer[name])
	}
	if m["unit"] != unit {
		t.Errorf("%s: %s is in %v, want %s", c.Science, name, m["unit"], unit)
	}
	return m["value"].(float64)
}

// Dew points in the units typed, against PsychroLib (ASHRAE Handbook
// Fundamentals 2017) in Fahrenheit; 0.05 K is 0.09 F.
func TestComputeDewPointInFahrenheit(t *testing.T) {
	b, err := os.ReadFile("../../testdata/reference/ref_psychro_ip_spot.json")
	if err != nil {
		t.Fatal(err)
	}
	var table struct{ Rows []map[string]float64 }
	if err := json.Unmarshal(b, &table); err != nil {
		t.Fatal(err)
	}
	rows := table.Rows
	if len(rows) != 16 {
		t.Fatalf("%d rows, want 16", len(rows))
	}
	for _, r := range rows {
		c := mustJSON(t, fmt.Sprintf("dew-point --air %vF --rh %v", r["t_f"], r["rh_pct"]))
		if got := c.number(t, "dew-point", "F"); math.Abs(got-r["tdew_f"]) > 0.09 && r["tdew_f"] > 32 {
			t.Errorf("%v: %v, want %v", r, got, r["tdew_f"])
		}
	}
}

// Answers that the packages' own tests check against their sources, through
// the command line and in the units typed.
func TestComputeAnswers(t *testing.T) {
	for _, c := range []struct {
		line, name, unit string
		want, tol        float64
	}{
		{"channel --shape V --width 6in --depth 4in", "bridged", "%", 200.0 / 3.0, 1e-9}, // two 3-4-5 triangles
		{"channel --shape V --width 6in --depth 4in", "path", "in", 10, 1e-9},
		{"channel --shape V --width 152.4 --depth 10.16cm", "path", "mm", 254, 1e-9},
		{"dome --half-width 40mm --height 30mm", "area", "%", 56.25, 1e-9},
		{"dome --half-width 40mm --height 30mm", "film-left", "%", 64, 1e-9},
		{"taped-dome --way 100mm,157.0796mm --way 100mm,157.0796mm", "area", "%", 100, 1e-3}, // half a ball
		{"pace --length 60in --pace 3s", "time", "s", 180, 1e-9},
		{"cooling --thickness 100um --air 75F --from 180F --to 150F --h 10 --sides 1", "time", "s", 5.57, 0.005},
		{"cooling --thickness 100um --air 75F", "on-bare-steel-at-once", "F", 79.11, 0.01},
		{"post-heat --length 78m --took 12min", "least", "min", 65, 1e-9},
		{"drops --side 12m --width 1370mm", "drops", "", 10, 0},
		{"rest --stood 8h,64.4F --stood 3h,59F", "counted", "h", 11, 1e-9}, // 18 C and 15 C
		{"rest --stood 8h,64.4F --stood 3h,59F", "low", "h", 9.5, 1e-9},
		{"paint-wait --cure air-dried --stood 14d,50F", "counted", "d", 7, 1e-9},
		{"dew-point --air 25C --rh 80", "dew-point", "C", 21.3094, 0.05}, // PsychroLib's own example
		{"seam --depth 5mm --air 21C --rh 50 --panel 21C", "time", "h", 15.24, 0.15},
		{"margin --air 16C --rh 71 --surface 13C", "margin", "K", 2.25, 0.05}, // a published note on painting steel
	} {
		if got := mustJSON(t, c.line).number(t, c.name, c.unit); !(math.Abs(got-c.want) <= c.tol) {
			t.Errorf("%s: %s %v %s, want %v", c.line, c.name, got, c.unit, c.want)
		}
	}
}

// A difference in F takes no 32, and 5 F is not 3 K: air 70 F and 65 %, panel
// 62.9 F keeps 5 F and not 3 K.
func TestComputeDifferencesTakeNoOffset(t *testing.T) {
	line := "margin --air 70F --rh 65 --surface 62.9F"
	c := mustJSON(t, line+" --need 5F")
	if got := c.number(t, "needed", "F"); math.Abs(got-5) > 1e-9 || c.Answer["enough"] != true {
		t.Errorf("needs %v F, enough %v", got, c.Answer["enough"])
	}
	if got := c.number(t, "margin", "F"); math.Abs(got-5.19) > 0.09 {
		t.Errorf("margin %v F, want 5.19", got)
	}
	if c := mustJSON(t, line+" --need 3K"); c.Answer["enough"] != false || math.Abs(c.number(t, "needed", "F")-5.4) > 1e-9 {
		t.Errorf("%v", c.Answer)
	}
}

// Limits are compared in what was typed, not in what is shown: 60 F is 15.5556 C
// and neither 15.5 nor 15.6.
func TestComputeComparesBeforeRounding(t *testing.T) {
	for _, c := range []struct{ line, name, want string }{
		{"film-heat --work press --film 150F", "state", "right"},
		{"film-heat --work press --film 149.99F", "state", "too cold"},
		{"patch-test --stood 24h --coldest 68F --cycle 122F --thickest", "outcome", "no gas seen"},
		{"patch-test --stood 24h --coldest 67.9F --cycle 122F --thickest", "outcome", "not valid"},
		{"patch-test --stood 24h --coldest 68F --cycle 121.9F --thickest", "outcome", "not valid"},
		{"film --surface simple-curve --stay 5years --radius 10cm", "calendered-long", "first choice: radius over 100 mm"},
		{"film --surface simple-curve --stay 5years --radius 99.9mm", "calendered-long", "refused: radius under 100 mm: calendered film springs back"},
	} {
		if got := mustJSON(t, c.line).Answer[c.name]; got != c.want {
			t.Errorf("%s: %v, want %s", c.line, got, c.want)
		}
	}
}

// RH 100 % is 'never', in text and in JSON, which has no infinity.
func TestComputeNever(t *testing.T) {
	line := "seam --depth 5mm --air 21C --rh 100 --panel 21C"
	if got, ok := mustJSON(t, line).Answer["time"].(map[string]any); !ok || got["never"] != true {
		t.Errorf("%v", got)
	}
	out, _, _ := compute(line)
	if !regexp.MustCompile(`(?m)^  time +never$`).MatchString(out) {
		t.Error(out)
	}
}

// What is typed wrong is refused with the reason and what is valid, in the unit
// typed, and nothing is computed.
func TestComputeRefuses(t *testing.T) {
	for _, c := range []struct {
		line, want string
		code       int
	}{
		{"dew-point --air 60F --rh 130", "--rh 130: relative humidity 130 is out of range; valid is 0.001 to 100 %", 2},
		{"dew-point --air 600F --rh 50", "--air 600F: air temperature 600F is out of range; valid is -40 to 140 F", 2},
		{"dew-point --air 15,5C --rh 50", `"15,5C" has a unit that does not fit (C, F, K do); valid is -40 to 60 C`, 2},
		{"dew-point --air NaN --rh 50", `"NaN" is not a number with a unit`, 2},
		{"dew-point --air 15mm --rh 50", `"15mm" has a unit that does not fit (C, F, K do)`, 2},
		{"dew-point --air 1e999C --rh 50", "is not a number that fits", 2},
		{"dew-point --rh 50", "missing --air (air temperature -40 to 60 C)", 2},
		{"dew-point --air 60F --rh 50 now", `"now" is not an input`, 2},
		{"dew-point --air 60F --air 70F --rh 50", "is given twice", 2},
		{"dew-point --dry 60F", "-dry; '--help' lists the inputs", 2},
		{"fortune --air 60F", `there is no science "fortune"; 'bayhold compute' lists them`, 2},
		{"channel --shape V --width -3in --depth 1in", "--width -3in: width -3in is out of range; valid is 0.03937 to 78.74 in", 2},
		{"channel --shape U --width 3in", "is none of its words; valid is round, parabola, V, trapezoid, tape", 2},
		{"channel --shape V --width 3in", "missing --depth", 1},
		{"channel --shape tape --width 3in", "missing --path", 1},
		{"dome --half-width 3in --height 5in", "height 5 in is more than the half-width; valid is 0 to 3 in", 1},
		{"cooling --thickness 4mil --air 60F --from 180F --to 60F", "never cools the film so far; valid is over 60.9 F", 1},
		{"warm-up --reading 0min --air 72F --threshold 60F", "has 1 values; valid is min,C", 2},
		{"warm-up --air 72F --threshold 60F", "missing --reading", 2},
		{"hang-order --piece a --piece b --lap a,b,airflow --lap b,a,airflow", "circle by airflow: a under b under a; strike one lap", 1},
		{"hang-order --piece a --lap a,c,water", `lap names piece "c"`, 1},
		{"hang-order --piece a --piece a", `piece "a" is listed twice`, 1},
		{"first-wash --laid yesterday", "is not a moment; valid is like", 2},
		{"infrared --read 60F --mirrored 75F --emissivity 0.1", "valid is 0.6 to 1", 2},
		{"infrared --read 60F --mirrored 75F --on paint --emissivity 0.9", "both given", 1},
	} {
		out, errs, code := compute(c.line)
		if code != c.code || out != "" || !strings.Contains(errs, c.want) || strings.Count(errs, "\n") != 1 {
			t.Errorf("%s: exit %d, %q, want %q", c.line, code, errs, c.want)
		}
	}
}

// Every science: its help names every input with its range, its example runs
// in both forms, says at most a dozen words, and each of its numbers is refused
// just outside of its range.
func TestEveryScience(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range sciences() {
		if seen[s.name] || s.about == "" || s.screen == "" {
			t.Errorf("%s: a science needs a name of its own, what it is and its screen", s.name)
		}
		seen[s.name] = true
		help, _, code := compute(s.name + " --help")
		for _, in := range s.inputs {
			if code != 0 || !strings.Contains(help, "--"+in.key+" ") || in.meaning() == "" {
				t.Errorf("%s --help does not explain --%s", s.name, in.key)
			}
		}
		out, errs, code := compute(s.name + " " + s.example)
		if code != 0 || strings.Contains(out, "⟨") || strings.Contains(out, "NaN") || strings.Contains(out, "Inf") {
			t.Errorf("%s %s: exit %d\n%s%s", s.name, s.example, code, out, errs)
			continue
		}
		if c := mustJSON(t, s.name+" "+s.example); c.Science != s.name || c.Sentence == "" || len(c.Answer) == 0 {
			t.Errorf("%s: %+v", s.name, c)
		}
		given, _, err := s.parse(strings.Fields(s.example))
		if err != nil {
			t.Fatal(err)
		}
		a, err := s.run(given)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(strings.Fields(strings.ReplaceAll(a.sentence, " %", "%"))); n > 12 || !strings.HasSuffix(a.sentence, ".") && !strings.HasSuffix(a.sentence, "?") {
			t.Errorf("%s: %d words: %s", s.name, n, a.sentence)
		}
		for _, in := range s.inputs {
			if len(in.parts) > 1 || in.yes || in.when || len(in.parts[0].words) > 0 {
				continue
			}
			p := in.parts[0]
			for _, bad := range []float64{p.Low - 1, p.High + 1} {
				line := fmt.Sprintf("%s %s --%s %v%s", s.name, without(s.example, in.key), in.key, bad, p.Unit)
				if out, errs, code := compute(line); code == 0 || out != "" || !strings.Contains(errs, "valid is") {
					t.Errorf("%s: exit %d %s%s", line, code, out, errs)
				}
			}
		}
	}
	for _, want := range []string{"dew-point", "margin", "open-film", "seam", "sweat", "flush", "warm-up", "channel", "dome", "film", "pace",
		"post-heat", "cooling", "infrared", "primer", "paint-wait", "patch-test", "drops", "take-off", "hang-order", "rest", "first-wash"} {
		if !seen[want] {
			t.Errorf("there is no science %s", want)
		}
	}
	out, _, code := compute("")
	for name := range seen {
		if code != 0 || !strings.Contains(out, "  "+name+" ") {
			t.Errorf("the list lacks %s", name)
		}
	}
}

// without takes an input and its value out of a line.
func without(line, key string) string {
	ws := strings.Fields(line)
	for i := slices.Index(ws, "--"+key); i >= 0; i = slices.Index(ws, "--"+key) {
		ws = slices.Delete(ws, i, i+2)
	}
	return strings.Join(ws, " ")
}

// A factor typed wrong would pass every range: the exact ones of NIST SP 811
// appendix B stand here a second time.
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		typed, of string
		want      float64
	}{
		{"60F", "C", 15.555555556}, {"-40F", "C", -40}, {"212 F", "C", 100}, {"273.15K", "C", 0},
		{"5.4F", "K", 3}, {"3C", "K", 3}, {"1in", "mm", 25.4}, {"1ft", "mm", 304.8}, {"2mil", "um", 50.8}, {"2mil", "mm", 0.0508},
		{"3ft", "m", 0.9144}, {"60in", "m", 1.524}, {"90s", "min", 1.5}, {"2d", "h", 48}, {"2years", "months", 24}, {"365.25d", "months", 12},
		{"1Btu/hft2F", "W/m2K", 5.678263341}, {"80", "%", 80}, {".5", "", 0.5}, {"1e3mm", "mm", 1000},
	} {
		got, unit, err := measure(c.typed, c.of)
		if err != nil || math.Abs(got-c.want) > 1e-8 {
			t.Errorf("%s: %v, %v, want %v %s", c.typed, got, err, c.want, c.of)
		}
		if back := inUnit(got, c.of, unit); math.Abs(back-inUnit(c.want, c.of, unit)) > 1e-8 {
			t.Errorf("%s comes back as %v", c.typed, back)
		}
	}
}

func FuzzCompute(f *testing.F) {
	for _, s := range sciences() {
		f.Add(s.name + " " + s.example + " --json")
	}
	f.Add("dew-point --air Inf --rh 1e-320 --json")
	f.Add("take-off --piece a,1e9,0 --width -0 --json")
	f.Fuzz(func(t *testing.T, line string) {
		out, errs, code := compute(line)
		switch code {
		case 0:
			if out == "" || errs != "" {
				t.Fatalf("%q: %q %q", line, out, errs)
			}
			if strings.Contains(line, "--json") && strings.HasPrefix(out, "{") && !json.Valid([]byte(out)) {
				t.Fatalf("%q: %s", line, out)
			}
		case 1, 2:
			if out != "" || errs == "" {
				t.Fatalf("%q: exit %d, %q %q", line, code, out, errs)
			}
		default:
			t.Fatalf("%q: exit %d", line, code)
		}
		if nan.MatchString(out) {
			t.Fatalf("%q: %s", line, out)
		}
	})
}

var nan = regexp.MustCompile(`\b(NaN|[+-]?Inf)\b`)
