package main

import (
	"bytes"
	"compress/flate"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/uuid"
	"github.com/gorilla/websocket"

	"bayhold/checklist/line"
	"bayhold/server"
	"bayhold/server/join"
	"bayhold/sync/logbook"
)

// A carried is a phone without a screen: the core, and a socket to a shop that
// it joined.
type carried struct {
	t      *testing.T
	core   host
	shop   *httptest.Server
	key    *ecdsa.PrivateKey
	device string
	pass   string
	ws     *websocket.Conn
	writer string
	seqs   map[string]int
	began  time.Time
	log    string // the shop's logbook
	caught bool
	sent   int
	kept   int
	aside  map[string]string // a line's logbook and seq, and why
}

func newID() string { return uuid.Must(uuid.NewV7()).String() }

func (c *carried) post(path string, body m) (int, string) {
	c.t.Helper()
	raw, _ := json.Marshal(body)
	r, err := http.NewRequest("POST", c.shop.URL+path, bytes.NewReader(raw))
	if err != nil {
		c.t.Fatal(err)
	}
	r.AddCookie(&http.Cookie{Name: "__Host-bayhold", Value: c.pass})
	resp, err := c.shop.Client().Do(r)
	if err != nil {
		c.t.Fatal(err)
	}
	defer resp.Body.Close()
	out, err := io.ReadAll(resp.Body)
	if err != nil {
		c.t.Fatal(err)
	}
	return resp.StatusCode, string(out)
}

// joins makes a phone one of the shop's, and connects it.
func joins(t *testing.T, core host, s *server.Server, shop *httptest.Server, role join.Role) *carried {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := &carried{t: t, core: core, shop: shop, key: key, writer: newID(), seqs: map[string]int{}, aside: map[string]string{}, began: time.Now().Add(-time.Second)}
	public, err := key.PublicKey.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	i := s.Invite(shop.URL, role, logbook.ID{})
	code, text := c.post("/join", m{"token": i.URL[strings.LastIndex(i.URL, "/")+1:], "key": public, "name": string(role)})
	var joined struct{ Device string }
	if err := json.Unmarshal([]byte(text), &joined); code != http.StatusOK || err != nil {
		t.Fatalf("joining: %d %s", code, text)
	}
	c.device = joined.Device
	d := websocket.Dialer{Subprotocols: []string{"bayhold.1.proof"},
		TLSClientConfig: &tls.Config{RootCAs: shop.Client().Transport.(*http.Transport).TLSClientConfig.RootCAs}}
	c.ws, _, err = d.Dial("wss"+strings.TrimPrefix(shop.URL, "https")+"/ws", http.Header{"Origin": {shop.URL}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.ws.Close() })
	c.ws.SetReadDeadline(time.Now().Add(time.Minute))
	var said struct{ Nonce, Pass, Role string }
	if err := c.ws.ReadJSON(&said); err != nil {
		t.Fatal(err)
	}
	id, _ := logbook.ParseID(c.device)
	sum := sha256.Sum256(join.Said(shop.URL, id, said.Nonce))
	r, z, err := ecdsa.Sign(rand.Reader, key, sum[:])
	if err != nil {
		t.Fatal(err)
	}
	c.ws.WriteJSON(m{"device": c.device, "proof": append(r.FillBytes(make([]byte, 32)), z.FillBytes(make([]byte, 32))...), "holds": 0})
	if err := c.ws.ReadJSON(&said); err != nil || said.Role != string(role) {
		t.Fatalf("%+v %v", said, err)
	}
	c.pass = said.Pass
	core.ask(t, opStart, c.clocks(m{"writer": c.writer, "device": c.device, "life": 7}))
	c.does(opOpen, m{"cursors": []any{}, "shelves": []any{}})
	c.until("all of the shop", func() bool { return c.caught })
	return c
}

func (c *carried) clocks(arg m) m {
	arg["wall"], arg["mono"] = time.Now().UnixMilli(), time.Since(c.began).Milliseconds()
	return arg
}

// does runs an op of the session and sends what it wants sent.
func (c *carried) does(op int32, arg m) {
	c.t.Helper()
	code, text, blobs := c.core.ask(c.t, op, c.clocks(arg))
	var out struct {
		Frames  []any
		Store   []any
		Cursors []string
		Kept    []struct{ Seq, To int }
		Aside   []struct {
			Log, Why string
			Seq      int
		}
		Caught bool
		Closed string
	}
	if err := json.Unmarshal([]byte(text), &out); code != answered || err != nil || out.Closed != "" {
		c.t.Fatalf("op %d: %d %s %v", op, code, text, err)
	}
	for i := range out.Frames {
		if err := c.ws.WriteMessage(websocket.BinaryMessage, append([]byte{0}, blobs[i]...)); err != nil {
			c.t.Fatal(err)
		}
	}
	if rows := blobs[len(out.Frames):][:len(out.Store)]; len(rows) > 0 {
		c.core.ask(c.t, opLoad, m{"rows": rows})
	}
	for _, k := range out.Kept {
		c.kept += k.To - k.Seq + 1
	}
	for _, a := range out.Aside {
		c.aside[fmt.Sprint(a.Log, a.Seq)] = a.Why
	}
	for _, log := range out.Cursors {
		if strings.HasPrefix(log, "s:") {
			c.log = log
		}
	}
	c.caught = c.caught || out.Caught
}

