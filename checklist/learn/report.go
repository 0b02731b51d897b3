package learn

import (
	"bytes"
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"bayhold/checklist"
	"bayhold/checklist/say"
)

// Report is what many jobs teach. Sentences hold the marks of a gate's.
type Report struct {
	Jobs, Running int
	Waits         []Wait
	Air           []Air
	Looks         []Found
	Compared      int // differences that were asked for
	Quick         []Asked
}

// Wait is how long vehicles stand at a step, and for what.
type Wait struct {
	Stage, Name string
	Spread      Spread
	Parts       []Part // all vehicles' together, longest first
	Say         string
}

// Air is a bay in a month: hours of drying and rest that were asked for and
// what became of them.
type Air struct {
	Place       checklist.ID
	Month       string
	Asked, Lost int64
	Parts       []Part // that did not count
	Say         string
}

// Found is what was found at an occasion to look.
type Found struct {
	Key, Name, What string
	All             Share
	Say             string
	By              []By
}

// By tells the same apart by a factor.
type By struct {
	Key, Name string
	Levels    []Level
}

// Level is one of several that a factor tells apart.
type Level struct {
	Name  string
	Share Share
	Say   string
	Than  *Difference // than all others of that factor; nil where there is no other
	Tells string
}

// Asked is a vehicle's record that cannot be true as it stands, as a question.
type Asked struct {
	Job   checklist.ID
	Label string
	Steps int
	At    int64
	Say   string
}

// Tell sums up jobs.
func Tell(jobs []One) Report {
	r := Report{Jobs: len(jobs)}
	for i := range jobs {
		if jobs[i].Ended == 0 {
			r.Running++
		}
	}
	r.Waits = waits(jobs)
	r.Air = airs(jobs)
	r.Looks, r.Compared = found(jobs)
	for i := range jobs {
		if j := &jobs[i]; j.Quick.Steps > 0 {
			r.Quick = append(r.Quick, Asked{j.Job, j.Label, j.Quick.Steps, j.Quick.At,
				strconv.Itoa(j.Quick.Steps) + " steps ticked within one minute, " + clock(j.Quick.At) + ". Filled in afterwards?"})
		}
	}
	slices.SortStableFunc(r.Quick, func(a, b Asked) int { return cmp.Compare(b.At, a.At) })
	return r
}

// waits tells of every step, the one that takes longest first.
func waits(jobs []One) []Wait {
	type sum struct {
		Wait
		times []Time
		ms    map[string]int64
	}
	by := map[string]*sum{}
	var order []*sum
	for i := range jobs {
		for _, s := range jobs[i].Stands {
			x := by[s.Stage]
			if x == nil {
				x = &sum{Wait: Wait{Stage: s.Stage, Name: s.Name}, ms: map[string]int64{}}
				by[s.Stage] = x
				order = append(order, x)
			}
			x.times = append(x.times, Time{s.Total(), s.Running})
			for _, p := range s.Parts {
				x.ms[p.Cause] += p.Ms
			}
		}
	}
	out := make([]Wait, 0, len(order))
	for _, x := range order {
		if x.Spread, x.Parts = SpreadOf(x.times), parts(x.ms); len(x.Parts) == 0 {
			continue // nobody ever waits there
		}
		x.Say = x.Spread.say()
		out = append(out, x.Wait)
	}
	slices.SortStableFunc(out, func(a, b Wait) int { return cmp.Compare(total(b.Parts), total(a.Parts)) })
	return out
}

func parts(ms map[string]int64) []Part {
	var out []Part
	for _, c := range Causes {
		if ms[c.Key] >= minute {
			out = append(out, Part{c.Key, ms[c.Key]})
		}
	}
	slices.SortStableFunc(out, func(a, b Part) int { return cmp.Compare(b.Ms, a.Ms) })
	return out
}

func total(parts []Part) (ms int64) {
	for _, p := range parts {
		ms += p.Ms
	}
	return ms
}

// say tells of times in a few words.
func (s Spread) say() string {
	out := ""
	switch {
	case !s.Known:
		out = "Too few are past it to say how long."
	case s.Low > 0 && s.High > 0:
		out = "Half took under " + length(s.Half) + "; the true half lies from " + length(s.Low) + " to " + length(s.High) + "."
	case s.Low > 0:
		out = "Half took under " + length(s.Half) + "; the true half is over " + length(s.Low) + "."
	default:
		out = "Half took under " + length(s.Half) + "; too few for a range."
	}
	if s.Running > 0 {
		running := strconv.Itoa(s.Running) + " still there, counted as longer than so far."
		out += " " + running
	}
	return out
}

func clock(ms int64) string { return "⟨t:" + strconv.FormatInt(ms, 10) + "⟩" }

func length(ms int64) string { return say.Minutes(float64(ms) / minute) }

