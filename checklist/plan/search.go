package plan

import (
	"cmp"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
)

// The bounds of the search: what a server of the shop's class does within a
// second or two.
const (
	mostNodes = 150_000 // of the exact search, for up to ten vehicles
	manyNodes = 40_000  // for more: it will not end, but it finds something
	orders    = 400     // of precedence that are tried
	beamWidth = 60      // partial schedules kept beside each other
	mostKept  = 24      // states remembered for one set of placed tasks
	never     = int64(math.MaxInt64) / 4
)

// cost is what a plan is judged by: lateness first.
type cost struct{ late, sum int64 }

func (a cost) less(b cost) bool { return a.late < b.late || a.late == b.late && a.sum < b.sum }

// move is one decision: the next task of a chain, in a bay.
type move struct{ chain, bay int }

// running is work that has been placed and may not have ended yet.
type running struct {
	end    int64
	crew   int
	hands  int
	air    int
	nature Nature
	chain  int
}

// state is a schedule so far: everything that what follows depends on.
type state struct {
	t     int64 // no later task begins before it
	next  []int // by chain
	bay   []int // by chain
	ended []int64
	free  []int64 // by bay; never while a vehicle stands there
	run   []running
	ends  [][]int64 // of placed tasks that other chains wait for
	cost  cost
	moves []move
	bound cost
}

// search is the problem made ready.
type search struct {
	p             *Problem
	cal           calendar
	idle          [][][]Span // by chain and bay; the last one is that of no bay
	same          []int      // by bay: the first bay that is like it
	asked         [][]bool   // by chain and task: another chain waits for it
	best          cost
	moves         []move
	nodes, budget int
	seen          map[string][][]int64
}

// Of returns the plan of a shop. It refuses a problem that has no plan, with
// the reason.
func Of(p *Problem) (*Plan, error) {
	if err := check(p); err != nil {
		return nil, err
	}
	if len(p.Chains) == 0 {
		return &Plan{Exact: true}, nil
	}
	s := newSearch(p)
	start := s.start()
	s.beam(start)
	vehicles := 0
	for i := range p.Chains {
		if !p.Chains[i].Film {
			vehicles++
		}
	}
	s.budget = s.nodes + mostNodes
	if vehicles > 10 {
		s.budget = s.nodes + manyNodes
		s.swap(start)
	}
	exact := s.deepen(start)
	if !exact && vehicles <= 10 {
		s.swap(start)
	}
	if s.moves == nil {
		return nil, errors.New("there is no plan: vehicles in the bays wait for one that finds no bay")
	}
	pl := s.tell()
	pl.Exact, pl.Nodes = exact, s.nodes
	return pl, nil
}

func check(p *Problem) error {
	for i := range p.Open {
		if p.Open[i].From >= p.Open[i].To || i > 0 && p.Open[i].From < p.Open[i-1].To {
			return errors.New("opening hours do not follow each other; sort them by time")
		}
	}
	for i := range p.Chains {
		c := &p.Chains[i]
		if len(c.Tasks) == 0 {
			return errors.New(c.Name + " has no task; leave it out")
		}
		if !c.Film && c.Bay == None && len(p.Bays) == 0 || !c.Film && c.Bays != nil && len(c.Bays) == 0 {
			return errors.New(c.Name + " fits into no bay of the shop")
		}
		for k := range c.Tasks {
			t := &c.Tasks[k]
			if t.Hands > 0 && (t.Crew < 0 || t.Crew >= len(p.Crews) || len(p.Crews[t.Crew].Hands) == 0) {
				return errors.New("nobody in the shop does " + t.Key + " for " + c.Name)
			}
			for _, w := range t.Wait {
				if w.Past > k {
					return errors.New(t.Key + " of " + c.Name + " waits for a task before the first")
				}
			}
			for _, a := range t.After {
				if a.Chain < 0 || a.Chain >= i || a.Task < 0 || a.Task >= len(p.Chains[a.Chain].Tasks) {
					return errors.New(t.Key + " of " + c.Name + " waits for what stands before no vehicle")
				}
			}
		}
	}
	for i := range p.Chains {
		for k := range i {
			if b := p.Chains[i].Bay; b != None && b == p.Chains[k].Bay && !p.Chains[i].Film && !p.Chains[k].Film {
				return errors.New(p.Chains[i].Name + " and " + p.Chains[k].Name + " stand in one bay")
			}
		}
	}
	return nil
}

