package main

import (
	"strconv"
	"testing"
	"time"
)

func TestMarks(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 1, 14, 8, 0, 0, 0, berlin)
	ms := func(day, hour, min int) string {
		return "⟨t:" +
			strconv.FormatInt(time.Date(2026, 1, day, hour, min, 0, 0, berlin).UnixMilli(), 10) + "⟩"
	}
	metric := reader{zone: berlin, now: now}
	imperial := reader{zone: berlin, now: now, fahrenheit: true}
	for _, c := range []struct {
		r        reader
		in, want string
	}{
		{metric, "from " + ms(14, 12, 20), "from 12:20"},
		{metric, "lay " + ms(15, 7, 30), "lay Thu 07:30"},
		{metric, "from " + ms(25, 7, 30), "from 25 Jan 07:30"},
		{metric, "Wet: sill ⟨c:7600⟩, dew point ⟨c:15400⟩.", "Wet: sill 7.6 C, dew point 15.4 C."},
		// NIST SP 811 appendix B.9: t/F = 1.8 t/C + 32. 3 K of difference is 5.4 F.
		{imperial, "sill ⟨c:7600⟩, margin ⟨k:3000⟩", "sill 45.7 F, margin 5.4 F"},
		{metric, "margin ⟨k:-7800⟩", "margin -7.8 K"},
		{metric, "⟨c:-40⟩", "0.0 C"}, // never -0.0
		{metric, "Drying: ⟨h:23400000⟩ of ⟨h:43200000⟩.", "Drying: 6.5 h of 12 h."},
		{metric, "Wipe good ⟨h:899999⟩.", "Wipe good 14 min."},
		{metric, "⟨h:43199999⟩", "11.9 h"}, // 12 h less a millisecond is not 12 h
		{metric, "⟨x:1⟩ stays", "⟨x:1⟩ stays"},
	} {
		if got := c.r.marks(c.in); got != c.want {
			t.Errorf("%q: %q, want %q", c.in, got, c.want)
		}
	}
}