func (c *carried) until(what string, done func() bool) {
	c.t.Helper()
	for !done() {
		c.ws.SetReadDeadline(time.Now().Add(time.Minute))
		_, msg, err := c.ws.ReadMessage()
		if err != nil {
			c.t.Fatalf("waiting for %s: %v", what, err)
		}
		frame := msg[1:]
		if msg[0] == 1 {
			if frame, err = io.ReadAll(flate.NewReader(bytes.NewReader(frame))); err != nil {
				c.t.Fatal(err)
			}
		}
		c.does(opFrame, m{"bytes": frame})
	}
}

// writes asks the core for a line and sends it. It answers why the core refused
// it, or the line's name.
func (c *carried) writes(shared bool, by, log, kind string, body m, strikes ...any) (refused, name string) {
	c.t.Helper()
	code, text, blobs := c.core.ask(c.t, opWrite, c.clocks(m{"log": log, "kind": kind, "body": body, "by": by, "shared": shared,
		"strikes": append([]any{}, strikes...), "seq": c.seqs[log] + 1, "salt": bytes.Repeat([]byte{1}, 16), "sure": true}))
	if code != answered {
		return text, ""
	}
	c.seqs[log]++
	c.sent++
	c.does(opSend, m{"lines": blobs})
	return "", fmt.Sprint(log, c.seqs[log])
}

// settled waits until the shop has answered every line.
func (c *carried) settled() {
	c.t.Helper()
	c.until("an answer to every line", func() bool { return c.kept+len(c.aside) == c.sent })
}

// TestOfferedIsKept: what the core of a shared phone lets somebody write, the
// server keeps: for every role, and every kind of line that a page writes. What
// it does not let them write is in the view's list of what they cannot, which
// the page goes by.
func TestOfferedIsKept(t *testing.T) {
	offeredIsKept(t, native)
	if os.Getenv("BAYHOLD_LONG") != "" {
		wasm := compiled(t) // one instance is one phone: start makes it anew
		offeredIsKept(t, func() host { return wasm })
	}
}

