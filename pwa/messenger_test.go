package pwa_test

import (
	"slices"
	"testing"

	"bayhold/server/browsertest"
)

// What a worker says before the page listens is heard all the same, once: the
// page's script comes long after the worker that it begins with, which may have
// failed by then.
func TestBrowserEarlyFaultIsHeard(t *testing.T) {
	t.Parallel()
	p := browsertest.New(t, "A", newShop(t).addr)
	p.Open("/")
	heard := browsertest.JS[[]string](p, `import('/app/main.js').then((m) => {
		const worker = new EventTarget(), heard = [];
		worker.postMessage = () => {};
		globalThis.begun = { worker, listen() {
			worker.dispatchEvent(new MessageEvent('message', { data: { event: 'fault', text: 'no store' } }));
			worker.dispatchEvent(new ErrorEvent('error', { message: 'no script' }));
		} };
		const shop = m.connect();
		shop.on('ended', (f) => heard.push('ended'));
		shop.on('fault', (f) => heard.push(f.text));
		shop.on('fault', (f) => heard.push('twice ' + f.text));
		worker.dispatchEvent(new MessageEvent('message', { data: { event: 'ended' } }));
		return heard;
	})`)
	if want := []string{"no store", "This phone cannot run the app: no script", "ended"}; !slices.Equal(heard, want) {
		t.Errorf("heard %q, want %q", heard, want)
	}
}
