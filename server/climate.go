package server

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// climate takes a logger's samples: POST /climate/{place}, the place by its
// name (bay-4 is as good as Bay 4) or id.
//
//	{"instrument": "bay-4-mid",
//	 "samples": [{"at": "2026-01-14T07:50:00+01:00", "air_c": 20.0, "rh_pct": 75,
//	              "surfaces": [{"job": "V5", "spot": "1", "c": 7.6}]}]}
//
// What is wrong with a sample is said sample by sample, and the rest is kept:
//
//	{"kept": 1, "refused": [{"index": 1, "why": "rh_pct 140 is no ..."}]}
//
// Kept means on disk. The same sample sent again is kept once. Samples go into
// windows (window.go), which become lines of the place's logbook every ten
// minutes; surfaces become readings in the job's logbook at once.
func (s *Server) climate(w http.ResponseWriter, r *http.Request) {
	place, ok := s.writer.place(r.PathValue("place"))
	if !ok {
		http.Error(w, fmt.Sprintf("there is no place %q; the shop has %s", r.PathValue("place"), s.writer.placeNames()),
			http.StatusNotFound)
		return
	}
	if why := s.mayPost(r, place); why != "" {
		http.Error(w, why, http.StatusUnauthorized)
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, 1<<20))
	if err != nil {
		http.Error(w, "this post cannot be read: "+err.Error(), http.StatusBadRequest)
		return
	}
	instrument, samples, err := samplesOf(r, body)
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	rows := make([]csvRow, len(samples))
	for i, raw := range samples {
		rows[i] = csvRow{line: i, json: raw}
	}
	s.takeSamples(w, r, place, instrument, rows, object{})
}

// mayPost says why a logger may not post for a place, "" if it may. Where phones
// have to join, a logger has to have a key.
func (s *Server) mayPost(r *http.Request, place checklist.PlaceAdd) string {
	if s.loggerGrant(r, place) {
		return ""
	}
	if s.closed && s.cfg.LoggerKeys == nil {
		return "this shop takes readings of a logger only with its bay's key: a lead's own phone makes one, under Phones"
	}
	return s.cfg.LoggerKeys.refuse(r, place.Name, logbook.ID(place.Place).String())
}

// climateFile takes a logger's CSV file: POST /climate/{place}/file with
// ?instrument=NAME and, if the logger's clock is not the shop's, its own time
// at this moment: &clock=2026-01-14T07:50:00. The answer tells the offset that
// every time was moved by, and the lines that were refused.
func (s *Server) climateFile(w http.ResponseWriter, r *http.Request) {
	place, ok := s.writer.place(r.PathValue("place"))
	if !ok {
		http.Error(w, fmt.Sprintf("there is no place %q; the shop has %s", r.PathValue("place"), s.writer.placeNames()),
			http.StatusNotFound)
		return
	}
	if why := s.mayPost(r, place); why != "" {
		http.Error(w, why, http.StatusUnauthorized)
		return
	}
	s.writer.mu.RLock()
	zone := zoneOf(s.writer.shop)
	s.writer.mu.RUnlock()
	var offset time.Duration
	if v := r.URL.Query().Get("clock"); v != "" {
		own, err := readMoment(v, zone)
		if err != nil {
			http.Error(w, fmt.Sprintf("clock %q is no time such as 2026-01-14T07:50:00", v), http.StatusBadRequest)
			return
		}
		offset = time.UnixMilli(s.clock()).Sub(own).Round(time.Second)
	}
	rows, err := rowsOf(http.MaxBytesReader(w, r.Body, 4<<20), zone, offset)
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	s.takeSamples(w, r, place, r.URL.Query().Get("instrument"), rows, object{"offset_s": int64(offset / time.Second)})
}

// takeSamples keeps the good samples of a post durably and answers what was wrong with
// the others.
func (s *Server) takeSamples(w http.ResponseWriter, r *http.Request, place checklist.PlaceAdd, instrument string, rows []csvRow, answer object) {
	instrument = strings.TrimSpace(instrument)
	switch {
	case instrument == "" || len(instrument) > 60:
		http.Error(w, "the instrument needs a name of 1 to 60 bytes, always the same one", http.StatusBadRequest)
		return
	case len(rows) == 0:
		http.Error(w, "there are no samples", http.StatusBadRequest)
		return
	case len(rows) > maxSamples:
		http.Error(w, fmt.Sprintf("at most %d samples at once", maxSamples), http.StatusRequestEntityTooLarge)
		return
	}
	type refused struct {
		Index int    `json:"index"`
		Why   string `json:"why"`
	}
	bad := []refused{}
	var good []sample
	now := time.UnixMilli(s.clock())
	jobs := s.jobsOnce()
	for _, r := range rows {
		smp, why := sample{}, r.why
		if why == "" {
			smp, why = readSample(r.json, now)
		}
		if why == "" {
			why = s.resolve(&smp, jobs)
		}
		if why != "" {
			bad = append(bad, refused{r.line, why})
			continue
		}
		good = append(good, smp)
	}
	if len(good) > 0 {
		ctx, cancel := context.WithTimeout(r.Context(), 10*time.Second)
		defer cancel()
		if err := s.keepSamples(ctx, place, instrument, good); err != nil {
			s.log.Error(`What logger "{instrument}" of {place} sent cannot be written: {err}`, "place", place.Name, "instrument", instrument, "err", err)
			http.Error(w, "the samples could not be written; send them again later", http.StatusServiceUnavailable)
			return
		}
	}
	answer["kept"], answer["refused"] = len(good), bad
	if len(bad) > 0 {
		s.log.Warn(`Logger "{instrument}" of {place} sent readings that are refused: {why}`, "place", place.Name, "instrument", instrument, "why", bad[0].Why, "refused", len(bad))
	}
	code := http.StatusOK
	if len(good) == 0 {
		code = http.StatusUnprocessableEntity
	}
	writeJSON(w, code, answer)
}

