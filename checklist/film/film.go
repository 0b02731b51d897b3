// Package film tells which film family suits a surface, and which is refused,
// with the reason.
//
// # Data
//
// Two tables say it all; an installer can read and correct them.
//
//   - [Rules] rate a family on a surface: first choice, acceptable or refused.
//     What is not listed is refused.
//   - [Limits] make a rating worse, never better: by stay, adhesive, laminate,
//     thickness or radius. The worst that applies counts, and its reason is
//     shown.
//
// A film with a laminate of another family is judged as the stiffer of both: a
// calendered laminate pulls a cast film until it is calendered.
//
// Everything here is common practice, no source. The film maker's sheet wins,
// and a shop may set other rows. Nothing here says that a vehicle is fit for
// the road: exits, sensors, lamps, plates and the driver's view stay free, as
// the vehicle's maker and the law say.
//
// # Shapes and units
//
// Stay in months, radius of a simple curve in mm, thickness of the face film
// without adhesive in micrometres. 0 of radius or thickness means not known, and
// then no limit on it applies; the answer names what it did not know.
//
// # Who calls it
//
// The survey screen calls [Choose] for each surface of a vehicle; the refusal
// screen shows the reason of a refused row beside the photo and the owner's
// choice.
package film

import (
	"strings"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// The numbers that [Choose] takes.
var (
	Stay      = limit.Input{Key: "stay", Name: "stay", Low: 0, High: 180, Unit: "months"}
	Radius    = limit.Input{Key: "radius", Name: "radius of the curve", Low: 0, High: 100000, Unit: "mm", Free: true}
	Thickness = limit.Input{Key: "thickness", Name: "thickness of the face film", Low: 0, High: 500, Unit: "um", Free: true}
)

// Family is a film family; the keys are those of the stretch limits.
type Family uint8

// The film families.
const (
	Cast Family = iota
	CastPrint
	CastStructured
	CalenderedLong
	CalenderedShort
	Reflective
	Perforated
	families
)

// FamilyKeys and FamilyNames are the keys and names, by [Family].
var (
	FamilyKeys = [...]string{"cast", "cast-print", "cast-structured", "calendered-long", "calendered-short", "reflective", "perforated"}

	FamilyNames = [...]string{"cast plain colour", "cast print", "cast metallic or structured", "calendered long-life", "calendered short-life", "reflective cast", "perforated glass film"}
)

// Surface is what the film goes on.
type Surface uint8

// The surfaces, then those that take no film as they are.
const (
	Flat Surface = iota
	SimpleCurve
	Compound
	Corrugated
	Rivets
	Glass
	LowEnergy
	Coated
	MovingSeam
	Rust
	Peeling
	PatchFailed
	Weeping
	Textured
	NotDry
	Kept
	surfaces
)

// SurfaceKeys and SurfaceNames are the keys and names, by [Surface].
var (
	SurfaceKeys = [...]string{"flat", "simple-curve", "compound", "corrugated", "rivets", "glass", "low-energy",
		"coated", "moving-seam", "rust", "peeling", "patch-failed", "weeping", "textured", "not-dry", "kept-free"}

	SurfaceNames = [...]string{"flat box side, smooth panels", "simple curve, one direction", "compound, channels, bumpers", "corrugated wall", "rivets", "glass",
		"matt paint, smooth raw plastic", "ceramic- or wax-coated paint", "moving seam, bridged", "rust or blistered paint",
		"clear coat peeling", "repaint that failed its patch test", "silicone seal that weeps", "raw textured plastic", "not dry", "exit, sensor, lamp, plate, driver's view"}
)

// Adhesive is what holds the film.
type Adhesive uint8

// The adhesives.
const (
	Permanent Adhesive = iota
	Removable
	Strong // for low-energy surfaces and rivets
)

// AdhesiveKeys are the keys, by [Adhesive].
var AdhesiveKeys = [...]string{"permanent", "removable", "strong"}

// Laminate is what protects the print.
type Laminate uint8

// The laminates.
const (
	NoLaminate Laminate = iota
	CastLaminate
	CalenderedLaminate
)

// LaminateKeys are the keys, by [Laminate].
var LaminateKeys = [...]string{"none", "cast", "calendered"}

// Rating is how well a film suits.
type Rating uint8

// The ratings, from best to worst.
const (
	First Rating = iota
	Acceptable
	Refused
)

// RatingNames are the words of the ratings.
var RatingNames = [...]string{"first choice", "acceptable", "refused"}

// Job is what is asked: where the film goes, for how long, and what is at hand.
type Job struct {
	Surface     Surface
	StayMonths  float64
	Laminate    Laminate
	Adhesive    Adhesive
	RadiusMM    float64 // of a simple curve; 0 not known
	ThicknessUM float64 // of the face film; 0 not known
	FreshPaint  bool    // repainted, waited and patch-tested
}

// Choice is one family rated for the job.
type Choice struct {
	Family Family
	As     Family // what it is judged as: a calendered laminate makes a cast film calendered
	Rating Rating
	Why    string
}

// Answer is every family rated, best first, in the order of [FamilyKeys] within
// a rating.
type Answer struct {
	Job      Job
	Choices  []Choice
	Unknown  string // what was not given and could change the answer
	Sentence string
}

// Of returns the choice of that family.
func (a Answer) Of(f Family) Choice {
	for _, c := range a.Choices {
		if c.Family == f {
			return c
		}
	}
	return Choice{Family: f, As: f, Rating: Refused, Why: "not a film of the table"}
}

// Choose rates every film family for the job. It refuses a job with numbers out
// of range.
func Choose(j Job) (Answer, error) {
	if err := limit.Check([]limit.Input{Stay, Radius, Thickness}, j.StayMonths, j.RadiusMM, j.ThicknessUM); err != nil {
		return Answer{}, err
	}
	if j.Surface >= surfaces || int(j.Adhesive) >= len(AdhesiveKeys) || int(j.Laminate) >= len(LaminateKeys) {
		return Answer{}, errUnknown
	}
	a := Answer{Job: j}
	for rating := First; rating <= Refused; rating++ {
		for f := Cast; f < families; f++ {
			if c := Rate(f, j); c.Rating == rating {
				a.Choices = append(a.Choices, c)
			}
		}
	}
	var unknown []string
	if j.Surface == SimpleCurve && j.RadiusMM == 0 {
		unknown = append(unknown, "radius")
	}
	if j.ThicknessUM == 0 && j.Surface < Coated {
		unknown = append(unknown, "thickness")
	}
	a.Unknown = strings.Join(unknown, ", ")
	a.Sentence = a.sentence()
	return a, nil
}

// Rate returns one family's rating for the job and the reason that decided it.
// It does not allocate.
func Rate(f Family, j Job) Choice {
	c := Choice{Family: f, As: f}
	c.Rating, c.Why = rate(f, j)
	if (f == Cast || f == CastPrint || f == CastStructured) && j.Laminate == CalenderedLaminate {
		c.As = CalenderedLong
		if r, why := rate(CalenderedLong, j); r > c.Rating {
			c.Rating, c.Why = r, "its calendered laminate makes it calendered"
		} else {
			c.Rating, c.Why = r, why
		}
	}
	return c
}

func rate(f Family, j Job) (Rating, string) {
	rating, why := Refused, "not a film for this surface"
	for i := range Rules {
		if r := &Rules[i]; r.On.has(uint8(j.Surface)) && r.Film.has(uint8(f)) {
			rating, why = r.Rating, r.Why
			break
		}
	}
	for i := range Limits {
		if l := &Limits[i]; l.Rating > rating && l.applies(f, j) {
			rating, why = l.Rating, l.Why
		}
	}
	return rating, why
}

func (a Answer) sentence() string {
	best := a.Choices[0]
	if best.Rating == Refused {
		return "Refuse: " + SurfaceNames[a.Job.Surface] + ". Owner must answer."
	}
	s := "First choice: "
	if best.Rating == Acceptable {
		s = "Acceptable: "
	}
	s += FamilyNames[best.Family]
	if best.Rating == Acceptable && best.Why != "" {
		return s + " (" + best.Why + ")."
	}
	if n := a.count(Refused); n > 0 {
		s += "; " + say.Number(float64(n), 0) + " refused"
	}
	return s + "."
}

func (a Answer) count(r Rating) int {
	n := 0
	for _, c := range a.Choices {
		if c.Rating == r {
			n++
		}
	}
	return n
}
