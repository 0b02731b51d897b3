package plan

import (
	"fmt"
	"math/rand/v2"
	"os"
	"testing"
)

// The oracle: every order of all tasks and every choice of bays, each task put
// at the first hour at which it fits, hour by hour on a table. It knows neither
// bounds nor dominance, and shares no code with the search.

// slots is a table of what goes on in each hour.
type slots struct {
	p    *Problem
	used []map[int]int    // by hour: hands by crew
	air  []map[int]Nature // by hour: natures by chain<<8 | air
}

const unit = 1 // a test's hour is one ms

func openAt(p *Problem, h int64) bool {
	for _, s := range p.Open {
		if s.From <= h && h < s.To {
			return true
		}
	}
	return len(p.Open) == 0 || h >= p.Open[len(p.Open)-1].To
}

func idleAt(spans []Span, h int64) bool {
	for _, s := range spans {
		if s.From <= h && h < s.To {
			return true
		}
	}
	return false
}

// bruteForce returns the least lateness and the least sum of ends with it.
func bruteForce(p *Problem, horizon int) (best cost) {
	best = cost{never, never}
	n := len(p.Chains)
	bays := make([]int, n)
	var order []int
	left := make([]int, n)
	total := 0
	for c := range p.Chains {
		left[c] = len(p.Chains[c].Tasks)
		total += left[c]
	}
	var orders func()
	orders = func() {
		if len(order) == total {
			if c, ok := lay(p, order, bays, horizon); ok && c.less(best) {
				best = c
			}
			return
		}
		for c := range p.Chains {
			if left[c] == 0 {
				continue
			}
			left[c]--
			order = append(order, c)
			orders()
			order = order[:len(order)-1]
			left[c]++
		}
	}
	var choose func(c int)
	choose = func(c int) {
		if c == n {
			orders()
			return
		}
		if ch := &p.Chains[c]; ch.Film || ch.Bay != None {
			bays[c] = ch.Bay
			choose(c + 1)
			return
		}
		for b := range p.Bays {
			bays[c] = b
			choose(c + 1)
		}
	}
	choose(0)
	return best
}

// lay places tasks in one order; not ok if a bay is not free by then or another
// chain's task is not placed.
func lay(p *Problem, order, bays []int, horizon int) (c cost, ok bool) {
	used := make([][4]int, horizon)
	natures := make([][8]Nature, horizon) // by hour and chain
	placed := make([]int, len(p.Chains))
	ended := make([][]int64, len(p.Chains))
	free := make([]int64, len(p.Bays))
	holds := make([]int, len(p.Bays))
	for b := range holds {
		holds[b] = None
		for k := range p.Chains {
			if !p.Chains[k].Film && p.Chains[k].Bay == b {
				holds[b] = k
			}
		}
	}
	for _, k := range order {
		ch := &p.Chains[k]
		t := &ch.Tasks[placed[k]]
		at := max(p.Now, ch.From)
		if placed[k] > 0 {
			at = ended[k][placed[k]-1]
		}
		b := bays[k]
		if ch.Film {
			b = None
		} else if placed[k] == 0 && ch.Bay == None {
			if holds[b] != None {
				return c, false
			}
			holds[b] = k
			at = max(at, free[b])
		}
		for _, w := range t.Wait {
			h := at
			switch {
			case w.From != 0:
				h = w.From
			case w.Past > 1:
				h = ended[k][placed[k]-w.Past]
			}
			for need := w.Need; need > 0; h++ {
				if w.Free || !idleAt(ch.Idle, h) && (b == None || !idleAt(p.Bays[b].Idle, h)) {
					need--
				}
			}
			at = max(at, h)
		}
		for _, a := range t.After {
			if placed[a.Chain] <= a.Task {
				return c, false
			}
			at = max(at, ended[a.Chain][a.Task])
		}
		at = max(at, t.Ready)
		hands := min(t.Hands, len(p.Crews[t.Crew].Hands))
		// The first hour from which the work fits, the night between included.
	next:
		for ; ; at++ {
			if !openAt(p, at) {
				continue
			}
			end := at
			for work := t.Work; work > 0; end++ {
				if openAt(p, end) {
					work--
				}
			}
			for h := at; h < end; h++ {
				if int(h) >= horizon {
					panic("horizon")
				}
				if used[h][t.Crew]+hands > len(p.Crews[t.Crew].Hands) {
					continue next
				}
				for o := range p.Chains {
					if o == k || b == None || p.Chains[o].Film || natures[h][o] == 0 || p.Bays[bays[o]].Air != p.Bays[b].Air {
						continue
					}
					for _, x := range Conflicts {
						if t.Nature&x.A != 0 && natures[h][o]&x.B != 0 || t.Nature&x.B != 0 && natures[h][o]&x.A != 0 {
							continue next
						}
					}
				}
			}
			for h := at; h < end; h++ {
				used[h][t.Crew] += hands
				natures[h][k] = t.Nature
			}
			at = end
			break
		}
		ended[k] = append(ended[k], at)
		placed[k]++
		if placed[k] == len(ch.Tasks) {
			c = c.plus(p, ch, at)
			if b != None {
				holds[b], free[b] = None, at
			}
		}
	}
	return c, true
}

