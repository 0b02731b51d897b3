package pwa_test

import (
	"testing"

	"bayhold/server/browsertest"
)

// A phone is copied with all that it keeps, and both go on: they write under
// one name, different lines with one number. Each line is in the job, once.
func TestBrowserCopiedPhone(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	a := browsertest.New(t, "A", s.addr)
	own(a)
	id := begin(t, a)
	note(t, a, "before the copy")
	waits(a, 0)
	a.ReadyOffline()
	a.Close()
	b := browsertest.New(t, "B", s.addr)
	b.Close()
	b.Restore(a.Save())
	both := []*browsertest.Phone{a, b}
	for _, p := range both {
		p.Start()
		p.Wire.Cut()
		own(p)
		lookAt(p, id)
	}
	note(t, a, "from A")
	note(t, b, "from B")
	note(t, b, "from B again")
	for _, p := range both {
		p.Wire.Restore()
	}
	for _, p := range both {
		each(t, p, "before the copy", "from A", "from B", "from B again")
		waits(p, 0)
	}
	if x, y := browsertest.JS[string](a, "shop.ask('status').then(s => s.writer)"), browsertest.JS[string](b, "shop.ask('status').then(s => s.writer)"); x == y {
		t.Errorf("both write as %s", x)
	}
	note(t, a, "later")
	each(t, b, "later")
}

// An old copy of a phone's store comes back after the phone went on: what it
// writes then does not stand in the way of what it had written.
func TestBrowserOldStoreComesBack(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := browsertest.New(t, "A", s.addr)
	own(p)
	id := begin(t, p)
	note(t, p, "one")
	waits(p, 0)
	p.ReadyOffline()
	p.Close()
	old := p.Save()
	p.Start()
	own(p)
	lookAt(p, id)
	note(t, p, "two")
	each(t, p, "two")
	p.Close()
	p.Restore(old)
	p.Start()
	p.Wire.Cut()
	own(p)
	lookAt(p, id)
	note(t, p, "three")
	p.Wire.Restore()
	each(t, p, "one", "two", "three")
	waits(p, 0)
}
