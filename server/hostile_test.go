package server

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server/join"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// A shop that other machines reach, and clients that mean it harm. Oversized
// messages, bombs and broken frames are rfc6455_test.go's, other names for the
// shop host_test.go's, what an unreadable line does e2e's bad input.

const shopName = "tarnbrook.local"

// startClosed serves a data folder over TLS to phones that join.
func startClosed(t testing.TB, dir string) *shopAt {
	t.Helper()
	s, err := Open(Config{Data: dir, Name: shopName, App: appFiles, Worker: []byte("//"), Bundle: "test", Log: testLog(t)})
	if err != nil {
		t.Fatal(err)
	}
	at := &shopAt{Server: s, http: httptest.NewTLSServer(s.Handler()), dir: dir}
	t.Cleanup(func() { at.stop(t) })
	return at
}

// body of an answer, with its code.
func (s *shopAt) ask(t testing.TB, method, path, cookie string, body any, change ...func(*http.Request)) (int, string) {
	t.Helper()
	var in io.Reader
	if body != nil {
		raw, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		in = bytes.NewReader(raw)
	}
	r, err := http.NewRequest(method, s.http.URL+path, in)
	if err != nil {
		t.Fatal(err)
	}
	if cookie != "" {
		r.AddCookie(&http.Cookie{Name: passCookie, Value: cookie})
	}
	for _, c := range change {
		c(r)
	}
	resp, err := s.http.Client().Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	out, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, strings.TrimSpace(string(out))
}

// keyed is a phone's key, and what it knows of itself.
type keyed struct {
	key    *ecdsa.PrivateKey
	device logbook.ID
	pass   string
}

func newKey(t testing.TB) *keyed {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return &keyed{key: key}
}

func (k *keyed) public(t testing.TB) []byte {
	t.Helper()
	b, err := k.key.PublicKey.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// joins asks to join with what an invitation gave.
func (k *keyed) joins(t testing.TB, s *shopAt, ask object) (int, string) {
	t.Helper()
	ask["key"] = k.public(t)
	code, body := s.ask(t, "POST", "/join", "", ask)
	var answer struct{ Device string }
	if code == http.StatusOK && json.Unmarshal([]byte(body), &answer) == nil {
		k.device, _ = logbook.ParseID(answer.Device)
	}
	return code, body
}

// tokenOf is the token of an invitation's address.
func tokenOf(i Invitation) string { return i.URL[strings.LastIndex(i.URL, "/")+1:] }

// member is a phone that joined.
func (s *shopAt) member(t testing.TB, role join.Role, name string) *keyed {
	t.Helper()
	k := newKey(t)
	if code, body := k.joins(t, s, object{"token": tokenOf(s.Invite(s.http.URL, role, logbook.ID{})), "name": name}); code != http.StatusOK {
		t.Fatalf("joining: %d %s", code, body)
	}
	return k
}

// sign is a proof as the Web Cryptography API makes it.
func (k *keyed) sign(t testing.TB, origin string, device logbook.ID, nonce string) []byte {
	t.Helper()
	sum := sha256.Sum256(join.Said(origin, device, nonce))
	r, s, err := ecdsa.Sign(rand.Reader, k.key, sum[:])
	if err != nil {
		t.Fatal(err)
	}
	return append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...)
}

func (s *shopAt) dialer(protocol string) *websocket.Dialer {
	return &websocket.Dialer{Subprotocols: []string{protocol}, HandshakeTimeout: time.Minute,
		TLSClientConfig: &tls.Config{RootCAs: s.http.Client().Transport.(*http.Transport).TLSClientConfig.RootCAs}}
}

// open opens a socket and reads its nonce.
func (s *shopAt) open(t testing.TB) (*websocket.Conn, string) {
	t.Helper()
	ws, _, err := s.dialer(proving).Dial("wss"+strings.TrimPrefix(s.http.URL, "https")+"/ws", http.Header{"Origin": {s.http.URL}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ws.Close() })
	var said struct{ Nonce string }
	ws.SetReadDeadline(time.Now().Add(time.Minute))
	if err := ws.ReadJSON(&said); err != nil || len(said.Nonce) != 43 { // 32 bytes in signs of 6 bits
		t.Fatalf("a nonce: %q %v", said.Nonce, err)
	}
	return ws, said.Nonce
}

type answered struct{ Role, Pass, Refused string }

// proves answers a nonce and reads what the shop says to it.
func proves(t testing.TB, ws *websocket.Conn, device logbook.ID, proof []byte) (a answered) {
	t.Helper()
	if err := ws.WriteJSON(object{"device": device.String(), "proof": proof, "holds": 3}); err != nil {
		t.Fatal(err)
	}
	ws.SetReadDeadline(time.Now().Add(time.Minute))
	if err := ws.ReadJSON(&a); err != nil {
		t.Fatal(err)
	}
	return a
}

