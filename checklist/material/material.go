// Package material turns measured panels into pieces of film, lays them on the
// roll, and puts the pieces into the order in which they hang.
//
// # Pieces
//
// A piece is the body's size, a bleed on every side and, where it laps, the
// overlap on one side. [Bleeds] is the table. A piece wider than the roll hangs
// in drops:
//
//	drops = ceil((L + spare - overlap)/(usable - overlap))
//
// with 30 mm spare, so that the last drop does not finish exactly on an edge.
//
// # Roll
//
// [Widths] are the widths of rolls; 20 to 40 mm of them are not usable. Pieces
// lie on shelves across the roll, longest first, each on the first shelf that
// has room: the first-fit-decreasing-height rule. Its length is at most twice
// the area over the width and one longest piece more (Coffman, Garey, Johnson
// and Tarjan 1980, Performance bounds for level-oriented two-dimensional
// packing algorithms, SIAM J. Comput. 9(4), 808-826). A piece with a direction (metallic,
// brushed, flake, print) is never turned; plain colour is, if that takes less
// film. A start of the printer and of the laminator is lost film;
// a body done for the first time gets one spare of its hardest piece.
//
// # Hang order
//
// See [HangOrder]: a small graph of "this piece under that one", without
// circles, printed as a list.
//
// # Range
//
// Lengths are in mm, the roll's in m. The answer's range is the length with the
// least and with the most bleed of the table. All numbers are common practice,
// no source; an open edge near a rivet row or over a moving gap is a matter for
// the eye, not for this sum.
//
// # Who calls it
//
// The survey screen calls [TakeOff] for the roll order and [Drops] for a bus
// side; the dry-fit screen shows [HangOrder], and the printer labels the pieces
// in it.
package material

