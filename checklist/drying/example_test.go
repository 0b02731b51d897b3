package drying_test

import (
	"fmt"

	"bayhold/checklist/drying"
	"bayhold/checklist/say"
)

// How long a lap 10 mm deep takes in a bay of 21 C and 50 %, what one night did, and
// what the gun at its mouth would save.
func ExampleSeamOf() {
	night, _ := drying.SeamAfter(10, []drying.Spell{{Hours: 12, AirC: 21, RHPct: 50, PanelC: 21}})
	fmt.Println(say.Plain(night.Sentence))
	left, _ := drying.SeamOf(10, night.DryMM, 21, 50, 21)
	fmt.Println(say.Plain(left.Sentence))
	gun, _ := drying.HeaterHour(10, night.DryMM, 21, 50, 21, 50)
	fmt.Println(say.Plain(gun.Sentence))
	_, err := drying.SeamOf(10, 0, 21, 130, 21)
	fmt.Println(err)
	// Output:
	// Seam dry 4.4 of 10.0 mm by the model.
	// Seam needs 2 d 1 h more in this air.
	// One hour of heat saves 9 h 26 min of 2 d 1 h.
	// relative humidity 130 % is out of range; valid is 0.001 to 100 %
}
