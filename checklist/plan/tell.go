package plan

import (
	"cmp"
	"slices"
)

// tell goes through the best decisions again and says why each task begins no
// earlier.
func (s *search) tell() *Plan {
	p := s.p
	out := &Plan{Bays: make([]int, len(p.Chains)), Ends: make([]int64, len(p.Chains)), Late: s.best.late}
	var placed []occupied
	st := s.start()
	last := make([]int, len(p.Bays)) // the vehicle that left a bay last
	for b := range last {
		last[b] = None
	}
	busy := make([][]int64, len(p.Crews)) // by hand: until when
	for i := range p.Crews {
		busy[i] = make([]int64, len(p.Crews[i].Hands))
	}
	with := make([]map[int]bool, len(p.Chains)) // who has worked on it
	for i := range with {
		with[i] = map[int]bool{}
	}
	for _, m := range s.moves {
		pl := s.at(st, m.chain, m.bay)
		ch := &p.Chains[m.chain]
		k := st.next[m.chain]
		t := &ch.Tasks[k]
		bar := Bar{Chain: m.chain, Task: k, Key: t.Key, Bay: m.bay, From: pl.from, To: pl.to, Need: t.Work, By: None}

		// The hours before it.
		at, air := st.ended[m.chain], None
		if m.bay != None {
			air = p.Bays[m.bay].Air
		}
		if k == 0 && ch.From > p.Now {
			bar.Reason = NotCome
		}
		if pl.claims && st.free[m.bay] > at {
			bar.Reason, bar.By, bar.Delay = BayTaken, last[m.bay], st.free[m.bay]-at
			at = st.free[m.bay]
		}
		for i := range t.Wait {
			w := &t.Wait[i]
			to := s.passed(w, m.chain, m.bay, at, k, st.ends[m.chain])
			wait := Bar{Chain: m.chain, Task: k, Key: w.Key, Wait: true, Bay: m.bay, From: at, To: to, Need: w.Need, By: None, Why: w.Why}
			if w.Past > 1 {
				wait.From = st.ends[m.chain][k-w.Past]
			} else if w.From != 0 {
				wait.From = w.From
			}
			if wait.From != at {
				own := *w
				own.From = wait.From
				wait.To = s.passed(&own, m.chain, m.bay, wait.From, k, nil)
			}
			if d := wait.To - wait.From - w.Need; d > 0 {
				wait.Reason, wait.Delay = Paused, d
			}
			if w.Need > 0 {
				out.Bars = append(out.Bars, wait)
			}
			at = to
		}
		for _, a := range t.After {
			if e := st.ends[a.Chain][a.Task]; e > at {
				bar.Reason, bar.By, bar.Delay = FilmFirst, a.Chain, e-at
				at = e
			}
		}
		if t.Ready > at {
			bar.Reason, bar.Delay, at = FilmFirst, t.Ready-at, t.Ready
		}
		open := s.cal.opens(at)
		if open < pl.from {
			if why, by, said := s.blocks(placed, t, air, m.chain, open, pl.from); why != Follows && pl.from-open >= bar.Delay {
				bar.Reason, bar.By, bar.Why, bar.Delay = why, by, said, pl.from-open
			}
		}
		if bar.Reason == Follows && open > at {
			bar.Reason, bar.Delay = Closed, open-at
		}
		if t.Hands > 0 && t.Work > 0 {
			bar.Who = s.who(busy[t.Crew], with[m.chain], t, pl)
		}
		out.Bars = append(out.Bars, bar)
		placed = append(placed, occupied{running{pl.to, t.Crew, t.Hands, air, t.Nature, m.chain}, pl.from})
		st = s.put(st, pl)
		if st.next[m.chain] == len(ch.Tasks) {
			out.Ends[m.chain], out.Bays[m.chain] = pl.to, m.bay
			if m.bay != None {
				last[m.bay] = m.chain
			}
		}
	}
	slices.SortStableFunc(out.Bars, func(a, b Bar) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.Chain, b.Chain))
	})
	return out
}

// occupied is work with its beginning.
type occupied struct {
	running
	from int64
}

// blocks says what kept a task from beginning at open: the work that took the
// most of the time until it began, in its air or of its crew.
func (s *search) blocks(placed []occupied, t *Task, air, chain int, open, began int64) (why Reason, by int, said string) {
	by, most := None, int64(0)
	for i := range placed {
		o := &placed[i]
		took := min(o.end, began) - max(o.from, open)
		if took <= most || o.chain == chain {
			continue
		}
		clash := ""
		for _, c := range Conflicts {
			if air >= 0 && o.air == air && (t.Nature&c.A != 0 && o.nature&c.B != 0 || t.Nature&c.B != 0 && o.nature&c.A != 0) {
				clash = c.Said
			}
		}
		switch {
		case clash != "":
			why, by, said, most = AirTaken, o.chain, clash, took
		case o.crew == t.Crew && o.hands > 0 && t.Hands > 0:
			why, by, said, most = NoHands, o.chain, "", took
		}
	}
	return why, by, said
}

// who gives a task its hands: those who know the vehicle before others.
func (s *search) who(busy []int64, knows map[int]bool, t *Task, pl place) []string {
	crew := &s.p.Crews[t.Crew]
	need := min(t.Hands, len(crew.Hands))
	var names []string
	for _, known := range []bool{true, false} {
		for h := range busy {
			if len(names) < need && busy[h] <= pl.from && knows[t.Crew<<16|h] == known {
				busy[h] = pl.to
				names = append(names, crew.Hands[h])
				defer func() { knows[t.Crew<<16|h] = true }()
			}
		}
	}
	return names
}

// Cause is what makes a vehicle late, or would first.
type Cause struct {
	Bar
	Slack int64 // ms between end and promise; less than 0: late
}

// Cause returns what cost a vehicle the most on its way to hand-over, the
// night aside. ok is false if nothing did: the work itself takes that long.
func (pl *Plan) Cause(p *Problem, chain int) (c Cause, ok bool) {
	if p.Chains[chain].Due != 0 {
		c.Slack = p.Chains[chain].Due - pl.Ends[chain]
	}
	for _, b := range pl.Bars {
		if b.Chain != chain || b.Reason == Follows || b.Reason == Closed || b.Delay < c.Delay || b.Delay == 0 {
			continue
		}
		c.Bar, ok = b, true
	}
	// Hours that were asked for again are a cause of their own.
	for _, b := range pl.Bars {
		if b.Chain == chain && b.Wait && b.Why != "" && b.Need > c.Delay {
			c.Bar, ok = b, true
			c.Delay = b.Need
		}
	}
	return c, ok
}