func newSearch(p *Problem) *search {
	s := &search{p: p, cal: newCalendar(p.Open), seen: map[string][][]int64{}, best: cost{never, never}}
	for i := range p.Chains {
		c := &p.Chains[i]
		var idle [][]Span
		for b := range p.Bays {
			idle = append(idle, Merged(p.Bays[b].Idle, c.Idle))
		}
		s.idle = append(s.idle, append(idle, Merged(nil, c.Idle)))
		s.asked = append(s.asked, make([]bool, len(c.Tasks)))
		for k := range c.Tasks {
			for _, a := range c.Tasks[k].After {
				s.asked[a.Chain][a.Task] = true
			}
			for _, w := range c.Tasks[k].Wait {
				if w.Past > 1 {
					s.asked[i][k-w.Past] = true
				}
			}
		}
	}
	for b := range p.Bays {
		like := b
		for k := range b {
			if p.Bays[k].Air == p.Bays[b].Air && slices.Equal(p.Bays[k].Idle, p.Bays[b].Idle) {
				like = k
				break
			}
		}
		s.same = append(s.same, like)
	}
	return s
}

func (s *search) start() *state {
	n := len(s.p.Chains)
	st := &state{t: s.p.Now, next: make([]int, n), bay: make([]int, n), ended: make([]int64, n),
		free: make([]int64, len(s.p.Bays)), ends: make([][]int64, n)}
	for b := range st.free {
		st.free[b] = s.p.Now
	}
	for i := range s.p.Chains {
		c := &s.p.Chains[i]
		st.bay[i], st.ended[i] = None, max(s.p.Now, c.From)
		if !c.Film && c.Bay != None {
			st.bay[i], st.free[c.Bay] = c.Bay, never
		}
		st.ends[i] = make([]int64, len(c.Tasks))
	}
	st.bound = s.bound(st)
	return st
}

// place is where and when a task would go.
type place struct {
	move
	from, to int64
	claims   bool
}

// wait returns when a chain's task may begin at the earliest if nobody is in
// its way: hours passed, other chains' tasks ended.
func (s *search) wait(st *state, c, bay int, from int64) int64 {
	ch := &s.p.Chains[c]
	t := &ch.Tasks[st.next[c]]
	for i := range t.Wait {
		from = s.passed(&t.Wait[i], c, bay, from, st.next[c], st.ends[c])
	}
	for _, a := range t.After {
		from = max(from, st.ends[a.Chain][a.Task])
	}
	return max(from, t.Ready)
}

// passed returns when the hours before a task have passed; from is the end of
// what was before, ends those of the chain's tasks that somebody asks for.
func (s *search) passed(w *Wait, c, bay int, from int64, task int, ends []int64) int64 {
	if bay == None {
		bay = len(s.p.Bays)
	}
	began := from
	switch {
	case w.From != 0:
		began = w.From
	case w.Past > 1:
		began = ends[task-w.Past]
	}
	if w.Free {
		return max(from, began+w.Need)
	}
	return max(from, Passes(began, w.Need, s.idle[c][bay]))
}

// fits returns 0 if a task can begin at a moment, and otherwise when to look
// again.
func (s *search) fits(st *state, t *Task, air, chain int, at int64) (again int64) {
	if t.Work == 0 {
		return 0 // a moment takes nobody
	}
	busy, clash, again := 0, false, never
	for i := range st.run {
		r := &st.run[i]
		if r.end <= at {
			continue
		}
		if r.crew == t.Crew && t.Hands > 0 {
			busy += r.hands
		}
		if air >= 0 && r.air == air && r.chain != chain {
			for _, c := range Conflicts {
				clash = clash || t.Nature&c.A != 0 && r.nature&c.B != 0 || t.Nature&c.B != 0 && r.nature&c.A != 0
			}
		}
		again = min(again, r.end)
	}
	if clash {
		return again
	}
	if t.Hands > 0 && busy+min(t.Hands, len(s.p.Crews[t.Crew].Hands)) > len(s.p.Crews[t.Crew].Hands) {
		return again
	}
	return 0
}

// at returns where the next task of a chain would go in a bay.
func (s *search) at(st *state, c, bay int) place {
	ch := &s.p.Chains[c]
	t := &ch.Tasks[st.next[c]]
	pl := place{move: move{c, bay}, claims: !ch.Film && st.bay[c] == None}
	from := st.ended[c]
	air := None
	if bay != None {
		air = s.p.Bays[bay].Air
		if pl.claims {
			from = max(from, st.free[bay])
		}
	}
	from = s.cal.opens(max(s.wait(st, c, bay, from), st.t))
	for {
		again := s.fits(st, t, air, c, from)
		if again == 0 {
			break
		}
		from = s.cal.opens(again)
	}
	pl.from, pl.to = from, s.cal.add(from, t.Work)
	return pl
}

