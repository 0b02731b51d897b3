package server

import (
	archive "archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"net/http/httptest"

	"bayhold/checklist"
	leads "bayhold/checklist/lead"
	vehicle "bayhold/checklist/record"
	"bayhold/server/join"
	"bayhold/sync/logbook"
)

// Owners of vehicles come by a link, and so does whoever found one.

// ownedShop is a closed shop whose clock stands until it is set, with a lead, a
// desk, a hand and two vehicles that were walked round.
type ownedShop struct {
	*shopAt
	now         *atomic.Int64
	mara, bay   *keyed
	mine, other logbook.Log
	log         lockedText // what the server said
}

var desk = logbook.Named("D")

func startOwned(t *testing.T) *ownedShop {
	t.Helper()
	o := &ownedShop{now: new(atomic.Int64), mine: jobV5, other: logbook.Log{Class: checklist.JobLog, ID: logbook.Named("V6")}}
	o.now.Store(time.Date(2026, 1, 13, 8, 0, 0, 0, time.UTC).UnixMilli())
	o.open(t, t.TempDir())
	t.Cleanup(func() { o.stop(t) })
	o.mara, o.bay = o.member(t, join.Lead, "Mara's"), o.member(t, join.Crew, "the bay's")
	o.writes(t, o.store.shop,
		checklist.ShopSet{Name: "Tarnbrook Six", Units: "C", Zone: "Europe/Berlin"},
		checklist.PersonAdd{Person: checklist.ID(lead), Name: "Mara", Initials: "M", Role: "lead"},
		checklist.PersonAdd{Person: checklist.ID(crew), Name: "Jon", Initials: "J", Role: "crew"},
		checklist.PersonAdd{Person: checklist.ID(desk), Name: "Dee", Initials: "D", Role: "desk"},
		checklist.PlaceAdd{Place: checklist.ID(bay4), Name: "Bay 4", Sort: "bay", Order: 4})
	for _, log := range []logbook.Log{o.mine, o.other} {
		o.writes(t, log,
			checklist.JobOpen{Label: "V5", Customer: "Dunmarrow Plumbing", Vehicle: "van", Plate: "TA MK 112", Route: "van", Place: checklist.ID(bay4),
				Promise: o.now.Load() + 3*24*3600_000,
				Panels:  []checklist.Panel{{ID: "left", Name: "left side", Zone: "upper"}, {ID: "hood", Name: "hood", Zone: "upper"}}},
			checklist.Finding{Panel: "left", Place: "low, rear", What: "chip", Size: 5000, Walk: "check-in", Photo: strings.Repeat("ab", 32)},
			checklist.Finding{Panel: "hood", What: "repaint", Note: "<b>rough</b>", Walk: "check-in"})
	}
	o.writes(t, o.other, checklist.Finding{What: "rust", Walk: "check-in"})
	for _, k := range []*keyed{o.mara, o.bay} {
		ws, nonce := o.shopAt.open(t)
		k.pass = proves(t, ws, k.device, k.sign(t, o.http.URL, k.device, nonce)).Pass
	}
	return o
}

func (o *ownedShop) open(t *testing.T, dir string) {
	t.Helper()
	s, err := Open(Config{Data: dir, Name: shopName, App: appFiles, Worker: []byte("//"), Bundle: "test",
		Log: slog.New(slog.NewTextHandler(&o.log, &slog.HandlerOptions{Level: slog.LevelDebug})),
		Now: func() time.Time { return time.UnixMilli(o.now.Load()) }})
	if err != nil {
		t.Fatal(err)
	}
	o.shopAt = &shopAt{Server: s, http: httptest.NewTLSServer(s.Handler()), dir: dir}
}

