package rest_test

import (
	"fmt"

	"bayhold/checklist/rest"
)

// Ten warm hours and two with the heater off: ten count.
func ExampleCredit() {
	const hour = 3_600_000
	fmt.Println((rest.Credit(20_000, 10*hour) + rest.Credit(12_000, 2*hour)) / hour)
	// Output: 10
}
