package checklist

// State is what a gate answers to 'may I start?'.
type State uint8

// The answers of a gate. The screen says: start now, from 12:20, stopped by,
// no reading, done.
const (
	Open     State = iota // start now
	Waits                 // opens by itself at Until, or when Condition has come true
	Held                  // something must be done first: WayOut
	NotKnown              // a reading is missing that would tell
	Done                  // the stage's claim is good; nothing to start
)

// Gate is the answer in front of one stage, for a panel, a zone or (both
// empty) the whole vehicle.
//
// Reason, WayOut and Condition are sentences of at most a dozen words with
// marks for what depends on the reader's place: ⟨t:MS⟩ a moment, ⟨c:N⟩ a
// temperature in milli-degrees Celsius, ⟨k:N⟩ a temperature difference in
// milli-kelvin, ⟨h:MS⟩ hours and minutes. The edge (page, command line) turns
// marks into text in the shop's zone and units.
type Gate struct {
	Stage       string
	Panel, Zone string
	State       State
	Cause       string   // key of what holds it first: "not-dry", "wipe-stale", "cold", ...
	Causes      []string // all that holds it, as a waiver quotes them: the key, or key=n with how much is missing
	Reason      string
	WayOut      string
	Condition   string // set when the end hangs on climate to come
	Until       int64  // earliest honest time; 0 if none can be named
	Counted     int64  // ms that count so far, for stages that count
	Needed      int64  // ms needed, 0 if the stage does not count
	Running     bool   // the count is running at this moment
	Ask         string // spot that should be read next, or ""
	Waived      bool   // passes only by a waiver
}
