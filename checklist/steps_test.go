package checklist_test

import (
	"slices"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
)

// What a shop may do to its steps is this project's own rule; the stages and
// their order are common practice, no source.

// panelSteps is the route of single panels as a shop would write it, with its
// stages in the order given.
func panelSteps(steps ...checklist.Step) checklist.StepsSet {
	return line.Pin(checklist.StepsSet{Route: "panels", Name: "Our panels", Steps: steps}).(checklist.StepsSet)
}

func keysOf(keys string) (out []checklist.Step) {
	for _, k := range strings.Fields(keys) {
		out = append(out, checklist.Step{Key: k})
	}
	return out
}

const allPanelSteps = "wash inspection dry window wipe primer lay"

// A shop leaves a stage out, puts others in another order and adds one of its
// own with its own caution. A job in hand goes on as it began until a line of
// the lead brings the new steps to it.
func TestOwnSteps(t *testing.T) {
	w := ready(t)
	w.add("18:00", jobLog, checklist.Tick{Stage: "wipe", Panel: "shoulder", Answer: "done"})
	w.want("18:01", "lay", "shoulder", checklist.Open, "lay-first")
	own := panelSteps(
		checklist.Step{Key: "wash"}, checklist.Step{Key: "dry", Name: "Dry out"},
		checklist.Step{Key: "inspection", Needs: []string{"wash", "dry"}},
		checklist.Step{Key: "window"},
		checklist.Step{Key: "clay", Name: "Clay bar", Per: "panel", Caution: "Keep it wet; dropped clay goes in the bin."},
		checklist.Step{Key: "wipe"}, checklist.Step{Key: "lay"})
	if own.Fault() != "" || len(own.Lacks()) != 0 {
		t.Fatalf("%q %v", own.Fault(), own.Lacks())
	}
	w.as("M", "18:02", shopLog, own)
	// The van in hand was begun without: nothing of it changes.
	w.want("18:03", "lay", "shoulder", checklist.Open, "lay-first")
	w.want("18:03", "primer", "sill", checklist.Held, "wipe-first")
	if hash, r := w.at("18:03").StepsInForce("panels"); hash != own.Hash || len(r.Stages) != 7 {
		t.Errorf("in force: %q, %d steps", hash, len(r.Stages))
	}
	// By the lead's line they reach it.
	w.as("M", "18:04", jobLog, checklist.JobRules{Steps: own.Hash, Why: "clay from today on"})
	gates := w.at("18:05").Gates(jobLog.ID, sharp("18:05"))
	var order []string
	for _, g := range gates {
		if !slices.Contains(order, g.Stage) {
			order = append(order, g.Stage)
		}
	}
	if got := strings.Join(order, " "); got != "wash dry inspection window clay wipe lay" {
		t.Errorf("steps: %s", got)
	}
	w.want("18:05", "clay", "shoulder", checklist.Open, "clay-first")
	w.want("18:05", "lay", "shoulder", checklist.Held, "clay-first")
	w.add("18:06", jobLog, checklist.Tick{Stage: "clay", Panel: "shoulder", Answer: "done"})
	w.want("18:07", "lay", "shoulder", checklist.Open, "lay-first")
	w.want("18:07", "lay", "sill", checklist.Held, "clay-first")
	// The primer is left out: the sill needs only its wipe.
	w.add("18:08", jobLog, checklist.Tick{Stage: "clay", Panel: "sill", Answer: "done"})
	w.add("18:09", jobLog, checklist.Tick{Stage: "wipe", Panel: "sill", Answer: "done"})
	w.want("18:10", "lay", "sill", checklist.Open, "lay-first")
	j, _ := w.at("18:10").Job(jobLog.ID)
	for _, st := range j.Route.Stages {
		if st.Key == "clay" && st.Caution != "Keep it wet; dropped clay goes in the bin." || st.Key == "dry" && st.Name != "Dry out" {
			t.Errorf("%+v", st)
		}
	}
}

