package learn

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Newcombe's table of single proportions (Statistics in Medicine 17, 1998,
// 857-872, method 3, score without continuity correction), from memory; each
// row was worked out anew with the formula.
func TestShareOf(t *testing.T) {
	for _, c := range []struct {
		k, n      int
		low, high float64
	}{
		{81, 263, 0.2553, 0.3662},
		{15, 148, 0.0624, 0.1605},
		{0, 20, 0.0000, 0.1611},
		{1, 29, 0.0061, 0.1718},
	} {
		s := ShareOf(c.k, c.n)
		if math.Abs(s.Low-c.low) > 0.00005 || math.Abs(s.High-c.high) > 0.00005 {
			t.Errorf("%d of %d: %.4f to %.4f, Newcombe prints %.4f to %.4f", c.k, c.n, s.Low, s.High, c.low, c.high)
		}
		// What did not fail is the rest, with the range turned round.
		if r := ShareOf(c.n-c.k, c.n); math.Abs(r.Low-(1-s.High)) > 1e-12 || math.Abs(r.High-(1-s.Low)) > 1e-12 {
			t.Errorf("%d of %d: the rest is %v", c.k, c.n, r)
		}
	}
	if s := ShareOf(0, 0); s.Low != 0 || s.High != 1 {
		t.Errorf("nothing was looked at, and %v is known", s)
	}
}

// Newcombe's table of differences (Statistics in Medicine 17, 1998, 873-890,
// method 10), from memory.
func TestDifferenceOf(t *testing.T) {
	for _, c := range []struct {
		a, m, b, n             int
		difference, low, upper float64
	}{
		{56, 70, 48, 80, 0.2, 0.0524, 0.3339},
		{9, 10, 3, 10, 0.6, 0.1705, 0.8090},
		{6, 7, 2, 7, 0.5714, 0.0582, 0.8062},
		{5, 56, 0, 29, 0.0893, -0.0381, 0.1926},
		{0, 10, 0, 20, 0, -0.1611, 0.2775},
	} {
		d := DifferenceOf(ShareOf(c.a, c.m), ShareOf(c.b, c.n), 1)
		if math.Abs(d.Value-c.difference) > 0.00005 || math.Abs(d.Low-c.low) > 0.00005 || math.Abs(d.High-c.upper) > 0.00005 {
			t.Errorf("%d/%d less %d/%d: %.4f from %.4f to %.4f, Newcombe prints %.4f from %.4f to %.4f",
				c.a, c.m, c.b, c.n, d.Value, d.Low, d.High, c.difference, c.low, c.upper)
		}
		if many := DifferenceOf(ShareOf(c.a, c.m), ShareOf(c.b, c.n), 12); many.Low >= d.Low || many.High <= d.High {
			t.Errorf("%d/%d less %d/%d: asked twelve times it is no wider", c.a, c.m, c.b, c.n)
		}
	}
}

// z of one look and of ten: 1.96 and 2.807 (normal tables).
func TestNormal(t *testing.T) {
	for _, c := range []struct{ level, z float64 }{{0.95, 1.959964}, {0.995, 2.807034}, {0.99, 2.575829}} {
		if z := normal(c.level); math.Abs(z-c.z) > 1e-6 {
			t.Errorf("z of %v is %v, tables print %v", c.level, z, c.z)
		}
	}
}

// How far to count in from both ends, for the half of n: tables of the sign
// test (Conover's and every handbook's; from memory), and gonum's binomial for
// all n up to 300: the count is the most that leaves less than one in twenty
// outside.
func TestFromEnds(t *testing.T) {
	for n, k := range map[int]int{1: 0, 5: 0, 6: 1, 8: 1, 9: 2, 10: 2, 12: 3, 15: 4, 20: 6, 25: 8} {
		if got := fromEnds(n); got != k {
			t.Errorf("of %d: the %dth from both ends, tables print the %dth", n, got, k)
		}
	}
	for n := 1; n <= 300; n++ {
		coin, k := distuv.Binomial{N: float64(n), P: 0.5}, fromEnds(n)
		if k > 0 && 2*coin.CDF(float64(k-1)) > 0.05 {
			t.Errorf("of %d: counting in %d leaves %.4f outside", n, k, 2*coin.CDF(float64(k-1)))
		}
		if k < n/2 && 2*coin.CDF(float64(k)) <= 0.05 {
			t.Errorf("of %d: counting in %d would do, not %d", n, k+1, k)
		}
	}
	if k := fromEnds(100_000); k < 49_000 || k > 50_000 {
		t.Errorf("of 100,000: the %dth from both ends", k) // n/2 - 0.98 sqrt n
	}
}

func weeks(ended, running []int64) (out []Time) {
	for _, t := range ended {
		out = append(out, Time{Ms: t})
	}
	for _, t := range running {
		out = append(out, Time{t, true})
	}
	return out
}