// connects opens a proven socket for a phone under test.
func (k *keyed) connects(t testing.TB, s *shopAt, p *phone) answered {
	t.Helper()
	ws, nonce := s.open(t)
	a := proves(t, ws, k.device, k.sign(t, s.http.URL, k.device, nonce))
	k.pass = a.Pass
	ws.SetReadDeadline(time.Time{})
	if a.Refused == "" && p != nil {
		p.attach(ws)
	}
	return a
}

// A lead corrects who somebody is by the same line again, which stands in the place
// of the one before; the last lead stays one.
func TestCorrectedRoles(t *testing.T) {
	s := startClosed(t, t.TempDir())
	phone, p := s.member(t, join.Lead, "Mara's"), newPhone(t, "Mara's")
	phone.connects(t, s, p)
	is := func(by, id logbook.ID, name, role string) logbook.Ref {
		t.Helper()
		n := p.write(s.store.shop, by, checklist.PersonAdd{Person: checklist.ID(id), Name: name, Initials: name[:1], Role: role})
		p.untilKept()
		return n.Ref
	}
	is(logbook.ID{}, lead, "Mara", "lead")
	is(lead, crew, "Jon", "crew")
	is(lead, lead, "Mara", "crew") // nobody would lead
	made := is(lead, crew, "Jonte", "lead")
	is(lead, lead, "Mara", "crew")
	is(crew, crew, "Jonte", "porter") // nobody would lead
	// Nor does the line that made the lead go, once there is work; a hand's does.
	p.write(jobV5, crew, checklist.JobOpen{Label: "V5", Route: "van", Panels: []checklist.Panel{{ID: "roof", Name: "Roof"}}})
	p.untilKept()
	p.write(s.store.shop, crew, nil, made)
	p.untilKept()
	odd := is(crew, logbook.Named("Odd"), "Odd", "crew")
	p.write(s.store.shop, crew, nil, odd)
	p.untilKept()
	if _, ok := s.person(logbook.Named("Odd")); ok {
		t.Error("a hand who was written by mistake cannot be taken back")
	}
	var got []string
	for _, a := range p.aside {
		got = append(got, a.Reason)
	}
	if want := slices.Repeat([]string{"The shop needs a lead. Make somebody else lead first."}, 3); !slices.Equal(got, want) {
		t.Errorf("set aside: %q, want %q", got, want)
	}
	for _, c := range []struct {
		id         logbook.ID
		name, role string
	}{{lead, "Mara", "crew"}, {crew, "Jonte", "lead"}} {
		if is, _ := s.person(c.id); is.Name != c.name || is.Role != c.role {
			t.Errorf("%s is %q, %q", c.name, is.Name, is.Role)
		}
	}
}

// Phones that nobody named are told apart in the lead's list; what was typed stays
// as it was typed, were it twice.
func TestUnnamedPhones(t *testing.T) {
	s := startClosed(t, t.TempDir())
	var got []string
	for _, typed := range []string{"", "Phone 2", "  ", "bay phone", "bay phone", ""} {
		s.member(t, join.Crew, typed)
	}
	for _, d := range s.writer.roll.Devices() {
		got = append(got, d.Name)
	}
	want := []string{"Phone 1", "Phone 2", "Phone 3", "bay phone", "bay phone", "Phone 4"}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("the phones are called %q, want %q", got, want)
	}
}

