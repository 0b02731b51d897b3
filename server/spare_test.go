package server

import (
	"bytes"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/sync/logbook"
)

// A job was handed over on day 0, another too, of which a late line came on day
// 15, a third is open since day 20. What a phone can spare on day 31 is the first;
// of a bay's air what came before day 1, in whole rows; and nothing of the air
// while a job is open that began with it.
func TestSpare(t *testing.T) {
	const day = 24 * time.Hour
	var now atomic.Int64
	s := startShopAt(t, t.TempDir(), &now)
	start := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	at := func(n int) { now.Store(start.Add(time.Duration(n) * day).UnixMilli()) }
	job := func(name string) logbook.Log { return logbook.Log{Class: checklist.JobLog, ID: logbook.Named(name)} }
	over, late, open, old := job("over"), job("late"), job("open"), job("old")
	bay := logbook.Log{Class: checklist.PlaceLog, ID: logbook.Named("bay")}
	opens := checklist.JobOpen{Label: "V", Route: "van", Panels: []checklist.Panel{{ID: "roof", Name: "Roof"}}}
	closes := checklist.JobClose{How: "no-film"}
	air := checklist.ClimateReading{Air: 20_000, RH: 50_000}

	at(0)
	s.says(t, over, opens, closes)
	s.says(t, late, opens, closes)
	s.says(t, old, opens)
	s.says(t, bay, air, air)
	at(10)
	s.says(t, bay, air)
	at(15)
	s.says(t, late, checklist.Note{Text: "still down"})
	at(20)
	s.says(t, open, opens)
	s.says(t, bay, air)

	ask := func() (can spared) {
		t.Helper()
		has, _ := json.Marshal(map[string]any{
			"jobs":   []string{over.ID.String(), late.ID.String(), open.ID.String(), job("unknown").ID.String(), "V5", ""},
			"places": map[string][]uint64{bay.ID.String(): {1, 2, 3, 4}, logbook.Named("yard").String(): {1}, "": {1}}})
		r, err := http.Post(s.http.URL+"/spare", "application/json", bytes.NewReader(has))
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		if err := json.NewDecoder(r.Body).Decode(&can); err != nil || r.StatusCode != http.StatusOK {
			t.Fatal(r.Status, err)
		}
		return can
	}
	at(29)
	if can := ask(); len(can.Over) > 0 || len(can.Begin) > 0 {
		t.Errorf("on day 29: %+v", can)
	}
	at(31)
	if can := ask(); !slices.Equal(can.Over, []string{over.ID.String()}) || len(can.Begin) > 0 {
		t.Errorf("while a job is open that is as old as the air: %+v", can)
	}
	s.says(t, old, closes)
	lines, err := s.store.After(bay, 0, 2, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	chain := logbook.Genesis(bay) // and behind line 2, by its definition
	for _, l := range lines {
		chain = logbook.NextSum(chain, l.Receipt, logbook.EntrySum(l.Entry))
	}
	can := ask()
	if got := can.Begin[bay.ID.String()]; !slices.Equal(can.Over, []string{over.ID.String()}) || len(can.Begin) != 1 || got.Order != 2 || !bytes.Equal(got.Hash, chain[:]) {
		t.Errorf("on day 31: %+v, want the first job, and the air from behind line 2, %x", can, chain)
	}
	at(46)
	if can := ask(); !slices.Equal(can.Over, []string{over.ID.String(), late.ID.String()}) || can.Begin[bay.ID.String()].Order != 3 {
		t.Errorf("on day 46: %+v", can)
	}

	r, err := http.Post(s.http.URL+"/spare", "application/json", strings.NewReader(`{"jobs": 5}`))
	if err != nil {
		t.Fatal(err)
	}
	if r.Body.Close(); r.StatusCode != http.StatusBadRequest {
		t.Error("what cannot be read is answered with", r.Status)
	}
}
