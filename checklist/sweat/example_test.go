package sweat_test

import (
	"fmt"

	"bayhold/checklist/say"
	"bayhold/checklist/sweat"
)

// The porter asks before the move: the van stands at -3.5 C in the yard, an unvented
// heater has filled the bay with vapour. The shop is invented.
func ExampleOf() {
	van, _ := sweat.Of(-3.5, 19.8, 74, 3.2)
	fmt.Println(say.Plain(van.Sentence))
	fmt.Printf("%.0f g/m2 in the sills, dry after %.1f h\n", van.SpotGM2, van.Dry)
	flush, _ := sweat.FlushOf(-3.5, 19.8, 74, -4, 85, 4, 0)
	fmt.Println(say.Plain(flush.Sentence))
	// Output:
	// Will sweat: spot -3.5 C, dew point 15.0 C. Flush before it comes in.
	// 119 g/m2 in the sills, dry after 12.4 h
	// Flush 41 min with heater off, then vented heat.
}
