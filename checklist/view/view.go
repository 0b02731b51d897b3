// Package view writes what a screen shows, as JSON: the page paints it and
// decides nothing.
//
// Every view is one object that begins
//
//	{"v":"job","now":1768377600000,"shop":{"name","units","zone","set"},"me":null|{"id","name","initials","role"},"cannot":{KIND:WHO}, ...
//
// "cannot" are the kinds of lines that who is tapped may not write on this
// phone, each with who may ("the lead or the desk"), "" where the lead's PIN would do.
// The owner's answers to findings are the kind "finding.owner" there, and
// others' lines that only a lead takes back "strike".
//
// Sentences carry the marks of package checklist (⟨t:MS⟩, ⟨c:N⟩, ⟨k:N⟩,
// ⟨h:MS⟩), which the page turns into the shop's zone and units. Times are
// milliseconds since the Unix epoch, temperatures milli-degrees Celsius,
// humidities milli-percent; 0 means 'none' for a time. Ids are lower-case UUID
// text.
//
// The views:
//
//	home   the jobs in hand, most urgent first; places, people, routes
//	job    one job: the one next thing, stages with their gates, panels, spots, findings, lines
//	board  the lead's: places in the building's order, with the jobs in them
//	setup  the shop, its places and people
//	rules  every number of the rule set in force
//
// A gate is written the same in all of them; gate.go has its fields.
package view

import (
	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/checklist/view/jsonout"
)

// Reader is who looks, and when.
type Reader struct {
	Person checklist.ID   // who is tapped on this phone; zero for nobody
	Writer checklist.ID   // this phone's writer, whose lines it may take back
	Shared bool           // a lead's rights do not count on this phone now
	Now    checklist.Span // the moment, as the gates take it
	Clock  int64          // the moment, as a clock on the screen would show it
}

// Write writes the view of that name; id is the job of "job" and otherwise
// not used. It answers false, and writes nothing, if there is no such view or
// no such job.
func Write(w *jsonout.Writer, s *checklist.Shop, name string, id checklist.ID, r Reader) bool {
	v := &writer{w, s, r}
	switch name {
	case "home":
		v.head(name)
		v.home()
	case "job":
		j, ok := s.Job(id)
		if !ok {
			return false
		}
		v.head(name)
		v.job(j)
	case "board":
		v.head(name)
		v.board()
	case "setup":
		v.head(name)
		v.setup()
	case "rules":
		v.head(name)
		v.rules()
	default:
		return false
	}
	w.End()
	return true
}

// writer adds the words of a view to the JSON writer.
type writer struct {
	*jsonout.Writer
	s *checklist.Shop
	r Reader
}

func (v *writer) head(name string) {
	v.Object()
	v.text("v", name)
	v.num("now", v.r.Clock)
	set, ok := v.s.Setting()
	v.Key("shop").Object()
	v.text("name", set.Name)
	v.text("units", set.Units)
	v.text("zone", set.Zone)
	v.flag("set", ok)
	v.End()
	v.Key("me")
	if p, ok := v.s.Person(v.r.Person); ok {
		v.person(p)
	} else {
		v.Null()
	}
	v.Key("cannot").Object()
	if p, known := v.s.Person(v.r.Person); known && (v.r.Shared || line.Led(v.s)) {
		role := line.RoleOf(p.Role)
		for i := range line.Kinds {
			k := &line.Kinds[i]
			may := k.Writers
			if k.Name == "finding.answer" {
				may = line.Redo
			}
			v.cannot(k.Name, may, role)
		}
		v.cannot("finding.owner", line.Owner, role)
		if role == line.Lead {
			v.cannot("strike", role, role)
		}
	}
	v.End()
}

// mine says whether who is tapped may take a line back as their own: a lead on a
// shared phone what was written on it.
func (v *writer) mine(l *checklist.Line) bool {
	p, known := v.s.Person(l.By)
	return l.By == v.r.Person && (l.ID.Writer == v.r.Writer || known && (!v.r.Shared || line.RoleOf(p.Role) != line.Lead))
}

// cannot says who may write a kind of line, if this role may not, here and now.
func (v *writer) cannot(kind string, may, role line.Roles) {
	switch {
	case may&role.On(v.r.Shared) != 0 || may == line.Server:
	case may&role != 0:
		v.text(kind, "")
	default:
		v.text(kind, (may &^ line.Server).Names())
	}
}

func (v *writer) text(key, s string)                { v.Key(key).String(s) }
func (v *writer) num(key string, n int64)           { v.Key(key).Int(n) }
func (v *writer) flag(key string, b bool)           { v.Key(key).Bool(b) }
func (v *writer) ident(key string, id checklist.ID) { v.Key(key).String(idText(id)) }

func (v *writer) texts(key string, list []string) {
	v.Key(key).Array()
	for _, s := range list {
		v.String(s)
	}
	v.End()
}

// idText is a UUID as RFC 9562 section 4 writes it, "" for the zero ID.
func idText(id checklist.ID) string {
	if id == (checklist.ID{}) {
		return ""
	}
	const hex = "0123456789abcdef"
	b := make([]byte, 0, 36)
	for i, c := range id {
		if i == 4 || i == 6 || i == 8 || i == 10 {
			b = append(b, '-')
		}
		b = append(b, hex[c>>4], hex[c&15])
	}
	return string(b)
}

func (v *writer) person(p checklist.PersonAdd) {
	v.Object()
	v.ident("id", p.Person)
	v.text("name", p.Name)
	v.text("initials", p.Initials)
	v.text("role", p.Role)
	v.End()
}

// initials of a person, "" if unknown or nobody.
func (v *writer) initials(id checklist.ID) string {
	p, _ := v.s.Person(id)
	return p.Initials
}

func (v *writer) placeName(id checklist.ID) string {
	p, _ := v.s.Place(id)
	return p.Name
}

func (v *writer) places() {
	v.Key("places").Array()
	for _, p := range v.s.Places() {
		v.Object()
		v.ident("id", p.Place)
		v.text("name", p.Name)
		v.text("sort", p.Sort)
		v.num("order", p.Order)
		v.End()
	}
	v.End()
}

func (v *writer) people() {
	v.Key("people").Array()
	for _, p := range v.s.People() {
		v.person(p)
	}
	v.End()
}

func (v *writer) setup() {
	v.places()
	v.people()
}

func (v *writer) rules() {
	_, values, ok := v.s.RulesInForce()
	v.flag("default", !ok)
	v.Key("rules").Array()
	for _, row := range checklist.RuleTable {
		value, have := values[row.Key]
		if !have {
			value = row.Default
		}
		v.Object()
		v.text("key", row.Key)
		v.num("value", value)
		v.num("usual", row.Default)
		v.text("unit", row.Unit)
		v.text("what", row.What)
		v.text("source", row.Source)
		v.End()
	}
	v.End()
	v.Key("routes").Array()
	for _, r := range checklist.Routes {
		hash, steps := v.s.StepsInForce(r.Key)
		v.Object()
		v.text("key", r.Key)
		v.text("name", r.Name)
		v.flag("own", hash != "")
		v.Key("steps").Array()
		for _, st := range steps.Stages {
			v.Object()
			v.text("key", st.Key)
			v.text("name", st.Name)
			v.text("caution", st.Caution)
			v.text("per", st.Per.String())
			v.flag("after", st.Side == checklist.After)
			v.End()
		}
		v.End()
		v.Key("usual").Array()
		for _, st := range r.Stages {
			v.Object()
			v.text("key", st.Key)
			v.text("name", st.Name)
			v.End()
		}
		v.End()
		v.End()
	}
	v.End()
}
