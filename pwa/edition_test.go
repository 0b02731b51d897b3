package pwa_test

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"testing"

	"bayhold/server/browsertest"
)

// edition stands between a phone and the shop and serves the app in another
// edition each time it is told to: the number stands in the page, in main.js and in
// the bundle's name. It can keep the socket from the shop while the app's files
// still come, and break off a file.
type edition struct {
	mu     sync.Mutex
	number int
	deaf   bool
	broken string
}

func (e *edition) set(how func(*edition)) {
	e.mu.Lock()
	defer e.mu.Unlock()
	how(e)
}

func (e *edition) get() (number int, deaf bool, broken string) {
	e.mu.Lock()
	defer e.mu.Unlock()
	return e.number, e.deaf, e.broken
}

func newEdition(t *testing.T, s *shop) (*edition, string) {
	e := &edition{number: 1}
	proxy := &httputil.ReverseProxy{
		Rewrite: func(r *httputil.ProxyRequest) {
			r.SetURL(&url.URL{Scheme: "http", Host: s.addr})
			r.Out.Host = r.In.Host
			r.Out.Header.Del("Accept-Encoding")
			r.Out.Header.Del("If-None-Match")
		},
		ModifyResponse: func(r *http.Response) error {
			n, _, _ := e.get()
			switch r.Request.URL.Path {
			case "/sw.js", "/app/main.js", "/", "/app/index.html":
			default:
				return nil
			}
			text, err := io.ReadAll(r.Body)
			if err != nil {
				return err
			}
			switch r.Request.URL.Path {
			case "/sw.js":
				text = bytes.Replace(text, []byte(`{"hash":"`), fmt.Appendf(nil, `{"hash":"edition-%d-`, n), 1)
			case "/app/main.js":
				text = fmt.Appendf(text, "\nglobalThis.edition = %d;\n", n)
			default:
				text = bytes.Replace(text, []byte("<title>"), fmt.Appendf(nil, "<meta name=\"edition\" content=\"%d\">\n<title>", n), 1)
			}
			r.Body = io.NopCloser(bytes.NewReader(text))
			r.Header.Set("Content-Length", strconv.Itoa(len(text)))
			r.Header.Del("ETag")
			return nil
		},
	}
	front := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_, deaf, broken := e.get()
		switch {
		case deaf && r.URL.Path == "/ws":
			http.Error(w, "no socket for now", http.StatusServiceUnavailable)
		case r.URL.Path == broken:
			panic(http.ErrAbortHandler)
		default:
			proxy.ServeHTTP(w, r)
		}
	}))
	t.Cleanup(front.Close)
	return e, strings.TrimPrefix(front.URL, "http://")
}

// runs waits until the page and its scripts are of this edition, and its door is
// there.
func runs(p *browsertest.Phone, number int) {
	p.Until(fmt.Sprint("edition ", number), fmt.Sprintf(`globalThis.edition === %d && document.querySelector('meta[name=edition]').content === '%[1]d'`, number))
	takeDoor(p)
}

// looks has the browser look for a new version now, as it does by itself when
// a page is opened.
func looks(p *browsertest.Phone) {
	browsertest.JS[bool](p, `navigator.serviceWorker.getRegistration().then(r => r.update()).then(() => true, () => false)`)
}

// start asks for the new version, as a quiet page does by itself.
func start(p *browsertest.Phone) bool {
	return browsertest.JS[bool](p, `import('/app/main.js').then(m => m.edition.start())`)
}

// A new version comes while lines wait and a sheet is open with half a sentence
// in it. It says so, waits for both tabs, starts in the first quiet moment, and
// loses nothing.
func TestBrowserNewVersionWaits(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	e, addr := newEdition(t, s)
	p := browsertest.New(t, "A", addr)
	own(p)
	id := begin(t, p)
	p.ReadyOffline()
	p.Reload()
	runs(p, 1)
	p.Until("the page to be the bundle's", `navigator.serviceWorker.controller`)
	// https://github.com/WICG/service-worker-static-routing-api, 'Resource Timing'
	if from := browsertest.JS[string](p, `performance.getEntriesByType('navigation')[0].workerFinalSourceType ?? 'cache'`); from != "cache" {
		t.Errorf("the page came by %q, so the browser started the service worker for it", from)
	}
	online(p, true)
	e.set(func(e *edition) { e.deaf = true })
	p.Wire.Cut()
	p.Wire.Restore()
	online(p, false)
	lookAt(p, id)
	note(t, p, "before")
	p.Open("/#/job/" + id)
	browsertest.JS[bool](p, `(window.told = [], new MutationObserver(() => told.push(document.getElementById('said').textContent))
		.observe(document.getElementById('said'), {childList: true}), true)`)
	p.Tap("note-add")
	p.Type("note-text", "half a sentence")

	e.set(func(e *edition) { e.number = 2 })
	looks(p)
	p.Until("the new version on the phone", `navigator.serviceWorker.getRegistration().then(r => r.waiting)`)
	p.Until("the page to say so", `told.some(s => s.startsWith('New version ready'))`)
	if start(p) {
		t.Fatal("the new version started over an open sheet")
	}
	tab := p.Tab()
	own(tab)
	waits(tab, 1)
	tab.Until("only the first tab to be busy", `import('/app/main.js').then(m => m.edition.waiting() && navigator.locks.query())
		.then(q => q && q.held.filter(l => l.name === 'bayhold-busy').length === 1)`)
	if start(tab) {
		t.Fatal("a quiet tab started the new version although another was busy")
	}
	if got := browsertest.JS[string](p, `document.querySelector('[data-testid=note-text]').value + ' ' + globalThis.edition`); got != "half a sentence 1" {
		t.Fatalf("the busy page has %q", got)
	}

	p.Tap("note-save")
	p.Until("the line to be past its undo", `!document.querySelector('[data-testid=undo]') && !document.querySelector('dialog[open]')`)
	runs(p, 2) // by itself
	runs(tab, 2)
	waits(p, 2)
	if hash := browsertest.JS[string](p, "location.hash"); hash != "#/job/"+id {
		t.Errorf("the page came back at %s", hash)
	}
	lookAt(p, id)
	shows(p, "half a sentence", "here")
	e.set(func(e *edition) { e.deaf = false })
	each(t, p, "before", "half a sentence")
	waits(p, 0)
}

// A new version that does not come whole is none: the old one goes on, offline
// too, until all of it is there.
func TestBrowserNewVersionBreaksOff(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	e, addr := newEdition(t, s)
	p := browsertest.New(t, "A", addr)
	own(p)
	id := begin(t, p)
	p.ReadyOffline()
	e.set(func(e *edition) { e.number, e.broken = 2, "/app/core.wasm" })
	looks(p)
	p.Until("the new version to be given up", `navigator.serviceWorker.getRegistration().then(r => !r.installing && !r.waiting && r.active)`)
	p.Wire.Cut()
	p.Reload()
	runs(p, 1)
	lookAt(p, id)
	note(t, p, "still the old one")
	waits(p, 1)
	p.Wire.Restore()
	e.set(func(e *edition) { e.broken = "" })
	looks(p)
	p.Until("the new version to start", `globalThis.edition === 2 || import('/app/main.js').then(m => m.edition.start())`)
	runs(p, 2)
	lookAt(p, id)
	each(t, p, "still the old one")
}
