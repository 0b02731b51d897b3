package server

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"

	"bayhold/checklist"
	"bayhold/server/join"
	"bayhold/sync/logbook"
)

// opens makes a grant and answers what the lead is shown once.
func (s *shopAt) opens(t *testing.T, pass, sort string, about logbook.ID) (d struct{ ID, Key, URL, Curl string }) {
	t.Helper()
	ask := object{"sort": sort}
	if !about.IsZero() {
		ask["about"] = about.String()
	}
	code, body := s.ask(t, "POST", "/grants", pass, ask)
	if err := json.Unmarshal([]byte(body), &d); code != http.StatusOK || err != nil {
		t.Fatalf("%d %s", code, body)
	}
	return d
}

// posts is a logger's post with a key.
func (s *shopAt) posts(t *testing.T, place, key string) int {
	t.Helper()
	code, _ := s.ask(t, "POST", "/climate/"+place+"?instrument=x", "", object{"at": time.Now().UTC().Format(time.RFC3339), "air_c": 20.0, "rh_pct": 55},
		func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+key) })
	return code
}

// A logger's key writes its own bay's climate, over a restart, until it is taken
// away. It opens nothing else.
func TestLoggerGrant(t *testing.T) {
	s := startClosed(t, t.TempDir())
	mara, bay, p, _ := s.atWork(t)
	four, five := logbook.Named("bay 4"), logbook.Named("bay 5")
	p.write(s.store.shop, lead, checklist.PlaceAdd{Place: checklist.ID(four), Name: "Bay 4", Sort: "bay", Order: 4})
	p.write(s.store.shop, lead, checklist.PlaceAdd{Place: checklist.ID(five), Name: "Bay 5", Sort: "bay", Order: 5})
	p.untilKept()
	s.said(t, 403, "lead's own phone", "POST", "/grants", bay.pass, object{"sort": "logger", "about": four.String()})
	s.said(t, 404, "no such bay", "POST", "/grants", mara.pass, object{"sort": "logger", "about": logbook.Named("nowhere").String()})
	s.said(t, 404, "no such bay", "POST", "/grants", mara.pass, object{"sort": "logger"})
	s.said(t, 400, "logger's key or a calendar's address", "POST", "/grants", mara.pass, object{"sort": "<script>", "about": four.String()})
	d := s.opens(t, mara.pass, "logger", four)
	if len(d.Key) != 22 || !strings.Contains(d.Curl, "'Authorization: Bearer "+d.Key+"'") || !strings.Contains(d.Curl, "/climate/bay4?instrument=bay4'") {
		t.Errorf("shown once: %+v", d)
	}
	check := func(place, key string, want int) {
		t.Helper()
		if code := s.posts(t, place, key); code != want {
			t.Errorf("%s with %.4s...: %d, want %d", place, key, code, want)
		}
	}
	check("bay-4", d.Key, 200)
	check("bay-5", d.Key, 401)
	check("bay-4", "", 401)
	check("bay-4", d.Key+"A", 401)
	for _, path := range []string{"/lead", "/devices", "/calendar/" + d.Key + "/plan.ics"} {
		if code, _ := s.ask(t, "GET", path, "", nil, func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+d.Key) }); code == 200 {
			t.Errorf("a logger's key opens %s", path)
		}
	}
	_, list := s.ask(t, "GET", "/grants", mara.pass, nil)
	if !strings.Contains(list, `"name":"Bay 4"`) || strings.Contains(list, d.Key) || strings.Contains(list, `"used":0`) {
		t.Errorf("on the lead's screen: %s", list)
	}
	dir := s.dir
	s.stop(t)
	s = startClosed(t, dir)
	mara.connects(t, s, nil)
	check("bay-4", d.Key, 200)
	s.said(t, 204, "", "POST", "/grants/"+d.ID+"/off", mara.pass, nil)
	check("bay-4", d.Key, 401)
	s.said(t, 404, "", "POST", "/grants/"+d.ID+"/off", mara.pass, nil)
	s.stop(t)
	s = startClosed(t, dir)
	check("bay-4", d.Key, 401)
}

