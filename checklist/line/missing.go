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
	{"film", "family", "Choose the family of the film."},
	{"film", "limits.origin", "Say where this number is from: the maker's sheet, the shop, memory."},
	{"feature", "panel", "Say on which panel it is."},
	{"feature", "sort", "Say what it is: channel, dome, rivets, seam, gap or flat."},
	{"heat", "panel", "Say which panel was heated."},
	{"heat", "answer", "Done, part done, not measured or from memory?"},
	{"trial", "place", "Say where the strip was pulled."},
	{"trial", "paint", "Say how the paint came out: sound, chipped or peeled."},
	{"paint", "cure", "Say how the paint was cured, or that nobody knows."},
	{"asked", "answer", "An answer is missing. 'Unknown' is one."},
	{"job.rules", "why", "Write why this job changes its numbers."},
	{"steps.set", "steps", "A route needs at least one step."},
	{"note", "text", "The note is empty."},
}
