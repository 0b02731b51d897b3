// Package limit refuses a number that no bay can have, with the reason and the
// valid range in one sentence.
//
// A science keeps its inputs as a table of [Input] values in the order of its
// function's arguments: an installer can read there what is accepted, the
// command line makes its flags from it, and the function checks against it
// before it computes. NaN and the infinities are outside of every range. The
// package formats with strconv alone: it is part of the core that a phone
// loads.
package limit

import (
	"errors"
	"math"
	"strconv"
)

// Input is one number that a science takes, and its valid range with both ends
// included.
type Input struct {
	Key       string  // short name for a flag or a form: "air"
	Name      string  // as a refusal names it: "air temperature"
	Low, High float64 // in Unit
	Unit      string  // "C" a temperature, "K" a difference, "%", "mm", "min", "h", ...
	Free      bool    // may be left out; then it is Usual
	Usual     float64 // what it is when nobody says otherwise
}

// Holds says whether v lies in the range.
func (in *Input) Holds(v float64) bool { return v >= in.Low && v <= in.High }

// Check returns nil when v lies in the range, otherwise the refusal: what was
// given, and what is valid.
func (in Input) Check(v float64) error {
	if v >= in.Low && v <= in.High {
		return nil
	}
	unit := ""
	if in.Unit != "" {
		unit = " " + in.Unit
	}
	valid := number(in.Low) + " to " + number(in.High) + unit
	if math.IsNaN(v) {
		return errors.New(in.Name + " is not a number; valid is " + valid)
	}
	return errors.New(in.Name + " " + number(v) + unit + " is out of range; valid is " + valid)
}

// Check returns the first refusal of the values, given in the order of the
// table.
func Check(table []Input, values ...float64) error {
	if len(values) != len(table) {
		return errors.New("got " + strconv.Itoa(len(values)) + " numbers for " + strconv.Itoa(len(table)) + " inputs")
	}
	for i, in := range table {
		if err := in.Check(values[i]); err != nil {
			return err
		}
	}
	return nil
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
