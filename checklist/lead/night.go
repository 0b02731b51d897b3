package lead

import (
	"bayhold/checklist"
	"bayhold/checklist/say"
)

// Night is what a bay went through since closing time, for one line.
type Night struct {
	Place     checklist.ID
	Name      string
	Known     bool  // the air was read
	Least     int32 // lowest air, milli-C
	LeastAt   int64
	Spot      string // lowest margin: of which vehicle
	Margin    int32  // mK
	MarginAt  int64
	HasMargin bool
	Silent    int64 // ms that no instrument was heard
	Lost      []Lost
	Undone    []Undone
	Sentence  string
	Costs     []string // what did not count and what was undone, one each
}

// Lost is hours that did not count for a vehicle.
type Lost struct {
	Label string
	Ms    int64
}

// Undone is a stage that was good at closing time and is not now.
type Undone struct {
	Label, Stage, Cause, Said string
}

// Nights compares the shop at closing time, by the lines that were there then,
// with the shop now.
func (l *Look) Nights(before *Look) []Night {
	closed := before.Now.Latest
	var out []Night
	for _, p := range l.Shop.Places() {
		if p.Sort != "bay" {
			continue
		}
		n := Night{Place: p.Place, Name: p.Name}
		var last int64 = closed
		for _, a := range l.Shop.AirHistory(p.Place, closed) {
			if a.At > l.Now.Latest {
				break
			}
			if !n.Known || a.Air < n.Least {
				n.Known, n.Least, n.LeastAt = true, a.Air, a.At
			}
			n.Silent += max(0, a.At-last-l.rules["silence"])
			last = a.At
		}
		if n.Known {
			n.Silent += max(0, l.Now.Latest-last-l.rules["silence"])
		}
		for i := range l.vehicles {
			if v := &l.vehicles[i]; v.Place == p.Place {
				l.margins(&n, v, closed)
				l.compare(&n, before, v, closed)
			}
		}
		n.say(l)
		out = append(out, n)
	}
	return out
}

// margins finds the least margin of a vehicle's readings to the air at that
// time.
func (l *Look) margins(n *Night, v *vehicle, closed int64) {
	history := l.Shop.AirHistory(v.Place, closed-hour)
	for _, line := range l.Shop.Lines(v.ID, 0) {
		r, ok := line.Body.(checklist.Reading)
		if at := line.Span.Latest; !ok || line.Struck || at < closed || at > l.Now.Latest {
			continue
		}
		var dew int32
		known := false
		for _, a := range history {
			if d := line.Span.Latest - a.At; d > -step && d < 2*step {
				dew, known = a.Dew, true
			}
		}
		for _, value := range r.Values {
			if m := value.Surface - dew; known && (!n.HasMargin || m < n.Margin) {
				n.HasMargin, n.Margin, n.MarginAt, n.Spot = true, m, line.Span.Latest, v.Open.Label
			}
		}
	}
}

// compare tells what a vehicle lost since closing time.
func (l *Look) compare(n *Night, before *Look, v *vehicle, closed int64) {
	var old *vehicle
	for i := range before.vehicles {
		if before.vehicles[i].ID == v.ID {
			old = &before.vehicles[i]
		}
	}
	if old == nil {
		return
	}
	lost, undone := int64(0), map[string]bool{}
	for _, g := range v.gates {
		for _, was := range old.gates {
			if was.Stage != g.Stage || was.Panel != g.Panel || was.Zone != g.Zone {
				continue
			}
			from := closed
			for _, st := range l.Shop.Stays(v.ID) {
				if st.To == (checklist.Span{}) {
					from = max(from, st.From.Latest)
				}
			}
			switch {
			case was.State != checklist.Done && g.Needed > 0 && g.Counted >= was.Counted && g.State != checklist.Done:
				lost = max(lost, l.Now.Latest-from-(g.Counted-was.Counted))
			case (was.State == checklist.Done && g.State != checklist.Done || g.Cause == "wet" && was.Cause != "wet") && !undone[g.Stage]:
				// What merely grew old is not undone.
				if row, ok := checklist.SetbackOf(g.Cause); ok || g.Cause == "wet" && g.Stage == "dry" {
					undone[g.Stage] = true
					said := row.Said
					if !ok {
						said = "it sweated"
					}
					n.Undone = append(n.Undone, Undone{v.Open.Label, g.Stage, g.Cause, said})
				}
			}
		}
	}
	if lost >= 30*minute {
		n.Lost = append(n.Lost, Lost{v.Open.Label, lost})
	}
}

// say puts the night into a line: the fact, and what it cost.
func (n *Night) say(l *Look) {
	switch {
	case !n.Known:
		n.Sentence = "No reading of the air all night."
	case n.HasMargin:
		n.Sentence = "Lowest " + say.C(float64(n.Least)/1000) + ", margin " + say.K(float64(n.Margin)/1000) + " at " + clock(n.MarginAt) + "."
	default:
		n.Sentence = "Lowest " + say.C(float64(n.Least)/1000) + " at " + clock(n.LeastAt) + "."
	}
	if n.Silent > 0 {
		n.Costs = append(n.Costs, "Not known for "+say.Minutes(float64(n.Silent)/float64(minute))+": logger silent.")
	}
	for _, x := range n.Lost {
		n.Costs = append(n.Costs, x.Label+": "+say.Minutes(float64(x.Ms)/float64(minute))+" did not count.")
	}
	for _, x := range n.Undone {
		n.Costs = append(n.Costs, x.Label+": "+x.Stage+" undone, "+x.Said+".")
	}
}

// Coming is the warning of the night to come for a bay: what would sweat there
// in the morning.
func (l *Look) Coming(place checklist.ID) (Answer, bool) {
	for i := range l.vehicles {
		v := &l.vehicles[i]
		if v.sort != "bay" && v.sort != "" && l.comesTo(v) == place {
			if a := l.move(v, place, l.comes(l.Now.Latest+hour), 0, false); a.Verdict != Yes {
				return a, true
			}
		}
	}
	return Answer{}, false
}
