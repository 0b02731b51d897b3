package server

import (
	"encoding/json"
	"net/http"
	"slices"
	"time"

	"bayhold/checklist"
	"bayhold/sync/logbook"
)

// A phone carries what is at work, and copies stay on it for longer: they heal a
// shop whose disk died. After keptFor the shop has had its backups, and a phone
// that kept everything would be slower at every start. So once a day it asks what
// of its copies it can spare: a job that was handed over, whole, with its photos;
// of a place, the rows that end before what a new phone would be given.

// keptFor is how long phones keep a copy of what is over.
const keptFor = 30 * 24 * time.Hour

// spared is what a phone can spare of what it has.
type spared struct {
	Over  []string            `json:"over"`  // jobs
	Begin map[string]beginsAt `json:"begin"` // places whose copy may begin behind a row's end
}

// beginsAt is the order of a line and the hash that the chain has behind it: a
// copy that begins there is proven from there on.
type beginsAt struct {
	Order uint64 `json:"order"`
	Hash  []byte `json:"hash"`
}

// spare answers POST /spare: {"jobs": [id], "places": {id: [order at which a row of
// the copy ends]}}.
func (s *Server) spare(w http.ResponseWriter, r *http.Request) {
	var has struct {
		Jobs   []string
		Places map[string][]uint64
	}
	if err := json.NewDecoder(http.MaxBytesReader(w, r.Body, 1<<20)).Decode(&has); err != nil {
		http.Error(w, "this request cannot be read: "+err.Error(), http.StatusBadRequest)
		return
	}
	can, err := s.store.spare(has.Jobs, has.Places)
	if err != nil {
		s.log.Error("What a phone can spare is not known: {err}", "err", err)
		http.Error(w, "the shop's store cannot be read", http.StatusInternalServerError)
		return
	}
	writeJSON(w, http.StatusOK, can)
}

func (st *Store) spare(jobs []string, places map[string][]uint64) (spared, error) {
	can := spared{Over: []string{}, Begin: map[string]beginsAt{}}
	cutoff := st.now().Add(-keptFor).UnixMilli()
	since, heads := st.since(cutoff), st.Heads()
	err := st.read(func(v view) error {
		for _, name := range jobs {
			id, _ := logbook.ParseID(name) // no job's is zero
			log := logbook.Log{Class: checklist.JobLog, ID: id}
			h := heads[log]
			if h.Closed == (logbook.Ref{}) {
				continue
			}
			last, err := v.orderBefore(log, h.Order, cutoff)
			if err != nil {
				return err
			}
			if last == h.Order {
				can.Over = append(can.Over, name)
			}
		}
		for name, ends := range places {
			id, _ := logbook.ParseID(name)
			log := logbook.Log{Class: checklist.PlaceLog, ID: id}
			from, err := v.orderBefore(log, heads[log].Order, since)
			if err != nil {
				return err
			}
			begin := uint64(0)
			for _, end := range ends {
				if end <= from {
					begin = max(begin, end)
				}
			}
			if line, ok := v.line(log, begin); ok {
				can.Begin[name] = beginsAt{begin, slices.Clone(line.Chain[:])}
			}
		}
		return nil
	})
	return can, err
}