// keepSamples stores samples durably and writes the readings that they carry.
func (s *Server) keepSamples(ctx context.Context, place checklist.PlaceAdd, instrument string, samples []sample) error {
	newest := samples[0]
	err := s.writer.do(ctx, func(p *pen) error {
		for _, smp := range samples {
			key := windowKey{windowStart(smp.at), logbook.ID(place.Place), instrument}
			fresh, err := p.addSample(key, smp)
			if err != nil {
				return err
			}
			if !fresh {
				continue
			}
			if err := p.writeReadings(instrument, smp); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, smp := range samples {
		s.windows.open(windowKey{windowStart(smp.at), logbook.ID(place.Place), instrument})
		if smp.at > newest.at {
			newest = smp
		}
	}
	if newest.climate {
		s.hub.live(placeLog(logbook.ID(place.Place)), line.Encode(blockOf(instrument, []point{{newest.at, newest.air, newest.rh}})))
	}
	return nil
}

// writeReadings makes one reading for each job that the sample saw.
func (p *pen) writeReadings(instrument string, smp sample) error {
	readings := map[string]*checklist.Reading{}
	var jobs []string // in the order of the sample
	for _, f := range smp.surfaces {
		r := readings[f.job]
		if r == nil {
			r = &checklist.Reading{Instrument: "logger", With: instrument, At: smp.at}
			readings[f.job] = r
			jobs = append(jobs, f.job)
		}
		r.Values = append(r.Values, checklist.SpotValue{Spot: f.spot, Surface: f.c})
	}
	for _, id := range jobs {
		job, _ := logbook.ParseID(id) // resolve has put ids in
		if err := p.write(logbook.Log{Class: checklist.JobLog, ID: job}, *readings[id]); err != nil {
			return err
		}
	}
	return nil
}

func placeLog(id logbook.ID) logbook.Log { return logbook.Log{Class: checklist.PlaceLog, ID: id} }

// openJob is what a surface's job and spot are looked up in.
type openJob struct {
	id    logbook.ID
	label string
	spots map[string]bool
}

// jobsOnce reads the open jobs when they are first asked for.
func (s *Server) jobsOnce() func() ([]openJob, error) {
	var jobs []openJob
	var err error
	done := false
	return func() ([]openJob, error) {
		if !done {
			jobs, err = s.store.openJobs()
			done = true
		}
		return jobs, err
	}
}

// resolve replaces the jobs of a sample's surfaces by their ids, or says which
// job or spot the shop does not have.
func (s *Server) resolve(smp *sample, jobs func() ([]openJob, error)) string {
	for i := range smp.surfaces {
		f := &smp.surfaces[i]
		open, err := jobs()
		if err != nil {
			s.log.Error("The open jobs cannot be read: {err}. Run 'bayhold verify'.", "err", err)
			return "the shop's jobs cannot be read just now"
		}
		var found []openJob
		for _, j := range open {
			if strings.EqualFold(j.label, f.job) || j.id.String() == strings.ToLower(f.job) {
				found = append(found, j)
			}
		}
		switch {
		case len(found) == 0:
			return fmt.Sprintf("there is no open job %q", f.job)
		case len(found) > 1:
			return fmt.Sprintf("%d open jobs are called %q; send the id", len(found), f.job)
		case !found[0].spots[f.spot]:
			return fmt.Sprintf("job %s has no spot %q", found[0].label, f.spot)
		}
		f.job = found[0].id.String()
	}
	return ""
}

// openJobs reads how every job that is not handed over began. A job's first
// line opens it; should another have arrived first, it is among the next.
func (st *Store) openJobs() ([]openJob, error) {
	var out []openJob
	for log, h := range st.Heads() {
		if log.Class != checklist.JobLog || h.Closed != (logbook.Ref{}) {
			continue
		}
		lines, err := st.After(log, 0, 8, 1<<20)
		if err != nil {
			return nil, err
		}
		for _, l := range lines {
			e, err := logbook.Decode(l.Entry)
			if err != nil {
				return nil, err
			}
			body, err := line.Decode(e.Kind, e.Body)
			var malformed *line.Malformed
			if errors.As(err, &malformed) {
				continue
			}
			if open, ok := body.(checklist.JobOpen); ok {
				j := openJob{log.ID, open.Label, map[string]bool{}}
				for _, spot := range open.Spots {
					j.spots[spot.ID] = true
				}
				out = append(out, j)
				break
			}
		}
	}
	return out, nil
}

// place finds a place by its id or, however it is spaced and spelt, its name.
func (w *writer) place(name string) (checklist.PlaceAdd, bool) {
	w.mu.RLock()
	defer w.mu.RUnlock()
	for _, p := range w.shop.Places() {
		if plain(p.Name) == plain(name) || logbook.ID(p.Place).String() == strings.ToLower(name) {
			return p, true
		}
	}
	return checklist.PlaceAdd{}, false
}

func (w *writer) placeNames() string {
	w.mu.RLock()
	defer w.mu.RUnlock()
	var names []string
	for _, p := range w.shop.Places() {
		names = append(names, p.Name)
	}
	if len(names) == 0 {
		return "no places yet"
	}
	return strings.Join(names, ", ")
}

// plain is a name without case, spaces, hyphens and underscores.
func plain(name string) string {
	return strings.NewReplacer(" ", "", "-", "", "_", "").Replace(strings.ToLower(name))
}
