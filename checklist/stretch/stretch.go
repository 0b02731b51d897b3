// Package stretch tells how far a film has to stretch into a channel or over a
// dome, and whether its family stands that.
//
// # Shapes
//
// A rule across the mouth gives the width w, a depth rod the depth d; lengths
// are in mm. The path s is the length of the profile from lip to lip, and the
// strain of a film that sticks at both lips and is pressed in is s/w - 1.
//
//	round      R = (w²/4 + d²)/(2d), θ = 4 atan(2d/w), s = R θ
//	parabola   b = 4d/w, s = (w/2) sqrt(1+b²) + (w/(2b)) asinh b
//	V          s = 2 sqrt((w/2)² + d²)
//	trapezoid  s = f + 2 sqrt(((w-f)/2)² + d²), f the width of the floor
//	tape       s measured: masking tape pressed in from lip to lip, peeled, laid flat
//	dome       a half the base, h the height: R = (a² + h²)/(2h)
//	           line  R θ/a - 1 with θ = 2 atan(h/a), along the one line over the top
//	           area  (h/a)² exactly
//	           even  sqrt(1 + area) - 1, each way when the pull is spread
//	left       1/(1 + area), the thickness that stays (film keeps its volume)
//
// The arctangent form of the round channel stays right past a half circle,
// where 2 asin(w/2R) does not. In a channel the film stretches one way only, so
// line and area are the same. These are closed forms of plane and solid
// geometry (arc of a circle, arc length of a parabola, spherical cap), checked
// against a table that was computed apart.
//
// # What the number means
//
// It is an average between lips that do not slip. Local strain at a corner is
// larger. Laid floor first and worked outward, the film is drawn from the flats
// instead and the strain can stay near zero: so the answer gives both, and how
// much film must come in from the flats. Channel ends curve two ways; half
// again of the middle strain is a first guess (common practice, no source).
// Engineering strain does not add over steps: use [Then].
//
// # Range and error
//
// A rule, a rod and a tape are honest to about 1 mm (common practice, no
// source); [Strain] carries the strain for that error either way, and an answer
// whose range crosses a limit says so. Widths 1 to 2000 mm, depths 0 to 500 mm.
// A dome higher than its half-width is refused: the cap is past its equator.
//
// # Limits
//
// [Families] is the table of what each film family stands. All of it is common
// practice, no source; the film maker's sheet wins. The verdict uses the one-line
// strain, the installer who pulls one way.
//
// # Who calls it
//
// The survey screen calls [Channel.Measure], [Dome.Measure] and [Judge] when a
// feature of a panel is measured; the dry-fit and settle screens show the
// verdict, and the post-heat screen lists the features that need it.
package stretch

