package lead

import (
	"cmp"
	"slices"
	"strings"

	"bayhold/checklist"
	"bayhold/checklist/plan"
)

// Schedule is the plan with the words that a lead reads.
type Schedule struct {
	*plan.Plan
	Problem *plan.Problem
	Jobs    []checklist.ID // by chain
	Refused string         // why there is no plan
	Out     []string       // vehicles that fit into no bay, a sentence each
	Propose []Proposal
}

// Proposal is one thing to do that the plan rests on.
type Proposal struct {
	Kind     string // "wash", "heat", "move"
	Job      checklist.ID
	Bay      string
	At       int64
	Sentence string
	Why      string
}

// Schedule plans the shop from now on.
func (l *Look) Schedule() *Schedule {
	p, jobs, out := l.Problem()
	s := &Schedule{Problem: p, Jobs: jobs, Out: out}
	pl, err := plan.Of(p)
	if err != nil {
		s.Refused = cap1(err.Error()) + "."
		return s
	}
	s.Plan = pl
	s.wash(l)
	s.heat(l)
	s.moves()
	return s
}

func (s *Schedule) bay(b plan.Bar) string {
	if b.Bay == plan.None {
		return ""
	}
	return s.Problem.Bays[b.Bay].Name
}

// wash names the next vehicle to wash, of those that begin before the next
// night is over.
func (s *Schedule) wash(l *Look) {
	for _, b := range s.Bars {
		if b.Key == "wash" && !b.Wait && b.From < l.Now.Latest+24*hour {
			s.Propose = append(s.Propose, Proposal{Kind: "wash", Job: s.Jobs[b.Chain], Bay: s.bay(b), At: b.From,
				Sentence: "Wash " + s.Problem.Chains[b.Chain].Name + " at " + clock(b.From) + " in " + s.bay(b) + ".",
				Why:      "It dries while nobody works."})
			return
		}
	}
}

// heat names the bays whose hours of the coming night somebody waits for: first
// those whose next work would begin later if they did not count.
func (s *Schedule) heat(l *Look) {
	night := l.night()
	type loss struct {
		bar         plan.Bar
		work, later int64 // how much later its next work begins, and its hours end
	}
	var all []loss
	for _, b := range s.Bars {
		if !b.Wait || b.Bay == plan.None || b.From >= night.To || b.To <= night.From || doing[b.Key] == "" {
			continue
		}
		idle := plan.Merged(s.Problem.Bays[b.Bay].Idle, s.Problem.Chains[b.Chain].Idle)
		end := plan.Passes(b.From, b.Need, plan.Merged(idle, []plan.Span{night}))
		next := end
		for _, o := range s.Bars {
			if !o.Wait && o.Chain == b.Chain && o.Task == b.Task {
				next = o.From
			}
		}
		x := loss{b, max(0, l.opens(end)-next), end - b.To}
		i := slices.IndexFunc(all, func(o loss) bool { return o.bar.Bay == b.Bay })
		switch {
		case x.later <= 0:
		case i < 0:
			all = append(all, x)
		case x.work > all[i].work:
			all[i] = x
		}
	}
	slices.SortStableFunc(all, func(a, b loss) int { return cmp.Or(cmp.Compare(b.work, a.work), cmp.Compare(b.later, a.later)) })
	for _, x := range all {
		name, bay := s.Problem.Chains[x.bar.Chain].Name, s.bay(x.bar)
		why := "Without it " + name + " is ready " + span(x.later/minute*minute) + " later; its work waits anyway."
		if x.work > 0 {
			why = "Without it work on " + name + " begins " + span(x.work/minute*minute) + " later."
		}
		what := name + doing[x.bar.Key]
		s.Propose = append(s.Propose, Proposal{Kind: "heat", Job: s.Jobs[x.bar.Chain], Bay: bay, At: night.From,
			Sentence: "Heat " + bay + " tonight: " + what + ".", Why: why})
	}
}

// night is the time from closing, or from now if it is later, until somebody is
// there again.
func (l *Look) night() plan.Span {
	n := plan.Span{From: l.Now.Latest, To: l.opens(l.Now.Latest)}
	if n.To > n.From+2*hour {
		return n
	}
	n.From = n.To // it is nearly morning: the next one
	for _, o := range l.Open {
		if o.From <= n.From && n.From < o.To {
			n.From, n.To = o.To, l.opens(o.To)
		}
	}
	return n
}