// An address reads the plan as RFC 5545 has it, or one vehicle's dates without
// anybody's name, and is worth nothing once it is taken away.
func TestCalendarGrant(t *testing.T) {
	s := startClosed(t, t.TempDir())
	mara, _, p, _ := s.atWork(t)
	other := logbook.Log{Class: checklist.JobLog, ID: logbook.Named("V6")}
	p.write(s.store.shop, lead, checklist.PlaceAdd{Place: checklist.ID(logbook.Named("bay 4")), Name: "Bay 4", Sort: "bay", Order: 4})
	p.write(other, lead, checklist.JobOpen{Label: "V6", Route: "panels", Promise: s.clock() + 5*24*3600_000})
	p.untilKept()
	whole, one := s.opens(t, mara.pass, "calendar", logbook.ID{}), s.opens(t, mara.pass, "calendar", other.ID)
	read := func(d struct{ ID, Key, URL, Curl string }) (code int, summaries []string, text string) {
		t.Helper()
		u, err := url.Parse(d.URL)
		if err != nil {
			t.Fatal(err)
		}
		if code, text = s.ask(t, "GET", u.Path, "", nil); code != http.StatusOK {
			return code, nil, text
		}
		cal, err := ics.ParseCalendar(bytes.NewReader([]byte(text)))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		for _, e := range cal.Events() {
			summaries = append(summaries, e.GetProperty(ics.ComponentPropertySummary).Value)
		}
		return code, summaries, text
	}
	code, all, _ := read(whole)
	if joined := strings.Join(all, "\n"); code != 200 || !strings.Contains(joined, "V5: ") || !strings.Contains(joined, "V6: ") || !strings.Contains(joined, "V6 promised") {
		t.Errorf("the whole plan: %d %q", code, all)
	}
	code, some, text := read(one)
	if code != 200 || len(some) == 0 || strings.Contains(text, "V5") || strings.Contains(text, "Mara") {
		t.Errorf("one vehicle's: %d %s", code, text)
	}
	for _, summary := range some {
		if !strings.HasPrefix(summary, "V6") {
			t.Errorf("it tells of %q", summary)
		}
	}
	s.said(t, 204, "", "POST", "/grants/"+one.ID+"/off", mara.pass, nil)
	if code, _, _ := read(one); code != 404 {
		t.Errorf("taken away: %d", code)
	}
	if code, _, _ := read(whole); code != 200 {
		t.Errorf("the other: %d", code)
	}
}

// An invitation can say whose phone it will be.
func TestInvitationForAPerson(t *testing.T) {
	s := startClosed(t, t.TempDir())
	mara, bay, p, _ := s.atWork(t)
	p.write(s.store.shop, lead, checklist.PersonAdd{Person: checklist.ID(crew), Name: "Jon", Initials: "J", Role: "crew"})
	p.untilKept()
	s.said(t, 404, "no such person", "POST", "/invite", mara.pass, object{"role": "crew", "person": logbook.Named("x").String()})
	s.said(t, 404, "no such person", "POST", "/invite", mara.pass, object{"role": "crew", "person": "<b>"})
	code, body := s.ask(t, "POST", "/invite", mara.pass, object{"role": "crew", "person": crew.String()})
	var i Invitation
	if err := json.Unmarshal([]byte(body), &i); code != 200 || err != nil {
		t.Fatalf("%d %s", code, body)
	}
	jon := newKey(t)
	if code, body := jon.joins(t, s, object{"token": tokenOf(i)}); code != 200 || !strings.Contains(body, `"person":"`+crew.String()+`"`) {
		t.Errorf("%d %s", code, body)
	}
	if d, _ := s.writer.device(jon.device); d.Name != "Jon" || d.Role != join.Crew || d.Invited != mara.device {
		t.Errorf("%+v", d)
	}
	_ = bay
}
