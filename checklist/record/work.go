package record

import (
	"strings"
	"time"

	"bayhold/checklist"
)

func (w *writer) local(ms int64) time.Time { return time.UnixMilli(ms).In(w.Zone) }

// done is what was done on a panel to lay its film, each the last before.
type done struct {
	wiped, primed, began, laid *checklist.Line
	rewiped                    []*checklist.Line // while it was being laid
	heats                      []*checklist.Line
	read                       *surface // the coldest dot of its zone when laying began
	air                        *checklist.AirAt
	photo                      bool
}

// surface is one reading of one dot.
type surface struct {
	spot, instrument string
	value            int32
	at               int64
	line             *checklist.Line
}

// workOn gathers a panel's work. Where nobody tapped that laying began, it began
// when it ended.
func (w *writer) workOn(panel string) (d done) {
	var anew *checklist.Line // a wipe after it was laid: for film that is laid once more
	for i := range w.standing {
		l := &w.standing[i]
		switch b := l.Body.(type) {
		case checklist.Tick:
			if b.Panel != panel || b.Answer == "not-done" {
				continue
			}
			switch {
			case b.Stage == "wipe" && b.Answer != "started" && d.laid != nil:
				anew = l
			case b.Stage == "wipe" && b.Answer != "started" && d.began == nil:
				d.wiped = l
			case b.Stage == "wipe" && b.Answer != "started":
				d.rewiped = append(d.rewiped, l)
			case b.Stage == "primer" && b.Answer != "started":
				d.primed = l
			case b.Stage == "lay" && b.Answer == "started":
				if d.began, d.laid = l, nil; anew != nil {
					d.wiped, d.rewiped, anew = anew, nil, nil
				}
			case b.Stage == "lay":
				if d.laid = l; anew != nil {
					d.wiped, d.rewiped, d.began, anew = anew, nil, nil, nil
				}
			}
		case checklist.Heat:
			if b.Panel == panel && b.Answer != "not-measured" {
				d.heats = append(d.heats, l)
			}
		case checklist.Photo:
			d.photo = d.photo || b.Panel == panel
		}
	}
	if d.laid == nil {
		return d
	}
	if d.began == nil {
		d.began = d.laid
	}
	from := act(d.began)
	zone := w.zoneOf(panel)
	latest := map[string]surface{}
	each(w, func(l *checklist.Line, b checklist.Reading) {
		if b.Answer != "" || act(l) > from {
			return
		}
		for _, v := range b.Values {
			latest[v.Spot] = surface{v.Spot, b.Instrument, v.Surface, act(l), l}
		}
	})
	for _, s := range w.open.Spots {
		r, ok := latest[s.ID]
		if ok && (s.Zone == zone || zone == "") && (d.read == nil || r.value < d.read.value) {
			d.read = &r
		}
	}
	if d.read == nil { // no dot in its zone: the coldest of the vehicle
		for _, s := range w.open.Spots {
			if r, ok := latest[s.ID]; ok && (d.read == nil || r.value < d.read.value) {
				d.read = &r
			}
		}
	}
	for _, a := range w.shop.AirHistory(w.placeAt(from), from-hour) {
		if a.At <= from {
			d.air = &a
		}
	}
	return d
}

// placeAt is where the vehicle stood at a moment.
func (w *writer) placeAt(ms int64) (id checklist.ID) {
	for _, s := range w.shop.Stays(w.Job) {
		if s.From.Latest <= ms || id == (checklist.ID{}) {
			id = s.Place
		}
	}
	return id
}

// laying is when each panel was wiped, primed and laid, by whom, how warm it was.
func (w *writer) laying() Section {
	t := Table{Title: w.say(sayWipeAndLay), Head: w.heads(headPanel, headWiped, headPrimed, headBegan, headLaid, headWho)}
	r := Table{Title: w.say(sayAtLaying), Head: w.heads(headPanel, headSpot, headSurface, headInstrument, headRead, headAir, headDew), Numbers: []int{2, 6}}
	for i := range w.open.Panels {
		p := &w.open.Panels[i]
		d := w.workOn(p.ID)
		if d.laid == nil {
			t.Rows = append(t.Rows, []string{p.Name, "", "", "", w.say(sayNotLaid), ""})
			continue
		}
		began := w.say(sayNotTapped)
		if d.began != d.laid {
			began = w.when(d.began)
		}
		wiped := w.lineTime(d.wiped, sayNoWipe)
		for _, l := range d.rewiped {
			wiped += ", " + w.say(sayAgain, w.when(l))
		}
		t.Rows = append(t.Rows, []string{p.Name, wiped, w.lineTime(d.primed, sayDash), began, w.when(d.laid), w.who(d.laid.By)})
		row := []string{p.Name, w.say(sayNoReading), "", "", "", "", ""}
		if d.read != nil {
			row = []string{p.Name, w.spot(d.read.spot), w.temp(int64(d.read.value)), w.word("instrument", d.read.instrument), w.when(d.read.line), "", ""}
		}
		if row[5] = w.say(sayNoReading); d.air != nil {
			row[5], row[6] = w.temp(int64(d.air.Air))+", "+percent(int64(d.air.RH)), w.temp(int64(d.air.Dew))
		}
		r.Rows = append(r.Rows, row)
	}
	var ready Points
	each(w, func(l *checklist.Line, b checklist.Tick) {
		if b.Stage == "wash" && b.Answer == "done" {
			ready = append(ready, w.say(sayWashed, w.when(l), w.who(l.By)))
		}
	})
	if len(ready) == 0 {
		ready = Points{w.say(sayNoWash)}
	}
	ready = append(ready, w.dried()...)
	tests := w.evidence(sayTestsBefore, "blown-out", "card-strips", "sweat-test", "water-gone", "tape-pull", "palm-drag", "test-strip", "proof-plate")
	return w.section("laying", sayLaying, Sub(w.say(sayCleaning)), ready, tests, t, r, Say(w.say(sayCleaningNote)))
}

