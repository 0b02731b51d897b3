package lead

import (
	"math"

	"bayhold/checklist"
)

// How fast a vehicle's coldest spot follows the air is learnt from its own
// readings since it stands where it stands: of all time constants the one whose
// run through the air as it was comes closest to them, and as its range those that
// come close enough (the profile of the sum of squares against Fisher's F, as in
// package warmup, which does the same for air that stands still). Until the spot
// has moved enough to tell, the usual ones hold.
//
// A vehicle is not one mass, and what was learnt while its skin warmed is too kind
// for what is behind it: so the unkind end keeps the usual stretch.

const (
	paceBack  = 12 * hour
	paceLeast = 40 * minute // of readings, at least
	paceMoved = 2.0         // K that the spot must have moved
	paceNoise = 0.3         // K of scatter at least, as a good probe has
	paceSlack = 1.25        // of the unkind end
)

// pace is how fast a vehicle's coldest spot follows the air, in hours.
func (l *Look) pace(v *vehicle, spot string) [3]float64 {
	key := paceKey{v.ID, spot}
	p, ok := l.paces[key]
	if !ok {
		p = l.learnPace(v, spot)
		l.paces[key] = p
	}
	return p
}

type paceKey struct {
	job  checklist.ID
	spot string
}

// readAt is a spot at a moment, in C.
type readAt struct {
	at int64
	c  float64
}

func (l *Look) learnPace(v *vehicle, spot string) [3]float64 {
	since := l.Now.Latest - paceBack
	if s := l.Shop.Stays(v.ID); len(s) > 0 {
		since = max(since, s[len(s)-1].From.Latest)
	}
	var reads []readAt
	lines := l.Shop.Lines(v.ID, 0)
	for i := len(lines) - 1; i >= 0; i-- { // the oldest first
		r, ok := lines[i].Body.(checklist.Reading)
		at := lines[i].Span.Latest
		if !ok || lines[i].Struck || at < since || at > l.Now.Latest || len(reads) > 0 && at <= reads[len(reads)-1].at {
			continue
		}
		for _, x := range r.Values {
			if x.Spot == spot {
				reads = append(reads, readAt{at, float64(x.Surface) / 1000})
				break
			}
		}
	}
	if tau, ok := paceOf(reads, l.Shop.AirHistory(v.Place, since-hour)); ok {
		return tau
	}
	return tau
}

// paceOf fits a time constant; ok is false where the readings do not tell one.
func paceOf(reads []readAt, air []checklist.AirAt) (out [3]float64, ok bool) {
	n := len(reads)
	if n < 3 || reads[n-1].at-reads[0].at < paceLeast || len(air) < 2 {
		return out, false
	}
	low, high := reads[0].c, reads[0].c
	for _, r := range reads {
		low, high = min(low, r.c), max(high, r.c)
	}
	if high-low < paceMoved {
		return out, false
	}
	const steps = 60
	var taus, miss [steps]float64
	best := 0
	for k := range steps {
		taus[k] = math.Exp(float64(k)/(steps-1)*math.Log(15/0.5)) * 0.5 // 0.5 to 15 h
		miss[k] = missOf(reads, air, taus[k])
		if miss[k] < miss[best] {
			best = k
		}
	}
	if math.IsNaN(miss[best]) || best == 0 || best == steps-1 {
		return out, false
	}
	// F(1, n) is about four at 95 % from ten readings on; fewer than that are
	// too few to be sure of it, and get what F(1, 2) has.
	f := 4.0
	if n < 10 {
		f = 18.5
	}
	most := max(miss[best], float64(n)*paceNoise*paceNoise) * (1 + f/float64(n))
	from, to := best, best
	for from > 0 && miss[from-1] <= most {
		from--
	}
	for to < steps-1 && miss[to+1] <= most {
		to++
	}
	if from == 0 || to == steps-1 {
		return out, false
	}
	return [3]float64{kind: taus[from], mid: taus[best], unkind: paceSlack * taus[to]}, true
}

// missOf is the sum of squares of a run through the air from the first reading.
func missOf(reads []readAt, air []checklist.AirAt, tau float64) (sum float64) {
	c, k := reads[0].c, 0
	for i := 1; i < len(reads); i++ {
		for t := reads[i-1].at; t < reads[i].at; t += step {
			end := min(t+step, reads[i].at)
			for k+1 < len(air) && air[k+1].At <= (t+end)/2 {
				k++
			}
			a := float64(air[k].Air) / 1000
			c = a + (c-a)*math.Exp(-float64(end-t)/float64(hour)/tau)
		}
		sum += (c - reads[i].c) * (c - reads[i].c)
	}
	return sum
}
