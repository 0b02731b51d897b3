package record

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"bayhold/checklist"
)

// work is the time that the climate is shown for: from the first wash, or
// check-in, to hand-over, or now.
func (w *writer) work() (from, to int64) {
	from, to = 0, w.Now.Latest
	each(w, func(l *checklist.Line, b checklist.Tick) {
		if b.Stage == "wash" && (from == 0 || act(l) < from) {
			from = act(l)
		}
	})
	if from == 0 {
		from = w.job.Opened.Latest
	}
	if w.job.Closed != "" {
		to = min(to, w.job.ClosedAt.Latest)
	}
	return from, max(to, from+hour)
}

// silent is how long the air may go without a sample before the record says so:
// the shop's own number.
func (w *writer) silent() int64 { return max(w.rules["silence"], 10*minute) }

// stays are where the vehicle stood while it was worked on, cut to that time.
func (w *writer) stays() (out []checklist.Stay) {
	from, to := w.work()
	for _, s := range w.shop.Stays(w.Job) {
		if s.To.Latest == 0 {
			s.To = checklist.Span{Earliest: to, Latest: to}
		}
		if s.From.Latest < to && s.To.Latest > from {
			out = append(out, s)
		}
	}
	return out
}

// air is what was read of the air around the vehicle.
func (w *writer) air() (out []checklist.AirAt) {
	from, to := w.work()
	for _, s := range w.stays() {
		for _, a := range w.shop.AirHistory(s.Place, max(from, s.From.Latest)) {
			if a.At <= min(to, s.To.Latest) {
				out = append(out, a)
			}
		}
	}
	return out
}

// airGaps says where the air around the vehicle was not known.
func (w *writer) airGaps() (out Points) {
	from, to := w.work()
	for _, s := range w.stays() {
		begin, end := max(from, s.From.Latest), min(to, s.To.Latest)
		if end-begin < w.silent() {
			continue
		}
		last, unknown, longest := begin, int64(0), [2]int64{}
		gap := func(at int64) {
			if d := at - last; d > w.silent() && d > 2*hour {
				unknown += d
				if d > longest[1]-longest[0] {
					longest = [2]int64{last, at}
				}
			}
			last = at
		}
		read := false
		for _, a := range w.shop.AirHistory(s.Place, begin) {
			if a.At <= end {
				gap(a.At)
				read = true
			}
		}
		gap(end)
		switch {
		case !read:
			out = append(out, w.say(sayAirNever, w.place(s.Place), w.clock(begin), w.clock(end)))
		case unknown > 0:
			out = append(out, w.say(sayAirGaps, w.place(s.Place), length(unknown), w.clock(longest[0]), w.clock(longest[1])))
		}
	}
	return out
}

