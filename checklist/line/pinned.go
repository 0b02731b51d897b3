package line

import (
	"bayhold/checklist"
	"bayhold/sync/logbook"
)

// A rule set and a shop's own steps are named by the SHA-256 of what they say,
// and a job pins that name. So the name is worth what it is checked for: a set
// that carries another's name would slip other numbers under jobs that pinned
// the true one.

// Pin gives a set its name; any other body it returns as it came. The hash is
// that of the canonical CBOR of a rule set's values, and of the body of own
// steps without the hash.
func Pin(b checklist.Body) checklist.Body {
	switch b := b.(type) {
	case checklist.RulesSet:
		b.Hash = hexSum(AppendValues(nil, b.Values))
		return b
	case checklist.StepsSet:
		b.Hash = ""
		b.Hash = hexSum(Encode(b))
		return b
	}
	return b
}

// nameless names a set that a person wrote without a name.
func nameless(b checklist.Body) checklist.Body {
	switch x := b.(type) {
	case checklist.RulesSet:
		if x.Hash == "" {
			return Pin(b)
		}
	case checklist.StepsSet:
		if x.Hash == "" {
			return Pin(b)
		}
	}
	return b
}

// named takes a false name away: the line is kept and shown, and the set is
// never in force, for nothing can pin it.
func named(b checklist.Body) checklist.Body {
	switch b := b.(type) {
	case checklist.RulesSet:
		if Pin(b).(checklist.RulesSet).Hash != b.Hash {
			b.Hash = ""
		}
		return b
	case checklist.StepsSet:
		if Pin(b).(checklist.StepsSet).Hash != b.Hash {
			b.Hash = ""
		}
		return b
	}
	return b
}

// pinned judges what a set says and what a job pins, before it is written. A
// set may come without its name: who writes it gives it one.
func pinned(l checklist.Line, s *checklist.Shop) string {
	switch b := l.Body.(type) {
	case checklist.RulesSet:
		if b.Hash != "" && named(b).(checklist.RulesSet).Hash == "" {
			return "These numbers carry another set's name. Write them anew."
		}
		return checklist.RulesFault(b.Values)
	case checklist.StepsSet:
		if b.Hash != "" && named(b).(checklist.StepsSet).Hash == "" {
			return "These steps carry another set's name. Write them anew."
		}
		return b.Fault()
	case checklist.JobRules:
		if b.Rules == "" && b.Steps == "" {
			return "Say which numbers or steps the job shall take."
		}
		if _, ok := s.Rules(b.Rules); b.Rules != "" && !ok {
			return "Those numbers are not on this phone. Go online once."
		}
		if b.Steps == "" {
			return ""
		}
		r, ok := s.Steps(b.Steps)
		if !ok {
			return "Those steps are not on this phone. Go online once."
		}
		if j, ok := s.Job(l.Log.ID); ok && r.Key != j.Open.Route {
			return "Those steps are for another kind of job."
		}
	}
	return ""
}

func hexSum(b []byte) string {
	const digits = "0123456789abcdef"
	sum := logbook.Sum(b)
	text := make([]byte, 0, 2*len(sum))
	for _, x := range sum {
		text = append(text, digits[x>>4], digits[x&15])
	}
	return string(text)
}