// A stage in the middle is left out: what stood behind it still needs what it
// needed, or no hour of drying would hold the lay any more.
func TestLeftOutStageKeepsItsNeeds(t *testing.T) {
	w := newWorld(t)
	own := panelSteps(keysOf("wash inspection dry window lay")...)
	w.as("M", "6:10", shopLog, own)
	w.as("M", "6:11", jobLog, checklist.JobRules{Steps: own.Hash, Why: "no wipe"})
	if g := w.want("6:20", "lay", "sill", checklist.NotKnown, "no-reading"); !slices.Contains(g.Causes, "no-reading") {
		t.Error(g.Causes)
	}
	if got := own.Lacks(); len(got) != 1 || got[0] != "wipe" {
		t.Errorf("lacks %v", got)
	}
}

// A pinned set that is not here is not known; a later job.open does not change
// what a job began with.
func TestPinsStand(t *testing.T) {
	w := ready(t)
	w.as("M", "18:00", jobLog, checklist.JobRules{Steps: "0000", Why: "steps that never came"})
	g := w.want("18:01", "wipe", "shoulder", checklist.NotKnown, "no-rules")
	if g.Reason != "The shop's numbers for this job are not on this device." {
		t.Errorf("%q", g.Reason)
	}
	w = ready(t)
	again := vanV
	again.Rules, again.Steps = "nothing", "nothing"
	w.add("18:00", jobLog, again)
	w.want("18:01", "wipe", "shoulder", checklist.Open, "wipe-first")
}

func TestStepsFaults(t *testing.T) {
	many := keysOf(allPanelSteps)
	for i := range 64 {
		many = append([]checklist.Step{{Key: "own-" + string(rune('a'+i%26)) + string(rune('a'+i/26)), Name: "Own"}}, many...)
	}
	for _, c := range []struct {
		steps []checklist.Step
		want  string
	}{
		{keysOf(allPanelSteps), ""},
		{keysOf("wash inspection dry window wipe primer"), "A route needs the step 'lay'."},
		{keysOf("wash wash inspection dry window wipe lay"), "Two steps are called 'wash'."},
		{keysOf("wash inspection wipe dry window lay"), "'wipe' needs 'dry'. Put it below that."},
		{[]checklist.Step{{Key: "wash", Needs: []string{"moon"}}, {Key: "lay"}}, "'wash' needs 'moon', which is no step here."},
		{[]checklist.Step{{Key: "wash", Needs: []string{"lay"}}, {Key: "lay"}}, "'wash' needs 'lay'. Put it below that."},
		{[]checklist.Step{{Key: "wash", Needs: []string{"wash"}}, {Key: "lay"}}, "'wash' needs 'wash'. Put it below that."},
		{keysOf("trim wash lay"), "'trim' follows laying. Put it below 'lay'."},
		{[]checklist.Step{{Key: "lay"}, {Key: "clay", Name: "Clay"}}, "'clay' comes before laying. Put it above 'lay'."},
		{[]checklist.Step{{Key: "clay"}, {Key: "lay"}}, "Step 'clay' needs a name."},
		{[]checklist.Step{{Key: "Clay bar", Name: "Clay"}, {Key: "lay"}}, "Name a step by small letters, digits and dashes: 'Clay bar'."},
		{[]checklist.Step{{Key: "clay", Name: "Clay", Per: "wheel"}, {Key: "lay"}}, "A step is per vehicle or per panel, not 'wheel'."},
		{many, "A route has at most 64 steps."},
	} {
		if got := (checklist.StepsSet{Route: "panels", Name: "x", Steps: c.steps}).Fault(); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
		if n := len(strings.Fields(c.want)); n > 12 {
			t.Errorf("%d words: %s", n, c.want)
		}
	}
	if got := (checklist.StepsSet{Route: "boat", Steps: keysOf("lay")}).Fault(); got != "There are no job steps called 'boat'." {
		t.Errorf("%q", got)
	}
	// Every route of this version is a set without fault when it is written out.
	for _, r := range checklist.Routes {
		var steps []checklist.Step
		for _, st := range r.Stages {
			steps = append(steps, checklist.Step{Key: st.Key})
		}
		set := checklist.StepsSet{Route: r.Key, Name: r.Name, Steps: steps}
		if set.Fault() != "" || len(set.Lacks()) != 0 {
			t.Errorf("%s: %q, lacks %v", r.Key, set.Fault(), set.Lacks())
		}
	}
}
