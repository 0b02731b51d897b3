package server

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"bayhold/checklist"
	leads "bayhold/checklist/lead"
	"bayhold/sync/logbook"
	"bayhold/testdata/demo"
	"bayhold/testdata/demo/story"
)

// says writes lines of the shop's logbook.
func (s *shopAt) says(t *testing.T, log logbook.Log, bodies ...checklist.Body) {
	t.Helper()
	err := s.writer.do(context.Background(), func(p *pen) error {
		for _, b := range bodies {
			if err := p.write(log, b); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// The register as the lead's screen asks for it: what was entered, with what is
// due, and the loggers that were heard and that nobody entered. A logger's
// readings of a surface name it.
func TestRegister(t *testing.T) {
	s, now := demoAt(t, 'A', story.Tuesday, "22:00")
	shop := logbook.Log{Class: checklist.ShopLog, ID: logbook.Named(demo.Shop)}
	var a struct {
		Instruments []struct {
			Name  string
			Error int64
			Due   bool
		}
		Heard []struct{ Name, Place string }
	}
	decoded(t, s.http.URL+"/register", &a)
	if len(a.Instruments) != 0 || len(a.Heard) < 6 {
		t.Fatalf("%+v", a)
	}
	first, all := a.Heard[0], len(a.Heard)
	s.says(t, shop, checklist.Instrument{Name: first.Name, Sort: "air", Error: 500, RHError: 3000, Checked: now.Load()},
		checklist.Instrument{Name: "IR 1", Sort: "infrared", Error: 1500, Checked: now.Load() - 40*24*3_600_000})
	decoded(t, s.http.URL+"/register", &a)
	if len(a.Instruments) != 2 || len(a.Heard) != all-1 || a.Heard[0] == first {
		t.Fatalf("%+v", a)
	}
	for _, i := range a.Instruments {
		if i.Due != (i.Name == "IR 1") || i.Error == 0 {
			t.Errorf("%+v", i)
		}
	}
	if code, answer := s.post(t, "bay-3", `{"instrument":"probe 9","samples":[{"at":"2026-01-13T21:59:00Z","air_c":20,"rh_pct":45,"surfaces":[{"job":"V2","spot":"1","c":19}]}]}`); code != 200 {
		t.Fatal(answer)
	}
	bodies := s.bodies(t, logbook.Log{Class: checklist.JobLog, ID: logbook.ID(story.ID("V2"))})
	if r, ok := bodies[len(bodies)-1].(checklist.Reading); !ok || r.With != "probe 9" {
		t.Errorf("%+v", bodies[len(bodies)-1])
	}
}

// The shop's own hours reach the plan, and a bay's size the porter's question.
func TestHoursAndBays(t *testing.T) {
	s, _ := demoAt(t, 'A', story.Tuesday, "22:00", "job:V1", "job:V2", "job:V3", "job:V4")
	shop := logbook.Log{Class: checklist.ShopLog, ID: logbook.Named(demo.Shop)}
	h := checklist.ShopHours{Week: slices.Clone(leads.UsualHours.Week), Shut: []string{"2026-01-14"}}
	h.Week[6], h.Week[7] = 9*3_600_000, 12*3_600_000 // Thursday
	var bay checklist.PlaceAdd
	for _, b := range s.bodies(t, shop) {
		if p, ok := b.(checklist.PlaceAdd); ok && p.Name == "Bay 4" {
			bay = p
		}
	}
	bay.Length = 6_500_000
	s.says(t, shop, h, bay)
	s.says(t, logbook.Log{Class: checklist.JobLog, ID: logbook.ID(story.ID("V5"))}, checklist.Asked{What: "length-mm", Answer: "6900"})
	var a leadAnswer
	decoded(t, s.http.URL+"/lead", &a)
	for _, b := range a.Plan.Bars {
		from := time.UnixMilli(b.From).UTC()
		if at := from.Hour()*60 + from.Minute(); !b.Wait && (from.Format(time.DateOnly) == "2026-01-14" || from.Weekday() == time.Thursday && (at < 9*60 || at >= 12*60)) {
			t.Errorf("%s works at %s", b.Key, from)
		}
		if b.Bay == "Bay 4" {
			t.Errorf("%s in Bay 4, which is too short", b.Key)
		}
	}
	if len(a.Plan.Bars) == 0 {
		t.Error("no plan")
	}
	var may struct{ May, Say string }
	decoded(t, s.http.URL+"/may/move?job=V5&place=bay-4", &may)
	if may.May != "no" || may.Say != "V5 is 6.9 m long, Bay 4 takes 6.5 m." {
		t.Errorf("%+v", may)
	}
	var back struct {
		Week   []int64
		Shut   []string
		Places []struct {
			Name   string
			Length int64
		}
	}
	decoded(t, s.http.URL+"/hours", &back)
	if !slices.Equal(back.Week, h.Week) || strings.Join(back.Shut, "") != "2026-01-14" {
		t.Errorf("%+v", back)
	}
	for _, p := range back.Places {
		if (p.Length != 0) != (p.Name == "Bay 4") {
			t.Errorf("%+v", p)
		}
	}
}
