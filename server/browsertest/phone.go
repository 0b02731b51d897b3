package browsertest

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"net"
	"os"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// agent is what a phone's browser says of itself. It is given as a flag,
// because the page's override does not reach the service worker.
const agent = "Mozilla/5.0 (Linux; Android 15) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Mobile Safari/537.36"

// Place is where a phone is that is not on this machine's loopback.
type Place struct {
	Origin  string // what it opens: "https://shop.local:8443"
	Browser string // a program that runs Chromium there, with the arguments it is given
	Home    string // the browser's HOME, for the certificates that it trusts
	Resolve string // Chromium's host-resolver-rules
}

// Phone is one browser with a profile that outlives it.
type Phone struct {
	Wire *Wire // nil for a phone at a Place of its own

	place Place

	t       testing.TB
	name    string
	profile string // the browser's user data; stays over Close, Kill and Start
	width   int64
	height  int64
	skew    time.Duration // how far the phone's wall clock is ahead
	before  string        // runs in front of every page and worker
	holding bool          // workers are held at their start for it

	ctx  context.Context // of the open tab; nil while the phone is off
	stop func()

	mu      sync.Mutex
	console []string
}

// New starts a phone whose line leads to the server at addr (host:port).
func New(t testing.TB, name, addr string) *Phone {
	t.Helper()
	wire := NewWire(t, addr)
	_, port, err := net.SplitHostPort(wire.Addr())
	if err != nil {
		t.Fatal(err)
	}
	p := NewAt(t, name, Place{Origin: Origin, Browser: Chromium(t), Home: t.TempDir(), Resolve: fmt.Sprintf("MAP %s 127.0.0.1:%s", host, port)})
	p.Wire = wire
	return p
}

// NewAt starts a phone at a place.
func NewAt(t testing.TB, name string, at Place) *Phone {
	t.Helper()
	p := &Phone{place: at, t: t, name: name, profile: t.TempDir(), width: 390, height: 844}
	p.Start()
	t.Cleanup(func() {
		if t.Failed() && p.ctx != nil {
			t.Logf("%s at the end: %s", p.name, p.state())
		}
		p.Close()
	})
	return p
}

// Start switches the phone on, with an empty tab. It does nothing if the phone
// is on.
func (p *Phone) Start() {
	p.t.Helper()
	if p.ctx != nil {
		return
	}
	options := []chromedp.ExecAllocatorOption{
		ownGroup, chromedp.ExecPath(p.place.Browser), chromedp.UserDataDir(p.profile),
		chromedp.Env("HOME="+p.place.Home, "TMPDIR="+p.place.Home), // a killed one leaves files
		chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck,
		chromedp.UserAgent(agent), chromedp.WindowSize(int(p.width), int(p.height)),
		chromedp.Flag("host-resolver-rules", p.place.Resolve),
		chromedp.Flag("force-color-profile", "srgb"), chromedp.Flag("password-store", "basic"),
		chromedp.Flag("enable-automation", true),
		// A camera and a microphone that are made up, and allowed.
		chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true),
	}
	for _, off := range []string{"quic", "background-networking", "component-update", "sync", "dev-shm-usage",
		"extensions", "breakpad", "default-apps", "hang-monitor"} {
		options = append(options, chromedp.Flag("disable-"+off, true))
	}
	// The browser lives as long as the context that it was started with, so
	// that context has no deadline; every later step derives one.
	browser, stopBrowser := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stopTab := chromedp.NewContext(browser, chromedp.WithErrorf(func(string, ...any) {})) // says 'broken pipe' after Kill
	p.ctx = ctx
	p.stop = func() {
		stopTab()
		stopBrowser()
		p.ctx, p.stop = nil, nil
	}
	if err := chromedp.Do(ctx); err != nil {
		p.stop()
		p.t.Fatalf("%s: start the browser: %v", p.name, err)
	}
	go p.listen(chromedp.Console(ctx))
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetUserAgentOverride, emulation.SetUserAgentOverrideParams{UserAgent: agent, Platform: "Linux armv81",
			UserAgentMetadata: &emulation.UserAgentMetadata{Platform: "Android", PlatformVersion: "15", Mobile: true}})
		return err
	}))
	p.Size(p.width, p.height)
	p.prepare()
	p.holding = false
	if p.before != "" {
		p.inFront(p.before)
	}
}

