package pwa_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"bayhold/server/browsertest"
)

// policy is the one that the server sends: no inline script or style, no eval.
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; media-src blob:; " +
	"connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// ownersFake answers an owner's page of one of the invented states.
func ownersFake(w http.ResponseWriter, r *http.Request, of, what string, inner bool) {
	switch {
	case !inner:
		http.ServeFile(w, r, "app/owner.html")
	case what == "page":
		var states map[string]json.RawMessage
		raw, err := os.ReadFile("testdata/fake/owner.json")
		if err == nil {
			err = json.Unmarshal(raw, &states)
		}
		if err != nil || states[of] == nil {
			http.Error(w, "no such link", http.StatusGone)
			return
		}
		w.Write(states[of])
	case strings.HasPrefix(what, "photos/"):
		http.ServeFile(w, r, "app/icon-512.png")
	default:
		http.Error(w, "over", http.StatusGone)
	}
}

// serve serves the app with a messenger that hands out invented views: as it is
// written, for what is packed has the real one in it.
func serve(t *testing.T) string {
	t.Helper()
	written := os.DirFS("app")
	files := http.StripPrefix("/app/", http.FileServerFS(written))
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", policy)
		w.Header().Set("Cache-Control", "max-age=3600") // a test opens hundreds of screens
		switch r.URL.Path {
		case "/":
			http.ServeFileFS(w, r, written, "index.html")
		case "/app/messenger.js":
			http.ServeFile(w, r, "testdata/fake/messenger.js")
		case "/app/begin.js": // that messenger has no worker
			w.Header().Set("Content-Type", "text/javascript")
		case "/app/moments.js", "/app/samples.js":
			http.ServeFile(w, r, "testdata/fake/"+path.Base(r.URL.Path))
		case "/axe.js":
			http.ServeFile(w, r, "testdata/axe.min.js")
		case "/lead":
			http.ServeFile(w, r, "testdata/fake/lead.json")
		case "/spots":
			open := `{"job":"job-V5","label":"V5","stage":"wash","name":"Wash","panel":"","zone":"","at":1768061400000,"by":"person-J","asked":true}`
			if r.URL.Query().Get("job") == "job-V5" {
				open += `,{"job":"job-V5","label":"V5","stage":"strip","name":"Take trim off","panel":"","zone":"","at":1768055400000,"by":"person-M","seen":{"by":"Jon","at":1768059000000,"looked":true,"right":false,"note":"one clip broken","alone":false}}`
			} else if r.URL.Query().Get("job") != "" {
				open = ""
			}
			fmt.Fprintf(w, `{"spots":[%s]}`, open)
		case "/learn":
			http.ServeFile(w, r, "testdata/fake/learn.json")
		case "/register":
			w.Write([]byte(`{"at":1768377600000,"instruments":[
				{"name":"IR 1","sort":"infrared","error":1500,"rh_error":0,"checked":1764930000000,"against":"ice water","serial":"A 1179","gone":false,"due":true},
				{"name":"bay-4-mid","sort":"air","error":500,"rh_error":3000,"checked":1768200000000,"against":"wet salt","serial":"","gone":false,"due":false},
				{"name":"probe 1","sort":"contact","error":500,"rh_error":0,"checked":0,"against":"","serial":"","gone":true,"due":false}],
				"heard":[{"name":"bay-5-high","place":"Bay 5"}]}`))
		case "/hours":
			w.Write([]byte(`{"at":1768377600000,"week":[27000000,61200000,27000000,61200000,27000000,61200000,27000000,61200000,27000000,61200000,28800000,43200000,0,0],"shut":["2026-12-24"],"porter":21600000,
				"places":[{"place":"place-4","name":"Bay 4","sort":"bay","order":4,"length":8500000,"height":3200000,"door":2900000},{"place":"yard","name":"Back yard","sort":"yard","order":7,"length":0,"height":0,"door":0}]}`))
		case "/devices":
			w.Write([]byte(`[{"id":"a","name":"Mirre's phone","role":"lead","joined":1767000000000,"off":0,"at":1768377500000,"holds":0,"online":true,"me":true,"opens":[]},
				{"id":"b","name":"bay 4 phone","role":"crew","joined":1767100000000,"off":0,"at":1768370000000,"holds":3,"online":false,"me":false,"opens":[{"name":"Mirre","from":1768366800000,"until":1768367100000}]},
				{"id":"c","name":"the old one","role":"crew","joined":1767100000000,"off":1768000000000,"at":1767900000000,"holds":0,"online":false,"me":false,"opens":[]}]`))
		case "/pin":
			w.Write([]byte(`[{"person":"person-M","name":"Mirre","has":true,"set":1767000000000,"over":false}]`))
		case "/grants":
			w.Write([]byte(`[{"id":"k","sort":"logger","name":"Bay 4","all":false,"made":1767000000000,"used":1768377000000},{"id":"l","sort":"calendar","name":"","all":true,"made":1767000000000,"used":0}]`))
		case "/origins":
			w.Write([]byte(`{"here":"https://shop.local:8443","left":[{"origin":"https://192.168.1.20:8443","why":"This machine no longer has 192.168.1.20. Let the router give it back until these phones have come.","phones":[{"name":"bay 4 phone","at":1768370000000,"holds":3}]}]}`))
		case "/drops":
			if q := r.URL.Query(); q.Get("side_mm") != "12000" || q.Get("roll_mm") != "1370" {
				http.Error(w, "say side_mm and roll_mm", http.StatusBadRequest)
				return
			}
			w.Write([]byte(`{"drops":10}`))
		case "/find":
			switch r.URL.Query().Get("q") {
			case "nobody":
				w.Write([]byte(`{"jobs":[],"more":0}`))
			case " ":
				http.Error(w, "type a plate", http.StatusBadRequest)
			default:
				w.Write([]byte(`{"jobs":[{"job":"job-V2","label":"V2","plate":"TA MK 112","customer":"Northgate Plumbing","vehicle":"high-roof van","began":1768200000000,"closed":0},
					{"job":"job-old","label":"V7","plate":"TA MK 110","customer":"Northgate Plumbing and Heating of Tarnbrook","vehicle":"small van","began":1705000000000,"closed":1705400000000}],"more":12}`))
			}
		case "/may/move":
			w.Write([]byte(`{"sized":false,"places":{"place-2":{"may":"no","say":"V5 will sweat: about ⟨c:-2600⟩, dew point ⟨c:16100⟩.","do":"Flame heater off, flush from ⟨t:1768366800000⟩, then vented heat.","until":"About ⟨t:1768431600000⟩, from ⟨t:1768424400000⟩, open-ended."}}}`))
		case "/removal/job-trials":
			w.Write([]byte(`{"says":["Estimate from 2 strips: ⟨h:4000000⟩ to ⟨h:9333333⟩ by hand a square metre.","Adhesive left: 10 % to 40 %.","Left side front, hood: cast, up to 5 years, ⟨c:45000⟩ to ⟨c:60000⟩. Pull at 130 to 160 degrees, 1000 to 2000 mm a minute. Comes in sheets, little adhesive."]}`))
		case "/air/place-1", "/air/place-2", "/air/place-3", "/air/place-4", "/air/place-5", "/air/place-6":
			http.ServeFile(w, r, "testdata/fake/air.json")
		case "/links/job-V5":
			if r.Method == http.MethodPost {
				w.Write([]byte(`{"url":"https://shop.local:8443/owner/018f3c1e-7d2a-7b40-9c11-5a0f2b6d9e31#4fYt0zqKQ2eXn1r9LwBv3A","until":1769600000000,"near":true,"svg":"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 8 8'><path d='M0 0h8v8H0z' fill='#fff'/><path d='M1 1h2v2H1zM5 1h2v2H5zM1 5h2v2H1z'/></svg>"}`))
				return
			}
			w.Write([]byte(`[{"to":"Northgate Plumbing, Pat Rowe","until":1769600000000,"at":1768366800000,"by":"Mara","sum":"a","taken":false,"over":false},
				{"to":"the driver","until":1769000000000,"at":1768356800000,"by":"Dee","sum":"b","taken":true,"over":true}]`))
		default:
			if of, what, ok := strings.Cut(strings.TrimPrefix(r.URL.Path, "/owner/"), "/"); strings.HasPrefix(r.URL.Path, "/owner/") {
				ownersFake(w, r, of, what, ok)
				return
			}
			files.ServeHTTP(w, r)
		}
	}))
	t.Cleanup(s.Close)
	return s.URL
}

