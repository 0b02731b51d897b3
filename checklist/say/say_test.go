package say

import "testing"

func TestPlain(t *testing.T) {
	for in, want := range map[string]string{
		"Wet: sill " + C(7.6) + ", dew point " + C(15.4) + ".": "Wet: sill 7.6 C, dew point 15.4 C.",
		"Margin " + K(-0.04) + ", needs " + K(3) + ".":         "Margin 0.0 K, needs 3.0 K.",
		Hours(6.5):                     "6 h 30 min",
		Hours(12):                      "12 h",
		Hours(0.75):                    "45 min",
		Hours(61):                      "2 d 13 h",
		Minutes(0.5):                   "30 s",
		"no marks":                     "no marks",
		"⟨t:1700000000000⟩ stays":      "⟨t:1700000000000⟩ stays",
		"⟨c:1":                         "⟨c:1",
		"⟨c:x⟩ then " + C(-3.04) + "!": "⟨c:x⟩ then -3.0 C!",
	} {
		if got := Plain(in); got != want {
			t.Errorf("Plain(%q) = %q, want %q", in, got, want)
		}
	}
}

func FuzzPlain(f *testing.F) {
	f.Add("a ⟨c:1⟩ b")
	f.Add("⟨⟨⟩⟩⟨h:-9223372036854775808⟩")
	f.Fuzz(func(t *testing.T, s string) { Plain(s) })
}
