// Package limit refuses a number that no bay can have, with the reason and
// the valid range in one sentence, and writes numbers the way the sentences of
// the sciences want them.
//
// A science keeps its ranges as a small table of [Of] values next to its
// equations, so that an installer can read what is accepted; every function
// that takes typed input checks against that table before it computes. NaN and
// the infinities are outside of every range. The package formats with strconv
// alone: it is part of the core that a phone loads.
package limit

import (
	"errors"
	"math"
	"strconv"
)

// Of is the valid range of one input, both ends included.
type Of struct {
	Name      string  // as the refusal names it: "air temperature"
	Low, High float64 // in Unit
	Unit      string  // as the refusal prints it: "C", "%", "h"
}

// Check returns nil when v lies in the range, otherwise the refusal: what was
// given, and what is valid.
func (l Of) Check(v float64) error {
	if v >= l.Low && v <= l.High {
		return nil
	}
	valid := Plain(l.Low) + " to " + Plain(l.High) + " " + l.Unit
	if math.IsNaN(v) {
		return errors.New(l.Name + " is not a number; valid is " + valid)
	}
	return errors.New(l.Name + " " + Plain(v) + " " + l.Unit + " is out of range; valid is " + valid)
}

// First returns the first error that is not nil, so that a science can list
// its checks one a line.
func First(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// Plain writes v with at most six significant digits and no trailing zeros.
func Plain(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// Fixed writes v with that many decimals, and never a minus in front of zero.
func Fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if s[0] == '-' && isZero(s[1:]) {
		return s[1:]
	}
	return s
}

func isZero(s string) bool {
	for _, c := range s {
		if c != '0' && c != '.' {
			return false
		}
	}
	return true
}