func (o *ownedShop) writes(t *testing.T, log logbook.Log, bodies ...checklist.Body) {
	t.Helper()
	if err := o.writer.do(context.Background(), func(p *pen) error {
		for _, b := range bodies {
			if err := p.write(log, b); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
}

// gives makes a link on the lead's own phone and returns its address.
func (o *ownedShop) gives(t *testing.T, log logbook.Log, lasts time.Duration) (path, token string) {
	t.Helper()
	code, body := o.ask(t, "POST", "/links/"+log.ID.String(), o.mara.pass, object{"by": lead.String(), "to": "Pat Rowe", "lasts": lasts.Milliseconds()})
	var g struct {
		URL, SVG string
		Until    int64
		Near     bool
	}
	if code != http.StatusOK || json.Unmarshal([]byte(body), &g) != nil || g.Until != o.now.Load()+lasts.Milliseconds() || !strings.HasPrefix(g.SVG, "<svg") {
		t.Fatalf("giving a link: %d %s", code, body)
	}
	u, err := url.Parse(g.URL)
	if err != nil || u.RawQuery != "" || u.Scheme != "https" || !regexp.MustCompile(`^[A-Za-z0-9_-]{22}$`).MatchString(u.Fragment) || !g.Near {
		t.Fatalf("the address %s near %v: %v", g.URL, g.Near, err)
	}
	return u.Path, u.Fragment
}

// owner is a browser that opened a link.
type owner struct {
	t    *testing.T
	shop *ownedShop
	path string
	http *http.Client
}

func (o *ownedShop) visitor(t *testing.T, path string) *owner {
	jar, _ := cookiejar.New(nil)
	return &owner{t, o, path, &http.Client{Transport: o.http.Client().Transport, Jar: jar}}
}

func (v *owner) asks(method, path string, body any, change ...func(*http.Request)) (int, string) {
	v.t.Helper()
	was := v.shop.http.Client()
	defer func(j http.CookieJar) { was.Jar = j }(was.Jar)
	was.Jar = v.http.Jar
	return v.shop.ask(v.t, method, v.path+path, "", body, change...)
}

func (o *ownedShop) opens(t *testing.T, path, token string) *owner {
	t.Helper()
	v := o.visitor(t, path)
	if code, body := v.asks("POST", "/open", object{"token": token}); code != http.StatusNoContent {
		t.Fatalf("opening a link: %d %s", code, body)
	}
	return v
}

type ownersDue struct {
	Key, Shown string
	Lines      []string
}

type ownersPage struct {
	Language, Vehicle, Phase string
	Says, Signed, Care       []string
	Findings                 []struct {
		Name, Note, Photo, Answer, Answered string
		Due                                 *ownersDue
	}
	Papers []struct {
		What, Title string
		Due         *ownersDue
	}
}

func (v *owner) reads(language string) (p ownersPage) {
	v.t.Helper()
	code, body := v.asks("GET", "/page?language="+language, nil)
	if code != http.StatusOK || json.Unmarshal([]byte(body), &p) != nil {
		v.t.Fatalf("the page: %d %s", code, body)
	}
	return p
}

func (v *owner) accepts(d *ownersDue, answer string) (int, string) {
	v.t.Helper()
	return v.asks("POST", "/answer", object{"key": d.Key, "answer": answer, "shown": d.Shown, "language": "es"})
}

// An owner accepts one finding, declines another, and signs; the gate of the
// check-in is done by it, and the record says by link, in both languages.
func TestOwnerByLink(t *testing.T) {
	s := startOwned(t)
	path, token := s.gives(t, s.mine, 24*time.Hour)
	v := s.opens(t, path, token)
	p := v.reads("es")
	if p.Language != "es" || p.Phase != "before" || len(p.Findings) != 2 || len(p.Papers) != 0 {
		t.Fatalf("the page before: %+v", p)
	}
	want := []string{"V5, Dunmarrow Plumbing, van, TA MK 112", "piquete 5 mm, left side, bajo, atrás", "El vinil deja ver el piquete, y puede levantarse ahí.",
		"Aceptar: el vinil va encima tal como está.", "Dejar sin vinil: left side queda sin él."}
	if d := p.Findings[0].Due; d == nil || !slices.Equal(d.Lines, want) {
		t.Errorf("what is shown:\n%v\nwant\n%v", p.Findings[0].Due, want)
	}
	if code, body := v.accepts(p.Findings[0].Due, "accepted"); code != http.StatusNoContent {
		t.Fatalf("accepting: %d %s", code, body)
	}
	if code, body := v.accepts(p.Findings[1].Due, "declined"); code != http.StatusNoContent {
		t.Fatalf("declining: %d %s", code, body)
	}
	p = v.reads("es")
	if len(p.Papers) != 1 || p.Papers[0].What != "check-in" || !strings.Contains(p.Findings[0].Answered, "por enlace") {
		t.Fatalf("the page once both are answered: %+v", p)
	}
	strokes := []byte{0, 10, 0, 20, 0x7f, 0xff, 0x7f, 0xff}
	sign := object{"key": p.Papers[0].Due.Key, "name": "  Pat\n Rowe ", "strokes": strokes, "shown": p.Papers[0].Due.Shown, "language": "es"}
	if code, body := v.asks("POST", "/sign", sign); code != http.StatusNoContent {
		t.Fatalf("signing: %d %s", code, body)
	}
	shown := strings.Join(p.Papers[0].Due.Lines, "\n")
	sum := sha256.Sum256([]byte(shown)) // FIPS 180-4, of what was shown
	err := s.ofJob(s.mine.ID, func(shop *checklist.Shop, l *leads.Look) error {
		signed := shop.Signatures(checklist.ID(s.mine.ID))
		if len(signed) != 1 {
			t.Fatalf("%d signatures", len(signed))
		}
		g := signed[0]
		if g.Name != "Pat Rowe" || g.As != "owner" || g.What != "check-in" || g.Language != "es" || g.Text != shown || g.Shown != hex.EncodeToString(sum[:]) ||
			g.Link != join.LinkSum(join.LinkPass(token)) || string(g.Strokes) != string(strokes) || len(g.Salt) != 16 || g.At.Latest != s.now.Load() || g.By != (checklist.ID{}) {
			t.Errorf("the line: %+v", g)
		}
		if !strings.Contains(shown, "piquete 5 mm, left side, bajo, atrás: aceptado.") || strings.Contains(shown, "&lt;") {
			t.Errorf("it was shown:\n%s", shown)
		}
		for _, g := range shop.Gates(checklist.ID(s.mine.ID), l.Now) {
			if g.Stage == "check-in" && g.State != checklist.Done {
				t.Errorf("the check-in: %+v", g)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if p = v.reads("en"); p.Phase != "here" || len(p.Signed) != 1 || !strings.HasSuffix(p.Signed[0], ", by link") || len(p.Papers) != 0 {
		t.Errorf("the page once it is signed: %+v", p)
	}
	// What was handed over shows its care sheet and record; the record says it.
	s.writes(t, s.mine, checklist.Tick{Stage: "lay", Panel: "left", Answer: "done"}, checklist.JobClose{How: "handed-over"})
	if p = v.reads("en"); p.Phase != "gone" || len(p.Papers) != 0 {
		t.Errorf("the page after: %+v", p)
	}
	if code, body := v.asks("GET", "/record.pdf?language=es", nil); code != http.StatusOK || !strings.HasPrefix(body, "%PDF-") {
		t.Errorf("the record: %d %.60q", code, body)
	}
	s.saysByLink(t)
	// The server starts anew: the link and its pass are still good.
	dir := s.dir
	s.shopAt.stop(t)
	s.open(t, dir)
	v.http.Jar, _ = cookiejar.New(nil)
	v = s.opens(t, path, token)
	if p = v.reads("en"); p.Phase != "gone" {
		t.Errorf("after a new start: %+v", p)
	}
	s.shopAt.stop(t)
	text := s.log.text()
	for _, secret := range []string{token, join.LinkPass(token), "Pat Rowe"} {
		if !strings.Contains(text, "A link to a vehicle was given") || strings.Contains(text, secret) {
			t.Errorf("the log tells %q, or nothing at all", secret)
		}
	}
}

// saysByLink looks for it in the record, in every language and in its table.
func (o *ownedShop) saysByLink(t *testing.T) {
	t.Helper()
	rec, shop, err := o.store.Record(o.dir, o.mine.ID)
	if err != nil {
		t.Fatal(err)
	}
	var zip bytes.Buffer
	if err := rec.WriteZip(&zip); err != nil {
		t.Fatal(err)
	}
	z, err := archive.NewReader(bytes.NewReader(zip.Bytes()), int64(zip.Len()))
	if err != nil {
		t.Fatal(err)
	}
	rows := 0
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, ".csv") {
			in, _ := f.Open()
			all, err := csv.NewReader(in).ReadAll()
			if err != nil {
				t.Fatal(err)
			}
			for _, row := range all {
				if slices.Contains(row, "by link") {
					rows++
				}
			}
		}
	}
	if rows != 3 { // two answers and a signature
		t.Errorf("%d rows of the record's tables say by link", rows)
	}
	for language, want := range map[string][]string{
		"en": {"owner, by link", "by link, given to Pat Rowe", "Pat Rowe read, in Spanish: V5"},
		"es": {"dueño, por enlace", "por enlace, dado a Pat Rowe", "Pat Rowe leyó, en español: V5"},
	} {
		r, ok := vehicle.Of(shop, vehicle.Asked{Job: checklist.ID(o.mine.ID), Now: checklist.Span{Earliest: o.now.Load(), Latest: o.now.Load()}, Language: language})
		text := fmt.Sprint(r)
		for _, w := range want {
			if !ok || !strings.Contains(text, w) {
				t.Errorf("the record in %s does not say %q", language, w)
			}
		}
		if strings.Contains(text, "by key") {
			t.Error("it says by key")
		}
	}
}

// Everything that an owner, a stranger or a phone may try by a link, and nothing
// of it is written.
func TestHostileOwners(t *testing.T) {
	s := startOwned(t)
	path, token := s.gives(t, s.mine, time.Hour)
	path6, token6 := s.gives(t, s.other, time.Hour)
	taken, takenToken := s.gives(t, s.mine, time.Hour)
	v, w := s.opens(t, path, token), s.opens(t, path6, token6)
	x := s.opens(t, taken, takenToken)
	_, listed := s.ask(t, "GET", "/links/"+s.mine.ID.String(), s.bay.pass, nil)
	var links []struct{ Sum string }
	if json.Unmarshal([]byte(listed), &links) != nil || len(links) != 2 || strings.Contains(listed, token) || strings.Contains(listed, takenToken) {
		t.Fatalf("the list of links: %s", listed)
	}
	if code, body := s.ask(t, "POST", "/links/"+s.mine.ID.String()+"/off", s.bay.pass, object{"by": desk.String(), "sum": links[0].Sum}); code != http.StatusNoContent {
		t.Fatalf("taking a link back: %d %s", code, body)
	}
	p, q := v.reads("es"), w.reads("es")
	before := [][]byte{s.copyOf(t, s.mine), s.copyOf(t, s.other), s.copyOf(t, s.store.shop)}
	answer := object{"key": p.Findings[0].Due.Key, "answer": "accepted", "shown": p.Findings[0].Due.Shown, "language": "es"}
	changed := func(of object, pairs ...any) object {
		out := object{}
		for k, x := range of {
			out[k] = x
		}
		for i := 0; i < len(pairs); i += 2 {
			out[pairs[i].(string)] = pairs[i+1]
		}
		return out
	}
	origin := func(r *http.Request) {
		r.Header.Set("Origin", "https://elsewhere.example")
		r.Header.Set("Sec-Fetch-Site", "cross-site")
	}
	cookie := func(name, value string) func(*http.Request) {
		return func(r *http.Request) { r.AddCookie(&http.Cookie{Name: name, Value: value}) }
	}
	passOf := func(v *owner) string {
		u, _ := url.Parse(s.http.URL)
		for _, c := range v.http.Jar.Cookies(u) {
			return c.Value
		}
		return ""
	}
	mine := s.ownerCookie(s.mine.ID, "", 0).Name
	nobody := s.visitor(t, path)
	for _, try := range []struct {
		name string
		do   func() (int, string)
		want int
	}{
		{"read without a pass", func() (int, string) { return nobody.asks("GET", "/page", nil) }, 401},
		{"answer without a pass", func() (int, string) { return nobody.asks("POST", "/answer", answer) }, 401},
		{"the pass of another job", func() (int, string) { return nobody.asks("GET", "/page", nil, cookie(mine, passOf(w))) }, 403},
		{"the token in the place of the pass", func() (int, string) { return nobody.asks("GET", "/page", nil, cookie(mine, token)) }, 403},
		{"what the shop keeps in the place of the pass", func() (int, string) {
			return nobody.asks("GET", "/page", nil, cookie(mine, join.LinkSum(join.LinkPass(token))))
		}, 403},
		{"a phone's pass in the place of an owner's", func() (int, string) { return nobody.asks("GET", "/page", nil, cookie(mine, s.mara.pass)) }, 403},
		{"a phone's cookie", func() (int, string) { return s.ask(t, "GET", path+"/page", s.mara.pass, nil) }, 401},
		{"an owner's pass in the place of a phone's", func() (int, string) { return s.ask(t, "GET", "/lead", passOf(v), nil) }, 401},
		{"a phone's list with an owner's cookie", func() (int, string) { return s.ask(t, "GET", "/lead", "", nil, cookie(mine, passOf(v))) }, 401},
		{"a record with an owner's cookie", func() (int, string) {
			return s.ask(t, "GET", "/record/"+s.mine.ID.String(), "", nil, cookie(mine, passOf(v)))
		}, 401},
		{"a photo with an owner's cookie", func() (int, string) {
			return s.ask(t, "GET", "/photos/"+strings.Repeat("ab", 32), "", nil, cookie(mine, passOf(v)))
		}, 401},
		{"a link by an owner", func() (int, string) {
			return s.ask(t, "POST", "/links/"+s.mine.ID.String(), "", object{"by": lead.String(), "to": "me", "lasts": 3600_000}, cookie(mine, passOf(v)))
		}, 401},
		{"taken back", func() (int, string) { return x.asks("GET", "/page", nil) }, 410},
		{"taken back, and opened again", func() (int, string) { return s.visitor(t, taken).asks("POST", "/open", object{"token": takenToken}) }, 410},
		{"another job by its path", func() (int, string) { return s.opens(t, path, token).asksAt(path6, "GET", "/page", nil) }, 401},
		{"another site's page", func() (int, string) { return v.asks("POST", "/answer", answer, origin) }, 403},
		{"another job's finding", func() (int, string) {
			return v.asks("POST", "/answer", changed(answer, "key", q.Findings[2].Due.Key, "shown", q.Findings[2].Due.Shown))
		}, 409},
		{"an answer that owners do not give", func() (int, string) { return v.asks("POST", "/answer", changed(answer, "answer", "repaired")) }, 400},
		{"an answer to a text that was not shown", func() (int, string) {
			return v.asks("POST", "/answer", changed(answer, "shown", strings.Repeat("0", 64)))
		}, 409},
		{"an answer to the text of another language", func() (int, string) { return v.asks("POST", "/answer", changed(answer, "language", "en")) }, 409},
		{"a signature before the answers", func() (int, string) {
			return v.asks("POST", "/sign", object{"key": "sign/check-in", "name": "Pat", "shown": "", "language": "es"})
		}, 409},
		{"a paper that nobody asks for", func() (int, string) {
			return v.asks("POST", "/sign", object{"key": "sign/hand-over", "name": "Pat", "shown": "", "language": "es"})
		}, 409},
		{"a finding that is signed", func() (int, string) {
			return v.asks("POST", "/sign", object{"key": answer["key"], "name": "Pat", "shown": answer["shown"], "language": "es"})
		}, 400},
		{"the record of a vehicle that is here", func() (int, string) { return v.asks("GET", "/record.pdf", nil) }, 409},
		{"a photo of another vehicle", func() (int, string) { return v.asks("GET", "/photos/"+strings.Repeat("cd", 32), nil) }, 404},
		{"a photo by a path", func() (int, string) { return v.asks("GET", "/photos/..%2f..%2fstore.db", nil) }, 404},
		{"a body that never ends", func() (int, string) {
			return v.asks("POST", "/answer", changed(answer, "key", strings.Repeat("x", maxAnswer)))
		}, 400},
		{"a job that is none", func() (int, string) { return s.visitor(t, "/owner/V5").asks("POST", "/open", object{"token": token}) }, 400},
		{"a link by a crew hand", func() (int, string) {
			return s.ask(t, "POST", "/links/"+s.mine.ID.String(), s.bay.pass, object{"by": crew.String(), "to": "me", "lasts": 3600_000})
		}, 403},
		{"a link by the lead on a shared phone", func() (int, string) {
			return s.ask(t, "POST", "/links/"+s.mine.ID.String(), s.bay.pass, object{"by": lead.String(), "to": "me", "lasts": 3600_000})
		}, 403},
		{"a link by nobody", func() (int, string) {
			return s.ask(t, "POST", "/links/"+s.mine.ID.String(), s.mara.pass, object{"to": "me", "lasts": 3600_000})
		}, 403},
		{"a link for ever", func() (int, string) {
			return s.ask(t, "POST", "/links/"+s.mine.ID.String(), s.mara.pass, object{"by": lead.String(), "to": "me", "lasts": int64(1) << 50})
		}, 400},
		{"a link to a job that is none", func() (int, string) {
			return s.ask(t, "POST", "/links/"+logbook.Named("V99").String(), s.mara.pass, object{"by": lead.String(), "to": "me", "lasts": 3600_000})
		}, 404},
		{"a link taken back by a crew hand", func() (int, string) {
			return s.ask(t, "POST", "/links/"+s.mine.ID.String()+"/off", s.bay.pass, object{"by": crew.String(), "sum": links[1].Sum})
		}, 403},
	} {
		t.Run(try.name, func(t *testing.T) {
			s.owners.guesses = join.Guesses{} // how often is TestOwnersGuess's
			code, body := try.do()
			if code != try.want {
				t.Errorf("%d %s, want %d", code, body, try.want)
			}
			for _, secret := range []string{token, token6, passOf(v), "Dunmarrow"} {
				if strings.Contains(body, secret) {
					t.Errorf("the answer tells %q", secret)
				}
			}
		})
	}
	for i, log := range []logbook.Log{s.mine, s.other, s.store.shop} {
		if string(s.copyOf(t, log)) != string(before[i]) {
			t.Errorf("something was written in %s", LogName(log))
		}
	}
	// Answered once: the same again, which a browser may send by itself, is none.
	if code, body := v.asks("POST", "/answer", answer); code != http.StatusNoContent {
		t.Fatalf("an honest answer: %d %s", code, body)
	}
	if code, _ := v.asks("POST", "/answer", answer); code != http.StatusConflict {
		t.Errorf("an answer twice: %d", code)
	}
	if code, _ := v.accepts(p.Findings[1].Due, "accepted"); code != http.StatusNoContent {
		t.Fatal("the second finding")
	}
	paper := v.reads("es").Papers[0].Due
	sign := object{"key": paper.Key, "name": "<img src=x onerror=alert(1)>\u202e", "shown": paper.Shown, "language": "es"}
	after := s.copyOf(t, s.mine)
	for _, bad := range []object{changed(sign, "name", " \u200b\n"), changed(sign, "strokes", make([]byte, maxStrokes+4)), changed(sign, "strokes", []byte{1, 2, 3}),
		changed(sign, "strokes", make([]byte, maxAnswer)), changed(sign, "shown", ""), changed(sign, "strokes", "no base64!")} {
		if code, body := v.asks("POST", "/sign", bad); code != http.StatusBadRequest && code != http.StatusConflict {
			t.Errorf("a bad signature: %d %s", code, body)
		}
	}
	if string(s.copyOf(t, s.mine)) != string(after) {
		t.Error("a bad signature was written")
	}
	if code, body := v.asks("POST", "/sign", sign); code != http.StatusNoContent {
		t.Fatalf("a name with signs: %d %s", code, body)
	}
	if code, _ := v.asks("POST", "/sign", sign); code != http.StatusConflict {
		t.Errorf("a signature twice: %d", code)
	}
	if p := v.reads("en"); len(p.Signed) != 1 || !strings.Contains(p.Signed[0], "<img src=x onerror=alert(1)>") || strings.Contains(p.Signed[0], "\u202e") {
		t.Errorf("the name as it is told: %q", p.Signed)
	}
	// At its end a link is over, for a pass that was given before it too.
	s.now.Add(time.Hour.Milliseconds())
	if code, _ := v.asks("GET", "/page", nil); code != http.StatusGone && code != http.StatusUnauthorized {
		t.Errorf("at its end: %d", code)
	}
	if code, _ := nobody.asks("GET", "/page", nil, cookie(mine, join.LinkPass(token))); code != http.StatusGone {
		t.Errorf("its pass at its end: %d", code)
	}
	if code, _ := s.visitor(t, path).asks("POST", "/open", object{"token": token}); code != http.StatusGone {
		t.Errorf("opened at its end: %d", code)
	}
}

// asksAt asks with this browser's cookies at another job's path.
func (v *owner) asksAt(path, method, what string, body any) (int, string) {
	at := *v
	at.path = path
	return at.asks(method, what, body)
}

// A link leads where its owner can go: to the name that the world knows, if the
// shop has one. Names of a network of one's own: RFC 6762 section 3 (.local), RFC
// 8375 (home.arpa), RFC 6761 section 6.3 (localhost), RFC 1918 (addresses).
func TestOwnersHost(t *testing.T) {
	for _, c := range []struct {
		asked, name, want string
		near              bool
	}{
		{"shop.local:8443", "shop.local", "shop.local:8443", true},
		{"192.168.1.9:8443", "shop.local", "192.168.1.9:8443", true},
		{"192.168.1.9:8443", "bays.example.com", "bays.example.com:8443", false},
		{"192.168.1.9", "bays.example.com", "bays.example.com", false},
		{"[fd00::9]:8443", "bays.example.com", "bays.example.com:8443", false},
		{"bays.example.com", "bays.example.com", "bays.example.com", false},
		{"localhost:8080", "", "localhost:8080", true},
		{"shop.home.arpa:8443", "shop.home.arpa", "shop.home.arpa:8443", true},
	} {
		if got, near := ownersHost(c.asked, c.name); got != c.want || near != c.near {
			t.Errorf("asked at %s, named %q: %s near %v, want %s near %v", c.asked, c.name, got, near, c.want, c.near)
		}
	}
}

// Whoever guesses is heard five times in ten minutes, and learns nothing of which
// jobs there are.
func TestOwnersGuess(t *testing.T) {
	s := startOwned(t)
	path, token := s.gives(t, s.mine, time.Hour)
	guess := s.visitor(t, path)
	var first string
	for n := range 5 {
		at := guess
		if n%2 == 1 {
			at = s.visitor(t, "/owner/"+logbook.Named(fmt.Sprint(n)).String())
		}
		code, body := at.asks("POST", "/open", object{"token": join.LinkToken([16]byte{byte(n)})})
		if code != http.StatusForbidden {
			t.Fatalf("guess %d: %d %s", n, code, body)
		}
		if first == "" {
			first = body
		}
		if body != first {
			t.Errorf("a job that is and one that is not are told apart: %q, %q", first, body)
		}
	}
	if code, _ := guess.asks("POST", "/open", object{"token": token}); code != http.StatusTooManyRequests {
		t.Errorf("after five: %d", code)
	}
	s.now.Add(10 * time.Minute.Milliseconds())
	if code, body := guess.asks("POST", "/open", object{"token": token}); code != http.StatusNoContent {
		t.Errorf("ten minutes later: %d %s", code, body)
	}
}

// Nothing that comes by a link is a phone's to write, nor the lead's to adopt.
func TestByLinkIsTheServers(t *testing.T) {
	s := startOwned(t)
	p := newPhone(t, "Mara's")
	s.mara.connects(t, s.shopAt, p)
	p.untilCaught()
	sum := join.LinkSum("x")
	for _, b := range []checklist.Body{
		checklist.OwnerLink{To: "me", Until: s.now.Load() + 3600_000, Sum: sum},
		checklist.Sign{What: "check-in", As: "owner", Name: "Pat", Link: sum},
		checklist.Sign{What: "check-in", As: "owner", Name: "Pat", Text: "what was never shown"},
		checklist.FindingAnswer{Finding: checklist.LineID{Writer: checklist.ID(s.store.writer), Seq: 2}, Answer: "accepted", Link: sum},
		checklist.Forget{Why: "asked", Writers: []checklist.ID{checklist.ID(s.store.writer)}, Seqs: []int64{1}, Kinds: []string{"job.open"},
			Sums: []string{strings.Repeat("0", 64)}, Left: []string{strings.Repeat("1", 64)}, Gone: []string{"customer"}},
	} {
		p.aside = nil
		p.write(s.mine, lead, b)
		p.untilKept()
		if len(p.aside) != 1 || p.aside[0].Reason != "Only the shop server may write this." {
			t.Errorf("%T from a phone: %v", b, p.aside)
		}
	}
	shelf, err := s.store.Aside()
	if err != nil || len(shelf) != 5 {
		t.Fatalf("%d were set aside: %v", len(shelf), err)
	}
	for _, a := range shelf {
		sum := logbook.Sum(a.Bytes)
		if err := s.adopt(t.Context(), hex.EncodeToString(sum[:]), "Mara"); err == nil {
			e, _ := logbook.Decode(a.Bytes)
			t.Errorf("%s is adopted", e.Kind)
		}
	}
	// No such line came in with its refusal, either.
	if _, err := s.store.said(s.mine, 0, func(l checklist.Line, _ logbook.Receipt) bool {
		if serversAlone(l.Body) {
			t.Errorf("%s stands in the logbook", l.Kind)
		}
		return true
	}); err != nil {
		t.Fatal(err)
	}
	// A link that a lead's phone takes back by a line of its own is over.
	path, token := s.gives(t, s.mine, time.Hour)
	v := s.opens(t, path, token)
	p.untilCaught()
	var ref logbook.Ref
	if err := s.ofJob(s.mine.ID, func(shop *checklist.Shop, _ *leads.Look) error { ref = s.linksOf(shop, s.mine.ID)[0].ref; return nil }); err != nil {
		t.Fatal(err)
	}
	p.write(s.mine, lead, nil, ref)
	p.untilKept()
	if code, _ := v.asks("GET", "/page", nil); code != http.StatusGone {
		t.Errorf("after the phone's strike: %d", code)
	}
}
