package material

import (
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/graph/topo"
	"pgregory.net/rapid"
)

const (
	rear = iota
	side
	door
	front
	roof
	bonnet
)

// A van, listed from the rear. What lies under what is common practice, no
// source: rear piece under the next one forward, side under roof.
var van = []Hanging{
	rear: {Name: "rear doors", Contour: true}, side: {Name: "side"}, door: {Name: "front door"},
	front: {Name: "wing", Contour: true}, roof: {Name: "roof", Ladder: true}, bonnet: {Name: "bonnet", Contour: true},
}

func names(o Order) string {
	var n []string
	for _, i := range o.Order {
		n = append(n, o.Pieces[i].Name)
	}
	return strings.Join(n, ", ")
}

func TestHangOrderOfAVan(t *testing.T) {
	laps := []Lap{{rear, side, Airflow}, {side, front, Airflow}, {side, roof, Water}, {rear, roof, Water}}
	o, err := HangOrder(van, laps, false)
	if err != nil {
		t.Fatal(err)
	}
	// Flat before contour among those that wait for nothing; the roof, with its
	// ladder, as soon as the side is up.
	if got := names(o); got != "front door, rear doors, side, roof, wing, bonnet" {
		t.Error(got)
	}
	if o.Sentence != "front door first, bonnet last." {
		t.Error(o.Sentence)
	}
}

// At the top front corner airflow asks for the wing over the roof, water for
// the roof over the wing: airflow wins on a van, water on what stands.
func TestForcesFight(t *testing.T) {
	laps := []Lap{{front, roof, Water}, {roof, front, Airflow}}
	for _, c := range []struct {
		slow    bool
		yielded Force
		first   int
	}{{false, Water, roof}, {true, Airflow, front}} {
		o, err := HangOrder(van, laps, c.slow)
		if err != nil {
			t.Fatal(err)
		}
		if len(o.Yielded) != 1 || o.Yielded[0].Force != c.yielded {
			t.Errorf("slow %v: %+v gave way", c.slow, o.Yielded)
		}
		if a, b := slices.Index(o.Order, roof), slices.Index(o.Order, front); (a < b) != (c.first == roof) {
			t.Errorf("slow %v: %s", c.slow, names(o))
		}
		if !strings.HasSuffix(o.Sentence, "One lap gave way.") {
			t.Error(o.Sentence)
		}
	}
}

func TestHangOrderRefuses(t *testing.T) {
	for _, c := range []struct {
		pieces []Hanging
		laps   []Lap
		want   string
	}{
		{nil, nil, "list has 0 pieces; valid is 1 to 200"},
		{van, []Lap{{rear, side, Airflow}, {side, front, Airflow}, {front, rear, Airflow}}, "circle by airflow: rear doors under side under wing under rear doors; strike one lap"},
		{van, []Lap{{rear, rear, Water}}, "rear doors cannot lie under itself; strike that lap"},
		{van, []Lap{{rear, 6, Water}}, "a lap names a piece or a force that is not in the list; valid are 1 to 6"},
		{van, []Lap{{-1, rear, Water}}, "valid are 1 to 6"},
		{van, []Lap{{rear, side, 7}}, "valid are 1 to 6"},
		// A circle within one force is refused although another force would break it.
		{van, []Lap{{rear, side, Airflow}, {rear, side, Water}, {side, rear, Water}}, "circle by water"},
	} {
		o, err := HangOrder(c.pieces, c.laps, false)
		if err == nil || !strings.Contains(err.Error(), c.want) || o.Order != nil {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

// Against gonum's topological sort: it finds an order for the laps that were
// kept, and a circle where we refuse; and ours obeys every kept lap.
func TestHangOrderAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		pieces := make([]Hanging, n)
		for i := range pieces {
			pieces[i] = Hanging{Name: string(rune('a' + i)), Ladder: rapid.Bool().Draw(t, "ladder"), Contour: rapid.Bool().Draw(t, "contour")}
		}
		var laps []Lap
		for range rapid.IntRange(0, 14).Draw(t, "laps") {
			u, o := rapid.IntRange(0, n-1).Draw(t, "u"), rapid.IntRange(0, n-1).Draw(t, "o")
			if u != o {
				laps = append(laps, Lap{u, o, Force(rapid.IntRange(0, 2).Draw(t, "force"))})
			}
		}
		graph := func(laps []Lap) *simple.DirectedGraph {
			g := simple.NewDirectedGraph()
			for i := range pieces {
				g.AddNode(simple.Node(i))
			}
			for _, l := range laps {
				g.SetEdge(simple.Edge{F: simple.Node(l.Under), T: simple.Node(l.Over)})
			}
			return g
		}
		slow := rapid.Bool().Draw(t, "slow")
		o, err := HangOrder(pieces, laps, slow)
		circle := false
		for f := range ForceNames {
			var one []Lap
			for _, l := range laps {
				if int(l.Force) == f {
					one = append(one, l)
				}
			}
			if _, e := topo.Sort(graph(one)); e != nil {
				circle = true
			}
		}
		if circle != (err != nil) {
			t.Fatalf("gonum sees a circle in one force: %v, we say %v", circle, err)
		}
		if err != nil {
			return
		}
		if len(o.Order) != n {
			t.Fatalf("%v", o.Order)
		}
		var kept []Lap
		for _, l := range laps {
			if !slices.Contains(o.Yielded, l) {
				kept = append(kept, l)
				if slices.Index(o.Order, l.Under) > slices.Index(o.Order, l.Over) {
					t.Fatalf("%v hangs before %v", l.Over, l.Under)
				}
			}
		}
		if _, e := topo.Sort(graph(kept)); e != nil {
			t.Fatal(e)
		}
		// The strongest force gives way to nothing, and nothing gives way in vain.
		strongest := Airflow
		if slow {
			strongest = Water
		}
		for _, l := range o.Yielded {
			if l.Force == strongest {
				t.Fatalf("%+v gave way", l)
			}
			if _, e := topo.Sort(graph(append(slices.Clone(kept), l))); e == nil {
				t.Fatalf("%+v gave way in vain", l)
			}
		}
	})
}

func FuzzHangOrder(f *testing.F) {
	f.Add([]byte{0, 1, 0, 1, 2, 1}, true)
	f.Fuzz(func(t *testing.T, raw []byte, slow bool) {
		var laps []Lap
		for len(raw) >= 3 {
			laps = append(laps, Lap{int(int8(raw[0])), int(int8(raw[1])), Force(raw[2])})
			raw = raw[3:]
		}
		o, err := HangOrder(van, laps, slow)
		if err == nil && len(o.Order) != len(van) {
			t.Fatalf("%+v", o)
		}
	})
}
