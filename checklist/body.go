package checklist

// The bodies of every kind of line that this version knows. Temperatures are
// milli-degrees Celsius, humidities milli-percent (55 % is 55000), times
// milliseconds since the Unix epoch in the shop server's time, lengths
// micrometres. A zero time means 'not given'. The key in a body's CBOR map
// and JSON view stands behind each field; package line encodes them and has
// the table of who may write what.

// --- the shop's logbook ---

// ShopSet is the shop's own settings; of several the last order number wins.
type ShopSet struct {
	Name  string // name
	Units string // units: "C" or "F"
	Zone  string // zone: IANA name, such as Europe/Berlin
}

// PlaceAdd makes a place; its climate is kept in the place's own logbook.
// Written again for the same Place it renames or reorders it.
type PlaceAdd struct {
	Place ID     // place
	Name  string // name
	Sort  string // sort: "bay", "yard" or "outside"
	Order int64  // order: position along the building

	Length int64 // length: of the longest vehicle that can stand in it, micrometres; 0 if nobody said
	Height int64 // height: of the highest that can
	Door   int64 // door: clear height of its door
}

// PersonAdd makes a person whom the crew can tap.
type PersonAdd struct {
	Person   ID     // person
	Name     string // name
	Initials string // initials
	Role     string // role: "lead", "crew", "prep", "porter" or "desk"
}

// AirShared says that places share their air from one moment to another;
// To 0 means until further notice.
type AirShared struct {
	Places   []ID  // places
	From, To int64 // from, to
}

// RulesSet is a complete rule set: every number of rules.go by its key. A job
// pins the SHA-256 of the set's canonical encoding (Hash).
type RulesSet struct {
	Hash   string           // hash: lower-case hex SHA-256 of the CBOR of values
	Values map[string]int64 // values
}

// ShopHours is when somebody is there, complete; of several the last order
// number wins. Vehicles are moved and heaters lit by a porter who comes before.
type ShopHours struct {
	Week   []int64  // week: from and to of each day from Monday on, ms after midnight; both alike: shut
	Shut   []string // shut: days that the shop is shut besides, such as 2026-12-24
	Porter int64    // porter: when the porter comes on a day that is open, ms after midnight; 0: as it opens
}

// Instrument is a line of the register of instruments, complete; written again
// for the same Name it holds from then on. What readings say of their instrument
// is this name.
type Instrument struct {
	Name    string // name
	Sort    string // sort: "air" (logger or hygrometer), "infrared", "contact" or "logger" (a probe taped on)
	Error   int64  // error: mK, 0 for the shop's rule
	RHError int64  // rh_error: m%
	Checked int64  // checked: when, 0 never
	Against string // against: what it was held against
	Serial  string // serial
	Gone    bool   // gone: out of use
}

// --- a place's logbook ---

// Range is the least, most and last value of a block of samples.
type Range struct{ Least, Most, Last int32 }

// ClimateBlock is what one instrument saw in about ten minutes. The server
// writes it; Dew is computed sample by sample, so that its Most is the worst
// moment and not the worst combination.
type ClimateBlock struct {
	Instrument string // instrument
	From, To   int64  // from, to
	N          int64  // n: samples
	Air        Range  // air: [least, most, last]
	RH         Range  // rh
	Dew        Range  // dew
}

// ClimateReading is the bay's air read by hand.
type ClimateReading struct {
	Air, RH    int32  // air, rh
	Instrument string // instrument: "" if unknown
	At         int64  // at: when it was read, if not when written
	Typed      string // typed: as typed, with units
}

// ClimateSpan is a minimum-maximum instrument read at the end of a span (at
// close-up it is reset, in the morning it is read).
type ClimateSpan struct {
	From, To          int64  // from, to
	AirLeast, AirMost int32  // air_least, air_most
	RHLeast, RHMost   int32  // rh_least, rh_most
	Instrument        string // instrument
	Typed             string // typed
}

