package server

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"

	"bayhold/checklist/line"
	"bayhold/server/ical"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/testdata/demo"
	"bayhold/testdata/demo/story"
)

// demoAt serves the invented shop as it was at a moment of its story, with the
// lines that had been written by then. Its clock stands until it is set.
// Vehicles that are left out are not in it: their plan takes its time.
func demoAt(t testing.TB, run byte, day time.Time, clock string, without ...string) (*shopAt, *atomic.Int64) {
	t.Helper()
	now := new(atomic.Int64)
	now.Store(story.At(day, clock).UnixMilli())
	var seed []Dated
	for _, e := range story.Run(run) {
		if ms := e.At.UnixMilli(); ms <= now.Load() && !slices.Contains(without, e.Log) {
			seed = append(seed, datedOf(e))
		}
	}
	dir := t.TempDir()
	s, err := Open(Config{Data: dir, App: appFiles, Worker: []byte("//"), Bundle: "test", Log: testLog(t), Shop: logbook.Named(demo.Shop), Seed: seed,
		Now: func() time.Time { return time.UnixMilli(now.Load()) }})
	if err != nil {
		t.Fatal(err)
	}
	at := &shopAt{Server: s, http: httptest.NewServer(s.Handler()), dir: dir}
	t.Cleanup(func() { at.stop(t) })
	return at, now
}

func datedOf(e story.Entry) Dated {
	l, ms := e.Line(), e.At.UnixMilli()
	return Dated{At: ms, Entry: logbook.Entry{
		Log:    logbook.Log{Class: l.Log.Class, ID: logbook.ID(l.Log.ID)},
		Writer: logbook.ID(l.ID.Writer), Seq: l.ID.Seq, At: logbook.Stamp{Wall: ms, Earliest: ms},
		By: logbook.ID(l.By), Kind: l.Kind, Body: line.Encode(e.Body),
	}}
}

func decoded(t *testing.T, url string, into any) {
	t.Helper()
	code, body := get(t, url)
	if code != 200 {
		t.Fatalf("%s: %d %s", url, code, body)
	}
	if err := json.Unmarshal([]byte(body), into); err != nil {
		t.Fatalf("%s: %v in %s", url, err, body)
	}
}

type leadAnswer struct {
	At   int64
	Plan struct {
		Bars []struct {
			Label, Key, Word, Bay string
			Wait                  bool
			From, To              int64
		}
		Jobs []struct {
			Label, Cause, Stage string
			Due, End            int64
		}
		Propose []struct{ Kind, Bay, Say, Why string }
		Exact   bool
		Refused string
	}
	Slips []struct {
		Label, Say, Cause string
		Was, Is           int64
		Lost              bool
	}
	Nights []struct {
		Name, Say string
		Costs     []string
	}
	Alarms []struct {
		Kind, Label, Say, Risk, Act string
		By                          int64
	}
	Told    []struct{ Label, Stage, Say, Assumes string }
	Closing []struct {
		Name, Say, Why string
		First          bool
	}
}

