package lead

import (
	"errors"
	"math"
	"strconv"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/air"
	"bayhold/checklist/forecast"
	"bayhold/checklist/plan"
)

// Look is the shop at a moment with what was learnt from its lines.
type Look struct {
	Shop *checklist.Shop
	Now  checklist.Span
	Zone int64       // ms that the shop's clock lies east of UTC
	Open []plan.Span // opening hours, from the day before now on

	weather  *forecast.Weather
	outside  error
	bays     map[checklist.ID]*bay
	rules    map[string]int64
	vehicles []vehicle
	warmest  float64 // C that any bay had within the week
	paces    map[paceKey][3]float64
}

// bay is what is known of one bay's air to come.
type bay struct {
	model *forecast.Model
	err   error
	now   checklist.ClimateNow
	heard bool // it was ever read
}

// vehicle is an open job where it stands.
type vehicle struct {
	checklist.JobFacts
	sort  string // of its place
	gates []checklist.Gate
}

// horizon is how far a look goes: two nights.
const horizon = 48 * hour

// step of a course.
const step = 10 * minute

// At looks at a shop.
func At(s *checklist.Shop, now checklist.Span, zone int64, open []plan.Span) *Look {
	l := &Look{Shop: s, Now: now, Zone: zone, Open: open, bays: map[checklist.ID]*bay{}, paces: map[paceKey][3]float64{}}
	l.weather, l.outside = WeatherOf(s, now, zone)
	l.rules = checklist.DefaultRules()
	if _, values, ok := s.RulesInForce(); ok {
		for k, v := range values {
			l.rules[k] = v
		}
	}
	for _, p := range s.Places() {
		b := &bay{}
		b.now, b.heard = s.Climate(p.Place, now)
		if p.Sort == "bay" {
			for _, a := range s.AirHistory(p.Place, now.Latest-week) {
				l.warmest = max(l.warmest, float64(a.Air)/1000)
			}
			b.model, b.err = AirOf(s, p.Place, now, l.weather, zone)
		} else {
			b.err = errors.New("stands outside")
		}
		l.bays[p.Place] = b
	}
	for _, id := range s.Jobs() {
		j, ok := s.Job(id)
		if !ok || j.Closed != "" {
			continue
		}
		p, _ := s.Place(j.Place)
		l.vehicles = append(l.vehicles, vehicle{j, p.Sort, s.Gates(id, now)})
	}
	return l
}

// side is the end of the range that a sum is made for.
type side int

const (
	kind side = iota
	mid
	unkind
)

// tau is how fast a vehicle's coldest spot follows the air, in hours: an empty
// van about 3, a loaded one 4 to 5, a bus rail 4 to 6 (common practice, no
// source).
var tau = [...]float64{kind: 0.8 * 3.5, mid: 3.5, unkind: 1.25 * 3.5}

// moment is the air and a vehicle's coldest spot at a time to come, in C.
type moment struct {
	at             int64
	air, dew, spot float64
}

func (m moment) margin() float64 { return m.spot - m.dew }

func (m moment) rh() float64 {
	return 100 * air.SaturationPressure(m.dew) / air.SaturationPressure(m.air)
}

func of(r forecast.Range, s side) float64 { return [...]float64{r.Low, r.Mid, r.High}[s] }

// airAhead is a bay's air in steps from now on; ok is false where nothing is
// known of it. Without a model the air stays as it is.
func (l *Look) airAhead(place checklist.ID, s side, p forecast.Plan) (out []moment, ok bool) {
	b := l.bays[place]
	switch {
	case b == nil || !b.heard:
		return nil, false
	case b.err == nil:
		for _, pt := range b.model.Ahead(float64(horizon)/float64(hour), p) {
			if pt.At < l.Now.Latest-step {
				continue
			}
			// Kind is a warm and dry air, and unkind a cold and damp one.
			m := moment{at: (pt.At + minute/2) / minute * minute, air: pt.Air.Mid, dew: of(pt.Dew, s)}
			switch s {
			case kind:
				m.air = max(pt.Air.High, l.rising(place, m.at))
				m.dew = min(m.dew, l.aired(b.now, m.at))
			case unkind:
				m.air = max(pt.Air.Low, m.dew)
			}
			out = append(out, l.sober(m, b.now))
		}
		return out, len(out) > 1
	}
	doubt := [...]float64{kind: -2, mid: 0, unkind: 2}[s]
	for t := l.Now.Latest; t <= l.Now.Latest+horizon; t += step {
		a := float64(b.now.Air) / 1000
		out = append(out, moment{at: t, air: a, dew: min(a, float64(b.now.Dew)/1000+doubt)})
	}
	return out, true
}

// rising is where the air of a bay that is being heated may be at a moment: it
// goes on as in the last half hour, up to the warmest of the shop's bays.
func (l *Look) rising(place checklist.ID, at int64) float64 {
	history := l.Shop.AirHistory(place, l.Now.Latest-40*minute)
	if len(history) < 2 {
		return 0
	}
	a, b := history[0], history[len(history)-1]
	if b.At == a.At || b.Air <= a.Air {
		return 0
	}
	rate := float64(b.Air-a.Air) / float64(b.At-a.At)
	return min(l.warmest, (float64(b.Air)+rate*float64(at-b.At))/1000)
}

