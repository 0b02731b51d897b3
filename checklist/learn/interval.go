package learn

import "math"

// level is what every interval is made for: of twenty such, one misses.
const level = 0.95

// Share is k of n with the range in which the true share may lie: Wilson's
// score interval (E. B. Wilson, JASA 22, 1927), which holds for few and for
// none too. Low and High are between 0 and 1; without any trial nothing is
// known and they are 0 and 1.
type Share struct {
	K, N      int
	Low, High float64
}

// ShareOf is k of n at the level of one look.
func ShareOf(k, n int) Share { return shareAt(k, n, level) }

func shareAt(k, n int, level float64) Share {
	s := Share{K: k, N: n, High: 1}
	if n == 0 {
		return s
	}
	z, N, p := normal(level), float64(n), float64(k)/float64(n)
	mid := p + z*z/(2*N)
	half := z * math.Sqrt(p*(1-p)/N+z*z/(4*N*N))
	s.Low, s.High = (mid-half)/(1+z*z/N), (mid+half)/(1+z*z/N)
	// At the ends the sum is exactly 0 or 1, but for the last bit.
	if k == 0 {
		s.Low = 0
	}
	if k == n {
		s.High = 1
	}
	return s
}

// wide is a range from which nothing can be planned: common practice, no
// source.
const wide = 0.2

// Few says that the range is so wide that more cannot be said.
func (s Share) Few() bool { return s.High-s.Low > wide }

// Difference is how much more often the one fails than the other, with its
// range: Newcombe's hybrid score interval, method 10 (R. G. Newcombe, Statistics
// in Medicine 17, 1998), made of both Wilson intervals. looks is how many such
// questions are asked of the same lines: each is asked the more strictly for it
// (Bonferroni), so that all of them together mislead once in twenty times.
type Difference struct {
	Value, Low, High float64
}

// DifferenceOf is the share of a less that of b.
func DifferenceOf(a, b Share, looks int) Difference {
	if a.N == 0 || b.N == 0 {
		return Difference{0, -1, 1}
	}
	at := 1 - (1-level)/float64(max(1, looks))
	a, b = shareAt(a.K, a.N, at), shareAt(b.K, b.N, at)
	p, q := float64(a.K)/float64(a.N), float64(b.K)/float64(b.N)
	return Difference{p - q,
		p - q - math.Hypot(p-a.Low, b.High-q),
		p - q + math.Hypot(a.High-p, q-b.Low)}
}

// Told says that the range leaves one sign only.
func (d Difference) Told() bool { return d.Low > 0 || d.High < 0 }

// normal is the deviate z of the normal distribution with so much between -z
// and z.
func normal(level float64) float64 { return math.Sqrt2 * math.Erfinv(level) }
