package plan

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// keepsRules looks at a finished plan as a lead would: nobody works in two
// places, no bay holds two vehicles, nothing in one air that does not go
// together, all work in opening hours and all of it done.
func keepsRules(t *testing.T, seed uint64, p *Problem, pl *Plan) {
	t.Helper()
	type stay struct{ from, to int64 }
	stays := make([]stay, len(p.Chains))
	for c := range stays {
		stays[c] = stay{never, 0}
	}
	done := make([]int, len(p.Chains))
	for _, b := range pl.Bars {
		stays[b.Chain].from = min(stays[b.Chain].from, b.From)
		stays[b.Chain].to = max(stays[b.Chain].to, b.To)
		if b.Wait {
			continue
		}
		done[b.Chain]++
		worked := b.To - b.From
		if n := len(p.Open); n > 0 {
			worked = max(0, b.To-max(b.From, p.Open[n-1].To)) // past the last hours known: open
		}
		for _, o := range p.Open {
			worked += max(0, min(b.To, o.To)-max(b.From, o.From))
		}
		task := p.Chains[b.Chain].Tasks[b.Task]
		if worked != task.Work {
			t.Fatalf("seed %d: %d of %d worked: %+v", seed, worked, task.Work, b)
		}
		if want := min(task.Hands, len(p.Crews[task.Crew].Hands)); task.Work > 0 && len(b.Who) != want {
			t.Fatalf("seed %d: hands %v, want %d: %+v", seed, b.Who, want, b)
		}
	}
	for c := range p.Chains {
		if done[c] != len(p.Chains[c].Tasks) {
			t.Fatalf("seed %d: %s has %d of %d tasks", seed, p.Chains[c].Name, done[c], len(p.Chains[c].Tasks))
		}
	}
	for i, a := range pl.Bars {
		for _, b := range pl.Bars[i+1:] {
			if a.Wait || b.Wait || a.Chain == b.Chain || a.From >= b.To || b.From >= a.To || a.From == a.To || b.From == b.To {
				continue
			}
			x, y := p.Chains[a.Chain].Tasks[a.Task], p.Chains[b.Chain].Tasks[b.Task]
			for _, n := range a.Who {
				for _, m := range b.Who {
					if n == m && x.Crew == y.Crew {
						t.Fatalf("seed %d: %s is in two places: %+v %+v", seed, n, a, b)
					}
				}
			}
			if a.Bay == None || b.Bay == None || p.Bays[a.Bay].Air != p.Bays[b.Bay].Air {
				continue
			}
			for _, c := range Conflicts {
				if x.Nature&c.A != 0 && y.Nature&c.B != 0 || x.Nature&c.B != 0 && y.Nature&c.A != 0 {
					t.Fatalf("seed %d: %s: %+v %+v", seed, c.Said, a, b)
				}
			}
		}
	}
	for i := range p.Chains {
		for k := range i {
			a, b := stays[i], stays[k]
			if !p.Chains[i].Film && !p.Chains[k].Film && pl.Bays[i] == pl.Bays[k] && a.from < b.to && b.from < a.to && a.from < a.to && b.from < b.to {
				t.Fatalf("seed %d: %s and %s in one bay", seed, p.Chains[i].Name, p.Chains[k].Name)
			}
		}
	}
}

// jobShop makes machines of crews of one and adds a last chain that waits for
// every job, so that its lateness is the makespan less one.
func jobShop(machines int, jobs [][][2]int64) *Problem {
	p := &Problem{}
	for m := range machines {
		p.Crews = append(p.Crews, Crew{fmt.Sprint("machine ", m), []string{"x"}})
	}
	end := Chain{Name: "all", Bay: None, Film: true, Due: 1}
	last := Task{Key: "all done"}
	for i, ops := range jobs {
		c := Chain{Name: fmt.Sprint("job ", i+1), Bay: None, Film: true}
		for _, op := range ops {
			c.Tasks = append(c.Tasks, Task{Key: "op", Crew: int(op[0]), Hands: 1, Work: op[1]})
		}
		p.Chains = append(p.Chains, c)
		last.After = append(last.After, After{i, len(ops) - 1})
	}
	end.Tasks = []Task{last}
	p.Chains = append(p.Chains, end)
	return p
}

