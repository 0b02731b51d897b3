package main

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// unit is one way to type a quantity: value in the science's unit = typed ×
// factor + offset. Factors: NIST SP 811 (2008) appendix B; those of inch, foot,
// mil and Fahrenheit are exact.
type unit struct {
	of, as         string // the science's unit, the typed one
	factor, offset float64
}

// units is the table of what may be typed beside the science's own unit. "C" is
// a temperature and "K" a difference: a difference in F takes no 32.
var units = []unit{
	{"C", "F", 1 / 1.8, -32 / 1.8}, {"C", "K", 1, -273.15},
	{"K", "C", 1, 0}, {"K", "F", 1 / 1.8, 0},
	{"mm", "cm", 10, 0}, {"mm", "m", 1000, 0}, {"mm", "in", 25.4, 0}, {"mm", "ft", 304.8, 0}, {"mm", "mil", 0.0254, 0}, {"mm", "um", 0.001, 0},
	{"um", "mm", 1000, 0}, {"um", "mil", 25.4, 0}, {"um", "in", 25400, 0},
	{"m", "cm", 0.01, 0}, {"m", "mm", 0.001, 0}, {"m", "ft", 0.3048, 0}, {"m", "in", 0.0254, 0},
	{"s", "min", 60, 0}, {"s", "h", 3600, 0},
	{"min", "s", 1.0 / 60.0, 0}, {"min", "h", 60, 0}, {"min", "d", 1440, 0},
	{"h", "min", 1.0 / 60.0, 0}, {"h", "s", 1.0 / 3600.0, 0}, {"h", "d", 24, 0},
	{"months", "years", 12, 0}, {"months", "d", 12 / 365.25, 0},
	{"W/m2K", "Btu/hft2F", 5.678263341, 0},
}

func find(of, as string) (unit, bool) {
	if of == as { // also a unit that is typed one way only: kg/m3
		return unit{of, as, 1, 0}, true
	}
	i := slices.IndexFunc(units, func(u unit) bool { return u.of == of && u.as == as })
	if i < 0 {
		return unit{}, false
	}
	return units[i], true
}

var quantity = regexp.MustCompile(`^([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?) *(\S*)$`)

// measure reads "60F", "15.5 C", "3in" or "2" as a number in the science's
// unit, and the unit typed.
func measure(typed, of string) (float64, string, error) {
	m := quantity.FindStringSubmatch(typed)
	if m == nil {
		return 0, "", fmt.Errorf("%q is not a number with a unit", typed)
	}
	n, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		return 0, "", fmt.Errorf("%q is not a number that fits", typed)
	}
	as := m[2]
	if as == "" {
		as = of
	}
	u, ok := find(of, as)
	if !ok {
		return 0, "", fmt.Errorf("%q has a unit that does not fit (%s)", typed, strings.TrimSpace(strings.Join(namesOf(of), ", ")+" do"))
	}
	n = clean(n*u.factor + u.offset)
	if math.IsInf(n, 0) {
		return 0, "", errors.New(typed + " is too large")
	}
	return n, as, nil
}

// clean takes off what a conversion adds in the last bits, so that 68 F is 20 C
// and passes a limit of 20 C. A thousandth of a thousandth of any unit here is
// far below what anyone measures.
func clean(n float64) float64 {
	if math.Abs(n) < 1e9 {
		return math.Round(n*1e9) / 1e9
	}
	return n
}

// inUnit puts a number of a science into another unit of its kind.
func inUnit(n float64, of, as string) float64 {
	u, ok := find(of, as)
	if !ok || of == as {
		return n
	}
	return clean((n - u.offset) / u.factor)
}

// namesOf are the units that may be typed for a science's unit.
func namesOf(of string) []string {
	names := []string{of}
	for _, u := range units {
		if u.of == of {
			names = append(names, u.as)
		}
	}
	return names
}

// unitsOf lists the units of the inputs, kind by kind.
func unitsOf(ins []input) string {
	var kinds, says []string
	for _, in := range ins {
		for _, p := range in.parts {
			if names := namesOf(p.Unit); p.Unit != "" && len(names) > 1 && !slices.Contains(kinds, p.Unit) {
				kinds = append(kinds, p.Unit)
				says = append(says, strings.Join(names, " "))
			}
		}
	}
	if says == nil {
		return "none"
	}
	return strings.Join(says, "; ")
}

// short writes a number with at most five significant digits.
func short(n float64) string {
	s := strconv.FormatFloat(n, 'g', 5, 64)
	if strings.Contains(s, "e") {
		s = strconv.FormatFloat(n, 'f', -1, 64)
		if math.Abs(n) >= 1e5 {
			s = strconv.FormatFloat(n, 'f', 0, 64)
		}
	}
	if s == "-0" {
		return "0"
	}
	return s
}
