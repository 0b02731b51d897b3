package e2e

import (
	"strings"
	"testing"

	"bayhold/server/browsertest"
)

// The lead makes a link on the vehicle's screen; its owner opens it in a browser
// that the shop does not know, answers what was found and signs. The crew's phone
// shows the step as done, and the line that did it says by link.
func TestBrowserOwnerByLink(t *testing.T) {
	t.Parallel()
	shop := newShop(t)
	p := browsertest.New(t, "lead", shop.addr)
	setUp(p)
	be(p, "M")
	job := bring(p, "van")
	p.Tap("pin-w:hood")
	p.Tap("finding-chip")
	p.Tap("finding-save")
	p.SeesNot("finding-save")
	isAllAtShop(p)
	p.Tap("owner-link")
	p.Type("link-to", "Pat Rowe")
	p.Tap("link-give")
	p.Sees("link-address")
	address := p.Text("link-address")
	place, token, ok := strings.Cut(address, "#")
	if !ok || place != browsertest.JS[string](p, "location.origin")+"/owner/"+job {
		t.Fatalf("the address of the link: %s", address)
	}

	q := browsertest.New(t, "owner", shop.addr)
	if err := q.Browse(address); err != nil {
		t.Fatal(err)
	}
	q.Sees("phase:before")
	if at := browsertest.JS[string](q, "location.href + document.cookie"); at != place {
		t.Errorf("the address, and what a script reads of the pass: %s", at)
	}
	if browsertest.JS[int](q, "navigator.serviceWorker.getRegistrations().then((r) => r.length)") != 0 {
		t.Error("the owner's browser keeps the crew's app")
	}
	q.Tap("tongue-es")
	q.Reads("owner", "piquete, hood")
	q.Tap("accepted:1")
	q.Tap("send:1")
	q.Sees("paper:check-in")
	q.Type("owner-name", "Pat Rowe")
	q.Until("a drawn signature", `(() => {
		const c = document.querySelector('[data-testid=owner-canvas]'), b = c.getBoundingClientRect();
		c.setPointerCapture = () => {};
		for (const [type, x, y] of [['pointerdown', 20, 20], ['pointermove', 90, 50], ['pointerup', 90, 50]])
			c.dispatchEvent(new PointerEvent(type, { bubbles: true, clientX: b.left + x, clientY: b.top + y }));
		return true;
	})()`)
	q.Tap("owner-sign")
	q.Reads("owner", "por enlace")
	q.Sees("phase:here")
	q.Reload()
	q.Sees("phase:here") // the pass is enough, once the link has left the address

	openJob(p, job)
	stageIs(p, "check-in", "done")
	unfold(p, "lines")
	p.Reads("lines", "Signed: Pat Rowe (owner), by link")
	p.Reads("lines", "Finding accepted, by link")
	p.Reads("lines", "Link given to Pat Rowe")
	p.Tap("owner-link")
	p.Tap("link-off:Pat Rowe")
	p.Reads("link:Pat Rowe", "Taken back")
	q.Reload()
	q.Reads("owner-failed", "fue retirado")

	lines, _ := shop.export()
	signed := func(l line) bool {
		return with("as", "owner")(l) && with("language", "es")(l) && l.Body["link"] != nil && l.Body["strokes"] != nil && strings.Contains(l.Body["text"].(string), "aceptado")
	}
	if n := count(lines, "sign", signed); n != 1 || count(lines, "sign", nil) != 1 || count(lines, "finding.answer", with("language", "es")) != 1 {
		t.Errorf("%d signatures by link of %d", n, count(lines, "sign", nil))
	}
	if strings.Contains(shop.log.String(), token) {
		t.Error("the server's log holds the link's token")
	}
}
