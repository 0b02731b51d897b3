package server

import (
	"bytes"
	"cmp"
	"net/http"
	"slices"
	"strings"

	"bayhold/checklist"
	leads "bayhold/checklist/lead"
	vehicle "bayhold/checklist/record"
	"bayhold/server/paper"
	"bayhold/sync/logbook"
)

// card answers GET /card/{job}.pdf: the job's card to print for the day the
// phones fail, with ?language=es in Spanish and ?size=a4 or letter; without it
// the paper goes by the shop's units.
func (s *Server) card(w http.ResponseWriter, r *http.Request) {
	name, onPaper := strings.CutSuffix(r.PathValue("job"), ".pdf")
	job, ok := logbook.ParseID(name)
	if !ok || !onPaper {
		http.Error(w, "a card is asked for as /card/ID.pdf, by its job's id", http.StatusBadRequest)
		return
	}
	s.printCards(w, r, "card", func(l *leads.Look) []checklist.ID {
		if j, ok := l.Shop.Job(checklist.ID(job)); !ok || j.Closed != "" {
			return nil
		}
		return []checklist.ID{checklist.ID(job)}
	})
}

// cards answers GET /cards.pdf: the cards of every job that is open, for the
// evening before.
func (s *Server) cards(w http.ResponseWriter, r *http.Request) {
	s.printCards(w, r, "cards", func(l *leads.Look) (open []checklist.ID) {
		for _, id := range l.Shop.Jobs() {
			if j, _ := l.Shop.Job(id); j.Closed == "" {
				open = append(open, id)
			}
		}
		label := func(id checklist.ID) string { j, _ := l.Shop.Job(id); return j.Open.Label }
		slices.SortStableFunc(open, func(a, b checklist.ID) int { return cmp.Compare(label(a), label(b)) })
		return open
	})
}

// printCards writes the cards of the jobs that are picked.
func (s *Server) printCards(w http.ResponseWriter, r *http.Request, name string, pick func(*leads.Look) []checklist.ID) {
	language, size := r.FormValue("language"), r.FormValue("size")
	if language == "" {
		language = checklist.Languages[0]
	}
	if !slices.Contains(checklist.Languages, language) {
		http.Error(w, "a card is written in "+strings.Join(checklist.Languages, " or "), http.StatusBadRequest)
		return
	}
	if size != "" && size != "a4" && size != "letter" {
		http.Error(w, "a card is printed on size=a4 or size=letter", http.StatusBadRequest)
		return
	}
	at := "http://"
	if r.TLS != nil {
		at = "https://"
	}
	at += r.Host + "/#/job/"
	s.look(w, func(l *leads.Look) error {
		var cards []*vehicle.Record
		for _, id := range pick(l) {
			if c, ok := vehicle.CardOf(l.Shop, vehicle.Asked{Job: id, Now: l.Now, Zone: zoneOf(l.Shop), Language: language}, at+logbook.ID(id).String()); ok {
				cards = append(cards, c)
			}
		}
		if len(cards) == 0 {
			http.Error(w, "no open job has a card to print", http.StatusNotFound)
			return nil
		}
		set, _ := l.Shop.Setting()
		o := paper.Options{Size: paper.A4}
		if size == "letter" || size == "" && set.Units == "F" {
			o.Size = paper.Letter
		}
		var out bytes.Buffer
		if err := paper.WriteCards(&out, cards, o); err != nil {
			return err
		}
		if len(cards) == 1 {
			j, _ := l.Shop.Job(pick(l)[0])
			name += strings.TrimPrefix(RecordName(j.Open), "record")
		}
		w.Header().Set("Cache-Control", "no-store")
		w.Header().Set("Content-Type", "application/pdf")
		w.Header().Set("Content-Disposition", `inline; filename="`+name+`.pdf"`)
		_, err := w.Write(out.Bytes())
		return err
	})
}
