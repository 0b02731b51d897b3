package server

import (
	"crypto/tls"
	"encoding/json"
	"errors"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"bayhold/server/join"
	"bayhold/sync/logbook"
)

// at makes a request ask for the shop by another name.
func at(host string) func(*http.Request) { return func(r *http.Request) { r.Host = host } }

// machine is a network card with addresses.
func machine(addrs ...string) func() ([]net.Addr, error) {
	return func() (out []net.Addr, err error) {
		for _, a := range addrs {
			ip, n, err := net.ParseCIDR(a)
			if err != nil {
				return nil, err
			}
			out = append(out, &net.IPNet{IP: ip, Mask: n.Mask})
		}
		return out, nil
	}
}

// startAt serves a folder under a name on a machine; earlier names are proven.
func startAt(t *testing.T, dir, name string, change ...func(*Config)) *shopAt {
	t.Helper()
	cfg := Config{Data: dir, Addr: ":8443", Name: name, TLS: &tls.Config{}, App: appFiles, Worker: []byte("//"), Bundle: "test", Log: testLog(t),
		Addresses: machine("192.168.4.20/24"), PagePort: "8080",
		Proves: func(name string) bool { return strings.HasSuffix(name, ".local") }}
	for _, c := range change {
		c(&cfg)
	}
	s, err := Open(cfg)
	if err != nil {
		t.Fatal(err)
	}
	shop := &shopAt{Server: s, http: httptest.NewTLSServer(s.Handler()), dir: dir}
	t.Cleanup(func() { shop.stop(t) })
	return shop
}

// speaks proves a phone over a socket that a page of the host opened.
func (k *keyed) speaks(t *testing.T, s *shopAt, host string, holds int) (role, moved string, err error) {
	t.Helper()
	origin := "https://" + host
	ws, resp, err := s.dialer(proving).Dial("wss"+strings.TrimPrefix(s.http.URL, "https")+"/ws", http.Header{"Origin": {origin}, "Host": {host}})
	if err != nil {
		if resp != nil {
			err = errors.New(resp.Status)
		}
		return "", "", err
	}
	defer ws.Close()
	var said struct{ Nonce, Role, Pass, Moved string }
	ws.SetReadDeadline(time.Now().Add(time.Minute))
	if err := ws.ReadJSON(&said); err != nil {
		t.Fatal(err)
	}
	if err := ws.WriteJSON(object{"device": k.device.String(), "proof": k.sign(t, origin, k.device, said.Nonce), "holds": holds}); err != nil {
		t.Fatal(err)
	}
	if err := ws.ReadJSON(&said); err != nil {
		t.Fatal(err)
	}
	k.pass = said.Pass
	ws.WriteControl(websocket.CloseMessage, nil, time.Now().Add(time.Second))
	return said.Role, said.Moved, nil
}

// enters joins at a host by an invitation that the machine's owner got.
func enters(t *testing.T, s *shopAt, host string, role join.Role, name string) *keyed {
	t.Helper()
	k := newKey(t)
	code, body := s.ask(t, "POST", "/join", "", object{"token": tokenOf(s.Invite(s.Origin(), role, k.device)), "name": name, "key": k.public(t)}, at(host))
	if code != http.StatusOK {
		t.Fatalf("%s joins at %s: %d %s", name, host, code, body)
	}
	k.knows(t, body)
	return k
}

func (k *keyed) knows(t *testing.T, body string) {
	t.Helper()
	var answer struct{ Device string }
	if err := json.Unmarshal([]byte(body), &answer); err != nil {
		t.Fatal(err)
	}
	k.device, _ = logbook.ParseID(answer.Device)
}

