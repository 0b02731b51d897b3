package checklist

// iv is a stretch of time.
type iv struct{ from, to int64 }

// drying is what the readings of one zone and the climate around it say about
// hours that count. It does not depend on now.
type drying struct {
	zone    string
	rules   *limits
	version uint64 // of the job
	air     uint64
	climate uint64 // of the places it stood in

	counted []iv    // conditions met, closed by a later reading of the coldest spot
	guessed []iv    // conditions met as far as anybody knows, not closed yet
	known   int64   // end of the last closed time
	sweats  []event // two readings running below the dew point, or more
	once    *below  // the last reading of a spot, alone below the dew point
}

// below is a surface reading under the dew point of the air then.
type below struct {
	spot         string
	value, dew   int32
	act          Span
	runs, newest bool
}

// drying returns the hours of a zone, counted again only when something has
// come that they depend on.
func (v *view) drying(zone string) *drying {
	var climate uint64
	for i := range v.stays {
		climate += v.shop.place(v.stays[i].place).version
	}
	for i := range v.job.dryings {
		d := &v.job.dryings[i]
		if d.zone == zone && d.rules == v.limits {
			if d.version != v.job.version || d.air != v.shop.air || d.climate != climate {
				*d = v.count(zone)
				d.climate = climate
			}
			return d
		}
	}
	d := v.count(zone)
	d.climate = climate
	v.job.dryings = append(v.job.dryings, d)
	return &v.job.dryings[len(v.job.dryings)-1]
}

// sweats returns the times at which a zone got wet with dew.
func (v *view) sweats(zone string) []event { return v.drying(zone).sweats }

func (v *view) count(zone string) drying {
	d := drying{zone: zone, rules: v.limits, version: v.job.version, air: v.shop.air}
	spots := v.spotsOf(zone)
	lows := v.lows(spots)
	for i := range lows {
		if lows[i].closed {
			d.known = max(d.known, lows[i].to)
		}
	}
	for i := range v.stays {
		st := &v.stays[i]
		if st.sort != "bay" || len(lows) == 0 {
			continue
		}
		series := v.shop.climate(st.place, v.limits)
		from, to := st.from.Latest, st.to.Earliest
		d.counted = v.hours(d.counted, series, lows, from, to, true)
		d.guessed = v.hours(d.guessed, series, lows, from, to, false)
		// At an uncertain edge the vehicle stood here or there: an hour counts
		// only if it counts in both.
		if i+1 < len(v.stays) && st.to.Earliest < st.to.Latest && v.stays[i+1].sort == "bay" {
			a := v.hours(nil, series, lows, st.to.Earliest, st.to.Latest, true)
			next := v.shop.climate(v.stays[i+1].place, v.limits)
			b := v.hours(nil, next, lows, st.to.Earliest, st.to.Latest, true)
			d.counted = append(d.counted, meet(a, b)...)
		}
	}
	for i := range v.happened {
		if e := &v.happened[i]; e.row.Dry == DryPauses && e.hits(&v.open, "", zone) {
			d.counted = without(d.counted, e.start.Earliest, e.end)
			d.guessed = without(d.guessed, e.start.Earliest, e.end)
		}
	}
	v.sweating(&d, spots)
	return d
}

// hours appends to out the times in [from, to) at which an hour counts: the
// coldest spot warm enough and far enough above the dew point, the air dry
// enough, and both known.
func (v *view) hours(out []iv, series []stretch, lows []low, from, to int64, closed bool) []iv {
	l := v.limits
	i, k := firstAfter(series, from), 0
	for i < len(series) && k < len(lows) {
		a, b := &series[i], &lows[k]
		f, t := max(a.from, b.from, from), min(a.to, b.to, to)
		if f < t && b.closed == closed &&
			int64(a.rhMost) <= l.dryRH && int64(b.value) >= l.dryFloor && int64(b.value)-int64(a.dewMost) >= l.margin {
			if n := len(out); n > 0 && out[n-1].to == f {
				out[n-1].to = t
			} else {
				out = append(out, iv{f, t})
			}
		}
		if a.from >= to || b.from >= to {
			break
		}
		if a.to < b.to {
			i++
		} else {
			k++
		}
	}
	return out
}

// firstAfter returns the index of the first stretch that ends after t.
func firstAfter(series []stretch, t int64) int {
	lo, hi := 0, len(series)
	for lo < hi {
		if m := (lo + hi) / 2; series[m].to > t {
			hi = m
		} else {
			lo = m + 1
		}
	}
	return lo
}

// sweating finds readings below the dew point of the air then. Two running, of
// one spot, and the zone starts from zero; one alone asks for another.
func (v *view) sweating(d *drying, spots []*spotReads) {
	row := setbackRow("sweat")
	for _, s := range spots {
		var run below
		n := 0
		for i, r := range s.reads {
			dew, ok := v.dewAt(r.e.act)
			if !ok || r.value >= dew {
				n = 0
				continue
			}
			n++
			if n == 1 {
				run = below{spot: s.spot, act: r.e.act}
			}
			run.value, run.dew, run.newest = r.value, dew, i == len(s.reads)-1
			switch {
			case n == 1 && run.newest:
				once := run
				d.once = &once
			case n == 2:
				d.sweats = append(d.sweats, event{row: row, start: run.act, end: r.e.act.Latest, zones: []string{d.zone}, wet: run})
			case n > 2:
				d.sweats[len(d.sweats)-1].end = r.e.act.Latest
			}
			if n >= 2 {
				run.act = r.e.act
				d.sweats[len(d.sweats)-1].wet = run
			}
		}
	}
}

// dewAt returns the highest dew point of the air around the vehicle during an
// interval; ok is false if nobody knows it.
func (v *view) dewAt(act Span) (int32, bool) {
	var dew int32
	ok := false
	for i := range v.stays {
		st := &v.stays[i]
		if st.from.Earliest > act.Latest || st.to.Latest <= act.Earliest {
			continue
		}
		series := v.shop.climate(st.place, v.limits)
		for _, t := range [...]int64{act.Earliest, act.Latest} {
			if a, known := at(series, t); known && t >= st.from.Earliest && t <= st.to.Latest {
				if !ok || a.dewMost > dew {
					dew, ok = a.dewMost, true
				}
			}
		}
	}
	return dew, ok
}

// meet returns the times in both lists.
func meet(a, b []iv) []iv {
	var out []iv
	for i, k := 0, 0; i < len(a) && k < len(b); {
		if f, t := max(a[i].from, b[k].from), min(a[i].to, b[k].to); f < t {
			out = append(out, iv{f, t})
		}
		if a[i].to < b[k].to {
			i++
		} else {
			k++
		}
	}
	return out
}

// without returns the times of a list outside [from, to).
func without(a []iv, from, to int64) []iv {
	var out []iv
	for _, x := range a {
		if x.from < from {
			out = append(out, iv{x.from, min(x.to, from)})
		}
		if x.to > to {
			out = append(out, iv{max(x.from, to), x.to})
		}
	}
	return out
}

// sum returns the length of a list from a moment on.
func sum(a []iv, from int64) int64 {
	var n int64
	for _, x := range a {
		if x.to > from {
			n += x.to - max(x.from, from)
		}
	}
	return n
}
