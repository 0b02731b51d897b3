package checklist

// Standing returns what stands of one kind in a job, oldest first: what a hand
// has measured, typed and heated so far, for the forms that go on from there.
func (s *Shop) Standing(id ID, kind string) []Body {
	j := s.jobs[id]
	if j == nil {
		return nil
	}
	var l list
	switch kind {
	case "film":
		l = j.films
	case "feature":
		l = j.features
	case "heat":
		l = j.heats
	case "patch":
		l = j.patches
	case "asked":
		l = j.asked
	}
	out := make([]Body, len(l))
	for i, e := range l {
		out[i] = e.Body
	}
	return out
}