func makespan(t *testing.T, p *Problem) int64 {
	t.Helper()
	pl, err := Of(p)
	if err != nil {
		t.Fatal(err)
	}
	if !pl.Exact {
		t.Errorf("not proven after %d nodes", pl.Nodes)
	}
	t.Logf("%d nodes", pl.Nodes)
	return pl.Late + 1
}

// H. Fisher and G. L. Thompson, "Probabilistic learning combinations of local
// job-shop scheduling rules", in Muth and Thompson (eds.), Industrial
// Scheduling, 1963, pp. 225-251: six jobs on six machines, known as ft06 or
// mt06 in the OR-Library of J. E. Beasley. The table and its optimum of 55 are
// from memory.
func TestFisherThompson(t *testing.T) {
	p := jobShop(6, [][][2]int64{
		{{2, 1}, {0, 3}, {1, 6}, {3, 7}, {5, 3}, {4, 6}},
		{{1, 8}, {2, 5}, {4, 10}, {5, 10}, {0, 10}, {3, 4}},
		{{2, 5}, {3, 4}, {5, 8}, {0, 9}, {1, 1}, {4, 7}},
		{{1, 5}, {0, 5}, {2, 5}, {3, 3}, {4, 8}, {5, 9}},
		{{2, 9}, {1, 3}, {4, 5}, {5, 4}, {0, 3}, {3, 1}},
		{{1, 3}, {3, 3}, {5, 9}, {0, 10}, {4, 4}, {2, 1}},
	})
	if got := makespan(t, p); got != 55 {
		t.Errorf("makespan %d, the published optimum is 55", got)
	}
}

// Johnson's rule, "Optimal two- and three-stage production schedules with setup
// times included", Naval Research Logistics Quarterly 1 (1954) 61-68. The five
// jobs are the example of K. R. Baker, Introduction to Sequencing and
// Scheduling (1974), ch. 6: order 3-1-4-5-2, makespan 24 (from memory; the
// order gives 24 by hand: 1 4 10 17 22 on the first machine, 3 10 16 22 24 on
// the second).
func TestJohnson(t *testing.T) {
	jobs := [][2]int64{{3, 6}, {5, 2}, {1, 2}, {6, 6}, {7, 5}}
	if got := makespan(t, flow(jobs)); got != 24 {
		t.Errorf("makespan %d, the textbook says 24", got)
	}
	// And the rule itself on random shops: jobs quicker on the first machine
	// first, by that time rising, then the others by the second's falling.
	r := rand.New(rand.NewPCG(3, 3))
	for range 60 {
		var jobs [][2]int64
		for range 2 + r.IntN(4) {
			jobs = append(jobs, [2]int64{1 + int64(r.IntN(9)), 1 + int64(r.IntN(9))})
		}
		if got, want := makespan(t, flow(jobs)), johnson(jobs); got != want {
			t.Errorf("%v: makespan %d, Johnson's rule gives %d", jobs, got, want)
		}
	}
}

func flow(jobs [][2]int64) *Problem {
	var ops [][][2]int64
	for _, j := range jobs {
		ops = append(ops, [][2]int64{{0, j[0]}, {1, j[1]}})
	}
	return jobShop(2, ops)
}

func johnson(jobs [][2]int64) int64 {
	left := append([][2]int64{}, jobs...)
	var front, back [][2]int64
	for len(left) > 0 {
		k := 0
		for i := range left {
			if min(left[i][0], left[i][1]) < min(left[k][0], left[k][1]) {
				k = i
			}
		}
		if left[k][0] <= left[k][1] {
			front = append(front, left[k])
		} else {
			back = append([][2]int64{left[k]}, back...)
		}
		left = append(left[:k], left[k+1:]...)
	}
	var a, b int64
	for _, j := range append(front, back...) {
		a += j[0]
		b = max(a, b) + j[1]
	}
	return b
}