// places returns every next placing worth looking at.
func (s *search) places(st *state) []place {
	var out []place
	soonest := never
	for c := range s.p.Chains {
		ch := &s.p.Chains[c]
		if st.next[c] == len(ch.Tasks) {
			continue
		}
		ready := true
		for _, a := range ch.Tasks[st.next[c]].After {
			ready = ready && st.next[a.Chain] > a.Task
		}
		if !ready {
			continue
		}
		if ch.Film || st.bay[c] != None {
			pl := s.at(st, c, st.bay[c])
			soonest = min(soonest, pl.to)
			out = append(out, pl)
			continue
		}
		var tried []int
		for b := range s.p.Bays {
			if ch.Bays != nil && !slices.Contains(ch.Bays, b) || st.free[b] == never {
				continue
			}
			// Of bays that are alike and free one is enough.
			if ch.Bays == nil && slices.ContainsFunc(tried, func(k int) bool {
				return s.same[k] == s.same[b] && st.free[k] == st.free[b]
			}) {
				continue
			}
			tried = append(tried, b)
			out = append(out, s.at(st, c, b))
		}
	}
	// Whoever begins only when another could have begun and ended before would
	// let that other do so for nothing.
	return slices.DeleteFunc(out, func(p place) bool { return p.from >= soonest && p.to > soonest })
}

// put returns the state after a placing, with its bound.
func (s *search) put(st *state, pl place) *state {
	n := s.after(st, pl)
	n.bound = s.bound(n)
	return n
}

// after returns the state after a placing.
func (s *search) after(st *state, pl place) *state {
	n := &state{t: max(st.t, pl.from), next: slices.Clone(st.next), bay: slices.Clone(st.bay), ended: slices.Clone(st.ended),
		free: slices.Clone(st.free), ends: st.ends, cost: st.cost, moves: append(slices.Clip(st.moves), pl.move)}
	ch := &s.p.Chains[pl.chain]
	k := st.next[pl.chain]
	t := &ch.Tasks[k]
	n.run = make([]running, 0, len(st.run)+1)
	for _, r := range st.run {
		if r.end > n.t {
			n.run = append(n.run, r)
		}
	}
	r := running{end: pl.to, crew: t.Crew, air: None, nature: t.Nature, chain: pl.chain}
	if t.Hands > 0 {
		r.hands = min(t.Hands, len(s.p.Crews[t.Crew].Hands))
	}
	if pl.claims {
		n.bay[pl.chain], n.free[pl.bay] = pl.bay, never
	}
	if pl.bay != None {
		r.air = s.p.Bays[pl.bay].Air
	}
	if pl.to > n.t {
		n.run = append(n.run, r)
	}
	n.next[pl.chain]++
	n.ended[pl.chain] = pl.to
	if s.asked[pl.chain][k] {
		n.ends = slices.Clone(st.ends)
		n.ends[pl.chain] = slices.Clone(st.ends[pl.chain])
		n.ends[pl.chain][k] = pl.to
	}
	if n.next[pl.chain] == len(ch.Tasks) {
		if pl.bay != None {
			n.free[pl.bay] = pl.to
		}
		n.cost = n.cost.plus(s.p, ch, pl.to)
	}
	return n
}

func (a cost) plus(p *Problem, ch *Chain, end int64) cost {
	if ch.Due != 0 {
		a.late += max(0, end-ch.Due)
	}
	if !ch.Film {
		a.sum += end - p.Now
	}
	return a
}

// bound is the least that a state can end with: each chain alone from where it
// stands, and a chain that waits for others no sooner than the hands that those
// still need.
func (s *search) bound(st *state) cost {
	b := st.cost
	var buf [64]int64
	ends := buf[:0] // by chain: the earliest end of all
	earliest := make([][]int64, 0, len(s.p.Chains))
	for c := range s.p.Chains {
		ch := &s.p.Chains[c]
		k := st.next[c]
		at := st.ended[c]
		mine := st.ends[c]
		bay := st.bay[c]
		var copied bool
		for ; k < len(ch.Tasks); k++ {
			t := &ch.Tasks[k]
			for i := range t.Wait {
				at = s.passed(&t.Wait[i], c, bay, at, k, mine)
			}
			for _, a := range t.After {
				at = max(at, earliest[a.Chain][a.Task])
			}
			if len(t.After) > 1 {
				at = max(at, s.together(st, t.After))
			}
			at = s.cal.add(s.cal.opens(max(at, t.Ready, st.t)), t.Work)
			if s.asked[c][k] {
				if !copied {
					mine, copied = slices.Clone(mine), true
				}
				mine[k] = at
			}
		}
		earliest = append(earliest, mine)
		ends = append(ends, at)
		if st.next[c] < len(ch.Tasks) {
			b = b.plus(s.p, ch, at)
		}
	}
	return b
}

