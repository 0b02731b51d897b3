package material_test

import (
	"fmt"

	"bayhold/checklist/material"
)

// A van's side hangs from the rear, the roof over it.
func ExampleHangOrder() {
	pieces := []material.Hanging{{Name: "rear quarter"}, {Name: "middle"}, {Name: "roof", Ladder: true}}
	laps := []material.Lap{
		{Under: 0, Over: 1, Force: material.Airflow},
		{Under: 0, Over: 2, Force: material.Water},
		{Under: 1, Over: 2, Force: material.Water},
	}
	o, err := material.HangOrder(pieces, laps, false)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, at := range o.Order {
		fmt.Println(i+1, pieces[at].Name)
	}
	// Output:
	// 1 rear quarter
	// 2 middle
	// 3 roof
}
