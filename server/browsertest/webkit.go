package browsertest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// WebKit is one WebKitGTK on a screen of a phone's size, driven by WebDriver
// (W3C). It is the engine of the iPhone as far as Linux has it: no touch, no home
// screen, and what it stores lasts as long as it runs.
type WebKit struct {
	Wire *Wire
	engine

	screen, driver *exec.Cmd
	session        string // the address of the session
}

// miniBrowser is where Debian puts WebKitGTK's own browser.
const miniBrowser = "/usr/lib/*/webkit2gtk-4.*/MiniBrowser"

// NewWebKit starts a WebKit whose line leads to the server at addr. Where there is
// none the test is skipped and says so: Chromium is the engine that every change
// is held to.
func NewWebKit(t testing.TB, addr string) *WebKit {
	t.Helper()
	Chromium(t) // skips where browser tests are left out
	browsers, _ := filepath.Glob(miniBrowser)
	for _, name := range []string{"WebKitWebDriver", "Xvfb", "matchbox-window-manager"} {
		if _, err := exec.LookPath(name); err != nil || len(browsers) == 0 {
			t.Skip("no WebKitGTK here, so nothing is said of it: apt-get install -y --no-install-recommends webkit2gtk-driver xvfb matchbox-window-manager")
		}
	}
	w := &WebKit{Wire: NewWire(t, addr)}
	w.engine = engine{t, "WebKit", w.evaluate}
	t.Cleanup(w.stop)

	number, said, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer number.Close()
	w.screen = w.run("Xvfb", "", said, "-displayfd", "3", "-screen", "0", "1170x2532x24", "-nolisten", "tcp")
	said.Close()
	display := make([]byte, 16)
	number.SetReadDeadline(time.Now().Add(Patience))
	n, err := number.Read(display)
	if err != nil {
		t.Fatalf("WebKit: no screen: %v", err)
	}
	at := ":" + strings.TrimSpace(string(display[:n]))
	w.run("matchbox-window-manager", at, nil, "-use_titlebar", "no") // without one no window is as narrow as a phone
	port := FreeAddr(t)
	port = port[strings.LastIndex(port, ":")+1:]
	w.driver = w.run("WebKitWebDriver", at, nil, "--port="+port)

	w.session = "http://127.0.0.1:" + port + "/session"
	ask := map[string]any{"capabilities": map[string]any{"alwaysMatch": map[string]any{"webkitgtk:browserOptions": map[string]any{
		"binary": browsers[0], "args": []string{"--automation", "--full-screen", "--features=+StorageAPI,+StorageAPIEstimate"}}}}}
	var made struct{ SessionID string }
	for began := time.Now(); ; time.Sleep(50 * time.Millisecond) {
		if err = w.ask("", ask, &made); err == nil {
			break
		} else if time.Since(began) > Patience {
			t.Fatalf("WebKit: %v", err)
		}
	}
	w.session += "/" + made.SessionID
	w.call("/timeouts", map[string]any{"script": Patience.Milliseconds(), "pageLoad": Patience.Milliseconds()}, nil)
	return w
}

// run starts a program on a screen; it ends with the test.
func (w *WebKit) run(name, display string, third *os.File, args ...string) *exec.Cmd {
	w.t.Helper()
	home := w.t.TempDir()
	c := exec.Command(name, args...)
	c.Env = append(os.Environ(), "HOME="+home, "XDG_RUNTIME_DIR="+home, "GDK_SCALE=3", "NO_AT_BRIDGE=1")
	if display != "" {
		c.Env = append(c.Env, "DISPLAY="+display)
	}
	if third != nil {
		c.ExtraFiles = []*os.File{third}
	}
	c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGKILL}
	if err := c.Start(); err != nil {
		w.t.Fatalf("WebKit: start %s: %v", name, err)
	}
	w.t.Cleanup(func() {
		syscall.Kill(-c.Process.Pid, syscall.SIGKILL)
		c.Wait()
	})
	return c
}

// stop ends the session, so that the browser's own processes go first.
func (w *WebKit) stop() {
	if r, err := http.NewRequest(http.MethodDelete, w.session, nil); err == nil {
		if answer, err := http.DefaultClient.Do(r); err == nil {
			answer.Body.Close()
		}
	}
}

// Origin is where this WebKit finds the server.
func (w *WebKit) Origin() string {
	return "http://localhost:" + w.Wire.Addr()[strings.LastIndex(w.Wire.Addr(), ":")+1:]
}

// ask sends one command and reads its value.
func (w *WebKit) ask(path string, params, out any) error {
	body, err := json.Marshal(params)
	if err != nil {
		return err
	}
	client := http.Client{Timeout: 2 * Patience}
	answer, err := client.Post(w.session+path, "application/json", bytes.NewReader(body))
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	said, err := io.ReadAll(answer.Body)
	if err != nil {
		return err
	}
	var value struct{ Value json.RawMessage }
	if err := json.Unmarshal(said, &value); err != nil || answer.StatusCode != http.StatusOK {
		return fmt.Errorf("%s: %s: %.300s", path, answer.Status, said)
	}
	if out == nil {
		return nil
	}
	return json.Unmarshal(value.Value, out)
}

func (w *WebKit) call(path string, params, out any) {
	w.t.Helper()
	if err := w.ask(path, params, out); err != nil {
		w.t.Fatalf("WebKit: %v", err)
	}
}

// Open goes to a path of the server.
func (w *WebKit) Open(path string) {
	w.t.Helper()
	w.call("/url", map[string]any{"url": w.Origin() + path}, nil)
}

func (w *WebKit) evaluate(expression string, out any) error {
	var r struct{ Value, Fault string }
	err := w.ask("/execute/async", map[string]any{"args": []any{}, "script": "const done = arguments[0]; (async () => JSON.stringify((await (" + expression +
		")) ?? null))().then(value => done({value}), e => done({fault: String(e)}))"}, &r)
	if err != nil {
		return err
	}
	if r.Fault != "" {
		return fmt.Errorf("%.120s: %s", expression, r.Fault)
	}
	return json.Unmarshal([]byte(r.Value), out)
}

// element is WebDriver's own name of an element (W3C WebDriver, section 12.1).
const element = "element-6066-11e4-a52e-4f735466cecf"

func (w *WebKit) find(id string) string {
	w.t.Helper()
	w.untilTappable(id)
	var e map[string]string
	w.call("/element", map[string]any{"using": "css selector", "value": "[data-testid=" + strconv.Quote(id) + "]"}, &e)
	return "/element/" + e[element]
}

// Tap clicks the visible element with this data-testid.
func (w *WebKit) Tap(id string) {
	w.t.Helper()
	w.call(w.find(id)+"/click", map[string]any{}, nil)
}

// Type types into a field.
func (w *WebKit) Type(id, text string) {
	w.t.Helper()
	w.call(w.find(id)+"/value", map[string]any{"text": text}, nil)
	w.Until(id+" to read it", find(id)+`.value === `+strconv.Quote(text))
}