func offeredIsKept(t *testing.T, core func() host) {
	s, err := server.Open(server.Config{Data: t.TempDir(), Name: "tarnbrook.local", App: fstest.MapFS{"index.html": {Data: []byte("<!doctype html>")}}, Worker: []byte("//")})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	shop := httptest.NewTLSServer(s.Handler())
	defer shop.Close()

	people := map[string]string{"nobody": "", "stranger": newID()}
	p := joins(t, native(), s, shop, join.Lead)
	place, job := newID(), "j:"+newID()
	must := func(by, log, kind string, body m) {
		t.Helper()
		if refused, _ := p.writes(false, by, log, kind, body); refused != "" {
			t.Fatalf("%s: %s", kind, refused)
		}
	}
	for _, role := range []string{"lead", "crew", "prep", "porter", "desk"} {
		people[role] = newID()
		must(people["lead"], p.log, "person.add", m{"person": people[role], "name": role, "initials": role[:1], "role": role})
	}
	lead := people["lead"]
	must(lead, p.log, "shop.set", m{"name": "Hall", "units": "C", "zone": "UTC"})
	must(lead, p.log, "place.add", m{"place": place, "name": "bay 4", "sort": "bay", "order": 4})
	open := m{"label": "V5", "route": "van", "place": place, "panels": []m{{"id": "rear", "name": "Rear doors", "zone": "upper"}}, "spots": []m{{"id": "1", "name": "sill", "zone": "lower"}}}
	must(lead, job, "job.open", open)
	must(lead, job, "finding", m{"panel": "rear", "what": "chip", "walk": "check-in"})
	must(lead, job, "finding", m{"panel": "rear", "what": "lifted", "walk": "edges"})
	if p.settled(); len(p.aside) > 0 {
		t.Fatal(p.aside)
	}
	if code, text := p.post("/pin", m{"person": lead, "pin": "4071"}); code != http.StatusNoContent {
		t.Fatalf("%d %s", code, text)
	}

	q := joins(t, core(), s, shop, join.Crew)
	own := "j:" + newID()
	// try writes one line of each kind for somebody, and answers the kinds that
	// were refused for want of rights, and what was set aside.
	n := 0
	try := func(shared bool, who string) (cannot map[string]string, aside []string) {
		n++
		cannot = map[string]string{}
		own = "j:" + newID()
		sent := map[string]string{} // lines and their kinds
		for _, l := range []struct {
			log, kind string
			body      m
		}{
			{q.log, "shop.set", m{"name": fmt.Sprint("Hall ", n), "units": "C", "zone": "UTC"}},
			{q.log, "place.add", m{"place": newID(), "name": fmt.Sprint("bay ", 9+n), "sort": "bay", "order": 9 + n}},
			{q.log, "person.add", m{"person": newID(), "name": fmt.Sprint("P", n), "initials": "P", "role": "crew"}},
			{q.log, "rules.set", m{"values": m{"dry.needed": 12*3_600_000 + n}}},
			{"p:" + place, "climate.reading", m{"air": 20000 + n, "rh": 55000}},
			{"p:" + place, "place.event", m{"cause": "door-open", "note": fmt.Sprint(n)}},
			{job, "tick", m{"stage": "wash", "answer": "done", "note": fmt.Sprint(n)}},
			{job, "reading", m{"values": []m{{"spot": "1", "surface": 18000 + n}}}},
			{job, "evidence", m{"what": "keep-clear", "panel": "rear", "passed": true}},
			{job, "finding", m{"panel": "rear", "what": "chip", "note": fmt.Sprint(n), "walk": "check-in"}},
			{job, "finding.answer", m{"writer": p.writer, "seq": 3, "answer": "redone"}},
			{job, "finding.owner", m{"writer": p.writer, "seq": 2, "answer": "accepted"}},
			{job, "waiver", m{"stage": "wash", "causes": []string{"no-wash"}, "sentence": "it was washed by hand"}},
			{job, "note", m{"text": fmt.Sprint("seen ", n)}},
			{job, "feature", m{"panel": "rear", "id": fmt.Sprint("flat-", n), "sort": "flat"}},
			{job, "heat", m{"panel": "rear", "answer": "not-measured"}},
			{job, "asked", m{"what": "paint-age", "answer": "unknown"}},
			{own, "job.open", open},
			{own, "job.close", m{"how": "no-film"}},
		} {
			kind := strings.Replace(l.kind, "finding.owner", "finding.answer", 1)
			refused, name := q.writes(shared, people[who], l.log, kind, l.body)
			switch {
			case refused == "":
				sent[name] = l.kind
			case strings.Contains(refused, "lead's PIN") || strings.HasPrefix(refused, "Only ") || strings.HasPrefix(refused, "Tap your name") || strings.Contains(refused, "who you are"):
				cannot[l.kind] = refused
			case !(l.kind == "job.close" && cannot["job.open"] != ""):
				t.Errorf("%s, %s: %s", who, l.kind, refused) // then the test shows nothing of it
			}
		}
		q.settled()
		for name, kind := range sent {
			if why := q.aside[name]; why != "" {
				aside = append(aside, kind+": "+why)
			}
		}
		return cannot, aside
	}
	inView := func(shared bool, who string) map[string]string {
		_, text, _ := q.core.ask(t, opView, q.clocks(m{"name": "home", "id": "", "by": people[who], "shared": shared}))
		var v struct{ Cannot map[string]string }
		if err := json.Unmarshal([]byte(text), &v); err != nil {
			t.Fatal(err)
		}
		return v.Cannot
	}
	for who := range people {
		cannot, aside := try(true, who)
		if len(aside) > 0 {
			t.Errorf("%s on a shared phone: %v", who, aside)
		}
		if cannot["waiver"] == "" || who != "nobody" && who != "stranger" && cannot["note"] != "" {
			t.Errorf("%s on a shared phone cannot write: %v", who, cannot)
		}
		shown := inView(true, who)
		for kind, why := range cannot {
			if _, ok := shown[kind]; !ok && line.RoleOf(who) != 0 {
				t.Errorf("%s is offered %s, which the core refuses: %s", who, kind, why)
			}
		}
		if line.RoleOf(who) != 0 && shown["waiver"] != map[bool]string{true: "", false: "the lead"}[who == "lead"] {
			t.Errorf("%s reads of a go-ahead: %q", who, shown["waiver"])
		}
		// What others wrote on this phone, and on the lead's.
		before := len(q.aside)
		for _, ref := range [][]any{{q.writer, 1}, {q.writer, 4}, {p.writer, 2}} {
			q.writes(true, people[who], job, "strike", m{}, ref)
		}
		if q.settled(); len(q.aside) > before {
			t.Errorf("what %s takes back is set aside: %v", who, q.aside)
		}
	}
	// The same phone, if its core thought that the lead's rights count there.
	if _, aside := try(false, "lead"); len(aside) < 5 || !strings.Contains(strings.Join(aside, " "), "or by PIN") {
		t.Errorf("without the PIN the server takes a lead's lines: %v", aside)
	}
	if code, text := q.post("/pin/use", m{"person": lead, "pin": "4071"}); code != http.StatusOK {
		t.Fatalf("%d %s", code, text)
	}
	if cannot, aside := try(false, "lead"); len(cannot)+len(aside) > 0 || len(inView(false, "lead")) > 0 {
		t.Errorf("with the PIN a lead cannot write: %v; set aside: %v; in the view: %v", cannot, aside, inView(false, "lead"))
	}
}