// The first ten minutes of a shop: the lead's phone joins by the picture on the
// terminal, writes the crew down, invites a hand, who joins by the code.
func TestJoining(t *testing.T) {
	s := startClosed(t, t.TempDir())
	first, ok := s.FirstLead()
	if !ok || !strings.HasPrefix(first.URL, "https://"+shopName+":") || strings.Contains(first.URL, "?") {
		t.Fatalf("the first invitation: %+v %v", first, ok)
	}
	mara := newKey(t)
	if code, body := mara.joins(t, s, object{"token": tokenOf(first), "name": "Mara's phone"}); code != http.StatusOK {
		t.Fatalf("%d %s", code, body)
	}
	// It never heard the answer and asks again.
	was := mara.device
	if code, _ := mara.joins(t, s, object{"token": tokenOf(first)}); code != http.StatusOK || mara.device != was {
		t.Error("a phone that asks twice is another one")
	}
	if _, ok := s.FirstLead(); ok {
		t.Error("the terminal invites a second first lead")
	}
	p := newPhone(t, "Mara's")
	if a := mara.connects(t, s, p); a.Role != "lead" {
		t.Fatalf("the lead's phone: %+v", a)
	}
	shop := s.store.shop
	p.write(shop, logbook.ID{}, checklist.PersonAdd{Person: checklist.ID(lead), Name: "Mara", Initials: "M", Role: "lead"})
	p.untilKept()
	p.write(shop, lead, checklist.PersonAdd{Person: checklist.ID(crew), Name: "Jon", Initials: "J", Role: "crew"})
	p.write(jobV5, lead, checklist.JobOpen{Label: "V5", Route: "panels"})
	p.untilKept()

	code, body := s.ask(t, "POST", "/invite", mara.pass, object{"role": "crew"})
	var i struct {
		Invitation
		SVG string
	}
	if err := json.Unmarshal([]byte(body), &i); code != http.StatusOK || err != nil || !strings.HasPrefix(i.SVG, "<svg ") {
		t.Fatalf("%d %s", code, body)
	}
	jon := newKey(t)
	if code, body := jon.joins(t, s, object{"code": strings.ToLower(i.Code), "name": "The bay's\u202e phone"}); code != http.StatusOK {
		t.Fatalf("%d %s", code, body)
	}
	q := newPhone(t, "the bay's")
	if a := jon.connects(t, s, q); a.Role != "crew" {
		t.Fatalf("a crew phone: %+v", a)
	}
	q.untilCaught()
	q.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	q.untilKept()
	if len(q.aside)+len(p.aside) > 0 {
		t.Errorf("set aside: %v %v", p.aside, q.aside)
	}

	// What is on record about the phones: as many lines as were done.
	kinds := map[string]int{}
	lines, err := s.store.After(shop, 0, 1000, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines {
		e, err := logbook.Decode(l.Entry)
		if err != nil {
			t.Fatal(err)
		}
		kinds[e.Kind]++
	}
	if kinds["device.add"] != 2 || kinds["device.writer"] != 2 {
		t.Errorf("lines about phones: %v", kinds)
	}
	code, body = s.ask(t, "GET", "/devices", mara.pass, nil)
	var list []struct {
		Name, Role string
		Holds      int
		Online, Me bool
	}
	if err := json.Unmarshal([]byte(body), &list); code != http.StatusOK || err != nil || len(list) != 2 {
		t.Fatalf("%d %s", code, body)
	}
	for _, d := range list {
		if want := map[string]string{"Mara's phone": "lead", "The bay's phone": "crew"}[d.Name]; d.Role != want || !d.Online || d.Holds != 3 || d.Me != (want == "lead") {
			t.Errorf("on the lead's screen: %+v", d)
		}
	}
}

// Every right is checked for every line, by who was tapped and by the phone.
func TestRightsOfPhones(t *testing.T) {
	s := startClosed(t, t.TempDir())
	mara, bay := s.member(t, join.Lead, "Mara's"), s.member(t, join.Crew, "the bay's")
	p, q := newPhone(t, "Mara's"), newPhone(t, "the bay's")
	// A shop without a lead is set up from the lead's phone alone.
	bay.connects(t, s, q)
	q.write(s.store.shop, logbook.ID{}, checklist.PersonAdd{Person: checklist.ID(crew), Name: "Eve", Initials: "E", Role: "lead"})
	q.untilKept()
	mara.connects(t, s, p)
	p.write(s.store.shop, logbook.ID{}, checklist.PersonAdd{Person: checklist.ID(lead), Name: "Mara", Initials: "M", Role: "lead"})
	p.untilKept()
	p.write(s.store.shop, lead, checklist.PersonAdd{Person: checklist.ID(crew), Name: "Jon", Initials: "J", Role: "crew"})
	p.write(jobV5, lead, checklist.JobOpen{Label: "V5", Route: "panels"})
	p.untilKept()
	waived := p.write(jobV5, lead, checklist.Waiver{Stage: "wash", Causes: []string{"no wash"}, Sentence: "washed by hand"})
	p.untilKept()
	if len(p.aside) > 0 {
		t.Errorf("the lead's phone: %v", p.aside)
	}
	q.untilCaught()
	waiver := checklist.Waiver{Stage: "dry", Causes: []string{"wet"}, Sentence: "it is dry"}
	// Each line's answer is awaited: what was set aside stands in that order.
	ticked := q.write(jobV5, lead, checklist.Tick{Stage: "wash", Answer: "done"})
	q.untilKept()
	for _, f := range []func(){
		func() { q.write(jobV5, crew, waiver) },
		func() { q.write(jobV5, lead, waiver) },
		func() { q.write(jobV5, lead, nil, waived.Ref) },
		func() { q.write(jobV5, lead, nil, ticked.Ref) }, // its own: kept
	} {
		f()
		q.untilKept()
	}
	want := []string{
		"Only the lead or the shop server may write this.",
		"Only the lead may write this.",
		"A lead writes this on the lead's own phone, or by PIN.",
		"Only who wrote it, or the lead, takes a line back.",
	}
	var got []string
	for _, a := range q.aside {
		got = append(got, a.Reason)
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("on a crew phone:\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// atWork is a shop with a lead and a vehicle, and two connected phones: the
// lead's own and the bay's.
func (s *shopAt) atWork(t *testing.T) (mara, bay *keyed, p, q *phone) {
	t.Helper()
	mara, bay = s.member(t, join.Lead, "Mara's"), s.member(t, join.Crew, "the bay's")
	p, q = newPhone(t, "Mara's"), newPhone(t, "the bay's")
	mara.connects(t, s, p)
	p.write(s.store.shop, logbook.ID{}, checklist.PersonAdd{Person: checklist.ID(lead), Name: "Mara", Initials: "M", Role: "lead"})
	p.untilKept()
	p.write(jobV5, lead, checklist.JobOpen{Label: "V5", Route: "panels"})
	p.untilKept()
	bay.connects(t, s, q)
	return mara, bay, p, q
}

// What is refused leaves every logbook as it was.
func TestHostileClients(t *testing.T) {
	s := startClosed(t, t.TempDir())
	mara, bay, p, q := s.atWork(t)
	q.write(jobV5, logbook.ID{}, checklist.Tick{Stage: "wash", Answer: "done"})
	q.untilKept()

	// The lead's PIN was typed on a third phone just now.
	wash, r := s.member(t, join.Crew, "the wash's"), newPhone(t, "the wash's")
	wash.connects(t, s, r)
	r.write(jobV5, logbook.ID{}, checklist.Tick{Stage: "wash", Answer: "done"})
	r.untilKept()
	pin := object{"person": lead.String(), "pin": "4071"}
	s.said(t, 204, "", "POST", "/pin", mara.pass, pin)
	s.said(t, 200, "lasts", "POST", "/pin/use", wash.pass, pin)
	address := s.opens(t, mara.pass, "calendar", logbook.ID{})

	origin := s.http.URL
	stranger := newKey(t)
	stranger.device = bay.device
	turnedAway := func(t *testing.T, a answered) {
		t.Helper()
		if !strings.Contains(a.Refused, "has not joined") || a.Pass != "" || a.Role != "" {
			t.Errorf("answered %+v", a)
		}
	}
	bring := func(t *testing.T, from *phone, make func() logbook.Entry, why string) {
		t.Helper()
		before := len(from.aside)
		e := make()
		name := session.Name{Log: e.Log, Ref: e.Ref()}
		from.rows[name] = row{entry: e.Append(nil)}
		from.outbox = append(from.outbox, name)
		from.say(name)
		from.untilKept()
		if len(from.aside) != before+1 || !strings.Contains(from.aside[before].Reason, why) {
			t.Errorf("set aside: %v, want %q", from.aside[before:], why)
		}
	}
	stamp := func() logbook.Stamp { return q.clk.Stamp(q.clocks()) }
	for _, c := range []struct {
		name string
		try  func(t *testing.T)
	}{
		{"no proof at all: hello at once", func(t *testing.T) {
			ws, _ := s.open(t)
			ws.WriteMessage(websocket.BinaryMessage, hello(t))
			var a answered
			ws.SetReadDeadline(time.Now().Add(time.Minute))
			if err := ws.ReadJSON(&a); err != nil || !strings.Contains(a.Refused, "proves who it is") {
				t.Errorf("%+v %v", a, err)
			}
		}},
		{"a forged phone: another's id, a key of its own", func(t *testing.T) {
			ws, nonce := s.open(t)
			turnedAway(t, proves(t, ws, bay.device, stranger.sign(t, origin, bay.device, nonce)))
		}},
		{"a phone that never joined", func(t *testing.T) {
			ws, nonce := s.open(t)
			id := logbook.Named("nobody's")
			turnedAway(t, proves(t, ws, id, stranger.sign(t, origin, id, nonce)))
		}},
		{"a replayed nonce", func(t *testing.T) {
			ws, nonce := s.open(t)
			proof := bay.sign(t, origin, bay.device, nonce)
			if a := proves(t, ws, bay.device, proof); a.Role != "crew" {
				t.Fatalf("the first time: %+v", a)
			}
			again, _ := s.open(t)
			turnedAway(t, proves(t, again, bay.device, proof))
		}},
		{"a proof for another origin", func(t *testing.T) {
			ws, nonce := s.open(t)
			turnedAway(t, proves(t, ws, bay.device, bay.sign(t, "https://evil.example", bay.device, nonce)))
		}},
		{"a proof of another phone of the shop", func(t *testing.T) {
			ws, nonce := s.open(t)
			turnedAway(t, proves(t, ws, mara.device, bay.sign(t, origin, mara.device, nonce)))
		}},
		{"a proof that is too long", func(t *testing.T) {
			ws, _ := s.open(t)
			ws.WriteMessage(websocket.TextMessage, bytes.Repeat([]byte("x"), maxProof+1))
			ws.SetReadDeadline(time.Now().Add(time.Minute))
			if _, _, err := ws.ReadMessage(); err == nil {
				t.Error("it was answered")
			}
		}},
		{"pages of another origin, and none", func(t *testing.T) {
			for _, from := range []string{"https://evil.example", "http" + strings.TrimPrefix(origin, "https"), "https://" + shopName, "null", ""} {
				_, resp, err := s.dialer(proving).Dial("wss"+strings.TrimPrefix(origin, "https")+"/ws", http.Header{"Origin": {from}})
				if err == nil || resp == nil || resp.StatusCode != http.StatusForbidden {
					t.Errorf("origin %q: %v %v", from, resp, err)
				}
			}
		}},
		{"the protocol without proof", func(t *testing.T) {
			_, resp, err := s.dialer(subprotocol).Dial("wss"+strings.TrimPrefix(origin, "https")+"/ws", http.Header{"Origin": {origin}})
			if err == nil || resp == nil || resp.StatusCode != http.StatusBadRequest {
				t.Errorf("%v %v", resp, err)
			}
		}},
		{"a name that was made to point here (DNS rebinding)", func(t *testing.T) {
			for _, path := range []string{"/", "/ws", "/join", "/devices"} {
				code, _ := s.ask(t, "GET", path, mara.pass, nil, func(r *http.Request) { r.Host = "evil.example" })
				if code != http.StatusMisdirectedRequest { // RFC 9110 section 15.5.20
					t.Errorf("%s: %d", path, code)
				}
			}
		}},
		{"a form of another site's page", func(t *testing.T) {
			for path, body := range map[string]any{"/join": object{}, "/invite": object{"role": "lead"}, "/devices/" + bay.device.String() + "/off": nil} {
				code, _ := s.ask(t, "POST", path, mara.pass, body, func(r *http.Request) {
					r.Header.Set("Origin", "https://evil.example")
					r.Header.Set("Sec-Fetch-Site", "cross-site")
				})
				if code != http.StatusForbidden {
					t.Errorf("%s: %d", path, code)
				}
			}
		}},
		{"no pass, a made one, and a crew phone where the lead's is wanted", func(t *testing.T) {
			sum := strings.Repeat("0", 64)
			for _, path := range []string{"GET /lead", "GET /register", "GET /hours", "GET /air/bay-4", "GET /plan.ics", "GET /find?q=v5", "GET /drops?side_mm=12000&roll_mm=1370", "GET /may/move?job=V5", "GET /may/light", "GET /photos/" + sum, "HEAD /photos/" + sum, "PATCH /photos/" + sum,
				"GET /spots", "GET /learn", "GET /learn.csv", "GET /devices", "GET /grants", "POST /grants", "POST /grants/x/off", "GET /pin", "POST /pin", "POST /pin/use", "POST /invite", "POST /devices/" + bay.device.String() + "/off"} {
				method, path, _ := strings.Cut(path, " ")
				for _, pass := range []string{"", mara.device.String() + ".AAAAAAAAAAAAAAAAAAAAAA"} {
					if code, _ := s.ask(t, method, path, pass, object{"role": "lead"}); code != http.StatusUnauthorized {
						t.Errorf("%s %s with pass %q: %d", method, path, pass, code)
					}
				}
				if leads := path == "/devices" || path == "/pin" || path == "/grants" || strings.HasPrefix(path, "/learn") || method == "POST"; leads && path != "/pin/use" {
					if code, _ := s.ask(t, method, path, bay.pass, object{"role": "lead"}); code != http.StatusForbidden {
						t.Errorf("%s %s from a crew phone: %d", method, path, code)
					}
				}
			}
			if code, _ := s.ask(t, "POST", "/pass", "", nil, func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+bay.pass+"x") }); code != http.StatusUnauthorized {
				t.Errorf("a made pass becomes a cookie: %d", code)
			}
		}},
		{"a logger without a key", func(t *testing.T) {
			err := s.writer.do(t.Context(), func(*pen) error { return nil })
			if err != nil {
				t.Fatal(err)
			}
			if why := s.mayPost(httptest.NewRequest("POST", "/climate/bay-4", nil), checklist.PlaceAdd{Name: "Bay 4"}); !strings.Contains(why, "key") {
				t.Errorf("%q", why)
			}
		}},
		{"an invitation that is over, was used, or never was", func(t *testing.T) {
			i := s.Invite(origin, join.Lead, logbook.ID{})
			s.members.mu.Lock()
			ticket, err := s.members.invitations.Find(tokenOf(i), "", "x", i.Until-1)
			s.members.invitations.Use(ticket)
			s.members.mu.Unlock()
			if err != nil {
				t.Fatal(err)
			}
			for _, ask := range []object{{"token": tokenOf(i)}, {"code": i.Code}, {"token": "AAAAAAAAAAAAAAAAAAAAAA"}, {"token": "../../x"}, {}} {
				if code, body := newKey(t).joins(t, s, ask); code != http.StatusForbidden || body != join.ErrNoInvitation.Error() {
					t.Errorf("%v: %d %s", ask, code, body)
				}
			}
			for _, key := range [][]byte{nil, make([]byte, 65), bytes.Repeat([]byte{4}, 65)} {
				if code, _ := s.ask(t, "POST", "/join", "", object{"token": tokenOf(i), "key": key}); code != http.StatusBadRequest {
					t.Errorf("a key %x: %d", key, code)
				}
			}
		}},
		{"guessed codes", func(t *testing.T) {
			i := s.Invite(origin, join.Crew, logbook.ID{})
			last, body := 0, ""
			for range 30 {
				last, body = newKey(t).joins(t, s, object{"code": "0000 0000"})
			}
			if last != http.StatusTooManyRequests || body != join.ErrSlow.Error() {
				t.Errorf("after 30 guesses: %d %s", last, body)
			}
			if code, _ := newKey(t).joins(t, s, object{"code": i.Code}); code != http.StatusTooManyRequests {
				t.Errorf("the guesser's right one: %d", code)
			}
		}},
		{"a guessed PIN", func(t *testing.T) {
			for n := range 10 {
				want := http.StatusForbidden
				if n >= 3 {
					want = http.StatusTooManyRequests
				}
				s.said(t, want, "wrong", "POST", "/pin/use", bay.pass, object{"person": lead.String(), "pin": fmt.Sprint(5000 + n)})
			}
			s.said(t, http.StatusTooManyRequests, "Wait", "POST", "/pin/use", bay.pass, pin)
		}},
		{"a PIN that was typed on another phone", func(t *testing.T) {
			bring(t, q, func() logbook.Entry {
				q.seqs[jobV5]++
				return logbook.Entry{Log: jobV5, Writer: q.writer, Seq: q.seqs[jobV5], At: stamp(), By: lead, Kind: "waiver", Body: line.Encode(goAhead)}
			}, "or by PIN")
		}},
		{"another hand where the PIN was typed", func(t *testing.T) {
			bring(t, r, func() logbook.Entry {
				r.seqs[jobV5]++
				return logbook.Entry{Log: jobV5, Writer: r.writer, Seq: r.seqs[jobV5], At: stamp(), By: crew, Kind: "waiver", Body: line.Encode(goAhead)}
			}, "Only the lead")
		}},
		{"a line that says that the PIN was typed", func(t *testing.T) {
			kind, body := join.Opened(bay.device, lead, 1<<52)
			bring(t, q, func() logbook.Entry {
				q.seqs[s.store.shop]++
				return logbook.Entry{Log: s.store.shop, Writer: q.writer, Seq: q.seqs[s.store.shop], At: stamp(), By: lead, Kind: kind, Body: body}
			}, "Only the shop server")
		}},
		{"a PIN for one who is no lead, and what is no PIN", func(t *testing.T) {
			for _, person := range []string{crew.String(), "", "<script>alert(1)</script>", "../pin"} {
				s.said(t, http.StatusForbidden, "Only a lead", "POST", "/pin", mara.pass, object{"person": person, "pin": "4071"})
				s.said(t, http.StatusForbidden, "Only a lead", "POST", "/pin/use", bay.pass, object{"person": person, "pin": "4071"})
			}
			s.said(t, http.StatusBadRequest, "4 to 8 digits", "POST", "/pin", mara.pass, object{"person": lead.String(), "pin": "<b>1"})
			s.said(t, http.StatusBadRequest, "cannot be read", "POST", "/pin/use", bay.pass, object{"person": lead.String(), "pin": strings.Repeat("1", 5000)})
		}},
		{"a calendar's secret elsewhere, a made one, and no read", func(t *testing.T) {
			u, err := url.Parse(address.URL)
			if err != nil {
				t.Fatal(err)
			}
			if code, body := s.ask(t, "GET", u.Path, "", nil); code != http.StatusOK || !strings.HasPrefix(body, "BEGIN:VCALENDAR") {
				t.Fatalf("its own address: %d %.60s", code, body)
			}
			secret := strings.Split(u.Path, "/")[2]
			for _, path := range []string{"/lead", "/plan.ics", "/devices", "/grants", "/find?q=v5", "/record/" + jobV5.ID.String(), "/air/bay-4", "/photos/" + strings.Repeat("0", 64)} {
				for _, pass := range []string{secret, mara.device.String() + "." + secret} {
					if code, _ := s.ask(t, "GET", path, pass, nil, func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+pass) }); code != http.StatusUnauthorized {
						t.Errorf("%s: %d", path, code)
					}
				}
			}
			for _, path := range []string{"/calendar/" + secret, "/calendar/" + secret + "/lead", "/calendar/" + secret + "/../../lead", "/calendar/" + secret[1:] + "/plan.ics", "/calendar/" + secret + "x/plan.ics", "/calendar//plan.ics", "/calendar/..%2f" + secret + "/plan.ics"} {
				if code, body := s.ask(t, "GET", path, "", nil); code == http.StatusOK && !strings.Contains(body, "<!doctype html>") {
					t.Errorf("%s: %d %.60s", path, code, body)
				}
			}
			for _, method := range []string{"POST", "PUT", "DELETE", "PROPFIND"} {
				if code, _ := s.ask(t, method, u.Path, "", object{}); code == http.StatusOK || code == http.StatusNoContent {
					t.Errorf("%s is answered: %d", method, code)
				}
			}
			if code := s.posts(t, "bay-4", secret); code == http.StatusOK {
				t.Error("a calendar's secret writes a bay's air")
			}
			if code, _ := s.ask(t, "GET", u.Path, "", nil, func(r *http.Request) { r.Host = "evil.example" }); code != http.StatusMisdirectedRequest {
				t.Errorf("under another name: %d", code)
			}
		}},
		{"another shop's line", func(t *testing.T) {
			bring(t, p, func() logbook.Entry {
				return logbook.Entry{Log: logbook.Log{Class: checklist.ShopLog, ID: logbook.Named("another shop")}, Writer: p.writer, Seq: 1, At: stamp(), By: lead, Kind: "note", Body: line.Encode(checklist.Note{Text: "x", Salt: make([]byte, 16)})}
			}, "another shop")
		}},
		{"a line under another phone's name", func(t *testing.T) {
			bring(t, q, func() logbook.Entry {
				return logbook.Entry{Log: jobV5, Writer: p.writer, Seq: p.seqs[jobV5] + 1, At: stamp(), By: lead, Kind: "tick", Body: line.Encode(checklist.Tick{Stage: "wash", Answer: "done"})}
			}, "another phone's name")
			p.seqs[jobV5]++ // the seq is used, outside the logbook
		}},
		{"a line that makes a phone a lead's", func(t *testing.T) {
			kind, body := join.Added(join.Device{ID: logbook.Named("evil"), Key: stranger.public(t), Name: "evil", Role: join.Lead})
			for _, from := range []*phone{p, q} {
				bring(t, from, func() logbook.Entry {
					from.seqs[s.store.shop]++
					return logbook.Entry{Log: s.store.shop, Writer: from.writer, Seq: from.seqs[s.store.shop], At: stamp(), By: lead, Kind: kind, Body: body}
				}, "Only the shop server")
			}
			if _, ok := s.writer.device(logbook.Named("evil")); ok {
				t.Error("it joined")
			}
		}},
		{"paths that climb", func(t *testing.T) {
			for _, path := range []string{"/../keys/root.pem", "/app/../../keys/root.pem", "/app/..%2f..%2fstore.db", "/photos/..%2fstore.db", "/photos/%2e%2e/store.db", "/devices/..%2f../off", "/air/..%2f..%2fstore.db", "//evil.example/%2e%2e", "/app/%00"} {
				u, err := url.Parse(s.http.URL)
				if err != nil {
					t.Fatal(err)
				}
				code, body := s.ask(t, "GET", "/", mara.pass, nil, func(r *http.Request) { r.URL = &url.URL{Scheme: "https", Host: u.Host, Opaque: "//" + u.Host + path} })
				if code == http.StatusOK && !strings.Contains(body, "<!doctype html>") && body != "" {
					t.Errorf("%s: %d %.60q", path, code, body)
				}
				if strings.Contains(body, "PRIVATE KEY") || strings.Contains(body, "CERTIFICATE") {
					t.Errorf("%s brings %.60q", path, body)
				}
			}
		}},
		{"script in a phone's name is a name", func(t *testing.T) {
			if got := phoneName("<script>alert(1)</script>\x00\n\u202ex" + strings.Repeat("y", 100)); got != ("<script>alert(1)</script> x" + strings.Repeat("y", 100))[:40] {
				t.Errorf("%q", got) // written as text: the page renders through lit-html, and the policy forbids inline script
			}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := s.store.Heads()
			c.try(t)
			if after := s.store.Heads(); !maps.Equal(before, after) {
				t.Errorf("a logbook grew: %v, before %v", after, before)
			}
		})
	}
}

