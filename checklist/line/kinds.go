package line

import "bayhold/checklist"

// Roles is a set of those who may write a kind of line.
type Roles uint8

// The roles of people, as in checklist.PersonAdd, and the server itself
// (loggers, first start).
const (
	Lead Roles = 1 << iota
	Crew
	Prep
	Porter
	Desk
	Server

	floor  = Lead | Crew | Prep | Porter // who works on the vehicle
	people = floor | Desk

	Owner = Lead | Desk // who speaks with the vehicle's owner
	Redo  = Lead | Crew // who does an edge again
)

// Kind is a row of the table of what lines there are.
type Kind struct {
	Name     string
	Log      byte   // its home logbook: checklist.ShopLog, PlaceLog or JobLog; 0 for any
	Writers  Roles  // who may write it
	Personal string // with this key the body tells of people, and carries 16 random bytes; "" for none

	walk schema
}

// Kinds is the table: a kind, where it lives, who may write it, whether it
// carries personal data. Who may write what is common practice, no source.
var Kinds = [...]Kind{
	{"shop.set", checklist.ShopLog, Lead | Server, "", shopSet},
	{"place.add", checklist.ShopLog, Lead | Server, "", placeAdd},
	{"person.add", checklist.ShopLog, Lead | Server, "name", personAdd},
	{"air.shared", checklist.ShopLog, floor, "", airShared},
	{"rules.set", checklist.ShopLog, Lead | Server, "", rulesSet},
	{"shop.hours", checklist.ShopLog, Lead | Server, "", shopHours},
	{"instrument", checklist.ShopLog, Lead | Server, "", instrument},
	{"climate.block", checklist.PlaceLog, Server, "", climateBlock},
	{"climate.reading", checklist.PlaceLog, people, "", climateReading},
	{"climate.span", checklist.PlaceLog, people, "", climateSpan},
	{"place.event", checklist.PlaceLog, people | Server, "", placeEvent},
	{"job.open", checklist.JobLog, people, "label", jobOpen},
	{"job.move", checklist.JobLog, people, "", jobMove},
	{"job.close", checklist.JobLog, Lead | Desk, "", jobClose},
	{"tick", checklist.JobLog, floor, "note", tick},
	{"reading", checklist.JobLog, people | Server, "", reading},
	{"setback", checklist.JobLog, people, "note", setback},
	{"evidence", checklist.JobLog, floor, "note", evidence},
	{"finding", checklist.JobLog, people, "what", finding},
	{"finding.answer", checklist.JobLog, Owner | Redo, "note", findingAnswer},
	{"sign", checklist.JobLog, people, "name", sign},
	{"waiver", checklist.JobLog, Lead, "", waiver},
	{"photo", checklist.JobLog, people, "", photo},
	{"voice", checklist.JobLog, people, "", voice},
	{"note", checklist.JobLog, people, "text", note},
	{"film", checklist.JobLog, floor, "", filmRoll},
	{"feature", checklist.JobLog, floor, "", feature},
	{"heat", checklist.JobLog, floor, "", heatDone},
	{"trial", checklist.JobLog, floor, "", trial},
	{"paint", checklist.JobLog, people, "", paintKnown},
	{"patch", checklist.JobLog, floor, "", patch},
	{"asked", checklist.JobLog, people, "", asked},
	{"job.rules", checklist.JobLog, Lead, "", jobRules},
	{"steps.set", checklist.ShopLog, Lead | Server, "", stepsSet},
	{"forget", 0, Server, "", forget},
	{"owner.link", checklist.JobLog, Server, "to", ownerLink},
	{"adopt", 0, Lead, "", adopt},
	{"time.adopt", 0, Lead, "", timeAdopt},
	{"strike", 0, people | Server, "", strike},
}

// WritersOf says who may write this line of the kind: what was found at the
// edges is closed by the hands that do it again, what was found on the paint
// by those who speak with its owner.
func (k *Kind) WritersOf(b checklist.Body) Roles {
	if a, ok := b.(checklist.FindingAnswer); ok {
		if a.Answer == "redone" {
			return Redo
		}
		return Owner
	}
	return k.Writers
}

// On is what of a person's role counts on a phone. On one that is shared a lead
// is a hand like the others: anybody could have tapped those initials.
func (r Roles) On(shared bool) Roles {
	if shared && r == Lead {
		return Crew
	}
	return r
}

// Lookup finds a kind's row.
func Lookup(name string) (Kind, bool) {
	for i := range Kinds { // by place: the table is large, and every line asks
		if Kinds[i].Name == name {
			return Kinds[i], true
		}
	}
	return Kind{}, false
}

// RoleOf is the set with the one role of a person; an unknown role is none.
func RoleOf(role string) Roles {
	switch role {
	case "lead":
		return Lead
	case "crew":
		return Crew
	case "prep":
		return Prep
	case "porter":
		return Porter
	case "desk":
		return Desk
	}
	return 0
}

// Names says who is in the set, for a refusing sentence: "the lead or the desk".
func (r Roles) Names() string {
	var names []string
	for _, row := range [...]struct {
		role Roles
		name string
	}{{Lead, "the lead"}, {Crew, "crew"}, {Prep, "prep"}, {Porter, "the porter"}, {Desk, "the desk"}, {Server, "the shop server"}} {
		if r&row.role != 0 {
			names = append(names, row.name)
		}
	}
	out := ""
	for i, n := range names {
		switch {
		case i == 0:
		case i == len(names)-1:
			out += " or "
		default:
			out += ", "
		}
		out += n
	}
	return out
}