// climate is the air and the vehicle's surface from wash to release, with the
// window and the hours that counted.
func (w *writer) climate() Section {
	from, to := w.work()
	p := Plot{Title: w.say(sayPlotTitle), Unit: w.unit(), From: from, To: to, CountedName: w.say(sayCountedHours)}
	var air, dew, surface []Spot
	for _, a := range w.air() {
		air = append(air, Spot{a.At, w.degrees(int64(a.Air))})
		dew = append(dew, Spot{a.At, w.degrees(int64(a.Dew))})
	}
	each(w, func(l *checklist.Line, b checklist.Reading) {
		if at := act(l); b.Answer == "" && at >= from && at <= to && len(b.Values) > 0 {
			least := slices.MinFunc(b.Values, func(a, b checklist.SpotValue) int { return int(a.Surface) - int(b.Surface) })
			surface = append(surface, Spot{at, w.degrees(int64(least.Surface))})
		}
	})
	p.Curves = []Curve{{w.say(sayAir), false, air}, {w.say(sayDew), false, dew}, {w.say(sayColdest), true, surface}}
	floor, ceiling := w.rules["surface_floor"], w.rules["surface_ceiling"]
	p.Limits = []Limit{{w.say(sayFloorLine, w.temp(floor)), w.degrees(floor)}, {w.say(sayCeilingLine, w.temp(ceiling)), w.degrees(ceiling)}}
	if len(w.job.Zones) > 0 {
		counted, until := w.counted(w.job.Zones[len(w.job.Zones)-1])
		for _, c := range counted {
			if c[0] < until && c[1] > from {
				p.Counted = append(p.Counted, [2]int64{max(c[0], from), min(c[1], until, to)})
			}
		}
	}
	for t := w.local(from); ; {
		t = time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, w.Zone)
		if t.UnixMilli() >= to {
			break
		}
		p.Days = append(p.Days, Mark{t.UnixMilli(), number(int64(t.Day())) + " " + w.month(t)})
		t = t.AddDate(0, 0, 1)
	}
	happened, none := w.happened()
	for i, h := range happened {
		p.Marks = append(p.Marks, Mark{h.at, number(int64(i + 1))})
	}
	p.Alt = w.plotAlt(air, dew, surface, p.Counted, from, to)

	stays := Table{Title: w.say(sayStays), Head: w.heads(headPlaceName, headFrom, headTo, headAirRange, headHumidity, headDewMost)}
	for _, s := range w.stays() {
		begin, end := max(from, s.From.Latest), min(to, s.To.Latest)
		row := []string{w.place(s.Place), w.clock(begin), w.clock(end), w.say(sayNoReading), "", ""}
		var least, most, dampest, damp int32
		n := 0
		for _, a := range w.shop.AirHistory(s.Place, begin) {
			if a.At > end {
				continue
			}
			if n++; n == 1 {
				least, most, damp, dampest = a.Air, a.Air, a.RH, a.Dew
			}
			least, most, damp, dampest = min(least, a.Air), max(most, a.Air), max(damp, a.RH), max(dampest, a.Dew)
		}
		if n > 0 {
			row[3], row[4], row[5] = w.say(sayRange, w.temp(int64(least)), w.temp(int64(most))), w.say(sayAtMost, percent(int64(damp))), w.temp(int64(dampest))
		}
		stays.Rows = append(stays.Rows, row)
	}
	t := Table{Title: w.say(sayHappened), Head: w.heads(headNumber, headWhat, headPlaceName, headFrom, headTo, headNote, headWho)}
	for i, h := range happened {
		t.Rows = append(t.Rows, append([]string{number(int64(i + 1))}, h.row...))
	}
	var block Block = p
	if len(air)+len(surface) == 0 {
		block = Say(w.say(sayNoClimate))
	}
	return w.section("climate", sayClimate, block, Say(p.Alt), stays, t, none)
}

// event is something that happened to the air around the vehicle.
type event struct {
	at  int64
	row []string
}