// A phone that was taken off brings what it wrote, which is set aside; it reads
// nothing, on a socket that is open and on a new one.
func TestPhoneTakenOff(t *testing.T) {
	s := startClosed(t, t.TempDir())
	mara, bay, p, q := s.atWork(t)
	q.untilCaught()
	q.write(jobV5, logbook.ID{}, checklist.Tick{Stage: "wash", Answer: "done"})
	q.untilKept()
	if code, body := s.ask(t, "GET", "/lead", bay.pass, nil); code != http.StatusOK {
		t.Fatalf("before: %d %s", code, body)
	}

	// The lead's PIN was typed on it a moment before.
	pin := object{"person": lead.String(), "pin": "4071"}
	s.said(t, 204, "", "POST", "/pin", mara.pass, pin)
	s.said(t, 200, "lasts", "POST", "/pin/use", bay.pass, pin)
	if code, body := s.ask(t, "POST", "/devices/"+bay.device.String()+"/off", mara.pass, nil); code != http.StatusNoContent {
		t.Fatalf("%d %s", code, body)
	}
	for range q.frames { // its socket ends
	}
	s.said(t, 401, "", "POST", "/pin/use", bay.pass, object{"person": lead.String(), "pin": "4071"})
	for _, path := range []string{"/lead", "/photos/" + strings.Repeat("0", 64)} {
		if code, _ := s.ask(t, "GET", path, bay.pass, nil); code != http.StatusUnauthorized {
			t.Errorf("%s afterwards: %d", path, code)
		}
	}
	// A pass that it was given in the moment between the line and the end of its
	// passes is worth nothing either.
	s.members.mu.Lock()
	late := s.members.passes.Give([16]byte{1}, bay.device, s.clock())
	s.members.mu.Unlock()
	s.said(t, 401, "", "GET", "/lead", late, nil)
	s.said(t, 401, "", "POST", "/pin/use", late, pin)
	if code, _ := s.ask(t, "POST", "/pass", "", nil, func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+late) }); code != 401 {
		t.Errorf("it becomes a cookie: %d", code)
	}
	p.write(jobV5, lead, checklist.Note{Text: "the lost phone is not to read this", Salt: make([]byte, 16)})
	p.untilKept()
	before, came := s.store.Heads(), q.came
	q.entry(jobV5, logbook.ID{}, checklist.Tick{Stage: "dry", Answer: "done"})
	q.entry(jobV5, lead, goAhead)
	if a := bay.connects(t, s, q); a.Role != "off" || a.Pass != "" {
		t.Fatalf("answered %+v", a)
	}
	q.untilKept()
	if len(q.aside) != 2 || !strings.Contains(q.aside[0].Reason, "taken off") || !strings.Contains(q.aside[1].Reason, "taken off") {
		t.Errorf("set aside: %v", q.aside)
	}
	q.untilCaught() // with nothing
	if q.came != came {
		t.Errorf("it read %d lines", q.came-came)
	}
	if after := s.store.Heads(); !maps.Equal(before, after) {
		t.Errorf("a logbook grew: %v, before %v", after, before)
	}
	shelf, err := s.store.Aside()
	if err != nil || len(shelf) != 2 || shelf[0].Device != bay.device {
		t.Errorf("for the lead: %+v %v", shelf, err)
	}
	if code, body := bay.joins(t, s, object{"token": tokenOf(s.Invite(s.http.URL, join.Crew, logbook.ID{}))}); code != http.StatusGone {
		t.Errorf("the same key joins again: %d %s", code, body)
	}

	// On the record: another start knows it too.
	dir := s.dir
	s.stop(t)
	s = startClosed(t, dir)
	if a := bay.connects(t, s, nil); a.Role != "off" {
		t.Errorf("after a restart: %+v", a)
	}
	if a := mara.connects(t, s, nil); a.Role != "lead" {
		t.Errorf("the lead's after a restart: %+v", a)
	}
	if d, ok := s.writer.device(bay.device); !ok || d.Revoked == 0 {
		t.Errorf("%+v", d)
	}
	s.members.mu.Lock()
	c := s.members.contacts[bay.device]
	s.members.mu.Unlock()
	if c.at == 0 || c.holds != 3 {
		t.Errorf("its last contact: %+v", c)
	}
}

