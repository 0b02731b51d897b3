package browsertest

import (
	"image/png"
	"math"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
)

// toy serves the toy page on one address and can be stopped and started again.
type toy struct {
	t    testing.TB
	addr string
	http *http.Server
}

func newToy(t testing.TB) *toy {
	s := &toy{t: t, addr: "127.0.0.1:0"}
	s.start()
	t.Cleanup(s.stop)
	return s
}

func (s *toy) start() {
	s.t.Helper()
	listen, err := net.Listen("tcp", s.addr)
	if err != nil {
		s.t.Fatal(err)
	}
	s.addr = listen.Addr().String()
	mux := http.NewServeMux()
	mux.Handle("/", http.FileServer(http.Dir("testdata/toy")))
	mux.HandleFunc("/ws", func(w http.ResponseWriter, r *http.Request) {
		conn, err := (&websocket.Upgrader{}).Upgrade(w, r, nil)
		if err != nil {
			return
		}
		defer conn.Close()
		for {
			if _, _, err := conn.ReadMessage(); err != nil {
				return
			}
		}
	})
	s.http = &http.Server{Handler: mux}
	go s.http.Serve(listen)
}

// stop refuses what is new and resets plain requests; a websocket that the
// server no longer knows of is cut by the wires.
func (s *toy) stop() { s.http.Close() }

const isOpen = `document.querySelector('[data-testid=line]').dataset.state === 'open'`

// With its line cut a phone reloads the page from its own store, and the line
// comes back by itself; the other phone notices nothing.
func TestBrowserWireCutsOnePhone(t *testing.T) {
	server := newToy(t)
	a, b := New(t, "A", server.addr), New(t, "B", server.addr)
	for _, p := range []*Phone{a, b} {
		p.Open("/")
		p.ReadyOffline()
		p.Until("an open line", isOpen)
	}
	a.Wire.Cut()
	a.Until("a closed line", "document.querySelector('[data-testid=line]').dataset.state === 'closed'")
	if got := JS[string](a, "fetch('/absent', {cache: 'no-store'}).then(() => 'reached', () => 'cut')"); got != "cut" {
		t.Errorf("fetch over a cut line: %s", got)
	}
	if got := JS[string](b, "fetch('/absent', {cache: 'no-store'}).then(() => 'reached', () => 'cut')"); got != "reached" {
		t.Errorf("fetch of the other phone: %s", got)
	}
	if got := b.Data("line", "state"); got != "open" {
		t.Errorf("line of the other phone: %s", got)
	}
	a.Reload()
	a.Type("note", "written while cut")
	a.Tap("keep")
	a.Reads("notes", "written while cut")
	a.Wire.Restore()
	a.Until("an open line", isOpen)
	if !strings.Contains(a.Console(), "toy is up") {
		t.Errorf("console was not kept: %q", a.Console())
	}
}

// The server is stopped for good; the page opens from the phone, closed and
// opened again, and what was stored is there.
func TestBrowserOpensWithoutServer(t *testing.T) {
	server := newToy(t)
	p := New(t, "A", server.addr)
	p.Open("/")
	p.ReadyOffline()
	server.stop()
	p.Reload()
	p.Type("note", "offline")
	p.Tap("keep")
	p.Reads("notes", "offline")
	p.Close()
	p.Start()
	p.Open("/")
	p.Reads("notes", "offline")
	server.start()
	if got := JS[string](p, "fetch('/absent', {cache: 'no-store'}).then(() => 'reached', () => 'cut')"); got != "reached" {
		t.Errorf("fetch after the server came back: %s", got)
	}
}

// What the page painted after a strict commit is there after SIGKILL.
func TestBrowserKillKeepsWhatWasPainted(t *testing.T) {
	server := newToy(t)
	p := New(t, "A", server.addr)
	p.Open("/")
	p.ReadyOffline()
	for _, note := range []string{"first", "second", "third"} {
		p.Type("note", note)
		p.Tap("keep")
		p.Reads("notes", note)
		p.Kill()
		p.Start()
		p.Open("/")
		p.Reads("notes", note)
	}
	if got := JS[int](p, "document.querySelectorAll('[data-testid=notes] li').length"); got != 3 {
		t.Errorf("%d notes after three kills, want 3", got)
	}
}