// The shop takes another name. The phones of the old one are served there, also
// after a restart, until each has brought everything and joined at the new one:
// that takes one tap and no lead. Then the old name is a stranger's again.
func TestShopTakesAnotherName(t *testing.T) {
	dir := t.TempDir()
	const old, is = "tarnbrook.local:8443", "six.local:8443"
	s := startAt(t, dir, "tarnbrook.local")
	mara := enters(t, s, old, join.Lead, "Mara's phone")
	bay := enters(t, s, old, join.Crew, "bay phone")
	away := enters(t, s, old, join.Crew, "phone in a van")
	for _, k := range []*keyed{mara, bay} {
		if role, moved, err := k.speaks(t, s, old, 3); role == "" || moved != "" || err != nil {
			t.Fatalf("at the shop's name: %q, sent to %q, %v", role, moved, err)
		}
	}
	if len(s.Left()) != 0 {
		t.Fatalf("left before anything moved: %+v", s.Left())
	}
	s.stop(t)

	for range 2 { // the server is started again before the phones come
		s = startAt(t, dir, "six.local")
		if got := s.OldNames(); len(got) != 1 || got[0] != "tarnbrook.local" {
			t.Fatalf("old names: %v", got)
		}
		if code, _ := s.ask(t, "GET", "/version", "", nil, at("elsewhere.local:8443")); code != http.StatusMisdirectedRequest {
			t.Errorf("a name that the shop never had: %d", code)
		}
		if role, moved, err := bay.speaks(t, s, old, 2); role != "crew" || moved != "https://"+is || err != nil {
			t.Fatalf("a phone of the old name: %q, sent to %q, %v", role, moved, err)
		}
		s.stop(t)
	}
	s = startAt(t, dir, "six.local")
	if _, moved, _ := mara.speaks(t, s, old, 0); moved != "https://"+is {
		t.Fatalf("the lead's phone is sent to %q", moved)
	}
	// The lead sees who is left, and with what; whom the lead invites joins anew
	// at the new name, not at the old one.
	var told struct {
		Here string
		Left []Left
	}
	code, body := s.ask(t, "GET", "/origins", mara.pass, nil, at(old))
	if err := json.Unmarshal([]byte(body), &told); err != nil || code != 200 || told.Here != "https://"+is || len(told.Left) != 1 {
		t.Fatalf("the lead is told %d %s", code, body)
	}
	if l := told.Left[0]; l.Origin != "https://"+old || l.Why != "" || len(l.Phones) != 3 {
		t.Errorf("left: %+v", l)
	}
	for _, p := range told.Left[0].Phones {
		if want := map[string]int{"bay phone": 2}[p.Name]; p.Holds != want || p.At == 0 {
			t.Errorf("%s: with %d lines, heard %d; want %d", p.Name, p.Holds, p.At, want)
		}
	}
	if code, body := s.ask(t, "POST", "/invite", mara.pass, object{"role": "crew"}, at(old)); !strings.Contains(body, `"url":"https://`+is) {
		t.Errorf("invited by the lead: %d %s", code, body)
	}
	if _, _, err := bay.speaks(t, s, old, 2); err != nil {
		t.Fatal(err)
	}
	if code, _ := s.ask(t, "GET", "/origins", bay.pass, nil, at(old)); code != http.StatusForbidden {
		t.Errorf("a crew phone is told who is left: %d", code)
	}

	move := func(k *keyed, host string, holds any) (int, string) {
		return s.ask(t, "POST", "/move", k.pass, object{"holds": holds}, at(host))
	}
	for _, c := range []struct {
		k     *keyed
		host  string
		holds any
		code  int
		says  string
	}{
		{bay, old, 2, http.StatusConflict, "2 lines and photos are only on this phone"},
		{bay, old, nil, http.StatusBadRequest, "say how many"},
		{bay, old, -1, http.StatusBadRequest, "say how many"},
		{bay, is, 0, http.StatusConflict, "nowhere to move"},
		{newKey(t), old, 0, http.StatusUnauthorized, ""},
	} {
		if code, body := move(c.k, c.host, c.holds); code != c.code || !strings.Contains(body, c.says) {
			t.Errorf("moving with %v from %s: %d %s", c.holds, c.host, code, body)
		}
	}
	code, body = move(bay, old, 0)
	var ticket struct {
		Invitation
		To, Page, SVG string
	}
	if err := json.Unmarshal([]byte(body), &ticket); err != nil || code != 200 || ticket.To != "https://"+is || !strings.HasPrefix(ticket.URL, "https://"+is+"/#/join/") {
		t.Fatalf("moving: %d %s", code, body)
	}
	if ticket.Page != "http://127.0.0.1:8080" || !strings.Contains(ticket.SVG, "<svg") { // the address that the phone reached
		t.Errorf("it is shown %q and %q", ticket.Page, ticket.SVG)
	}
	if n := len(s.Left()[0].Phones); n != 3 {
		t.Errorf("%d phones are left: one that was only invited has not moved", n)
	}
	// The same phone, with another store and another key.
	anew := newKey(t)
	code, body = s.ask(t, "POST", "/join", "", object{"token": tokenOf(ticket.Invitation), "name": "bay phone", "key": anew.public(t)}, at(is))
	if code != 200 || !strings.Contains(body, `"role":"crew"`) {
		t.Fatalf("joining anew: %d %s", code, body)
	}
	anew.knows(t, body)
	if role, moved, err := anew.speaks(t, s, is, 0); role != "crew" || moved != "" || err != nil {
		t.Errorf("at the new name: %q, sent to %q, %v", role, moved, err)
	}
	if n := len(s.Left()[0].Phones); n != 2 {
		t.Errorf("%d phones are left, want the lead's and the one in a van", n)
	}

	// Who said that it held nothing, and did not move, may write more.
	s.stop(t)
	s = startAt(t, dir, "six.local")
	if _, moved, err := mara.speaks(t, s, old, 0); moved == "" || err != nil {
		t.Fatalf("a phone with nothing on it is not served at the old name any more: %v", err)
	}
	code, body = move(mara, old, 0)
	if err := json.Unmarshal([]byte(body), &ticket); err != nil || code != 200 {
		t.Fatalf("moving: %d %s", code, body)
	}
	lead := newKey(t)
	// Typed on the home screen's app, which shares nothing with the browser.
	code, body = s.ask(t, "POST", "/join", "", object{"code": strings.ToLower(ticket.Code), "name": "Mara's phone", "key": lead.public(t)}, at(is))
	if code != 200 || !strings.Contains(body, `"role":"lead"`) {
		t.Fatalf("joining anew by the code: %d %s", code, body)
	}
	lead.knows(t, body)
	if _, _, err := lead.speaks(t, s, is, 0); err != nil {
		t.Fatal(err)
	}
	if code, body := s.ask(t, "POST", "/devices/"+away.device.String()+"/off", lead.pass, nil, at(is)); code != http.StatusNoContent {
		t.Fatalf("the phone in a van is taken off: %d %s", code, body)
	}
	if len(s.Left()) != 0 {
		t.Errorf("left: %+v", s.Left())
	}
	s.stop(t)
	s = startAt(t, dir, "six.local")
	if code, _ := s.ask(t, "GET", "/version", "", nil, at(old)); code != http.StatusMisdirectedRequest {
		t.Errorf("the old name, which nobody goes by: %d", code)
	}
}

