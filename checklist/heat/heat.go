// Package heat is the hot gun and the film: which temperature a piece of work
// asks for, how fast the gun may travel, whether a post-heat that was ticked
// can be true, and how soon a film that came off the panel is too cold again.
//
// # Film temperature
//
// [Targets] is the table of work and film temperature, in C, of the film's
// surface and not of the gun's dial. All of it is common practice, no source;
// the film maker's sheet wins. [Judge] compares in thousandths of a degree, as
// typed and before anything is rounded for a screen.
//
// # Pace
//
// Post-heat travels one inch (25.4 mm, NIST SP 811) in 2 to 3 s, which is 12.7
// to 8.5 mm/s. A ticked post-heat is questioned, never blocked, when it took
// less than the least time that a quick hand needs (all common practice, no
// source):
//
//	least     length / (1.2 m/min)  + 2 s a rivet
//	expected  length / (0.8 m/min)  + 3 s a rivet
//	slow      3 s an inch           + 4 s a rivet
//
// each divided by the number of guns.
//
// # Cooling off the panel
//
// A film is thin beside what its heat must cross, so it cools as one lump
// (Biot number under 0.1; Incropera and DeWitt, Fundamentals of Heat and Mass
// Transfer, equations 5.6 to 5.10):
//
//	τ = ρ cp δ / (n h),   t = τ ln((T1 - Tair)/(T2 - Tair))
//
// with n sides open to the air. PVC: ρ cp = 1380 kg/m3 × 1200 J/(kg K); the
// NIST Chemistry WebBook gives 0.95 to 1.06 kJ/(kg K) from 25 to 60 C (Chang
// 1977; Alford and Dole 1955) for the bare resin, plasticised film is quoted up to 1.4, so every
// time comes with a range of 0.75 to 1.4 of it. In still air h is about 13
// W/(m2 K): natural convection on a vertical plate (Churchill and Chu 1975)
// and radiation. From 180 F to 150 F a film of 2 to 4 mil takes 1 to 4 s in
// still air and less in a draught. Reading an instrument and reacting takes as
// long: no countdown can help, so there is none. The screen asks for the
// reading, and the hand heats again.
//
// Once laid, the panel rules: two thick bodies that touch meet at
// (e1 T1 + e2 T2)/(e1 + e2), e = sqrt(k ρ c) (Incropera section 5.7), within
// milliseconds. Film at 180 F on bare steel at 75 F is at 79 F. "Heat again
// below 150 F" is about film off the panel.
//
// # Safety
//
// A gun's nozzle is over 400 C. Solvent flashed off and its can closed before
// heat; no gun near airbags, belt tensioners, tyres, gas struts or fuel; char,
// browning or a sharp smell means stop and ventilate. General information only:
// the product's sheet and the local fire and workplace rules win. Nothing here
// says that anything is safe.
//
// # Who calls it
//
// The lay screen calls [Judge] on a film reading, the post-heat screen shows
// [Travel] for the feature in hand, and the tick of post-heat is questioned by
// [LeastMs] and [PostHeat].
package heat

