package server

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/andybalholm/brotli"
)

var page = "<!doctype html><title>Bayhold</title>" + strings.Repeat("<p>a bay</p>", 50)

var appFiles = fstest.MapFS{
	"index.html":    {Data: []byte(page)},
	"core.wasm":     {Data: bytes.Repeat([]byte("\x00asm core "), 100)},
	"core.wasm.br":  {Data: []byte("packed by the build")},
	"icons/192.png": {Data: []byte("\x89PNG\r\n\x1a\n")},
	"views/home.js": {Data: []byte("export const home = 1\n")},
	"sw.js":         {Data: []byte("const BUNDLE = 'template'")},
}

func testApp(t *testing.T) *app {
	t.Helper()
	a, err := newApp(appFiles, []byte("const BUNDLE = 'filled in'"), "bundle-hash")
	if err != nil {
		t.Fatal(err)
	}
	<-a.ready
	return a
}

func TestAppServesItsFilesAndNothingElse(t *testing.T) {
	h := guarded(testApp(t))
	for _, c := range []struct {
		path, kind, begins string
		code               int
	}{
		{"/", "text/html; charset=utf-8", "<!doctype", 200},
		{"/app/index.html", "text/html; charset=utf-8", "<!doctype", 200},
		{"/app/core.wasm", "application/wasm", "\x00asm", 200},
		{"/app/icons/192.png", "image/png", "\x89PNG", 200},
		{"/app/views/home.js", "text/javascript; charset=utf-8", "export", 200},
		{"/sw.js", "text/javascript; charset=utf-8", "const BUNDLE = 'filled in'", 200},
		// A missing file is a 404 and never the page: a page in place of a
		// script makes a service worker keep it for good.
		{"/app/missing.js", "", "", 404},
		{"/app/sw.js", "", "", 404}, // the template, not the worker
		{"/app/core.wasm.br", "", "", 404},
		{"/app/", "", "", 404},
		{"/app/views", "", "", 404},
		{"/app/../server/app.go", "", "", 404},
		{"/index.html", "", "", 404},
	} {
		w := httptest.NewRecorder()
		r := httptest.NewRequest("GET", "/", nil)
		r.URL.Path = c.path
		h.ServeHTTP(w, r)
		if w.Code != c.code {
			t.Errorf("%s: status %d, want %d", c.path, w.Code, c.code)
			continue
		}
		if c.code == 404 && strings.Contains(w.Body.String(), "<title>") {
			t.Errorf("%s: a missing file answers with the page", c.path)
		}
		if got := w.Header().Get("Content-Type"); c.code == 200 && got != c.kind {
			t.Errorf("%s: Content-Type %q, want %q", c.path, got, c.kind)
		}
		if !strings.HasPrefix(w.Body.String(), c.begins) {
			t.Errorf("%s: body begins %.20q", c.path, w.Body.String())
		}
		for name, want := range map[string]string{
			"X-Content-Type-Options":     "nosniff",
			"Referrer-Policy":            "no-referrer",
			"Cross-Origin-Opener-Policy": "same-origin",
		} {
			if got := w.Header().Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", c.path, name, got, want)
			}
		}
		csp := w.Header().Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "script-src 'self' 'wasm-unsafe-eval'", "frame-ancestors 'none'", "require-trusted-types-for 'script'"} {
			if !strings.Contains(csp, want) {
				t.Errorf("%s: the policy lacks %s", c.path, want)
			}
		}
		if strings.Contains(csp, "unsafe-inline") || strings.Contains(csp, "'unsafe-eval'") {
			t.Errorf("%s: the policy lets scripts in: %s", c.path, csp)
		}
	}
}

// The policy lets in what stands within the page, and nothing else: the sums in it
// are those of the page that is served (CSP Level 3, 6.7.2.3: SHA-256 over the
// element's text, base64).
func TestPolicyNamesWhatStandsWithinThePage(t *testing.T) {
	a, err := embedded()
	if err != nil {
		t.Fatal(err)
	}
	page := string(a.files["/"].raw)
	want := map[string]int{"script": 0, "style": 0}
	for tag := range want {
		directive := ""
		for d := range strings.SplitSeq(contentPolicy, ";") {
			if strings.HasPrefix(strings.TrimSpace(d), tag+"-src ") {
				directive = d
			}
		}
		for part := range strings.SplitSeq(page, "<"+tag+">") {
			text, _, ends := strings.Cut(part, "</"+tag+">")
			if !ends || strings.HasPrefix(part, "<!doctype") {
				continue
			}
			want[tag]++
			sum := sha256.Sum256([]byte(text))
			if name := "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"; !strings.Contains(directive, name) {
				t.Errorf("the policy lacks %s of a %s that begins %.30q", name, tag, text)
			}
		}
		if got := strings.Count(directive, "'sha256-"); got != want[tag] {
			t.Errorf("the policy names %d of %s, the page has %d", got, tag, want[tag])
		}
	}
}

// What the build compressed goes out as it is.
func TestAppServesTheBuildsCompressedForm(t *testing.T) {
	w := httptest.NewRecorder()
	r := httptest.NewRequest("GET", "/app/core.wasm", nil)
	r.Header.Set("Accept-Encoding", "br")
	testApp(t).ServeHTTP(w, r)
	if w.Header().Get("Content-Encoding") != "br" || w.Body.String() != "packed by the build" {
		t.Errorf("%q, %q: want the build's bytes as br", w.Header().Get("Content-Encoding"), w.Body.String())
	}
}

func TestAppCompressesAndRevalidates(t *testing.T) {
	h := testApp(t)
	get := func(coding, tag string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		r := httptest.NewRequest("GET", "/app/index.html", nil)
		r.Header.Set("Accept-Encoding", coding)
		r.Header.Set("If-None-Match", tag)
		h.ServeHTTP(w, r)
		return w
	}
	unpack := map[string]func(io.Reader) io.Reader{
		"":     func(r io.Reader) io.Reader { return r },
		"gzip": func(r io.Reader) io.Reader { z, _ := gzip.NewReader(r); return z },
		"br":   func(r io.Reader) io.Reader { return brotli.NewReader(r) },
	}
	tags := map[string]bool{}
	for _, c := range []struct{ accept, coding string }{
		{"", ""}, {"gzip, deflate, br, zstd", "br"}, {"gzip", "gzip"},
		{"br;q=0, gzip;q=0.5", "gzip"}, {"BR", "br"}, {"identity", ""}, {"brx", ""},
	} {
		w := get(c.accept, "")
		if got := w.Header().Get("Content-Encoding"); got != c.coding {
			t.Errorf("Accept-Encoding %q: coding %q, want %q", c.accept, got, c.coding)
			continue
		}
		b, err := io.ReadAll(unpack[c.coding](w.Body))
		if err != nil || string(b) != page {
			t.Errorf("Accept-Encoding %q: the page does not come back: %v", c.accept, err)
		}
		tag := w.Header().Get("ETag")
		tags[tag] = true
		if got := get(c.accept, tag).Code; got != http.StatusNotModified {
			t.Errorf("Accept-Encoding %q: %d for the same tag, want 304", c.accept, got)
		}
		if got := get(c.accept, `"another"`).Code; got != http.StatusOK {
			t.Errorf("Accept-Encoding %q: %d for another tag, want 200", c.accept, got)
		}
	}
	if len(tags) != 3 {
		t.Errorf("%d validators for three codings (RFC 9110 section 8.8.3.3 wants three)", len(tags))
	}
	if cc := get("", "").Header().Get("Cache-Control"); cc != "no-cache" {
		t.Errorf("Cache-Control %q: an old page must not outlive a new core", cc)
	}
}
