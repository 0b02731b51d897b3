package infrared_test

import (
	"fmt"

	"bayhold/checklist/infrared"
	"bayhold/checklist/say"
)

// A painted panel read in a bay whose heater warms walls and roof to 24 C.
func ExampleOf() {
	r, _ := infrared.Of(15.6, 0.95, 0.85, 24, 0.03, 1)
	fmt.Println(say.Plain(r.Sentence))
	_, err := infrared.Of(15.6, 0.95, 0.1, 24, 0.03, 1)
	fmt.Println(err)
	// Output:
	// Reads 1.0 K warm: panel is 14.6 C. Tape it.
	// bare or shiny metal reads the room, not the panel; stick matt tape on it or use a contact probe (emissivity 0.6 to 1)
}
