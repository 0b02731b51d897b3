package story

import "math"

// The small model of bays and vehicles. Air and surfaces of the demo are
// calculated with it; nothing in it was measured. Temperatures in C, humidity
// in percent, water in g/m3, heat in kW and kJ/K, times in hours from Tuesday
// 06:00.

// es is the saturation pressure over water in kPa (Magnus form with the
// coefficients of WMO-No. 8, annex 4.B).
func es(t float64) float64 { return 0.6112 * math.Exp(17.62*t/(243.12+t)) }

// water is the vapour in air of t C at e kPa, in g/m3.
func water(t, e float64) float64 { return 1000 * e * 1000 / (461.5 * (t + 273.15)) }

func pressure(t, w float64) float64 { return w / 1000 * 461.5 * (t + 273.15) / 1000 }

// outside is the temperature of the two days, hour by hour and straight
// between.
var outside = [][2]float64{{0, -2}, {3, -.5}, {6, 2.5}, {8, 4}, {10, 3}, {12, 1}, {16, -1}, {20, -3}, {23, -4}, {25, -3.5}, {27, -1}, {30, 1.5}, {32, 2}, {34, 1}, {36, -.5}}

func outdoors(h float64) float64 {
	p := outside
	if h <= p[0][0] {
		return p[0][1]
	}
	for i := 1; i < len(p); i++ {
		if h <= p[i][0] {
			return p[i-1][1] + (p[i][1]-p[i-1][1])*(h-p[i-1][0])/(p[i][0]-p[i-1][0])
		}
	}
	return p[len(p)-1][1]
}

func waterOutdoors(h float64) float64 {
	t := outdoors(h)
	return water(t, 0.85*es(t))
}

// vehicle is three lumps: skin, body, and the sill, which lags. It holds the
// water in g/m2 that condensed on skin and sill.
type vehicle struct {
	skin, body, sill float64
	film, heat       float64 // W/m2K to the air; kJ/K of the body
	area, lag        float64 // m2; hours of the sill
	skinWet, sillWet float64
}

func newVehicle(t, film, heat, area, lag float64) *vehicle {
	return &vehicle{skin: t, body: t, sill: t, film: film, heat: heat, area: area, lag: lag}
}

// step moves the vehicle dt seconds on in air of t C with w g/m3, and returns
// the water that it took from the air, in g.
func (v *vehicle) step(t, w, dt float64) float64 {
	const transfer = 4 / 1200.
	d := transfer * (w - water(v.skin, es(v.skin))) * dt
	if d < 0 {
		d = -math.Min(-d, v.skinWet)
	}
	v.skinWet += d
	q := v.film*(t-v.skin) + 5*(v.body-v.skin)
	v.skin += (q*dt + d*2500) / 3200
	v.body += ((v.skin-v.body)*5 + (t-v.body)*1.5) * dt / (v.heat * 1000)
	s := transfer * .5 * (w - water(v.sill, es(v.sill))) * dt
	if s < 0 {
		s = -math.Min(-s, v.sillWet)
	}
	v.sillWet += s
	v.sill += (t - v.sill) * dt / (v.lag * 3600)
	return d * v.area
}

// bay is a well-mixed air space.
type bay struct {
	t, w         float64 // C, g/m3
	volume, loss float64 // m3, kW/K
	capacity     float64 // kJ/K
}

func newBay(t, rh, volume, loss, capacity float64) *bay {
	return &bay{t: t, w: water(t, rh/100*es(t)), volume: volume, loss: loss, capacity: capacity}
}

// weather is what acts on a bay for one step.
type weather struct {
	hour    float64
	heated  bool
	set     float64 // thermostat, C
	power   float64 // kW at most
	changes float64 // air changes per hour
	source  float64 // g of water per hour
	flame   bool    // heated by unvented gas: 1.63 kg of water per kg burnt
	mixed   *bay    // air shared with this bay
	mixing  float64 // exchanges per hour
	taken   float64 // g of water taken by the vehicle
}

func (b *bay) step(x weather, dt float64) {
	out := outdoors(x.hour)
	leak := b.loss + x.changes*b.volume*0.34/1000
	power := 0.
	if x.heated {
		power = math.Max(0, math.Min(x.power, leak*(b.t-out)+(x.set-b.t)*b.capacity/1800))
	}
	b.t += (power - leak*(b.t-out)) * dt / b.capacity
	gained := x.source / 3600 * dt
	if x.flame {
		gained += power / 12.8 * 1.63 * 1000 / 3600 * dt
	}
	b.w += (x.changes/3600*dt)*(waterOutdoors(x.hour)-b.w) + gained/b.volume - x.taken/b.volume
	if x.mixed != nil {
		b.w += x.mixing / 3600 * dt * (x.mixed.w - b.w)
		b.t += x.mixing / 3600 * dt * (x.mixed.t - b.t) * 0.2
	}
	b.w = math.Min(b.w, 0.97*water(b.t, es(b.t)))
}

func (b *bay) rh() float64 { return 100 * pressure(b.t, b.w) / es(b.t) }

// moment is everything the instruments read at one time.
type moment struct {
	hour float64
	air  [7]sample  // by bay; 0 is outside
	skin [6]float64 // by vehicle, from 1
	sill [6]float64
}

type sample struct{ t, rh float64 }