// counted is the times that counted for a zone's drying, and when that ended:
// with its first final wipe.
func (w *writer) counted(zone string) (times [][2]int64, until int64) {
	until = w.Now.Latest
	for i := range w.open.Panels {
		if p := &w.open.Panels[i]; p.Zone == zone {
			if d := w.workOn(p.ID); d.wiped != nil {
				until = min(until, act(d.wiped))
			}
		}
	}
	return w.shop.Counted(w.Job, zone, w.Now), until
}

// dried says how many hours counted in each zone until its first panel was wiped.
func (w *writer) dried() (out Points) {
	for _, z := range w.job.Zones {
		counted, until := w.counted(z)
		var sum, from int64
		for _, c := range counted {
			if c[0] < until {
				if from == 0 {
					from = c[0]
				}
				sum += min(c[1], until) - c[0]
			}
		}
		name := z
		if name == "" {
			name = w.say(sayVehicle)
		}
		if sum > 0 {
			out = append(out, w.say(sayDried, name, length(sum), w.clock(from), w.clock(until)))
		} else {
			out = append(out, w.say(sayNotDried, name))
		}
	}
	return out
}

func (w *writer) lineTime(l *checklist.Line, none text) string {
	if l == nil {
		return w.say(none)
	}
	return w.when(l)
}

// evidence is the tests of some kinds as a table.
func (w *writer) evidence(title text, what ...string) Block {
	t := Table{Title: w.say(title), Head: w.heads(headTest, headWhere, headResult, headWho, headWhen)}
	each(w, func(l *checklist.Line, b checklist.Evidence) {
		for _, k := range what {
			if k != b.What {
				continue
			}
			where := b.Zone
			if b.Panel != "" || where == "" {
				where = w.panel(b.Panel)
			}
			if b.Feature != "" && b.Feature != "cut" {
				where += ", " + w.feature(b.Panel, b.Feature)
			}
			t.Rows = append(t.Rows, []string{w.word("evidence", b.What), where, w.result(&b), w.who(l.By), w.when(l)})
		}
	})
	return t
}

func (w *writer) result(b *checklist.Evidence) string {
	var s string
	switch {
	case b.Passed:
		s = w.say(sayPassed)
	default:
		s = w.say(sayFailed)
	}
	switch {
	case b.Of > 0:
		s += ", " + w.say(sayCount, number(b.Count), number(b.Of))
	case b.Count > 0:
		s += ", " + number(b.Count)
	}
	if b.Note != "" {
		s += ", " + b.Note
	}
	return s
}

// feature is the name of a feature of a panel.
func (w *writer) feature(panel, id string) string {
	name := id
	each(w, func(_ *checklist.Line, b checklist.Feature) {
		if b.Panel == panel && b.ID == id {
			name = b.Name
		}
	})
	return name
}

