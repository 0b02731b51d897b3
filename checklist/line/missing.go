package line

// Missing is a body without a field that its kind requires.
type Missing struct{ Kind, Field string }

// Error is a sentence for the person who left the field out.
func (e *Missing) Error() string {
	for _, row := range missing {
		if row.kind == e.Kind && row.field == e.Field {
			return row.say
		}
	}
	return "This line lacks its " + e.Field + " (" + e.Kind + ")."
}

// missing is what the screen says when a field was left empty.
var missing = [...]struct{ kind, field, say string }{
	{"shop.set", "name", "The shop needs a name."},
	{"shop.set", "units", "Choose C or F for the shop."},
	{"shop.set", "zone", "Choose the shop's time zone."},
	{"place.add", "name", "The place needs a name."},
	{"place.add", "sort", "Say whether it is a bay, the yard or outside."},
	{"person.add", "name", "The person needs a name."},
	{"person.add", "initials", "The person needs initials."},
	{"person.add", "role", "Choose what the person does."},
	{"air.shared", "places", "Say which places share air."},
	{"job.open", "label", "The job needs a short name."},
	{"job.open", "route", "Choose the job's steps."},
	{"job.open", "panels.name", "Every panel needs a name."},
	{"job.open", "spots.name", "Every spot needs a name."},
	{"job.move", "place", "Say where the vehicle goes."},
	{"job.move", "wet", "Say whether it got wet on the way."},
	{"reading", "values", "A reading needs its spot and its number."},
	{"reading", "values.spot", "Say at which spot this was read."},
	{"climate.block", "instrument", "A logger's block needs its instrument."},
	{"finding", "what", "Say what was found."},
	{"finding.answer", "answer", "Accepted, declined or repaired?"},
	{"sign", "name", "Write the name of who signs."},
	{"waiver", "sentence", "A go-ahead needs its reason in a sentence."},
	{"waiver", "causes", "A go-ahead names what it passes over."},
	{"note", "text", "The note is empty."},
}