// PlaceEvent is something that happened to a place's air: a door open, a
// heater lit or lost, silicone in the air. Cause is a key of the setback
// table. To 0 means it goes on.
type PlaceEvent struct {
	Cause    string // cause
	From, To int64  // from, to: 0 from = when written
	Note     string // note
}

// --- a job's logbook ---

// Panel is a piece of the vehicle that gets film.
type Panel struct {
	ID      string // id: short, unique in the job: "left-front"
	Name    string // name
	Zone    string // zone: "upper" or "lower" (sills, arches, rails), free text allowed
	Contour bool   // contour: compound contour, not a flat
	Primer  bool   // primer: primer is planned on stretched recesses here
	Area    int64  // area: square millimetres, 0 if nobody measured
}

// Spot is a numbered tape dot where surface temperature is read.
type Spot struct {
	ID   string // id: "1", "2", ...
	Name string // name: "rear left sill"
	Zone string // zone
}

// JobOpen begins a job.
type JobOpen struct {
	Label    string  // label: short name on lists, such as V5
	Customer string  // customer
	Vehicle  string  // vehicle: "long high-roof van"
	Plate    string  // plate
	Route    string  // route: key of the route table
	Film     string  // film: key of the film table, "" for none yet
	Place    ID      // place: where it stands at check-in
	Promise  int64   // promise
	Rules    string  // rules: hash of the pinned rule set
	Panels   []Panel // panels
	Spots    []Spot  // spots
	Steps    string  // steps: hash of the pinned steps of the shop, "" for the route table's own
	VIN      string  // vin: the vehicle's own number
	Fleet    string  // fleet: its number in the owner's fleet
	Proof    string  // proof: version of the artwork that the owner approved
}

// JobMove ends a stay and begins the next one.
type JobMove struct {
	Place ID     // place
	At    int64  // at
	Wet   string // wet: "yes", "no" or "unknown": rain, snow or a wet road on the way
}

// JobClose hands the vehicle over (or ends the job without film).
type JobClose struct {
	How string // how: "handed-over" or "no-film"
}

// Tick is a claim: a stage is done on a panel, in a zone, or (both empty) on the whole vehicle.
type Tick struct {
	Stage  string // stage
	Panel  string // panel
	Zone   string // zone
	Answer string // answer: "done", "started", "not-done" or "from-memory"
	At     int64  // at: typed-in time of the act, if not when written
	Note   string // note
	How    string // how: of a trim, "tape" (thread tape under the film) or "knife"
}

// SpotValue is one surface temperature at one spot.
type SpotValue struct {
	Spot    string // spot
	Surface int32  // surface
}

// Reading is one or more surface temperatures of the vehicle.
type Reading struct {
	Values     []SpotValue // values
	Instrument string      // instrument: "contact", "infrared", "logger", ""
	Answer     string      // answer: "", "from-memory" or "not-measured"
	At         int64       // at
	Typed      string      // typed
	With       string      // with: name of the instrument in the register, may be empty
}

// Setback undoes finished work; Cause is a key of the setback table, Panels
// and Zones empty mean the whole vehicle.
type Setback struct {
	Cause    string   // cause
	Panels   []string // panels
	Zones    []string // zones
	From, To int64    // from, to
	Note     string   // note
}

// Evidence is a test made on the vehicle: card strips drawn dry, a sweat
// test, seams blown out, hot air at a seam, water gone.
type Evidence struct {
	What   string // what: "blown-out", "card-strips", "sweat-test", "water-gone", "tape-pull", "palm-drag", "test-strip", "proof-plate", "gap-cut", "keep-clear", "blade-line", "heat-look", "trim-bags", "lamps", "hose-test", "risen", "spot-check" (Feature: the stage; Of: 1 if somebody looked)
	Zone   string // zone
	Passed bool   // passed
	Count  int64  // count: strips drawn
	At     int64  // at
	Note   string // note
	Panel  string // panel
	Of     int64  // of: how many were looked at, where Count is how many of them
	Photo  string // photo: SHA-256 hex
	// Feature is what it is about, by its ID on the panel: a gap that was cut, a
	// sensor that stayed free.
	Feature string // feature
}

