package learn

import (
	"math"
	"slices"
)

// Time is how long something took, or, Running, has taken so far.
type Time struct {
	Ms      int64
	Running bool
}

// Spread tells of many times the one that half of them stay under, with its
// range, and the quarters. Known says that so many ended that there is such a
// time at all; a quarter that is not reached yet is 0, and so is an end of the
// range that nobody can tell.
//
// What still runs is no short time: it has lasted so long already and may last
// as much again. So the times are a curve of what still stands (E. L. Kaplan
// and P. Meier, JASA 53, 1958), from which a running one drops out when it is
// known no longer, and not before. The range is where the curve's own range
// (Greenwood's variance, on the logarithm of minus the logarithm, which keeps it
// between 0 and 1 and is the truest for few) crosses a half (R. Brookmeyer and
// J. Crowley, Biometrics 38, 1982). Where nothing runs it needs no such
// approximation: it lies between two of the times themselves, counted from both
// ends, so that a fair coin would fall further out less than once in twenty
// times (W. J. Conover, Practical Nonparametric Statistics, quantiles).
type Spread struct {
	N, Running   int
	Known        bool
	First, Half  int64 // a quarter and a half of them are over
	Third        int64 // three quarters
	Low, High    int64 // range of the half
	Least, Worst int64
}

// SpreadOf tells of times.
func SpreadOf(times []Time) Spread {
	times = slices.Clone(times)
	slices.SortFunc(times, func(a, b Time) int {
		switch {
		case a.Ms != b.Ms && a.Ms < b.Ms:
			return -1
		case a.Ms != b.Ms:
			return 1
		case a.Running == b.Running:
			return 0
		case a.Running: // ended at that time: before what was only seen until then
			return 1
		}
		return -1
	})
	s := Spread{N: len(times)}
	if s.N == 0 {
		return s
	}
	s.Least, s.Worst = times[0].Ms, times[s.N-1].Ms
	for _, t := range times {
		if t.Running {
			s.Running++
		}
	}
	c := curveOf(times)
	s.First, _ = c.at(0.75)
	s.Half, s.Known = c.at(0.5)
	s.Third, _ = c.at(0.25)
	switch k := fromEnds(s.N); {
	case k == 0: // nothing can be told, and the curve would not know it
	case s.Running > 0:
		s.Low, s.High = c.around(0.5, normal(level))
	default:
		s.Low, s.High = times[k-1].Ms, times[s.N-k].Ms
	}
	return s
}

// fromEnds is how many times to count in from both ends of n so that the half
// lies between them at the level; 0 if n is too few, which are fewer than six.
func fromEnds(n int) int {
	k, sum := 0, 0.0
	for ; k < n/2; k++ {
		// P(X = k) of n throws of a coin, by logarithms: 2^-n is 0 for many.
		a, _ := math.Lgamma(float64(n + 1))
		b, _ := math.Lgamma(float64(k + 1))
		c, _ := math.Lgamma(float64(n - k + 1))
		sum += math.Exp(a - b - c - float64(n)*math.Ln2)
		if 2*sum > 1-level {
			return k
		}
	}
	return k
}

// curve is the share that still stands after each time at which one ended.
type curve []struct {
	at       int64
	share    float64
	variance float64 // of the share's logarithm
}

// curveOf takes times in order.
func curveOf(times []Time) (c curve) {
	share, variance := 1.0, 0.0
	for i := 0; i < len(times); {
		at, left, ended := times[i].Ms, len(times)-i, 0
		for ; i < len(times) && times[i].Ms == at; i++ {
			if !times[i].Running {
				ended++
			}
		}
		if ended == 0 {
			continue
		}
		share *= float64(left-ended) / float64(left)
		variance += float64(ended) / (float64(left) * float64(left-ended))
		c = append(c, struct {
			at              int64
			share, variance float64
		}{at, share, variance})
	}
	return c
}

// same is how near two shares are taken for one: they are made by products.
const same = 1e-9

// at is the first time after which no more than the share stands; in the middle
// of the two if the curve rests exactly there, as the half of an even number
// does. ok is false if it never comes so low.
func (c curve) at(share float64) (ms int64, ok bool) {
	for i := range c {
		switch {
		case c[i].share < share-same:
			return c[i].at, true
		case c[i].share <= share+same && i+1 < len(c):
			return (c[i].at + c[i+1].at) / 2, true
		case c[i].share <= share+same:
			return c[i].at, true
		}
	}
	return 0, false
}

// around is where the curve's range comes under the share: 0 where it does not.
func (c curve) around(share, z float64) (low, high int64) {
	for i := range c {
		s := c[i].share
		if s < same { // nothing stands any more, and that is certain
			if low == 0 {
				low = c[i].at
			}
			return low, c[i].at
		}
		half := z * math.Sqrt(c[i].variance) / -math.Log(s)
		if low == 0 && math.Pow(s, math.Exp(half)) < share-same {
			low = c[i].at
		}
		if math.Pow(s, math.Exp(-half)) < share-same {
			return low, c[i].at
		}
	}
	return low, 0
}
