package view

import (
	"strconv"

	"bayhold/checklist"
)

// say is a line in a few words for the list of what happened.
func say(j checklist.JobFacts, l checklist.Line) string {
	switch b := l.Body.(type) {
	case checklist.JobOpen:
		return "Job begun: " + b.Label
	case checklist.JobMove:
		switch b.Wet {
		case "yes":
			return "Moved, got wet"
		case "no":
			return "Moved dry"
		}
		return "Moved, wet or not unknown"
	case checklist.JobClose:
		if b.How == "no-film" {
			return "Ended without film"
		}
		return "Handed over"
	case checklist.Tick:
		return where(stageName(j, b.Stage), j, b.Panel, b.Zone) + answers(b.Answer)
	case checklist.Reading:
		if b.Answer == "not-measured" {
			return "Not measured"
		}
		s := ""
		for i, value := range b.Values {
			if i > 0 {
				s += ", "
			}
			s += spotName(j, value.Spot) + " ⟨c:" + strconv.Itoa(int(value.Surface)) + "⟩"
		}
		if b.Answer == "from-memory" {
			s += ", from memory"
		}
		return s
	case checklist.Setback:
		row, _ := checklist.SetbackOf(b.Cause)
		s := row.Name
		if s == "" {
			s = b.Cause
		}
		for _, p := range b.Panels {
			s += ", " + panelName(j, p)
		}
		for _, z := range b.Zones {
			s += ", " + z
		}
		return s
	case checklist.Evidence:
		for _, e := range evidences {
			if e.what == b.What {
				if b.Passed {
					return where(e.name, j, "", b.Zone) + ": yes"
				}
				return where(e.name, j, "", b.Zone) + ": no"
			}
		}
		return b.What
	case checklist.Finding:
		return where("Found "+b.What, j, b.Panel, "")
	case checklist.FindingAnswer:
		return viaLink("Finding "+b.Answer, b.Link)
	case checklist.Sign:
		return viaLink("Signed: "+b.Name+" ("+b.As+")", b.Link)
	case checklist.OwnerLink:
		until := "⟨t:" + strconv.FormatInt(b.Until, 10) + "⟩"
		return "Link given to " + b.To + ", until " + until
	case checklist.Waiver:
		return "Lead's go-ahead: " + where(stageName(j, b.Stage), j, b.Panel, b.Zone) + ". " + b.Sentence
	case checklist.FilmRoll:
		s := "Film: " + b.Family
		if b.Sheet != "" {
			s += ", " + b.Sheet
		}
		for _, p := range b.Panels {
			s += ", " + panelName(j, p)
		}
		return s
	case checklist.Feature:
		return where("Measured: "+b.Sort, j, b.Panel, "")
	case checklist.Heat:
		switch b.Answer {
		case "not-measured":
			return where("Heat not measured", j, b.Panel, "")
		case "part":
			return where("Heated, a part", j, b.Panel, "")
		}
		return where("Heated", j, b.Panel, "")
	case checklist.Trial:
		return "Trial strip: " + b.Place + ", paint " + b.Paint
	case checklist.Paint:
		return "Paint: " + b.Cure
	case checklist.Patch:
		if b.To == 0 {
			return where("Patches on", j, b.Panel, "")
		}
		return where("Patches looked at: "+b.Seen, j, b.Panel, "")
	case checklist.Asked:
		return checklist.QuestionOf(b.What) + " " + b.Answer
	case checklist.TimeAdopt:
		return "Lead: the typed time is right"
	case checklist.JobRules:
		return "Other numbers: " + b.Why
	case checklist.Photo:
		return where("Photo", j, b.Panel, "")
	case checklist.Voice:
		return "Voice note, " + strconv.Itoa(int(b.Length/1000)) + " s"
	case checklist.Note:
		return b.Text
	case checklist.Forget:
		return "Erased by the lead"
	case nil:
		if len(l.Strikes) > 0 {
			return "Taken back"
		}
	}
	return "Made by a newer version"
}

// viaLink adds to an owner's line that it came by link.
func viaLink(s, link string) string {
	if link == "" {
		return s
	}
	return s + ", by link"
}

func where(s string, j checklist.JobFacts, panel, zone string) string {
	if panel != "" {
		return s + ", " + panelName(j, panel)
	}
	if zone != "" {
		return s + ", " + zone
	}
	return s
}

func answers(answer string) string {
	switch answer {
	case "started":
		return " started"
	case "not-done":
		return " not done"
	case "from-memory":
		return " done, from memory"
	}
	return " done"
}
