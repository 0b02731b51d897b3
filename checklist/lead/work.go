package lead

import "bayhold/checklist/plan"

// Work is how long a stage takes on a whole vehicle, with how many hands, and
// what it does to the air. All of it is common practice, no source; a shop
// knows its own. Stages that a row does not name take no time of anybody.
type Work struct {
	Stage   string
	Route   string // "" for any; a row with a route comes before
	Task    string // stages with the same one, one after the other, are one task
	Prep    bool   // by the prep hands, if there are any
	Hands   int
	Minutes int64
	Nature  plan.Nature
}

// Works is the table of stages as work.
var Works = []Work{
	{"check-in", "", "check-in", false, 1, 45, 0},
	{"strip", "", "strip", true, 1, 120, 0},
	{"wash", "bus-side", "wash", true, 2, 210, plan.Wet},
	{"wash", "", "wash", true, 1, 135, plan.Wet}, // with blowing out
	{"inspection", "", "inspection", false, 1, 25, 0},
	{"sealant", "", "sealant", false, 1, 90, 0},
	{"sweat-test", "", "sweat-test", false, 1, 40, plan.Flame},
	{"patch-test", "", "patch-test", false, 1, 30, 0},
	{"tape-pull", "", "patch-test", false, 1, 10, 0},
	{"trial-strips", "", "trial-strips", false, 1, 60, plan.Flame},
	{"pull", "", "pull", false, 2, 480, plan.Flame},
	{"adhesive-off", "", "adhesive-off", false, 2, 240, plan.Solvent},
	{"bare-paint", "", "bare-paint", false, 1, 30, 0},
	{"dry-fit", "hood", "lay", false, 2, 15, plan.Wiped},
	{"dry-fit", "", "lay", false, 2, 45, plan.Wiped},
	{"wipe", "hood", "lay", false, 2, 10, plan.Solvent | plan.Wiped},
	{"wipe", "", "lay", false, 2, 45, plan.Solvent | plan.Wiped},
	{"primer", "", "lay", false, 2, 15, plan.Solvent | plan.Wiped},
	{"lay", "bus-side", "lay", false, 3, 360, plan.Laying | plan.Wiped},
	{"lay", "hood", "lay", false, 2, 75, plan.Laying | plan.Wiped},
	{"lay", "", "lay", false, 2, 480, plan.Laying | plan.Wiped},
	{"trim", "bus-side", "trim", false, 2, 135, 0},
	{"trim", "hood", "trim", false, 1, 30, 0},
	{"trim", "", "trim", false, 2, 180, 0},
	{"post-heat", "hood", "post-heat", false, 1, 30, plan.Flame},
	{"post-heat", "", "post-heat", false, 1, 120, plan.Flame},
	{"edge-check", "", "edge-check", false, 1, 50, 0},
	{"refit", "hood", "edge-check", false, 1, 20, 0},
	{"refit", "", "edge-check", false, 1, 90, 0},
	{"re-check", "", "hand-over", false, 1, 30, 0},
	{"hand-over", "", "hand-over", false, 1, 20, 0},
}

func workOf(stage, route string) (Work, bool) {
	for _, w := range Works {
		if w.Stage == stage && (w.Route == "" || w.Route == route) {
			return w, true
		}
	}
	return Work{}, false
}
