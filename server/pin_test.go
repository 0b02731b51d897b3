package server

import (
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/server/join"
	"bayhold/sync/logbook"
)

// startClosedAt is startClosed by a clock of the test's own.
func startClosedAt(t testing.TB, dir string, ahead *atomic.Int64) *shopAt {
	t.Helper()
	s, err := Open(Config{Data: dir, Name: shopName, App: appFiles, Worker: []byte("//"), Bundle: "test", Log: testLog(t),
		Now: func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) }})
	if err != nil {
		t.Fatal(err)
	}
	at := &shopAt{Server: s, http: httptest.NewTLSServer(s.Handler()), dir: dir}
	t.Cleanup(func() { at.stop(t) })
	return at
}

// said asks and wants an answer's code and words.
func (s *shopAt) said(t *testing.T, code int, words, method, path, pass string, body any) {
	t.Helper()
	if got, text := s.ask(t, method, path, pass, body); got != code || !strings.Contains(text, words) {
		t.Errorf("%s %s %v: %d %q, want %d %q", method, path, body, got, text, code, words)
	}
}

var goAhead = checklist.Waiver{Stage: "dry", Causes: []string{"wet"}, Sentence: "it is dry as bone"}

// A lead's acts count from a shared phone for five minutes after the PIN, for
// that lead, on that phone; and it is on record where they were done.
func TestPINOpensAPhone(t *testing.T) {
	var ahead atomic.Int64
	s := startClosedAt(t, t.TempDir(), &ahead)
	mara, bay, _, q := s.atWork(t)
	q.untilCaught()
	wants := func(from *phone, by logbook.ID, why string) {
		t.Helper()
		before := len(from.aside)
		from.write(jobV5, by, goAhead)
		from.untilKept()
		switch {
		case why == "" && len(from.aside) > before:
			t.Errorf("set aside: %v", from.aside[before:])
		case why != "" && (len(from.aside) == before || !strings.Contains(from.aside[before].Reason, why)):
			t.Errorf("set aside: %v, want %q", from.aside[before:], why)
		}
	}
	who := lead.String()

	s.said(t, 403, "no PIN yet", "POST", "/pin/use", bay.pass, object{"person": who, "pin": "4071"})
	s.said(t, 403, "lead's own phone", "POST", "/pin", bay.pass, object{"person": who, "pin": "4071"})
	s.said(t, 400, "4 to 8 digits", "POST", "/pin", mara.pass, object{"person": who, "pin": "40"})
	s.said(t, 400, "tries this one first", "POST", "/pin", mara.pass, object{"person": who, "pin": "1234"})
	s.said(t, 403, "Only a lead", "POST", "/pin", mara.pass, object{"person": crew.String(), "pin": "4071"})
	s.said(t, 204, "", "POST", "/pin", mara.pass, object{"person": who, "pin": "4071"})
	s.said(t, 200, `"has":true`, "GET", "/pin", mara.pass, nil)
	s.said(t, 409, "no PIN is needed", "POST", "/pin/use", mara.pass, object{"person": who, "pin": "4071"})

	wants(q, lead, "or by PIN")
	s.said(t, 403, "wrong", "POST", "/pin/use", bay.pass, object{"person": who, "pin": "4072"})
	wants(q, lead, "or by PIN")
	s.said(t, 200, `"lasts":300000`, "POST", "/pin/use", bay.pass, object{"person": who, "pin": "4071"})
	wants(q, lead, "")
	wants(q, crew, "Only the lead may write this.")
	s.said(t, 200, `"opens":[{`, "GET", "/devices", mara.pass, nil)

	// On record: who, and on which phone.
	lines, err := s.store.After(s.store.shop, 0, 1000, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	typed := 0
	for _, l := range lines {
		e, err := logbook.Decode(l.Entry)
		if err != nil {
			t.Fatal(err)
		}
		if e.Kind != "device.pin" {
			continue
		}
		typed++
		if !strings.Contains(string(e.Body), who) || !strings.Contains(string(e.Body), bay.device.String()) || e.Writer != s.store.writer {
			t.Errorf("on record: %q", e.Body)
		}
	}
	if typed != 1 {
		t.Errorf("%d lines about the PIN", typed)
	}

	// A restart does not end it, for it is on record; five minutes do.
	dir := s.dir
	s.stop(t)
	s = startClosedAt(t, dir, &ahead)
	bay.connects(t, s, q)
	wants(q, lead, "")
	ahead.Store(int64(join.AllowanceLasts * time.Millisecond))
	wants(q, lead, "or by PIN")
}

// Wrong PINs are counted for the lead and for the phone, and the waits stand
// over a restart. Who sets another PIN begins anew.
func TestWrongPINs(t *testing.T) {
	var ahead atomic.Int64
	s := startClosedAt(t, t.TempDir(), &ahead)
	mara, bay, p, _ := s.atWork(t)
	second := logbook.Named("second lead")
	p.write(s.store.shop, lead, checklist.PersonAdd{Person: checklist.ID(second), Name: "Lena", Initials: "L", Role: "lead"})
	p.untilKept()
	wash := s.member(t, join.Crew, "the wash's")
	wash.connects(t, s, nil)
	right, wrong := object{"person": lead.String(), "pin": "4071"}, object{"person": lead.String(), "pin": "4072"}
	other := object{"person": second.String(), "pin": "93841"}
	s.said(t, 204, "", "POST", "/pin", mara.pass, right)
	s.said(t, 204, "", "POST", "/pin", mara.pass, other)
	for range 3 {
		s.said(t, 403, "wrong", "POST", "/pin/use", bay.pass, wrong)
	}
	s.said(t, 429, "Wait 1 min", "POST", "/pin/use", bay.pass, right)  // even the right one
	s.said(t, 429, "Wait 1 min", "POST", "/pin/use", wash.pass, right) // from elsewhere
	s.said(t, 429, "Wait 1 min", "POST", "/pin/use", bay.pass, other)  // for another lead
	s.said(t, 200, "lasts", "POST", "/pin/use", wash.pass, other)

	dir := s.dir
	s.stop(t)
	s = startClosedAt(t, dir, &ahead)
	for _, k := range []*keyed{mara, bay, wash} {
		k.connects(t, s, nil)
	}
	s.said(t, 429, "Wait 1 min", "POST", "/pin/use", bay.pass, right)
	ahead.Store(int64(time.Minute))
	s.said(t, 403, "wrong", "POST", "/pin/use", bay.pass, wrong)
	s.said(t, 429, "Wait 2 min", "POST", "/pin/use", bay.pass, right)
	ahead.Store(int64(3 * time.Minute))
	s.said(t, 200, "lasts", "POST", "/pin/use", bay.pass, right)
	for range 3 { // counted from none again
		s.said(t, 403, "wrong", "POST", "/pin/use", bay.pass, wrong)
	}
	err := s.writer.do(t.Context(), func(p *pen) error { return p.putTries(lead, join.Tries{Wrong: 20}) })
	if err != nil {
		t.Fatal(err)
	}
	s.said(t, 403, "it is off", "POST", "/pin/use", wash.pass, right)
	s.said(t, 204, "", "POST", "/pin", mara.pass, right)
	s.said(t, 200, "lasts", "POST", "/pin/use", wash.pass, right)
	s.said(t, 204, "", "POST", "/pin", mara.pass, object{"person": lead.String(), "pin": ""})
	s.said(t, 403, "no PIN yet", "POST", "/pin/use", wash.pass, right)
}
