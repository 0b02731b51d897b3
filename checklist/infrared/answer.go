package infrared

import (
	"errors"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// OfInputs are the arguments of [Of].
var OfInputs = []limit.Input{
	{Key: "read", Name: "infrared reading", Low: -40, High: 200, Unit: "C"},
	{Key: "set", Name: "emissivity set on the instrument", Low: 0.1, High: 1, Free: true, Usual: 0.95},
	{Key: "emissivity", Name: "emissivity of the surface", Low: Floor, High: 1, Free: true, Usual: 0.93},
	{Key: "mirrored", Name: "temperature that mirrors in the surface", Low: -40, High: 200, Unit: "C"},
	{Key: "emissivity-error", Name: "doubt about the emissivity", Low: 0, High: 0.2, Free: true, Usual: 0.03},
	{Key: "read-error", Name: "error of the instrument", Low: 0, High: 5, Unit: "K", Free: true, Usual: 1},
}

// Reading is an infrared reading with its correction.
type Reading struct {
	ReadC, Set, Emissivity, MirroredC float64 // as given
	EmissivityError, ReadErrorK       float64

	TrueC      float64 // the surface
	BroadbandC float64 // the same by T^4, as a check
	OffK       float64 // what the instrument shows too much
	LowC       float64 // the surface, if both doubts go to the cold side
	HighC      float64 // and to the warm side
	Sentence   string
}

// errMirror is told when the surroundings would outshine the reading.
var errMirror = errors.New("no surface gives this reading: the surroundings mirror more than was read; shade the spot or stick matt tape on it")

// errMetal is the refusal under [Floor].
var errMetal = errors.New("bare or shiny metal reads the room, not the panel; stick matt tape on it or use a contact probe (emissivity 0.6 to 1)")

// Of corrects a reading readC in C, taken with the instrument set to the
// emissivity set, off a surface of the given emissivity in which mirroredC in C
// mirrors (walls, roof, a heater: read a crumpled sheet of foil laid on the panel
// with the instrument set to 1). emissivityError and readErrorK are the doubts
// that make LowC and HighC. A mirrored temperature that is itself in doubt is to
// be tried at both ends.
func Of(readC, set, emissivity, mirroredC, emissivityError, readErrorK float64) (Reading, error) {
	if emissivity > 0 && emissivity < Floor {
		return Reading{}, errMetal
	}
	if err := limit.Check(OfInputs, readC, set, emissivity, mirroredC, emissivityError, readErrorK); err != nil {
		return Reading{}, err
	}
	r := Reading{
		ReadC: readC, Set: set, Emissivity: emissivity, MirroredC: mirroredC,
		EmissivityError: emissivityError, ReadErrorK: readErrorK,
	}
	var ok, okBroad bool
	r.TrueC, ok = True(readC, set, emissivity, mirroredC)
	r.BroadbandC, okBroad = TrueBroadband(readC, set, emissivity, mirroredC)
	if !ok || !okBroad {
		return Reading{}, errMirror
	}
	r.OffK = readC - r.TrueC
	r.LowC, r.HighC = r.TrueC, r.TrueC
	// The answer rises with the reading and is monotone in the emissivity, so
	// the ends lie at the corners.
	for _, eps := range [2]float64{max(Floor-0.2, emissivity-emissivityError), min(1, emissivity+emissivityError)} {
		for _, read := range [2]float64{readC - readErrorK, readC + readErrorK} {
			t, ok := True(read, set, eps, mirroredC)
			if !ok {
				return Reading{}, errMirror
			}
			r.LowC, r.HighC = min(r.LowC, t), max(r.HighC, t)
		}
	}
	r.Sentence = r.sentence()
	return r, nil
}

func (r Reading) sentence() string {
	switch {
	case r.OffK >= 0.1:
		return "Reads " + say.K(r.OffK) + " warm: panel is " + say.C(r.TrueC) + ". Tape it."
	case r.OffK <= -0.1:
		return "Reads " + say.K(-r.OffK) + " cold: surface is " + say.C(r.TrueC) + "."
	}
	return "Reads right: surface is " + say.C(r.TrueC) + "."
}
