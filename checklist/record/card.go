package record

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"bayhold/checklist"
	"bayhold/checklist/air"
)

// A job card is the job on paper, for the day the phones fail: what is done by
// now, and white boxes for what is still to do. Hands write times, initials and
// readings into them; somebody enters them afterwards as late lines. It holds
// what a gate would have known: the dew point by air and humidity, what spoils
// what, the caution lines.

// Form is a table to be written on with a pen.
type Form struct {
	Title string
	Head  []string
	Wide  []int // the columns' widths, in parts of their sum
	Rows  []FormRow
	// Numbers says that all but the first column are numbers, to be read off.
	Numbers bool
}

// FormRow is one row of it. Cells that are empty are for the hand, and a row
// to Write on is as high as a gloved hand needs.
type FormRow struct {
	Cells []string
	Write bool
}

// Tick is the cell that is a box to tick, Beside one that nobody fills.
const (
	Tick   = "\u2610"
	Beside = "\u2013"
)

// Face is the head of a card: facts, and beside them a code for a camera.
type Face struct {
	Facts Facts
	Code  Code
}

func (Form) block() {}
func (Face) block() {}

// CardOf writes the card of a job; opens is the address that opens the job on
// a phone.
func CardOf(s *checklist.Shop, a Asked, opens string) (r *Record, ok bool) {
	w, ok := begin(s, a)
	if !ok {
		return nil, false
	}
	r = w.paged(sayCard)
	r.Sections = []Section{w.cardSteps(opens)}
	for _, part := range []func() Section{w.cardPanels, w.cardReadings, w.cardSpoils} {
		if p := part(); len(p.Blocks) > 0 {
			r.Sections = append(r.Sections, p)
		}
	}
	return r, true
}

// cardSteps is what is asked of the vehicle, step by step.
func (w *writer) cardSteps(opens string) Section {
	facts := Facts{{w.say(sayVehicleName), w.open.Vehicle}, {w.say(sayPlate), w.orMissing(w.open.Plate)}, {w.say(sayCustomer), w.open.Customer},
		{w.say(sayRoute), w.word("route", w.open.Route)}, {w.say(cardStands), w.place(w.job.Place)}, {w.say(sayPromised), w.full(w.open.Promise)},
		{w.say(cardPrinted), w.full(w.Now.Latest)}, {w.say(cardHands), w.initials()}}
	facts = slices.DeleteFunc(facts, func(f Fact) bool { return f.Value == "" })
	form := Form{Title: w.say(cardSteps), Head: w.heads(headStep, cardDone, cardWhen, cardInitials, cardValues), Wide: []int{30, 8, 19, 13, 30}}
	for i := range w.job.Route.Stages {
		st := &w.job.Route.Stages[i]
		if st.Free || byPanel(st) {
			continue
		}
		form.Rows = append(form.Rows, w.cardStep(st)...)
	}
	return w.section("steps", sayFront, Face{facts, Code{opens, w.say(cardOpens)}}, Say(w.say(cardHow)), form, w.cautions())
}

// byPanel says whether a step has its box beside each panel.
func byPanel(st *checklist.Stage) bool {
	return st.Per == checklist.PerPanel && st.Side != checklist.Bench
}

// cardStep is a row for each zone of a step. Work on the film beside the
// vehicle is one row, with the panels that still lack it.
func (w *writer) cardStep(st *checklist.Stage) (out []FormRow) {
	var open []string
	var rows []FormRow
	for k := range w.gates {
		g := &w.gates[k]
		switch {
		case g.Stage != st.Key || staysBare(g):
		case st.Per == checklist.PerPanel:
			if rows = append(rows, FormRow{}); g.State != checklist.Done {
				open = append(open, w.panel(g.Panel))
			}
		default:
			name := w.stage(st.Key)
			switch {
			case g.Panel != "": // its film comes by itself
				name += ", " + w.panel(g.Panel)
			case g.Zone != "":
				name += ", " + w.zone(g.Zone)
			}
			if g.State == checklist.Done {
				when, who := w.doneBy(st.Key, g.Panel, g.Zone)
				out = append(out, FormRow{Cells: []string{name, w.say(cardYes), when, who, ""}})
			} else {
				out = append(out, FormRow{Cells: []string{name, Tick, "", "", w.soFar(g)}, Write: true})
			}
		}
	}
	if len(out) > 0 || len(rows) == 0 {
		return out
	}
	if len(open) == 0 {
		return []FormRow{{Cells: []string{w.stage(st.Key), w.say(cardYes), "", "", ""}}}
	}
	lacking := strings.Join(open, ", ")
	if len(open) == len(rows) {
		lacking = w.say(sayEveryPanel)
	}
	return []FormRow{{Cells: []string{w.stage(st.Key) + ": " + lacking, Tick, "", "", ""}, Write: true}}
}

