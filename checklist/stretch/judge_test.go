package stretch

import (
	"math"
	"strings"
	"testing"
)

// Worked cases of the trade. The measures and paths follow from geometry; the
// verdicts are common practice, no source.
func TestWorkedCases(t *testing.T) {
	const (
		lay    = "lay"
		look   = "lay, look next day"
		floor  = "floor first, post-heat, look next day"
		limit  = "limit: inlay or relief cut advised"
		over   = "inlay" // nothing hides the place
		refuse = "refuse"
	)
	for _, c := range []struct {
		name                    string
		m                       interface{ Measure() (Strain, error) }
		path, line              float64 // mm; whole percent
		cast, print, calendered string
	}{
		{"shallow body line", Channel{Shape: V, Width: 60, Depth: 8}, 62, 3, lay, lay, look},
		{"side channel, V", Channel{Shape: V, Width: 80, Depth: 15}, 85, 7, lay, lay, refuse},
		{"side channel, trapezoid", Channel{Shape: Trapezoid, Width: 90, Depth: 20, Floor: 40}, 104, 16, floor, limit, refuse},
		{"handle pocket edge", Channel{Shape: Trapezoid, Width: 70, Depth: 18, Floor: 40}, 87, 24, floor, over, refuse},
		{"rail recess", Channel{Shape: Trapezoid, Width: 50, Depth: 20, Floor: 40}, 81, 62, over, over, refuse},
		{"mirror cap", Dome{90, 35}, 2 * 99, 10, lay, floor, refuse},
		{"high mirror cap", Dome{90, 60}, 2 * 115, 27, limit, over, refuse},
		{"rivet head", Dome{6, 2.5}, 2 * 7, 11, floor, floor, refuse},
		{"bumper corner", Dome{200, 90}, 2 * 226, 13, floor, floor, refuse},
	} {
		s := measure(t, c.m)
		half := 1.0
		if s.Dome {
			half = 2 // the case names the half arc
		}
		if got := math.Round(s.Path/half) * half; got != c.path {
			t.Errorf("%s: path %v, want %v", c.name, got, c.path)
		}
		if got := math.Round(100 * s.Line); got != c.line {
			t.Errorf("%s: strain %v %%, want %v", c.name, got, c.line)
		}
		for key, want := range map[string]string{"cast": c.cast, "cast-print": c.print, "calendered-long": c.calendered} {
			f, ok := FamilyOf(key)
			if !ok {
				t.Fatalf("no family %s", key)
			}
			if got := VerdictNames[Judge(s, f, Plan{}).Verdict]; got != want {
				t.Errorf("%s, %s: %q, want %q", c.name, f.Name, got, want)
			}
		}
	}
}

// The other numbers of the same cases, whole percents.
func TestWorkedDomes(t *testing.T) {
	for _, c := range []struct {
		d                Dome
		area, even, left float64
	}{
		{Dome{90, 35}, 15, 7, 87}, {Dome{90, 60}, 44, 20, 69}, {Dome{6, 2.5}, 17, 8, 85}, {Dome{200, 90}, 20, 10, 83},
	} {
		s := measure(t, c.d)
		for _, v := range [][2]float64{{s.Area, c.area}, {s.Even, c.even}, {s.Left, c.left}} {
			if math.Round(100*v[0]) != v[1] {
				t.Errorf("%+v: %.4f, want %v %%", c.d, v[0], v[1])
			}
		}
	}
}

// Limits are compared before rounding: 10.04 % is over 10 %, though both print
// as 10 %.
func TestComparedBeforeRounding(t *testing.T) {
	cast, _ := FamilyOf("cast")
	for _, c := range []struct {
		path float64
		want Verdict
	}{{110, Lay}, {110.04, FloorFirst}, {125, FloorFirst}, {125.04, Limit}, {130, Limit}, {130.04, Inlay}} {
		s := measure(t, Channel{Shape: Tape, Width: 100, Path: c.path})
		if a := Judge(s, cast, Plan{}); a.Verdict != c.want {
			t.Errorf("path %v: %s, want %s", c.path, VerdictNames[a.Verdict], VerdictNames[c.want])
		} else if !a.Near {
			t.Errorf("path %v: 1 mm would change the verdict, and the answer does not say so", c.path)
		}
	}
}