// The cookie as RFC 6265bis wants it of the __Host- prefix, and out of reach of
// the page and of other sites' pages.
func TestPassCookie(t *testing.T) {
	s := startClosed(t, t.TempDir())
	k := s.member(t, join.Crew, "x")
	k.connects(t, s, nil)
	r, err := http.NewRequest("POST", s.http.URL+"/pass", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+k.pass)
	resp, err := s.http.Client().Do(r)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if c := resp.Cookies(); resp.StatusCode != http.StatusNoContent || len(c) != 1 || !c[0].Secure || !c[0].HttpOnly ||
		c[0].Path != "/" || c[0].Domain != "" || c[0].SameSite != http.SameSiteStrictMode || !strings.HasPrefix(c[0].Name, "__Host-") {
		t.Errorf("%d %v", resp.StatusCode, fmt.Sprint(c))
	}
}

// At localhost nobody has to join, and nothing of it is there.
func TestOpenAtLocalhost(t *testing.T) {
	s := startShop(t, t.TempDir())
	if _, ok := s.FirstLead(); ok {
		t.Error("a shop at localhost wants a first lead")
	}
	for _, path := range []string{"/devices", "/join"} {
		if code, _ := get(t, s.http.URL+path); code != http.StatusNotFound {
			t.Errorf("%s: %d", path, code)
		}
	}
	for _, c := range []struct {
		cfg  Config
		open bool
		err  bool
	}{
		{Config{Addr: "localhost:1"}, true, false},
		{Config{Addr: "127.0.0.1:1"}, true, false},
		{Config{Addr: "[::1]:1"}, true, false},
		{Config{Addr: "localhost:1", Name: "shop.local"}, false, false},
		{Config{Addr: ":1"}, false, true},
		{Config{Addr: "0.0.0.0:1"}, false, true},
		{Config{Addr: "192.168.1.5:1"}, false, true},
		{Config{Addr: "192.168.1.5:1", TLS: &tls.Config{}}, false, false},
	} {
		if open, err := c.cfg.local(); open != c.open || (err != nil) != c.err {
			t.Errorf("%+v: open %v, %v", c.cfg, open, err)
		}
	}
}
