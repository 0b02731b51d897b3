package backtest

import (
	"math"
	"math/rand/v2"

	"bayhold/checklist/air"
	"bayhold/checklist/forecast"
)

// habit is a sort of bay that the generator builds.
type habit struct {
	name       string
	day, night float64 // thermostat, C; night from close-up to opening
	off        bool    // heater and extractor off at night
	wash       bool    // washes on most days
	flame      bool    // on some evenings a flame heater without flue is lit, and said
	power      float64 // kW
}

var habits = []habit{
	{name: "steady heat", day: 20, night: 20, power: 14},
	{name: "night setback", day: 20, night: 16, power: 14},
	{name: "timer at night", day: 19, off: true, power: 20},
	{name: "wash, frost guard", day: 10, night: 10, wash: true, power: 8},
	{name: "unheated", day: -50, night: -50},
	{name: "flame heater", day: 12, night: 12, power: 8, flame: true},
}

// made is a generated bay: its air every ten minutes, and the air outside.
// and what somebody said of it.
type made struct {
	bay, outside []forecast.Sample
	flame        []forecast.Span
}

// things is what was said of a bay by a moment.
func (m *made) things(now int64) []forecast.Thing {
	t := forecast.Thing{Key: "flame-heater"}
	for _, s := range m.flame {
		if s.From <= now {
			if s.To > now {
				s.To = 0
			}
			t.Spans = append(t.Spans, s)
		}
	}
	if t.Spans == nil {
		return nil
	}
	return []forecast.Thing{t}
}

// startMS is a Monday 00:00 UTC in winter; nothing hangs on which.
const startMS = 1_768_176_000_000

// generate builds days of a bay by another model than the one that forecasts:
// air and walls as two masses, a thermostat with limited power and a dead band,
// wet floors that dry, doors at chance times, weather that drifts, instruments
// that scatter by 0.1 K and 1.5 %. All of it is invented.
func generate(h habit, seed uint64, days int) made {
	r := rand.New(rand.NewPCG(seed, 7))
	const dt = 60.0 // s
	volume := 250 + 300*r.Float64()
	loss := 0.20 + 0.2*r.Float64()         // kW/K to outside
	link := 0.9 + 0.6*r.Float64()          // kW/K air to walls
	airHeat, wallHeat := 1.2*volume*6, 9e3 // kJ/K: air with what stands in it, walls
	changes := 0.3 + 0.6*r.Float64()
	mean, swing, dewGap := -2+10*r.Float64(), 1.5+3*r.Float64(), 1+3*r.Float64()
	t, wall := max(h.day, mean+2), max(h.day, mean+2)-1
	if h.off {
		t, wall = 15, 15
	}
	w := air.Density(t, air.SaturationPressure(mean-dewGap)*1.25) * 1000 // g/m3
	floor, drift, burning := 0.0, 0.0, false
	doors, wash := 0.0, 0.0 // seconds left
	shift := 14 + 2*r.Float64()
	lit := false
	var out made
	for i := 0; i <= days*24*60; i++ {
		hour := math.Mod(float64(i)/60, 24)
		drift += r.NormFloat64() * 0.02
		drift *= 0.9997
		to := mean + drift + swing*math.Cos(2*math.Pi*(hour-shift)/24)
		dewOut := min(to-0.3, mean+drift-dewGap+0.3*swing*math.Cos(2*math.Pi*(hour-shift-2)/24))
		eo := air.SaturationPressure(dewOut)
		if i%10 == 0 {
			at := startMS + int64(i)*60_000
			e := air.PressureOf(t, w/1000)
			rh := min(99.5, 100*e/air.SaturationPressure(t)+1.5*r.NormFloat64()*0.5)
			read := math.Round((t+0.1*r.NormFloat64())*10) / 10
			out.bay = append(out.bay, forecast.Sample{At: at, AirC: read, DewC: air.DewPoint(read, max(5, rh))})
			out.outside = append(out.outside, forecast.Sample{At: at, AirC: math.Round(to*10) / 10, DewC: dewOut})
		}
		open := hour >= 7 && hour < 17
		set, heated := h.night, true
		if open || h.off && hour >= 4 && hour < 22 {
			set = h.day
		} else if h.off {
			heated = false
		}
		if at := startMS + int64(i)*60_000; h.flame && hour == 20 && r.Float64() < 0.6 {
			lit = true
			out.flame = append(out.flame, forecast.Span{From: at})
		} else if lit && hour == 7.5 {
			lit = false
			out.flame[len(out.flame)-1].To = at
		}
		if lit {
			set = 20
		}
		n := changes
		if h.off && !heated {
			n *= 0.3
		}
		if open && r.Float64() < 1.0/(4*60) {
			doors = 60 * (3 + 20*r.Float64())
		}
		if doors > 0 {
			n += 6
			doors -= dt
		}
		if h.wash && open && hour < 15 && r.Float64() < 1.0/(6*60) && wash <= 0 && floor < 3000 {
			wash = 90 * 60
		}
		if wash > 0 {
			floor = min(floor+8000*dt/3600, 14000)
			wash -= dt
		}
		dries := floor * 0.18
		floor -= dries * dt / 3600
		if t < set-0.2 {
			burning = true
		} else if t > set+0.2 {
			burning = false
		}
		power, water := 0.0, 120+dries
		if open {
			water += 250
		}
		if burning && heated {
			power = h.power
			if lit {
				// Burnt gas makes about 0.15 kg of water a kWh.
				power = 12
				water += 0.15 * 12 * 1000
			}
		}
		leak := n * volume * 0.34 / 1000
		t += (power - leak*(t-to) - link*(t-wall)) * dt / airHeat
		wall += (link*(t-wall) - loss*(wall-to)) * dt / wallHeat
		w += n/3600*dt*(1000*air.Density(to, eo)-w) + water/3600*dt/volume
		w = min(w, 970*air.Density(t, air.SaturationPressure(t)))
	}
	return out
}
