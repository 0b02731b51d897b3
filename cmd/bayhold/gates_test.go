package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server"
	"bayhold/sync/logbook"
	"bayhold/testdata/demo"
)

// call runs the program's table of commands.
func call(args ...string) (code int, stdout, stderr string) {
	var out, errs bytes.Buffer
	code = run(args, &out, &errs)
	return code, out.String(), errs.String()
}

func fileWith(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "log.jsonl")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func gatesAt(t *testing.T, file, at string) []gateRow {
	t.Helper()
	code, out, errs := call("gates", "--log", file, "--at", at, "--json")
	if code != 0 {
		t.Fatalf("exit %d: %s", code, errs)
	}
	var rows []gateRow
	if err := json.Unmarshal([]byte(out), &rows); err != nil {
		t.Fatal(err)
	}
	return rows
}

// The trap of the demo story, through the command: at 08:00 the van that looks
// ready is soaking wet, and nothing may start (run A); where the bay was
// flushed at 05:15, its upper panels may at 09:30 (run B).
func TestGatesOfTheDemo(t *testing.T) {
	a, b := fileWith(t, string(demo.RunA)), fileWith(t, string(demo.RunB))
	find := func(rows []gateRow, stage, zone string) gateRow {
		for _, r := range rows {
			if r.Job == "V5" && r.Stage == stage && r.Zone == zone {
				return r
			}
		}
		t.Fatalf("no gate %s %s", stage, zone)
		return gateRow{}
	}
	dry := find(gatesAt(t, a, "2026-01-14T08:00:00Z"), "dry", "lower")
	if dry.State != "held" || !strings.Contains(dry.Reason, "sill 7.6 C") || dry.Condition == "" || dry.Until != 0 {
		t.Errorf("run A, 08:00: %+v", dry)
	}
	if up := find(gatesAt(t, b, "2026-01-14T09:30:00Z"), "window", "upper"); up.State != "open" {
		t.Errorf("run B, 09:30, upper: %+v", up)
	}
	if low := find(gatesAt(t, b, "2026-01-14T09:30:00Z"), "window", "lower"); low.State == "open" {
		t.Errorf("run B, 09:30, lower: %+v", low)
	}
	// The same moment in another zone's words, and as a table.
	code, out, errs := call("gates", "--log", a, "--at", "2026-01-14T09:00:00+01:00")
	if code != 0 || !strings.Contains(out, "Wet: rear left sill 7.6 C") || strings.Contains(out, "⟨") {
		t.Errorf("exit %d %s\n%s", code, errs, out)
	}
}

// Lines after the moment are not used: what was asked on Tuesday does not know
// Wednesday.
func TestGatesUseNothingLater(t *testing.T) {
	var until []string
	at := time.Date(2026, 1, 13, 14, 30, 0, 0, time.UTC)
	for l := range strings.Lines(string(demo.RunA)) {
		var v struct{ At time.Time }
		if err := json.Unmarshal([]byte(l), &v); err != nil {
			t.Fatal(err)
		}
		if !v.At.After(at) {
			until = append(until, l)
		}
	}
	_, whole, _ := call("gates", "--log", fileWith(t, string(demo.RunA)), "--at", at.Format(time.RFC3339), "--json")
	_, cut, _ := call("gates", "--log", fileWith(t, strings.Join(until, "")), "--at", at.Format(time.RFC3339), "--json")
	if whole != cut {
		t.Error("the answer changes with what was written later")
	}
}

const handWritten = `{"log":"shop:S","writer":"phone J","at":"2026-01-14T06:00:00Z","kind":"shop.set","body":{"name":"S","units":"C","zone":"Europe/Berlin"}}
{"log":"shop:S","writer":"phone J","at":"2026-01-14T06:00:00Z","kind":"place.add","body":{"place":"bay 1","name":"Bay 1","sort":"bay"}}
{"log":"job:V9","writer":"phone J","at":"2026-01-14T06:10:00Z","by":"J","kind":"job.open","body":{"label":"V9","route":"panels","place":"bay 1","panels":[{"id":"l","name":"left side","zone":"upper"}],"spots":[{"id":"1","name":"left door","zone":"upper"}]}}
{"log":"job:V9","writer":"phone J","at":"2026-01-14T07:30:00Z","by":"J","kind":"tick","body":{"stage":"wash","answer":"done"}}
`

// A log without any reading says that it does not know; it guesses nothing.
func TestGatesWithoutReadings(t *testing.T) {
	known := map[string]string{}
	for _, r := range gatesAt(t, fileWith(t, handWritten), "2026-01-15T08:00:00Z") {
		known[r.Stage] = r.State
	}
	if known["wash"] != "done" || known["dry"] != "unknown" || known["window"] != "unknown" {
		t.Errorf("%v", known)
	}
	_, out, _ := call("gates", "--log", fileWith(t, handWritten), "--at", "2026-01-15T08:00:00Z")
	if !strings.Contains(out, "not known") || !strings.Contains(out, "V9 at ") {
		t.Errorf("%s", out)
	}
}

