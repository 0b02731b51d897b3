package pwa_test

import (
	"fmt"
	"path/filepath"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server"
	"bayhold/server/browsertest"
	"bayhold/sync/logbook"
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

// One tab has the socket and follows a shop that went on from a backup; the
// other tabs of this phone show what it follows to, too. Another phone's line is
// lost, and its name goes to another one: no tab may show the first any more.
//
// Then the shop has no room for what it would set aside of this phone: every tab
// says so, and when the line goes again.
func TestBrowserTabsHearOfTheShopsStore(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	a := browsertest.New(t, "A", s.addr)
	own(a)
	id := begin(t, a)
	owns(a, true)
	waits(a, 0)
	b := a.Tab()
	own(b)
	lookAt(b, id)
	s.stop()
	saved := s.save()
	store, err := server.ReadStore(filepath.Join(s.data, server.StoreFile))
	if err != nil {
		t.Fatal(err)
	}
	shop := store.Shop()
	store.Close()
	s.start()
	log := logbook.Log{Class: checklist.JobLog, ID: parsed(t, id)}
	by := func(writer logbook.ID, seq uint64, text string) logbook.Entry {
		return logbook.Entry{Log: log, Writer: writer, Seq: seq, Kind: "note",
			Body: line.Encode(checklist.Note{Text: text, Salt: make([]byte, 16)})}
	}
	other := logbook.Named("another phone")
	brings(t, s.addr, other, by(other, 1, "lost with the disk"))
	each(t, a, "lost with the disk")
	each(t, b, "lost with the disk")
	a.Wire.Cut()
	online(a, false)
	s.stop()
	s.restore(saved)
	s.start()
	brings(t, s.addr, other, by(other, 1, "written anew"))
	a.Wire.Restore()
	for _, p := range []*browsertest.Phone{a, b} {
		each(t, p, "written anew")
		if browsertest.JS[bool](p, `seen['job' + job].view.lines.some(l => l.text === 'lost with the disk')`) {
			t.Error("a tab shows a line that the shop has no more")
		}
	}

	// A lead's line, by somebody who is the lead no more when it arrives.
	const mara = "01945f00-0000-7000-8000-00000000001e"
	write(a, `{class:'s'}`, "person.add", `{person:'`+mara+`', name:'Mara', initials:'M', role:'lead'}`).must(t)
	browsertest.JS[bool](a, `shop.ask('me', {person: '`+mara+`'}).then(() => true)`)
	write(a, `{class:'s'}`, "person.add", `{person:'01945f00-0000-7000-8000-000000000020', name:'Lea', initials:'L', role:'lead'}`).must(t)
	waits(a, 0)
	a.Wire.Cut()
	online(a, false)
	person := checklist.ID(parsed(t, mara))
	brings(t, s.addr, other, logbook.Entry{Log: shop, Writer: other, Seq: 1, By: logbook.ID(person), Kind: "person.add",
		Body: line.Encode(checklist.PersonAdd{Person: person, Name: "Mara", Initials: "M", Role: "crew"})})
	// 500 are set aside of a phone in a day (server/quota.go); the lost line, which
	// it brought back to a name that was taken, is one of them.
	var lines []logbook.Entry
	for i := range uint64(499) {
		bad := by(logbook.Named("x"), i+1, "") // a note without text
		bad.Log.ID = logbook.Named("elsewhere")
		lines = append(lines, bad)
	}
	brings(t, s.addr, parsed(t, browsertest.JS[string](a, `shop.ask('status').then(s => s.writer)`)), lines...)
	write(a, `{class:'s'}`, "person.add", `{person:'01945f00-0000-7000-8000-00000000001f', name:'Jon', initials:'J', role:'crew'}`).must(t)
	a.Wire.Restore()
	for _, p := range []*browsertest.Phone{a, b} {
		p.Open("/#/phone")
		p.Reads("later", "The lead must look at this phone")
		p.Reads("only-here", "1 line only on this phone")
	}
	a.Tap("own-tongue-es")
	a.Reads("later", "El encargado debe ver antes")
	takeDoor(a)
	lookAt(a, id)
	note(t, a, "goes meanwhile")
	each(t, a, "goes meanwhile")
	waits(a, 1)
}

func parsed(t *testing.T, id string) logbook.ID {
	t.Helper()
	is, ok := logbook.ParseID(id)
	if !ok {
		t.Fatalf("%q is no id", id)
	}
	return is
}
