package lead

import (
	"math"

	"bayhold/checklist"
	"bayhold/checklist/air"
	"bayhold/checklist/say"
)

// Alarm is one of the four things that may wake a lead: what is at risk, by
// when, and the one thing to do. Whatever can wait for the morning is none.
type Alarm struct {
	Kind   string // "heater", "margin", "door", "silent"
	Place  checklist.ID
	Job    checklist.ID // at risk
	Label  string
	Since  int64
	By     int64 // when it is lost, 0 if nobody can say
	Fact   string
	Risk   string
	Action string
}

// The bounds of alarms: common practice, no source.
const (
	night     = 14 * hour // how far ahead one looks
	coolDrop  = 1.5       // K that the air falls within an hour when its heat is lost
	coolStill = 0.2       // K that it still fell within the last twenty minutes
)

// Alarms returns what is worth a call now, in the building's order.
func (l *Look) Alarms() []Alarm {
	var out []Alarm
	for _, p := range l.Shop.Places() {
		for i := range l.vehicles {
			v := &l.vehicles[i]
			if v.Place != p.Place || p.Sort != "bay" {
				continue
			}
			for _, find := range []func(*vehicle) (Alarm, bool){l.silent, l.heater, l.door, l.falls} {
				if a, ok := find(v); ok {
					a.Place, a.Job, a.Label = p.Place, v.ID, v.Open.Label
					out = append(out, a)
				}
			}
		}
		// Who stands outside and last stood here will come in again.
		for i := range l.vehicles {
			v := &l.vehicles[i]
			if p.Sort != "bay" || v.sort == "bay" || v.sort == "" || l.comesTo(v) != p.Place {
				continue
			}
			comes := l.comes(l.Now.Latest + hour)
			if comes > l.Now.Latest+night {
				continue
			}
			if a := l.move(v, p.Place, comes, 0, false); a.Verdict == No && a.Spot != 0 {
				out = append(out, Alarm{Kind: "margin", Place: p.Place, Job: v.ID, Label: v.Open.Label, Since: l.Now.Latest, By: comes,
					Fact: p.Name + ": dew point " + say.C(a.Dew) + " at " + clock(comes) + ".", Risk: a.Sentence, Action: a.Action})
			}
		}
	}
	return out
}

// needs says what a vehicle still needs warm, dry air for.
func (l *Look) needs(v *vehicle) (stage string, left int64) {
	for _, g := range v.gates {
		if g.Needed > g.Counted && g.State != checklist.Done {
			return g.Stage, g.Needed - g.Counted
		}
	}
	return "", 0
}

// silent: an instrument that was heard has said nothing for the shop's time.
func (l *Look) silent(v *vehicle) (Alarm, bool) {
	b := l.bays[v.Place]
	stage, _ := l.needs(v)
	if stage == "" || !b.heard || b.now.Source != "logger" || l.Now.Latest-b.now.At <= l.rules["silence"] {
		return Alarm{}, false
	}
	return Alarm{Kind: "silent", Since: b.now.At, By: b.now.At + l.rules["silence"],
		Fact:   l.name(v.Place) + ": not known since " + clock(b.now.At) + ", logger silent.",
		Risk:   v.Open.Label + ": no hours count until it is heard.",
		Action: "Look at the logger; what it kept still counts."}, true
}

// door: it stands open for longer than the shop's time.
func (l *Look) door(v *vehicle) (Alarm, bool) {
	since := l.goesOn(v.Place, "door-open")
	if since == 0 || l.Now.Latest-since <= l.rules["door_open"] {
		return Alarm{}, false
	}
	return Alarm{Kind: "door", Since: since, By: l.Now.Latest,
		Fact:   l.name(v.Place) + ": door open since " + clock(since) + ".",
		Risk:   v.Open.Label + ": wiped panels are spoiled, it cools.",
		Action: "Call the porter: shut the door."}, true
}