// Tab opens another tab of this phone: the same store, a page of its own. It
// is closed with the phone.
func (p *Phone) Tab() *Phone {
	p.t.Helper()
	return p.tab("another tab")
}

// Private opens a private window of this phone: a store of its own, in memory,
// that is gone with the window.
func (p *Phone) Private() *Phone {
	p.t.Helper()
	return p.tab("private", chromedp.WithNewBrowserContext())
}

func (p *Phone) tab(what string, options ...chromedp.ContextOption) *Phone {
	p.t.Helper()
	ctx, _ := chromedp.NewContext(p.ctx, options...)
	tab := &Phone{Wire: p.Wire, place: p.place, t: p.t, name: p.name + " (" + what + ")", width: p.width, height: p.height, ctx: ctx, stop: func() {}}
	if err := chromedp.Do(ctx); err != nil {
		p.t.Fatalf("%s: %v", tab.name, err)
	}
	go tab.listen(chromedp.Console(ctx))
	tab.Size(p.width, p.height)
	tab.prepare()
	if p.before != "" {
		tab.before = p.before
		tab.inFront(p.before)
	}
	return tab
}

// Whole has a page draw its sections that are out of sight as well, which a browser
// skips until they come near: a test reads what is said there, and only what is
// drawn can be read (HTML, innerText).
const Whole = `{
	const all = new CSSStyleSheet();
	all.replaceSync('section { content-visibility: visible !important }');
	document.adoptedStyleSheets = [all];
}`

// prepare sets a tab up for what reads it. A test has all of a page drawn; a
// benchmark has it as a phone has, with nobody looking over its shoulder: the
// inspectors that the tests' library switches on keep a copy of each body that is
// fetched, the core's 4 MB among them, look up where in the source each call came
// from, and note each change to the page, all on the page's own thread.
func (p *Phone) prepare() {
	p.t.Helper()
	_, bench := p.t.(*testing.B)
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) (err error) {
		if !bench {
			_, err = cdp.Call(ctx, t, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: Whole})
			return err
		}
		for _, inspector := range []string{"CSS", "DOM", "Network", "Runtime", "Log"} {
			err = errors.Join(err, t.Call(ctx, inspector+".disable", nil, nil))
		}
		return err
	}))
}

// Freeze halts the tab as a phone does to one in the background: nothing of it
// runs, and what it holds it keeps.
func (p *Phone) Freeze(frozen bool) {
	p.t.Helper()
	state := "active"
	if frozen {
		state = "frozen"
	}
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		return t.Call(ctx, "Page.setWebLifecycleState", map[string]any{"state": state}, nil)
	}))
}

// Quota limits how many bytes the shop's page may keep on this phone; 0 lifts
// the limit.
func (p *Phone) Quota(bytes int64) {
	p.t.Helper()
	params := map[string]any{"origin": Origin}
	if bytes > 0 {
		params["quotaSize"] = bytes
	}
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		return t.Call(ctx, "Storage.overrideQuotaForOrigin", params, nil)
	}))
}

// Permit answers a question that the browser would ask the person: setting is
// "granted" or "denied".
func (p *Phone) Permit(name, setting string) {
	p.t.Helper()
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		return t.Call(ctx, "Browser.setPermission", map[string]any{"permission": map[string]any{"name": name}, "setting": setting, "origin": p.place.Origin}, nil)
	}))
}

// Downloads has the browser put what a page saves as a file into a folder.
func (p *Phone) Downloads(dir string) {
	p.t.Helper()
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		return t.Call(ctx, "Browser.setDownloadBehavior", map[string]any{"behavior": "allow", "downloadPath": dir}, nil)
	}))
}

// Uninstallable is what keeps the open page from being installed as an app, in
// the browser's own words.
func (p *Phone) Uninstallable() (why []string) {
	p.t.Helper()
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		var out struct {
			Errors []struct {
				ID string `json:"errorId"`
			} `json:"installabilityErrors"`
		}
		err := t.Call(ctx, "Page.getInstallabilityErrors", map[string]any{}, &out)
		for _, e := range out.Errors {
			why = append(why, e.ID)
		}
		return err
	}))
	return why
}

