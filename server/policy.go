package server

import (
	"maps"
	"slices"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server/join"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// policy is what the server refuses of entries whose form is good: a body
// that is none of its kind, a kind in the wrong logbook, and what its author
// or their phone may not write as of its arrival. The answer is a sentence for
// the author; the line is set aside with it and nothing is lost.
//
// `by` is who was tapped; the phone is what was proven. Who may write what is
// the table of line.Kinds, by the role of who was tapped; a phone that is not a
// lead's takes the lead's rights off that. In a shop that is served at localhost
// alone no phone has proven anything: there this keeps a crew hand from waiving
// a gate by mistake, and stops no one who means it.
type policy struct {
	view   view
	shop   *checklist.Shop // the shop's logbook, as it was before this batch
	server logbook.ID      // the server's own writer

	roll    *join.Roll                // who belongs to the shop; nil: whoever reaches it
	bound   map[logbook.ID]logbook.ID // names that phones of this batch write under for the first time
	trusted bool                      // lines of the server's own making: only their form is judged
	people  map[checklist.ID]string
	adopted map[string]bool         // by lines of this batch
	fresh   map[session.Name]target // lines of this batch
}

// target is what a strike needs to know of the line it takes back.
type target struct {
	by      logbook.ID
	strikes bool
	writer  logbook.ID
	kind    string
	lead    checklist.ID // who is a lead by it
}

func newPolicy(v view, shop *checklist.Shop) *policy {
	return &policy{view: v, shop: shop, server: v.st.writer,
		bound: map[logbook.ID]logbook.ID{}, people: map[checklist.ID]string{}, adopted: map[string]bool{}, fresh: map[session.Name]target{}}
}

// refuse is the judge's question.
func (p *policy) refuse(sub *judge.Submission) string {
	e := &sub.Entry
	from, why := p.phone(sub)
	if why != "" {
		return why
	}
	body, err := line.Decode(e.Kind, e.Body)
	if err != nil {
		return err.Error()
	}
	if why := line.Impossible(body); why != "" {
		return why
	}
	if why := p.form(e); why != "" {
		return why
	}
	if !p.trusted {
		if serversAlone(body) {
			return "Only the shop server may write this."
		}
		if why := p.rights(e, body, from, sub.Arrived); why != "" {
			return why
		}
	}
	for _, ref := range e.Strikes {
		if t, _ := p.target(e.Log, ref); p.leadsAlone(t.lead) && !p.anyone(e.Log) {
			return noLead
		}
	}
	switch b := body.(type) {
	case checklist.PersonAdd:
		if p.leadsAlone(b.Person) && b.Role != "lead" {
			return noLead
		}
		p.people[b.Person] = b.Role
	case checklist.Adopt:
		if why := p.adopt(e, b.Sum); why != "" {
			return why
		}
	}
	p.fresh[session.Name{Log: e.Log, Ref: e.Ref()}] = targetOf(e)
	if from != nil {
		if _, known := p.roll.Writer(e.Writer); !known {
			p.bound[e.Writer] = from.ID
		}
	}
	return ""
}

func targetOf(e *logbook.Entry) target {
	t := target{by: e.By, strikes: len(e.Strikes) > 0, writer: e.Writer, kind: e.Kind}
	if body, err := line.Decode(e.Kind, e.Body); err == nil {
		if b, ok := body.(checklist.PersonAdd); ok && b.Role == "lead" {
			t.lead = b.Person
		}
	}
	return t
}

const noLead = "The shop needs a lead. Make somebody else lead first."

// phone is the joined phone that brought a line; nil if it came otherwise, or
// where no phone has to join. why is what is wrong with the phone itself.
func (p *policy) phone(sub *judge.Submission) (from *join.Device, why string) {
	s, ok := sub.Tag.(*wsSession)
	if !ok || s.member.IsZero() || p.roll == nil {
		return nil, ""
	}
	d, ok := p.roll.Device(s.member)
	if !ok || d.Revoked != 0 {
		return nil, "This phone was taken off the shop: the lead looks at its lines."
	}
	holder, known := p.roll.Writer(sub.Entry.Writer)
	if !known {
		holder, known = p.bound[sub.Entry.Writer]
	}
	if known && holder != d.ID {
		return nil, "This line was written under another phone's name."
	}
	return &d, ""
}

// form judges what needs no author: home logbook and strikes.
func (p *policy) form(e *logbook.Entry) string {
	switch e.Log.Class {
	case checklist.ShopLog:
		if e.Log != p.view.st.shop {
			return "This line belongs to another shop."
		}
	case checklist.PlaceLog, checklist.JobLog:
	default:
		return "There is no such logbook in this version."
	}
	if !p.trusted && join.Reserved(e.Kind) {
		return "Only the shop server may write this."
	}
	kind, known := line.Lookup(e.Kind)
	if known && kind.Log != 0 && kind.Log != e.Log.Class {
		return "A line " + e.Kind + " does not belong in this logbook."
	}
	for _, ref := range e.Strikes {
		t, ok := p.target(e.Log, ref)
		switch {
		case !ok:
			return "The line to take back is not at the shop."
		case t.strikes:
			return "What was taken back stays so: write the line again."
		case join.Reserved(t.kind):
			return "A line about a phone stays. Take the phone off the shop instead."
		case t.kind == (checklist.Forget{}).Kind():
			return "What was erased does not come back."
		}
	}
	return ""
}

// rights judges the author. A line by nobody, or by someone the shop does not
// know yet (added on a phone that was not heard), has a crew hand's rights.
//
// A lead's acts count from a phone of the lead's, and from another one for the
// minutes after the lead's PIN was typed on it (pin.go). Otherwise a lead is a
// hand like the others there, and takes back what was written on it.
func (p *policy) rights(e *logbook.Entry, body checklist.Body, from *join.Device, arrived int64) string {
	kind, known := line.Lookup(e.Kind)
	role := p.role(e.By)
	leads := from == nil || from.Role == join.Lead
	on := role.On(!leads && !p.roll.Allowed(from.ID, e.By, arrived))
	anyone := func() bool { return leads && p.anyone(e.Log) } // goes through the whole crew
	if may := kind.WritersOf(body); known && may&on == 0 && !anyone() {
		if may&role != 0 {
			return "A lead writes this on the lead's own phone, or by PIN."
		}
		return "Only " + may.Names() + " may write this."
	}
	for _, ref := range e.Strikes {
		t, _ := p.target(e.Log, ref)
		own := t.by == e.By && (!e.By.IsZero() && on == role || t.writer == e.Writer)
		if !own && on != line.Lead && !anyone() {
			return "Only who wrote it, or the lead, takes a line back."
		}
	}
	return ""
}

func (p *policy) role(by logbook.ID) line.Roles {
	role, ok := p.people[checklist.ID(by)]
	if !ok {
		person, _ := p.shop.Person(checklist.ID(by))
		role = person.Role
	}
	if r := line.RoleOf(role); r != 0 {
		return r
	}
	return line.Crew
}

// leadsAlone says that this is the shop's one lead: without one, nobody could set
// anything right any more.
func (p *policy) leadsAlone(id checklist.ID) bool {
	roles := map[checklist.ID]string{}
	for _, person := range p.shop.People() {
		roles[person.Person] = person.Role
	}
	maps.Copy(roles, p.people)
	if roles[id] != "lead" {
		return false
	}
	delete(roles, id)
	return !slices.Contains(slices.Collect(maps.Values(roles)), "lead")
}

// anyone says that the shop is being set up: it has no lead yet, or no job, and
// then anyone writes its logbook.
func (p *policy) anyone(log logbook.Log) bool {
	if !line.Led(p.shop) {
		return true
	}
	if log.Class != checklist.ShopLog {
		return false
	}
	for other := range p.view.st.heads { // only the writer changes it, and this is the writer
		if other.Class == checklist.JobLog {
			return false
		}
	}
	return true
}

func (p *policy) target(log logbook.Log, ref logbook.Ref) (target, bool) {
	if t, ok := p.fresh[session.Name{Log: log, Ref: ref}]; ok {
		return t, true
	}
	e, ok, err := p.view.entry(log, ref)
	if err != nil || !ok {
		return target{}, false
	}
	return targetOf(&e), true
}