// A line that is no entry is an error with its number; nothing is half read.
func TestGatesOfABadLine(t *testing.T) {
	for _, c := range []struct{ line, says string }{
		{`{"log":"job:V9","writer":"phone J","at":"2026-01-14T07:40:00Z","kind":"tick","body":{"stage":1}}`, "stage"},
		{`{"log":"job:V9","writer":"phone J","at":"2026-01-14T07:40:00Z","kind":"tick","body":{"stage":"wash","anwser":"done"}}`, "anwser"},
		{`{"log":"job:V9","writer":"phone J","at":"yesterday","kind":"tick","body":{"stage":"wash","answer":"done"}}`, "yesterday"},
		{`{"log":"bay:V9","writer":"phone J","at":"2026-01-14T07:40:00Z","kind":"tick","body":{}}`, "bay"},
		{`{"log":"job:V9","writer":"phone J","at":"2026-01-14T07:40:00Z","kind":"reading","body":{"values":[{"surface":7600}]}}`, "spot"},
		{`{"log":"job:V9","writer":"phone J","at":"2026-01-14T07:40:00Z","kind":"reading","body":{"values":[{"spot":"1","surface":400000}]}}`, "Surface 400.0 C cannot be"},
		{`{"log":"place:bay 1","writer":"phone J","at":"2026-01-14T07:40:00Z","kind":"climate.reading","body":{"air":20000,"rh":130000}}`, "Humidity 130 % cannot be"},
		{`not json`, ""},
		{`{"log":"job:V9"}`, ""},
	} {
		code, out, errs := call("gates", "--log", fileWith(t, handWritten+c.line+"\n"), "--at", "2026-01-15T08:00:00Z")
		if code != 1 || out != "" || !strings.Contains(errs, "line 5: ") || !strings.Contains(errs, c.says) {
			t.Errorf("%s: exit %d, %q %q", c.line, code, out, errs)
		}
	}
}

func TestCommandsCalledWrongly(t *testing.T) {
	log := fileWith(t, handWritten)
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{nil, 2, "bayhold serve"},
		{[]string{"frobnicate"}, 2, `no command "frobnicate"`},
		{[]string{"help"}, 0, "bayhold gates"},
		{[]string{"gates", "--help"}, 0, "RFC 3339"},
		{[]string{"gates"}, 2, "--log and --at are needed"},
		{[]string{"gates", "--log", log, "--at", "8 o'clock"}, 2, "RFC 3339"},
		{[]string{"gates", "--log", log, "--at", "2026-01-15T08:00:00Z", "more"}, 2, `"more" is no option`},
		{[]string{"gates", "--log", log + "x", "--at", "2026-01-15T08:00:00Z"}, 1, "no such file"},
		{[]string{"export"}, 2, "--data is needed"},
		{[]string{"export", "--data", t.TempDir()}, 1, "there is no store"},
		{[]string{"serve", "--demo", "--data", "x"}, 2, "without --data"},
		{[]string{"serve", "--addr", "0.0.0.0:0", "--data", t.TempDir()}, 1, "--name"},
		{[]string{"serve", "--addr", ":8080", "--data", t.TempDir()}, 1, "--name"},
		{[]string{"serve", "--addr", "192.168.1.5:8080", "--data", t.TempDir()}, 1, "--name"},
		{[]string{"serve", "--addr", "nonsense", "--data", t.TempDir()}, 1, "HOST:PORT"},
	} {
		code, out, errs := call(c.args...)
		if code != c.code || !strings.Contains(out+errs, c.says) {
			t.Errorf("bayhold %v: exit %d %q, want %d with %q", c.args, code, out+errs, c.code, c.says)
		}
	}
}