var doing = map[string]string{"dry": " dries", "rest": " rests", "warm": " warms"}

// moves are the first three that somebody begins.
func (s *Schedule) moves() {
	n := 0
	for _, b := range s.Bars {
		if b.Wait || len(b.Who) == 0 || n == 3 {
			continue
		}
		n++
		s.Propose = append(s.Propose, Proposal{Kind: "move", Job: s.Jobs[b.Chain], Bay: s.bay(b), At: b.From,
			Sentence: clock(b.From) + " " + strings.Join(b.Who, ", ") + ": " + s.Problem.Chains[b.Chain].Name + ", " + called(b.Key) + ", " + s.bay(b) + "."})
	}
}

// called is what a sentence calls a step.
func called(key string) string { return strings.ReplaceAll(key, "-", " ") }

// Word is the cause that stands on a bar.
func (s *Schedule) Word(b plan.Bar) string {
	by := ""
	if b.By != plan.None {
		by = s.Problem.Chains[b.By].Name
	}
	switch b.Reason {
	case plan.NoHands:
		return "hands at " + by
	case plan.AirTaken:
		return b.Why + ", " + by
	case plan.BayTaken:
		return "bay held by " + by
	case plan.FilmFirst:
		return "film not ready"
	case plan.Closed:
		return "closed"
	case plan.NotCome:
		return "not here yet"
	case plan.Paused:
		if b.Why != "" {
			return b.Why
		}
		return "hours paused"
	}
	return b.Why
}

// Slip is a promise or an end that moved, and what moved it.
type Slip struct {
	Job      checklist.ID
	Label    string
	Was, Is  int64
	Due      int64
	Lost     bool // the promise held before and does not now
	Sentence string
	Cause    string
}

// slack is how far an end may move without being told.
const slack = 30 * minute

// Slips compares a plan with the one before it.
func (s *Schedule) Slips(before *Schedule) []Slip {
	if before == nil || before.Plan == nil || s.Plan == nil {
		return nil
	}
	var out []Slip
	for i, id := range s.Jobs {
		c := &s.Problem.Chains[i]
		if c.Film {
			continue
		}
		for k, old := range before.Jobs {
			if old != id || before.Problem.Chains[k].Film || s.Ends[i] <= before.Ends[k]+slack {
				continue
			}
			x := Slip{Job: id, Label: c.Name, Was: before.Ends[k], Is: s.Ends[i], Due: c.Due,
				Lost: c.Due != 0 && before.Ends[k] <= c.Due && s.Ends[i] > c.Due}
			x.Sentence = c.Name + ": hand-over moved from " + clock(x.Was) + " to " + clock(x.Is) + "."
			if x.Lost {
				x.Sentence = c.Name + " misses " + clock(c.Due) + ": now " + clock(x.Is) + ". Tell the owner."
			}
			x.Cause = s.changed(i, before, k)
			out = append(out, x)
		}
	}
	return out
}

// changed names what moved a vehicle's end: hours of its own that are asked for
// again or no longer count, otherwise what it waits for the longest.
func (s *Schedule) changed(chain int, before *Schedule, was int) string {
	ends := func(s *Schedule, chain int) map[string]plan.Bar {
		out := map[string]plan.Bar{}
		for _, b := range s.Bars {
			if b.Chain == chain && b.Wait {
				out[b.Key] = b
			}
		}
		return out
	}
	old := ends(before, was)
	for _, b := range s.Bars {
		if b.Chain != chain || !b.Wait || b.Key == "settle" || b.Key == "re-check" {
			continue
		}
		switch o, ok := old[b.Key]; {
		case b.Why != "" && o.Why != b.Why:
			return called(b.Key) + ": " + b.Why
		case ok && b.To-b.From-b.Need > o.To-o.From-o.Need+slack:
			return called(b.Key) + ": hours paused"
		case ok && b.To > o.To+slack && b.Need+s.Problem.Now > o.Need+before.Problem.Now+slack && o.From == before.Problem.Now:
			return called(b.Key) + ": hours did not count"
		}
	}
	if why, ok := s.Cause(s.Problem, chain); ok {
		return called(why.Key) + ": " + s.Word(why.Bar)
	}
	return "more work than planned"
}