import (
	"errors"
	"math"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// The valid ranges of what is measured.
var (
	Width     = limit.Input{Key: "width", Name: "width", Low: 1, High: 2000, Unit: "mm"}
	Depth     = limit.Input{Key: "depth", Name: "depth", Low: 0, High: 500, Unit: "mm"}
	Floor     = limit.Input{Key: "floor", Name: "floor", Low: 0, High: 2000, Unit: "mm"}
	Path      = limit.Input{Key: "path", Name: "tape path", Low: 1, High: 4000, Unit: "mm"}
	HalfWidth = limit.Input{Key: "half-width", Name: "half-width", Low: 1, High: 1000, Unit: "mm"}
	Height    = limit.Input{Key: "height", Name: "height", Low: 0, High: 1000, Unit: "mm"}
)

// ReadingError is how far a rule, a rod or a tape may be off, in mm (common
// practice, no source).
const ReadingError = 1.0

// EndFactor times the middle strain is the first guess for the ends of a
// channel, which curve two ways (common practice, no source).
const EndFactor = 1.5

// Shape is the profile of a channel.
type Shape uint8

// The profiles.
const (
	Round Shape = iota
	Parabola
	V
	Trapezoid
	Tape // the path was measured, whatever the profile
)

// ShapeNames are the names of the profiles, by [Shape].
var ShapeNames = [...]string{"round", "parabola", "V", "trapezoid", "tape"}

// Channel is a measured channel, in mm. Floor is used by [Trapezoid] alone,
// Path by [Tape] alone and then in place of Depth.
type Channel struct {
	Shape        Shape
	Width, Depth float64
	Floor        float64
	Path         float64
}

// Strain is how far the film stretches; strains are fractions (0.1 is 10 %).
type Strain struct {
	Dome      bool    // two-way curved
	Path      float64 // lip to lip over the profile, mm
	Drawn     float64 // film that comes from the flats when laid floor first, mm
	Line      float64 // along the one line, the installer who pulls one way
	Low, High float64 // Line with the measures off by ReadingError either way
	Area      float64 // growth of the area
	Even      float64 // each way, when the pull is spread both ways
	Left      float64 // thickness that stays, of 1
	End       float64 // first guess at the ends of a channel; a dome has none: Line
}

// Measure returns the strain of a film that bridges the channel and is pressed
// in. It refuses measures out of range, a floor wider than the mouth, and a
// tape path shorter than the mouth by more than its error.
func (c Channel) Measure() (Strain, error) {
	if int(c.Shape) >= len(ShapeNames) {
		return Strain{}, errors.New("shape is not known; valid are round, parabola, V, trapezoid, tape")
	}
	if err := Width.Check(c.Width); err != nil {
		return Strain{}, err
	}
	if c.Shape == Tape {
		if err := Path.Check(c.Path); err != nil {
			return Strain{}, err
		}
		if c.Path < c.Width-ReadingError {
			return Strain{}, errors.New("tape path " + say.Number(c.Path, 1) + " mm is shorter than the width; valid is " +
				say.Number(c.Width, 1) + " mm or more")
		}
	} else if err := Depth.Check(c.Depth); err != nil {
		return Strain{}, err
	}
	if c.Shape == Trapezoid {
		if err := Floor.Check(c.Floor); err != nil {
			return Strain{}, err
		}
		if c.Floor > c.Width {
			return Strain{}, errors.New("floor " + say.Number(c.Floor, 1) + " mm is wider than the mouth; valid is 0 to " +
				say.Number(c.Width, 1) + " mm")
		}
	}
	return c.strain(), nil
}

// Strain returns what Measure returns, or false where that refuses. A gate
// asks so: it needs no sentence, and formats no number.
func (c Channel) Strain() (Strain, bool) {
	switch {
	case !Width.Holds(c.Width):
	case c.Shape == Tape && (!Path.Holds(c.Path) || c.Path < c.Width-ReadingError):
	case c.Shape != Tape && !Depth.Holds(c.Depth):
	case c.Shape == Trapezoid && !(c.Floor >= 0 && c.Floor <= c.Width):
	default:
		return c.strain(), true
	}
	return Strain{}, false
}

func (c Channel) strain() Strain {
	s := c.path()
	line := max(0, s/c.Width-1)
	deep, shallow := c.off(ReadingError), c.off(-ReadingError)
	return Strain{
		Path:  s,
		Drawn: max(0, s-c.Width),
		Line:  line,
		Low:   min(line, max(0, shallow.path()/shallow.Width-1)),
		High:  max(line, deep.path()/deep.Width-1),
		Area:  line,
		Even:  math.Sqrt(1+line) - 1,
		Left:  1 / (1 + line),
		End:   EndFactor * line,
	}
}

// off returns the channel as it would be with every measure wrong by e towards
// more stretch (e above 0) or less: the depth or the path is what is misread
// most, the width the other way.
func (c Channel) off(e float64) Channel {
	c.Width = max(Width.Low/2, c.Width-e/2)
	c.Floor = min(c.Floor, c.Width)
	c.Depth = max(0, c.Depth+e)
	c.Path = max(c.Width, c.Path+e)
	return c
}

// path returns the length of the profile in mm.
func (c Channel) path() float64 {
	w, d := c.Width, c.Depth
	switch c.Shape {
	case Round:
		return arc(w, d)
	case Parabola:
		b := 4 * d / w
		if b < 1e-6 {
			return w
		}
		return w/2*math.Sqrt(1+b*b) + w/(2*b)*math.Asinh(b)
	case V:
		return 2 * math.Hypot(w/2, d)
	case Trapezoid:
		return c.Floor + 2*math.Hypot((w-c.Floor)/2, d)
	}
	return c.Path
}

// arc returns the arc of a circle over the chord w with the rise d.
func arc(w, d float64) float64 {
	if d < 1e-6*w { // (8/3)(d/w)² is under 1e-11 here, and R runs away
		return w
	}
	return (w*w/4 + d*d) / (2 * d) * 4 * math.Atan(2*d/w)
}

// Then returns the strain of stretching by e1 and after that by e2. Engineering
// strains do not add: 10 % and again 10 % is 21 %.
func Then(e1, e2 float64) float64 { return (1+e1)*(1+e2) - 1 }
