package air_test

import (
	"fmt"

	"bayhold/checklist/air"
	"bayhold/checklist/say"
)

// Bay 4 at eight in the morning, as an invented shop has it: the middle of the door
// is warm, the sill is not.
func ExampleMarginOf() {
	for _, surface := range []float64{15.0, 7.6} {
		m, err := air.MarginOf(20, 75, surface, air.NeedK, 0.5, 3, 1)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(say.Plain(m.Sentence))
	}
	// Output:
	// Wet: surface 15.0 C, dew point 15.4 C. Vent.
	// Wet: surface 7.6 C, dew point 15.4 C. Vent.
}

func ExampleDewPointMilli() {
	dew, ok := air.DewPointMilli(20_000, 75_000)
	fmt.Println(dew, ok)
	// Output: 15434 true
}