import (
	"errors"
	"math"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// The inputs of this package's functions.
var (
	FilmC   = limit.Input{Key: "film", Name: "film temperature", Low: -40, High: 400, Unit: "C"}
	Length  = limit.Input{Key: "length", Name: "length", Low: 0, High: 2000, Unit: "m"}
	PerInch = limit.Input{Key: "pace", Name: "seconds an inch", Low: 0.5, High: 20, Unit: "s", Free: true, Usual: 2.5}
	Rivets  = limit.Input{Key: "rivets", Name: "rivets", Low: 0, High: 20000, Free: true}
	Guns    = limit.Input{Key: "guns", Name: "guns", Low: 1, High: 8, Free: true, Usual: 1}
	Took    = limit.Input{Key: "took", Name: "time taken", Low: 0, High: 6000, Unit: "min"}
)

// Inch is 0.0254 m, exactly (NIST SP 811).
const Inch = 0.0254

// Target is one piece of work with the hot gun and the film temperature that
// it asks for, in thousandths of a degree Celsius.
type Target struct {
	Key, Action         string
	LowMilli, HighMilli int32
	Pace                string // how fast, or how long
}

// The Fahrenheit numbers of the trade, in thousandths of a degree Celsius.
const (
	pressMilli  = 82_222  // 180 F: press into a recess
	againMilli  = 65_556  // 150 F: below, heat again
	setMilli    = 93_333  // 200 F: post-heat of stretched areas
	DamageMilli = 120_000 // change of gloss, shrinking back, scorch
)

// Targets is the table of work and film temperature. Common practice, no
// source; the maker's sheet wins.
var Targets = []Target{
	{"shape", "soften to shape, gentle", 35_000, 45_000, ""},
	{"deep", "soften for a deep recess", 45_000, 60_000, "work within 5 to 10 s"},
	{"recover", "let wrinkles recover, hands off", 60_000, 80_000, "2 to 5 s"},
	{"press", "press into a recess", againMilli, pressMilli + 7_778, "heat to 180 F, again below 150 F"},
	{"post-heat", "post-heat channels, edges, lips, rivets", 90_000, 105_000, "1 inch in 2 to 3 s, about 200 F"},
	{"post-heat-plastic", "post-heat over plastic, near lamps", 75_000, 90_000, "twice, slower"},
	{"post-heat-paint", "post-heat over fresh paint", 60_000, 79_999, "twice, under 80 C"},
	{"calendered", "calendered film", 60_000, 75_000, "sets little: no cure for the wrong film"},
	{"reflective", "reflective film", 50_000, 70_000, "comes apart if forced"},
}

// TargetOf returns the row of [Targets] with that key.
func TargetOf(key string) (Target, bool) {
	for _, t := range Targets {
		if t.Key == key {
			return t, true
		}
	}
	return Target{}, false
}

// State is how a film reading stands to its target.
type State uint8

// The states of a film reading.
const (
	Right   State = iota
	Cold          // heat again
	Hot           // too hot for this work
	Damaged       // from DamageMilli on: stop and look
)

// StateNames are the words of the states.
var StateNames = [...]string{"right", "too cold", "too hot", "damage starts"}

// Judge returns how a film at milliC thousandths of a degree Celsius stands to
// the target. It does not allocate.
func (t Target) Judge(milliC int32) State {
	switch {
	case milliC >= DamageMilli:
		return Damaged
	case milliC < t.LowMilli:
		return Cold
	case milliC > t.HighMilli:
		return Hot
	}
	return Right
}

// Film is a film reading judged.
type Film struct {
	Target   Target
	FilmC    float64 // as read
	State    State
	Sentence string
}

// FilmOf returns how a film at filmC stands to the target. The emissivity of
// film is that of paint; a metallised film cannot be read by infrared.
func FilmOf(t Target, filmC float64) (Film, error) {
	if err := FilmC.Check(filmC); err != nil {
		return Film{}, err
	}
	f := Film{Target: t, FilmC: filmC, State: t.Judge(int32(math.Round(filmC * 1000)))}
	low, high := say.C(float64(t.LowMilli)/1000), say.C(float64(t.HighMilli)/1000)
	switch f.State {
	case Cold:
		f.Sentence = "Film " + say.C(filmC) + ": heat again, at least " + low + "."
	case Hot:
		f.Sentence = "Film " + say.C(filmC) + ": back off, at most " + high + "."
	case Damaged:
		f.Sentence = "Film " + say.C(filmC) + ": stop. Look for gloss change and scorch."
	default:
		f.Sentence = "Film " + say.C(filmC) + ": right for this work."
	}
	return f, nil
}

// Pace is the time that the gun takes along a length.
type Pace struct {
	LengthM, PerInchS float64
	Guns              float64
	Seconds           float64
	LowS, HighS       float64 // at 2 and at 3 s an inch
	SpeedMS           float64 // of one gun, m/s
	Sentence          string
}

// Travel returns the time of the gun along lengthM metres at perInchS seconds
// an inch with that many guns.
func Travel(lengthM, perInchS, guns float64) (Pace, error) {
	for _, err := range [...]error{Length.Check(lengthM), PerInch.Check(perInchS), whole(Guns, guns)} {
		if err != nil {
			return Pace{}, err
		}
	}
	inches := lengthM / Inch / guns
	p := Pace{
		LengthM: lengthM, PerInchS: perInchS, Guns: guns,
		Seconds: inches * perInchS, LowS: inches * 2, HighS: inches * 3, SpeedMS: Inch / perInchS,
	}
	p.Sentence = "Post-heat takes " + say.Minutes(p.Seconds/60) + ": one inch in " + say.Number(perInchS, 1) + " s."
	return p, nil
}

// LeastMs returns the least time in ms that post-heat of lengthMM mm and that
// many rivets can take with that many guns: a quick hand at 1.2 m/min and 2 s a
// rivet. The gate's question 'part done?' compares with it. Numbers below zero
// count as zero, no gun as one. It does not allocate.
func LeastMs(lengthMM, rivets, guns int64) int64 {
	return timeMs(lengthMM, rivets, guns, 50, 2000)
}

// ExpectedMs returns the time that an honest hand takes, as [LeastMs]: 0.8
// m/min and 3 s a rivet.
func ExpectedMs(lengthMM, rivets, guns int64) int64 {
	return timeMs(lengthMM, rivets, guns, 75, 3000)
}

// timeMs holds what a shop can have: 1000 km and a million rivets.
func timeMs(lengthMM, rivets, guns, perMM, perRivet int64) int64 {
	lengthMM = min(max(0, lengthMM), 1_000_000_000)
	rivets = min(max(0, rivets), 1_000_000)
	return (lengthMM*perMM + rivets*perRivet) / max(1, guns)
}

// Work is a post-heat that was ticked, against what it takes.
type Work struct {
	LengthM, Rivets, Guns float64
	TookMin               float64
	LeastMin, ExpectedMin float64
	SlowMin               float64
	Plausible             bool    // TookMin is at least LeastMin
	Part                  float64 // of the whole that the time was enough for at a quick hand, at most 1
	Sentence              string
}

// PostHeat returns whether post-heat of lengthM metres and that many rivets can
// have taken tookMin minutes with that many guns. What cannot be true is asked
// about, not blocked.
func PostHeat(lengthM, rivets, guns, tookMin float64) (Work, error) {
	for _, err := range [...]error{Length.Check(lengthM), whole(Rivets, rivets), whole(Guns, guns), Took.Check(tookMin)} {
		if err != nil {
			return Work{}, err
		}
	}
	mm, r, g := int64(math.Round(lengthM*1000)), int64(rivets), int64(guns)
	w := Work{
		LengthM: lengthM, Rivets: rivets, Guns: guns, TookMin: tookMin,
		LeastMin: float64(LeastMs(mm, r, g)) / 6e4, ExpectedMin: float64(ExpectedMs(mm, r, g)) / 6e4,
		SlowMin: (lengthM/Inch*3 + rivets*4) / guns / 60,
	}
	took := int64(math.Round(tookMin * 6e4))
	w.Plausible = took >= LeastMs(mm, r, g)
	w.Part = 1
	if !w.Plausible {
		w.Part = tookMin / w.LeastMin
	}
	what := say.Number(lengthM, 0) + " m of post-heat"
	if rivets > 0 {
		what += " and " + say.Number(rivets, 0) + " rivets"
	}
	if w.Plausible {
		w.Sentence = what + " in " + say.Minutes(tookMin) + "."
	} else {
		w.Sentence = what + " in " + say.Minutes(tookMin) + ": part done?"
	}
	return w, nil
}

func whole(in limit.Input, v float64) error {
	if err := in.Check(v); err != nil {
		return err
	}
	if v != math.Trunc(v) {
		return errors.New(in.Name + " " + say.Number(v, 2) + " is not a whole number; valid is " +
			say.Number(in.Low, 0) + " to " + say.Number(in.High, 0))
	}
	return nil
}
