package plan

// Span is from one moment to another.
type Span struct{ From, To int64 }

// Nature is what a task does to the air around it, or what it suffers from.
type Nature uint8

// The natures of tasks.
const (
	Wet     Nature = 1 << iota // a wash: water in the air
	Laying                     // film on wiped paint
	Solvent                    // wipes, primer, adhesive coming off
	Flame                      // hot gun, torch
	Dust                       // sanding, wheel, sweeping
	Wiped                      // panels lie wiped
)

// Conflict is two natures that do not go together in one air space.
type Conflict struct {
	A, B Nature
	Said string // the word on the bar that has to wait
}

// Conflicts is the table of what does not go together (common practice, no
// source). Within one vehicle the order of its tasks keeps them apart.
var Conflicts = []Conflict{
	{Wet, Laying, "wash beside laying"},
	{Solvent, Flame, "solvent beside flame"},
	{Dust, Wiped, "dust beside wiped panels"},
}

// Bay is a place that a vehicle takes.
type Bay struct {
	Name string
	Air  int    // bays with the same number share their air
	Idle []Span // hours that do not count here: too cold, too damp, heater off
}

// Crew is people who do the same work.
type Crew struct {
	Key   string
	Hands []string // their names
}

// Wait is hours that pass by themselves before a task.
type Wait struct {
	Key  string // "dry", "rest", "degas", "warm"
	Need int64  // ms that must count
	Free bool   // counts anywhere, at any time
	From int64  // they have run since this moment; 0: from the end of the task before,
	Past int    // or of the task of this chain so many places before this one, if it is more than 1
	Why  string // what made it this long, "" for the usual
}

// After is a task of another chain that must have ended.
type After struct{ Chain, Task int }

// Task is a piece of work with what must have passed before it.
type Task struct {
	Key    string
	Wait   []Wait
	After  []After
	Ready  int64 // not before this moment, 0 for any
	Work   int64 // ms inside opening hours
	Crew   int
	Hands  int
	Nature Nature
}

// Chain is one vehicle's tasks to the hand-over, or a film's.
type Chain struct {
	Name  string
	From  int64  // nothing of it begins earlier: a vehicle that has not come yet
	Due   int64  // promised; 0 for no promise
	Bay   int    // where it stands; None before it has one
	Bays  []int  // that it fits into; nil for any
	Film  bool   // takes no bay
	Idle  []Span // hours that do not count for this vehicle wherever it stands
	Tasks []Task
}

// None is no bay, no vehicle.
const None = -1

// Problem is the shop at a moment.
type Problem struct {
	Now    int64
	Open   []Span // opening hours to come, in order
	Bays   []Bay
	Crews  []Crew
	Chains []Chain
}

// Reason is why a bar begins no earlier.
type Reason uint8

// The reasons, and the word that stands on the bar.
const (
	Follows   Reason = iota // the stage before it
	Closed                  // the shop is shut
	NoHands                 // the crew works elsewhere
	AirTaken                // something in this air does not go with it
	BayTaken                // no bay is free
	FilmFirst               // the film is not there yet
	NotCome                 // the vehicle comes later
	Paused                  // hours did not count
)

func (r Reason) String() string {
	return [...]string{"follows", "closed", "hands", "air", "bay", "film", "not here", "paused"}[r]
}

// Bar is one stretch of the timeline.
type Bar struct {
	Chain    int
	Task     int
	Key      string // of the task or of the wait
	Wait     bool
	Bay      int
	From, To int64
	Need     int64    // working time, or hours that must count
	Who      []string // hands
	Reason   Reason
	By       int   // the chain that it waits for, None
	Delay    int64 // ms that the reason cost
	Why      string
}

// Plan is the answer.
type Plan struct {
	Bars  []Bar   // in the order of their beginnings
	Bays  []int   // by chain
	Ends  []int64 // by chain
	Late  int64   // ms, all promises together
	Exact bool    // proven the best of all
	Nodes int     // that the search saw
}

// hours of the calendar, for quick sums.
type calendar struct {
	open []Span
	sum  []int64 // open time before each span
}

func newCalendar(open []Span) calendar {
	c := calendar{open: open, sum: make([]int64, len(open)+1)}
	for i, s := range open {
		c.sum[i+1] = c.sum[i] + s.To - s.From
	}
	return c
}

// at returns the first span that ends after t.
func (c *calendar) at(t int64) int {
	lo, hi := 0, len(c.open)
	for lo < hi {
		if m := (lo + hi) / 2; c.open[m].To > t {
			hi = m
		} else {
			lo = m + 1
		}
	}
	return lo
}

// opens returns the first moment from t on at which the shop is open; past the
// last opening hours it is taken as open.
func (c *calendar) opens(t int64) int64 {
	if i := c.at(t); i < len(c.open) {
		return max(t, c.open[i].From)
	}
	return t
}

// add returns when work that begins at t, in opening hours, is done.
func (c *calendar) add(t, work int64) int64 {
	i := c.at(t)
	if i == len(c.open) || work == 0 {
		return t + work
	}
	done := max(0, t-c.open[i].From) + c.sum[i] + work // open time until the end
	lo, hi := i, len(c.open)
	for lo < hi {
		if m := (lo + hi) / 2; c.sum[m+1] >= done {
			hi = m
		} else {
			lo = m + 1
		}
	}
	if lo == len(c.open) {
		return c.open[lo-1].To + done - c.sum[lo]
	}
	return c.open[lo].From + done - c.sum[lo]
}

// Passes returns when need ms have counted from t on, while those in idle do
// not.
func Passes(t, need int64, idle []Span) int64 {
	if need <= 0 {
		return t
	}
	for _, s := range idle {
		if s.To <= t {
			continue
		}
		if s.From > t {
			if need <= s.From-t {
				return t + need
			}
			need -= s.From - t
		}
		t = s.To
	}
	return t + need
}

// Opens returns the first moment from t on at which somebody is there.
func Opens(open []Span, t int64) int64 {
	c := newCalendar(open)
	return c.opens(t)
}

// Merged is two lists of spans as one in order without overlaps.
func Merged(a, b []Span) []Span {
	var out []Span
	for len(a)+len(b) > 0 {
		var s Span
		if len(b) == 0 || len(a) > 0 && a[0].From <= b[0].From {
			s, a = a[0], a[1:]
		} else {
			s, b = b[0], b[1:]
		}
		if n := len(out); n > 0 && s.From <= out[n-1].To {
			out[n-1].To = max(out[n-1].To, s.To)
		} else if s.From < s.To {
			out = append(out, s)
		}
	}
	return out
}
