package server

import (
	"io"
	"io/fs"
	"maps"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/server/join"
	"bayhold/sync/logbook"
)

// route is a row of the tables in server.go and owner.go.
type route struct {
	method, path string
	leads        bool
}

var (
	aRoute = regexp.MustCompile(`mux\.Handle(?:Func)?\("(?:([A-Z]+) )?(/[^"]*)", (.*)\)\n`)
	aPart  = regexp.MustCompile(`\{[a-z]+\}`)
)

// every reads the tables, so that what is added is tried too.
func every(t *testing.T) (out []route) {
	t.Helper()
	for _, file := range []string{"server.go", "owner.go"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range aRoute.FindAllStringSubmatch(string(text), -1) {
			if m[1] == "" {
				m[1] = http.MethodGet
			}
			out = append(out, route{m[1], m[2], strings.HasPrefix(m[3], "s.leads(")})
		}
	}
	if len(out) < 45 {
		t.Fatalf("the tables have %d rows: this test reads them no more", len(out))
	}
	return out
}

// strangers are what is answered to who has no phone of the shop's: the app, the
// ways in, and what asks for a key or a link of its own.
var strangers = []string{"/", "/version", "/healthz", "/ws", "/join", "/pass", "/climate/{place}", "/climate/{place}/file", "/calendar/{secret}/plan.ics",
	"/owner/{job}", "/owner/{job}/open"}

// climbs are what stands in a part of a path to get out of it (OWASP Web Security
// Testing Guide, 'Testing Directory Traversal File Include'), or out of a page.
var climbs = []string{"..", "..%2f..%2fkeys%2froot.pem", "%2e%2e%2fcanary", "%2e%2e%5ccanary", "..;%2fcanary", "%2fetc%2fpasswd", "%00", "canary%00.jpg",
	"%c0%ae%c0%ae%2fcanary", "%252e%252e%252fcanary", "C:%5ccanary", "%3Cscript%3Ealert(1)%3C%2Fscript%3E", "'%20or%201=1--", "{job}", strings.Repeat("a", 4000)}