// The screen is a phone's: its size, its touch, its picture.
func TestBrowserLooksLikeAPhone(t *testing.T) {
	p := New(t, "A", newToy(t).addr)
	p.Open("/")
	got := JS[string](p, "[innerWidth, innerHeight, matchMedia('(pointer: coarse)').matches, isSecureContext].join()")
	if got != "390,844,true,true" {
		t.Errorf("phone is %s", got)
	}
	p.Until("an open line", isOpen)
	file := filepath.Join(t.TempDir(), "photo.jpg")
	if err := os.WriteFile(file, make([]byte, 1234), 0o600); err != nil {
		t.Fatal(err)
	}
	p.Upload("photo", file)
	p.Reads("size", "1234 bytes")

	picture, err := os.Open(p.Screenshot(t.TempDir(), "toy"))
	if err != nil {
		t.Fatal(err)
	}
	defer picture.Close()
	size, err := png.DecodeConfig(picture)
	if err != nil || size.Width != 780 || size.Height != 1688 {
		t.Errorf("screenshot is %dx%d (%v), want 780x1688", size.Width, size.Height, err)
	}
	p.Size(1280, 800)
	if got := JS[int](p, "innerWidth"); got != 1280 {
		t.Errorf("desktop is %d wide", got)
	}
}

// A wrong clock is wrong on the page and in a worker, and after a restart; the
// monotonic clock knows nothing of it.
func TestBrowserWrongClock(t *testing.T) {
	p := New(t, "A", newToy(t).addr)
	p.Skew(-8 * time.Hour)
	for range 2 {
		p.Open("/")
		p.Until("an open line", isOpen)
		const now = "[Date.now(), new Date().getTime(), +new Date(0), performance.timeOrigin + performance.now()]"
		const inWorker = `new Promise(ok => {
			const w = new Worker('/clock.js', {type: 'module'});
			w.onmessage = e => ok(e.data);
			w.postMessage("` + now + `");
		})`
		for where, expression := range map[string]string{"page": now, "worker": inWorker} {
			got := JS[[]float64](p, expression)
			wall := time.Now().Add(-8 * time.Hour).UnixMilli()
			if math.Abs(got[0]-float64(wall)) > 60_000 || math.Abs(got[1]-float64(wall)) > 60_000 {
				t.Errorf("%s: the clock shows %.0f and %.0f, want %d", where, got[0], got[1], wall)
			}
			if got[2] != 0 || got[3]-got[0] < 7.9*3_600_000 {
				t.Errorf("%s: a given time became %.0f, monotonic %.0f", where, got[2], got[3])
			}
		}
		p.Close()
		p.Start()
	}
}

// A missing browser fails with the line that installs it; only the variable
// leaves the tests out.
func TestChromiumMissing(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	t.Setenv("BAYHOLD_CHROMIUM", "")
	t.Setenv("BAYHOLD_NO_BROWSER", "")
	missing := &outcome{}
	missing.run(func() { Chromium(missing) })
	if !strings.Contains(missing.fatal, "apt-get install -y --no-install-recommends chromium") || missing.skipped {
		t.Errorf("without chromium: fatal %q, skipped %v", missing.fatal, missing.skipped)
	}
	t.Setenv("BAYHOLD_NO_BROWSER", "1")
	left := &outcome{}
	left.run(func() { Chromium(left) })
	if left.fatal != "" || !left.skipped {
		t.Errorf("left out: fatal %q, skipped %v", left.fatal, left.skipped)
	}
}

// outcome records how a test would end.
type outcome struct {
	testing.TB
	fatal   string
	skipped bool
}

type ended struct{}

func (o *outcome) Helper() {}
func (o *outcome) Fatal(args ...any) {
	o.fatal = args[0].(string)
	panic(ended{})
}
func (o *outcome) Skip(...any) {
	o.skipped = true
	panic(ended{})
}
func (o *outcome) run(f func()) {
	defer func() {
		if r := recover(); r != nil && r != (ended{}) {
			panic(r)
		}
	}()
	f()
}
