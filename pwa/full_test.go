package pwa_test

import (
	"strings"
	"testing"

	"bayhold/server/browsertest"
)

// A phone without room: a line and a photo that cannot be stored are refused
// with the way out, and what was typed stays on the screen; what others write
// waits at the shop, and the person is told. With room again all of it goes on,
// and no line is missing or doubled.
func TestBrowserFullPhone(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	a, b := browsertest.New(t, "A", s.addr), browsertest.New(t, "B", s.addr)
	own(a)
	id := begin(t, a)
	own(b)
	lookAt(b, id)
	a.ReadyOffline()
	shows(b, "Job begun: V5", "shop")
	a.Wire.Cut()
	online(a, false)
	note(t, a, "with room")
	a.Close()
	a.Start()
	a.Quota(1) // before the database is opened: it asks for room in advance
	a.Open("/#/job/" + id)
	takeDoor(a)
	lookAt(a, id)
	waits(a, 1)

	a.Tap("note-add")
	a.Type("note-text", "does not fit")
	a.Tap("note-save")
	a.Reads("refusal", "This phone is full: the line is not stored. Delete something on it")
	if got := browsertest.JS[string](a, `document.querySelector('[data-testid=note-text]').value`); got != "does not fit" {
		t.Errorf("what was typed is %q", got)
	}
	if got := picture(a, 200); !strings.HasPrefix(got, "This phone has no room for it. Delete something on the phone") {
		t.Errorf("a photo without room: %s", got)
	}
	if got := browsertest.JS[string](a, `shop.ask('status').then(s => s.waiting + ' ' + s.photosWaiting)`); got != "1 0" {
		t.Errorf("lines and photos only here: %s, want 1 0", got)
	}
	a.Wire.Restore()
	note(t, b, "from the other phone")
	says(a, "This phone is full: what others write does not arrive. Delete something on it.")
	shows(b, "with room", "shop") // own lines go all the same

	a.Quota(0)
	each(t, a, "with room", "from the other phone")
	a.Tap("note-save")
	each(t, a, "does not fit")
	each(t, b, "does not fit")
	waits(a, 0)
	if sha := picture(a, 200); len(sha) != 64 {
		t.Errorf("a photo with room again: %s", sha)
	}
	a.Until("lines that wait to stand in two places again", `shop.ask('status').then(s => s.spare)`)
	a.Until("the photo at the shop", `shop.ask('status').then(s => s.photosWaiting === 0)`)
	if n := browsertest.JS[int](a, `said.filter(s => s.includes('full')).length`); n != 1 {
		t.Errorf("said %d times that the phone is full", n)
	}
}

// Photos that the shop has give way to a line that finds no room.
func TestBrowserPhotosGiveWay(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := browsertest.New(t, "A", s.addr)
	own(p)
	id := begin(t, p)
	picture(p, 1200)
	picture(p, 1500)
	p.Until("no photo only here", `shop.ask('status').then(s => s.photosWaiting === 0)`)
	here := func() int {
		return browsertest.JS[int](p, `new Promise((ok, no) => {
			const open = indexedDB.open('bayhold');
			open.onsuccess = () => {
				const count = open.result.transaction('photos').objectStore('photos').count();
				count.onsuccess = () => { open.result.close(); ok(count.result); };
			};
			open.onerror = no;
		})`)
	}
	p.ReadyOffline()
	p.Close()
	p.Start()
	p.Open("/app/icon.svg")
	// What is used counts the database once it is open; the first line written
	// asks for room in advance, so the limit comes before it.
	if n := here(); n != 2 {
		t.Fatalf("%d photos on the phone, want 2", n)
	}
	used := browsertest.JS[float64](p, `navigator.storage.estimate().then(e => e.usage)`)
	p.Quota(int64(used) - 200_000)
	own(p)
	lookAt(p, id)
	note(t, p, "wants the room")
	if n := here(); n != 0 {
		t.Errorf("%d photos still on the phone", n)
	}
	p.Quota(0)
	each(t, p, "wants the room")
}
