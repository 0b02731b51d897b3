package pwa_test

import (
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"bayhold/server/browsertest"
)

// picture has the page make a photo of noise, which does not compress, and
// give it to the job; it answers the photo's name.
func picture(p *browsertest.Phone, width int) string {
	return browsertest.JS[string](p, `(async () => {
		const canvas = new OffscreenCanvas(`+strconv.Itoa(width)+`, 1200), context = canvas.getContext('2d');
		const image = context.createImageData(canvas.width, canvas.height);
		let x = 1;
		for (let i = 0; i < image.data.length; i++) { x = Math.imul(x, 1103515245) + 12345 | 0; image.data[i] = i % 4 === 3 ? 255 : x >>> 24; }
		context.putImageData(image, 0, 0);
		const blob = await (await canvas.convertToBlob({type: 'image/jpeg', quality: 1})).arrayBuffer();
		const answer = await shop.ask('photo', {job, blob});
		return answer.sha ?? answer.refused;
	})()`)
}

// pieces stands between a phone and the shop and is asked about each piece of
// a photo before it passes: false breaks it off.
type pieces struct {
	mu      sync.Mutex
	offsets []string
	pass    func(n int) bool
}

func (c *pieces) seen() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return append([]string(nil), c.offsets...)
}

func newPieces(t *testing.T, s *shop, pass func(n int) bool) (*pieces, string) {
	c := &pieces{pass: pass}
	proxy := &httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(&url.URL{Scheme: "http", Host: s.addr})
		r.Out.Host = r.In.Host
	}}
	front := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodPatch {
			c.mu.Lock()
			c.offsets = append(c.offsets, r.Header.Get("Upload-Offset"))
			n := len(c.offsets)
			c.mu.Unlock()
			if !c.pass(n) {
				panic(http.ErrAbortHandler)
			}
		}
		proxy.ServeHTTP(w, r)
	}))
	t.Cleanup(front.Close)
	return c, strings.TrimPrefix(front.URL, "http://")
}

// within waits for a channel as long as a phone waits for its page.
func within(t *testing.T, c <-chan bool, what string) {
	t.Helper()
	select {
	case <-c:
	case <-time.After(browsertest.Patience):
		t.Fatalf("%s never came", what)
	}
}

// A photo goes in pieces; lines pass it while a piece is under way. The line
// is cut in its third piece, the server stopped and the browser killed: it goes
// on behind the second piece, and the same photo again sends nothing.
func TestBrowserPhotoGoesOn(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	first, third, free := make(chan bool), make(chan bool), make(chan bool)
	c, addr := newPieces(t, s, func(n int) bool {
		switch n {
		case 1:
			close(first)
			<-free // a piece that takes long
		case 3:
			close(third)
			return false
		}
		return true
	})
	p := browsertest.New(t, "A", addr)
	own(p)
	id := begin(t, p)
	p.ReadyOffline()
	sha := picture(p, 2000)
	within(t, first, "the first piece")
	note(t, p, "passes the photo")
	each(t, p, "passes the photo")
	close(free)
	within(t, third, "the third piece")
	p.Wire.Cut()
	s.stop()
	if got := browsertest.JS[int](p, `shop.ask('status').then(s => s.photosWaiting)`); got != 1 {
		t.Errorf("%d photos wait", got)
	}
	p.Kill()
	s.start()
	p.Wire.Restore()
	p.Start()
	own(p)
	lookAt(p, id)
	p.Until("the photo at the shop", `fetch('/photos/`+sha+`', {method: 'HEAD'}).then(r => r.status === 200)`)
	p.Until("no photo only here", `shop.ask('status').then(s => s.photosWaiting === 0)`)
	sent := c.seen()
	if len(sent) < 5 || sent[3] != "524288" {
		t.Errorf("pieces began at %v; behind the break the first should begin at 524288", sent)
	}
	if again := picture(p, 2000); again != sha {
		t.Errorf("the same photo is %s, was %s", again, sha)
	}
	waits(p, 0)
	if now := c.seen(); len(now) != len(sent) {
		t.Errorf("the same photo again sent %v", now[len(sent):])
	}
}