// stretch is what each contour does to the film, where primer went, and what had
// to stay free.
func (w *writer) stretch() Section {
	t := Table{Title: w.say(sayStretchTable), Head: w.heads(headPanel, headFeature, headMeasures, headStretch, headLaidHow, headAdvice, headPlan)}
	var primer Points
	clear := Table{Title: w.say(sayKeepClear), Head: w.heads(headPanel, headFeature, headResult, headWho, headWhen)}
	seams := Table{Title: w.say(saySeams), Head: w.heads(headPanel, headUnder, headForce, headWho)}
	for i := range w.open.Panels {
		f, ok := w.shop.PanelFacts(w.Job, w.open.Panels[i].ID, w.Now)
		if !ok {
			continue
		}
		for k := range f.Features {
			x := &f.Features[k]
			switch x.Sort {
			case "keep-clear":
				row := []string{f.Name, x.Name, w.say(sayNobodyLooked), "", ""}
				each(w, func(l *checklist.Line, b checklist.Evidence) {
					if b.What == "keep-clear" && b.Panel == f.ID && b.Feature == x.Feature.ID {
						row[2], row[3], row[4] = w.say(sayStayedFree), w.who(l.By), w.when(l)
						if !b.Passed {
							row[2] = w.say(sayCovered)
						}
					}
				})
				clear.Rows = append(clear.Rows, row)
				continue
			case "surface":
				t.Rows = append(t.Rows, []string{f.Name, x.Name, w.word("surface", x.Shape), "", "", "", w.word("plan", x.Plan)})
				continue
			case "seam":
				if x.Under != "" {
					seams.Rows = append(seams.Rows, []string{f.Name, w.panel(x.Under), w.word("force", x.Force), w.who(x.By)})
				}
			}
			t.Rows = append(t.Rows, []string{f.Name, x.Name, w.measures(&x.Feature), w.stretched(x), w.word("laid", x.Laid), w.word("verdict", x.Verdict), w.word("plan", x.Plan)})
			if x.Primer != "" {
				primer = append(primer, w.say(sayPrimerAt, f.Name, x.Name, w.word("primer", x.Primer)))
			}
		}
		if f.Primer {
			primer = append(primer, w.say(sayPrimerPlanned, f.Name, w.lineTime(w.workOn(f.ID).primed, sayNoPrimer)))
		}
	}
	return w.section("stretch", sayStretch, t, Sub(w.say(sayPrimerMap)), w.orSay(primer, sayNoPrimerPlanned), seams,
		Sub(w.say(sayKeepClearList)), w.orTable(clear, sayNoKeepClear), w.evidence(sayGaps, "gap-cut"))
}

func (w *writer) orTable(t Table, none text) Block {
	if len(t.Rows) == 0 {
		return Say(w.say(none))
	}
	return t
}

func (w *writer) stretched(x *checklist.FeatureFacts) string {
	switch {
	case x.Sort == "gap" || x.Sort == "seam" || x.Sort == "flat":
		return ""
	case !x.Known:
		return w.say(sayNotMeasuredOne)
	case x.Laid == "floor-first" && x.Floor != "":
		return w.say(sayFloorFirst, x.Bridged, x.Floor)
	}
	return x.Bridged
}

func (w *writer) measures(f *checklist.Feature) string {
	var out []string
	add := func(t text, um int64) {
		if um != 0 {
			out = append(out, w.say(t, mm(um)))
		}
	}
	add(sayWide, f.Width)
	add(sayDeep, f.Depth)
	add(sayFloor, f.Floor)
	add(sayPath, f.Path)
	add(sayHalfWide, f.HalfWidth)
	add(sayHigh, f.Height)
	if f.Count != 0 {
		out = append(out, w.say(sayPieces, number(f.Count)))
	}
	if f.Length != 0 {
		out = append(out, metres(f.Length))
	}
	return strings.Join(out, ", ")
}

// heating is every stretch of post-heat.
func (w *writer) heating() Section {
	t := Table{Title: w.say(sayHeatTable), Head: w.heads(headPanel, headHeated, headTook, headFilmRead, headInstrument, headWho, headWhen)}
	each(w, func(l *checklist.Line, b checklist.Heat) {
		much := metres(b.Length)
		if b.Rivets > 0 {
			if much = w.say(sayPieces, number(b.Rivets)); b.Length > 0 {
				much = metres(b.Length) + ", " + much
			}
		}
		var films []string
		for _, f := range b.Films {
			films = append(films, w.temp(f))
		}
		read := strings.Join(films, ", ")
		if read == "" {
			read = w.say(sayNotMeasuredOne)
		}
		with := w.word("instrument", b.Instrument)
		if b.Emissivity != 0 {
			with += ", " + w.say(saySetTo, "0."+number(b.Emissivity/1000))
		}
		if b.Over != "" {
			much += ", " + w.say(sayOver, w.word("over", b.Over))
		}
		took := length(b.Took)
		if b.Guns > 1 {
			took += ", " + w.say(sayGuns, number(b.Guns))
		}
		t.Rows = append(t.Rows, []string{w.panel(b.Panel), much, took, read, with, w.who(l.By), w.when(l)})
	})
	return w.section("post-heat", sayHeating, w.orTable(t, sayNoHeat), w.evidence(sayLooks, "heat-look"))
}

