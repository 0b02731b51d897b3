package forecast

import "math"

// normal gathers the normal equations of a least-squares fit with penalties.
type normal struct {
	n int
	a []float64 // n by n, symmetric
	b []float64
}

func newNormal(n int) *normal { return &normal{n, make([]float64, n*n), make([]float64, n)} }

// add takes one equation x'p = y with a weight.
func (m *normal) add(x []float64, y, w float64) {
	var some [16]int // most of x is zero
	at := some[:0]
	for i := range x {
		if x[i] != 0 {
			at = append(at, i)
		}
	}
	for _, i := range at {
		m.b[i] += w * x[i] * y
		for _, k := range at {
			m.a[i*m.n+k] += w * x[i] * x[k]
		}
	}
}

// solve returns p by Cholesky's method; ok is false if the equations have no
// single answer.
func (m *normal) solve() (p []float64, ok bool) {
	n := m.n
	l := make([]float64, n*n)
	for i := range n {
		for k := 0; k <= i; k++ {
			s := m.a[i*n+k]
			for j := range k {
				s -= l[i*n+j] * l[k*n+j]
			}
			if i == k {
				if !(s > 0) {
					return nil, false
				}
				l[i*n+i] = math.Sqrt(s)
			} else {
				l[i*n+k] = s / l[k*n+k]
			}
		}
	}
	p = make([]float64, n)
	for i := range n {
		s := m.b[i]
		for j := range i {
			s -= l[i*n+j] * p[j]
		}
		p[i] = s / l[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		s := p[i]
		for j := i + 1; j < n; j++ {
			s -= l[j*n+i] * p[j]
		}
		p[i] = s / l[i*n+i]
	}
	return p, true
}