// Every address of the server is tried under a name that was made to point here,
// by another site's page, without a pass or with one that is over, from a crew
// phone where it is a lead's, and with something that climbs in each part. None
// is answered, none of it is in any logbook, and no file is made or shown. What
// was typed holds scripts, and no page repeats one.
func TestEveryRoute(t *testing.T) {
	o := startOwned(t)
	lost := o.member(t, join.Crew, "lost")
	lost.connects(t, o.shopAt, newPhone(t, "lost"))
	o.shopAt.said(t, 204, "", "POST", "/devices/"+lost.device.String()+"/off", o.mara.pass, nil)
	script := "<script>alert(1)</script><img src=x onerror=alert(1)>"
	o.writes(t, o.store.shop, checklist.ShopSet{Name: script, Units: "C", Zone: "Europe/Berlin"},
		checklist.PersonAdd{Person: checklist.ID(crew), Name: script, Initials: script, Role: "crew"},
		checklist.PlaceAdd{Place: checklist.ID(logbook.Named(script)), Name: script, Sort: "bay", Order: 5})
	o.writes(t, o.mine, checklist.Note{Text: script, Salt: make([]byte, 16)},
		checklist.Finding{Panel: "left", Place: script, What: "chip", Size: 5000, Walk: "check-in", Note: script},
		checklist.Waiver{Stage: "wash", Causes: []string{script}, Sentence: script})
	for _, file := range []string{"canary", "keys/root.pem", "../canary"} {
		path := filepath.Join(o.dir, file)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte("what nobody is shown"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := o.writer.alive(t.Context()); err != nil { // what was said of phones is on the disk
		t.Fatal(err)
	}
	heads, files := o.store.Heads(), tree(t, o.dir)

	client, repeated := *o.http.Client(), 0
	client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	host := strings.TrimPrefix(o.http.URL, "https://")
	ask := func(r route, path, pass string, change func(*http.Request)) (code int, body string) {
		t.Helper()
		req, err := http.NewRequest(r.method, o.http.URL, strings.NewReader("{}"))
		if err != nil {
			t.Fatal(err)
		}
		req.URL = &url.URL{Scheme: "https", Host: host, Opaque: path} // as it stands
		if pass != "" {
			req.AddCookie(&http.Cookie{Name: passCookie, Value: pass})
		}
		if change != nil {
			change(req)
		}
		resp, err := client.Do(req)
		if err != nil {
			t.Fatalf("%s %.80s: %v", r.method, path, err)
		}
		defer resp.Body.Close()
		raw, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatalf("%s %.80s: %v", r.method, path, err)
		}
		// An address is not bound to HTTPS for good before a phone has proven that it
		// trusts the root (RFC 6797 section 11.3 on certificates of one's own).
		if resp.Header.Get("Strict-Transport-Security") != "" {
			t.Errorf("%s: the answer binds the address to HTTPS", r.path)
		}
		if resp.Header.Get("X-Content-Type-Options") != "nosniff" && resp.StatusCode != http.StatusMisdirectedRequest {
			t.Errorf("%s: a browser may guess what the answer %d is", r.path, resp.StatusCode)
		}
		// What a person typed stands in answers that no browser takes for a page.
		if typed := strings.Contains(string(raw), "<script>alert") || strings.Contains(string(raw), "<img src=x"); typed {
			repeated++
			if kind := resp.Header.Get("Content-Type"); !slices.Contains([]string{"application/json", "text/plain; charset=utf-8", "text/csv; charset=utf-8", "text/calendar; charset=utf-8", "application/pdf"}, kind) {
				t.Errorf("%s %.80s: %s repeats a script", r.method, path, kind)
			}
		}
		return resp.StatusCode, string(raw)
	}
	good := map[string]string{"{job}": o.mine.ID.String(), "{place}": "bay-4", "{sha}": strings.Repeat("0", 64), "{id}": o.bay.device.String(), "{secret}": "x"}
	for _, r := range every(t) {
		path := aPart.ReplaceAllStringFunc(r.path, func(part string) string {
			if good[part] == "" {
				t.Fatalf("%s: what stands for %s?", r.path, part)
			}
			return good[part]
		})
		if code, body := ask(r, path, o.mara.pass, func(q *http.Request) { q.Host = "evil.example" }); code != http.StatusMisdirectedRequest { // RFC 9110 section 15.5.20
			t.Errorf("%s %s under another name: %d %.80s", r.method, r.path, code, body)
		}
		if r.method != http.MethodGet {
			if code, body := ask(r, path, o.mara.pass, func(q *http.Request) {
				q.Header.Set("Origin", "https://evil.example")
				q.Header.Set("Sec-Fetch-Site", "cross-site")
			}); code != http.StatusForbidden {
				t.Errorf("%s %s by another site's page: %d %.80s", r.method, r.path, code, body)
			}
		}
		if !slices.Contains(strangers, r.path) {
			for _, pass := range []string{"", "x", lost.pass, strings.ToUpper(o.mara.pass), o.mara.device.String()} {
				if code, body := ask(r, path, pass, nil); code != http.StatusUnauthorized {
					t.Errorf("%s %s by %.40q: %d %.80s", r.method, r.path, pass, code, body)
				}
			}
		}
		if r.leads {
			if code, body := ask(r, path, o.bay.pass, nil); code != http.StatusForbidden {
				t.Errorf("%s %s from a crew phone: %d %.80s", r.method, r.path, code, body)
			}
		}
		for _, part := range aPart.FindAllString(r.path, -1) {
			for _, climb := range climbs {
				path := strings.Replace(r.path, part, climb, 1)
				for p, value := range good {
					if p != climb {
						path = strings.ReplaceAll(path, p, value)
					}
				}
				code, body := ask(r, path, o.mara.pass, nil)
				if code >= 500 || strings.Contains(body, "nobody is shown") || strings.Contains(body, "root:") {
					t.Errorf("%s %.80s: %d %.200s", r.method, path, code, body)
				}
			}
		}
	}
	if repeated < 5 {
		t.Errorf("what was typed stands in %d answers: this test shows nothing of it", repeated)
	}
	if after := o.store.Heads(); !maps.Equal(heads, after) {
		t.Errorf("a logbook grew: %v, before %v", after, heads)
	}
	if after := tree(t, o.dir); !slices.Equal(files, after) {
		t.Errorf("the data folder holds %v, before %v", after, files)
	}
	if d, _ := o.writer.device(o.bay.device); d.Revoked != 0 {
		t.Error("a phone was taken off")
	}
}

// tree is the names of what a folder holds.
func tree(t *testing.T, dir string) (names []string) {
	t.Helper()
	if err := filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		names = append(names, path)
		return err
	}); err != nil {
		t.Fatal(err)
	}
	return names
}
