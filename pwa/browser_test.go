package pwa_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"bayhold/pwa"
)

// policy is the one that the server sends: no inline script or style, no eval.
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; media-src blob:; " +
	"connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// page serves the app with a messenger that hands out invented views.
func serve(t *testing.T) string {
	t.Helper()
	files := http.StripPrefix("/app/", http.FileServerFS(pwa.Files))
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", policy)
		switch r.URL.Path {
		case "/":
			http.ServeFileFS(w, r, pwa.Files, "index.html")
		case "/app/messenger.js":
			http.ServeFile(w, r, "testdata/fake/messenger.js")
		case "/app/moments.js", "/app/samples.js":
			http.ServeFile(w, r, "testdata/fake/"+path.Base(r.URL.Path))
		case "/lead":
			http.ServeFile(w, r, "testdata/fake/lead.json")
		case "/may/move":
			w.Write([]byte(`{"places":{"place-2":{"may":"no","say":"V5 will sweat: about ⟨c:-2600⟩, dew point ⟨c:16100⟩.","do":"Flame heater off, flush from ⟨t:1768366800000⟩, then vented heat.","until":"About ⟨t:1768431600000⟩, from ⟨t:1768424400000⟩, open-ended."}}}`))
		case "/air/place-5":
			http.ServeFile(w, r, "testdata/fake/air.json")
		default:
			files.ServeHTTP(w, r)
		}
	}))
	t.Cleanup(s.Close)
	return s.URL
}

// browser starts Chromium; without one the test is skipped, except in CI.
func browser(t *testing.T) context.Context {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("no chromium: apt-get install --no-install-recommends chromium")
		}
		t.Skip("no chromium")
	}
	alloc, stop := chromedp.NewExecAllocator(context.Background(),
		chromedp.ExecPath(path), chromedp.UserDataDir(t.TempDir()), chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck,
		chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.Env("TMPDIR="+t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-dev-shm-usage", true), chromedp.Flag("force-color-profile", "srgb"), chromedp.WindowSize(390, 844))
	ctx, cancel := chromedp.NewContext(alloc)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("start chromium: %v", err)
	}
	if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: watch}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		end, c := context.WithTimeout(ctx, 10*time.Second)
		defer c()
		_ = chromedp.Cancel(end)
		cancel()
		stop()
	})
	return ctx
}

const watch = `addEventListener('securitypolicyviolation', (e) => (globalThis.wrong ??= []).push('policy refused ' + e.violatedDirective + ' ' + e.blockedURI));
addEventListener('error', (e) => (globalThis.wrong ??= []).push('error: ' + e.message));
addEventListener('unhandledrejection', (e) => (globalThis.wrong ??= []).push('error: ' + e.reason));`

func id(s string) string { return fmt.Sprintf(`document.querySelector('[data-testid=%q]')`, s) }

// until polls a page expression until it is true.
func until(ctx context.Context, expr string) error {
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+expr+")"))
		if err == nil && ok {
			return nil
		}
	}
	return errors.New("never true: " + expr)
}

func open(ctx context.Context, base string, s screen, light string) error {
	url := base + "/?" + s.query + s.hash
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank"), chromedp.Navigate(base+"/app/icon.svg")); err != nil {
		return err
	}
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[chromedp.Void](fmt.Sprintf("localStorage.clear(); localStorage.setItem('daynight', %q)", light))); err != nil {
		return err
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(url)); err != nil {
		return err
	}
	for _, tap := range s.taps {
		if err := until(ctx, id(tap)); err != nil {
			return err
		}
		if _, err := chromedp.Run(ctx, chromedp.Evaluate[chromedp.Void](id(tap)+".click()")); err != nil {
			return err
		}
	}
	return until(ctx, id(s.want))
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
