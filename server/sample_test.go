package server

import (
	"strings"
	"testing"
	"time"
)

func TestSampleThatIsRefused(t *testing.T) {
	now := time.Date(2026, 1, 14, 8, 0, 0, 0, time.UTC)
	for _, c := range []struct{ raw, says string }{
		{`{"at":"2026-01-14T07:50:00Z","air_c":19.8,"rh_pct":74}`, ""},
		{`{"at":"2026-01-14T08:50:00+01:00","air_c":-12,"rh_pct":100}`, ""},
		{`{"at":"2026-01-14T08:01:30Z","air_c":19.8,"rh_pct":74}`, ""}, // a clock a little ahead
		{`{"at":"2026-01-14T07:50:00Z","surfaces":[{"job":"V5","spot":"1","c":7.6}]}`, ""},

		{`{"at":"2026-01-14T07:50:00Z","air_c":19.8,"rh_pct":140}`, "rh_pct 140 is no relative humidity"},
		{`{"at":"2026-01-14T07:50:00Z","air_c":19.8,"rh_pct":-1}`, "no relative humidity"},
		{`{"at":"2026-01-14T07:50:00Z","air_c":19.8,"rh_pct":0}`, "sensor gives nothing"},
		{`{"at":"2026-01-14T07:50:00Z","air_c":19.8,"rh_pct":0.74}`, "send percent"},
		{`{"at":"2026-01-14T07:50:00Z","air_c":68,"rh_pct":50}`, "Fahrenheit? 68 F would be 20.0 C"},
		{`{"at":"2026-01-14T07:50:00Z","air_c":293.15,"rh_pct":50}`, "kelvin"},
		{`{"at":"2026-01-14T07:50:00Z","air_c":-80,"rh_pct":50}`, "outside -40 to 50 C"},
		{`{"at":"2026-01-15T08:00:00Z","air_c":19.8,"rh_pct":74}`, "lies in the future"},
		{`{"at":"2000-01-01T00:00:00Z","air_c":19.8,"rh_pct":74}`, "30 days ago"},
		{`{"at":"14.01.2026 07:50","air_c":19.8,"rh_pct":74}`, "RFC 3339"},
		{`{"air_c":19.8,"rh_pct":74}`, "RFC 3339"},
		{`{"at":"2026-01-14T07:50:00Z","air_c":19.8}`, "belong together"},
		{`{"at":"2026-01-14T07:50:00Z","rh_pct":50}`, "belong together"},
		{`{"at":"2026-01-14T07:50:00Z"}`, "no value"},
		{`{"at":"2026-01-14T07:50:00Z","air_f":68,"rh_pct":50}`, "air_f"},
		{`{"at":"2026-01-14T07:50:00Z","air_c":"19,8","rh_pct":50}`, "no sample"},
		{`{"at":"2026-01-14T07:50:00Z","surfaces":[{"job":"V5","c":7.6}]}`, "its job and its spot"},
		{`{"at":"2026-01-14T07:50:00Z","surfaces":[{"job":"V5","spot":"1"}]}`, "has no c"},
		{`{"at":"2026-01-14T07:50:00Z","surfaces":[{"job":"V5","spot":"1","c":400}]}`, "outside -50 to 120 C"},
		{`[1,2]`, "no sample"},
		{`null`, "RFC 3339"},
	} {
		s, why := readSample([]byte(c.raw), now)
		if c.says == "" && why != "" || !strings.Contains(why, c.says) {
			t.Errorf("%s: %q, want %q", c.raw, why, c.says)
		}
		if c.says == "" && s.at == 0 {
			t.Errorf("%s: taken without its time", c.raw)
		}
	}
	// Thousandths are rounded, not cut: 19.799999999999997 is what 19.8 can
	// become on its way through a logger's sums.
	if s, _ := readSample([]byte(`{"at":"2026-01-14T07:50:00Z","air_c":19.799999999999997,"rh_pct":74.0004}`), now); s.air != 19800 || s.rh != 74000 {
		t.Errorf("air %d, rh %d", s.air, s.rh)
	}
}

func FuzzReadSample(f *testing.F) {
	f.Add([]byte(`{"at":"2026-01-14T07:50:00Z","air_c":19.8,"rh_pct":74,"surfaces":[{"job":"V5","spot":"1","c":7.6}]}`))
	now := time.Date(2026, 1, 14, 8, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, raw []byte) {
		s, why := readSample(raw, now)
		if why == "" && s.climate && (s.rh <= 0 || s.rh > 100_000 || s.air < -40_000 || s.air > 50_000) {
			t.Fatalf("taken: %+v", s)
		}
	})
}