// simulate runs the 36 hours of run 'A' or 'B' and returns a moment every ten
// minutes.
func simulate(run byte) []moment {
	const dt = 30.
	b1, b2 := newBay(10, 62, 300, .22, 6000), newBay(19, 38, 300, .25, 3600)
	b3, b4 := newBay(19, 40, 300, .25, 6000), newBay(12, 60, 300, .40, 6000)
	b5, b6 := newBay(17, 45, 550, .40, 11000), newBay(15.5, 42, 300, .25, 6000)
	v1, v2 := newVehicle(18.7, 8, 28, 35, 3.2), newVehicle(18.5, 8, 28, 28, 3.2)
	v3, v4 := newVehicle(8, 8, 40, 90, 4.5), newVehicle(15.3, 8, 24, 10, 2.5)
	v5 := newVehicle(-2, 6, 40, 35, 3.2)
	var out []moment
	var floor1, floor3, floor5 float64 // g of wash water still on the floor
	rinsed := false
	for k := 0; k <= int(36*3600/dt); k++ {
		h := float64(k) * dt / 3600
		day := math.Mod(6+h, 24)
		if k%20 == 0 {
			m := moment{hour: h}
			m.air[0] = sample{outdoors(h), 85}
			for i, b := range []*bay{b1, b2, b3, b4, b5, b6} {
				m.air[i+1] = sample{b.t, b.rh()}
			}
			for i, v := range []*vehicle{v1, v2, v3, v4, v5} {
				m.skin[i+1], m.sill[i+1] = v.skin, v.sill
			}
			out = append(out, m)
		}
		crew := 300.
		if day >= 7 && day < 17 {
			crew = 450
		}
		// Bay 1: V2 is washed and rinsed 15:00 to 16:30.
		washing := h >= 9 && h < 10.5
		if washing {
			floor1 = math.Min(floor1+8000*dt/3600, 14000)
		}
		dries := floor1 * 0.18
		floor1 -= dries * dt / 3600
		b1.step(weather{hour: h, heated: true, set: 10, power: 8, changes: .8, source: dries}, dt)
		// Bay 2: V1; the door is open 14:20 to 14:50.
		x := weather{hour: h, heated: true, set: 18, power: 14, changes: .5, source: crew}
		if day >= 5 && day < 19 {
			x.set = 20
		}
		if h >= 8+20./60 && h < 8+50./60 {
			x.changes = 9
		}
		x.taken = v1.step(b2.t, b2.w, dt)
		b2.step(x, dt)
		// Bay 3: V2 except while it is in the wash.
		if h >= 10.5 && !rinsed {
			rinsed, floor3 = true, 4000
		}
		dries = floor3 * 0.22
		floor3 -= dries * dt / 3600
		x = weather{hour: h, heated: true, set: 20, power: 14, changes: .6, source: dries + crew}
		if h >= 10.5 {
			x.changes = .9
		}
		if !washing {
			x.taken = v2.step(b3.t, b3.w, dt)
		}
		b3.step(x, dt)
		if washing {
			v2.step(b1.t, b1.w, dt)
		}
		b4.step(bay4(run, h, b1, b4, v5, dt), dt)
		// Bay 5: the bus is washed 07:30 to 09:30; heater and extractor hang
		// on one timer that is off 22:00 to 04:00.
		if h >= 1.5 && h < 3.5 {
			floor5 = math.Min(floor5+9000*dt/3600, 18000)
		}
		off := h >= 16 && h < 22
		dries = floor5 * .10 * math.Max(0.1, 1-b5.rh()/100) / 0.5
		floor5 -= dries * dt / 3600
		x = weather{hour: h, heated: !off, set: 18, power: 22, changes: .9, source: dries}
		if off {
			x.changes = .10
		}
		if h >= 1.25 && h < 1.4 {
			x.changes = 3
		}
		x.taken = v3.step(b5.t, b5.w, dt)
		b5.step(x, dt)
		x = weather{hour: h, heated: true, set: 16, power: 10, changes: .6, source: 300}
		x.taken = v4.step(b6.t, b6.w, dt)
		b6.step(x, dt)
	}
	return out
}

// bay4 is where the two runs differ. An unvented gas heater is lit at 20:00.
// Run A: it burns until 08:30. Run B: off at 05:15, flushed with outside air
// until 06:00, then vented heat. V5 comes in from the yard at 06:00.
func bay4(run byte, h float64, b1, b4 *bay, v5 *vehicle, dt float64) weather {
	x := weather{hour: h, heated: true, set: 12, power: 13, changes: .4, source: 300}
	if h >= 10 && h < 24 {
		x.mixed, x.mixing = b1, .25
	}
	if run == 'A' {
		if h >= 14 {
			x.set = 20
		}
		x.flame = h >= 14 && h < 26.5
		if h >= 26.5 {
			x.changes = .6
		}
	} else {
		switch {
		case h >= 24:
			x.set, x.changes, x.mixed = 20, .6, nil
		case h >= 23.25:
			x.heated, x.changes, x.mixed = false, 4, nil
		case h >= 14:
			x.set, x.flame = 20, true
		}
	}
	if h >= 24 && h < 24+4./60 {
		x.changes = 5
	}
	if h < 24 {
		v5.step(outdoors(h), waterOutdoors(h)*.9, dt)
		v5.skinWet, v5.sillWet = 0, 0
	} else {
		x.taken = v5.step(b4.t, b4.w, dt)
	}
	return x
}
