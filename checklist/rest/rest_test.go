package rest

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// series makes a sample every ten minutes; each number is one hour at that
// temperature in C.
func series(hours ...float64) []Sample {
	var s []Sample
	at := int64(1_700_000_000_000)
	for _, c := range hours {
		for range 6 {
			s = append(s, Sample{At: at, MilliC: int32(c * 1000)})
			at += 600_000
		}
	}
	return append(s, Sample{At: at, MilliC: int32(hours[len(hours)-1] * 1000)})
}

func repeat(c float64, n int) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = c
	}
	return s
}

func count(t *testing.T, s []Sample) Counted {
	t.Helper()
	c, err := Count(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Common practice, no source: counts from 15 C, 18 C advised, half between them
// in the cautious count, pauses below.
func TestCount(t *testing.T) {
	const tenMin = 600_000
	for _, c := range []struct {
		name               string
		s                  []Sample
		ms, cautious, paus int64
	}{
		{"warm night", series(repeat(18, 12)...), 12 * hour, 12 * hour, 0},
		{"just warm", series(repeat(15, 12)...), 12 * hour, 6 * hour, 0},
		{"a thousandth too cold", series(repeat(14.999, 12)...), 0, 0, 12 * hour},
		// Between two samples the colder one holds: the step down costs ten minutes more.
		{"heater off for two hours", series(20, 20, 10, 10, 20, 20), 4*hour - tenMin, 4*hour - tenMin, 2*hour + tenMin},
		{"nothing", nil, 0, 0, 0},
		{"one sample", series(20)[:1], 0, 0, 0},
	} {
		got := count(t, c.s)
		if got.Ms != c.ms || got.CautiousMs != c.cautious || got.PausedMs != c.paus {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

func TestSilenceIsNotKnown(t *testing.T) {
	s := series(20, 20, 20)
	gap := append(append([]Sample{}, s[:6]...), s[9:]...) // 50 to 90 min: 40 min of silence
	c := count(t, gap)
	if c.UnknownMs != 40*60_000 || c.Ms != 3*hour-40*60_000 {
		t.Errorf("%+v", c)
	}
	twenty := append(append([]Sample{}, s[:6]...), s[7:]...) // exactly 20 min still vouches
	if c := count(t, twenty); c.UnknownMs != 0 || c.Ms != 3*hour {
		t.Errorf("%+v", c)
	}
}

func TestRainStartsOver(t *testing.T) {
	s := series(repeat(20, 10)...)
	s[48].Wet = true // after eight hours
	c := count(t, s)
	if c.Restarts != 1 || c.Ms != 2*hour {
		t.Errorf("%+v", c)
	}
}

func TestCountRefuses(t *testing.T) {
	for _, s := range [][]Sample{
		{{At: 2, MilliC: 20_000}, {At: 1, MilliC: 20_000}},
		{{At: 1, MilliC: 20_000}, {At: 1, MilliC: 20_000}},
		{{At: -1, MilliC: 20_000}},
		{{At: math.MaxInt64, MilliC: 20_000}},
		{{At: 1, MilliC: 61_000}},
		{{At: 1, MilliC: -41_000}},
	} {
		if c, err := Count(s); err == nil || c != (Counted{}) || !strings.Contains(err.Error(), "valid is") {
			t.Errorf("%+v: %+v, %v", s, c, err)
		}
	}
	if _, err := ReleaseOf(Counted{}, 0, 1); err == nil || err.Error() != "hours needed 0 h is out of range; valid is 1 to 336 h" {
		t.Error(err)
	}
	if _, err := ReleaseOf(Counted{}, LeastMs, -1); err == nil {
		t.Error("a moment before 1970 is accepted")
	}
	if _, err := FirstWashOf(-1); err == nil {
		t.Error("a moment before 1970 is accepted")
	}
}

func TestRelease(t *testing.T) {
	now := int64(1_700_000_000_000)
	for _, c := range []struct {
		c        Counted
		ready    bool
		earliest int64
		say      string
	}{
		{Counted{Ms: 6*hour + hour/2, CautiousMs: 6 * hour, Running: true}, false, now + 5*hour + hour/2, "Rest: 6.5 of 12 h, about ⟨t:1700019800000⟩ if it stays warm."},
		{Counted{Ms: 6*hour + hour/2}, false, now + 5*hour + hour/2, "Rest: 6.5 of 12 h. Paused: under ⟨c:15000⟩. Heat."},
		{Counted{Ms: LeastMs - 1, Running: true}, false, now + 1, "Rest: 11.9 of 12 h, about ⟨t:1700000000001⟩ if it stays warm."},
		{Counted{Ms: LeastMs, CautiousMs: LeastMs}, true, now, "Rest: 12.0 of 12 h. Re-check, then hand over."},
		{Counted{Ms: math.MaxInt64}, true, now, ""},
		{Counted{Ms: math.MinInt64}, false, now + LeastMs, ""},
	} {
		r, err := ReleaseOf(c.c, LeastMs, now)
		if err != nil {
			t.Fatal(err)
		}
		if r.Ready != c.ready || r.EarliestMs != c.earliest || c.say != "" && r.Sentence != c.say {
			t.Errorf("%+v: %+v", c.c, r)
		}
		if n := len(strings.Fields(r.Sentence)); n > 12 {
			t.Errorf("%d words: %s", n, r.Sentence)
		}
	}
}

// Lengths of time are added to instants: over the night in which the clocks go
// forward 72 hours are one hour more on the wall. (RFC 5545 and Go resolve a
// wall time in that gap to different instants; nothing here asks for one.)
func TestClockChangeDoesNotShortenTheWait(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Skip("no time zones on this machine: ", err)
	}
	laid := time.Date(2007, 3, 10, 2, 30, 0, 0, zone) // the day before 2007-03-11 02:30, which does not exist
	w, err := FirstWashOf(laid.UnixMilli())
	if err != nil {
		t.Fatal(err)
	}
	if got := time.UnixMilli(w.HandMs).Sub(laid); got != 72*time.Hour {
		t.Errorf("hand wash after %v", got)
	}
	if got := time.UnixMilli(w.RainMs).In(zone).Format("15:04"); got != "03:30" {
		t.Errorf("rain from %s on the wall, want 03:30", got)
	}
	if w.JetMs-w.LaidMs != 7*24*hour || w.JetPreferMs-w.LaidMs != 14*24*hour {
		t.Errorf("%+v", w)
	}
}

func TestTable(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range Table {
		if seen[c.Key] || c.What == "" || c.LeastMs <= 0 || c.PreferMs < c.LeastMs {
			t.Errorf("%+v", c)
		}
		seen[c.Key] = true
	}
	if _, ok := CareOf("swim"); ok {
		t.Error("an unknown row was found")
	}
}

// More samples of the same night never count more than the night was long, and
// a colder night never counts more.
func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 60).Draw(t, "n")
		warm := make([]Sample, n)
		cold := make([]Sample, n)
		at := int64(1_700_000_000_000)
		for i := range warm {
			at += rapid.Int64Range(1, 2*SilentMs).Draw(t, "step")
			c := rapid.Int32Range(-10_000, 40_000).Draw(t, "c")
			warm[i] = Sample{at, c, rapid.IntRange(0, 20).Draw(t, "wet") == 0}
			cold[i] = warm[i]
			cold[i].MilliC -= rapid.Int32Range(0, 5_000).Draw(t, "colder")
		}
		a, err := Count(warm)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Count(cold)
		if err != nil {
			t.Fatal(err)
		}
		if b.Ms > a.Ms || b.CautiousMs > a.CautiousMs {
			t.Fatalf("colder counts more: %+v, %+v", b, a)
		}
		if a.CautiousMs > a.Ms || a.Ms+a.PausedMs+a.UnknownMs > warm[n-1].At-warm[0].At {
			t.Fatalf("%+v", a)
		}
	})
}