// browser is a window of its own in the one Chromium of these tests: a store
// and a cache that no other test sees, gone with the test.
func browser(t *testing.T) context.Context {
	t.Helper()
	path := browsertest.Chromium(t)
	window, err := chromium(path)
	if err != nil {
		t.Fatalf("start chromium: %v", err)
	}
	ctx, cancel := chromedp.NewContext(window, chromedp.WithNewBrowserContext())
	t.Cleanup(func() {
		end, c := context.WithTimeout(ctx, browsertest.Patience)
		defer c()
		_ = chromedp.Cancel(end)
		cancel()
	})
	// Two windows may be open at a time; each takes itself for the one in front.
	front := chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		return t.Call(ctx, "Emulation.setFocusEmulationEnabled", map[string]any{"enabled": true}, nil)
	})
	if err := chromedp.Do(ctx, front, chromedp.EmulateViewport(390, 844)); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: watch + browsertest.Whole}); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// running is Chromium once a test has started it, for TestMain to end.
var running struct {
	sync.Mutex
	ctx  context.Context
	stop func()
}

func chromium(path string) (context.Context, error) {
	running.Lock()
	defer running.Unlock()
	if running.ctx != nil {
		return running.ctx, nil
	}
	dir, err := os.MkdirTemp("", "bayhold-screens-")
	if err != nil {
		return nil, err
	}
	alloc, stop := chromedp.NewExecAllocator(context.Background(),
		chromedp.ExecPath(path), chromedp.UserDataDir(dir), chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck,
		chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.Env("HOME="+dir, "TMPDIR="+dir),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-dev-shm-usage", true), chromedp.Flag("force-color-profile", "srgb"), chromedp.WindowSize(390, 844))
	ctx, cancel := chromedp.NewContext(alloc)
	running.stop = func() {
		end, c := context.WithTimeout(ctx, 10*time.Second)
		defer c()
		_ = chromedp.Cancel(end)
		cancel()
		stop()
		os.RemoveAll(dir)
	}
	if err := chromedp.Do(ctx); err != nil {
		running.stop()
		return nil, err
	}
	running.ctx = ctx
	return ctx, nil
}

func TestMain(m *testing.M) {
	code := m.Run()
	if running.ctx != nil {
		running.stop()
	}
	os.Exit(code)
}

const watch = `addEventListener('securitypolicyviolation', (e) => (globalThis.wrong ??= []).push('policy refused ' + e.violatedDirective + ' ' + e.blockedURI));
addEventListener('error', (e) => (globalThis.wrong ??= []).push('error: ' + e.message));
addEventListener('unhandledrejection', (e) => (globalThis.wrong ??= []).push('error: ' + e.reason));`

// id finds what has the name; what stands in a sheet, once the sheet is open: it
// is drawn a task before that.
func id(s string) string {
	return fmt.Sprintf(`document.querySelector('[data-testid=%q]:not(dialog:not([open]) *)')`, s)
}

// until asks a page for an expression until it is true.
func until(ctx context.Context, expr string) error {
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(4 * time.Millisecond) {
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+expr+")"))
		if err == nil && ok {
			return nil
		}
	}
	return errors.New("never true: " + expr)
}