// staysBare says whether a step is for nothing, as the owner wants no film there.
func staysBare(g *checklist.Gate) bool { return g.Cause == "bare" }

// soFar is how far a step that is not done has come.
func (w *writer) soFar(g *checklist.Gate) string {
	switch {
	case g.Needed > 0 && g.Counted > 0:
		return w.say(cardCounted, length(g.Counted), length(g.Needed))
	case g.State == checklist.Waits && g.Until > w.Now.Latest:
		return w.say(cardNotBefore, w.clock(g.Until))
	}
	return ""
}

// doneBy is when a step was done and by whom, as far as a hand said so.
func (w *writer) doneBy(stage, panel, zone string) (when, who string) {
	each(w, func(l *checklist.Line, b checklist.Tick) {
		if b.Stage == stage && (b.Panel == "" || b.Panel == panel) && (b.Zone == "" || b.Zone == zone) && (b.Answer == "done" || b.Answer == "from-memory") {
			when, who = w.clock(act(l)), w.initialsOf(l.By)
		}
	})
	return when, who
}

func (w *writer) initialsOf(id checklist.ID) string {
	if p, ok := w.shop.Person(id); ok {
		return p.Initials
	}
	return ""
}

// initials says whose they are, so that they can be read afterwards.
func (w *writer) initials() string {
	var out []string
	for _, p := range w.shop.People() {
		if p.Name == p.Initials {
			out = append(out, p.Name)
			continue
		}
		out = append(out, p.Initials+" "+p.Name)
	}
	return strings.Join(out, ", ")
}

// zone is a zone's word: two of them are ours, the others as they were typed.
func (w *writer) zone(z string) string {
	switch z {
	case "upper":
		return w.say(cardUpper)
	case "lower":
		return w.say(cardLower)
	}
	return z
}

// cautions are the lines of the steps that are still to do, each once.
func (w *writer) cautions() (out Points) {
	for i := range w.job.Route.Stages {
		st := &w.job.Route.Stages[i]
		open := slices.ContainsFunc(w.gates, func(g checklist.Gate) bool { return g.Stage == st.Key && g.State != checklist.Done })
		if line := w.word("caution", st.Caution); open && line != "" && !slices.Contains(out, line) {
			out = append(out, line)
		}
	}
	if len(out) > 0 {
		out = append(out, w.say(cardDefers))
	}
	return out
}

// across is how many steps stand side by side on the panels' form.
const across = 5

// cardPanels is the drawing, and a form by panel in hang order: the steps
// before film is on, then those after it.
func (w *writer) cardPanels() Section {
	plan := w.hung()
	for i := range plan.Panels {
		plan.Panels[i].Pins = nil // what was found stands in the record
	}
	var sides [2][]string
	for i := range w.job.Route.Stages {
		if st := &w.job.Route.Stages[i]; byPanel(st) {
			k := 0
			if st.Side == checklist.After {
				k = 1
			}
			if slices.ContainsFunc(w.gates, func(g checklist.Gate) bool { return g.Stage == st.Key }) {
				sides[k] = append(sides[k], st.Key)
			}
		}
	}
	blocks := []Block{plan}
	for k, title := range []text{cardBefore, cardAfter} {
		for _, stages := range evenly(sides[k], across) {
			f := Form{Title: w.say(title), Head: []string{w.say(headPanel)}, Wide: []int{20}}
			for _, key := range stages {
				name := w.stage(key)
				if key == "lay" {
					name = w.say(cardFromTo, name)
				}
				f.Head, f.Wide = append(f.Head, name), append(f.Wide, 80/len(stages))
			}
			for _, p := range plan.Panels {
				row := FormRow{Cells: []string{number(int64(p.Order)) + " " + p.Name}}
				for _, key := range stages {
					cell := w.cell(key, p.ID)
					row.Cells, row.Write = append(row.Cells, cell), row.Write || cell == ""
				}
				f.Rows = append(f.Rows, row)
			}
			blocks = append(blocks, f)
		}
	}
	if len(plan.Panels) == 0 {
		return Section{}
	}
	return w.section("panels", cardPanels, blocks...)
}

// cell is what stands by now in the box of a step on a panel.
func (w *writer) cell(stage, panel string) string {
	for i := range w.gates {
		g := &w.gates[i]
		if g.Stage != stage || g.Panel != panel {
			continue
		}
		if staysBare(g) {
			break
		}
		if g.State != checklist.Done {
			return ""
		}
		when, who := w.doneBy(stage, panel, "")
		if when == "" {
			return w.say(cardYes)
		}
		return when + " " + who
	}
	return Beside
}