// Finding is damage or a doubt seen at inspection.
type Finding struct {
	Panel string // panel
	Place string // place: where on it, in words
	What  string // what: "chip", "rust", "dent", "peeling", "repaint", "scratch", "old film", "other"
	Photo string // photo: SHA-256 hex, may be empty
	Note  string // note
	Walk  string // walk: "check-in", "clean" (on clean paint), "trial" (at a trial strip), "pull" (as old film comes off), "bare-paint" or "edges", may be empty
	Size  int64  // size: across, about; 0 if nobody said
	Salt  []byte // salt: 16 random bytes
}

// FindingAnswer is the owner's (or lead's) answer to a finding.
type FindingAnswer struct {
	Finding LineID // writer, seq
	Answer  string // answer: "accepted", "declined" (that panel stays bare), "repaired", or "redone" of what was found at the edges
	Note    string // note
	// What follows is the server's, for an owner who answered by link.
	Shown    string // shown: SHA-256 hex of the text that was shown
	Text     string // text: that text, whole
	Language string // language: that it was shown in
	Link     string // link: Sum of the OwnerLink
}

// Sign is a signature under the inspection.
type Sign struct {
	What    string // what: of the stage that it closes: "check-in", "inspection", "hand-over", ...
	As      string // as: "installer", "owner" or "driver"
	Name    string // name
	Strokes []byte // strokes: pairs of signed 16-bit x,y; 0x7fff,0x7fff lifts the pen
	Shown   string // shown: SHA-256 hex of the text that was shown
	Salt    []byte // salt
	// What follows is the server's, for an owner who signed by link.
	Text     string // text: what was shown, whole
	Language string // language: that it was shown in
	Link     string // link: Sum of the OwnerLink
}

// OwnerLink says that a link to one job was given to its owner. Striking it
// takes the link back.
type OwnerLink struct {
	To    string // to: who was given it
	Until int64  // until
	Sum   string // sum: SHA-256 hex of what opens the job; the link itself is kept nowhere
	Phone string // phone: id of the phone that asked for it, "" where none has to join
	Salt  []byte // salt
}

// Waiver is the lead's signed sentence that lets a held gate pass. It covers
// the causes that held the gate when it was given; a new cause holds again.
type Waiver struct {
	Stage    string   // stage
	Panel    string   // panel
	Zone     string   // zone
	Causes   []string // causes: cause keys with their values as shown
	Sentence string   // sentence
}

// Photo names a picture kept beside the logbook.
type Photo struct {
	SHA   string // sha
	Bytes int64  // bytes
	Panel string // panel
	Name  string // name
}

// Voice names a spoken note kept beside the logbook, as a photo is.
type Voice struct {
	SHA    string // sha
	Bytes  int64  // bytes
	Length int64  // length: ms
}

// Note is free text on the job.
type Note struct {
	Text string // text
	Salt []byte // salt
}

// Adopt takes a line into its logbook that was set aside. The shop writes that
// line behind this one, in the name of who adopts it.
type Adopt struct {
	Sum string // sum: SHA-256 hex of the line's bytes
}

// Forget says that lines of its logbook were erased: what they said of people is
// gone from every copy, their hashes stay. The shop writes it for the lead. Its
// lists but the photos are columns: what stands at one place in each is of one
// line.
type Forget struct {
	Writers []ID     // writers: of the lines that were erased
	Seqs    []int64  // seqs
	Kinds   []string // kinds
	Sums    []string // sums: SHA-256 hex of what each was
	Left    []string // left: SHA-256 hex of what is left of it
	Gone    []string // gone: keys whose values are gone, with spaces between
	Photos  []string // photos: SHA-256 hex of pictures and spoken notes that were deleted
	Why     string   // why: "rule" (its time was over), "asked" or "left" (the crew)
}

