package material

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// ceil((L + 30 - overlap)/(usable - overlap)), worked by hand; the 12 m bus side
// with ten drops of 1.37 is common practice, no source.
func TestDrops(t *testing.T) {
	for _, c := range []struct {
		name                         string
		length, width, edge, overlap float64
		want                         int
	}{
		{"12 m bus side of 1.37", 12000, 1370, 30, 15, 10}, // 12015/1325 = 9.07
		{"one roll wide", 1340, 1370, 30, 15, 1},
		{"a hair wider", 1341, 1370, 30, 15, 2},
		{"two drops and the spare", 2635, 1370, 30, 15, 2},     // 2650/1325 = 2 exactly
		{"two drops without the spare", 2640, 1370, 30, 15, 3}, // 2655/1325: it would finish 5 mm from the edge
	} {
		got, err := Drops(c.length, c.width, c.edge, c.overlap)
		if err != nil || got != c.want {
			t.Errorf("%s: %d, %v, want %d", c.name, got, err, c.want)
		}
	}
}

// A bonnet takes 1.6 to 1.9 m of 1.52 (common practice, no source).
func TestBonnet(t *testing.T) {
	c, err := TakeOff([]Piece{{Name: "bonnet", Along: 1450, Across: 1150, Kind: Bumper}}, Roll{WidthMM: 1520, EdgeMM: 30, LengthM: 25, Keep: true})
	if err != nil {
		t.Fatal(err)
	}
	if c.LowM < 1.6 || c.HighM > 1.9 || !(c.LowM <= c.LengthM && c.LengthM <= c.HighM) {
		t.Errorf("%.2f m, %.2f to %.2f", c.LengthM, c.LowM, c.HighM)
	}
	if c.Sentence != "1.7 m of 1.52, 1 piece, 35 % waste." {
		t.Error(c.Sentence)
	}
}

func TestTakeOff(t *testing.T) {
	door := Piece{Name: "door", Along: 900, Across: 600}
	roll := Roll{WidthMM: 1520, EdgeMM: 30, LengthM: 25, OverlapMM: 15}
	// Two doors of 1000 x 700 with bleed lie side by side on 1490.
	c, err := TakeOff([]Piece{door, door}, roll)
	if err != nil {
		t.Fatal(err)
	}
	if c.LengthM != 1 || c.Rolls != 1 || math.Abs(c.Waste-(1-2*0.54/1.52)) > 1e-12 {
		t.Errorf("%+v", c)
	}
	// The overlap is on one side only; starts of printer and laminator are lost.
	lapped := door
	lapped.Laps = true
	r := roll
	r.Printed, r.Laminated, r.Keep = true, true, true
	c, _ = TakeOff([]Piece{lapped}, r)
	if math.Abs(c.LengthM-(0.9+0.1+0.015+0.3+0.75)) > 1e-12 {
		t.Errorf("%v m", c.LengthM)
	}
	// Direction kept: a side 5000 high across the roll hangs in drops; plain
	// colour turns and needs one.
	side := Piece{Name: "side", Along: 1200, Across: 5000}
	r = roll
	r.Keep = true
	kept, _ := TakeOff([]Piece{side}, r)
	free, _ := TakeOff([]Piece{side}, roll)
	if len(kept.Placed) != 4 || kept.Placed[0].Turned || len(free.Placed) != 1 || !free.Placed[0].Turned || free.LengthM >= kept.LengthM {
		t.Errorf("kept %+v, free %+v", kept.Placed, free.Placed)
	}
	// A body done for the first time: a spare of the hardest piece.
	r = roll
	r.FirstTime = true
	c, _ = TakeOff([]Piece{door, {Name: "corner", Along: 500, Across: 400, Kind: Bumper}}, r)
	spare := slices.IndexFunc(c.Placed, func(p Placed) bool { return p.Spare })
	if len(c.Placed) != 3 || spare < 0 || c.Placed[spare].Piece != 1 {
		t.Errorf("%+v", c.Placed)
	}
	// Without a width the one that takes least film is chosen: 1340 across fits
	// 1.37 with nothing to spare.
	r = roll
	r.WidthMM = 0
	c, _ = TakeOff([]Piece{{Name: "panel", Along: 4000, Across: 1240}}, r)
	if c.Roll.WidthMM != 1370 {
		t.Errorf("chose %v", c.Roll.WidthMM)
	}
	// Two rolls when one is too short.
	r = roll
	r.LengthM = 5
	c, _ = TakeOff([]Piece{{Name: "a", Along: 4000, Across: 1300}, {Name: "b", Along: 4000, Across: 1300}}, r)
	if c.Rolls != 2 || c.Placed[1].Roll != 1 || c.Placed[1].Y != 0 {
		t.Errorf("%+v", c)
	}
}

