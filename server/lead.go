package server

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"bayhold/checklist"
	leads "bayhold/checklist/lead"
	"bayhold/checklist/plan"
	"bayhold/sync/logbook"
)

// lead answers GET /lead: the plan with its causes, what the night did, the
// alarms, when gates open, the closing walk. Sentences hold the marks of a
// gate's, for the page to put into the shop's zone and units; moments are
// milliseconds since the Unix epoch, 0 for none.
func (s *Server) lead(w http.ResponseWriter, r *http.Request) {
	s.look(w, func(l *leads.Look) error {
		nights, err := s.over.night(l)
		if err != nil {
			return err
		}
		w.Header().Set("Cache-Control", "no-store")
		writeJSON(w, http.StatusOK, map[string]any{
			"at": l.Now.Latest, "plan": planJSON(s.over.schedule(), l), "slips": slipsJSON(s.over.slips), "nights": nightsJSON(nights),
			"alarms": alarmsJSON(l), "told": toldJSON(l), "closing": closingJSON(l),
		})
		return nil
	})
}

// look answers from the shop as it is now, one question at a time, or says that
// it cannot be looked over.
func (s *Server) look(w http.ResponseWriter, answer func(*leads.Look) error) {
	s.over.mu.Lock()
	defer s.over.mu.Unlock()
	l, err := s.over.now()
	if err == nil {
		err = answer(l)
	}
	if err != nil {
		s.log.Error("The shop cannot be looked over: {err}. Run 'bayhold verify'.", "err", err)
		http.Error(w, "the shop's lines cannot be read just now; ask again", http.StatusInternalServerError)
	}
}

type object = map[string]any

func planJSON(s *leads.Schedule, l *leads.Look) object {
	out := object{"bars": []object{}, "jobs": []object{}, "propose": []object{}, "open": []object{}, "refused": s.Refused, "out": append([]string{}, s.Out...)}
	if s.Plan == nil {
		return out
	}
	last := l.Now.Latest
	bars, jobs, propose, open := []object{}, []object{}, []object{}, []object{}
	for _, b := range s.Bars {
		if b.From == b.To {
			continue
		}
		o := object{"job": logbook.ID(s.Jobs[b.Chain]).String(), "label": s.Problem.Chains[b.Chain].Name, "key": b.Key,
			"wait": b.Wait, "from": b.From, "to": b.To, "word": s.Word(b), "who": b.Who}
		if b.Bay != plan.None {
			o["bay"] = s.Problem.Bays[b.Bay].Name
		}
		last = max(last, b.To)
		bars = append(bars, o)
	}
	for i := range s.Problem.Chains {
		c := &s.Problem.Chains[i]
		if c.Film {
			continue
		}
		o := object{"job": logbook.ID(s.Jobs[i]).String(), "label": c.Name, "due": c.Due, "end": s.Ends[i]}
		if why, ok := s.Cause(s.Problem, i); ok {
			o["cause"], o["stage"] = s.Word(why.Bar), why.Key
		}
		jobs = append(jobs, o)
	}
	for _, p := range s.Propose {
		propose = append(propose, object{"kind": p.Kind, "job": logbook.ID(p.Job).String(), "bay": p.Bay, "at": p.At, "say": p.Sentence, "why": p.Why})
	}
	for _, o := range l.Open {
		if o.To > l.Now.Latest && o.From < last {
			open = append(open, object{"from": o.From, "to": o.To})
		}
	}
	out["bars"], out["jobs"], out["propose"], out["open"] = bars, jobs, propose, open
	out["late"], out["exact"] = s.Late, s.Exact
	return out
}

func slipsJSON(slips []leads.Slip) []object {
	out := []object{}
	for _, x := range slips {
		out = append(out, object{"job": logbook.ID(x.Job).String(), "label": x.Label, "was": x.Was, "is": x.Is, "due": x.Due, "lost": x.Lost, "say": x.Sentence, "cause": x.Cause})
	}
	return out
}

func nightsJSON(nights []leads.Night) []object {
	out := []object{}
	for _, n := range nights {
		costs := n.Costs
		if costs == nil {
			costs = []string{}
		}
		out = append(out, object{"place": logbook.ID(n.Place).String(), "name": n.Name, "say": n.Sentence, "costs": costs})
	}
	return out
}

func alarmsJSON(l *leads.Look) []object {
	out := []object{}
	for _, a := range l.Alarms() {
		out = append(out, object{"kind": a.Kind, "place": logbook.ID(a.Place).String(), "job": logbook.ID(a.Job).String(), "label": a.Label,
			"since": a.Since, "by": a.By, "say": a.Fact, "risk": a.Risk, "act": a.Action})
	}
	return out
}

func toldJSON(l *leads.Look) []object {
	out := []object{}
	for _, t := range l.Told() {
		out = append(out, object{"job": logbook.ID(t.Job).String(), "label": t.Label, "stage": t.Stage, "zone": t.Zone,
			"early": t.Kind, "about": t.About, "late": t.Unkind, "next": t.Next, "say": t.Sentence, "assumes": t.Assumes})
	}
	return out
}