// airs tells of bays, month by month.
func airs(jobs []One) []Air {
	type key struct {
		place checklist.ID
		month string
	}
	all := map[key]map[string]int64{}
	for i := range jobs {
		for _, h := range jobs[i].Hours {
			k := key{h.Place, h.Month}
			if all[k] == nil {
				all[k] = map[string]int64{}
			}
			all[k][h.Cause] += h.Ms
		}
	}
	var out []Air
	for k, ms := range all {
		a := Air{Place: k.place, Month: k.month}
		for _, n := range ms {
			a.Asked += n
		}
		a.Lost = a.Asked - ms[byHours]
		delete(ms, byHours)
		a.Parts = parts(ms)
		a.Say = length(a.Lost) + " of " + length(a.Asked) + " did not count."
		out = append(out, a)
	}
	slices.SortFunc(out, func(a, b Air) int {
		return cmp.Or(cmp.Compare(b.Month, a.Month), bytes.Compare(a.Place[:], b.Place[:]))
	})
	return out
}

// found tells what failed, and how many differences it asked for.
func found(jobs []One) ([]Found, int) {
	var trials []Trial
	for i := range jobs {
		trials = append(trials, jobs[i].Trials...)
	}
	var out []Found
	compared := 0
	for _, l := range Looks {
		f := Found{Key: l.Key, Name: l.Name, What: l.Fails}
		k, n := count(trials, l.Key, 0, "")
		f.All = ShareOf(k, n)
		f.Say = f.All.say(l)
		for factor, x := range Factors {
			by := By{Key: x.Key, Name: x.Name}
			for _, name := range levels(trials, l.Key, factor) {
				lk, ln := count(trials, l.Key, factor, name)
				level := Level{Name: name, Share: ShareOf(lk, ln)}
				if n-ln > 0 {
					level.Than = &Difference{}
					compared++
				}
				level.Say = level.Share.say(l)
				by.Levels = append(by.Levels, level)
			}
			if len(by.Levels) > 0 {
				f.By = append(f.By, by)
			}
		}
		out = append(out, f)
	}
	// Only now is known how many are asked of the same lines.
	for i := range out {
		f := &out[i]
		for b := range f.By {
			for k := range f.By[b].Levels {
				if x := &f.By[b].Levels[k]; x.Than != nil {
					*x.Than = DifferenceOf(x.Share, ShareOf(f.All.K-x.Share.K, f.All.N-x.Share.N), compared)
					x.Tells = x.Than.say()
				}
			}
		}
	}
	return out, compared
}

// count counts what was looked at on an occasion; of a level of a factor, or all
// if that is "".
func count(trials []Trial, look string, factor int, level string) (k, n int) {
	for i := range trials {
		t := &trials[i]
		if t.Look != look || level != "" && !slices.Contains(t.Of[factor], level) {
			continue
		}
		if n++; t.Failed {
			k++
		}
	}
	return k, n
}

// levels are what a factor tells apart, in a fixed order.
func levels(trials []Trial, look string, factor int) []string {
	var out []string
	for i := range trials {
		if trials[i].Look == look {
			for _, x := range trials[i].Of[factor] {
				out = with(out, x)
			}
		}
	}
	slices.SortFunc(out, func(a, b string) int { return cmp.Or(cmp.Compare(place(a), place(b)), cmp.Compare(a, b)) })
	return out
}

// place puts ranges of stretch in their order, and what was not measured last.
func place(level string) int {
	for i := range Bands {
		if Bands[i].Name == level {
			return i
		}
	}
	if level == notMeasured {
		return len(Bands)
	}
	return 0
}

// say tells a share: of so many, so many; and what that lets one expect.
func (s Share) say(l Look) string {
	many, k, n := upper(l.Many), strconv.Itoa(s.K), strconv.Itoa(s.N)
	switch {
	case s.N == 0:
		return "No " + l.One + " was looked at."
	case s.Few():
		return many + ": " + k + " of " + n + " failed, between " + percent(s.Low) + " and " + percent(s.High) + " in 100, too few to say more."
	}
	return many + ": " + k + " of " + n + " failed, between " + percent(s.Low) + " and " + percent(s.High) + " in 100."
}

// upper begins a sentence with a word of ours.
func upper(word string) string { return strings.ToUpper(word[:1]) + word[1:] }

// say tells a difference to all others, or that none can be told.
func (d Difference) say() string {
	switch {
	case d.Low > 0:
		return "Fails more often than the others, by " + percent(d.Low) + " to " + percent(d.High) + " in 100."
	case d.High < 0:
		return "Fails less often than the others, by " + percent(-d.High) + " to " + percent(-d.Low) + " in 100."
	}
	return "No difference to the others can be told."
}

func percent(share float64) string { return strconv.Itoa(int(math.Round(share * 100))) }
