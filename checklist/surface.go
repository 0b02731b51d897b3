package checklist

import (
	"math"
	"slices"

	"bayhold/checklist/order"
)

// low is a stretch of time with the coldest surface that a zone can have had.
type low struct {
	from, to int64
	value    int32
	closed   bool  // a later reading of the coldest spot closes it
	gap      int64 // at most this long between the coldest spot's readings around it
}

// spotsOf returns the spots of a zone that have been read.
func (v *view) spotsOf(zone string) []*spotReads {
	var out []*spotReads
	for i := range v.open.Spots {
		if sp := &v.open.Spots[i]; sp.Zone == zone {
			if r := v.job.readsOf(sp.ID); r != nil && len(r.reads) > 0 {
				out = append(out, r)
			}
		}
	}
	return out
}

// last returns the newest reading of a spot, the lowest of several that nobody
// can put in order.
func (s *spotReads) last() read {
	low, _ := s.newest()
	return low
}

// newest returns the newest reading of a spot: of several by different writers
// at perhaps the same time, the lowest and the highest.
func (s *spotReads) newest() (low, high read) {
	for i, k := range s.young() {
		r := s.reads[k]
		if i == 0 || r.value < low.value {
			low = r
		}
		if i == 0 || r.value > high.value {
			high = r
		}
	}
	return low, high
}

// young returns the readings of which each may be the newest, the one with the
// latest moment first.
func (s *spotReads) young() []int {
	n := len(s.reads) - 1
	out := []int{n}
	surely := s.reads[n].e.act.Earliest // some reading is at least this young
	for k := n - 1; k >= 0 && s.reads[k].e.act.Latest >= surely; k-- {
		surely = max(surely, s.reads[k].e.act.Earliest)
	}
	for k := n - 1; k >= 0 && s.reads[k].e.act.Latest >= surely; k-- {
		if !s.repeated(k) {
			out = append(out, k)
		}
	}
	return out
}

// repeated says whether the writer of a reading has read the spot again.
func (s *spotReads) repeated(k int) bool {
	for _, r := range s.reads {
		if r.e.ID.Writer == s.reads[k].e.ID.Writer && r.e.ID.Seq > s.reads[k].e.ID.Seq {
			return true
		}
	}
	return false
}

func spotName(o *JobOpen, spot string) string {
	for i := range o.Spots {
		if o.Spots[i].ID == spot {
			return o.Spots[i].Name
		}
	}
	return spot
}

// lows returns the coldest surface of a zone over time. Between two readings
// of a spot the lower one holds; a reading whose moment is uncertain holds
// over all of it. A time is closed when the spot that was coldest at the
// reading before it has been read after it: until then what happened there is
// a guess. The last stretch has no end and is not closed. Times before since
// are left out.
func (v *view) lows(spots []*spotReads, since int64) []low {
	if len(spots) == 0 {
		return nil
	}
	// Boundaries: every edge of every reading's interval.
	first := len(v.job.readings)
	for first > 0 && v.job.readings[first-1].act.Latest >= since {
		first--
	}
	bounds := make([]int64, 1, 2*(len(v.job.readings)-first)+1)
	bounds[0] = since
	sorted := true
	for _, e := range v.job.readings[first:] {
		for _, t := range [...]int64{e.act.Earliest, e.act.Latest} {
			if last := bounds[len(bounds)-1]; t > since && t != last {
				sorted = sorted && last < t
				bounds = append(bounds, t)
			}
		}
	}
	if !sorted {
		order.Stable(bounds, func(a, b *int64) bool { return *a < *b })
		bounds = slices.Compact(bounds)
	}
	walks := make([]walk, len(spots))
	for i, s := range spots {
		walks[i] = newWalk(s.reads, firstRead(s.reads, since))
	}
	out := make([]low, 0, len(bounds))
	for i, from := range bounds {
		to := int64(forever)
		if i+1 < len(bounds) {
			to = bounds[i+1]
		}
		x := low{from: from, to: to, value: math.MaxInt32}
		coldest := int32(math.MaxInt32)
		for k := range walks {
			value, last, gap, known := walks[k].over(from, to)
			if !known {
				continue
			}
			x.value = min(x.value, value)
			if last < coldest {
				coldest, x.gap = last, gap
			} else if last == coldest {
				x.gap = max(x.gap, gap)
			}
			x.closed = x.gap < forever
		}
		if x.value != math.MaxInt32 {
			out = append(out, x)
		}
	}
	return out
}

// walk goes once along the readings of a spot.
type walk struct {
	reads    []read
	earliest []int64 // of the reading or any later one: never falls
	i        int     // readings before i were surely made
}

func newWalk(reads []read, first int) walk {
	w := walk{reads: reads, i: first}
	for k := len(reads) - 1; k > 0 && k >= first-1; k-- {
		if reads[k-1].e.act.Earliest > reads[k].e.act.Earliest {
			w.earliest = make([]int64, len(reads))
			least := int64(forever)
			for n := len(reads) - 1; n >= 0; n-- {
				least = min(least, reads[n].e.act.Earliest)
				w.earliest[n] = least
			}
			break
		}
	}
	return w
}

func (w *walk) early(k int) int64 {
	if w.earliest != nil {
		return w.earliest[k]
	}
	return w.reads[k].e.act.Earliest
}

// over returns the lowest value that the spot can have had between two
// neighbouring boundaries, its last value surely read before, and how long it
// was at most from that reading to the one that closes the time: forever while
// none does. Calls go forward in time.
func (w *walk) over(from, to int64) (value, last int32, gap int64, known bool) {
	for w.i < len(w.reads) && w.reads[w.i].e.act.Latest <= from {
		w.i++
	}
	if w.i == 0 {
		return 0, 0, 0, false
	}
	sure := w.reads[w.i-1]
	value, last = sure.value, sure.value
	for k := w.i - 2; k >= 0 && w.reads[k].e.act.Latest > w.early(w.i-1); k-- {
		value = min(value, w.reads[k].value)
	}
	// Whatever may be the next reading after it bounds the time as well.
	next := int64(forever)
	for k := w.i; k < len(w.reads) && w.early(k) <= next; k++ {
		r := w.reads[k]
		if r.e.act.Earliest > next {
			continue
		}
		value = min(value, r.value)
		if r.e.act.Earliest >= to {
			next = min(next, r.e.act.Latest)
		}
	}
	if next != forever {
		next -= sure.e.act.Earliest
	}
	return value, last, next, true
}
