package removal

import (
	"strings"
	"testing"
)

// The methods as the trade has them: common practice, no source. 70 F is
// 21.1 C, which is inside the row of removable film.
func TestMethods(t *testing.T) {
	want := map[string][6]int64{ // low and high C, angle, mm a minute
		"cast":       {45, 60, 130, 160, 1000, 2000},
		"cast-old":   {60, 70, 130, 160, 300, 600},
		"calendered": {55, 70, 90, 150, 300, 1000},
		"removable":  {20, 40, 150, 150, 2000, 3000},
		"reflective": {60, 75, 0, 0, 200, 500},
		"repaint":    {35, 45, 160, 170, 200, 300},
	}
	if len(want) != len(Methods) {
		t.Errorf("%d rows", len(Methods))
	}
	for _, m := range Methods {
		got := [6]int64{int64(m.LowMilliC) / 1000, int64(m.HighMilliC) / 1000, m.AngleLow, m.AngleHigh, m.SpeedLow, m.SpeedHigh}
		if got != want[m.Key] {
			t.Errorf("%s: %v, want %v", m.Key, got, want[m.Key])
		}
		if m.HighMilliC >= 80_000 {
			t.Errorf("%s: paint stays under 80 C", m.Key)
		}
		for _, s := range []string{m.Expect, AngleIs, AngleEnds} {
			if n := len(strings.Fields(s)); n > 12 || !strings.HasSuffix(s, ".") {
				t.Errorf("%q", s)
			}
		}
	}
}

func TestMethodOf(t *testing.T) {
	for _, c := range []struct {
		kind          string
		years         int
		sun, repaint  bool
		want          string
		withoutHeat   bool
		nobodyCanTell bool
	}{
		{"cast", 5, false, false, "cast", false, false},
		{"cast", 7, false, false, "cast-old", false, false},
		{"cast", 3, true, false, "cast-old", false, false},
		{"calendered", 3, false, false, "calendered", false, false},
		{"removable", 1, false, false, "removable", true, false},
		{"removable", 3, false, false, "cast", false, false},
		{"removable", 7, false, false, "cast-old", false, false},
		{"reflective", 0, false, false, "reflective", false, false},
		{"removable", 1, false, true, "repaint", false, false},
		{"unknown", 0, false, true, "repaint", false, false},
		{"cast", 0, false, false, "", false, true},
		{"unknown", 3, false, false, "", false, true},
	} {
		m, ok := MethodOf(c.kind, c.years, c.sun, c.repaint)
		if ok == c.nobodyCanTell || ok && (m.Key != c.want || m.NoHeat != c.withoutHeat) {
			t.Errorf("%+v: %+v", c, m)
		}
	}
}

// 300 by 300 mm in 6 min is 0.09 m2: 66 min 40 s a square metre, 10 m2 in
// 11 h 6 min 40 s; in 14 min it is 25 h 55 min 33 s.
func TestHours(t *testing.T) {
	low, high := Hours(10*M2, []Strip{{14 * 60_000, 90_000}, {6 * 60_000, 90_000}})
	if low != 40_000_000 || high < 93_333_000 || high > 93_334_000 {
		t.Errorf("%d to %d ms", low, high)
	}
	if low, high = Hours(10*M2, nil); low != 0 || high != 0 {
		t.Errorf("%d to %d without a strip", low, high)
	}
	if (Strip{1, 0}).PerM2() != 0 {
		t.Error("a strip of no area has a pace")
	}
}