// Lines is how many lines it names; columns of different lengths name none.
func (f Forget) Lines() int {
	n := len(f.Writers)
	if len(f.Seqs) != n || len(f.Kinds) != n || len(f.Sums) != n || len(f.Left) != n || len(f.Gone) != n {
		return 0
	}
	return n
}

// TimeAdopt is the lead's word that the time typed into a line of the same
// logbook is when it happened.
type TimeAdopt struct {
	Line LineID // writer, seq
}

// Limit is a number of the film's own sheet, in place of the rule with the
// same key.
type Limit struct {
	Key    string // key: of RuleTable
	Value  int64  // value: in the rule's unit
	Origin string // origin: "maker's sheet", "shop rule" or "trade memory"
}

// FilmRoll is the film of some panels, or of all that have no line of their own.
type FilmRoll struct {
	Panels    []string // panels
	Family    string   // family: key of package film
	Laminate  string   // laminate: key of package film
	Adhesive  string   // adhesive: key of package film
	Thickness int64    // thickness: micrometres, without adhesive
	Batch     string   // batch
	Roll      string   // roll
	Sheet     string   // sheet: what its box or sheet calls it
	Printed   bool     // printed: in this shop, so that it must gas out
	Months    int64    // months: how long it is to stay, 0 if nobody said
	Limits    []Limit  // limits
}

// Feature is a channel, dome, row of rivets, seam or gap of a panel, or a flat
// that was looked at and has none; or what its surface is. Lengths are
// micrometres.
type Feature struct {
	Panel     string // panel
	ID        string // id: unique on the panel; written again it replaces
	Sort      string // sort: "channel", "dome", "rivets", "seam", "gap", "keep-clear", "surface" or "flat"
	Name      string // name
	Shape     string // shape: of a channel: "round", "parabola", "V", "trapezoid" or "tape"; of a surface: key of package film
	Width     int64  // width: of the mouth
	Depth     int64  // depth
	Floor     int64  // floor: of a trapezoid
	Path      int64  // path: along the contour, by tape
	HalfWidth int64  // half_width: of a dome
	Height    int64  // height: of a dome
	Length    int64  // length: along it, to be post-heated
	Count     int64  // count: rivets
	Moving    bool   // moving: a gap that opens
	Laid      string // laid: "floor-first" or "bridged"
	Plan      string // plan: "stretch", "relief-cut", "inlay" or "bare"
	Under     string // under: of a seam: the panel that lies under this one there
	Force     string // force: of a seam: why: "airflow", "water", "reach" or "sight"
}

// Heat is a stretch of post-heat: how far, how long, and what the film read.
type Heat struct {
	Panel      string  // panel
	Length     int64   // length: micrometres
	Took       int64   // took: ms
	Guns       int64   // guns: 0 is one
	Rivets     int64   // rivets
	Films      []int64 // films: film temperatures behind the nozzle, mC
	Instrument string  // instrument
	Emissivity int64   // emissivity: that the instrument was set to, m%; 0 if it has none
	Answer     string  // answer: "done", "part", "not-measured" or "from-memory"
	At         int64   // at
	Typed      string  // typed
	Over       string  // over: "plastic" or "paint" that is fresh, where the film may not get as hot
}

// Trial is one trial strip of old film.
type Trial struct {
	Place   string // place: "sunny roof edge"
	Panel   string // panel
	Surface int32  // surface: mC
	Angle   int64  // angle: degrees between the tail and the panel already bared
	Speed   int64  // speed: mm a minute
	Took    int64  // took: ms, adhesive included
	Area    int64  // area: square millimetres
	Residue int64  // residue: adhesive left, m%
	Paint   string // paint: "sound", "chipped" or "peeled"
	Photo   string // photo
	At      int64  // at
}