func TestRefused(t *testing.T) {
	roll := Roll{WidthMM: 1520, EdgeMM: 30, LengthM: 25}
	for _, c := range []struct {
		pieces []Piece
		r      Roll
		want   string
	}{
		{nil, roll, "list has 0 pieces; valid is 1 to 200"},
		{[]Piece{{Name: "door", Along: -5, Across: 500}}, roll, "door: length along the roll -5 mm is out of range; valid is 10 to 20000 mm"},
		{[]Piece{{Name: "door", Along: 500, Across: math.NaN()}}, roll, "door: width across the roll is not a number; valid is 10 to 20000 mm"},
		{[]Piece{{Name: "door", Along: 500, Across: 500, Kind: 7}}, roll, "door: kind is not known; valid are flat, contour, bumper"},
		{[]Piece{{Name: "side", Along: 19000, Across: 500}}, Roll{WidthMM: 1520, LengthM: 10}, "side: 19100 mm is longer than the roll; valid is up to 10000 mm"},
		{[]Piece{{Name: "door", Along: 500, Across: 500}}, Roll{WidthMM: 5000, LengthM: 10}, "roll width 5000 mm is out of range; valid is 300 to 2000 mm"},
		{[]Piece{{Name: "door", Along: 500, Across: 500}}, Roll{WidthMM: 1520, LengthM: 0}, "roll length 0 m is out of range; valid is 5 to 200 m"},
	} {
		got, err := TakeOff(c.pieces, c.r)
		if err == nil || err.Error() != c.want || got.Placed != nil {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
	if _, err := Drops(-12, 1370, 30, 15); err == nil || err.Error() != "length of the side -12 mm is out of range; valid is 10 to 30000 mm" {
		t.Error(err)
	}
	if n, err := Drops(12000, 300, 100, 100); err != nil || n != 120 { // 11930/100
		t.Error(n, err)
	}
}

func drawPieces(t *rapid.T) []Piece {
	n := rapid.IntRange(1, 20).Draw(t, "n")
	pieces := make([]Piece, n)
	for i := range pieces {
		pieces[i] = Piece{
			Name: "p", Along: rapid.Float64Range(50, 5000).Draw(t, "along"), Across: rapid.Float64Range(50, 3000).Draw(t, "across"),
			Kind: Kind(rapid.IntRange(0, 2).Draw(t, "kind")), Laps: rapid.Bool().Draw(t, "laps"),
		}
	}
	return pieces
}

// No two pieces lie on each other, all lie on the roll, a kept direction is
// kept, and the length keeps the bound of Coffman, Garey, Johnson and Tarjan
// 1980: at most twice the area over the width and the longest piece.
func TestLayoutProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Roll{
			WidthMM: rapid.SampledFrom(Widths).Draw(t, "width"), EdgeMM: 30, LengthM: rapid.Float64Range(20, 200).Draw(t, "roll"),
			OverlapMM: 15, Keep: rapid.Bool().Draw(t, "keep"), FirstTime: rapid.Bool().Draw(t, "first"),
		}
		pieces := drawPieces(t)
		c, err := TakeOff(pieces, r)
		if err != nil {
			t.Skip(err)
		}
		area, longest := 0.0, 0.0
		for i, p := range c.Placed {
			area += p.Along * p.Across
			longest = max(longest, p.Along)
			if p.X < 0 || p.X+p.Across > r.WidthMM-r.EdgeMM+1e-6 || p.Y < 0 || p.Y+p.Along > r.LengthM*1000+1e-6 {
				t.Fatalf("off the roll: %+v", p)
			}
			if r.Keep && p.Turned {
				t.Fatalf("turned: %+v", p)
			}
			for _, q := range c.Placed[:i] {
				if p.Roll == q.Roll && p.X < q.X+q.Across-1e-6 && q.X < p.X+p.Across-1e-6 && p.Y < q.Y+q.Along-1e-6 && q.Y < p.Y+p.Along-1e-6 {
					t.Fatalf("%+v lies on %+v", p, q)
				}
			}
		}
		if bound := 2*area/(r.WidthMM-r.EdgeMM) + longest; c.LengthM*1000 > bound+1e-6 {
			t.Fatalf("%.0f mm, the bound is %.0f", c.LengthM*1000, bound)
		}
		if !(c.LowM <= c.LengthM && c.LengthM <= c.HighM) || c.Waste <= 0 || c.Waste >= 1 {
			t.Fatalf("%v m, %v to %v, waste %v", c.LengthM, c.LowM, c.HighM, c.Waste)
		}
	})
}