// single is one hand with jobs of one task each.
func single(work, due []int64) *Problem {
	p := &Problem{Crews: []Crew{{"hand", []string{"A"}}}}
	for i := range work {
		p.Chains = append(p.Chains, Chain{Name: fmt.Sprint("job ", i+1), Bay: i, Due: due[i],
			Tasks: []Task{{Key: "work", Hands: 1, Work: work[i]}}})
		p.Bays = append(p.Bays, Bay{Name: fmt.Sprint("bay ", i+1), Air: i})
	}
	return p
}

// M. L. Pinedo, Scheduling: Theory, Algorithms, and Systems, example 3.4.5:
// five jobs on one machine, least total tardiness 370 in the order 1 2 4 5 3
// (from memory; the order gives 76 + 294 = 370 by hand).
func TestTotalTardiness(t *testing.T) {
	pl, err := Of(single([]int64{121, 79, 147, 83, 130}, []int64{260, 266, 266, 336, 337}))
	if err != nil || pl.Late != 370 || !pl.Exact {
		t.Errorf("late %d, exact %v, %v; the textbook says 370", pl.Late, pl.Exact, err)
	}
}

// J. R. Jackson (1955): the earliest promise first has no late job if any order
// has none. W. E. Smith, "Various optimizers for single-stage production",
// Naval Research Logistics Quarterly 3 (1956) 59-66: without promises the
// shortest first has the least sum of ends.
func TestJacksonAndSmith(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	for range 40 {
		n := 2 + r.IntN(6)
		work, due, none := make([]int64, n), make([]int64, n), make([]int64, n)
		at := int64(0)
		for i := range work {
			work[i] = 1 + int64(r.IntN(9))
			at += work[i]
			due[i] = at + int64(r.IntN(4)) // this order is in time
		}
		r.Shuffle(n, func(i, k int) { work[i], work[k], due[i], due[k] = work[k], work[i], due[k], due[i] })
		if pl, err := Of(single(work, due)); err != nil || pl.Late != 0 {
			t.Errorf("%v %v: late %d, %v; the earliest promise first is in time", work, due, pl.Late, err)
		}
		pl, err := Of(single(work, none))
		if err != nil {
			t.Fatal(err)
		}
		got, want, sorted := int64(0), int64(0), append([]int64{}, work...)
		for i := range sorted {
			for k := range i {
				if sorted[i] < sorted[k] {
					sorted[i], sorted[k] = sorted[k], sorted[i]
				}
			}
		}
		for i := range sorted {
			got += pl.Ends[i]
			for k := 0; k <= i; k++ {
				want += sorted[k]
			}
		}
		if got != want {
			t.Errorf("%v: ends %d, the shortest first gives %d", work, got, want)
		}
	}
}

const (
	minutes = int64(60_000)
	hours   = 60 * minutes
)

// days are opening hours 07:30 to 17:00 from Monday the 5th of January 1970 on.
func days(n int) (out []Span) {
	for d := range int64(n) {
		if d%7 != 6 {
			from := (4+d)*24*hours + 7*hours + 30*minutes
			out = append(out, Span{from, from + 9*hours + 30*minutes})
		}
	}
	return out
}

