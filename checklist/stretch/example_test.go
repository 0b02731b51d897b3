package stretch_test

import (
	"fmt"

	"bayhold/checklist/stretch"
)

// A side channel, measured with a rule and a depth rod, for a laminated print.
func Example() {
	channel := stretch.Channel{Shape: stretch.Trapezoid, Width: 90, Depth: 20, Floor: 40}
	s, err := channel.Measure()
	if err != nil {
		fmt.Println(err)
		return
	}
	film, _ := stretch.FamilyOf("cast-print")
	advice := stretch.Judge(s, film, stretch.Plan{})
	fmt.Println(advice.Sentence)
	fmt.Printf("%.0f mm come in from the flats when laid floor first\n", s.Drawn)
	// Output:
	// 16 % stretch if bridged: relief cut or inlay advised.
	// 14 mm come in from the flats when laid floor first
}
