package pwa_test

import (
	"testing"

	"bayhold/server/browsertest"
)

// doorway takes the page's own door, as own does in Chromium.
const doorway = `import('/app/main.js').then(m => {
	if (!m.app.shop) return false;
	if (!window.shop) {
		window.shop = m.app.shop; window.seen = {}; window.said = [];
		shop.on('view', v => { seen[v.name + v.id] = v; });
		shop.on('fault', f => { said.push(f.text); });
	}
	return true;
})`

// Another engine does the main thing: the app opens without a server, a line is
// written by taps, outlives SIGKILL, and is at the shop once when the line is
// back; a spoken note of its recorder passes the shop's check.
func TestBrowserFirefoxWithoutSignal(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	f := browsertest.NewFirefox(t, s.addr)
	f.Open("/")
	f.Until("the page's door", doorway)
	f.Until("the shop", `shop.ask('status').then(s => s.online)`)
	id := workInHand(f)
	f.Until("the app to be kept for offline use", `navigator.serviceWorker.getRegistration().then(r => r?.active?.state === 'activated')`)
	f.Until("everything at the shop", `shop.ask('status').then(s => s.waiting === 0)`)

	f.Wire.Cut()
	f.Open("/?again#/job/" + id)
	f.Until("the page's door", doorway)
	f.Tap("note-add")
	f.Until("the page behind the sheet to be out of reach", "document.getElementById('page').inert")
	f.Type("note-text", "without signal")
	f.Tap("note-save")
	f.Until("the page to be back", "!document.querySelector('[inert]')")
	f.Until("one line only here", `shop.ask('status').then(s => s.waiting === 1)`)
	f.Kill()
	f.Start()
	f.Open("/#/job/" + id)
	f.Until("the page's door", doorway)
	f.Until("the line to be here again", `shop.ask('status').then(s => s.waiting === 1 && !s.online)`)
	f.Wire.Restore()
	f.Until("the line at the shop", `seen['job`+id+`']?.view?.lines.filter(l => l.text === 'without signal' && l.where === 'shop').length === 1`)

	f.Tap("voice-add")
	f.Tap("voice-record")
	f.Until("a second to be spoken", `parseInt(document.querySelector('[data-testid=voice-time]')?.innerText) >= 1`)
	f.Tap("voice-stop")
	f.Until("the note at the shop", `seen['job`+id+`']?.view?.lines.some(l => l.voice && l.where === 'shop')`)
	f.Until("its sound at the shop", `shop.ask('status').then(s => s.photosWaiting === 0)`)
	var said []string
	f.Do("said", &said)
	if len(said) > 0 {
		t.Errorf("the person was told %q", said)
	}
	c := browsertest.New(t, "A", s.addr)
	own(c)
	lookAt(c, id)
	each(t, c, "without signal")
}
