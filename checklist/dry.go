package checklist

// iv is a stretch of time.
type iv struct{ from, to int64 }

// drying is what the readings of one zone and the climate around it say about
// hours that count. It does not depend on now.
type drying struct {
	zone   string
	rest   bool // of the whole vehicle at rest, see release.go
	rules  *limits
	dirty  int64 // from here on it must be counted again; forever: it stands
	layout uint64
	places []placeVersion // where it stood, and the climate it was counted in

	counted []iv        // conditions met, closed by a later reading of the coldest spot
	guessed []iv        // conditions met as far as anybody knows, not closed yet
	known   int64       // end of the last closed time
	spots   []*spotDews // by spot of the zone
	sweats  []event     // two readings running below the dew point, or more
	once    *below      // the last reading of a spot, alone below the dew point
}

type placeVersion struct {
	id      ID
	version uint64
}

// below is a surface reading under the dew point of the air then.
type below struct {
	spot       string
	value, dew int32
	act        Span
	newest     bool
}

// drying returns the hours of a zone, counted again only from where something
// has come that they depend on.
func (v *view) drying(zone string) *drying { return v.hoursOf(zone, false) }

func (v *view) hoursOf(zone string, rest bool) *drying {
	d := v.job.dryingOf(zone, rest, v.limits)
	from := d.dirty
	if d.layout != v.shop.layout || len(d.places) != len(v.stays) {
		from = always
	}
	for i := range v.stays {
		p := v.shop.place(v.stays[i].place)
		switch {
		case from == always:
		case d.places[i].id != p.id:
			from = always
		case d.places[i].version != p.version:
			from = min(from, p.since(d.places[i].version))
		}
	}
	if from == forever {
		return d
	}
	v.count(d, from)
	d.dirty, d.layout, d.places = forever, v.shop.layout, d.places[:0]
	for i := range v.stays {
		p := v.shop.place(v.stays[i].place)
		d.places = append(d.places, placeVersion{p.id, p.version})
	}
	return d
}

func (j *job) dryingOf(zone string, rest bool, l *limits) *drying {
	for _, d := range j.dryings {
		if d.zone == zone && d.rest == rest && d.rules == l {
			return d
		}
	}
	d := &drying{zone: zone, rest: rest, rules: l, dirty: always}
	j.dryings = append(j.dryings, d)
	return d
}

// sweats returns the times at which a zone got wet with dew.
func (v *view) sweats(zone string) []event { return v.drying(zone).sweats }

// count counts the hours of a zone from a moment on; what was counted before
// it stands.
func (v *view) count(d *drying, from int64) {
	spots := v.spotsOf(d.zone)
	if d.rest {
		spots = v.allSpots()
	}
	lows := v.lows(spots, from)
	d.counted = until(d.counted, from)
	d.guessed = until(d.guessed, from)
	d.known = min(d.known, max(from, 0))
	for i := range lows {
		if lows[i].closed {
			d.known = max(d.known, lows[i].to)
		}
	}
	for i := range v.stays {
		st := &v.stays[i]
		if st.sort != "bay" && !d.rest || len(lows) == 0 || st.to.Latest <= from {
			continue
		}
		series := v.shop.climate(st.place, v.limits)
		f, t := max(st.from.Latest, from), st.to.Earliest
		d.counted = v.hours(d, d.counted, series, lows, f, t, true)
		d.guessed = v.hours(d, d.guessed, series, lows, f, t, false)
		// At an uncertain edge the vehicle stood here or there: an hour counts
		// only if it counts in both.
		if i+1 < len(v.stays) && st.to.Earliest < st.to.Latest && (v.stays[i+1].sort == "bay" || d.rest) {
			f = max(st.to.Earliest, from)
			a := v.hours(d, nil, series, lows, f, st.to.Latest, true)
			next := v.shop.climate(v.stays[i+1].place, v.limits)
			b := v.hours(d, nil, next, lows, f, st.to.Latest, true)
			d.counted = append(d.counted, meet(a, b)...)
		}
	}
	for i := range v.happened {
		if e := &v.happened[i]; e.row.Dry == DryPauses && e.hits(&v.open, "", d.zone) {
			end := e.end
			if d.rest && !e.row.Lasts {
				end = v.readAfter(end)
			}
			d.counted = without(d.counted, e.start.Earliest, end)
			d.guessed = without(d.guessed, e.start.Earliest, end)
		}
	}
	if d.rest {
		return
	}
	v.sweating(d, spots, from)
}

// until cuts a list off at a moment.
func until(a []iv, t int64) []iv {
	for len(a) > 0 && a[len(a)-1].from >= t {
		a = a[:len(a)-1]
	}
	if n := len(a); n > 0 {
		a[n-1].to = min(a[n-1].to, t)
	}
	return a
}