// heater: somebody said so, or the air falls as it does without heat and no
// door explains it. Only a vehicle whose hours would stop makes it an alarm.
func (l *Look) heater(v *vehicle) (Alarm, bool) {
	stage, _ := l.needs(v)
	b := l.bays[v.Place]
	if stage == "" || !b.heard {
		return Alarm{}, false
	}
	since := l.goesOn(v.Place, "heater-off")
	history := l.Shop.AirHistory(v.Place, l.Now.Latest-90*minute)
	at := func(ago int64) (c float64, ok bool) {
		for _, a := range history {
			if a.At <= l.Now.Latest-ago {
				c, ok = float64(a.Air)/1000, true
			}
		}
		return c, ok
	}
	now, _ := at(0)
	before, ok := at(hour)
	lately, known := at(20 * minute)
	falls := ok && known && before-now >= coolDrop && lately-now >= coolStill && l.goesOn(v.Place, "door-open") == 0
	if since == 0 && !falls {
		return Alarm{}, false
	}
	a := Alarm{Kind: "heater", Since: since, Fact: l.name(v.Place) + ": heater off since " + clock(since) + ".",
		Action: "Call the porter: light it again, extractor too."}
	if since == 0 {
		a.Since = l.Now.Latest - hour
		a.Fact = l.name(v.Place) + ": air fell " + say.K(before-now) + " within the hour."
	}
	stops, ok := l.stops(v, stage, halfHour(history, l.Now.Latest))
	if !ok {
		a.Risk = v.Open.Label + ": hours may stop before morning."
		return a, since != 0
	}
	a.By, a.Risk = stops, v.Open.Label+": hours stop about "+clock(stops)+"."
	return a, true
}

// halfHour is the last half hour of a bay's air.
func halfHour(history []checklist.AirAt, now int64) []checklist.AirAt {
	for len(history) > 0 && history[len(history)-1].At > now {
		history = history[:len(history)-1]
	}
	for len(history) > 1 && history[len(history)-1].At-history[1].At >= 30*minute {
		history = history[1:]
	}
	return history
}

// changes is how often an hour the air of a closed bay changes by itself: 0.3 to
// 1 (common practice, no source), and here the middle of the two as factors.
const slowest, fastest = 0.3, 1.0

var changes = math.Sqrt(slowest * fastest)

// stops returns when hours stop counting in a bay that has cooled like this
// since its heat was lost. The air goes on towards outside at its own pace, the
// spot follows, and what makes the vapour rise (a wet vehicle under an extractor
// that stands still) goes on until the air that changes by itself carries as
// much away. ok is false if that is not before the night is over.
func (l *Look) stops(v *vehicle, stage string, lately []checklist.AirAt) (int64, bool) {
	cold, ok := l.coldest(v.ID, "")
	if !ok || len(lately) < 2 {
		return 0, false
	}
	first, last := lately[0], lately[len(lately)-1]
	hours := float64(last.At-first.At) / float64(hour)
	spot, in, was := float64(cold.Surface)/1000, float64(last.Air)/1000, float64(first.Air)/1000
	out := in - 15
	if l.outside == nil {
		out = l.weather.At(l.Now.Latest + 4*hour).Air.Mid
	}
	if in-out < 1 || was <= in {
		return 0, false
	}
	rate := math.Log((was-out)/(in-out)) / hours // 1/h
	vapour := air.SaturationPressure(float64(last.Dew) / 1000)
	rise := max(0, vapour-air.SaturationPressure(float64(first.Dew)/1000)) / hours / changes
	var course []moment
	for t := l.Now.Latest; t <= l.Now.Latest+night; t += step {
		h := float64(t-last.At) / float64(hour)
		m := moment{at: t, air: out + (in-out)*math.Exp(-rate*h)}
		m.dew = min(air.DewPointAt(vapour+rise*(1-math.Exp(-changes*h))), m.air)
		course = append(course, m)
	}
	warm(course, spot, l.pace(v, cold.ID)[mid])
	if stage == "rest" {
		for _, m := range course {
			if m.air < float64(l.rules["rest_floor"])/1000 {
				return m.at, true
			}
		}
		return 0, false
	}
	idle, _ := l.idle(course, true)
	if len(idle) == 0 {
		return 0, false
	}
	return idle[0].From, true
}

// falls: the coldest spot comes under the margin before morning. A vehicle that
// is under it already is told by its gate, and no news.
func (l *Look) falls(v *vehicle) (Alarm, bool) {
	course, ok := l.course(v, "", mid, nil)
	stage, _ := l.needs(v)
	need := float64(l.rules["margin"]) / 1000
	if !ok || stage == "" || course[0].margin() < need {
		return Alarm{}, false
	}
	for _, m := range course {
		if m.at > l.Now.Latest+night {
			break
		}
		if m.margin() < need {
			a := Alarm{Kind: "margin", Since: l.Now.Latest, By: m.at,
				Fact:   l.name(v.Place) + ": under " + say.K(need) + " about " + clock(m.at) + ".",
				Risk:   v.Open.Label + ": hours stop, and start over if it sweats.",
				Action: "Call the porter: extract or vent, heat on."}
			if l.flame(v.Place) {
				a.Action = "Call the porter: flame heater off, vent the bay."
			}
			return a, true
		}
	}
	return Alarm{}, false
}
