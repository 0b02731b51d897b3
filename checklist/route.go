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

// Only says which panels, or which jobs, a stage concerns.
type Only uint8

// A stage concerns every panel, those with compound contours, those where
// primer is planned, a job whose film is printed, panels that were touched up
// on this job, or a job with a proof.
const (
	Every Only = iota
	OnContours
	WithPrimer
	IfPrinted
	OnRepaired
	IfProof // a job whose artwork the owner approved in a version
)

// Side says on which side of laying a stage stands. A panel that is laid needs
// nothing of the sides before it any more.
type Side uint8

// The sides. Bench is work on the film beside the vehicle, at the same time as
// its washing and drying.
const (
	Before Side = iota
	Bench
	Laying
	After
)

// Proof says what closes a stage. The words are those that a shop writes in
// its own steps.
type Proof uint8

// What closes a stage.
const (
	ByTick    Proof = iota // a hand did it and says so
	ByHours                // hours that count for drying
	ByWindow               // fresh readings inside the temperature window
	ByWalk                 // the walk round: findings answered, signatures of Signers
	ByTest                 // a test of the kind What, passed
	ByPrimer               // primer on, tack-dry, in its open time
	BySurvey               // every contour measured
	ByFilm                 // film for every panel, fit for its shape
	ByAnswers              // the questions of Asks answered, 'unknown' included
	BySigns                // the signatures of Signers under What
	ByTrials               // trial strips pulled on the vehicle
	ByPaint                // what is known of the paint, and its wait
	ByPatch                // patch test valid and without gas
	ByHeat                 // metres heated and film read
	ByEdges                // looked at by another hand than the one that laid
	ByRest                 // hours that count for rest
	ByCount                // risen counted: at most a share of all
	proofs
)

var proofKeys = [proofs]string{"tick", "hours", "window", "walk", "test", "primer", "survey", "film", "answers", "signs",
	"trials", "paint", "patch", "heat", "edges", "rest", "count"}

func (p Proof) String() string { return proofKeys[p] }

// Stage is one step of a route: a row that an installer can read.
type Stage struct {
	Key  string // in lines and gates: "wash"
	Name string // on the screen: "Wash"
	Per  Per
	Only Only
	Side Side
	// Needs names the stages that must pass before this one may start. What
	// they need themselves on the same side of laying is needed too.
	Needs []string
	Proof Proof
	// What is the test, the walk or the paper that closes the stage: the What
	// of an Evidence or Sign line, the Walk of a Finding. On old film it closes
	// the stage beside the tick.
	What string
	// Signers are the signatures that the stage needs, as a Sign line's As.
	Signers []string
	// Asks are the keys of the questions that the stage needs answered.
	Asks []string
	// Shelf is the rule that says for how long a claim of this stage is good;
	// empty: for ever, until something spoils it.
	Shelf string
	// Hours is the rule that says how many counted hours the stage needs.
	Hours string
	// From and Clock: the stage may start no sooner than the rule Clock says
	// after the stage From was done (degas after print, re-check after laying).
	From, Clock string
	// Early is the setback that doing it before its clock ended was: nothing
	// but that row's way out mends it. Where it is empty, what was done early
	// counts from the clock's end.
	Early string
	// Apart says that a panel that was spoiled goes through it again by
	// itself, and the others go on.
	Apart bool
	// All names the stages that every panel must have passed before the first
	// one is laid.
	All []string
	// Free says that no other stage waits for it and nobody has to do it.
	Free bool
	// Warm is the rule that says how warm the coldest spot must be to begin.
	Warm string
	// Old says that it works on what was there before: a panel that will stay
	// bare needs it too.
	Old bool
	// Caution is the one line that stands on the screen of the stage, once per
	// job. It never says that anything is safe.
	Caution string

	soon  bool   // one of Needs goes stale
	needs uint64 // Needs and what they need, as bits of places in the route
	from  int    // place of From, -1
	all   uint64 // All, as bits
	first []cause
}

// Tap says that a person ticks the stage; the others come out of readings,
// tests and signatures.
func (st *Stage) Tap() bool { return st.Proof == ByTick || st.Proof == ByPrimer }

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
	if i := r.place(key); i >= 0 {
		return &r.Stages[i], true
	}
	return nil, false
}

