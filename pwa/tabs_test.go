package pwa_test

import (
	"fmt"
	"testing"

	"bayhold/server/browsertest"
)

func owns(p *browsertest.Phone, is bool) {
	p.Until(fmt.Sprintf("owner of the socket: %v", is), fmt.Sprintf(`shop.ask('status').then(s => s.owner === %v)`, is))
}

// stir is what the browser tells a page that comes to the front.
func stir(p *browsertest.Phone) {
	browsertest.JS[bool](p, `document.dispatchEvent(new Event('visibilitychange'))`)
}

// A frozen tab holds the lock of the socket and answers nothing. The tab that
// somebody looks at takes the socket over, and the frozen one, awake again,
// goes on without it.
func TestBrowserFrozenTabGivesUpTheSocket(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	a := browsertest.New(t, "A", s.addr)
	own(a)
	id := begin(t, a)
	owns(a, true)
	b := a.Tab()
	own(b)
	lookAt(b, id)
	online(b, true)
	owns(b, false)
	a.Freeze(true)
	note(t, b, "while the other is frozen")
	shows(b, "while the other is frozen", "here")
	stir(b)
	owns(b, true)
	each(t, b, "while the other is frozen")
	waits(b, 0)
	a.Freeze(false)
	owns(a, false)
	each(t, a, "while the other is frozen")
	note(t, a, "awake again")
	each(t, b, "awake again")
}

// Two tabs write at once without signal: every line has a number of its own,
// and both tabs count all of them.
func TestBrowserTwoTabsWrite(t *testing.T) {
	t.Parallel()
	const each10 = 10
	s := newShop(t)
	a := browsertest.New(t, "A", s.addr)
	own(a)
	id := begin(t, a)
	b := a.Tab()
	own(b)
	lookAt(b, id)
	waits(a, 0)
	a.Wire.Cut()
	online(a, false)
	var texts []string
	for i, p := range []*browsertest.Phone{a, b} {
		browsertest.JS[bool](p, fmt.Sprintf(`(window.wrote = Promise.all(Array.from({length: %d}, (_, n) =>
			shop.ask('write', {log: %s, kind: 'note', body: {text: 'tab %d note ' + n}}))), true)`, each10, job, i))
		for n := range each10 {
			texts = append(texts, fmt.Sprintf("tab %d note %d", i, n))
		}
	}
	for _, p := range []*browsertest.Phone{a, b} {
		if n := browsertest.JS[int](p, `wrote.then(all => all.filter(a => a.ok).length)`); n != each10 {
			t.Fatalf("%d of %d lines were written", n, each10)
		}
		waits(p, 2*each10)
	}
	a.Wire.Restore()
	each(t, a, texts...)
	each(t, b, texts...)
	waits(a, 0)
	waits(b, 0)
}
