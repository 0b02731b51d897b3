// Package say writes the numbers of a science's sentence as marks, so that the
// edge can show them in the shop's units, and expands them for a place that
// has no edge of its own.
//
// The marks are those of a gate's sentences: ⟨c:N⟩ a temperature in
// milli-degrees Celsius, ⟨k:N⟩ a difference of temperatures in milli-kelvin,
// ⟨h:MS⟩ a length of time in milliseconds. They hold integers: a sentence is
// the same on every processor, and a difference can never take the 32 degrees
// that a temperature takes on its way to Fahrenheit.
package say

import (
	"math"
	"strconv"
	"strings"
)

// C writes a temperature in C.
func C(celsius float64) string { return mark('c', celsius*1000) }

// K writes a difference of temperatures in K.
func K(kelvin float64) string { return mark('k', kelvin*1000) }

// Hours writes a length of time given in hours.
func Hours(h float64) string { return mark('h', h*3.6e6) }

// Minutes writes a length of time given in minutes.
func Minutes(min float64) string { return mark('h', min*6e4) }

func mark(kind byte, v float64) string {
	return "⟨" + string(kind) + ":" + strconv.FormatInt(int64(math.Round(v)), 10) + "⟩"
}

// Number writes v with that many decimals, and never a minus in front of zero.
func Number(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// Plain expands the marks of a sentence to metric text: 7.6 C, 3.0 K, 45 min,
// 6 h 30 min. A mark that it does not know stays as it is.
func Plain(s string) string {
	var b strings.Builder
	for {
		before, rest, found := strings.Cut(s, "⟨")
		b.WriteString(before)
		if !found {
			return b.String()
		}
		inside, after, closed := strings.Cut(rest, "⟩")
		text, known := expand(inside)
		if !closed || !known {
			b.WriteString("⟨")
			s = rest
			continue
		}
		b.WriteString(text)
		s = after
	}
}

func expand(inside string) (string, bool) {
	kind, digits, _ := strings.Cut(inside, ":")
	n, err := strconv.ParseInt(digits, 10, 64)
	if err != nil {
		return "", false
	}
	switch kind {
	case "c":
		return Number(float64(n)/1000, 1) + " C", true
	case "k":
		return Number(float64(n)/1000, 1) + " K", true
	case "h":
		return span(n), true
	}
	return "", false
}

func span(ms int64) string {
	if ms < 60_000 && ms > -60_000 {
		return strconv.FormatInt(ms/1000, 10) + " s"
	}
	min := (ms + 30_000) / 60_000
	if ms < 0 {
		min = (ms - 30_000) / 60_000
	}
	h := min / 60
	switch {
	case h == 0:
		return strconv.FormatInt(min, 10) + " min"
	case h >= 48:
		return strconv.FormatInt(h/24, 10) + " d " + strconv.FormatInt(h%24, 10) + " h"
	case min%60 == 0:
		return strconv.FormatInt(h, 10) + " h"
	}
	return strconv.FormatInt(h, 10) + " h " + strconv.FormatInt(max(min%60, -min%60), 10) + " min"
}