// hours appends to out the times in [from, to) at which an hour counts: the
// coldest spot warm enough and far enough above the dew point, the air dry
// enough, and both known.
//
// What the register says that an instrument is off by is not taken off here. Of
// what keeps a hidden seam wet, the dew point is the one that turns drying around,
// and the 3 K above it hold the error of probe and hygrometer once already (1.0
// and 1.2 K by hand, 0.5 and 0.8 K taped on: common practice, from memory; either
// that or the error, not both, or nothing ever opens). Floor and humidity say how
// fast it dries, not whether; an error there makes an hour a little longer or
// shorter, and the sweat test, the card strips and the reading that opens the
// window, which takes the error off, come after it. And two readings under the dew
// point start it over as they were read: with the error added a vehicle near it
// would be sent back by its instrument and not by water.
func (v *view) hours(d *drying, out []iv, series []stretch, lows []low, from, to int64, closed bool) []iv {
	if d.rest {
		return v.warm(out, series, lows, from, to, closed)
	}
	l := v.limits
	i, k := firstAfter(series, from), 0
	for k < len(lows) && lows[k].to <= from {
		k++
	}
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

// spotDews are the readings of one spot judged against the dew point of the
// air then.
type spotDews struct {
	spot   string
	under  []bool  // by reading
	sweats []event // runs of two or more
}

// sweating finds readings below the dew point of the air then. Two running, of
// one spot, and the zone starts from zero; one alone asks for another.
func (v *view) sweating(d *drying, spots []*spotReads, from int64) {
	row := setbackRow("sweat")
	d.sweats, d.once = d.sweats[:0], nil
	for _, s := range spots {
		w := d.dewsOf(s.spot)
		i := w.again(s.reads, from)
		var run below
		n, last := 0, -1
		for ; i < len(s.reads); i++ {
			r := s.reads[i]
			dew, ok := v.dewAt(r.e.act)
			under := ok && r.value < dew
			w.under = append(w.under, under)
			if !under {
				continue
			}
			if last >= 0 && w.parted(s.reads, last, r.e.act.Earliest) {
				n = 0
			}
			if n++; n == 1 {
				run = below{spot: s.spot, act: r.e.act}
			}
			last, run.value, run.dew, run.newest = i, r.value, dew, i == len(s.reads)-1
			if n == 2 {
				w.sweats = append(w.sweats, event{row: row, start: run.act, zones: []string{d.zone}})
			}
			if n >= 2 {
				run.act = r.e.act
				x := &w.sweats[len(w.sweats)-1]
				x.end, x.wet = r.e.act.Latest, run
			}
		}
		for _, k := range s.young() {
			if w.under[k] {
				r := s.reads[k]
				dew, _ := v.dewAt(r.e.act)
				d.once = &below{spot: s.spot, value: r.value, dew: dew, act: r.e.act, newest: true}
			}
		}
		d.sweats = append(d.sweats, w.sweats...)
	}
}

// parted says whether a reading above the dew point came surely between the
// one at i and a moment after it.
func (w *spotDews) parted(reads []read, i int, before int64) bool {
	for k := i + 1; k < len(w.under) && k < len(reads); k++ {
		if !w.under[k] && reads[k].e.act.Earliest >= reads[i].e.act.Latest && reads[k].e.act.Latest <= before {
			return true
		}
	}
	return false
}

// again cuts what was judged back to where it must be judged again, and
// returns the index of that reading: the first that has changed, or the
// beginning of the run that it may belong to.
func (w *spotDews) again(reads []read, from int64) int {
	i := min(len(w.under), firstRead(reads, from))
	w.under = w.under[:i]
	early := from
	for _, r := range reads[i:] {
		early = min(early, r.e.act.Earliest)
	}
	for last := i - 1; last >= 0; last-- {
		if w.under[last] {
			if w.parted(reads, last, early) {
				break
			}
			i = last // and the run before it, if it is one with it
			early = min(early, reads[last].e.act.Earliest)
		}
	}
	w.under = w.under[:i]
	for n := len(w.sweats); n > 0 && i < len(reads) && w.sweats[n-1].end >= reads[i].e.act.Latest; n-- {
		w.sweats = w.sweats[:n-1]
	}
	return i
}

func (d *drying) dewsOf(spot string) *spotDews {
	for _, w := range d.spots {
		if w.spot == spot {
			return w
		}
	}
	w := &spotDews{spot: spot}
	d.spots = append(d.spots, w)
	return w
}

// firstRead returns the index of the first reading that may have been made at
// a moment or later.
func firstRead(reads []read, from int64) int {
	i := len(reads)
	for i > 0 && reads[i-1].e.act.Latest >= from {
		i--
	}
	return i
}

// dewAt returns the highest dew point of the air around the vehicle during an
// interval; ok is false if nobody knows it.
func (v *view) dewAt(act Span) (int32, bool) {
	a, ok := v.airAt(act)
	return a.dewMost, ok
}

// airAt returns the worst of the air around the vehicle during an interval; ok
// is false if nobody knows it.
func (v *view) airAt(act Span) (a stretch, ok bool) {
	for i := range v.stays {
		st := &v.stays[i]
		if st.from.Earliest > act.Latest || st.to.Latest <= act.Earliest {
			continue
		}
		from, to := max(act.Earliest, st.from.Earliest), min(act.Latest, st.to.Latest)
		series := v.shop.climate(st.place, v.limits)
		// The stretch that ends at a moment knows it, not the one after it.
		for k := firstAfter(series, from-1); k < len(series) && (series[k].from < to || series[k].from == from); k++ {
			if ok {
				a = a.worse(series[k])
			} else {
				a, ok = series[k], true
			}
			if series[k].to >= to {
				break
			}
		}
	}
	return a, ok
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