// place is where a stage stands in the route, -1 if it has none of that key.
func (r *Route) place(key string) int {
	for i := range r.Stages {
		if r.Stages[i].Key == key {
			return i
		}
	}
	return -1
}

// close works out what every stage needs by way of others. A need that the
// route does not have is left out: routes share their stages.
func (r Route) close() Route {
	for i := range r.Stages {
		st := &r.Stages[i]
		st.needs, st.all, st.from, st.first = 0, 0, r.place(st.From), firstOf(st)
		for _, key := range st.All {
			if k := r.place(key); k >= 0 && k < i {
				st.all |= 1 << k
			}
		}
		for _, key := range st.Needs {
			if k := r.place(key); k >= 0 && k < i {
				st.needs |= 1 << k
				st.soon = st.soon || r.Stages[k].Shelf != ""
				if before := &r.Stages[k]; before.Side != Laying || st.Side == Laying {
					st.needs |= before.needs
				}
			}
		}
	}
	return r
}

// MostStages is how many stages a route can have.
const MostStages = 64

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
	cautionKnife   = "Blade away from the other hand; snapped blades in the tin."
	cautionLift    = "Badges and lamps hot from the gun: gloves. Airbag parts: trained hands."
	cautionMove    = "One moves, one watches. Keys on the board."
	cautionGlass   = "No gun on cold glass; dark film on heated glass can crack it."
)

// The stages that routes share. Order of the first gates: check-in, wash,
// inspection on clean paint, dry, temperature window, final wipe panel by
// panel, primer where it is planned, lay. All of it is common practice, no
// source.
var (
	stageCheckIn = Stage{Key: "check-in", Name: "Walk round at check-in", Proof: ByWalk, What: "check-in", Signers: []string{"owner"}, Caution: cautionMove}
	stageStrip   = Stage{Key: "strip", Name: "Take trim off", Needs: []string{"check-in"}, Proof: ByTick, Caution: cautionLift}
	stageWash    = Stage{Key: "wash", Name: "Wash", Needs: []string{"check-in", "strip"}, Caution: cautionWash}
	stageInspect = Stage{Key: "inspection", Name: "Look over clean paint", Needs: []string{"wash"}, Proof: ByWalk, What: "inspection", Signers: []string{"installer", "owner"}}
	stageDry     = Stage{Key: "dry", Name: "Dry", Per: PerZone, Proof: ByHours, Hours: "dry_hours", Caution: cautionDry}
	stageDryBus  = Stage{Key: "dry", Name: "Dry", Per: PerZone, Proof: ByHours, Hours: "dry_hours_bus", Caution: cautionDry}
	stageWindow  = Stage{Key: "window", Name: "Temperature", Per: PerZone, Proof: ByWindow}

	stageSurvey   = Stage{Key: "survey", Name: "Measure the contours", Per: PerPanel, Only: OnContours, Side: Bench, Proof: BySurvey}
	stageFilm     = Stage{Key: "film", Name: "Film", Per: PerPanel, Side: Bench, Needs: []string{"survey"}, Proof: ByFilm}
	stagePrint    = Stage{Key: "print", Name: "Print", Side: Bench, Only: IfPrinted, Apart: true, Needs: []string{"film"}}
	stageLaminate = Stage{Key: "laminate", Name: "Laminate", Side: Bench, Only: IfPrinted, Apart: true, Early: "film-wet", Needs: []string{"print"}, From: "print", Clock: "degas"}
	stageFilmIn   = Stage{Key: "film-in", Name: "Film into the bay", Side: Bench, Apart: true, Needs: []string{"film", "laminate"}, From: "laminate", Clock: "laminate_rest"}
	stageDryFit   = Stage{Key: "dry-fit", Name: "Dry fit", Per: PerPanel, Needs: []string{"inspection", "film-in"}, From: "film-in", Clock: "film_in_bay", Caution: cautionLay}

	stageProof = Stage{Key: "proof", Name: "Proof against the plate", Only: IfProof, Proof: ByTest, What: "proof-plate"}

	stageWipe   = Stage{Key: "wipe", Name: "Final wipe", Per: PerPanel, Needs: []string{"wash", "inspection", "dry", "window", "dry-fit", "proof"}, All: []string{"dry-fit"}, Shelf: "wipe_shelf", Caution: cautionSolvent}
	stagePrimer = Stage{Key: "primer", Name: "Primer", Per: PerPanel, Only: WithPrimer, Needs: []string{"wipe"}, Proof: ByPrimer, Shelf: "primer_open", Caution: cautionSolvent}
	stageLay    = Stage{Key: "lay", Name: "Lay", Per: PerPanel, Side: Laying, All: []string{"dry-fit"}, Needs: []string{"wipe", "primer"}, Caution: cautionLay}

	stageSettle   = Stage{Key: "settle", Name: "Look for spring-back", Per: PerPanel, Only: OnContours, Side: After, Needs: []string{"lay"}, From: "lay", Clock: "settle_film"}
	stageTrim     = Stage{Key: "trim", Name: "Cut and tuck edges", Per: PerPanel, Side: After, Needs: []string{"settle", "lay"}, Caution: cautionKnife}
	stageHeat     = Stage{Key: "post-heat", Name: "Post-heat", Per: PerPanel, Only: OnContours, Side: After, Needs: []string{"trim"}, Proof: ByHeat, Caution: cautionHeat}
	stageEdges    = Stage{Key: "edge-check", Name: "Edges, by another hand", Per: PerPanel, Side: After, Needs: []string{"trim", "post-heat"}, Proof: ByEdges}
	stageRefit    = Stage{Key: "refit", Name: "Trim back on, lamps tested", Side: After, Needs: []string{"edge-check"}, What: "trim-bags"}
	stageRest     = Stage{Key: "rest", Name: "Rest warm", Side: After, Needs: []string{"edge-check"}, Proof: ByRest, Hours: "rest_hours", Caution: cautionDry}
	stageRecheck  = Stage{Key: "re-check", Name: "Look again at recesses", Side: After, Needs: []string{"rest"}, Proof: ByCount, What: "risen", From: "lay", Clock: "recheck_after"}
	stageHandOver = Stage{Key: "hand-over", Name: "Hand over", Side: After, Needs: []string{"re-check", "refit"}, Proof: BySigns, What: "hand-over", Signers: []string{"owner", "driver"}, Caution: cautionMove}
	stageCallBack = Stage{Key: "call-back", Name: "Call back", Side: After, Needs: []string{"hand-over"}, From: "hand-over", Clock: "call_back", Free: true}
)

