package browsertest

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/gorilla/websocket"
)

// Firefox is one Firefox with a profile that outlives it, driven by WebDriver
// BiDi (W3C). It is another engine than a [Phone]'s: another IndexedDB, another
// service worker, another recorder. Its page is at [Firefox.Origin], which leads
// over its own Wire to the server.
type Firefox struct {
	Wire *Wire
	engine

	program string
	profile string
	process *exec.Cmd
	line    *websocket.Conn
	page    string // the browsing context

	mu      sync.Mutex
	last    int
	waiting map[int]chan reply
}

// reply is what Firefox answers to a command.
type reply struct {
	ID             int
	Result         json.RawMessage
	Error, Message string
}

// quietly are the settings of a Firefox that talks to nobody but the test.
const quietly = `user_pref("app.update.enabled", false);
user_pref("app.normandy.enabled", false);
user_pref("browser.region.network.url", "");
user_pref("browser.safebrowsing.malware.enabled", false);
user_pref("browser.safebrowsing.phishing.enabled", false);
user_pref("browser.startup.page", 0);
user_pref("datareporting.policy.dataSubmissionEnabled", false);
user_pref("extensions.update.enabled", false);
user_pref("media.navigator.permission.disabled", true);
user_pref("media.navigator.streams.fake", true);
user_pref("network.captive-portal-service.enabled", false);
user_pref("network.connectivity-service.enabled", false);
user_pref("services.settings.server", "data:,");
user_pref("toolkit.telemetry.enabled", false);
`

// NewFirefox starts a Firefox whose line leads to the server at addr. Where
// there is none the test is skipped and says so: Chromium is the engine that
// every change is held to.
func NewFirefox(t testing.TB, addr string) *Firefox {
	t.Helper()
	Chromium(t) // skips where browser tests are left out
	f := &Firefox{Wire: NewWire(t, addr), profile: t.TempDir()}
	f.engine = engine{t, "Firefox", f.evaluate}
	for _, name := range []string{"firefox-esr", "firefox"} {
		if path, err := exec.LookPath(name); err == nil {
			f.program = path
			break
		}
	}
	if f.program == "" {
		t.Skip("no Firefox here, so nothing is said of it: apt-get install -y --no-install-recommends firefox-esr")
	}
	f.Start()
	t.Cleanup(func() { f.Kill() })
	return f
}

// Origin is where this Firefox finds the server.
func (f *Firefox) Origin() string {
	return "http://localhost:" + f.Wire.Addr()[strings.LastIndex(f.Wire.Addr(), ":")+1:]
}

// Start starts the browser on its profile.
func (f *Firefox) Start() {
	f.t.Helper()
	if err := os.WriteFile(filepath.Join(f.profile, "user.js"), []byte(quietly), 0o600); err != nil {
		f.t.Fatal(err)
	}
	f.process = exec.Command(f.program, "--headless", "--no-remote", "--profile", f.profile, "--remote-debugging-port=0", "about:blank")
	f.process.Env = append(os.Environ(), "HOME="+f.profile, "MOZ_CRASHREPORTER_DISABLE=1")
	f.process.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGKILL}
	said, err := f.process.StderrPipe()
	if err == nil {
		err = f.process.Start()
	}
	if err != nil {
		f.t.Fatalf("start Firefox: %v", err)
	}
	address := make(chan string, 1)
	go func() {
		for in := bufio.NewScanner(said); in.Scan(); {
			if _, at, ok := strings.Cut(in.Text(), "WebDriver BiDi listening on "); ok {
				address <- strings.TrimSpace(at)
			}
		}
	}()
	select {
	case at := <-address:
		f.line, _, err = websocket.DefaultDialer.Dial(at+"/session", nil)
	case <-time.After(2 * Patience):
		err = fmt.Errorf("it never said where it listens")
	}
	if err != nil {
		f.t.Fatalf("Firefox: %v", err)
	}
	f.waiting = map[int]chan reply{}
	go f.read(f.line)
	f.call("session.new", map[string]any{"capabilities": map[string]any{}}, nil)
	var tree struct{ Contexts []struct{ Context string } }
	f.call("browsingContext.getTree", map[string]any{}, &tree)
	f.page = tree.Contexts[0].Context
	f.call("browsingContext.setViewport", map[string]any{"context": f.page, "viewport": map[string]any{"width": 390, "height": 844}}, nil)
}

// Kill ends the browser and its processes by SIGKILL.
func (f *Firefox) Kill() {
	if f.process == nil {
		return
	}
	syscall.Kill(-f.process.Process.Pid, syscall.SIGKILL)
	f.process.Wait()
	f.line.Close()
	f.process = nil
}

