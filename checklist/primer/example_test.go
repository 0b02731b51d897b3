package primer_test

import (
	"fmt"

	"bayhold/checklist/primer"
	"bayhold/checklist/say"
)

// Six minutes at 21 C on the tin, a panel of 12 C.
func ExampleOf() {
	p, _ := primer.Of(6, 60, 21, 12)
	fmt.Println(say.Plain(p.Sentence))
	// Output: Primer: lay after 11 min, within 1 h. Knuckle test.
}
