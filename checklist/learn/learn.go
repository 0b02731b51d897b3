// Package learn is what a shop learns from its own past jobs: at which steps
// vehicles stand longest and for what, how many hours its bays' air cost, and
// how often what was laid did not hold, by film, shape and primer.
//
// # One job, then many
//
// A job is told over again, line by line (job.go), and what it teaches is
// written down as a [One]: times, causes, what was looked at and what had
// failed. That takes milliseconds and never changes once the job is over, so it
// is kept; a [Report] of a year's jobs is sums over what is kept. A One names a
// vehicle and places, and nobody: who did what is not read at all, so nothing
// here can be turned into a list of people.
//
// # Where a vehicle stands
//
// At every moment a vehicle stands at one step: the first in its route's order
// that is not done. Work on the film beside it is not a step of the vehicle; the
// vehicle stands 'for film' when that is what the next step lacks. While hours
// run that must pass (drying, fresh paint), it stands there even if hands could
// do something beside it, for those hours and not the hands decide. The wipe, the
// primer and laying go round panel by panel and are one step here. Hours that
// hands are waited for are told apart into those when the shop was open and
// those when it was shut.
//
// # Few numbers
//
// A shop does a few hundred vehicles in a year, and many questions are asked of
// them. So every share comes with the range in which the true one may lie, every
// half with its own; what still runs is counted as running (interval.go,
// wait.go); and two things are told apart only if the range of their difference
// leaves no doubt after as many looks as were taken. Mostly the answer is 'too
// few to tell', and then it says so.
package learn

import "bayhold/checklist"

const (
	minute = 60_000
	hour   = 60 * minute
)

// One is what one job teaches.
type One struct {
	Job    checklist.ID
	Label  string
	Began  int64
	Ended  int64 // 0 while it is open
	Stands []Stand
	Hours  []Hours
	Trials []Trial
	Quick  Quick
}

// Stand is the time that the vehicle stood at a step, by what it stood for.
type Stand struct {
	Stage, Name string
	Parts       []Part
	Running     bool // it stands there now
}

// Part is some of a time.
type Part struct {
	Cause string // key of Causes
	Ms    int64
}

// Total is the whole time.
func (s *Stand) Total() (ms int64) {
	for _, p := range s.Parts {
		ms += p.Ms
	}
	return ms
}

// Hours is drying or rest that was asked for in a bay, in a month.
type Hours struct {
	Place checklist.ID
	Month string // "2026-01"
	Cause string // key of Causes; counted: "hours"
	Ms    int64
}

// Trial is something that was laid and looked at afterwards.
type Trial struct {
	Look   string // key of Looks
	Failed bool
	// What it was by each of Factors, in the words of trial.go: several where a
	// vehicle is looked at as a whole.
	Of [factors][]string
}

// Quick is the most steps that were ticked within one minute, and when.
type Quick struct {
	Steps int
	At    int64
}

// Cause is something that a vehicle stands for.
type Cause struct {
	Key, Name string
	From      []string // causes of gates and of hours that did not count
}

// The causes that come from no gate's.
const (
	byHours = "hours"
	byAgain = "again"
	unread  = "unread"
	byHands = "hands"
	byShut  = "shut"
	byFilm  = "film"
	byPlace = "place"
	byClock = "clock"
	byOther = "other"
)

// Causes is the table of what a vehicle stands for. A gate's cause that is not
// here is hands' work if the gate is open and 'other' if not.
var Causes = []Cause{
	{byHours, "hours that count", nil},
	{byAgain, "hours that were lost again", nil},
	{"margin", "too near the dew point", []string{checklist.LacksMargin}},
	{"sweat", "sweating", []string{checklist.LacksWet, "wet", "under-dew-once"}},
	{"damp", "air too damp", []string{checklist.LacksDryAir}},
	{"cold", "too cold", []string{checklist.LacksWarmth, "air-cold", "primer-cold", "apart"}},
	{"hot", "too warm", []string{"hot", "air-hot"}},
	{"silent", "air not known", []string{checklist.LacksAir}},
	{unread, "surface not read", []string{checklist.LacksReading, "reading-old", "no-spot", "hours-open", "rest-open"}},
	{"outside", "stood outside", []string{checklist.LacksRoof, "outside-long", "move-unknown", "no-stay"}},
	{byPlace, "door, heater, dust or wash", nil},
	{"owner", "owner's answer", []string{"finding", "sign-owner", "sign-driver", "paint-off", "early-release", "film-risk", "trial-peeled"}},
	{byFilm, "film not ready", []string{"no-film", "film-unknown", "film-refused", "over-stop", "film-wet"}},
	{"paint", "fresh paint", []string{"paint-wait", "fresh-paint", "paint-unknown", "no-patch"}},
	{byClock, "time that must pass", []string{"primer-wet"}},
	{byHands, "someone's hands", nil},
	{byShut, "nobody there, shop shut", nil},
	{byOther, "something else", nil},
}

// CauseName is the words for a cause.
func CauseName(key string) string {
	for i := range Causes {
		if Causes[i].Key == key {
			return Causes[i].Name
		}
	}
	return key
}

// causeOf puts a gate's cause, or that of hours that did not count, into the
// table.
func causeOf(key string) (string, bool) {
	for i := range Causes {
		for _, k := range Causes[i].From {
			if k == key {
				return Causes[i].Key, true
			}
		}
	}
	return "", false
}
