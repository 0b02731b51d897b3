package forecast

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// Least squares against gonum's QR factorisation.
func TestSolveAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		const rows, n = 40, 6
		a, b, q := mat.NewDense(rows, n, nil), mat.NewVecDense(rows, nil), newNormal(n)
		for i := range rows {
			x := make([]float64, n)
			for k := range x {
				x[k] = r.NormFloat64()
			}
			y := r.NormFloat64()
			a.SetRow(i, x)
			b.SetVec(i, y)
			q.add(x, y, 1)
		}
		var want mat.VecDense
		if err := want.SolveVec(a, b); err != nil {
			t.Fatal(err)
		}
		got, ok := q.solve()
		for k := range n {
			if !ok || math.Abs(got[k]-want.AtVec(k)) > 1e-9 {
				t.Fatalf("%v, want %v", got, want.RawVector().Data)
			}
		}
	}
	if _, ok := newNormal(2).solve(); ok {
		t.Error("an empty fit was solved")
	}
}