func closingJSON(l *leads.Look) []object {
	out := []object{}
	for _, i := range l.Closing() {
		out = append(out, object{"name": i.Name, "say": i.What, "why": i.Why, "first": i.First})
	}
	return out
}

// mayMove answers GET /may/move?job=V5&place=bay-4&at=TIME: may this vehicle go
// into that bay at that moment (RFC 3339; now if it is left out)? Without a
// place it answers for every bay.
func (s *Server) mayMove(w http.ResponseWriter, r *http.Request) {
	at := int64(0)
	if v := r.FormValue("at"); v != "" {
		t, err := time.Parse(time.RFC3339, v)
		if err != nil {
			http.Error(w, fmt.Sprintf("at %q is no RFC 3339 time such as 2026-01-14T06:00:00+01:00", v), http.StatusBadRequest)
			return
		}
		at = t.UnixMilli()
	}
	s.before(w, r, func(l *leads.Look, place checklist.PlaceAdd) (any, string) {
		name := r.FormValue("job")
		for _, id := range l.Shop.Jobs() {
			j, _ := l.Shop.Job(id)
			if j.Closed != "" || !strings.EqualFold(j.Open.Label, name) && logbook.ID(id).String() != strings.ToLower(name) {
				continue
			}
			if place.Place != (checklist.ID{}) {
				return answerJSON(l.Move(id, place.Place, at)), ""
			}
			places := object{}
			for _, p := range l.Shop.Places() {
				if p.Sort == "bay" && p.Place != j.Place {
					places[logbook.ID(p.Place).String()] = answerJSON(l.Move(id, p.Place, at))
				}
			}
			return object{"places": places, "sized": l.Sized(id)}, ""
		}
		return nil, fmt.Sprintf("there is no open job %q", name)
	})
}

// removal answers GET /removal/V22: what the trial strips make one expect of
// taking the old film off, an estimate in sentences.
func (s *Server) removal(w http.ResponseWriter, r *http.Request) {
	s.before(w, r, func(l *leads.Look, _ checklist.PlaceAdd) (any, string) {
		name := r.PathValue("job")
		for _, id := range l.Shop.Jobs() {
			if j, _ := l.Shop.Job(id); strings.EqualFold(j.Open.Label, name) || logbook.ID(id).String() == strings.ToLower(name) {
				return object{"says": append([]string{}, l.Removal(id)...)}, ""
			}
		}
		return nil, fmt.Sprintf("there is no job %q", name)
	})
}

// The sides and rolls that drops are counted for, mm.
const (
	shortestSide, longestSide = 1_000, 30_000
	narrowestRoll, widestRoll = 300, 2_000
)

// drops answers GET /drops?side_mm=12000&roll_mm=1370: how many drops of the
// roll hang on a side.
func (s *Server) drops(w http.ResponseWriter, r *http.Request) {
	side, err1 := strconv.ParseInt(r.FormValue("side_mm"), 10, 64)
	roll, err2 := strconv.ParseInt(r.FormValue("roll_mm"), 10, 64)
	if err1 != nil || err2 != nil || side < shortestSide || side > longestSide || roll < narrowestRoll || roll > widestRoll {
		http.Error(w, fmt.Sprintf("say side_mm from %d to %d and roll_mm from %d to %d", shortestSide, longestSide, narrowestRoll, widestRoll), http.StatusBadRequest)
		return
	}
	writeJSON(w, http.StatusOK, object{"drops": checklist.Drops(side*1000, roll*1000)})
}

// mayLight answers GET /may/light?place=bay-4&flame=yes: may a heater be lit
// there tonight?
func (s *Server) mayLight(w http.ResponseWriter, r *http.Request) {
	flame := r.FormValue("flame")
	if flame != "yes" && flame != "no" {
		http.Error(w, "say flame=yes for a heater that burns gas without a flue, flame=no for a vented or electric one", http.StatusBadRequest)
		return
	}
	if r.FormValue("place") == "" {
		http.Error(w, "say which place: place=bay-4", http.StatusBadRequest)
		return
	}
	s.before(w, r, func(l *leads.Look, place checklist.PlaceAdd) (any, string) {
		return answerJSON(l.Heater(place.Place, flame == "yes")), ""
	})
}

// before answers what a porter asks before the act.
func (s *Server) before(w http.ResponseWriter, r *http.Request, ask func(*leads.Look, checklist.PlaceAdd) (any, string)) {
	var place checklist.PlaceAdd
	if name := r.FormValue("place"); name != "" {
		var ok bool
		if place, ok = s.writer.place(name); !ok {
			http.Error(w, fmt.Sprintf("there is no place %q; the shop has %s", name, s.writer.placeNames()), http.StatusNotFound)
			return
		}
	}
	s.look(w, func(l *leads.Look) error {
		a, why := ask(l, place)
		if why != "" {
			http.Error(w, why, http.StatusNotFound)
			return nil
		}
		w.Header().Set("Cache-Control", "no-store")
		writeJSON(w, http.StatusOK, a)
		return nil
	})
}

