package checklist_test

import (
	"testing"

	"bayhold/checklist"
)

// A line about a panel that also names the panel's zone, as a page wrote that
// took both from a gate, counts like one that names the panel alone: a panel
// lies in one zone (DESIGN: a tick is on a panel, in a zone, or on the vehicle).
func TestPanelNamedWithItsZone(t *testing.T) {
	w := ready(t)
	w.add("18:00", jobLog, checklist.Tick{Stage: "wipe", Panel: "sill", Zone: "lower", Answer: "done"})
	w.want("18:01", "primer", "sill", checklist.Open, "primer-first")
}