// aired is where the dew point of a bay is at a moment whose air changes as fast
// as that of a closed bay may, with nothing wet in it.
func (l *Look) aired(now checklist.ClimateNow, at int64) float64 {
	in := float64(now.Dew) / 1000
	if l.outside != nil {
		return in
	}
	out := air.SaturationPressure(l.weather.At(at).Dew.Mid)
	return air.DewPointAt(out + (air.SaturationPressure(in)-out)*math.Exp(-fastest*float64(at-now.At)/float64(hour)))
}

// sober takes back what a heater lit an hour ago promises: its thermostat has
// not been seen to stop it yet. No bay gets warmer than the warmest of the
// week, and there the air is as damp as it is now (flame heaters leave RH about
// as it was: common practice, no source).
func (l *Look) sober(m moment, now checklist.ClimateNow) moment {
	most := max(l.warmest+1, float64(now.Air)/1000)
	if m.air > most {
		rh := max(float64(now.RH)/1000, 1)
		m.air = most
		m.dew = min(m.dew, air.DewPoint(most, min(100, rh)))
	}
	m.dew = min(m.dew, m.air)
	return m
}

// warm fills in a spot that follows the air from a temperature on, so fast.
func warm(air []moment, spot, tau float64) []moment {
	for i := range air {
		if i > 0 {
			f := math.Exp(-float64(air[i].at-air[i-1].at) / float64(hour) / tau)
			a := (air[i].air + air[i-1].air) / 2
			spot = a + (spot-a)*f
		}
		air[i].spot = spot
	}
	return air
}

// coldest is the last reading of a vehicle's coldest spot.
func (l *Look) coldest(id checklist.ID, zone string) (cold checklist.SpotState, ok bool) {
	for _, sp := range l.Shop.Spots(id, l.Now) {
		if sp.Read && (zone == "" || sp.Zone == zone) && (!ok || sp.Surface < cold.Surface) {
			cold, ok = sp, true
		}
	}
	return cold, ok
}

// course is a vehicle where it stands, from its last reading on.
func (l *Look) course(v *vehicle, zone string, s side, p forecast.Plan) ([]moment, bool) {
	air, ok := l.airAhead(v.Place, s, p)
	if !ok {
		return nil, false
	}
	cold, ok := l.coldest(v.ID, zone)
	if !ok {
		return nil, false
	}
	c, tau := float64(cold.Surface)/1000, l.pace(v, cold.ID)[s]
	// What was read some time ago has followed the air since.
	if age := l.Now.Latest - cold.At.Latest; age > step {
		c = air[0].air + (c-air[0].air)*math.Exp(-float64(age)/float64(hour)/tau)
	}
	return warm(air, c, tau), true
}

// idle returns the times of a course at which drying hours do not count.
// Without a spot only the air is asked. ends says that it is so to the end.
func (l *Look) idle(course []moment, spot bool) (out []plan.Span, ends bool) {
	for i := range course[:max(0, len(course)-1)] {
		m := course[i]
		bad := m.rh() > float64(l.rules["dry_rh"])/1000 ||
			spot && (m.spot < float64(l.rules["dry_floor"])/1000 || m.margin() < float64(l.rules["margin"])/1000)
		if !bad {
			continue
		}
		if n := len(out); n > 0 && out[n-1].To == m.at {
			out[n-1].To = course[i+1].at
		} else {
			out = append(out, plan.Span{From: m.at, To: course[i+1].at})
		}
	}
	n := len(out)
	return out, n > 0 && out[n-1].To == course[len(course)-1].at
}

// opens returns the next moment from t on at which somebody is there.
func (l *Look) opens(t int64) int64 { return plan.Opens(l.Open, t) }

// comes returns the next moment from t on at which somebody can roll a vehicle in:
// the porter comes before the shop opens.
func (l *Look) comes(t int64) int64 {
	h := HoursOf(l.Shop)
	for _, o := range l.Open {
		from := o.From
		if day := weekday(time.UnixMilli(o.From + l.Zone).UTC()); h.Porter > 0 {
			from -= max(0, h.Week[day]-h.Porter)
		}
		if o.To > t {
			return max(t, from)
		}
	}
	return t
}

// name is a place's name.
func (l *Look) name(id checklist.ID) string {
	p, _ := l.Shop.Place(id)
	return p.Name
}

type spanOf = plan.Span

var passes = plan.Passes

// acted is what happens to the bay's air on a side of the range: on the kind
// side somebody turns flame heaters off and shuts doors at once, at the unkind
// side nobody does, and between them it is done when somebody is there.
func (l *Look) acted(s side, from int64) forecast.Plan {
	var until int64
	switch s {
	case kind:
		until = from
	case mid:
		until = l.opens(from)
	default:
		return nil
	}
	return func(key string, at int64) bool { return at < until }
}

// flame says whether a flame heater without flue burns in a place's air.
func (l *Look) flame(place checklist.ID) bool {
	for _, e := range l.Shop.Ongoing(place, l.Now) {
		if e.Cause == "flame-heater" {
			return true
		}
	}
	return false
}

// goesOn returns since when something goes on in a place itself, 0 if it does
// not.
func (l *Look) goesOn(place checklist.ID, cause string) int64 {
	for _, e := range l.Shop.Ongoing(place, l.Now) {
		if e.Cause == cause && e.Place == place {
			return max(e.Start.Earliest, 1)
		}
	}
	return 0
}

// clock marks a moment.
func clock(ms int64) string { return "⟨t:" + strconv.FormatInt(ms, 10) + "⟩" }

// cap1 begins a sentence with a capital.
func cap1(s string) string {
	if s != "" && s[0] >= 'a' && s[0] <= 'z' {
		return string(s[0]-32) + s[1:]
	}
	return s
}
