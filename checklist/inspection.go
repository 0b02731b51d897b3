package checklist

// walked judges a walk round the vehicle: every finding answered, and the
// signatures. The walk at check-in takes pins and a signature; what was pinned
// there is answered by the next walk at the latest. A finding on a panel holds
// that panel alone; what was found at the edges holds the edges.
func (v *view) walked(st *Stage, g *Gate, r *result) []cause {
	var out []cause
	found := false
	for _, e := range v.job.findings {
		f := e.Body.(Finding)
		if st.What == "check-in" || f.Walk == "edges" || (st.What == "bare-paint") != seenBare(f.Walk) {
			continue
		}
		found = true
		if answerOf(v.job, e) != "" {
			continue
		}
		where := f.Place
		if p := v.panel(f.Panel); p != nil {
			where = p.Name
		}
		if where == "" {
			where = v.open.Label
		}
		out = append(out, cause{key: "finding", panel: f.Panel, since: e.act.Earliest, state: Held,
			reason: say(sayFinding, upper(f.What), where), wayOut: say(sayOwnerMustAnswer)})
	}
	signs, any := v.unsigned(st, r)
	if !any && !found {
		return first(st)
	}
	if out = append(out, signs...); len(out) == 0 {
		g.State, g.Reason = Done, say(sayInspected)
	}
	return out
}

// seenBare says whether a finding was made on paint that old film came off:
// the walk on bare paint asks for its answer, and nothing before that does.
func seenBare(walk string) bool { return walk == "bare-paint" || walk == "pull" || walk == "trial" }

// signed judges a paper that somebody has to sign.
func (v *view) signed(st *Stage, g *Gate, r *result) []cause {
	signs, any := v.unsigned(st, r)
	if !any {
		return first(st)
	}
	if len(signs) == 0 {
		g.State, g.Reason = Done, say(saySigned, st.Name, markTime(r.done.Latest))
	}
	return signs
}

// unsigned says whose signature a stage lacks, and whether anybody has signed.
// Of two signatures for the same the first holds.
func (v *view) unsigned(st *Stage, r *result) (out []cause, any bool) {
	// A risk that was signed before the paint peeled is not the one.
	var peeled *entry
	if st.What == "removal-risk" {
		peeled = v.strip("", true)
	}
	for _, as := range st.Signers {
		var by *entry
		for _, e := range v.job.signs {
			if b := e.Body.(Sign); b.What == st.What && b.As == as && (peeled == nil || wroteBefore(peeled, e)) {
				by = e
				break
			}
		}
		if by == nil {
			out = append(out, cause{key: "sign-" + as, state: Held, reason: say(saySignature, as), wayOut: say(sayMustSign, as)})
			continue
		}
		any = true
		r.done.Earliest, r.done.Latest = max(r.done.Earliest, by.act.Earliest), max(r.done.Latest, by.act.Latest)
	}
	return out, any
}

// answered judges questions whose answers are kept; 'unknown' is an answer.
func (v *view) answered(st *Stage, g *Gate, r *result) []cause {
	var out []cause
	for _, key := range st.Asks {
		var a *entry
		for _, e := range v.job.asked {
			if b := e.Body.(Asked); b.What == key && b.Answer != "" {
				a = e
			}
		}
		if a == nil {
			out = append(out, cause{key: "ask-" + key, again: true, reason: say(sayAsk, QuestionOf(key)), later: say(sayFirst, st.Name), laterOut: say(sayDoFirst, st.Name)})
			continue
		}
		r.done.Earliest, r.done.Latest = max(r.done.Earliest, a.act.Earliest), max(r.done.Latest, a.act.Latest)
	}
	if len(out) == 0 {
		g.State, g.Reason = Done, say(sayDoneAt, st.Name, markTime(r.done.Latest))
	}
	return out
}

// Question is one that is put to whoever brings the vehicle.
type Question struct {
	Key  string
	Text string
	// Choices are the usual answers; another may be typed. 'unknown' is always
	// one.
	Choices []string
}

// Questions are what routes ask. Common practice, no source.
var Questions = []Question{
	{"last-wash", "When was it last washed?", []string{"today", "this week", "longer ago"}},
	{"wash-product", "What was it washed with?", []string{"water only", "shampoo", "shampoo with wax"}},
	{"film-age", "How old is the film?", []string{"under 1 year", "1 to 3 years", "3 to 5 years", "5 to 7 years", "over 7 years"}},
	{"film-kind", "What film is it?", []string{"cast", "calendered", "removable", "reflective"}},
	{"paint-history", "Was any of it repainted?", []string{"no", "yes, in a body shop", "yes, by hand"}},
	{"fitted-by", "Who fitted the film?", []string{"we did", "another shop", "the owner"}},
}

// QuestionOf is the text of a question, or its key if no row has it.
func QuestionOf(key string) string {
	for i := range Questions {
		if Questions[i].Key == key {
			return Questions[i].Text
		}
	}
	return key
}

// answerOf returns the answer that stands on a finding, "" if there is none.
// Of two that nobody struck, 'declined' holds. Doing it again answers what was
// found at the edges and nothing else: damage is its owner's to answer.
func answerOf(j *job, finding *entry) string {
	answer := ""
	for _, e := range j.answers {
		a := e.Body.(FindingAnswer)
		if a.Finding == finding.ID && answer != "declined" && (a.Answer != "redone" || finding.Body.(Finding).Walk == "edges") {
			answer = a.Answer
		}
	}
	return answer
}

// pinned returns the last finding on a panel ("": on any) of a sort and with a
// standing answer ("": whatever they are), nil if there is none.
func (v *view) pinned(panel, what, answer string) *entry {
	for i := len(v.job.findings) - 1; i >= 0; i-- {
		e := v.job.findings[i]
		if f := e.Body.(Finding); (panel == "" || f.Panel == panel) && (what == "" || f.What == what) &&
			(answer == "" || answerOf(v.job, e) == answer) {
			return e
		}
	}
	return nil
}

// declined says whether the owner left a panel bare.
func (v *view) declined(panel string) bool { return v.pinned(panel, "", "declined") != nil }

func (v *view) panel(id string) *Panel {
	for i := range v.open.Panels {
		if v.open.Panels[i].ID == id {
			return &v.open.Panels[i]
		}
	}
	return nil
}

// upper begins a sentence.
func upper(s string) string {
	if s != "" && s[0] >= 'a' && s[0] <= 'z' {
		return string(s[0]-'a'+'A') + s[1:]
	}
	return s
}