// edges is how panels were cut, who looked along them, rest and the second look.
func (w *writer) edges() Section {
	t := Table{Title: w.say(sayEdgeTable), Head: w.heads(headPanel, headCut, headCutWhen, headLooked, headLookedWhen)}
	for i := range w.open.Panels {
		p := &w.open.Panels[i]
		row := []string{p.Name, w.say(sayNotCut), "", w.say(sayNobodyLooked), ""}
		var laidBy checklist.ID
		each(w, func(l *checklist.Line, b checklist.Tick) {
			if b.Panel != p.ID || b.Answer != "done" && b.Answer != "from-memory" {
				return
			}
			switch b.Stage {
			case "lay":
				laidBy = l.By
			case "trim":
				row[1], row[2] = w.word("cut", b.How)+", "+w.who(l.By), w.when(l)
			case "edge-check":
				row[3], row[4] = w.who(l.By), w.when(l)
				if l.By == laidBy {
					row[3] = w.say(saySameHand, row[3])
				}
			}
		})
		t.Rows = append(t.Rows, row)
	}
	var rest Points
	for i := range w.gates {
		if g := &w.gates[i]; g.Stage == "rest" && g.Needed > 0 {
			rest = append(rest, w.say(sayRested, length(g.Counted), length(g.Needed)))
		}
	}
	if w.shop.ReleasedEarly(w.Job) {
		rest = append(rest, w.say(sayEarly))
	}
	each(w, func(l *checklist.Line, b checklist.Evidence) {
		if b.What == "risen" {
			rest = append(rest, w.say(sayRisen, number(b.Count), number(b.Of), w.when(l), w.who(l.By)))
		}
	})
	each(w, func(l *checklist.Line, b checklist.Tick) {
		if b.Stage == "call-back" && b.Answer == "done" {
			rest = append(rest, w.say(sayCalledBack, w.when(l), w.who(l.By)))
		}
	})
	return w.section("edges", sayEdges, t, w.evidence(sayBlade, "blade-line"), Sub(w.say(sayRestAndLook)), w.orSay(rest, sayNoRest), w.evidence(sayTestsAfter, "risen", "trim-bags", "lamps", "hose-test"), w.spots())
}

// spoiled is what undid work on this vehicle.
func (w *writer) spoiled() Section {
	t := Table{Head: w.heads(headWhat, headWhere, headFrom, headTo, headNote, headWho)}
	each(w, func(l *checklist.Line, b checklist.Setback) {
		where := append([]string{}, b.Zones...)
		for _, p := range b.Panels {
			where = append(where, w.panel(p))
		}
		if len(where) == 0 {
			where = []string{w.say(sayVehicle)}
		}
		from := w.span(l.Span)
		if b.From != 0 {
			from = w.clock(b.From)
		}
		t.Rows = append(t.Rows, []string{w.word("cause", b.Cause), strings.Join(where, ", "), from, w.clock(b.To), b.Note, w.who(l.By)})
	})
	return w.section("spoiled", saySpoiled, w.orTable(t, sayNothingSpoiled))
}

// struck is the lines that somebody took back, and who did.
func (w *writer) struck() Section {
	t := Table{Head: w.heads(headLine, headWho, headWhen, headStruckBy, headStruckWhen)}
	for i := range w.lines {
		l := &w.lines[i]
		if !l.Struck || l.Body == nil {
			continue
		}
		row := []string{w.about(&l.Line), w.who(l.By), w.when(&l.Line), "", ""}
		for k := range w.lines {
			for _, id := range w.lines[k].Strikes {
				if id == l.ID && row[4] == "" {
					row[3], row[4] = w.who(w.lines[k].By), w.span(w.lines[k].Span)
				}
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return w.section("struck", sayStruck, w.orTable(t, sayNoneStruck))
}

// steps is every step in the order in which hands ticked it, and every note.
func (w *writer) steps() Section {
	t := Table{Head: w.heads(headWhen, headStep, headWhere, headWho, headNote)}
	for i := range w.standing {
		l := &w.standing[i]
		switch b := l.Body.(type) {
		case checklist.Tick:
			s := w.stage(b.Stage)
			switch b.Answer {
			case "started":
				s = w.say(sayBegun, s)
			case "not-done":
				s = w.say(sayTakenBack, s)
			}
			where := b.Zone
			if b.Panel != "" || where == "" {
				where = w.panel(b.Panel)
			}
			row := []string{w.when(l), s, where, w.who(l.By), b.Note}
			// The panels that a hand ticked in one go stand in one row.
			if n := len(t.Rows); n > 0 {
				if last := t.Rows[n-1]; last[0] == row[0] && last[1] == row[1] && last[3] == row[3] && last[4] == row[4] {
					last[2] += ", " + where
					continue
				}
			}
			t.Rows = append(t.Rows, row)
		case checklist.Note:
			t.Rows = append(t.Rows, []string{w.when(l), w.word("kind", "note"), "", w.who(l.By), b.Text})
		}
	}
	return w.section("steps", saySteps, Say(w.say(sayStepsNote)), t)
}