// together is when several chains can all have ended at the earliest, by what
// each crew still has to do for them: one hand alone by the preemptive
// schedule of the longest tail first (Jackson; Carlier 1982), several by their
// work divided evenly.
func (s *search) together(st *state, after []After) int64 {
	type op struct{ head, work, tail int64 }
	latest := int64(0)
	for crew := range s.p.Crews {
		var ops []op
		n := int64(len(s.p.Crews[crew].Hands))
		for _, a := range after {
			ch := &s.p.Chains[a.Chain]
			head := max(st.ended[a.Chain], st.t)
			for k := st.next[a.Chain]; k <= a.Task; k++ {
				t := &ch.Tasks[k]
				for i := range t.Wait {
					if t.Wait[i].From == 0 && t.Wait[i].Past <= 1 {
						head += t.Wait[i].Need
					}
				}
				if t.Crew == crew && t.Hands > 0 {
					tail := int64(0)
					for j := k + 1; j <= a.Task; j++ {
						tail += ch.Tasks[j].Work
					}
					ops = append(ops, op{max(head, t.Ready), t.Work * min(int64(t.Hands), n) / n, tail})
				}
				head += t.Work
			}
		}
		if len(ops) == 0 {
			continue
		}
		slices.SortFunc(ops, func(a, b op) int { return cmp.Compare(a.head, b.head) })
		at, i, most := ops[0].head, 0, int64(0)
		var ready []op
		for i < len(ops) || len(ready) > 0 {
			for i < len(ops) && ops[i].head <= at {
				ready = append(ready, ops[i])
				i++
			}
			if len(ready) == 0 {
				at = ops[i].head
				continue
			}
			k := 0
			for j := range ready {
				if ready[j].tail > ready[k].tail {
					k = j
				}
			}
			step := ready[k].work
			if i < len(ops) {
				step = min(step, ops[i].head-at)
			}
			at += step
			if ready[k].work -= step; ready[k].work == 0 {
				most = max(most, at+ready[k].tail)
				ready = slices.Delete(ready, k, k+1)
			}
		}
		latest = max(latest, most)
	}
	return latest
}

// done says whether everything is placed.
func (s *search) done(st *state) bool {
	for c := range s.p.Chains {
		if st.next[c] < len(s.p.Chains[c].Tasks) {
			return false
		}
	}
	return true
}

func (s *search) keep(st *state) {
	if st.cost.less(s.best) || s.moves == nil {
		s.best, s.moves = st.cost, st.moves
	}
}

// swap tries orders of precedence, from the earliest promise first on, and
// keeps what does better: two vehicles change places, again and again. The
// chances are the same in every run.
func (s *search) swap(start *state) {
	n := len(s.p.Chains)
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(due(&s.p.Chains[a]), due(&s.p.Chains[b])) })
	rank := make([]int, n)
	rate := func() cost {
		for i, c := range order {
			rank[c] = i
		}
		best := cost{never, never}
		for _, share := range []int64{0, 1} {
			if st := s.precede(start, rank, share); st != nil && st.cost.less(best) {
				s.keep(st)
				best = st.cost
			}
		}
		return best
	}
	best := rate()
	r := rand.New(rand.NewPCG(1, 1))
	for range orders {
		i, k := r.IntN(n), r.IntN(n)
		order[i], order[k] = order[k], order[i]
		if c := rate(); best.less(c) {
			order[i], order[k] = order[k], order[i]
		} else {
			best = c
		}
	}
}

func due(c *Chain) int64 {
	if c.Due == 0 {
		return never
	}
	return c.Due
}

