package stretch

import (
	"errors"
	"math"

	"bayhold/checklist/say"
)

// Dome is a bulge measured with a straight edge and a rod, in mm: half of its
// base, and its height.
type Dome struct{ HalfWidth, Height float64 }

// DomeOfRadius returns the dome that a sphere of radius r makes over a base of
// half-width a, both in mm, a at most r.
func DomeOfRadius(r, a float64) (Dome, error) {
	if err := HalfWidth.Check(a); err != nil {
		return Dome{}, err
	}
	if !(r >= a) || math.IsInf(r, 1) {
		return Dome{}, errors.New("radius is smaller than the half-width; valid is " + say.Number(a, 1) + " mm or more")
	}
	// Not r - sqrt(r² - a²): for a flat dome that subtracts equal numbers.
	return Dome{a, a * (a / (r + math.Sqrt((r-a)*(r+a))))}, nil
}

// Radius returns the radius of the dome's sphere in mm, 0 for a flat.
func (d Dome) Radius() float64 {
	if d.Height <= 0 {
		return 0
	}
	return (d.HalfWidth*d.HalfWidth + d.Height*d.Height) / (2 * d.Height)
}

// Measure returns the strain of a film that sticks round the rim and is
// pressed over the dome. It refuses a dome higher than its half-width.
func (d Dome) Measure() (Strain, error) {
	if err := HalfWidth.Check(d.HalfWidth); err != nil {
		return Strain{}, err
	}
	if err := Height.Check(d.Height); err != nil {
		return Strain{}, err
	}
	if d.Height > d.HalfWidth {
		return Strain{}, errors.New("height " + say.Number(d.Height, 1) + " mm is more than the half-width; valid is 0 to " +
			say.Number(d.HalfWidth, 1) + " mm")
	}
	return d.strain(), nil
}

// Strain returns what Measure returns, or false where that refuses.
func (d Dome) Strain() (Strain, bool) {
	if !HalfWidth.Holds(d.HalfWidth) || !(d.Height >= 0 && d.Height <= d.HalfWidth) {
		return Strain{}, false
	}
	return d.strain(), true
}

func (d Dome) strain() Strain {
	s := d.line()
	flatter := Dome{d.HalfWidth + ReadingError/2, max(0, d.Height-ReadingError)}
	higher := Dome{max(0.5, d.HalfWidth-ReadingError/2), d.Height + ReadingError}
	q := d.Height / d.HalfWidth
	st := twoWay(q*q, s)
	st.Path = 2 * d.HalfWidth * (1 + s)
	st.Low, st.High = min(s, flatter.line()), max(s, higher.line())
	return st
}

// line returns the strain along the meridian, from rim to rim over the top.
func (d Dome) line() float64 { return max(0, arc(2*d.HalfWidth, d.Height)/(2*d.HalfWidth)-1) }

func twoWay(area, line float64) Strain {
	return Strain{
		Dome: true, Line: line, End: line,
		Area: area, Even: math.Sqrt(1+area) - 1, Left: 1 / (1 + area),
	}
}

// TapedDome is a dome measured with a soft tape over the top, two ways at
// right angles: the base and the path each way, in mm. It need not be round.
type TapedDome struct{ Base1, Path1, Base2, Path2 float64 }

// Measure returns the strain over the taped dome. The line strain is the
// larger of the two. The area is that of a cap with each way's own half angle
// θ, which the tape gives as θ/sin θ = path/base: (1+even1)(1+even2) with
// 1+even = 1/cos(θ/2), exact for a round dome and an estimate otherwise.
func (d TapedDome) Measure() (Strain, error) {
	var ways [2]Strain
	for i, w := range [2][2]float64{{d.Base1, d.Path1}, {d.Base2, d.Path2}} {
		st, err := Channel{Shape: Tape, Width: w[0], Path: w[1]}.Measure()
		if err != nil {
			return Strain{}, err
		}
		if st.Line > math.Pi/2-1 {
			return Strain{}, errors.New("tape path " + say.Number(w[1], 1) + " mm is past the half ball; valid is up to " +
				say.Number(w[0]*math.Pi/2, 1) + " mm")
		}
		ways[i] = st
	}
	worst := ways[0]
	if ways[1].Line > worst.Line {
		worst = ways[1]
	}
	st := twoWay(Then(evenOf(ways[0].Line), evenOf(ways[1].Line)), worst.Line)
	st.Path, st.Low, st.High = worst.Path, worst.Low, worst.High
	return st, nil
}

// evenOf returns 1/cos(θ/2) - 1 for the θ of 0 to π/2 with θ/sin θ = 1 + line,
// by halving: θ/sin θ grows with θ.
func evenOf(line float64) float64 {
	lo, hi := 0.0, math.Pi/2
	for range 50 {
		if m := (lo + hi) / 2; m > (1+line)*math.Sin(m) {
			hi = m
		} else {
			lo = m
		}
	}
	return 1/math.Cos(lo/2) - 1
}