// The drops cover the side with their overlaps, and one drop fewer would not
// leave the spare.
func TestDropsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := rapid.Float64Range(10, 30000).Draw(t, "length")
		overlap := rapid.Float64Range(0, 100).Draw(t, "overlap")
		n, err := Drops(length, 1370, 30, overlap)
		if err != nil {
			t.Fatal(err)
		}
		covered := func(n int) float64 { return float64(n)*(1340-overlap) + overlap }
		if covered(n) < length-1e-6 {
			t.Fatalf("%d drops cover %.0f of %.0f", n, covered(n), length)
		}
		if n > 1 && covered(n-1)-length >= spareMM+1e-6 {
			t.Fatalf("%d drops would do", n-1)
		}
	})
}

func FuzzTakeOff(f *testing.F) {
	f.Add(900.0, 600.0, uint8(0), 1520.0, 30.0, 25.0, 15.0, true)
	f.Add(20000.0, 20000.0, uint8(2), 300.0, 100.0, 200.0, 100.0, false)
	f.Add(math.NaN(), math.Inf(1), uint8(9), -1.0, 0.0, 1e308, 0.0, false)
	f.Fuzz(func(t *testing.T, along, across float64, kind uint8, width, edge, roll, overlap float64, keep bool) {
		p := Piece{Name: "p", Along: along, Across: across, Kind: Kind(kind), Laps: keep}
		c, err := TakeOff([]Piece{p, p, p}, Roll{width, edge, roll, overlap, keep, true, true, true})
		if err == nil {
			for _, v := range []float64{c.LengthM, c.LowM, c.HighM, c.Waste, c.FilmM2, c.BodyM2} {
				if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
					t.Fatalf("%+v", c)
				}
			}
			if strings.Contains(c.Sentence, "NaN") {
				t.Fatal(c.Sentence)
			}
		}
		if n, err := Drops(along, width, edge, overlap); err == nil && n < 1 {
			t.Fatal(n)
		}
	})
}

func BenchmarkDrops(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Drops(12000, 1370, 30, 15)
	}
}

func TestDropsAllocatesNothing(t *testing.T) {
	if n := testing.AllocsPerRun(100, func() { Drops(12000, 1370, 30, 15) }); n != 0 {
		t.Errorf("Drops allocates %v times", n)
	}
}

// The edge that is seen is the weakest reason: it gives way to two hands within
// reach (common practice, no source), in whatever order they were written.
func TestSightYields(t *testing.T) {
	pieces := []Hanging{{Name: "hood"}, {Name: "wing"}}
	reach, sight := Lap{Under: 1, Over: 0, Force: Reach}, Lap{Under: 0, Over: 1, Force: Sight}
	for _, laps := range [][]Lap{{reach, sight}, {sight, reach}} {
		o, err := HangOrder(pieces, laps, false)
		if err != nil || len(o.Order) != 2 || o.Order[0] != 1 || len(o.Yielded) != 1 || o.Yielded[0] != sight {
			t.Errorf("%v: %v, %v gave way, %v", laps, o.Order, o.Yielded, err)
		}
	}
}