// open opens a screen as somebody does who was never here before. The picture
// in between is a page of the same origin without a script, where what the last
// screen kept is thrown away.
func open(ctx context.Context, base string, s screen, light string) error {
	if err := chromedp.Do(ctx, chromedp.Navigate(base+"/app/icon.svg")); err != nil {
		return err
	}
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[chromedp.Void](fmt.Sprintf("localStorage.clear(); localStorage.setItem('daynight', %q)", light))); err != nil {
		return err
	}
	at := base + "/?" + s.query + s.hash
	if strings.HasPrefix(s.hash, "/") {
		at = base + s.hash // no screen of the app: the owner's page
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(at)); err != nil {
		return err
	}
	for _, tap := range s.taps {
		if err := until(ctx, fmt.Sprintf("((e) => e && (e.click(), true))(%s)", id(tap))); err != nil {
			return err
		}
	}
	return drawn(ctx, s)
}

// drawn waits for what a screen is opened for, until it is drawn to its end, and until
// the page is out of reach behind a sheet, if one is open.
func drawn(ctx context.Context, s screen) error {
	if err := until(ctx, id(s.want)); err != nil || strings.HasPrefix(s.hash, "/") {
		return err
	}
	_, err := chromedp.Run(ctx, chromedp.Evaluate[chromedp.Void](`import('/app/views/bits.js').then(async ({ whole }) => {
		while (!whole() || document.getElementById('page').inert !== document.getElementById('sheet').open) await new Promise((done) => setTimeout(done, 4));
	})`, chromedp.EvalAwaitPromise))
	return err
}

// eval answers a page expression, waiting for a promise, as a Go value.
func eval[T any](t *testing.T, ctx context.Context, expr string) T {
	t.Helper()
	raw, err := chromedp.Run(ctx, chromedp.Evaluate[[]byte](expr, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	var v T
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatalf("%s: %v", raw, err)
	}
	return v
}

// js is a Go value as it is written in JavaScript.
func js(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(b)
}
