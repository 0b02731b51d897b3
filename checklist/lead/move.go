package lead

import (
	"cmp"
	"math"

	"bayhold/checklist"
	"bayhold/checklist/air"
	"bayhold/checklist/say"
	"bayhold/checklist/sweat"
)

// Verdict is the answer to 'may it?'.
type Verdict string

// The answers before the move.
const (
	Yes     Verdict = "yes"
	Close   Verdict = "close" // only at the forecast's unkind end
	No      Verdict = "no"
	Unknown Verdict = "not known"
)

// Answer is what the porter is told before the move, with what to do instead.
type Answer struct {
	Verdict  Verdict
	Sentence string
	Action   string
	Job      checklist.ID // the vehicle that it is about
	Label    string
	Spot     float64 // coldest spot on arrival, C
	Dew      float64 // dew point of the bay then, C
	Least    float64 // least margin to come, K
	FlushAt  int64   // when to begin flushing, 0 if that is not the way
	// If it goes in all the same: when it has dried again.
	Kind, About, Unkind, Next int64
	Until                     string // that range as a sentence
}

// Move answers 'may this vehicle go into that bay at this moment?' from the
// entries up to now.
func (l *Look) Move(job, place checklist.ID, at int64) Answer {
	at = max(at, l.Now.Latest)
	for i := range l.vehicles {
		if l.vehicles[i].ID == job {
			return l.move(&l.vehicles[i], place, at, 0, false)
		}
	}
	return Answer{Verdict: Unknown, Job: job, Sentence: "This vehicle is not in the shop."}
}

// move is Move with the air's dew point raised by a heater to be lit.
func (l *Look) move(v *vehicle, place checklist.ID, at int64, more float64, lit bool) Answer {
	a := Answer{Verdict: Unknown, Job: v.ID, Label: v.Open.Label}
	for i := range l.vehicles {
		if o := &l.vehicles[i]; o.ID != v.ID && o.Place == place && !lit {
			a.Verdict, a.Sentence = No, o.Open.Label+" stands there."
			a.Action = "Move " + o.Open.Label + " first, or take another bay."
			return a
		}
	}
	if p, ok := l.Shop.Place(place); ok {
		if a.Sentence = l.tooLarge(v, &p); a.Sentence != "" {
			a.Verdict, a.Action = No, "Take a bay that it fits into."
			return a
		}
	}
	spots, ok := l.arrives(v, at)
	if !ok {
		a.Sentence, a.Action = "Nobody knows how cold "+v.Open.Label+" is.", "Read its coldest spot, then ask again."
		return a
	}
	var courses [3]sweat.Course
	var ends [3]int64
	for _, s := range []side{kind, mid, unkind} {
		// Whether it sweats is asked of the air as it is; when it is dry again,
		// of what is done then.
		climate, ok := l.airAhead(place, s, nil)
		for len(climate) > 0 && climate[0].at < at-step/2 {
			climate = climate[1:]
		}
		if !ok || len(climate) < 2 {
			a.Sentence, a.Action = "No reading of the air in "+l.name(place)+".", "Read air and humidity there, then ask again."
			return a
		}
		var airs []sweat.Air
		var course []moment
		for _, m := range climate {
			m.dew = min(m.dew+more, m.air-0.1)
			course = append(course, m)
			airs = append(airs, sweat.Air{Hour: float64(m.at-at) / float64(hour), AirC: m.air, RHPct: min(100, max(0.1, m.rh()))})
		}
		c, err := sweat.Over(sweat.Vehicle{SkinC: spots[s], BodyC: spots[s], SpotC: spots[s], SpotHours: tau[s]}, airs, float64(l.rules["margin"])/1000)
		if err != nil {
			a.Sentence, a.Action = "Readings make no sense here.", "Read the coldest spot and the air again."
			return a
		}
		courses[s] = c
		if s == mid {
			a.Spot, a.Dew, a.Least = spots[mid], course[0].dew, c.LeastK
		}
		// If it sweats its hours begin at zero once it is far enough above.
		if acted, ok := l.airAhead(place, s, l.acted(s, at)); ok && more == 0 {
			course = acted[len(acted)-len(course):]
		}
		course = warm(course, spots[s], tau[s])
		idle, last := l.idle(course, true)
		ends[s] = passes(at, l.rules["sweat_hours"], idle)
		if last && ends[s] > idle[len(idle)-1].From {
			ends[s] = 0
		}
	}
	need := float64(l.rules["margin"]) / 1000
	switch {
	case courses[mid].Sweats:
		a.Verdict = No
		a.Sentence = v.Open.Label + " will sweat: about " + say.C(a.Spot) + ", dew point " + say.C(a.Dew) + "."
	case courses[unkind].Sweats || courses[mid].LeastK < need:
		a.Verdict = Close
		a.Sentence = "Close: " + v.Open.Label + " about " + say.K(a.Least) + " above the dew point."
	default:
		a.Verdict = Yes
		a.Sentence = v.Open.Label + " stays dry: " + say.K(a.Least) + " above the dew point."
		a.Action = "No rain on the way. Read the coldest spot inside."
		return a
	}
	a.Kind, a.About, a.Unkind = ends[kind], ends[mid], ends[unkind]
	if first := cmp.Or(a.About, a.Kind); first != 0 {
		a.Next = l.opens(first)
	}
	a.Until = when(a.Kind, a.About, a.Unkind)
	a.Action = l.instead(&a, place, at)
	return a
}