// precede builds one schedule: of the tasks that could begin next, that of the
// vehicle with the lowest rank; of those that could begin at once (share 0), or
// of all that begin before another could have ended (share 1).
func (s *search) precede(st *state, rank []int, share int64) *state {
	for !s.done(st) {
		places := s.places(st)
		if len(places) == 0 {
			return nil
		}
		first, ended := never, never
		for _, pl := range places {
			first, ended = min(first, pl.from), min(ended, pl.to)
		}
		latest := first + share*max(0, ended-first)
		best := -1
		for i, pl := range places {
			if pl.from <= latest && (best < 0 || rank[pl.chain] < rank[places[best].chain] ||
				rank[pl.chain] == rank[places[best].chain] && pl.from < places[best].from) {
				best = i
			}
		}
		st = s.after(st, places[best])
	}
	return st
}

// better orders states by what they promise.
func better(a, b *state) int {
	return cmp.Or(cmp.Compare(a.bound.late, b.bound.late), cmp.Compare(a.bound.sum, b.bound.sum), cmp.Compare(a.t, b.t))
}

// beam goes forward with the best partial schedules beside each other.
func (s *search) beam(start *state) {
	level := []*state{start}
	for !s.done(level[0]) {
		var next []*state
		alike := map[string]bool{}
		for _, st := range level {
			for _, pl := range s.places(st) {
				s.nodes++
				n := s.put(st, pl)
				key := s.key(n) + string(bytesOf(s.vector(n)))
				if !alike[key] {
					alike[key] = true
					next = append(next, n)
				}
			}
		}
		if len(next) == 0 {
			return // each waits for another; the exact search looks further
		}
		slices.SortStableFunc(next, better)
		level = next[:min(len(next), beamWidth)]
	}
	for _, st := range level {
		s.keep(st)
	}
}

// deepen is the exact search; false if it gave up.
func (s *search) deepen(st *state) bool {
	if s.done(st) {
		s.keep(st)
		return true
	}
	var next []*state
	for _, pl := range s.places(st) {
		if s.nodes++; s.nodes > s.budget {
			return false
		}
		if n := s.put(st, pl); n.bound.less(s.best) && !s.dominated(n) {
			next = append(next, n)
		}
	}
	slices.SortStableFunc(next, better)
	for _, n := range next {
		if n.bound.less(s.best) && !s.deepen(n) {
			return false
		}
	}
	return true
}

// key names the tasks that a state has placed, and where vehicles stand.
func (s *search) key(st *state) string {
	b := make([]byte, 0, 2*len(st.next))
	for c := range st.next {
		b = append(b, byte(st.next[c]), byte(st.bay[c]+1))
	}
	return string(b)
}

// vector is everything that the rest of a schedule depends on, each number no
// worse when it is smaller.
func (s *search) vector(st *state) []int64 {
	v := make([]int64, 0, 64)
	v = append(v, st.t, st.cost.late, st.cost.sum)
	for c := range s.p.Chains {
		if st.next[c] < len(s.p.Chains[c].Tasks) {
			v = append(v, st.ended[c])
		}
		for k, asked := range s.asked[c] {
			if asked {
				v = append(v, max(st.t, st.ends[c][k]))
			}
		}
	}
	v = append(v, st.free...) // hours may have passed there before t
	for crew := range s.p.Crews {
		from := len(v)
		for _, r := range st.run {
			if r.crew == crew {
				for range r.hands {
					v = append(v, r.end)
				}
			}
		}
		for len(v)-from < len(s.p.Crews[crew].Hands) {
			v = append(v, st.t)
		}
		slices.Sort(v[from:])
	}
	for _, b := range s.p.Bays {
		for nature := Wet; nature <= Wiped; nature <<= 1 {
			end := st.t
			for _, r := range st.run {
				if r.air == b.Air && r.nature&nature != 0 {
					end = max(end, r.end)
				}
			}
			v = append(v, end)
		}
	}
	return v
}

func bytesOf(v []int64) []byte {
	b := make([]byte, 0, 8*len(v))
	for _, x := range v {
		for i := range 8 {
			b = append(b, byte(x>>(8*i)))
		}
	}
	return b
}

// dominated says whether the same tasks were placed before with nothing later,
// and remembers the state otherwise.
func (s *search) dominated(st *state) bool {
	key, v := s.key(st), s.vector(st)
	kept := s.seen[key]
	for _, k := range kept {
		if noLater(k, v) {
			return true
		}
	}
	kept = slices.DeleteFunc(kept, func(k []int64) bool { return noLater(v, k) })
	if len(kept) < mostKept {
		kept = append(kept, v)
	}
	s.seen[key] = kept
	return false
}

func noLater(a, b []int64) bool {
	for i := range a {
		if a[i] > b[i] {
			return false
		}
	}
	return true
}