// evenly cuts a list into pieces of at most n, as even as can be.
func evenly(list []string, n int) (out [][]string) {
	pieces := (len(list) + n - 1) / n
	for i := range pieces {
		out = append(out, list[i*len(list)/pieces:(i+1)*len(list)/pieces])
	}
	return out
}

// looks is for how many times of reading a card has room.
const looks = 5

// cardReadings is a column for each time that somebody reads air and dots, and
// the dew points to compare them with.
func (w *writer) cardReadings() Section {
	form := Form{Title: w.say(cardReadings), Head: []string{w.say(cardReading)}, Wide: []int{30}}
	for i := range looks {
		form.Head, form.Wide = append(form.Head, strconv.Itoa(i+1)), append(form.Wide, 70/looks)
	}
	row := func(name string) {
		form.Rows = append(form.Rows, FormRow{Cells: append([]string{name}, make([]string, looks)...), Write: true})
	}
	row(w.say(cardWhen))
	row(w.say(cardInitials))
	row(w.say(cardAir, w.unit()))
	row(w.say(cardHumidity))
	row(w.say(cardDew, w.unit()))
	for _, s := range w.open.Spots {
		row(w.say(cardDot, s.ID, s.Name))
	}
	row(w.say(cardMargin, w.margin(w.rules["margin"])))
	return w.section("readings", sayReadings, form, w.dewPoints(), Say(w.say(cardBetween)))
}

// dewPoints is the dew point by air temperature and humidity, in the shop's
// unit, from package air.
func (w *writer) dewPoints() Form {
	f := Form{Title: w.say(cardDewTable, w.unit()), Head: []string{w.say(cardAirHead, w.unit())}, Wide: []int{8}, Numbers: true}
	from, to, step := int64(6), int64(32), int64(2)
	if w.fahrenheit {
		from, to, step = 45, 95, 5
	}
	const dampest, drier = 95, 5
	for rh := int64(30); rh <= dampest; rh += drier {
		f.Head, f.Wide = append(f.Head, number(rh)+" %"), append(f.Wide, 7)
	}
	for v := from; v <= to; v += step {
		row := []string{number(v)}
		milli := v * 1000
		if w.fahrenheit {
			milli = (v - 32) * 5000 / 9
		}
		for rh := int64(30); rh <= dampest; rh += drier {
			cell := Beside
			if dew, ok := air.DewPointMilli(int32(milli), int32(rh*1000)); ok {
				cell = tenth(w.degrees(int64(dew)))
			}
			row = append(row, cell)
		}
		f.Rows = append(f.Rows, FormRow{Cells: row})
	}
	return f
}

// mostSpoilt is how many steps are named one by one as spoilt; more are the
// whole panel's. Nothing but the row's length hangs on it.
const mostSpoilt = 4

// cardSpoils is what spoils what, one row for what has to be done again.
func (w *writer) cardSpoils() Section {
	t := Table{Title: w.say(cardSpoils), Head: w.heads(cardAgain, cardAfterThis)}
	for i := range checklist.Setbacks {
		row := &checklist.Setbacks[i]
		var again []string
		for _, key := range row.Kills {
			if slices.ContainsFunc(w.job.Route.Stages, func(st checklist.Stage) bool { return st.Key == key }) {
				again = append(again, w.stage(key))
			}
		}
		if len(again) > mostSpoilt {
			again = []string{w.say(cardWholePanel)}
		}
		switch row.Dry {
		case checklist.DryResets:
			again = append(again, w.say(cardDryZero))
		case checklist.DryMore:
			again = append(again, w.say(cardDryMore))
		case checklist.DryPauses:
			again = append(again, w.say(cardPauses))
		}
		if row.Disturbs {
			again = append(again, w.say(cardReadAgain))
		}
		if len(again) == 0 {
			continue
		}
		what, cause := upper(strings.Join(again, ", ")), w.word("cause", row.Cause)
		if k := slices.IndexFunc(t.Rows, func(r []string) bool { return r[0] == what }); k >= 0 {
			t.Rows[k][1] += "; " + cause
			continue
		}
		t.Rows = append(t.Rows, []string{what, cause})
	}
	return w.section("spoils", cardSpoilsTitle, Say(w.say(cardAging, length(w.rules["wipe_shelf"]), length(w.rules["wipe_shelf_hot"]))), t)
}

// upper begins a text with a capital.
func upper(s string) string {
	_, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:n]) + s[n:]
}