// shopOf is a plausible shop: vans in every state, each some hands' work.
func shopOf(r *rand.Rand, bays, vehicles int) *Problem {
	p := &Problem{Open: days(60), Crews: []Crew{{"installers", []string{"J", "R", "S", "U"}}, {"prep", []string{"T", "W"}}}}
	p.Now = p.Open[0].From
	for b := range bays {
		p.Bays = append(p.Bays, Bay{Name: fmt.Sprint("Bay ", b+1), Air: b - b%2*r.IntN(2)})
	}
	whole := []Task{
		{Key: "wash", Work: 2 * hours, Crew: 1, Hands: 1, Nature: Wet},
		{Key: "lay", Wait: []Wait{{Key: "dry", Need: 12 * hours}}, Work: 9 * hours, Crew: 0, Hands: 2, Nature: Laying | Wiped | Solvent},
		{Key: "post-heat", Work: 2 * hours, Crew: 0, Hands: 1, Nature: Flame},
		{Key: "edge-check", Work: 3 * hours, Crew: 0, Hands: 1},
		{Key: "hand-over", Wait: []Wait{{Key: "rest", Need: 24 * hours}}, Work: hours / 2, Crew: 0, Hands: 1},
	}
	for v := range vehicles {
		c := Chain{Name: fmt.Sprint("V", v+1), Bay: None, Tasks: whole, Due: p.Now + int64(2+r.IntN(6*max(1, vehicles/bays)))*24*hours}
		if v < bays {
			c.Bay = v
			c.Tasks = whole[r.IntN(5):]
		}
		p.Chains = append(p.Chains, c)
	}
	return p
}

// greedy serves the earliest promise first, whenever hands and bay allow: what
// a lead does with a list and a pencil.
func greedy(t *testing.T, p *Problem) int64 {
	t.Helper()
	s := newSearch(p)
	st := s.start()
	for !s.done(st) {
		places := s.places(st)
		best := places[0]
		for _, pl := range places[1:] {
			a, b := p.Chains[pl.chain].Due, p.Chains[best.chain].Due
			if pl.from < best.from || pl.from == best.from && a < b {
				best = pl
			}
		}
		st = s.put(st, best)
	}
	return st.cost.late
}

// Six bays are proven, and nearly always with two more vehicles waiting in the
// yard; twenty are planned, keep the rules of the shop, and beat the pencil.
func TestShops(t *testing.T) {
	shops := uint64(20)
	if raced {
		shops = 3
	}
	for seed := range shops {
		p := shopOf(rand.New(rand.NewPCG(seed, 7)), 6, 6+int(seed%3))
		pl, err := Of(p)
		if err != nil {
			t.Fatal(err)
		}
		if !pl.Exact && len(p.Chains) == 6 {
			t.Errorf("seed %d: six bays are not proven after %d nodes", seed, pl.Nodes)
		}
		keepsRules(t, seed, p, pl)
		t.Logf("%d: %d nodes, late %d h, exact %v; by the pencil %d h", seed, pl.Nodes, pl.Late/hours, pl.Exact, greedy(t, p)/hours)
	}
	if raced {
		return // a minute, under the race detector
	}
	better := 0
	for seed := range min(shops, 5) {
		p := shopOf(rand.New(rand.NewPCG(seed, 11)), 20, 24)
		for _, more := range []string{"X", "Y", "Z"} {
			p.Crews[0].Hands = append(p.Crews[0].Hands, more+"1", more+"2")
		}
		pl, err := Of(p)
		if err != nil {
			t.Fatal(err)
		}
		keepsRules(t, seed, p, pl)
		pencil := greedy(t, p)
		t.Logf("%d: twenty bays late %d h, by the pencil %d h", seed, pl.Late/hours, pencil/hours)
		if pl.Late > pencil {
			t.Errorf("seed %d: late %d h, the earliest promise first %d h", seed, pl.Late/hours, pencil/hours)
		}
		if pl.Late < pencil {
			better++
		}
	}
	if better == 0 {
		t.Error("nothing beat the pencil: the shops are too easy")
	}
}

func BenchmarkSixBays(b *testing.B) { benchmark(b, 6, 6) }

func BenchmarkTwentyBays(b *testing.B) { benchmark(b, 20, 24) }

func benchmark(b *testing.B, bays, vehicles int) {
	nodes := 0
	for i := range b.N {
		pl, err := Of(shopOf(rand.New(rand.NewPCG(uint64(i%50), 7)), bays, vehicles))
		if err != nil {
			b.Fatal(err)
		}
		nodes += pl.Nodes
	}
	b.ReportMetric(float64(nodes)/float64(b.N), "nodes/op")
}