// On Tuesday 17:00 the shop is planned; the lines of the night come in and it is
// planned anew, on Wednesday 07:00: what moved is told with its cause, the night
// has its line for every bay, and V5 dries again because it sweated (package
// lead's tests hold the numbers against the story). The calendar of the plan is
// read by a public parser.
func TestLead(t *testing.T) {
	s, now := demoAt(t, 'A', story.Tuesday, "17:00", "job:V1")
	var before, a leadAnswer
	decoded(t, s.http.URL+"/lead", &before)
	to := story.At(story.Wednesday, "07:00").UnixMilli()
	var late []Dated
	for _, e := range story.Run('A') {
		if ms := e.At.UnixMilli(); ms > now.Load() && ms <= to && e.Log != "job:V1" {
			late = append(late, datedOf(e))
		}
	}
	now.Store(to)
	if err := s.writer.do(context.Background(), func(p *pen) error {
		for _, d := range late {
			p.subs = append(p.subs, judge.Submission{Bytes: d.Entry.Append(nil), Entry: d.Entry, Arrived: d.At, Earliest: d.At, Latest: d.At})
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	decoded(t, s.http.URL+"/lead", &a)
	causes := map[string]string{}
	for _, x := range a.Slips {
		causes[x.Label] = x.Cause
		if x.Is <= x.Was || x.Say == "" {
			t.Errorf("%+v", x)
		}
	}
	if causes["V5"] != "dry: it sweated" || len(before.Slips) != 0 {
		t.Errorf("slips %+v, before %+v", a.Slips, before.Slips)
	}
	if len(a.Nights) != 6 || !strings.Contains(strings.Join(a.Nights[4].Costs, " "), "V3: ⟨h:") {
		t.Errorf("nights: %+v", a.Nights)
	}
	if !a.Plan.Exact || len(a.Plan.Jobs) != 4 {
		t.Errorf("plan: %+v", a.Plan)
	}
	words := map[string]string{}
	for _, b := range a.Plan.Bars {
		words[b.Label+" "+b.Key] = b.Word
	}
	if words["V5 dry"] != "it sweated" {
		t.Errorf("V5 dries: %q", words["V5 dry"])
	}
	if len(a.Closing) == 0 || len(a.Told) == 0 || len(a.Plan.Propose) == 0 {
		t.Errorf("%+v", a)
	}
	calendar(t, s, a)
}

// calendar checks /plan.ics by the rules of RFC 5545 and against the plan.
func calendar(t *testing.T, s *shopAt, a leadAnswer) {
	code, body := get(t, s.http.URL+"/plan.ics")
	if code != 200 {
		t.Fatal(code, body)
	}
	for _, l := range strings.Split(strings.TrimSuffix(body, "\r\n"), "\r\n") {
		if len(l) > 75 || strings.ContainsAny(l, "\r\n") { // RFC 5545 section 3.1
			t.Errorf("%d octets: %q", len(l), l)
		}
	}
	cal, err := ics.ParseCalendar(strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, e := range cal.Events() {
		id := e.Id()
		if seen[id] {
			t.Errorf("two events %s", id)
		}
		seen[id] = true
		from, err1 := e.GetStartAt()
		to, err2 := e.GetEndAt()
		if err1 != nil || err2 != nil || !to.After(from) {
			t.Errorf("%s: %v to %v, %v %v", id, from, to, err1, err2)
		}
	}
	for _, b := range a.Plan.Bars {
		found := b.To/1000 <= b.From/1000
		for _, e := range cal.Events() {
			from, _ := e.GetStartAt()
			found = found || from.Unix() == b.From/1000 && e.GetProperty(ics.ComponentPropertySummary).Value == b.Label+": "+b.Key
		}
		if !found {
			t.Errorf("not in the calendar: %+v", b)
		}
	}
}

// The porter asks before the move, over HTTP.
func TestMay(t *testing.T) {
	s, _ := demoAt(t, 'A', story.Tuesday, "22:00")
	var a struct{ May, Say, Do, Until string }
	decoded(t, s.http.URL+"/may/move?job=v5&place=bay-4&at=2026-01-14T06:00:00Z", &a)
	if a.May != "no" || !strings.HasPrefix(a.Say, "V5 will sweat") || !strings.HasPrefix(a.Do, "Flame heater off, flush from") {
		t.Errorf("%+v", a)
	}
	var every struct {
		Places map[string]struct{ May, Say string }
	}
	decoded(t, s.http.URL+"/may/move?job=v5", &every)
	if len(every.Places) != 6 || every.Places[logbook.ID(story.ID("bay 3")).String()].Say != "V2 stands there." {
		t.Errorf("%+v", every)
	}
	var old struct{ Says []string }
	if decoded(t, s.http.URL+"/removal/V5", &old); old.Says == nil || len(old.Says) != 0 {
		t.Errorf("no strip was pulled on V5: %q", old.Says)
	}
	decoded(t, s.http.URL+"/may/light?place=Bay+4&flame=no", &a)
	if a.May != "yes" {
		t.Errorf("%+v", a)
	}
	for _, c := range []struct {
		path string
		code int
		why  string
	}{
		{"/may/move?job=V77&place=bay-4", 404, `no open job "V77"`},
		{"/removal/V77", 404, `no job "V77"`},
		{"/may/move?job=V5&place=bay-9", 404, "the shop has Bay 1 wash, Bay 2"},
		{"/may/move?job=V5&place=bay-4&at=tomorrow", 400, "RFC 3339"},
		{"/may/light?place=bay-4", 400, "flame=yes"},
		// 12 m of bus and a roll of 1370 mm: 10 drops (common practice, no source).
		{"/drops?side_mm=12000&roll_mm=1370", 200, `"drops":10`},
		{"/drops?side_mm=12000&roll_mm=12", 400, "roll_mm from 300 to 2000"},
		{"/drops?side_mm=12m&roll_mm=1370", 400, "side_mm from 1000 to 30000"},
	} {
		if code, body := get(t, s.http.URL+c.path); code != c.code || !strings.Contains(body, c.why) {
			t.Errorf("%s: %d %s", c.path, code, body)
		}
	}
}

// A name that needs every escape of RFC 5545 section 3.3.11 and is folded in
// the middle of a character comes back as it was.
func TestCalendarText(t *testing.T) {
	name := strings.Repeat("Bär & Söhne; Bay, \\ Lack\n", 8)
	var b strings.Builder
	ical.Line(&b, "SUMMARY:"+ical.Text(name))
	for _, l := range strings.Split(strings.TrimSuffix(b.String(), "\r\n"), "\r\n") {
		if len(l) > 75 { // section 3.1
			t.Errorf("%d octets: %q", len(l), l)
		}
	}
	cal, err := ics.ParseCalendar(strings.NewReader("BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:1\r\n" + b.String() + "END:VEVENT\r\nEND:VCALENDAR\r\n"))
	if err != nil {
		t.Fatal(err)
	}
	got := ics.FromText(cal.Events()[0].GetProperty(ics.ComponentPropertySummary).Value)
	if got != name {
		t.Errorf("got %q, want %q", got, name)
	}
}

// HMAC-SHA256 as RFC 4231 section 4.3 (test case 2) has it: key "Jefe", data
// "what do ya want for nothing?". The signature covers "t.body", so the test
// case checks the primitive, and the header is verified as a receiver would.
func TestWebhookSignature(t *testing.T) {
	mac := hmac.New(sha256.New, []byte("Jefe"))
	mac.Write([]byte("what do ya want for nothing?"))
	if got := hex.EncodeToString(mac.Sum(nil)); got != "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843" {
		t.Error(got)
	}
	h := Webhook{Key: []byte("Jefe")}
	if got := h.sign(7, []byte("x")); got != "t=7, v1="+receiver("Jefe", "7.x") {
		t.Error(got)
	}
}

func receiver(key, data string) string {
	mac := hmac.New(sha256.New, []byte(key))
	io.WriteString(mac, data)
	return hex.EncodeToString(mac.Sum(nil))
}

// At 22:50 the story's shop has two things worth a call: V5's trap and V3's
// heater. The receiver fails twice and then takes them; each is told once, and
// its end when it is over.
func TestWebhook(t *testing.T) {
	s, now := demoAt(t, 'A', story.Tuesday, "22:50")
	key := strings.Repeat("k", 32)
	var fails atomic.Int32
	fails.Store(2)
	bodies := make(chan hookBody, 16)
	hook := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		raw, _ := io.ReadAll(r.Body)
		sent, v1, ok := strings.Cut(strings.TrimPrefix(r.Header.Get("Bayhold-Signature"), "t="), ", v1=")
		if !ok || !hmac.Equal([]byte(v1), []byte(receiver(key, sent+"."+string(raw)))) {
			t.Errorf("signature %q", r.Header.Get("Bayhold-Signature"))
		}
		if fails.Add(-1) >= 0 {
			w.WriteHeader(http.StatusBadGateway)
			return
		}
		var b hookBody
		if err := json.Unmarshal(raw, &b); err != nil {
			t.Error(err)
		}
		bodies <- b
	}))
	defer hook.Close()
	w := newWatch(&Webhook{hook.URL, []byte(key)}, s.over, testLog(t))
	var waits []time.Duration
	w.sleep = func(_ context.Context, d time.Duration) { waits = append(waits, d) }
	look := func() (got []hookBody) {
		if err := w.look(); err != nil {
			t.Fatal(err)
		}
		for len(w.queue) > 0 {
			w.send(context.Background(), <-w.queue)
			select {
			case b := <-bodies:
				got = append(got, b)
			default:
				t.Error("not taken")
			}
		}
		return got
	}
	got := look()
	if len(got) != 2 || got[0].Kind != "margin" || got[0].Job != "V5" || got[1].Kind != "heater" || got[1].Job != "V3" || got[1].Place != "Bay 5" ||
		got[1].State != "begins" || !strings.HasPrefix(got[1].AtRisk, "V3: hours stop about Wed 0") || got[1].By == "" || got[1].Do == "" {
		t.Errorf("%+v", got)
	}
	if len(waits) != 2 || waits[0] > hookFirst || waits[1] > 2*hookFirst {
		t.Errorf("waits %v", waits)
	}
	if again := look(); len(again) != 0 {
		t.Errorf("told twice: %+v", again)
	}
	now.Store(story.At(story.Wednesday, "17:30").UnixMilli()) // nobody reads anything any more: all is silent
	over := 0
	for _, b := range look() {
		if b.State == "over" {
			over++
		}
	}
	if over == 0 {
		t.Error("no end was told")
	}
}

// The receiver that refuses is not asked again; the one that never answers is
// asked so often and no oftener.
func TestWebhookGivesUp(t *testing.T) {
	for code, want := range map[int]int32{400: 1, 500: hookTries, 429: hookTries, 302: 1} {
		var n atomic.Int32
		hook := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			n.Add(1)
			w.Header().Set("Location", "/elsewhere")
			w.WriteHeader(code)
		}))
		w := newWatch(&Webhook{hook.URL, bytes.Repeat([]byte{1}, 32)}, nil, testLog(t))
		w.sleep = func(_ context.Context, d time.Duration) {
			if d > hookMost {
				t.Errorf("%d: waits %v", code, d)
			}
		}
		w.send(context.Background(), []byte("{}"))
		if n.Load() != want {
			t.Errorf("%d: %d tries, want %d", code, n.Load(), want)
		}
		hook.Close()
	}
}

// A key that is too short, and an address that is none, are refused at the
// start.
func TestReadWebhook(t *testing.T) {
	file := filepath.Join(t.TempDir(), "key")
	write := func(s string) {
		if err := os.WriteFile(file, []byte(s), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("short\n")
	if _, err := ReadWebhook("https://alarm.example/x", file); err == nil || !strings.Contains(err.Error(), "needs 32") {
		t.Error(err)
	}
	write(strings.Repeat("a", 32) + "\n")
	if h, err := ReadWebhook("https://alarm.example/x", file); err != nil || len(h.Key) != 32 {
		t.Error(h, err)
	}
	for _, bad := range []string{"alarm.example", "file:///etc", "ftp://x/y", "http://"} {
		if _, err := ReadWebhook(bad, file); err == nil {
			t.Errorf("%s was taken", bad)
		}
	}
	if _, err := ReadWebhook("http://x.example", file+"2"); err == nil {
		t.Error("a missing key was taken")
	}
}
