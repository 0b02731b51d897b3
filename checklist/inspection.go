package checklist

// inspection judges the walk round on clean paint: every finding answered, and
// the signatures of the installer and of the owner. A finding on a panel holds
// that panel alone.
func (v *view) inspection(g *Gate) []cause {
	var out []cause
	for _, e := range v.job.findings {
		f := e.Body.(Finding)
		if answerOf(v.job, e.ID) != "" {
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
	installer, owner := false, false
	for _, e := range v.job.signs {
		b := e.Body.(Sign)
		if b.What == "inspection" {
			installer = installer || b.As == "installer"
			owner = owner || b.As == "owner"
		}
	}
	if !installer && !owner && len(v.job.findings) == 0 {
		st, _ := v.route.stage("inspection")
		return []cause{first(st)}
	}
	if !installer {
		out = append(out, cause{key: "sign-installer", state: Held, reason: say(saySignature, "installer"), wayOut: say(sayMustSign, "installer")})
	}
	if !owner {
		out = append(out, cause{key: "sign-owner", state: Held, reason: say(saySignature, "owner"), wayOut: say(sayMustSign, "owner")})
	}
	if len(out) == 0 {
		g.State, g.Reason = Done, say(sayInspected)
	}
	return out
}

// answerOf returns the answer that stands on a finding, "" if there is none.
// Of two that nobody struck, 'declined' holds.
func answerOf(j *job, finding LineID) string {
	answer := ""
	for _, e := range j.answers {
		if a := e.Body.(FindingAnswer); a.Finding == finding && answer != "declined" {
			answer = a.Answer
		}
	}
	return answer
}

// declined says whether the owner left a panel bare.
func (v *view) declined(panel string) bool {
	for _, e := range v.job.findings {
		if f := e.Body.(Finding); f.Panel == panel && answerOf(v.job, e.ID) == "declined" {
			return true
		}
	}
	return false
}

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
