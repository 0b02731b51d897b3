package server

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"path"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/andybalholm/brotli"

	"bayhold/pwa"
)

// contentTypes are the types of the app's files. A table of our own: the
// operating system's differs from machine to machine, and a page served with
// nosniff has to be right.
var contentTypes = map[string]string{
	".css":         "text/css; charset=utf-8",
	".html":        "text/html; charset=utf-8",
	".ico":         "image/x-icon",
	".js":          "text/javascript; charset=utf-8",
	".json":        "application/json",
	".mjs":         "text/javascript; charset=utf-8",
	".png":         "image/png",
	".svg":         "image/svg+xml",
	".txt":         "text/plain; charset=utf-8",
	".wasm":        "application/wasm",
	".webmanifest": "application/manifest+json",
	".woff2":       "font/woff2",
}

// asset is one file of the app with its compressed forms. What the build did
// not make (NAME.br) is made beside the running server; until then, or where it
// would not be smaller, the plain bytes go.
type asset struct {
	kind string // content type
	hash string // SHA-256 of the plain bytes, hex
	raw  []byte
	gzip atomic.Pointer[[]byte]
	br   atomic.Pointer[[]byte]
}

// app serves the embedded app: the page at /, its files at /app/..., the
// service worker at /sw.js, where its scope is the whole origin. A missing
// file is a 404, never the page.
type app struct {
	files  map[string]*asset // by URL path
	bundle string
	ready  chan struct{} // closed when every compressed form is made
}

// embedded is the app in this binary: read and compressed once, however many
// servers one process runs.
var embedded = sync.OnceValues(func() (*app, error) { return newApp(pwa.Files, pwa.ServiceWorker(), pwa.Bundle) })

// newApp reads the app from files, whose root holds index.html; worker is the
// text of its service worker.
func newApp(files fs.FS, worker []byte, bundle string) (*app, error) {
	a := &app{files: map[string]*asset{}, bundle: bundle, ready: make(chan struct{})}
	err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || name == "sw.js" || path.Ext(name) == ".br" {
			return err
		}
		raw, err := fs.ReadFile(files, name)
		if err != nil {
			return err
		}
		f := newAsset(name, raw)
		if br, err := fs.ReadFile(files, name+".br"); err == nil {
			f.br.Store(&br)
		}
		a.files["/app/"+name] = f
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("reading the app's files: %w", err)
	}
	if page := a.files["/app/index.html"]; page != nil {
		a.files["/"] = page
	}
	a.files["/sw.js"] = newAsset("sw.js", worker)
	go a.compress()
	return a, nil
}

func newAsset(name string, raw []byte) *asset {
	kind := contentTypes[path.Ext(name)]
	if kind == "" {
		kind = "text/plain; charset=utf-8" // a licence file; inert under nosniff
	}
	sum := sha256.Sum256(raw)
	return &asset{kind: kind, hash: hex.EncodeToString(sum[:16]), raw: raw}
}

// quick is how brotli compresses what the build did not, the few small files that
// are no script or style: a window of 128 KB is more than they have, and a better
// level would take ten times the memory for a hundredth less.
var quick = brotli.WriterOptions{Quality: 6, LGWin: 17}

// compress makes the compressed forms.
func (a *app) compress() {
	defer close(a.ready)
	for _, f := range a.files {
		packAsset(&f.gzip, f, func(w io.Writer) io.WriteCloser { return gzip.NewWriter(w) })
	}
	for _, f := range a.files {
		packAsset(&f.br, f, func(w io.Writer) io.WriteCloser { return brotli.NewWriterOptions(w, quick) })
	}
}

// packAsset makes one form, unless there is one or it would not be smaller. The
// page stands under two paths and is packed once.
func packAsset(form *atomic.Pointer[[]byte], f *asset, packer func(io.Writer) io.WriteCloser) {
	if !compressible(f.kind) || form.Load() != nil {
		return
	}
	var b bytes.Buffer
	w := packer(&b)
	w.Write(f.raw) // into memory: it does not fail
	w.Close()
	if out := b.Bytes(); len(out) < len(f.raw) {
		form.Store(&out)
	}
}

func compressible(kind string) bool {
	return kind != "image/png" && kind != "font/woff2"
}

func (a *app) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	f := a.files[r.URL.Path]
	if f == nil {
		http.NotFound(w, r)
		return
	}
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, "the app's files can only be read", http.StatusMethodNotAllowed)
		return
	}
	body, coding := f.raw, ""
	if br := f.br.Load(); br != nil && accepts(r, "br") {
		body, coding = *br, "br"
	} else if gz := f.gzip.Load(); gz != nil && accepts(r, "gzip") {
		body, coding = *gz, "gzip"
	}
	h := w.Header()
	// Each coding is a representation of its own and has its own validator
	// (RFC 9110 section 8.8.3.3).
	etag := `"` + f.hash + coding + `"`
	h.Set("ETag", etag)
	h.Set("Vary", "Accept-Encoding")
	h.Set("Cache-Control", "no-cache") // kept, but asked for again each time
	if sameTag(r.Header.Get("If-None-Match"), etag) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", f.kind)
	if coding != "" {
		h.Set("Content-Encoding", coding)
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	if r.Method == http.MethodGet {
		w.Write(body)
	}
}

// accepts says whether the request takes a content coding (RFC 9110 section
// 12.5.3). A coding with q=0 is refused; '*' is not looked at, because a
// client that sends only '*' loses nothing by plain bytes.
func accepts(r *http.Request, coding string) bool {
	for part := range strings.SplitSeq(r.Header.Get("Accept-Encoding"), ",") {
		name, params, _ := strings.Cut(strings.TrimSpace(part), ";")
		if !strings.EqualFold(strings.TrimSpace(name), coding) {
			continue
		}
		q, ok := strings.CutPrefix(strings.ReplaceAll(params, " ", ""), "q=")
		v, err := strconv.ParseFloat(q, 64)
		return !ok || err == nil && v > 0
	}
	return false
}

func sameTag(header, etag string) bool {
	for part := range strings.SplitSeq(header, ",") {
		if t := strings.TrimPrefix(strings.TrimSpace(part), "W/"); t == etag || t == "*" {
			return true
		}
	}
	return false
}

// contentPolicy is the content security policy of every answer: nothing but the
// app's own files and what stands within its page, each by its sum, its core as
// WebAssembly, and pictures and sounds it made itself. No text becomes markup or a
// script but by lit-html, which makes markup of the app's own templates alone, and
// pwa/app/script.js.
var contentPolicy = "default-src 'none'; " +
	strings.Join(append([]string{"script-src 'self' 'wasm-unsafe-eval'"}, pwa.Within.Scripts...), " ") + "; " +
	strings.Join(append([]string{"style-src 'self'"}, pwa.Within.Styles...), " ") + "; " +
	"img-src 'self' blob: data:; media-src blob:; connect-src 'self'; worker-src 'self'; manifest-src 'self'; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'; " +
	"require-trusted-types-for 'script'; trusted-types lit-html bayhold 'allow-duplicates'"

// guarded puts the security headers on every answer and refuses writes that
// another site's page asks a visitor's browser to make.
func guarded(next http.Handler) http.Handler {
	inner := http.NewCrossOriginProtection().Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", contentPolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		inner.ServeHTTP(w, r)
	})
}