func TestAdvice(t *testing.T) {
	cast, _ := FamilyOf("cast")
	print, _ := FamilyOf("cast-print")
	cal, _ := FamilyOf("calendered-long")
	short, _ := FamilyOf("calendered-short")
	refl, _ := FamilyOf("reflective")
	channel := measure(t, Channel{Shape: Trapezoid, Width: 90, Depth: 20, Floor: 40})
	recess := measure(t, Channel{Shape: Trapezoid, Width: 50, Depth: 20, Floor: 40})
	shallow := measure(t, Channel{Shape: V, Width: 80, Depth: 15})
	flat := measure(t, Channel{Shape: V, Width: 80, Depth: 0})
	mirror := measure(t, Dome{90, 35})
	for _, c := range []struct {
		name   string
		a      Advice
		v      Verdict
		post   bool
		primer Primer
		say    string
	}{
		{"post-heat sets it", Judge(channel, cast, Plan{}), FloorFirst, true, AtBoth, "16 % stretch if bridged: floor first, post-heat, look next day."},
		{"no primer on a short stay", Judge(channel, cast, Plan{ShortStay: true}), FloorFirst, true, NoPrimer, "16 % stretch if bridged: floor first, post-heat, look next day."},
		{"primer never cures over-stretch", Judge(recess, cast, Plan{}), Inlay, true, NoPrimer, "62 % stretch if bridged: inlay, then film over it."},
		{"hidden by trim", Judge(recess, cast, Plan{Hidden: true}), ReliefCut, true, NoPrimer, "62 % stretch if bridged: relief cut under the trim."},
		{"ends are worse than the middle", Judge(shallow, print, Plan{}), Lay, true, AtEnds, "6.8 % stretch if bridged: lay, then post-heat."},
		{"heat does not set calendered", Judge(measure(t, Channel{Shape: V, Width: 60, Depth: 8}), cal, Plan{}), LayLook, false, NoPrimer, "3.5 % stretch if bridged: lay, look next day."},
		{"short-life takes no contour", Judge(shallow, short, Plan{}), Refuse, false, NoPrimer, "6.8 % stretch if bridged: refuse, another film."},
		{"short-life on a flat", Judge(flat, short, Plan{}), Lay, false, NoPrimer, "No stretch: lay."},
		{"reflective on a dome", Judge(mirror, refl, Plan{}), Refuse, false, NoPrimer, "9.8 % stretch if bridged: refuse, another film."},
		{"a dome has lips only", Judge(mirror, print, Plan{}), FloorFirst, true, AtLips, "9.8 % stretch if bridged: floor first, post-heat, look next day."},
	} {
		if c.a.Verdict != c.v || c.a.PostHeat != c.post || c.a.Primer != c.primer || c.a.Sentence != c.say {
			t.Errorf("%s: %s, post-heat %v, primer %s, %q", c.name, VerdictNames[c.a.Verdict], c.a.PostHeat, PrimerNames[c.a.Primer], c.a.Sentence)
		}
	}
	if a := Judge(shallow, print, Plan{}); a.Ends != FloorFirst {
		t.Errorf("ends of the shallow channel: %s", VerdictNames[a.Ends])
	}
	if channel.Drawn < 14 || channel.Drawn > 14.1 {
		t.Errorf("floor first draws %v mm from the flats, want 14.0", channel.Drawn)
	}
	if !Judge(channel, cast, Plan{}).Shift || Judge(shallow, cast, Plan{}).Shift {
		t.Error("a shift of colour shows from 15 %")
	}
}

// What an installer reads is at most a dozen words.
func TestSentencesAreShort(t *testing.T) {
	for _, f := range Families {
		for _, plan := range []Plan{{}, {Hidden: true}} {
			for d := 0.0; d <= 60; d += 0.5 {
				for _, m := range []interface{ Measure() (Strain, error) }{Channel{Shape: V, Width: 80, Depth: d}, Dome{60, d}} {
					a := Judge(measure(t, m), f, plan)
					if n := len(strings.Fields(strings.ReplaceAll(a.Sentence, " %", "%"))); n > 12 {
						t.Fatalf("%d words: %s", n, a.Sentence)
					}
				}
			}
		}
	}
}
