package view_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/view"
	"bayhold/checklist/view/jsonout"
	"bayhold/sync/logbook"
)

func id(name string) checklist.ID { return checklist.ID(logbook.Named(name)) }

const now = int64(1_768_377_600_000) // 2026-01-14 08:00 UTC

// small is a shop with a bay, three people, one job of two panels, and a bit
// of everything that a job's view shows.
func small() *checklist.Shop {
	s := checklist.NewShop()
	seq := map[checklist.Log]uint64{}
	add := func(log checklist.Log, at int64, by string, body checklist.Body, kept bool) checklist.LineID {
		seq[log]++
		l := checklist.Line{Log: log, ID: checklist.LineID{Writer: id("phone"), Seq: seq[log]}, By: id(by),
			Span: checklist.Span{Earliest: at, Latest: at}, Body: body, Kind: body.Kind()}
		if kept {
			l.Order = seq[log]
		}
		s.Add(l)
		return l.ID
	}
	shop := checklist.Log{Class: 's', ID: id("shop")}
	add(shop, now-9e8, "lead", checklist.ShopSet{Name: "Hall \"North\"", Units: "C", Zone: "Europe/Berlin"}, true)
	add(shop, now-9e8, "lead", checklist.PlaceAdd{Place: id("bay"), Name: "bay 4", Sort: "bay", Order: 4}, true)
	add(shop, now-9e8, "lead", checklist.PersonAdd{Person: id("lead"), Name: "A. Lead", Initials: "AL", Role: "lead"}, true)
	add(shop, now-9e8, "lead", checklist.PersonAdd{Person: id("crew"), Name: "B. Crew", Initials: "BC", Role: "crew"}, true)
	add(checklist.Log{Class: 'p', ID: id("bay")}, now-60_000, "crew", checklist.ClimateReading{Air: 20000, RH: 55000}, true)
	job := checklist.Log{Class: 'j', ID: id("job")}
	add(job, now-8e6, "lead", checklist.JobOpen{Label: "V5", Customer: "C", Vehicle: "van", Route: "panels", Place: id("bay"), Promise: now + 8e6,
		Panels: []checklist.Panel{{ID: "l", Name: "Left side", Zone: "upper"}, {ID: "s", Name: "Left sill", Zone: "lower"}},
		Spots:  []checklist.Spot{{ID: "1", Name: "rear left sill", Zone: "lower"}}}, true)
	add(job, now-7e6, "crew", checklist.Tick{Stage: "wash", Answer: "done"}, true)
	found := add(job, now-6e6, "crew", checklist.Finding{Panel: "l", What: "chip", Note: "<b>", Walk: "check-in", Size: 5_000}, true)
	add(job, now-5e6, "lead", checklist.FindingAnswer{Finding: found, Answer: "accepted"}, true)
	add(job, now-4e6, "crew", checklist.Sign{What: "inspection", As: "owner", Name: "D. Owner"}, true)
	add(job, now-60_000, "crew", checklist.Reading{Values: []checklist.SpotValue{{Spot: "1", Surface: 16500}}, Instrument: "contact"}, true)
	add(job, now-30_000, "crew", checklist.Note{Text: "line\nbreak"}, false)
	return s
}

func paint(t *testing.T, s *checklist.Shop, name string, job checklist.ID, person string) map[string]any {
	t.Helper()
	var w jsonout.Writer
	r := view.Reader{Person: id(person), Writer: id("phone"), Now: checklist.Span{Earliest: now, Latest: now}, Clock: now}
	if !view.Write(&w, s, name, job, r) {
		t.Fatalf("no view %s", name)
	}
	var v map[string]any
	if err := json.Unmarshal(w.Bytes(), &v); err != nil {
		t.Fatalf("%s: %v\n%s", name, err, w.Bytes())
	}
	return v
}

// at finds a value by its path: "lines.0.text".
func at(v any, path string) any {
	for _, step := range strings.Split(path, ".") {
		switch x := v.(type) {
		case map[string]any:
			v = x[step]
		case []any:
			var i int
			if fmt.Sscan(step, &i); i >= len(x) {
				return "no such element"
			}
			v = x[i]
		default:
			return "no such path"
		}
	}
	return v
}

