package checklist_test

import (
	"testing"

	"bayhold/checklist"
)

// After the lead let drying pass there is nothing to do in it: what comes next
// is the stage behind it. (The rule is ours: a go-ahead ends what nobody
// ticks.)
func TestNextAfterAGoAhead(t *testing.T) {
	w := newWorld(t)
	w.climate(bay1, "6:00", "9:00", 20, 40)
	w.probes("6:00", "9:00", 19, 19)
	for _, zone := range []string{"upper", "lower"} {
		g := w.gate("9:00", "dry", zone)
		w.as("M", "9:00", jobLog, checklist.Waiver{Stage: "dry", Zone: zone, Causes: g.Causes, Sentence: "Seams blown out twice, strips dry."})
	}
	if g := w.shop().Next(jobLog.ID, sharp("9:00")); g.Stage != "wipe" || g.State != checklist.Open {
		t.Errorf("next is %s", show([]checklist.Gate{g}))
	}
}