func (f *Firefox) read(line *websocket.Conn) {
	for {
		var r reply
		err := line.ReadJSON(&r)
		f.mu.Lock()
		if err != nil {
			for _, c := range f.waiting {
				c <- reply{Error: "closed", Message: err.Error()}
			}
			f.waiting = map[int]chan reply{}
		} else if c := f.waiting[r.ID]; c != nil { // an event has no id
			delete(f.waiting, r.ID)
			c <- r
		}
		f.mu.Unlock()
		if err != nil {
			return
		}
	}
}

// try sends one command and waits for its answer.
func (f *Firefox) try(method string, params map[string]any, out any) error {
	c := make(chan reply, 1)
	f.mu.Lock()
	f.last++
	id := f.last
	f.waiting[id] = c
	f.mu.Unlock()
	if err := f.line.WriteJSON(map[string]any{"id": id, "method": method, "params": params}); err != nil {
		return err
	}
	select {
	case r := <-c:
		if r.Error != "" {
			return fmt.Errorf("%s: %s: %.300s", method, r.Error, r.Message)
		}
		if out == nil {
			return nil
		}
		return json.Unmarshal(r.Result, out)
	case <-time.After(2 * Patience):
		return fmt.Errorf("%s: no answer", method)
	}
}

func (f *Firefox) call(method string, params map[string]any, out any) {
	f.t.Helper()
	if err := f.try(method, params, out); err != nil {
		f.t.Fatalf("Firefox: %v", err)
	}
}

// Open goes to a path of the server.
func (f *Firefox) Open(path string) {
	f.t.Helper()
	f.call("browsingContext.navigate", map[string]any{"context": f.page, "url": f.Origin() + path, "wait": "complete"}, nil)
}

func (f *Firefox) evaluate(expression string, out any) error {
	var r struct {
		Type             string
		Result           struct{ Value string }
		ExceptionDetails struct{ Text string }
	}
	err := f.try("script.evaluate", map[string]any{"expression": "(async () => JSON.stringify((await (" + expression + ")) ?? null))()",
		"awaitPromise": true, "userActivation": true, "target": map[string]any{"context": f.page}}, &r)
	if err != nil {
		return err
	}
	if r.Type != "success" {
		return fmt.Errorf("%.120s: %s", expression, r.ExceptionDetails.Text)
	}
	return json.Unmarshal([]byte(r.Result.Value), out)
}

// Tap touches the visible element with this data-testid, as a finger does: once
// more where something moved it from under the finger.
func (f *Firefox) Tap(id string) {
	f.t.Helper()
	for began := time.Now(); time.Since(began) < 2*Patience; {
		f.untilTappable(id)
		var at *struct{ X, Y float64 }
		f.Do(`(() => {
			const e = `+find(id)+`;
			if (!e) return null; // gone since: look again
			globalThis.tapped = false;
			document.addEventListener('click', click => { globalThis.tapped = !!click.target.closest('[data-testid=' + CSS.escape(`+strconv.Quote(id)+`) + ']'); }, {capture: true, once: true});
			const r = e.getBoundingClientRect();
			return {x: Math.round(r.x + r.width / 2), y: Math.round(r.y + r.height / 2)};
		})()`, &at)
		if at == nil {
			continue
		}
		f.call("input.performActions", map[string]any{"context": f.page, "actions": []any{map[string]any{
			"type": "pointer", "id": "finger", "parameters": map[string]any{"pointerType": "touch"},
			"actions": []any{map[string]any{"type": "pointerMove", "x": at.X, "y": at.Y}, map[string]any{"type": "pointerDown", "button": 0}, map[string]any{"type": "pointerUp", "button": 0}},
		}}}, nil)
		var met bool
		f.Do(tapped, &met)
		if met {
			return
		}
		f.t.Logf("%s: the tap on %s missed; again", f.name, id)
	}
	f.t.Fatalf("%s: every tap on %s missed", f.name, id)
}

// Type taps a field and types into it.
func (f *Firefox) Type(id, text string) {
	f.t.Helper()
	f.Tap(id)
	f.Until(id+" to take the typing", `(e => { e.focus(); return document.activeElement === e; })(`+find(id)+`)`)
	var keys []any
	for _, r := range text {
		keys = append(keys, map[string]any{"type": "keyDown", "value": string(r)}, map[string]any{"type": "keyUp", "value": string(r)})
	}
	f.call("input.performActions", map[string]any{"context": f.page, "actions": []any{map[string]any{"type": "key", "id": "keys", "actions": keys}}}, nil)
	f.Until(id+" to read it", find(id)+`.value === `+strconv.Quote(text))
}
