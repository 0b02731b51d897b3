package record

import (
	"slices"
	"strings"
	"time"

	"bayhold/checklist"
)

// Record is the whole document.
type Record struct {
	Language string // of checklist.Languages
	Title    string
	Subject  string // the vehicle in a line: "V21, long high-roof van, QF 21"
	At       int64  // the moment up to which it tells, ms
	Words    Words
	Sections []Section
}

// Words are those that stand on every page.
type Words struct{ Page, Continued, Figure string }

// Section is one part under a heading. The first is the first page.
type Section struct {
	Key, Title string
	Blocks     []Block
}

// Seal is what proves the lines of a record: the head of the job's chain at
// hand-over, and the fingerprint of the shop's key.
type Seal struct {
	Epoch, Order uint64
	Head         string // lower-case hex SHA-256, "" if nothing was sealed
	Key          string
}

// Asked is what a record is asked for.
type Asked struct {
	Job      checklist.ID
	Now      checklist.Span
	Zone     *time.Location
	Language string
	Seal     Seal
	Drawn    []Drawn // what was drawn to be looked at
}

// Of writes the record of a job; ok is false if there is no such job.
func Of(s *checklist.Shop, a Asked) (r *Record, ok bool) {
	w, ok := begin(s, a)
	if !ok {
		return nil, false
	}
	r = w.paged(sayTitle)
	for _, part := range []func() Section{w.front, w.found, w.film, w.before, w.climate, w.readings, w.laying, w.stretch,
		w.heating, w.edges, w.spoiled, w.struck, w.care, w.photos, w.steps, w.seal} {
		if p := part(); len(p.Blocks) > 0 {
			r.Sections = append(r.Sections, p)
		}
	}
	return r, true
}

// begin reads what is told of a job.
func begin(s *checklist.Shop, a Asked) (*writer, bool) {
	facts, ok := s.Job(a.Job)
	if !ok {
		return nil, false
	}
	w := &writer{Asked: a, shop: s, job: facts, open: facts.Open, language: max(0, slices.Index(checklist.Languages, a.Language))}
	if w.Zone == nil {
		w.Zone = time.UTC
	}
	if set, ok := s.Setting(); ok {
		w.fahrenheit = set.Units == "F"
		w.shopName = set.Name
	}
	w.rules, ok = s.Rules(facts.Open.Rules)
	if !ok {
		w.rules = checklist.DefaultRules()
	}
	w.lines = s.Lines(a.Job, 0)
	slices.Reverse(w.lines)
	for i := range w.lines {
		if !w.lines[i].Struck && w.lines[i].Body != nil {
			w.standing = append(w.standing, w.lines[i].Line)
		}
	}
	w.gates = s.Gates(a.Job, a.Now)
	w.pins = s.Findings(a.Job)
	return w, true
}

// paged is the document without its sections.
func (w *writer) paged(title text) *Record {
	return &Record{Language: checklist.Languages[w.language], Title: w.say(title), Subject: w.subject(), At: w.Now.Latest,
		Words: Words{w.say(sayPage), w.say(sayContinued), w.say(sayFigure)}}
}

// writer is a record in the making.
type writer struct {
	Asked
	shop       *checklist.Shop
	shopName   string
	job        checklist.JobFacts
	open       checklist.JobOpen
	language   int
	fahrenheit bool
	rules      map[string]int64
	lines      []checklist.LineState // of the job, oldest first
	standing   []checklist.Line      // those that nobody struck
	gates      []checklist.Gate
	pins       []checklist.FindingState
}

func (w *writer) section(key string, title text, blocks ...Block) Section {
	for i := range blocks {
		if t, ok := blocks[i].(Table); ok {
			blocks[i] = t.filled()
		}
	}
	return Section{key, w.say(title), slices.DeleteFunc(blocks, func(b Block) bool {
		switch b := b.(type) {
		case nil:
			return true
		case Points:
			return len(b) == 0
		case Facts:
			return len(b) == 0
		case Table:
			return len(b.Rows) == 0
		case Form:
			return len(b.Rows) == 0
		case Pictures:
			return len(b) == 0
		case Ink:
			return len(b) == 0
		case Say:
			return b == ""
		}
		return false
	})}
}

// filled is the table without the columns that no row fills.
func (t Table) filled() Table {
	out := Table{Title: t.Title, Rows: make([][]string, len(t.Rows))}
	for i, h := range t.Head {
		if i > 0 && !slices.ContainsFunc(t.Rows, func(r []string) bool { return r[i] != "" }) {
			continue
		}
		if slices.Contains(t.Numbers, i) {
			out.Numbers = append(out.Numbers, len(out.Head))
		}
		out.Head = append(out.Head, h)
		for k, r := range t.Rows {
			out.Rows[k] = append(out.Rows[k], r[i])
		}
	}
	return out
}

// bare says whether the owner said no to film on a panel.
func (w *writer) bare(panel string) bool {
	return slices.ContainsFunc(w.pins, func(f checklist.FindingState) bool { return f.Panel == panel && f.Standing == "declined" })
}

// each calls f with every standing body of a type and its line.
func each[B checklist.Body](w *writer, f func(l *checklist.Line, b B)) {
	for i := range w.standing {
		if b, ok := w.standing[i].Body.(B); ok {
			f(&w.standing[i], b)
		}
	}
}

func (w *writer) subject() string {
	var out []string
	for _, s := range []string{w.open.Label, w.open.Vehicle, w.open.Plate} {
		if s != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, ", ")
}

// panel is a panel's name.
func (w *writer) panel(id string) string {
	if id == "" {
		return w.say(sayVehicle)
	}
	for i := range w.open.Panels {
		if p := &w.open.Panels[i]; p.ID == id {
			return p.Name
		}
	}
	return id
}

func (w *writer) zoneOf(panel string) string {
	for i := range w.open.Panels {
		if w.open.Panels[i].ID == panel {
			return w.open.Panels[i].Zone
		}
	}
	return ""
}

// spot is a tape dot with its number.
func (w *writer) spot(id string) string {
	for i := range w.open.Spots {
		if s := &w.open.Spots[i]; s.ID == id {
			return s.ID + " " + s.Name
		}
	}
	return id
}

func (w *writer) place(id checklist.ID) string {
	if p, ok := w.shop.Place(id); ok {
		return p.Name
	}
	return w.say(sayUnknownPlace)
}

// who is a person's name, or the instrument and server where nobody tapped.
func (w *writer) who(id checklist.ID) string {
	if id == (checklist.ID{}) {
		return w.say(sayByServer)
	}
	if p, ok := w.shop.Person(id); ok {
		return p.Name
	}
	return w.say(sayNobodyKnown)
}

// stage is a step's name: the shop's own word for it, or ours.
func (w *writer) stage(key string) string {
	ours := ""
	if r, ok := checklist.RouteOf(w.open.Route); ok {
		for i := range r.Stages {
			if r.Stages[i].Key == key {
				ours = r.Stages[i].Name
			}
		}
	}
	for i := range w.job.Route.Stages {
		if st := &w.job.Route.Stages[i]; st.Key == key && st.Name != ours {
			return st.Name
		}
	}
	return w.word("stage", key)
}