// finish is what follows laying in every route.
var finish = []*Stage{&stageSettle, &stageTrim, &stageHeat, &stageEdges, &stageRefit, &stageRest, &stageRecheck, &stageHandOver, &stageCallBack}

// bench is the film's own way, beside the vehicle's.
var bench = []*Stage{&stageSurvey, &stageFilm, &stagePrint, &stageLaminate, &stageFilmIn}

// plan is a route as a table: its stages in order, and what a stage needs on it
// besides its own needs. Nothing here has to be built by code that a phone
// would load.
type plan struct {
	key, name string
	parts     [][]*Stage
	also      []also
}

type also struct {
	stage string
	needs []string
}

// Routes is every kind of job that this version knows.
var Routes = laidOut()

func laidOut() []Route {
	out := make([]Route, len(plans))
	for i := range plans {
		p := &plans[i]
		r := Route{Key: p.key, Name: p.name}
		for _, part := range p.parts {
			for _, st := range part {
				r.Stages = append(r.Stages, *st)
			}
		}
		for _, a := range p.also {
			if st, ok := r.stage(a.stage); ok {
				st.Needs = append(append([]string{}, st.Needs...), a.needs...)
			}
		}
		out[i] = r.close()
	}
	return out
}

// plans are the routes. All of it is common practice, no source.
var plans = []plan{
	{"van", "Van wrap", [][]*Stage{
		{&stageCheckIn, &stageStrip, &stageWash, &stageInspect},
		bench,
		{&stageDry, &stageDryFit, &stageProof, &stageWindow, &stageWipe, &stagePrimer, &stageLay},
		finish}, nil},
	{"bus-side", "Bus side", [][]*Stage{
		{&stageCheckIn,
			{Key: "wash-history", Name: "Ask the depot", Proof: ByAnswers, Asks: []string{"last-wash", "wash-product"}},
			&stageWash,
			{Key: "sealant", Name: "Cut old sealant back", Needs: []string{"wash"}, Caution: cautionKnife},
			&stageInspect},
		bench,
		{&stageDryBus,
			{Key: "sweat-test", Name: "Sweat test", Needs: []string{"dry", "sealant"}, Proof: ByTest, What: "sweat-test", Caution: cautionBus},
			&stageDryFit, &stageProof, &stageWindow, &stageWipe, &stagePrimer, &stageLay},
		finish}, []also{{"wash", []string{"wash-history"}}, {"wipe", []string{"sweat-test"}}}},
	{"hood", "Repainted hood", [][]*Stage{
		{&stageCheckIn,
			{Key: "paint", Name: "Fresh paint", Per: PerPanel, Proof: ByPaint},
			{Key: "patch-test", Name: "Gas patch test", Per: PerPanel, Needs: []string{"check-in"}, Proof: ByPatch, Caution: cautionHeat},
			{Key: "tape-pull", Name: "Tape pull", Needs: []string{"check-in"}, Proof: ByTest, What: "tape-pull"},
			{Key: "paint-risk", Name: "Owner signs the risk", Needs: []string{"tape-pull"}, Proof: BySigns, What: "paint-risk", Signers: []string{"owner"}},
			&stageWash, &stageInspect},
		bench,
		{&stageDry, &stageDryFit, &stageProof, &stageWindow, &stageWipe, &stagePrimer, &stageLay},
		finish}, []also{{"wipe", []string{"paint", "patch-test", "paint-risk"}}}},
	{"removal", "Remove and wrap again", [][]*Stage{
		{&stageCheckIn,
			{Key: "old-film", Name: "What film is it?", Proof: ByAnswers, Asks: []string{"film-age", "film-kind", "paint-history", "fitted-by"}},
			{Key: "trial-strips", Name: "Trial strips", Needs: []string{"check-in"}, Proof: ByTrials, Caution: cautionHeat},
			{Key: "removal-risk", Name: "Owner signs the risk", Needs: []string{"old-film", "trial-strips"}, Proof: BySigns, What: "removal-risk", Signers: []string{"owner"}},
			{Key: "pull", Name: "Heat and pull", Per: PerPanel, Old: true, Needs: []string{"removal-risk"}, Warm: "pull_floor", Caution: cautionPull},
			{Key: "adhesive-off", Name: "Adhesive off", Per: PerPanel, Old: true, Needs: []string{"pull"}, What: "palm-drag", Caution: cautionSolvent},
			{Key: "bare-paint", Name: "Look at bare paint", Needs: []string{"adhesive-off"}, Proof: ByWalk, What: "bare-paint", Signers: []string{"installer", "owner"}},
			&stageWash, &stageInspect,
			{Key: "paint", Name: "Fresh paint", Per: PerPanel, Only: OnRepaired, Needs: []string{"bare-paint"}, Proof: ByPaint},
			{Key: "patch-test", Name: "Gas patch test", Per: PerPanel, Only: OnRepaired, Needs: []string{"bare-paint"}, Proof: ByPatch, Caution: cautionHeat},
			{Key: "tape-pull", Name: "Tape pull", Per: PerPanel, Only: OnRepaired, Needs: []string{"bare-paint"}, Proof: ByTest, What: "tape-pull"}},
		bench,
		{&stageDry, &stageDryFit, &stageProof, &stageWindow, &stageWipe, &stagePrimer, &stageLay},
		finish}, []also{{"wash", []string{"bare-paint"}}, {"wipe", []string{"paint", "patch-test", "tape-pull"}}}},
	{"panels", "Single panels", [][]*Stage{{
		&stageWash, &stageInspect, &stageDry, &stageWindow, &stageWipe, &stagePrimer, &stageLay,
	}}, nil},
}
