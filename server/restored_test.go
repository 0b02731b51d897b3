package server

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/server/join"
	"bayhold/sync/logbook"
)

// A backup knows nothing of what was taken away after it was made. In the store
// that is restored of it a phone that was taken off since is told nothing and
// writes nothing, nor does any other until it joins again, with the key that it
// has; PINs, keys, addresses and links of before do not open the shop. What the
// phones carry comes back all the same.
func TestRestoreRevivesNobody(t *testing.T) {
	o := startOwned(t)
	lost := o.member(t, join.Crew, "the lost one")
	p, q, r, u := newPhone(t, "Mara's"), newPhone(t, "the bay's"), newPhone(t, "the lost one"), newPhone(t, "late")
	o.mara.connects(t, o.shopAt, p)
	o.bay.connects(t, o.shopAt, q)
	lost.connects(t, o.shopAt, r)
	q.write(o.mine, logbook.ID{}, checklist.Tick{Stage: "wash", Answer: "done"})
	r.write(o.mine, logbook.ID{}, checklist.Tick{Stage: "wash", Answer: "done"})
	q.untilKept()
	r.untilKept()
	pin := object{"person": lead.String(), "pin": "4071"}
	o.shopAt.said(t, 204, "", "POST", "/pin", o.mara.pass, pin)
	logger, calendar := o.shopAt.opens(t, o.mara.pass, "logger", bay4), o.shopAt.opens(t, o.mara.pass, "calendar", logbook.ID{})
	path, token := o.gives(t, o.mine, 48*time.Hour)
	opens := func() int {
		code, _ := o.ask(t, "POST", path+"/open", "", object{"token": token})
		return code
	}
	if code := opens(); code != http.StatusNoContent {
		t.Fatal("the link does not open before: ", code)
	}
	backup, data := filepath.Join(t.TempDir(), "backup"), filepath.Join(t.TempDir(), "shop")
	if _, err := Backup(o.dir, backup); err != nil {
		t.Fatal(err)
	}

	// What the backup lacks.
	late := o.member(t, join.Crew, "late")
	late.connects(t, o.shopAt, u)
	o.shopAt.said(t, 204, "", "POST", "/devices/"+lost.device.String()+"/off", o.mara.pass, nil)
	o.shopAt.said(t, 204, "", "POST", "/pin", o.mara.pass, object{"person": lead.String(), "pin": ""})
	q.write(o.mine, logbook.ID{}, checklist.Tick{Stage: "dry", Answer: "done"})
	u.write(o.mine, logbook.ID{}, checklist.Tick{Stage: "dry", Answer: "done"})
	q.untilKept()
	u.untilKept()
	p.until("the lead's phone has it", func() bool { return p.cursors[o.mine].Order == o.store.Heads()[o.mine].Order })
	p.until("and that a phone was taken off", func() bool { return p.cursors[o.store.shop].Order == o.store.Heads()[o.store.shop].Order })
	before := o.store.Heads()[o.mine].Order
	passes := []string{o.mara.pass, o.bay.pass, lost.pass, late.pass}
	for _, x := range []*phone{p, q, r, u} {
		x.hangUp()
	}
	q.entry(o.mine, logbook.ID{}, checklist.Tick{Stage: "wipe", Panel: "left", Answer: "done"}) // not sent yet

	o.stop(t)
	if report, err := Restore(backup, data); err != nil || len(report.Faults) > 0 {
		t.Fatal(report, err)
	}
	o.open(t, data)
	heads := o.store.Heads()
	for name, k := range map[string]*keyed{"the lead's": o.mara, "the bay's": o.bay, "the lost one": lost} {
		if a := k.connects(t, o.shopAt, nil); !strings.Contains(a.Refused, "joins again") || a.Role != "" || a.Pass != "" {
			t.Errorf("%s is told %+v", name, a)
		}
	}
	if a := late.connects(t, o.shopAt, nil); !strings.Contains(a.Refused, "not joined") {
		t.Errorf("one that the backup does not know is told %+v", a)
	}
	for _, pass := range passes {
		if code, _ := o.ask(t, "GET", "/lead", pass, nil); code != http.StatusUnauthorized {
			t.Errorf("a pass of before: %d", code)
		}
	}
	at, err := url.Parse(calendar.URL)
	if err != nil {
		t.Fatal(err)
	}
	if code, _ := o.ask(t, "GET", at.Path, "", nil); code == http.StatusOK {
		t.Error("a calendar's address of before opens the plan")
	}
	if code := o.posts(t, "bay-4", logger.Key); code != http.StatusUnauthorized {
		t.Errorf("a logger's key of before: %d", code)
	}
	if code := opens(); code != http.StatusGone {
		t.Errorf("an owner's link of before: %d", code)
	}
	if got := o.store.Heads(); !maps.Equal(got, heads) {
		t.Errorf("a logbook grew: %v, before %v", got, heads)
	}

	// The lead's phone joins again by the terminal, and what it carries comes back.
	joins := func(k *keyed, i Invitation, want int) {
		t.Helper()
		id := k.device
		if code, body := k.joins(t, o.shopAt, object{"token": tokenOf(i)}); code != want || k.device != id {
			t.Fatalf("joining again: %d %s, the phone %v was %v", code, body, k.device, id)
		}
	}
	first, ok := o.FirstLead()
	if !ok {
		t.Fatal("the terminal invites no lead")
	}
	joins(o.mara, first, http.StatusOK)
	joins(lost, first, http.StatusForbidden) // once
	if a := o.mara.connects(t, o.shopAt, p); a.Role != "lead" {
		t.Fatalf("the lead's phone is told %+v", a)
	}
	p.hangUp()
	back := func(k *keyed, p *phone) {
		t.Helper()
		k.connects(t, o.shopAt, p)
		p.until("caught up, or asked to come again", func() bool { return p.end.Caught() || p.closed != "" })
		if p.closed != "" {
			p.hangUp()
			k.connects(t, o.shopAt, p)
		}
		p.untilCaught()
		p.untilKept()
	}
	back(o.mara, p)
	if got := o.store.Heads()[o.mine].Order; got != before {
		t.Errorf("%d lines of the vehicle came back, %d were there", got, before)
	}
	if d, _ := o.writer.device(lost.device); d.Revoked == 0 {
		t.Error("that a phone was taken off did not come back")
	}
	if a := lost.connects(t, o.shopAt, nil); a.Role != "off" {
		t.Errorf("the lost phone is told %+v", a)
	}
	if a := late.connects(t, o.shopAt, nil); !strings.Contains(a.Refused, "joins again") {
		t.Errorf("a phone whose joining came back is let in by it: %+v", a)
	}
	if code := opens(); code != http.StatusGone {
		t.Errorf("the link of before, when its lines came back: %d", code)
	}
	var list []struct {
		Name  string
		Again bool
	}
	if code, body := o.ask(t, "GET", "/devices", o.mara.pass, nil); code != 200 || json.Unmarshal([]byte(body), &list) != nil ||
		!strings.Contains(fmt.Sprint(list), "{the bay's true}") || !strings.Contains(fmt.Sprint(list), "{Mara's false}") {
		t.Errorf("the lead reads %d %s", code, body)
	}

	// The others join again in their role, and lose nothing.
	joins(o.bay, o.Invite(o.http.URL, join.Lead, o.mara.device), http.StatusForbidden)
	joins(o.bay, o.Invite(o.http.URL, join.Crew, o.mara.device), http.StatusOK)
	joins(late, o.Invite(o.http.URL, join.Crew, o.mara.device), http.StatusOK)
	joins(lost, o.Invite(o.http.URL, join.Crew, o.mara.device), http.StatusGone)
	back(o.bay, q)
	back(late, u)
	if got := o.store.Heads()[o.mine].Order; got != before+1 || len(q.aside)+len(u.aside)+len(p.aside) > 0 {
		t.Errorf("%d lines, want the one that was not sent more than %d; set aside %v %v %v", got, before, p.aside, q.aside, u.aside)
	}
	o.shopAt.said(t, http.StatusForbidden, "no PIN yet", "POST", "/pin/use", o.bay.pass, pin)
	if n := o.returning(); n != 0 {
		t.Errorf("%d phones still have to join again", n)
	}

	// Another start asks nobody again.
	for _, x := range []*phone{p, q, u} {
		x.hangUp()
	}
	o.stop(t)
	o.open(t, data)
	if _, ok := o.FirstLead(); ok || o.returning() != 0 {
		t.Error("after a restart the phones have to join once more")
	}
	if a := o.mara.connects(t, o.shopAt, nil); a.Role != "lead" {
		t.Errorf("after a restart the lead's phone is told %+v", a)
	}
}
