package warmup

import "math"

// double is u = A exp(-t/tau1) + B exp(-t/tau2), tau in minutes.
type double struct {
	a, b, tau1, tau2 float64
	sse              float64
}

func (d double) at(t float64) float64 {
	return d.a*math.Exp(-t/d.tau1) + d.b*math.Exp(-t/d.tau2)
}

// The time constants that are tried, in minutes: from a thin skin in wind to a
// loaded body, each 4 % longer than the one before;
// coarser, and the narrow valley of the misfit falls between the pairs.
const (
	shortest, longest = 1.0, 2880.0
	tauStep           = 1.04
)

// plane holds the inner products of the readings with every exponential of the
// grid, so that the sum of squares of any pair costs a few products.
type plane struct {
	tau []float64
	p   []float64   // E_k . u
	s   [][]float64 // E_k . E_l
	uu  float64
}

func planeOf(s series) plane {
	var g plane
	for tau := shortest; tau < longest*1.0001; tau *= tauStep {
		g.tau = append(g.tau, tau)
	}
	e := make([][]float64, len(g.tau))
	g.p = make([]float64, len(g.tau))
	g.s = make([][]float64, len(g.tau))
	for k, tau := range g.tau {
		e[k] = make([]float64, len(s.t))
		for i, t := range s.t {
			e[k][i] = math.Exp(-t / tau)
		}
		g.p[k] = dot(e[k], s.u)
		g.s[k] = make([]float64, k+1)
		for l := range g.s[k] {
			g.s[k][l] = dot(e[k], e[l])
		}
	}
	g.uu = dot(s.u, s.u)
	return g
}

// misfit is the sum of squares of a E_k + b E_l, l <= k.
func (g plane) misfit(k, l int, a, b float64) float64 {
	return g.uu - 2*(a*g.p[k]+b*g.p[l]) + a*a*g.s[k][k] + 2*a*b*g.s[k][l] + b*b*g.s[l][l]
}

// pair is two time constants of the grid, l <= k.
type pair struct{ k, l int }

// best returns the pair of the grid, with both weights at zero or above, that
// misses the readings least.
func (g plane) best() double {
	best := double{sse: math.Inf(1)}
	for k := range g.tau {
		for l := range k + 1 {
			a, b := g.weights(k, l)
			if sse := g.misfit(k, l, a, b); sse < best.sse {
				best = double{a: b, b: a, tau1: g.tau[l], tau2: g.tau[k], sse: max(0, sse)}
			}
		}
	}
	return best
}

// near returns the pairs that miss the readings by allowed at most: few, so that
// what follows is cheap.
func (g plane) near(allowed float64) []pair {
	var pairs []pair
	for k := range g.tau {
		for l := range k + 1 {
			a, b := g.weights(k, l)
			if g.misfit(k, l, a, b) <= allowed {
				pairs = append(pairs, pair{k, l})
			}
		}
	}
	return pairs
}

// weights solves for a and b at zero or above.
func (g plane) weights(k, l int) (a, b float64) {
	det := g.s[k][k]*g.s[l][l] - g.s[k][l]*g.s[k][l]
	if k != l && det > 1e-12*g.s[k][k]*g.s[l][l] {
		a = (g.p[k]*g.s[l][l] - g.p[l]*g.s[k][l]) / det
		b = (g.p[l]*g.s[k][k] - g.p[k]*g.s[k][l]) / det
		if a >= 0 && b >= 0 {
			return a, b
		}
	}
	a, b = max(0, g.p[k]/g.s[k][k]), max(0, g.p[l]/g.s[l][l])
	if g.misfit(k, l, a, 0) <= g.misfit(k, l, 0, b) {
		return a, 0
	}
	return 0, b
}

// through says whether one of the pairs passes u at t and misses the readings by
// allowed at most: whether t lies in the profile of the misfit.
func (g plane) through(pairs []pair, t, u, allowed float64) bool {
	for _, p := range pairs {
		k, l := p.k, p.l
		ek := math.Exp(-t / g.tau[k])
		if ek < 1e-9 {
			continue
		}
		// a ek + b el = u, so a = c - q b, and b is free from 0 to c/q. With
		// d = u_i - c E_k and f = E_l - q E_k, least squares of d on f.
		q, c := math.Exp(-t/g.tau[l])/ek, u/ek
		df := g.p[l] - q*g.p[k] - c*g.s[k][l] + c*q*g.s[k][k]
		ff := g.s[l][l] - 2*q*g.s[k][l] + q*q*g.s[k][k]
		b := 0.0
		if df > 0 && ff > 0 {
			b = df / ff
			if q*b > c {
				b = c / q
			}
		}
		if g.misfit(k, l, c-b*q, b) <= allowed {
			return true
		}
	}
	return false
}

// hits returns when the double passes u, by bisection up to the horizon in
// minutes; ok is false when it does not.
func (d double) hits(u, horizon float64) (t float64, ok bool) {
	if d.at(0) <= u {
		return 0, true
	}
	if d.at(horizon) > u {
		return 0, false
	}
	low, high := 0.0, horizon
	for high-low > 1e-6 {
		if mid := (low + high) / 2; d.at(mid) > u {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2, true
}

// window returns the ends of the times at which a pair may pass u whose misfit is
// at most allowed, around hit; ok is false when it has no end before the horizon.
func (g plane) window(hit, u, allowed, horizon float64) (low, high float64, ok bool) {
	pairs := g.near(allowed)
	if g.through(pairs, horizon, u, allowed) {
		return 0, 0, false
	}
	const fine = 0.01 // min
	low, in := 0.0, hit
	for in-low > fine {
		if mid := (low + in) / 2; g.through(pairs, mid, u, allowed) {
			in = mid
		} else {
			low = mid
		}
	}
	in, high = hit, horizon
	for high-in > fine {
		if mid := (in + high) / 2; g.through(pairs, mid, u, allowed) {
			in = mid
		} else {
			high = mid
		}
	}
	return low, high, true
}