import (
	"errors"
	"math"
	"strconv"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// The numbers of a take-off.
var (
	Along   = limit.Input{Key: "along", Name: "length along the roll", Low: 10, High: 20000, Unit: "mm"}
	Across  = limit.Input{Key: "across", Name: "width across the roll", Low: 10, High: 20000, Unit: "mm"}
	Width   = limit.Input{Key: "width", Name: "roll width", Low: 300, High: 2000, Unit: "mm"}
	Edge    = limit.Input{Key: "edge", Name: "roll width that is lost", Low: 0, High: 100, Unit: "mm", Free: true, Usual: 30}
	Overlap = limit.Input{Key: "overlap", Name: "overlap", Low: 0, High: 100, Unit: "mm", Free: true, Usual: 15}
	Side    = limit.Input{Key: "side", Name: "length of the side", Low: 10, High: 30000, Unit: "mm"}
	RollM   = limit.Input{Key: "roll-length", Name: "roll length", Low: 5, High: 200, Unit: "m", Free: true, Usual: 25}
)

// Numbers of the trade: common practice, no source. In mm.
var Widths = []float64{1220, 1370, 1520}

const (
	spareMM    = 30  // on the last drop
	printMM    = 300 // lost at a start of the printer
	laminateMM = 750 // lost at a start of the laminator, 500 to 1000
	mostPieces = 200
	mostDrops  = 200
)

// Kind is the kind of body under a piece.
type Kind uint8

// The kinds.
const (
	Flat Kind = iota
	Contour
	Bumper // bumpers and bonnets
)

// Bleed is what a piece gets on each side, in mm.
type Bleed struct {
	Key, Name          string
	Least, Usual, Most float64
}

// Bleeds is the table of bleeds, by [Kind]. Common practice, no source.
var Bleeds = []Bleed{
	{"flat", "flat", 50, 50, 50},
	{"contour", "contour", 75, 100, 100},
	{"bumper", "bumper or bonnet", 100, 125, 150},
}

// Waste is the usual share of film that a kind of job throws away.
type Waste struct {
	Key, Name string
	Low, High float64
}

// Wastes is the table of usual waste. Common practice, no source.
var Wastes = []Waste{
	{"box", "box side", 0.08, 0.12},
	{"bus", "bus side", 0.10, 0.15},
	{"van", "van print", 0.15, 0.20},
	{"car", "car colour change", 0.25, 0.35},
}

// Piece is one body panel to cover, in mm: its size along the roll and across
// it as the film's direction asks.
type Piece struct {
	Name          string
	Along, Across float64
	Kind          Kind
	Laps          bool // one side gets the overlap
}

// Roll is the film on hand.
type Roll struct {
	WidthMM   float64 // 0: the width of [Widths] that wastes least
	EdgeMM    float64 // of the width, not usable
	LengthM   float64
	OverlapMM float64
	Keep      bool // direction kept: print, metallic, brushed, flake
	Printed   bool
	Laminated bool
	FirstTime bool // a body not done before: one spare of the hardest piece
}

// Placed is one piece, or one drop of it, on the roll.
type Placed struct {
	Piece         int // of the list; the spare repeats its piece
	Drop          int // from 0
	Spare         bool
	Turned        bool
	Roll          int     // from 0
	X, Y          float64 // mm from the roll's edge and from its start
	Along, Across float64
}

// Cut is the take-off of a list of pieces.
type Cut struct {
	Pieces      []Piece
	Roll        Roll // with the width that was used
	Placed      []Placed
	LengthM     float64 // off the roll, starts included
	LowM, HighM float64 // with the least and with the most bleed
	Rolls       int
	BodyM2      float64
	FilmM2      float64
	Waste       float64 // share of FilmM2 that is not body
	Sentence    string
}

// Drops returns how many drops of a roll hang on a side of lengthMM, each
// lapping the one behind it by overlapMM. It does not allocate when the answer
// is not a refusal.
func Drops(lengthMM, widthMM, edgeMM, overlapMM float64) (int, error) {
	for _, err := range [...]error{Side.Check(lengthMM), Width.Check(widthMM), Edge.Check(edgeMM), Overlap.Check(overlapMM)} {
		if err != nil {
			return 0, err
		}
	}
	usable := widthMM - edgeMM
	if usable-overlapMM < 100 {
		return 0, errors.New("roll leaves " + say.Number(usable-overlapMM, 0) + " mm a drop; valid is 100 mm or more")
	}
	return drops(lengthMM, usable, overlapMM), nil
}

func drops(length, usable, overlap float64) int {
	if length <= usable {
		return 1
	}
	return int(math.Ceil((length + spareMM - overlap) / (usable - overlap)))
}

// TakeOff lays the pieces on the roll. It refuses sizes out of range and a
// list of more than 200 pieces.
func TakeOff(pieces []Piece, r Roll) (Cut, error) {
	if err := check(pieces, r); err != nil {
		return Cut{}, err
	}
	c, err := best(pieces, r, func(b Bleed) float64 { return b.Usual })
	if err != nil {
		return Cut{}, err
	}
	low, err := best(pieces, c.Roll, func(b Bleed) float64 { return b.Least })
	if err != nil {
		return Cut{}, err
	}
	high, err := best(pieces, c.Roll, func(b Bleed) float64 { return b.Most })
	if err != nil {
		return Cut{}, err
	}
	c.LowM, c.HighM = min(c.LengthM, low.LengthM), max(c.LengthM, high.LengthM)
	c.Sentence = say.Number(math.Ceil(c.LengthM*10)/10, 1) + " m of " + say.Number(c.Roll.WidthMM/1000, 2) + ", " +
		count(len(c.Placed), "piece") + ", " + say.Number(100*c.Waste, 0) + " % waste."
	return c, nil
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

func check(pieces []Piece, r Roll) error {
	if len(pieces) == 0 || len(pieces) > mostPieces {
		return errors.New("list has " + strconv.Itoa(len(pieces)) + " pieces; valid is 1 to " + strconv.Itoa(mostPieces))
	}
	for _, p := range pieces {
		if int(p.Kind) >= len(Bleeds) {
			return errors.New(p.Name + ": kind is not known; valid are flat, contour, bumper")
		}
		for _, err := range [...]error{Along.Check(p.Along), Across.Check(p.Across)} {
			if err != nil {
				return errors.New(p.Name + ": " + err.Error())
			}
		}
	}
	if r.WidthMM != 0 {
		if err := Width.Check(r.WidthMM); err != nil {
			return err
		}
	}
	for _, err := range [...]error{Edge.Check(r.EdgeMM), Overlap.Check(r.OverlapMM), RollM.Check(r.LengthM)} {
		if err != nil {
			return err
		}
	}
	return nil
}
