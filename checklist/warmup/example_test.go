package warmup_test

import (
	"fmt"

	"bayhold/checklist/say"
	"bayhold/checklist/warmup"
)

// A sill read every quarter of an hour in air of 20 C; laying wants 16 C.
func ExampleForecast() {
	sill := []warmup.Reading{{Minutes: 0, TempC: -3}, {Minutes: 15, TempC: -1.2}, {Minutes: 30, TempC: 0.5}}
	early, _ := warmup.Forecast(sill, 20, 16, 0.3, 0.3)
	fmt.Println(say.Plain(early.Sentence))
	sill = append(sill, warmup.Reading{Minutes: 45, TempC: 2.1}, warmup.Reading{Minutes: 60, TempC: 3.5},
		warmup.Reading{Minutes: 90, TempC: 6.2}, warmup.Reading{Minutes: 120, TempC: 8.3})
	later, _ := warmup.Forecast(sill, 20, 16, 0.3, 0.3)
	fmt.Println(say.Plain(later.Sentence))
	cold, _ := warmup.Forecast(sill, 15, 16, 0.3, 0.3)
	fmt.Println(say.Plain(cold.Sentence))
	// Output:
	// Estimate: 4 h 9 min to 6 h 55 min more. Then read again.
	// Estimate: 2 h 56 min to 3 h 56 min more. Then read again.
	// Never at air 15.0 C: needs 16.0 C. Heat the bay.
}
