package checklist_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/heat"
	"bayhold/checklist/paint"
	"bayhold/checklist/primer"
	"bayhold/checklist/removal"
	"bayhold/checklist/rest"
)

// TestNumbersOfTheTrade: every default, as the trade says it. All of them are
// common practice, no source; Fahrenheit and inches are turned into SI by their
// definitions (NIST SP 811: t/C = (t/F - 32)/1.8, 1 inch = 25.4 mm) and stand
// here rounded to the thousandth in which readings are kept. A default that
// somebody changes, or a new one that nobody wrote here, fails.
func TestNumbersOfTheTrade(t *testing.T) {
	const (
		min = 60_000
		h   = 60 * min
		d   = 24 * h
	)
	f := func(f float64) int64 { return int64(math.Round((f - 32) / 1.8 * 1000)) }
	trade := map[string]int64{
		"surface_floor":      f(60), // surface at least 60 F on contours
		"surface_floor_flat": f(60), // cast on flats lower only as its sheet says
		"surface_ceiling":    32_000,
		"air_floor":          f(60), // air 60 to 90 F
		"air_ceiling":        f(90),
		"air_apart":          5_000,  // air and surface within 5 K
		"margin":             3_000,  // 3 K above the dew point
		"dry_floor":          10_000, // counted from 10 C,
		"dry_rh":             70_000, // at 70 % or less
		"dry_hours":          12 * h, // overnight indoors
		"dry_hours_raw":      24 * h, // not blown out
		"dry_hours_bus":      24 * h, // laps and rivets
		"sweat_hours":        12 * h,
		"water_hours":        4 * h, // after the last visible water, with six dry strips
		"card_strips":        6,
		"sill_hours":         4 * h, // rain tracked on sills: 2 to 4 h
		"drip_hours":         4 * h, // drips: 1 to 4 h more
		"silence":            20 * min,
		"outside":            24 * h,
		"vouch":              60 * min, // a hand reading vouches an hour,
		"vouch_short":        15 * min, // 15 min after a door, heater or wash
		"settle":             30 * min, // read the surface again after 30 min
		"wipe_shelf":         30 * min,
		"check_after":        31 * d,   // each month, against each other and over wet salt
		"wipe_shelf_hot":     15 * min, // above 28 C or in dust
		"wipe_hot":           28_000,
		"door_open":          5 * min,
		"primer_base":        6 * min, // 6 min at 21 C
		"primer_at":          21_000,
		"primer_floor":       10_000, // not under 10 to 12 C
		"primer_open":        60 * min,
		"keep_days":          0, // nothing is erased before the lead says so: local law and the guarantee decide
		"error_contact":      500,
		"error_infrared":     1_000,
		"error_logger":       500,
		"error_unknown":      1_000,
		"degas":              24 * h, // 24 to 48 h
		"laminate_rest":      12 * h, // 12 to 24 h
		"film_in_bay":        12 * h, // 12 to 24 h
		"settle_film":        30 * min,
		"rest_hours":         12 * h, // 12 h at least, 24 preferred
		"rest_floor":         15_000, // counts from 15 C, 18 advised
		"rest_advised":       18_000,
		"recheck_after":      24 * h, // 24 to 48 h
		"risen_share":        5_000,  // under 5 %
		"call_back":          7 * d,  // 7 to 14 days
		"recheck_late":       48 * h,
		"heat_film":          90_000, // 90 to 105 C behind the nozzle
		"heat_plastic":       75_000, // 75 to 90, twice
		"heat_paint":         60_000,
		"heat_paint_most":    80_000, // fresh paint under 80
		"heat_calendered":    60_000, // 60 to 75
		"heat_reflective":    50_000, // 50 to 70
		"heat_damage":        120_000,
		"lay_long":           6 * h, // a side takes 2 to 4 h; longer is no side in hand
		"trial_strips":       3,
		"pull_floor":         18_000, // vehicle through 18 C
		"pull_no_heat":       f(70),  // removable without heat at 70 F
		"paint_baked":        7 * d,
		"paint_air":          21 * d, // 14 to 21 days, 30 preferred
		"paint_unknown":      30 * d, // over filler, over 300 um, or nobody knows
		"paint_factory":      150,    // 80 to 150 um
		"paint_thick":        300,
		"paint_cold":         5_000, // 'stood outside at 5 C: those days count little'
		"patch_stand":        24 * h,
		"patch_floor":        20_000,
		"patch_places":       3,
		"patch_warm":         50_000, // 50 to 60 C for an hour
		"patch_warm_most":    60_000,
		"patch_warm_for":     h,
		"patch_again":        7 * d,
	}
	got := checklist.DefaultRules()
	for key, want := range trade {
		if n, ok := got[key]; !ok || n != want {
			t.Errorf("%s is %d, the trade says %d", key, n, want)
		}
	}
	seen := map[string]bool{}
	for _, r := range checklist.RuleTable {
		if seen[r.Key] {
			t.Errorf("%s stands twice", r.Key)
		}
		seen[r.Key] = true
		if _, ok := trade[r.Key]; !ok {
			t.Errorf("%s = %d: write here what the trade says", r.Key, r.Default)
		}
		if r.What == "" || r.Source == "" || !strings.Contains(" mC mK m% ms um n ", " "+r.Unit+" ") {
			t.Errorf("%s: unit %q, %q, %q", r.Key, r.Unit, r.What, r.Source)
		}
	}
}