// arrives returns how cold a vehicle's coldest spot will be at a moment.
func (l *Look) arrives(v *vehicle, at int64) (c [3]float64, ok bool) {
	if v.sort == "bay" {
		for _, s := range []side{kind, mid, unkind} {
			course, ok := l.course(v, "", s, nil)
			if !ok {
				return c, false
			}
			for _, m := range course {
				if m.at <= at {
					c[s] = m.spot
				}
			}
		}
		return c, true
	}
	// Outside it follows the weather, some hours behind, and at night no
	// warmer than the air.
	if l.outside == nil {
		var mean, low float64
		for h := range 4 {
			w := l.weather.At(at - int64(h)*hour)
			mean += w.Air.Mid / 4
			if h == 0 || w.Air.Low < low {
				low = w.Air.Low
			}
		}
		now := l.weather.At(at).Air
		return [3]float64{kind: max(now.High, mean), mid: min(now.Mid, mean), unkind: min(low, now.Low)}, true
	}
	cold, ok := l.coldest(v.ID, "")
	if !ok || l.Now.Latest-cold.At.Latest > hour {
		return c, false
	}
	read := float64(cold.Surface) / 1000
	return [3]float64{read + 1, read, read - 2}, true
}

// instead is the way that keeps it dry.
func (l *Look) instead(a *Answer, place checklist.ID, at int64) string {
	flame := ""
	if l.flame(place) {
		flame = "Flame heater off, "
	}
	if l.outside == nil {
		airs, _ := l.airAhead(place, mid, nil)
		in := airs[0]
		for _, m := range airs {
			if m.at <= at {
				in = m
			}
		}
		out := l.weather.At(at)
		rh := 100 * air.SaturationPressure(out.Dew.Mid) / air.SaturationPressure(out.Air.Mid)
		f, err := sweat.FlushOf(a.Spot, in.air, min(100, in.rh()), out.Air.Mid, min(100, max(1, rh)), 4, 0)
		if err == nil && !f.NoHelp && !f.NoNeed {
			quarter := 15 * minute
			need := int64(math.Ceil(f.Minutes*float64(minute)/float64(quarter))) * quarter
			a.FlushAt = (at - need) / quarter * quarter
			if a.FlushAt < l.Now.Latest {
				way := "flush " + say.Minutes(float64(need/minute)) + " first, then vented heat."
				return cap1(flame + way)
			}
			way := "flush from " + clock(a.FlushAt) + ", then vented heat."
			return cap1(flame + way)
		}
	}
	way := "warm it elsewhere first, then read the coldest spot."
	return cap1(flame + way)
}

// climbs is how far an unvented flame heater brings the dew point up within
// the night, while RH stays about the same: common practice, no source.
var climbs = [...]float64{kind: 8, mid: 9, unkind: 10}

// Heater answers 'may this heater be lit tonight?': flame is one that burns gas
// without a flue. A vehicle that stands in this air or is to come into the bay
// decides.
func (l *Look) Heater(place checklist.ID, flame bool) Answer {
	if b := l.bays[place]; b == nil || !b.heard {
		return Answer{Verdict: Unknown, Sentence: "No reading of the air in " + l.name(place) + ".", Action: "Read air and humidity there, then ask again."}
	}
	if !flame {
		return Answer{Verdict: Yes, Sentence: "Vented or electric heat makes no water.", Action: "Light it early: metal warms late."}
	}
	worst := Answer{Verdict: Close, Sentence: "It makes water: dew point climbs about " + say.K(climbs[mid]) + ".",
		Action: "Prefer vented or electric. Never leave a flame alone."}
	shares := l.sharing(place)
	for i := range l.vehicles {
		v := &l.vehicles[i]
		if v.sort == "bay" && contains(shares, v.Place) {
			course, ok := l.course(v, "", mid, nil)
			if !ok {
				continue
			}
			least := math.Inf(1)
			for _, m := range course[:min(len(course), 12*6)] {
				least = min(least, m.margin()-climbs[mid])
			}
			if least < float64(l.rules["margin"])/1000 {
				return Answer{Verdict: No, Job: v.ID, Label: v.Open.Label, Least: least,
					Sentence: v.Open.Label + ": margin falls to " + say.K(least) + " when it burns.",
					Action:   "Use vented or electric heat."}
			}
		}
		if v.sort != "bay" && l.comesTo(v) == place {
			if a := l.move(v, place, l.comes(l.Now.Latest+hour), climbs[mid], true); a.Verdict == No || a.Verdict == Close {
				a.Verdict = No
				a.Action = "Use vented or electric heat, or none."
				return a
			}
		}
	}
	return worst
}

// comesTo guesses the bay that a vehicle outside will come into: the one that
// it last stood in.
func (l *Look) comesTo(v *vehicle) checklist.ID {
	stays := l.Shop.Stays(v.ID)
	for i := len(stays) - 1; i >= 0; i-- {
		if p, ok := l.Shop.Place(stays[i].Place); ok && p.Sort == "bay" {
			return p.Place
		}
	}
	return checklist.ID{}
}

// sharing returns the places of a place's air, itself among them.
func (l *Look) sharing(place checklist.ID) []checklist.ID {
	for _, g := range l.Shop.SharedAir(l.Now) {
		if contains(g, place) {
			return g
		}
	}
	return []checklist.ID{place}
}

func contains(ids []checklist.ID, id checklist.ID) bool {
	for _, x := range ids {
		if x == id {
			return true
		}
	}
	return false
}