func FuzzCount(f *testing.F) {
	f.Add(int64(0), int64(600_000), int32(20_000), int32(15_000), true)
	f.Add(int64(math.MinInt64), int64(math.MaxInt64), int32(math.MinInt32), int32(math.MaxInt32), false)
	f.Fuzz(func(t *testing.T, a, b int64, x, y int32, wet bool) {
		c, err := Count([]Sample{{a, x, false}, {b, y, wet}})
		if err != nil {
			return
		}
		if c.Ms < 0 || c.CautiousMs < 0 || c.PausedMs < 0 || c.UnknownMs < 0 || c.Ms > b-a {
			t.Fatalf("%+v", c)
		}
		if r, err := ReleaseOf(c, LeastMs, b); err == nil && (r.RemainingMs < 0 || r.EarliestMs < b || r.LatestMs < r.EarliestMs) {
			t.Fatalf("%+v", r)
		}
	})
}

func BenchmarkCount(b *testing.B) {
	s := series(repeat(18, 24)...)
	b.ReportAllocs()
	for b.Loop() {
		Count(s)
	}
}

func TestCountAllocatesNothing(t *testing.T) {
	s := series(repeat(18, 24)...)
	if n := testing.AllocsPerRun(100, func() { Count(s) }); n != 0 {
		t.Errorf("Count allocates %v times", n)
	}
}