// Manifest is what the browser reads of the open page's app, to put it on a home
// screen.
func (p *Phone) Manifest() (data string) {
	p.t.Helper()
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		var out struct {
			Data string `json:"data"`
		}
		err := t.Call(ctx, "Page.getAppManifest", map[string]any{}, &out)
		data = out.Data
		return err
	}))
	return data
}

// Profile is the folder with everything that the phone keeps while it is off.
func (p *Phone) Profile() string {
	if p.ctx != nil {
		p.t.Fatalf("%s: the profile of a running phone is not whole", p.name)
	}
	return p.profile
}

// Save copies what the phone keeps, as a backup of it does. The phone is off.
func (p *Phone) Save() (copied string) {
	p.t.Helper()
	dir := p.t.TempDir()
	if err := os.CopyFS(dir+"/saved", os.DirFS(p.Profile())); err != nil {
		p.t.Fatal(err)
	}
	return dir + "/saved"
}

// Restore gives the phone a copy of what it, or another one, kept once.
func (p *Phone) Restore(copied string) {
	p.t.Helper()
	dir := p.t.TempDir()
	if p.ctx != nil {
		p.t.Fatalf("%s: a running phone cannot be given another store", p.name)
	}
	if err := os.CopyFS(dir+"/restored", os.DirFS(copied)); err != nil {
		p.t.Fatal(err)
	}
	p.profile = dir + "/restored"
	for _, of := range []string{"Lock", "Socket", "Cookie"} {
		os.Remove(p.profile + "/Singleton" + of) // of the browser that ran on the original
	}
}

// Size gives the screen another size, in points; it stays over a restart. A
// width of 600 and more is a desktop: no touch.
func (p *Phone) Size(width, height int64) {
	p.t.Helper()
	p.width, p.height = width, height
	if width >= 600 {
		p.do(chromedp.EmulateViewport(width, height, chromedp.EmulateLandscape))
		return
	}
	p.do(chromedp.EmulateViewport(width, height, chromedp.EmulateScale(2), chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulatePortrait))
}

// Dark asks the page for its dark or its light face.
func (p *Phone) Dark(dark bool) {
	p.t.Helper()
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return err
	}))
}

// Slow makes the page's own thread so many times slower; workers stay as fast as
// they are. Quarter slows all of the browser.
func (p *Phone) Slow(times float64) {
	p.t.Helper()
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: times})
		return err
	}))
}

// Close switches the phone off properly. It does nothing if the phone is off.
func (p *Phone) Close() {
	if p.ctx == nil {
		return
	}
	ctx, cancel := context.WithTimeout(p.ctx, 10*time.Second)
	chromedp.Cancel(ctx)
	cancel()
	p.stop()
}

// Kill ends the browser by SIGKILL, as a battery pulled out does to what the
// browser had not yet written: nothing of it runs on.
func (p *Phone) Kill() {
	p.t.Helper()
	process := chromedp.FromContext(p.ctx).Browser.Process()
	if err := process.Signal(syscall.SIGKILL); err != nil {
		p.t.Fatalf("%s: kill: %v", p.name, err)
	}
	gone := fmt.Sprintf("/proc/%d", process.Pid)
	for deadline := time.Now().Add(Patience); ; time.Sleep(time.Millisecond) {
		if _, err := os.Stat(gone); os.IsNotExist(err) {
			break
		}
		if time.Now().After(deadline) {
			p.t.Fatalf("%s: process %d is still there after SIGKILL", p.name, process.Pid)
		}
	}
	p.stop() // chromedp ends what children are left over
}

// listen keeps what the page writes to its console, for the day a test fails.
func (p *Phone) listen(messages iter.Seq2[chromedp.ConsoleMessage, error]) {
	for message, err := range messages {
		if err != nil {
			return
		}
		p.mu.Lock()
		p.console = append(p.console, message.String())
		p.mu.Unlock()
	}
}

// Console is what the page has written to its console so far, over all starts.
func (p *Phone) Console() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return strings.Join(p.console, "\n")
}