// small makes a random shop that brute force can still go through.
func small(r *rand.Rand) *Problem {
	p := &Problem{Now: int64(r.IntN(3))}
	if r.IntN(4) > 0 {
		for d := int64(0); d < 40; d++ {
			p.Open = append(p.Open, Span{d*8 + 1, d*8 + 5})
		}
	}
	for b := range 1 + r.IntN(3) {
		bay := Bay{Name: fmt.Sprint("bay ", b), Air: b * r.IntN(2)}
		if r.IntN(3) == 0 {
			from := int64(r.IntN(12))
			bay.Idle = []Span{{from, from + 1 + int64(r.IntN(8))}}
		}
		p.Bays = append(p.Bays, bay)
	}
	for c := range 1 + r.IntN(2) {
		p.Crews = append(p.Crews, Crew{fmt.Sprint("crew ", c), []string{"A", "B", "C"}[:1+r.IntN(3)]})
	}
	tasks := func(film bool) (out []Task) {
		for range 1 + r.IntN(3) {
			t := Task{Key: "work", Work: int64(r.IntN(6)), Crew: r.IntN(len(p.Crews)), Hands: r.IntN(3)}
			if !film {
				t.Nature = Nature(1<<r.IntN(7)) & 63
			}
			if r.IntN(3) == 0 {
				t.Wait = []Wait{{Key: "dry", Need: int64(r.IntN(8)), Free: r.IntN(3) == 0}}
				if n := len(out); n > 1 && r.IntN(3) == 0 {
					t.Wait[0].Past = 2
				} else if r.IntN(3) == 0 {
					t.Wait[0].From = 1 + int64(r.IntN(4))
				}
			}
			if r.IntN(6) == 0 {
				t.Ready = int64(r.IntN(15))
			}
			out = append(out, t)
		}
		return out
	}
	left := 7 // tasks in all, so that the oracle ends
	taken := 0
	for i := range 2 + r.IntN(2) {
		c := Chain{Name: fmt.Sprint("V", i), Bay: None, Film: r.IntN(6) == 0}
		c.Tasks = tasks(c.Film)
		c.Tasks = c.Tasks[:min(len(c.Tasks), max(1, left-2+i))]
		left -= len(c.Tasks)
		if r.IntN(4) > 0 {
			c.Due = 1 + int64(r.IntN(25))
		}
		if r.IntN(4) == 0 {
			c.From = int64(r.IntN(10))
		}
		if !c.Film && taken < len(p.Bays) && r.IntN(2) == 0 {
			c.Bay = taken
			taken++
		}
		for k := range c.Tasks {
			for i := range c.Tasks[k].Wait {
				if c.Bay == None && !c.Film {
					c.Tasks[k].Wait[i].From = 0 // nothing passes before it stands somewhere
				}
			}
		}
		if r.IntN(5) == 0 {
			c.Idle = []Span{{5, 9}}
		}
		if i > 0 && r.IntN(3) == 0 {
			o := r.IntN(i)
			c.Tasks[len(c.Tasks)-1].After = []After{{o, r.IntN(len(p.Chains[o].Tasks))}}
		}
		p.Chains = append(p.Chains, c)
	}
	return p
}

// The search against every schedule there is.
func TestAgainstBruteForce(t *testing.T) {
	shops := 2000
	if raced {
		shops = 200
	}
	if os.Getenv("BAYHOLD_LONG") != "" {
		shops = 100_000
	}
	late := 0
	for seed := range uint64(shops) {
		p := small(rand.New(rand.NewPCG(seed, 1)))
		got, err := Of(p)
		want := bruteForce(p, 400)
		if (err != nil) != (want.late == never) {
			t.Fatalf("seed %d: %v, and every schedule: %+v", seed, err, want)
		}
		if err != nil {
			continue // no order serves two that wait for each other
		}
		sum := int64(0)
		for c := range p.Chains {
			if !p.Chains[c].Film {
				sum += got.Ends[c] - p.Now
			}
		}
		if (cost{got.Late, sum}) != want || !got.Exact {
			t.Fatalf("seed %d: late %d, ends %d (exact %v); every schedule: late %d, ends %d\n%+v", seed, got.Late, sum, got.Exact, want.late, want.sum, p)
		}
		if want.late > 0 {
			late++
		}
		keepsRules(t, seed, p, got)
	}
	if late < shops/10 {
		t.Errorf("only %d of %d shops had something late: the test asks too little", late, shops)
	}
}
