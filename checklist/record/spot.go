package record

import "bayhold/checklist"

// Drawn is a step that was drawn for another hand to look at, and what came of
// it. The caller draws: it takes the chain of the logbook, which is not read
// here.
type Drawn struct {
	Stage, Panel, Zone string
	By                 checklist.ID // who said that it is done
	At                 int64
	Seen               bool // somebody answered
	Looked, Right      bool
	SeenBy             checklist.ID
	SeenAt             int64
	Note               string
}

// spots is what was drawn and what was found there, nothing where nothing was.
func (w *writer) spots() Block {
	t := Table{Title: w.say(saySpots), Head: w.heads(headWhat, headWhere, headResult, headWho, headWhen)}
	for _, s := range w.Drawn {
		where := s.Zone
		if s.Panel != "" || where == "" {
			where = w.panel(s.Panel)
		}
		result, who, when := w.say(saySpotOpen), "", ""
		if s.Seen {
			who, when = w.who(s.SeenBy), w.clock(s.SeenAt)
			switch {
			case !s.Looked:
				result = w.say(saySpotNobody)
			case s.Right:
				result = w.say(saySpotRight)
			default:
				result = w.say(saySpotWrong)
			}
			if s.Note != "" {
				result += ", " + s.Note
			}
			if s.Looked && s.SeenBy == s.By && s.By != (checklist.ID{}) {
				result += ", " + w.say(saySpotAlone)
			}
		}
		t.Rows = append(t.Rows, []string{w.stage(s.Stage), where, result, who, when})
	}
	return t
}