// Paint is what is known of the paint of some panels, or of the vehicle.
type Paint struct {
	Panels    []string // panels
	Cure      string   // cure: key of package paint, or "unknown"
	Painted   int64    // painted: when, 0 if unknown
	Thickness []int64  // thickness: micrometres, one a reading
	Source    string   // source: "painter's note", "owner", "unknown"
	At        int64    // at
}

// Patch is a gas patch test: sealed patches on the paint, and what came of it.
type Patch struct {
	Panel   string // panel
	From    int64  // from: put on
	To      int64  // to: looked at; 0 while it is on
	Places  int64  // places
	Coldest int32  // coldest: of the surface meanwhile, mC
	Warm    int32  // warm: of the warm cycle, mC
	WarmFor int64  // warm_for: ms
	Seen    string // seen: "nothing", "bubbles" or "paint-off"
	Photo   string // photo
}

// Asked is an answer to one of Questions, and 'unknown' is an answer; or a measure
// of the vehicle, in mm: "length-mm" over all, "height-mm" with what stands on its
// roof.
type Asked struct {
	What   string // what: key of the question
	Answer string // answer
}

// JobRules lets a later rule set, or later steps, reach a job.
type JobRules struct {
	Rules string // rules: hash, "" to leave them
	Steps string // steps: hash, "" to leave them
	Why   string // why
}

// Step is a stage in a shop's own words and order. What is left empty is as
// the stage of that key is in the routes of this version; a key that no route
// has is a step of the shop's own that a hand ticks.
type Step struct {
	Key     string   // key
	Name    string   // name
	Needs   []string // needs
	Caution string   // caution
	Per     string   // per: of a step of its own: "vehicle" or "panel"
	After   bool     // after: of a step of its own: follows laying
}

// StepsSet is a shop's own steps for a route, complete.
type StepsSet struct {
	Hash  string // hash: lower-case hex SHA-256 of the CBOR of the body without it
	Route string // route: key
	Name  string // name
	Steps []Step // steps
}

func (ShopSet) Kind() string        { return "shop.set" }
func (PlaceAdd) Kind() string       { return "place.add" }
func (PersonAdd) Kind() string      { return "person.add" }
func (AirShared) Kind() string      { return "air.shared" }
func (RulesSet) Kind() string       { return "rules.set" }
func (ShopHours) Kind() string      { return "shop.hours" }
func (Instrument) Kind() string     { return "instrument" }
func (ClimateBlock) Kind() string   { return "climate.block" }
func (ClimateReading) Kind() string { return "climate.reading" }
func (ClimateSpan) Kind() string    { return "climate.span" }
func (PlaceEvent) Kind() string     { return "place.event" }
func (JobOpen) Kind() string        { return "job.open" }
func (JobMove) Kind() string        { return "job.move" }
func (JobClose) Kind() string       { return "job.close" }
func (Tick) Kind() string           { return "tick" }
func (Reading) Kind() string        { return "reading" }
func (Setback) Kind() string        { return "setback" }
func (Evidence) Kind() string       { return "evidence" }
func (Finding) Kind() string        { return "finding" }
func (FindingAnswer) Kind() string  { return "finding.answer" }
func (Sign) Kind() string           { return "sign" }
func (Waiver) Kind() string         { return "waiver" }
func (Photo) Kind() string          { return "photo" }
func (Voice) Kind() string          { return "voice" }
func (Note) Kind() string           { return "note" }
func (Forget) Kind() string         { return "forget" }
func (Adopt) Kind() string          { return "adopt" }
func (TimeAdopt) Kind() string      { return "time.adopt" }
func (FilmRoll) Kind() string       { return "film" }
func (Feature) Kind() string        { return "feature" }
func (Heat) Kind() string           { return "heat" }
func (Trial) Kind() string          { return "trial" }
func (Paint) Kind() string          { return "paint" }
func (Patch) Kind() string          { return "patch" }
func (Asked) Kind() string          { return "asked" }
func (JobRules) Kind() string       { return "job.rules" }
func (StepsSet) Kind() string       { return "steps.set" }
func (OwnerLink) Kind() string      { return "owner.link" }
