package checklist

// Per says what a stage is done on.
type Per uint8

// A stage is done once on the vehicle, in each zone, or on each panel.
const (
	PerVehicle Per = iota
	PerZone
	PerPanel
)

func (p Per) String() string {
	return [...]string{"vehicle", "zone", "panel"}[p]
}

// Stage is one step of a route.
type Stage struct {
	Key  string // in lines and gates: "wash"
	Name string // on the screen: "Wash"
	Per  Per
	// Needs names the stages that must pass before this one may start.
	Needs []string
	// Shelf is the rule that says for how long a claim of this stage is good;
	// empty: for ever, until something spoils it.
	Shelf string
	// Hours is the rule that says how many counted hours the stage needs.
	Hours string
	// Evidence is the test that closes the stage (the What of an Evidence line).
	Evidence string
	// Tap says that a person ticks the stage; the others come out of readings.
	Tap bool
	// Caution is the one line that stands on the screen of the stage, once per
	// job. It never says that anything is safe.
	Caution string
}

// Route is the ordered stages of a kind of job.
type Route struct {
	Key, Name string
	Stages    []Stage
}

// RouteOf returns the route with this key.
func RouteOf(key string) (Route, bool) {
	for _, r := range Routes {
		if r.Key == key {
			return r, true
		}
	}
	return Route{}, false
}

// stage returns the stage with this key.
func (r *Route) stage(key string) (*Stage, bool) {
	for i := range r.Stages {
		if r.Stages[i].Key == key {
			return &r.Stages[i], true
		}
	}
	return nil, false
}

// Caution lines. They warn and defer to the product's sheet, local codes and
// licensed practice.
const (
	cautionWash    = "Engine off in a closed bay. Electric vehicle: charger off."
	cautionDry     = "Never leave a flame heater alone; carbon monoxide alarm on."
	cautionSolvent = "No flame or hot gun. Extractor on, gloves, rags in the lidded bin."
	cautionLay     = "Over 2 m use a platform. Blade away from the other hand."
	cautionPull    = "Eyes covered. Mask for old paint: it may carry lead or chromate."
	cautionHeat    = "Nozzle over 400 C: stand, away from airbags, tyres and fuel flap."
	cautionBus     = "Chock and isolate. Doors may close, suspension may drop."
)

// The stages that more than one route has. Order of the first gates: wash,
// inspection on clean paint, dry, temperature window, final wipe panel by
// panel, primer where it is planned, lay.
var (
	stageWash       = Stage{Key: "wash", Name: "Wash", Tap: true, Caution: cautionWash}
	stageInspection = Stage{Key: "inspection", Name: "Look over clean paint", Needs: []string{"wash"}}
	stageDry        = Stage{Key: "dry", Name: "Dry", Per: PerZone, Hours: "dry_hours", Caution: cautionDry}
	stageWindow     = Stage{Key: "window", Name: "Temperature", Per: PerZone}
	stageWipe       = Stage{Key: "wipe", Name: "Final wipe", Per: PerPanel, Needs: []string{"wash", "inspection", "dry", "window"}, Shelf: "wipe_shelf", Tap: true, Caution: cautionSolvent}
	stagePrimer     = Stage{Key: "primer", Name: "Primer", Per: PerPanel, Needs: []string{"wash", "inspection", "dry", "window", "wipe"}, Shelf: "primer_open", Tap: true, Caution: cautionSolvent}
	stageLay        = Stage{Key: "lay", Name: "Lay", Per: PerPanel, Needs: []string{"wash", "inspection", "dry", "window", "wipe", "primer"}, Tap: true, Caution: cautionLay}
)

// with returns a stage that also needs others first.
func with(s Stage, needs ...string) Stage {
	s.Needs = append(append([]string{}, s.Needs...), needs...)
	return s
}

func busDry() Stage {
	s := stageDry
	s.Hours = "dry_hours_bus"
	return s
}

// Routes is every kind of job that this version knows.
var Routes = []Route{
	{Key: "van", Name: "Van wrap", Stages: []Stage{
		stageWash, stageInspection, stageDry, stageWindow, stageWipe, stagePrimer, stageLay,
	}},
	{Key: "bus-side", Name: "Bus side", Stages: []Stage{
		stageWash, stageInspection, busDry(),
		{Key: "sweat-test", Name: "Sweat test", Needs: []string{"dry"}, Evidence: "sweat-test", Caution: cautionBus},
		stageWindow, with(stageWipe, "sweat-test"), with(stagePrimer, "sweat-test"), with(stageLay, "sweat-test"),
	}},
	{Key: "removal", Name: "Remove and wrap again", Stages: []Stage{
		{Key: "trial-strips", Name: "Trial strips", Tap: true, Caution: cautionHeat},
		{Key: "pull", Name: "Heat and pull", Per: PerPanel, Needs: []string{"trial-strips"}, Tap: true, Caution: cautionPull},
		{Key: "adhesive-off", Name: "Adhesive off", Needs: []string{"pull"}, Tap: true, Caution: cautionSolvent},
		with(stageWash, "adhesive-off"),
		stageInspection, stageDry, stageWindow, stageWipe, stagePrimer, stageLay,
	}},
	{Key: "hood", Name: "Repainted hood", Stages: []Stage{
		stageWash, stageInspection,
		{Key: "patch-test", Name: "Gas patch test", Evidence: "patch-test", Caution: cautionHeat},
		stageDry, stageWindow, with(stageWipe, "patch-test"), with(stagePrimer, "patch-test"), with(stageLay, "patch-test"),
	}},
}