func TestViews(t *testing.T) {
	s := small()
	for _, row := range []struct {
		view, person, path string
		want               any
	}{
		{"home", "crew", "v", "home"},
		{"home", "crew", "now", float64(now)},
		{"home", "crew", "shop.name", `Hall "North"`},
		{"home", "crew", "me.initials", "BC"},
		{"home", "", "me", nil},
		{"home", "crew", "jobs.0.label", "V5"},
		{"home", "crew", "jobs.0.place_name", "bay 4"},
		{"home", "crew", "jobs.0.only_here", 1.0},
		{"home", "crew", "routes.0.key", checklist.Routes[0].Key},
		{"job", "crew", "route.name", "Single panels"},
		{"job", "crew", "stages.0.key", "wash"},
		{"job", "crew", "panels.1.wipe.state", "none"},
		{"job", "crew", "hang.0", "l"},
		{"job", "crew", "hang.1", "s"},
		{"job", "crew", "circle", ""},
		{"job", "crew", "spots.0.last.surface", 16500.0},
		{"job", "crew", "spots.0.last.by", "BC"},
		{"job", "crew", "climate.air", 20000.0},
		{"job", "crew", "climate.source", "hand"},
		{"job", "crew", "margin.spot_name", "rear left sill"},
		{"job", "crew", "findings.0.note", "<b>"},
		{"job", "crew", "findings.0.answer", "accepted"},
		{"job", "crew", "findings.0.panel_name", "Left side"},
		{"job", "crew", "findings.0.walk", "check-in"},
		{"job", "crew", "findings.0.size", 5000.0},
		{"job", "crew", "signatures.0.what", "inspection"},
		{"job", "crew", "signatures.0.as", "owner"},
		{"job", "crew", "lines.0.text", "line\nbreak"},
		{"job", "crew", "lines.0.where", "here"},
		{"job", "crew", "lines.0.mine", true},
		{"job", "crew", "lines.1.text", "rear left sill ⟨c:16500⟩"},
		{"job", "crew", "lines.1.where", "shop"},
		{"job", "crew", "lines.5.text", "Wash done"},
		{"job", "crew", "lines.6.text", "Job begun: V5"},
		{"board", "lead", "places.0.jobs.0.label", "V5"},
		{"board", "lead", "places.0.jobs.0.last_by", "BC"},
		{"board", "lead", "urgent.0", logbook.ID(id("job")).String()},
		{"setup", "lead", "people.0.name", "A. Lead"},
		{"rules", "lead", "rules.0.key", checklist.RuleTable[0].Key},
		{"rules", "lead", "default", true},
	} {
		if got := at(paint(t, s, row.view, id("job"), row.person), row.path); got != row.want {
			t.Errorf("%s %s: %v, want %v", row.view, row.path, got, row.want)
		}
	}
}

// Only the lead is offered a go-ahead, where something holds and where what
// follows laying may be left undone.
func TestWaivable(t *testing.T) {
	s := small()
	laid := checklist.Log{Class: 'j', ID: id("laid")}
	for i, b := range []checklist.Body{
		checklist.JobOpen{Label: "V6", Route: "van", Place: id("bay"), Panels: []checklist.Panel{{ID: "l", Name: "Left side", Zone: "upper", Contour: true}}},
		checklist.Tick{Stage: "wipe", Panel: "l", Answer: "done"}, checklist.Tick{Stage: "lay", Panel: "l", Answer: "done"},
		checklist.Tick{Stage: "settle", Panel: "l", Answer: "done"}, checklist.Tick{Stage: "trim", Panel: "l", Answer: "done", How: "tape"},
	} {
		at := now - 3e6 + int64(i)*6e5
		s.Add(checklist.Line{Log: laid, ID: checklist.LineID{Writer: id("phone"), Seq: uint64(i + 1)}, Order: uint64(i + 1), By: id("crew"),
			Span: checklist.Span{Earliest: at, Latest: at}, Body: b, Kind: b.Kind()})
	}
	for _, st := range paint(t, s, "job", id("laid"), "lead")["stages"].([]any) {
		if at(st, "key") == "post-heat" && (at(st, "gates.0.state") != "open" || at(st, "gates.0.waivable") != true) {
			t.Errorf("post-heat left undone: %v", st)
		}
	}
	count := func(person string) (n int) {
		for _, st := range paint(t, s, "job", id("job"), person)["stages"].([]any) {
			for _, g := range st.(map[string]any)["gates"].([]any) {
				g := g.(map[string]any)
				if g["waivable"] == true {
					n++
					if g["state"] == "open" || g["state"] == "done" || len(g["causes"].([]any)) == 0 {
						t.Errorf("waivable: %v", g)
					}
				}
			}
		}
		return n
	}
	if lead, crew := count("lead"), count("crew"); lead == 0 || crew != 0 {
		t.Errorf("the lead may waive %d gates and crew %d", lead, crew)
	}
}

func TestNoSuchView(t *testing.T) {
	var w jsonout.Writer
	for name, job := range map[string]string{"job": "nowhere", "jobs": "job", "": "job"} {
		if view.Write(&w, small(), name, id(job), view.Reader{}) || len(w.Bytes()) != 0 {
			t.Errorf("view %q of %s is there: %s", name, job, w.Bytes())
		}
	}
}
