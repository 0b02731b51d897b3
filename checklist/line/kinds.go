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
)

// Kind is a row of the table of what lines there are.
type Kind struct {
	Name     string
	Log      byte  // its home logbook: checklist.ShopLog, PlaceLog or JobLog; 0 for any
	Writers  Roles // who may write it
	Personal bool  // the body can hold personal data and carries 16 random bytes

	walk schema
}

// Kinds is the table: a kind, where it lives, who may write it, whether it
// carries personal data. Who may write what is common practice, no source.
var Kinds = [...]Kind{
	{"shop.set", checklist.ShopLog, Lead | Server, false, shopSet},
	{"place.add", checklist.ShopLog, Lead | Server, false, placeAdd},
	{"person.add", checklist.ShopLog, Lead | Server, false, personAdd},
	{"air.shared", checklist.ShopLog, floor, false, airShared},
	{"rules.set", checklist.ShopLog, Lead | Server, false, rulesSet},
	{"climate.block", checklist.PlaceLog, Server, false, climateBlock},
	{"climate.reading", checklist.PlaceLog, people, false, climateReading},
	{"climate.span", checklist.PlaceLog, people, false, climateSpan},
	{"place.event", checklist.PlaceLog, people | Server, false, placeEvent},
	{"job.open", checklist.JobLog, people, false, jobOpen},
	{"job.move", checklist.JobLog, people, false, jobMove},
	{"job.close", checklist.JobLog, Lead | Desk, false, jobClose},
	{"tick", checklist.JobLog, floor, false, tick},
	{"reading", checklist.JobLog, people | Server, false, reading},
	{"setback", checklist.JobLog, people, false, setback},
	{"evidence", checklist.JobLog, floor, false, evidence},
	{"finding", checklist.JobLog, people, true, finding},
	{"finding.answer", checklist.JobLog, Lead | Desk | Crew, false, findingAnswer},
	{"sign", checklist.JobLog, people, true, sign},
	{"waiver", checklist.JobLog, Lead, false, waiver},
	{"photo", checklist.JobLog, people, false, photo},
	{"voice", checklist.JobLog, people, false, voice},
	{"note", checklist.JobLog, people, true, note},
	{"film", checklist.JobLog, floor, false, filmRoll},
	{"feature", checklist.JobLog, floor, false, feature},
	{"heat", checklist.JobLog, floor, false, heatDone},
	{"trial", checklist.JobLog, floor, false, trial},
	{"paint", checklist.JobLog, people, false, paintKnown},
	{"patch", checklist.JobLog, floor, false, patch},
	{"asked", checklist.JobLog, people, false, asked},
	{"job.rules", checklist.JobLog, Lead, false, jobRules},
	{"steps.set", checklist.ShopLog, Lead | Server, false, stepsSet},
	{"adopt", 0, Lead, false, adopt},
	{"strike", 0, people | Server, false, strike},
}

// WritersOf says who may write this line of the kind: what was found at the
// edges is closed by the hands that do it again, what was found on the paint
// by those who speak with its owner.
func (k *Kind) WritersOf(b checklist.Body) Roles {
	if a, ok := b.(checklist.FindingAnswer); ok {
		if a.Answer == "redone" {
			return Lead | Crew
		}
		return Lead | Desk
	}
	return k.Writers
}

// Lookup finds a kind's row.
func Lookup(name string) (Kind, bool) {
	for _, k := range Kinds {
		if k.Name == name {
			return k, true
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