func answerJSON(a leads.Answer) object {
	return object{"may": a.Verdict, "say": a.Sentence, "do": a.Action, "label": a.Label, "flush_at": a.FlushAt,
		"early": a.Kind, "about": a.About, "late": a.Unkind, "next": a.Next, "until": a.Until}
}

// planICS answers GET /plan.ics: the plan's work as a calendar (RFC 5545) that
// a phone subscribes to.
func (s *Server) planICS(w http.ResponseWriter, _ *http.Request) { s.writePlan(w, checklist.ID{}) }

// writePlan writes the calendar of one job, or of all for the zero ID.
func (s *Server) writePlan(w http.ResponseWriter, job checklist.ID) {
	s.look(w, func(l *leads.Look) error {
		name := "Plan"
		if set, ok := l.Shop.Setting(); ok && set.Name != "" {
			name = set.Name
		}
		w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
		w.Header().Set("Cache-Control", "no-store")
		w.Write(calendarOf(name, s.over.schedule(), job, l.Now.Latest, zoneOf(l.Shop)))
		return nil
	})
}

// air answers GET /air/{place}: what the picture of a bay's climate is drawn
// from. Series are lists of numbers: the moment in ms, then milli-degrees.
func (s *Server) air(w http.ResponseWriter, r *http.Request) {
	place, ok := s.writer.place(r.PathValue("place"))
	if !ok {
		http.Error(w, fmt.Sprintf("there is no place %q; the shop has %s", r.PathValue("place"), s.writer.placeNames()), http.StatusNotFound)
		return
	}
	s.look(w, func(l *leads.Look) error {
		w.Header().Set("Cache-Control", "no-store")
		writeJSON(w, http.StatusOK, airJSON(l, place))
		return nil
	})
}

func airJSON(l *leads.Look, place checklist.PlaceAdd) object {
	p := l.Plot(place.Place)
	series := func(air []checklist.AirAt, dew bool) [][]int64 {
		out := [][]int64{}
		for _, a := range air {
			if dew {
				out = append(out, []int64{a.At, int64(a.Air), int64(a.Dew)})
			} else {
				out = append(out, []int64{a.At, int64(a.Air)})
			}
		}
		return out
	}
	spots, ahead := []object{}, [][]int64{}
	for _, v := range p.Spots {
		line, counted := [][]int64{}, [][]int64{}
		for i := range v.At {
			line = append(line, []int64{v.At[i], int64(v.Coldest[i])})
		}
		for _, c := range v.Counted {
			counted = append(counted, []int64{c.From, c.To})
		}
		spots = append(spots, object{"label": v.Label, "line": line, "counted": counted})
	}
	for _, a := range p.Ahead {
		ahead = append(ahead, []int64{a.At, a.Air[0], a.Air[1], a.Air[2], a.Dew[0], a.Dew[1], a.Dew[2]})
	}
	return object{"at": l.Now.Latest, "name": place.Name, "low": p.Low, "high": p.High,
		"air": series(p.Air, true), "outside": series(p.Outside, false), "spots": spots, "ahead": ahead}
}

// register answers GET /register: the shop's instruments with their last check
// and error, and those that a place's air was heard from and nobody entered.
func (s *Server) register(w http.ResponseWriter, r *http.Request) {
	s.look(w, func(l *leads.Look) error {
		all, heard, known := []object{}, []object{}, map[string]bool{}
		for _, i := range l.Shop.Instruments(l.Now.Latest) {
			known[i.Name] = true
			all = append(all, object{"name": i.Name, "sort": i.Sort, "error": i.Error, "rh_error": i.RHError, "checked": i.Checked,
				"against": i.Against, "serial": i.Serial, "gone": i.Gone, "due": i.Due})
		}
		for _, p := range l.Shop.Places() {
			for _, name := range l.Shop.Heard(p.Place) {
				if !known[name] {
					known[name] = true
					heard = append(heard, object{"name": name, "place": p.Name})
				}
			}
		}
		w.Header().Set("Cache-Control", "no-store")
		writeJSON(w, http.StatusOK, object{"at": l.Now.Latest, "instruments": all, "heard": heard})
		return nil
	})
}

// hours answers GET /hours: when somebody is there, in ms after midnight from
// Monday on, the days that are shut besides, when the porter comes, and how large
// the places are.
func (s *Server) hours(w http.ResponseWriter, r *http.Request) {
	s.look(w, func(l *leads.Look) error {
		h, places := leads.HoursOf(l.Shop), []object{}
		for _, p := range l.Shop.Places() {
			places = append(places, object{"place": logbook.ID(p.Place).String(), "name": p.Name, "sort": p.Sort, "order": p.Order,
				"length": p.Length, "height": p.Height, "door": p.Door})
		}
		w.Header().Set("Cache-Control", "no-store")
		writeJSON(w, http.StatusOK, object{"at": l.Now.Latest, "week": h.Week, "shut": append([]string{}, h.Shut...), "porter": h.Porter, "places": places})
		return nil
	})
}