// The demo begins at the story's Wednesday 08:00, which is now, and holds
// nothing of what came later.
func TestDemoIsMovedToNow(t *testing.T) {
	shop, seed, err := demoShop()
	if err != nil {
		t.Fatal(err)
	}
	if shop != logbook.Named(demo.Shop) || len(seed) < 1000 {
		t.Fatalf("shop %s, %d lines", shop, len(seed))
	}
	var latest int64
	for _, d := range seed {
		latest = max(latest, d.At)
	}
	if late := time.Since(time.UnixMilli(latest)); late < 0 || late > 12*time.Minute {
		t.Errorf("the last line is %s old", late)
	}
	if e := moved(checklist.PlaceEvent{From: 5, To: 0}, 7).(checklist.PlaceEvent); e.From != 12 || e.To != 0 {
		t.Errorf("an event that goes on was ended: %+v", e)
	}

	// Moved as a whole, the shop answers as the story does: no moment in any
	// body stayed behind.
	story, now := checklist.NewShop(), checklist.NewShop()
	lines, err := readLog(bytes.NewReader(demo.RunA))
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines {
		if l.at <= demo.Moment.UnixMilli() {
			story.Add(l.said)
		}
	}
	order := map[logbook.Log]uint64{}
	for _, d := range seed {
		order[d.Entry.Log]++
		l, err := line.Of(d.Entry, order[d.Entry.Log], checklist.Span{Earliest: d.At, Latest: d.At})
		if err != nil {
			t.Fatal(err)
		}
		now.Add(l)
	}
	by := seed[0].At - lines[0].at
	want := gatesOf(story, demo.Moment, readerOf(story, demo.Moment))
	later := demo.Moment.Add(time.Duration(by) * time.Millisecond)
	got := gatesOf(now, later, readerOf(now, later))
	if len(got) != len(want) || len(got) == 0 {
		t.Fatalf("%d gates, want %d", len(got), len(want))
	}
	for i := range want {
		w, g := want[i], got[i]
		if w.Until != 0 {
			w.Until += by
		}
		if g.Job != w.Job || g.Stage != w.Stage || g.State != w.State || g.Until != w.Until || g.CountedMS != w.CountedMS ||
			strings.Join(g.Causes, " ") != strings.Join(w.Causes, " ") {
			t.Errorf("%s %s %s%s: %+v, in the story %+v", w.Job, w.Stage, w.Panel, w.Zone, g, w)
		}
	}
}

// The demo is served by the same program as any shop, and leaves nothing
// behind.
func TestServeDemo(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	ctx, stop := context.WithCancel(context.Background())
	out, in := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		ended <- serve(ctx, server.Config{Addr: "127.0.0.1:0"}, true, identity{}, "", in)
		in.Close()
	}()
	text, err := bufio.NewReader(out).ReadString('\n')
	_, url, ok := strings.Cut(strings.TrimSpace(text), " at ")
	if !ok {
		t.Fatalf("%q %v %v", text, err, <-ended)
	}
	resp, err := http.Get(url + "/healthz")
	if err != nil {
		t.Fatal(err)
	}
	var health struct{ Entries int }
	if err := json.NewDecoder(resp.Body).Decode(&health); err != nil || resp.StatusCode != 200 || health.Entries < 1000 {
		t.Errorf("healthz: %d, %+v, %v", resp.StatusCode, health, err)
	}
	resp.Body.Close()
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if left, _ := os.ReadDir(os.Getenv("TMPDIR")); len(left) != 0 {
		t.Errorf("%d folders left behind", len(left))
	}
}

// What a server kept comes out of export and goes into gates.
func TestExportFeedsGates(t *testing.T) {
	shop, seed, err := demoShop()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	s, err := server.Open(server.Config{Data: dir, Shop: shop, Seed: seed})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	code, out, errs := call("export", "--data", dir)
	if code != 0 || !strings.Contains(errs, fmt.Sprint(len(seed), " lines; 0 set aside")) {
		t.Fatalf("exit %d: %s", code, errs)
	}
	at := time.Now().Truncate(time.Minute).Format(time.RFC3339)
	for _, r := range gatesAt(t, fileWith(t, out), at) {
		if r.Job == "V5" && r.Stage == "dry" && r.State != "held" {
			t.Errorf("%+v", r)
		}
	}
}

// Every body that has a moment is moved; the names of the fields are those of
// package checklist.
func TestMovedMovesEveryMoment(t *testing.T) {
	const was, by = 1000, 7
	for _, body := range []checklist.Body{
		checklist.ShopSet{}, checklist.PlaceAdd{}, checklist.PersonAdd{}, checklist.AirShared{}, checklist.RulesSet{},
		checklist.ClimateBlock{}, checklist.ClimateReading{}, checklist.ClimateSpan{}, checklist.PlaceEvent{},
		checklist.JobOpen{}, checklist.JobMove{}, checklist.JobClose{}, checklist.Tick{}, checklist.Reading{},
		checklist.Setback{}, checklist.Evidence{}, checklist.Finding{}, checklist.FindingAnswer{}, checklist.Sign{},
		checklist.Waiver{}, checklist.Photo{}, checklist.Note{},
	} {
		v := reflect.New(reflect.TypeOf(body)).Elem()
		moments := []string{"From", "To", "At", "Promise"}
		for _, name := range moments {
			if f := v.FieldByName(name); f.IsValid() {
				f.SetInt(was)
			}
		}
		got := reflect.ValueOf(moved(v.Interface().(checklist.Body), by))
		for _, name := range moments {
			if f := got.FieldByName(name); f.IsValid() && f.Int() != was+by {
				t.Errorf("%s.%s stays behind", body.Kind(), name)
			}
		}
		none := reflect.ValueOf(moved(body, by))
		if !reflect.DeepEqual(none.Interface(), body) {
			t.Errorf("%s: a moment that is none was moved", body.Kind())
		}
	}
}
