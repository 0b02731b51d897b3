package pwa_test

import (
	"strconv"
	"testing"

	"bayhold/server/browsertest"
)

// The iPhone's engine does the main thing: the app is kept, opens without a
// server, a line is written by taps there, and is at the shop once when the line
// is back. What this engine lacks the app says, or does otherwise: no vibration, no
// second place for lines that wait (WebKitGTK has no files of its own for pages).
func TestBrowserWebKitWithoutSignal(t *testing.T) {
	s := newShop(t)
	w := browsertest.NewWebKit(t, s.addr)
	w.Open("/")
	w.Until("the page's door", doorway)
	w.Until("the shop", `shop.ask('status').then(s => s.online)`)
	var size [2]int
	w.Do(`[innerWidth, devicePixelRatio]`, &size)
	if size != [2]int{390, 3} {
		t.Errorf("the screen is %v wide and fine, want a phone's 390 by 3", size)
	}
	id := workInHand(w)
	w.Until("the app to be kept for offline use", `navigator.serviceWorker.getRegistration().then(r => r?.active?.state === 'activated')`)
	w.Until("everything at the shop", `shop.ask('status').then(s => s.waiting === 0)`)

	w.Wire.Cut()
	w.Open("/?again#/job/" + id)
	w.Until("the page's door", doorway)
	w.Until("all of the vehicle", `document.querySelector('.job.settled')`)
	w.Tap("note-add")
	w.Until("the page behind the sheet to be out of reach", "document.getElementById('page').inert")
	w.Type("note-text", "without signal")
	w.Tap("note-save")
	w.Until("the page to be back", "!document.querySelector('[inert]')")
	w.Until("one line only here", `shop.ask('status').then(s => s.waiting === 1)`)
	w.Open("/?once-more#/job/" + id)
	w.Until("the page's door", doorway)
	w.Until("the line to be here again", `shop.ask('status').then(s => s.waiting === 1 && !s.online)`)
	// It holds no page by itself when something comes above (no scroll anchoring).
	w.Until("all of the vehicle", `document.querySelector('.job.settled')`)
	var anchors bool
	w.Do(`CSS.supports('overflow-anchor', 'none')`, &anchors)
	if anchors {
		t.Error("WebKit has learned scroll anchoring: still.js says that it has none")
	}
	var moved float64
	w.Do(`import('/app/main.js').then(async ({app, paint}) => {
		const drawn = () => new Promise((ok) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(ok))));
		const dot = document.querySelector('[data-testid="read:1"]'), where = async () => { await drawn(); return dot.getBoundingClientRect().y; };
		dot.scrollIntoView({block: 'center'});
		const was = await where();
		app.fault = 'Somebody said something that takes four lines. '.repeat(4);
		paint();
		const by = await where() - was;
		app.fault = '';
		paint();
		return by;
	})`, &moved)
	if moved < -1 || moved > 1 {
		t.Errorf("what is in the middle of the screen moved by %v as something came above", moved)
	}
	var spare, vibrates bool
	w.Do(`shop.ask('status').then(s => s.spare)`, &spare)
	w.Do(`'vibrate' in navigator`, &vibrates)
	if spare || vibrates {
		t.Errorf("second place %v, vibration %v: WebKitGTK has learned something, say so on the screens and here", spare, vibrates)
	}
	w.Open("/?what-is-here#/phone")
	says := func(what string) string { return `document.body.innerText.includes(` + strconv.Quote(what) + `)` }
	w.Until("the phone to count what is only here", says("1 line only on this phone."))
	w.Until("the vehicle to be named", says("V5"))
	w.Do(says("stands here twice"), &spare)
	if spare {
		t.Error("the phone says that the line stands here twice, and it does not")
	}

	w.Wire.Restore()
	w.Open("/?back#/job/" + id)
	w.Until("the page's door", doorway)
	w.Until("the line at the shop", `seen['job`+id+`']?.view?.lines.filter(l => l.text === 'without signal' && l.where === 'shop').length === 1`)
}

// workInHand sets a shop to work with one van, and answers its job.
func workInHand(e interface{ Do(string, any) }) (id string) {
	e.Do(`(async () => {
		await shop.ask('write', {log: {class: 's'}, kind: 'shop.set', body: {name: 'Hall', units: 'C', zone: 'Europe/Berlin'}});
		await shop.ask('write', {log: {class: 's'}, kind: 'place.add', body: {place: '`+bay+`', name: 'bay 4', sort: 'bay', order: 4}});
		return (await shop.ask('newJob', {label: 'V5', route: 'van', place: '`+bay+`', panels: [{id: 'rear', name: 'Rear doors', zone: 'upper'}],
			spots: [{id: '1', name: 'rear left sill', zone: 'lower'}]})).id;
	})()`, &id)
	return id
}
