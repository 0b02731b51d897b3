package warmup

import "math"

// series is the readings as a fit wants them: minutes, and the distance to the
// air in K, positive while the threshold's side is not passed.
type series struct {
	t, u []float64
}

// exponential is u = exp(a + b t), with the covariance of (a, b) for a scatter
// of 1 K.
type exponential struct {
	a, b          float64
	vaa, vab, vbb float64
	sse           float64
}

func (e exponential) at(t float64) float64 { return math.Exp(e.a + e.b*t) }

// fitOne fits an exponential by least squares in u. It starts from a line through
// the logarithms of what is above zero and takes Gauss-Newton steps, halved while
// they do not help. ok is false when there is no line to start from or no
// curvature to end at.
func fitOne(s series) (exponential, bool) {
	var n, st, sl, stt, stl float64
	for i, u := range s.u {
		if u > 0 {
			l := math.Log(u)
			n, st, sl, stt, stl = n+1, st+s.t[i], sl+l, stt+s.t[i]*s.t[i], stl+s.t[i]*l
		}
	}
	det := n*stt - st*st
	if n < 2 || det <= 1e-12*n*stt {
		return exponential{}, false
	}
	e := exponential{b: (n*stl - st*sl) / det}
	e.a = (sl - e.b*st) / n
	e.sse = e.misfit(s)
	for range 100 {
		var jaa, jab, jbb, ga, gb float64
		for i, u := range s.u {
			m := e.at(s.t[i])
			mt := m * s.t[i]
			jaa, jab, jbb = jaa+m*m, jab+m*mt, jbb+mt*mt
			ga, gb = ga+m*(u-m), gb+mt*(u-m)
		}
		det := jaa*jbb - jab*jab
		if !(det > 1e-14*jaa*jbb) {
			return exponential{}, false
		}
		e.vaa, e.vab, e.vbb = jbb/det, -jab/det, jaa/det
		da, db := e.vaa*ga+e.vab*gb, e.vab*ga+e.vbb*gb
		moved := false
		for scale := 1.0; scale > 1e-6; scale /= 2 {
			next := e
			next.a, next.b = e.a+scale*da, e.b+scale*db
			if next.sse = next.misfit(s); next.sse < e.sse {
				e, moved = next, true
				break
			}
		}
		if !moved {
			return e, true
		}
	}
	return e, true
}

func (e exponential) misfit(s series) float64 {
	sum := 0.0
	for i, u := range s.u {
		d := u - e.at(s.t[i])
		sum += d * d
	}
	return sum
}

// bends says whether the readings leave the exponential the way that a skin in
// front of a body does, flattening. The curvature c is that of
// exp(a + b t + c t2), to first order. Half of c's half-width at 95 % is enough:
// to take a bend for scatter is early by hours, to take scatter for a bend costs
// another reading.
func (e exponential) bends(s series, readError float64) bool {
	// Least squares of the residual on m, m t and m t2, by Gram and Schmidt.
	n := len(s.t)
	m0, m1, m2 := make([]float64, n), make([]float64, n), make([]float64, n)
	r := make([]float64, n)
	for i, t := range s.t {
		m := e.at(t)
		m0[i], m1[i], m2[i], r[i] = m, m*t, m*t*t, s.u[i]-m
	}
	remove(m1, m0)
	remove(m2, m0)
	remove(m2, m1)
	norm := dot(m2, m2)
	if norm <= 0 {
		return false
	}
	c := dot(r, m2) / norm
	half := halfWidth(max(0, e.sse-c*c*norm), n-3, readError)
	return c > half/math.Sqrt(norm)/2
}

// remove takes out of v its part along w.
func remove(v, w []float64) {
	ww := dot(w, w)
	if ww == 0 {
		return
	}
	k := dot(v, w) / ww
	for i := range v {
		v[i] -= k * w[i]
	}
}

func dot(v, w []float64) float64 {
	sum := 0.0
	for i := range v {
		sum += v[i] * w[i]
	}
	return sum
}

// fieller returns all t at which a + b t may be l, when half is the half-width at
// 95 % of a scatter of 1 K times the scatter. ok is false when the slope may be
// zero: then the set has no end.
func (e exponential) fieller(l, half float64) (low, high float64, ok bool) {
	h2 := half * half
	qa := e.b*e.b - h2*e.vbb
	qb := e.b*(e.a-l) - h2*e.vab
	qc := (e.a-l)*(e.a-l) - h2*e.vaa
	disc := qb*qb - qa*qc
	if !(qa > 0) || !(disc >= 0) {
		return 0, 0, false
	}
	root := math.Sqrt(disc)
	return (-qb - root) / qa, (-qb + root) / qa, true
}

// student holds the 97.5 % points of Student's t for 1 to 30 degrees of freedom,
// as every book of tables prints them.
var student = [...]float64{
	12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
	2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086,
	2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
}

// normal is the 97.5 % point of the normal distribution.
const normal = 1.959964

// quantile returns the 97.5 % point for that many degrees of freedom, at least 1.
func quantile(dof int) float64 {
	if dof <= len(student) {
		return student[dof-1]
	}
	// Two terms of the expansion in 1/dof (Abramowitz and Stegun 26.7.5).
	const z = normal
	d := float64(dof)
	return z + (z*z*z+z)/(4*d) + (5*z*z*z*z*z+16*z*z*z+3*z)/(96*d*d)
}

// halfWidth returns the half-width at 95 %, in K, of one reading about a fit with
// that sum of squares and that many degrees of freedom left: the larger of what
// the readings show and of the instrument's own error, which is its own half-width.
func halfWidth(sse float64, dof int, readError float64) float64 {
	half := readError
	if dof > 0 {
		half = max(half, quantile(dof)*math.Sqrt(sse/float64(dof)))
	}
	return half
}