// The remissions of Freireich and others (Blood 21, 1963), the example of most
// textbooks on the matter (Gehan 1965; Cox and Oakes 1984), in weeks, from
// memory: of 6-MP half are over after 23 weeks, of placebo after 8. The ranges
// are those that Venables and Ripley print for survfit with conf.type "log-log"
// (13 weeks to not reached, 4 to 11), from memory; by hand, with 6-MP's printed
// curve and standard errors: 0.753 (0.0963) at 10 weeks is down to
// 0.753^exp(1.96 x 0.0963 / (0.753 x 0.284)) = 0.753^2.42 = 0.503, still over a
// half; 0.690 (0.1068) at 13 weeks is down to 0.690^2.27 = 0.43; and 0.448
// (0.1346) at 23 weeks, the last one that ended, is up to 0.68.
func TestRemissions(t *testing.T) {
	mp := weeks([]int64{6, 6, 6, 7, 10, 13, 16, 22, 23}, []int64{6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35})
	placebo := weeks([]int64{1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23}, nil)
	s := SpreadOf(mp)
	if s.N != 21 || s.Running != 12 || !s.Known || s.Half != 23 || s.Low != 13 || s.High != 0 {
		t.Errorf("6-MP: %+v", s)
	}
	c := curveOf(sorted(mp))
	for i, want := range []float64{0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448} { // printed in every one of them
		if math.Abs(c[i].share-want) > 0.0005 {
			t.Errorf("6-MP after %d weeks: %.4f, printed %.3f", c[i].at, c[i].share, want)
		}
	}
	for i, want := range []float64{0.0764, 0.0869, 0.0963, 0.1068, 0.1141, 0.1282, 0.1346} { // Greenwood, likewise
		if e := c[i].share * math.Sqrt(c[i].variance); math.Abs(e-want) > 0.00006 {
			t.Errorf("6-MP after %d weeks: standard error %.4f, printed %.4f", c[i].at, e, want)
		}
	}
	p := SpreadOf(placebo)
	if p.Half != 8 || !p.Known {
		t.Errorf("placebo: %+v", p)
	}
	if low, high := curveOf(sorted(placebo)).around(0.5, normal(level)); low != 4 || high != 11 {
		t.Errorf("placebo: %d to %d weeks, printed 4 to 11", low, high)
	}
	// Taken as if every running one had ended, 6-MP would seem to last 16 weeks.
	for i := range mp {
		mp[i].Running = false
	}
	if s := SpreadOf(mp); s.Half != 16 {
		t.Errorf("6-MP with its running ones cut short: %+v", s)
	}
}

func sorted(times []Time) []Time {
	out := append([]Time(nil), times...)
	for i := range out {
		for k := i; k > 0 && (out[k].Ms < out[k-1].Ms || out[k].Ms == out[k-1].Ms && !out[k].Running && out[k-1].Running); k-- {
			out[k], out[k-1] = out[k-1], out[k]
		}
	}
	return out
}

func TestSpreadOf(t *testing.T) {
	// The half of an even number is between the two in the middle.
	if s := SpreadOf(weeks([]int64{1, 2, 4, 9}, nil)); s.Half != 3 || s.Low != 0 || s.High != 0 || s.Least != 1 || s.Worst != 9 {
		t.Errorf("1 2 4 9: %+v", s)
	}
	if s := SpreadOf(weeks([]int64{1, 2, 4, 9, 11, 30}, nil)); s.Half != 6 || s.Low != 1 || s.High != 30 { // 6 of 6: from the first to the last
		t.Errorf("six: %+v", s)
	}
	if s := SpreadOf(weeks([]int64{1, 2, 3, 4, 5}, nil)); s.First != 2 || s.Half != 3 || s.Third != 4 {
		t.Errorf("1 to 5: %+v", s)
	}
	if s := SpreadOf(weeks([]int64{2}, []int64{5, 6, 7})); s.Known || s.Running != 3 {
		t.Errorf("one of four ended: %+v", s)
	}
	// Five, some of them running: no range either (as few as two would do for the
	// curve's own).
	if s := SpreadOf(weeks([]int64{2, 3, 4}, []int64{5, 6})); s.Low != 0 || s.High != 0 || !s.Known {
		t.Errorf("five, two of them running: %+v", s)
	}
	if s := SpreadOf(nil); s.N != 0 || s.Known {
		t.Errorf("nothing: %+v", s)
	}
}

// The ranges hold the truth about as often as they say. The truth is what the
// times are drawn from: an exponential law with a half of 8 h, a quarter of them
// still running; and failures at a rate. Of 2,000 ranges of 95 in 100, 1,900 are
// expected to hold, give or take 10; the range around the half counts whole
// times and is made by an approximation where some run, so it may be off by two
// in a hundred either way (the exact one can only be too wide).
func TestRangesHold(t *testing.T) {
	const times = 2000
	r := rand.New(rand.NewPCG(19, 27))
	for _, n := range []int{12, 40} {
		exact, running, shares, told := 0, 0, 0, 0
		for range times {
			var whole, some []Time
			for range n {
				ms := int64(r.ExpFloat64() * 8 * 3_600_000 / math.Ln2)
				until := int64(r.ExpFloat64() * 3 * 8 * 3_600_000 / math.Ln2) // runs on past it in a quarter
				whole = append(whole, Time{Ms: ms})
				some = append(some, Time{min(ms, until), until < ms})
			}
			const half = 8 * 3_600_000
			if s := SpreadOf(whole); s.Low <= half && half <= s.High {
				exact++
			}
			if s := SpreadOf(some); s.Low <= half && (half <= s.High || s.High == 0) {
				running++
			}
			k := 0
			for range n {
				if r.Float64() < 0.15 {
					k++
				}
			}
			if s := ShareOf(k, n); s.Low <= 0.15 && 0.15 <= s.High {
				shares++
			}
			// Two that fail alike are told apart once in twenty times at most.
			k2 := 0
			for range n {
				if r.Float64() < 0.15 {
					k2++
				}
			}
			if DifferenceOf(ShareOf(k, n), ShareOf(k2, n), 1).Told() {
				told++
			}
		}
		for _, c := range []struct {
			what        string
			got         int
			least, most float64
		}{{"half, nothing runs", exact, 0.94, 0.985}, {"half, some run", running, 0.93, 0.985}, {"share", shares, 0.92, 0.98}, {"alike, told apart", told, 0, 0.06}} {
			if p := float64(c.got) / times; p < c.least || p > c.most {
				t.Errorf("%s of %d: %.3f of the ranges", c.what, n, p)
			}
		}
	}
}