// The same number stands in the rule table and in a science: it cannot drift.
func TestOneNumberInTwoPlaces(t *testing.T) {
	const h, d = 3_600_000, 24 * 3_600_000
	wait := func(key string) int64 {
		c, ok := paint.CureOf(key)
		if !ok {
			t.Fatal(key)
		}
		return int64(c.WaitDays * d)
	}
	noHeat := int64(0)
	for _, m := range removal.Methods {
		if m.NoHeat {
			noHeat = int64(m.LowMilliC)
		}
	}
	got := checklist.DefaultRules()
	if got["pull_no_heat"] < noHeat {
		t.Errorf("removable film is pulled from %d, its row begins at %d", got["pull_no_heat"], noHeat)
	}
	for _, c := range []struct {
		key     string
		science int64
	}{
		{"rest_hours", rest.LeastMs}, {"rest_floor", rest.CountsFromMilliC}, {"rest_advised", rest.AdvisedMilliC}, {"silence", rest.SilentMs},
		{"paint_baked", wait("baked")}, {"paint_air", wait("air-dried")}, {"paint_unknown", wait("unknown")}, {"paint_unknown", wait("thick")},
		{"paint_cold", paint.NoneMilliC},
		{"patch_stand", paint.PatchHours * h}, {"patch_floor", paint.PatchColdestC * 1000}, {"patch_floor", paint.WholeMilliC}, {"patch_places", paint.PatchPlaces},
		{"patch_warm", paint.PatchCycleLowC * 1000}, {"patch_warm_most", paint.PatchCycleHighC * 1000},
		{"patch_warm_for", paint.PatchCycleHours * h}, {"patch_again", paint.RepeatDays * d},
		// At the tin's temperature primer takes the tin's time.
		{"primer_base", primer.MinimumMillis(got["primer_base"], int32(got["primer_at"]), int32(got["primer_at"]))},
	} {
		if got[c.key] != c.science {
			t.Errorf("%s is %d in the rules, %d in the science", c.key, got[c.key], c.science)
		}
	}
}

// The tables of the sciences, as the trade says them: common practice, no
// source.
func TestTablesOfTheTrade(t *testing.T) {
	f := func(f float64) int32 { return int32(math.Round((f - 32) / 1.8 * 1000)) }
	targets := map[string][2]int32{
		"shape": {35_000, 45_000}, "deep": {45_000, 60_000}, "recover": {60_000, 80_000},
		"press":     {f(150), 90_000}, // 180 F to press, again below 150 F
		"post-heat": {90_000, 105_000}, "post-heat-plastic": {75_000, 90_000},
		"post-heat-paint": {60_000, 79_999}, // under 80 C
		"calendered":      {60_000, 75_000}, "reflective": {50_000, 70_000},
	}
	for _, x := range heat.Targets {
		if targets[x.Key] != [2]int32{x.LowMilli, x.HighMilli} {
			t.Errorf("%s: %d to %d", x.Key, x.LowMilli, x.HighMilli)
		}
	}
	if len(heat.Targets) != len(targets) || heat.DamageMilli != 120_000 {
		t.Errorf("%d targets, damage from %d", len(heat.Targets), heat.DamageMilli)
	}
	// About 200 F, one inch in 2 to 3 s; 78 m in under 65 min would be
	// unbelievable (0.6 to 1.2 m a minute).
	if x, _ := heat.TargetOf("post-heat"); f(200) < x.LowMilli || f(200) > x.HighMilli {
		t.Error("200 F is no post-heat")
	}
	if got := heat.LeastMs(78_000, 0, 1); got != 65*60_000 {
		t.Errorf("78 m take at least %d ms", got)
	}
	cures := map[string]string{"factory": "0 0 0 false", "baked": "7 7 7 false", "air-dried": "14 21 30 false", "thick": "30 30 30 true", "unknown": "30 30 30 true"}
	for _, c := range paint.Cures {
		if got := fmt.Sprint(c.LeastDays, c.WaitDays, c.PreferDays, c.Patch); got != cures[c.Key] {
			t.Errorf("%s: %s", c.Key, got)
		}
	}
	if len(paint.Cures) != len(cures) || rest.PreferredMs != 24*3_600_000 {
		t.Errorf("%d cures, rest of %d preferred", len(paint.Cures), rest.PreferredMs)
	}
}