// The machine gets another address, or the shop another port, while phones
// live at the old one; and what the lead is told where they cannot be served.
func TestOldAddress(t *testing.T) {
	dir := t.TempDir()
	s := startAt(t, dir, "tarnbrook.local")
	k := enters(t, s, "192.168.4.20:8443", join.Crew, "bay phone")
	if _, moved, err := k.speaks(t, s, "192.168.4.20:8443", 1); moved != "" || err != nil {
		t.Fatalf("at the machine's address: sent to %q, %v", moved, err)
	}
	s.stop(t)
	for _, c := range []struct {
		what   string
		change func(*Config)
		left   bool
		why    string
	}{
		{"nothing changed", func(*Config) {}, false, ""},
		{"another address beside it", func(c *Config) { c.Addresses = machine("192.168.4.31/24", "192.168.4.20/24") }, false, ""},
		{"another address", func(c *Config) { c.Addresses = machine("192.168.4.31/24") }, true, "no longer has 192.168.4.20. Let the router give it back"},
		{"no network", func(c *Config) { c.Addresses = func() ([]net.Addr, error) { return nil, errors.New("down") } }, true, "no longer has 192.168.4.20"},
		{"an address of another name's root", func(c *Config) { c.Name, c.Began = "six.local", time.Now().Add(time.Minute) }, true, ""},
		{"another port", func(c *Config) { c.Addr = ":9443" }, true, "Nothing listens at port 8443"}, // not yet: Listen was not called
	} {
		s := startAt(t, dir, "tarnbrook.local", c.change)
		left := s.Left()
		if (len(left) > 0) != c.left || c.left && (len(left[0].Phones) != 1 || c.why != "" && !strings.Contains(left[0].Why, c.why) || c.why == "" && left[0].Why != "") {
			t.Errorf("%s: %+v", c.what, left)
		}
		s.stop(t)
	}

	// An old port is listened at beside the new one; a port that somebody else
	// has is told of. Between the two somebody else may take it again, so more
	// than one is tried.
	here := func(c *Config) { c.Addr = "127.0.0.1:0" }
	unserved := func(port string) string {
		t.Helper()
		s := startAt(t, dir, "tarnbrook.local", here)
		defer s.stop(t)
		if err := s.Listen(); err != nil {
			t.Fatal(err)
		}
		defer func() {
			for _, ln := range append(s.again, s.ln) {
				ln.Close()
			}
		}()
		for _, l := range s.Left() {
			if strings.HasSuffix(l.Origin, ":"+port) {
				return l.Why
			}
		}
		t.Fatalf("nobody is left at port %s", port)
		return ""
	}
	for try := 0; ; try++ {
		other, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		_, port, _ := net.SplitHostPort(other.Addr().String())
		s = startAt(t, dir, "tarnbrook.local")
		enters(t, s, "tarnbrook.local:"+port, join.Crew, "phone at a port")
		s.stop(t)
		if why := unserved(port); !strings.Contains(why, "Nothing listens at port "+port) {
			t.Errorf("a port of somebody else's: %q", why)
		}
		other.Close()
		why := unserved(port)
		if why == "" {
			break
		}
		if try == 5 {
			t.Errorf("an old port that is free is not served: %s", why)
			break
		}
	}
}