// happened lists what happened to the air, and says what nobody reported.
func (w *writer) happened() (out []event, none Points) {
	from, to := w.work()
	door, heater := false, false
	for _, s := range w.stays() {
		for _, h := range w.shop.Happenings(s.Place) {
			if h.From > min(to, s.To.Latest) || h.To != 0 && h.To < max(from, s.From.Latest) {
				continue
			}
			door = door || h.Cause == "door-open"
			heater = heater || strings.HasPrefix(h.Cause, "heater")
			end := w.clock(h.To)
			if h.To == 0 {
				end = w.say(sayGoesOn)
			}
			e := event{h.From, []string{w.word("cause", h.Cause), w.place(h.Place), w.clock(h.From), end, h.Note, w.who(h.By)}}
			if !slices.ContainsFunc(out, func(x event) bool { return slices.Equal(x.row, e.row) }) {
				out = append(out, e)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b event) int { return int((a.at - b.at) / 1000) })
	if !door {
		none = append(none, w.say(sayNoDoor))
	}
	if !heater {
		none = append(none, w.say(sayNoHeater))
	}
	return out, none
}

// plotAlt says in words what the plot shows.
func (w *writer) plotAlt(air, dew, surface []Spot, counted [][2]int64, from, to int64) string {
	bounds := func(s []Spot) (string, string) {
		least, most := s[0].Value, s[0].Value
		for _, x := range s {
			least, most = min(least, x.Value), max(most, x.Value)
		}
		return tenth(least) + " " + w.unit(), tenth(most) + " " + w.unit()
	}
	out := []string{w.say(sayPlotSpan, w.clock(from), w.clock(to))}
	if len(air) > 0 {
		least, most := bounds(air)
		out = append(out, w.say(sayPlotAir, least, most))
		least, most = bounds(dew)
		out = append(out, w.say(sayPlotDew, least, most))
	}
	if len(surface) > 0 {
		least, most := bounds(surface)
		out = append(out, w.say(sayPlotSurface, least, most, number(int64(len(surface)))))
	}
	var sum int64
	for _, c := range counted {
		sum += c[1] - c[0]
	}
	if sum > 0 {
		out = append(out, w.say(sayPlotCounted, length(sum)))
	}
	return strings.Join(out, " ")
}

// most is how many rows of readings the record shows; all of them are in the
// folder's table.
const most = 120

// readings is every reading by hand with its dots and instrument; of a logger
// the coldest and warmest of each day.
func (w *writer) readings() Section {
	// A column for each dot, if they are few enough to stand side by side.
	t := Table{Title: w.say(sayByHand), Head: w.heads(headWhen)}
	var dots []string
	if len(w.open.Spots) <= 6 {
		for i, sp := range w.open.Spots {
			dots = append(dots, sp.ID)
			t.Head, t.Numbers = append(t.Head, w.spot(sp.ID)), append(t.Numbers, i+1)
		}
	} else {
		t.Head, t.Numbers = append(t.Head, w.heads(headSpot, headSurface)...), []int{2}
	}
	t.Head = append(t.Head, w.heads(headInstrument, headWho)...)
	type daily struct {
		day, spot   string
		least, most int32
		n           int64
	}
	var days []daily
	skipped := 0
	each(w, func(l *checklist.Line, b checklist.Reading) {
		if b.Instrument == "logger" {
			d := w.date(act(l))
			for _, v := range b.Values {
				i := slices.IndexFunc(days, func(x daily) bool { return x.day == d && x.spot == v.Spot })
				if i < 0 {
					days = append(days, daily{d, v.Spot, v.Surface, v.Surface, 0})
					i = len(days) - 1
				}
				days[i].least, days[i].most, days[i].n = min(days[i].least, v.Surface), max(days[i].most, v.Surface), days[i].n+1
			}
			return
		}
		with := cmp.Or(b.With, w.word("instrument", b.Instrument))
		switch b.Answer {
		case "not-measured":
			with = w.say(sayNotMeasuredOne)
		case "from-memory":
			with = w.say(sayMemoryOnly)
		}
		if len(t.Rows) >= most {
			skipped += max(1, len(b.Values))
			return
		}
		if dots != nil || len(b.Values) == 0 {
			row := make([]string, len(t.Head))
			row[0], row[len(row)-2], row[len(row)-1] = w.when(l), with, w.who(l.By)
			for _, v := range b.Values {
				if i := slices.Index(dots, v.Spot); i >= 0 {
					row[1+i] = w.temp(int64(v.Surface))
				}
			}
			t.Rows = append(t.Rows, row)
			return
		}
		for _, v := range b.Values {
			t.Rows = append(t.Rows, []string{w.when(l), w.spot(v.Spot), w.temp(int64(v.Surface)), with, w.who(l.By)})
		}
	})
	d := Table{Title: w.say(sayByLogger), Head: w.heads(headDay, headSpot, headColdest, headWarmest, headSamples), Numbers: []int{2, 3, 4}}
	for _, x := range days {
		d.Rows = append(d.Rows, []string{x.day, w.spot(x.spot), w.temp(int64(x.least)), w.temp(int64(x.most)), number(x.n)})
	}
	var more Say
	if skipped > 0 {
		more = Say(w.say(sayMoreReadings, number(int64(skipped))))
	}
	errors := Say(w.say(sayErrors, w.margin(w.rules["error_contact"]), w.margin(w.rules["error_infrared"]), w.margin(w.rules["error_logger"])))
	if len(t.Rows)+len(d.Rows) == 0 {
		return w.section("readings", sayReadings, Say(w.say(sayNoReadings)))
	}
	register, old := w.instruments()
	return w.section("readings", sayReadings, t, more, d, errors, register, old)
}

// instruments is what the readings were taken with, as the shop's register had
// it at the last of them, and which of them had not been checked for too long
// when they were read.
func (w *writer) instruments() (Table, Points) {
	t := Table{Title: w.say(sayRegister), Head: w.heads(headInstrument, headSort, headError, headChecked, headAgainst), Numbers: []int{2}}
	var names []string
	var old Points
	after := cmp.Or(w.rules["check_after"], checklist.DefaultRules()["check_after"]) // older sets have no such row
	each(w, func(l *checklist.Line, b checklist.Reading) {
		i, ok := w.shop.InstrumentAt(b.With, l.Span)
		if !ok {
			return
		}
		checked := w.say(sayNever)
		if i.Checked != 0 {
			checked = w.date(i.Checked)
		}
		row := []string{i.Name, w.word("instrument", i.Sort), w.margin(i.Error), checked, i.Against}
		k := slices.Index(names, i.Name)
		if k < 0 {
			k, names, t.Rows = len(names), append(names, i.Name), append(t.Rows, nil)
		}
		t.Rows[k] = row
		if late := w.say(sayCheckOld, i.Name, w.date(l.Span.Latest), checked); l.Span.Latest-i.Checked > after && !slices.Contains(old, late) {
			old = append(old, late)
		}
	})
	return t, old
}
