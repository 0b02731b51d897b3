package e2e

import (
	"path/filepath"
	"testing"

	"bayhold/server/browsertest"
)

// stretch is a part of the walk through a fresh shop, and what it takes of a hand.
type stretch struct {
	name        string
	taps, typed int
}

// freshShop is what the walk takes today: a change that takes more has to say why
// here. Taps on the keypad are taps; typed are letters on the phone's keyboard.
// Ten taps of 'dry fit' say of each panel by itself that it fits; the letters of
// 'dry' are the lead's sentence.
var freshShop = []stretch{
	{"the lead's phone joins", 2, 4},
	{"the shop, its bays and crew", 8, 17},
	{"the crew's phone joins", 6, 18},
	{"the van comes in", 6, 0},
	{"check-in", 3, 7},
	{"trim and wash", 2, 0},
	{"inspection", 4, 0},
	{"film", 15, 0},
	{"dry fit", 10, 0},
	{"dry", 23, 25},
	{"wipe", 1, 0},
	{"primer", 1, 0},
	{"lay", 2, 0},
}

// hand taps and types, and counts it.
type hand struct {
	p           *browsertest.Phone
	taps, typed *int
}

func (h hand) tap(ids ...string) {
	for _, id := range ids {
		h.p.Tap(id)
		*h.taps++
	}
}

func (h hand) write(id, text string) {
	h.p.Type(id, text)
	*h.taps++
	*h.typed += len(text)
}

// at waits until the screen's answer is about this step, for what is on the screen
// moves until then.
func (h hand) at(stage, zone string) {
	h.p.Until(stage+" "+zone+" to be at hand", `(g => g?.dataset.stage === '`+stage+`' && g.dataset.zone === '`+zone+`')(document.querySelector('[data-testid=gate-now]'))`)
}

// reading is a number on the pad.
func (h hand) reading(digits string) {
	h.p.Sees("pad")
	for _, d := range digits {
		h.tap("pad-" + string(d))
	}
	h.tap("pad-ok")
}

// A new shop, as its owner and an installer meet it who have read nothing: from an
// empty folder and what the terminal shows to the first panel that is laid, by what
// the screens offer and nothing else. It counts what that takes. The night is not
// waited for: of the shop's numbers only the film's hours in the bay are taken
// away, and the lead lets the upper panels' drying pass by name.
func TestBrowserFreshShop(t *testing.T) {
	chromium := browsertest.Chromium(t)
	net := newWifi(t)
	bin, data := program(t), t.TempDir()
	terminal, _ := net.serve(t, bin, data, "shop.local")
	there, home := net.browser(t, chromium), t.TempDir()
	trust(t, home, "shop", filepath.Join(data, "keys", "root.pem"))
	phone := func(name string) *browsertest.Phone {
		return browsertest.NewAt(t, name, browsertest.Place{Origin: "https://shop.local:8443", Browser: there, Home: home, Resolve: "MAP *.local " + shopAddress})
	}

	var taps, typed int
	done := 0
	section := func(name string, do func()) {
		t.Helper()
		want := freshShop[done]
		done++
		if name != want.name {
			t.Fatalf("part %q of the walk, want %q", name, want.name)
		}
		taps, typed = 0, 0
		do()
		t.Logf("%-28s %3d taps %3d typed", name, taps, typed)
		if taps > want.taps || typed > want.typed {
			t.Errorf("%s: %d taps and %d letters, it took %d and %d", name, taps, typed, want.taps, want.typed)
		}
	}

	p := phone("lead's phone")
	lead := hand{p, &taps, &typed}
	section("the lead's phone joins", func() {
		if err := p.Browse(shownAddress.FindString(terminal.String())); err != nil {
			t.Fatal(err)
		}
		lead.write("join-name", "Mara")
		lead.tap("join-go")
		p.Sees("setup")
	})
	section("the shop, its bays and crew", func() {
		lead.write("setup-shop-name", "Six Bays")
		lead.tap("setup-save")
		p.Until("the shop to have its name", `document.querySelector('h1')?.innerText === 'The shop'`)
		for _, sort := range []string{"bay", "yard"} {
			lead.tap("place-next:" + sort)
			p.Until("the "+sort, `[...document.querySelectorAll('[data-testid=setup] .tape')].some(e => e.innerText.startsWith('`+map[string]string{"bay": "Bay", "yard": "Yard"}[sort]+`'))`)
		}
		for _, name := range []string{"Mara", "Jonte"} {
			lead.write("person-name", name)
			lead.tap("person-save")
			p.Until(name+" in the crew", `[...document.querySelectorAll('[data-testid=setup] .plain-list li')].some(e => e.innerText.includes('`+name+`'))`)
		}
		p.ReadyOffline()
		p.Until("Mara to be the lead", `[...document.querySelectorAll('[data-testid=setup] .plain-list li')].some(e => /Mara\s*lead/.test(e.innerText))`)
	})

	q := phone("crew's phone")
	crew := hand{q, &taps, &typed}
	section("the crew's phone joins", func() {
		lead.tap("to-vehicles", "let-join", "invite-crew")
		p.Reads("phones", "http://"+shopAddress+":8080") // where a phone begins that does not trust the shop yet
		code := p.Text("invite-code")
		q.Open("/#/")
		crew.write("join-code", code)
		crew.write("join-name", "bay phone")
		crew.tap("join-go")
		q.Sees("home")
	})

	past(p, `{log: {class: 's', id: ''}, kind: 'rules.set', body: {values: {film_in_bay: 0, settle_film: 0, primer_base: 0}}}`)
	isAllAtShop(p)
	q.Until("the numbers on the other phone", `import('/app/main.js').then(async ({app}) => (await app.shop.ask('view', {name: 'rules'}), JSON.stringify(app.views['rules:'] ?? '').includes('film_in_bay')))`)

	section("the van comes in", func() {
		crew.tap("new-job", "label-next:V1", "sort:van", "at:Bay 1", "new-job-save", "person:J")
		q.Sees("job")
	})
	section("check-in", func() {
		crew.tap("walk-owner")
		crew.write("sign-name", "R. Vale")
		crew.tap("sign-save")
	})
	section("trim and wash", func() { crew.tap("tick:strip", "tick:wash") })
	section("inspection", func() { crew.tap("walk-installer", "sign-save", "sign-as:R. Vale", "sign-save") })
	section("film", func() {
		crew.tap("flats", "flats-all", "flats-save", "form:film", "pick:panels:all", "pick:family:cast", "pick:laminate:none", "pick:adhesive:permanent", "skip:thickness",
			"pick:printed:false", "skip:months", "skip:batch", "skip:roll", "skip:sheet", "tick:film-in")
	})
	section("dry fit", func() {
		for _, panel := range vanPanels {
			crew.tap("tick:dry-fit:" + panel)
		}
	})
	section("dry", func() {
		crew.at("dry", "upper")
		crew.tap("read:5")
		crew.reading("21")
		crew.tap("read-air")
		crew.reading("21")
		crew.reading("40")
		crew.at("dry", "lower")
		crew.tap("read:1") // the lower panels: their hours do not run without
		crew.reading("20")
		crew.tap("blow", "evidence-passed")
		lead.tap("to-shop", "to-vehicles", "job-row:V1")
		lead.at("dry", "upper")
		lead.tap("waive")
		lead.write("waive-sentence", "Stood dry since Saturday.")
		lead.tap("waive-save")
		crew.at("wipe", "")
	})
	section("wipe", func() { crew.tap("tick:wipe:rear") })
	section("primer", func() { crew.tap("tick:primer:rear") }) // not the wipe of another panel: this one's time runs
	section("lay", func() {
		crew.tap("begin:lay:rear")
		q.SeesNot("begin:lay:rear") // the other answers move into its place
		crew.tap("tick:lay:rear")
		q.Until("the next panel's wipe", `(g => g?.dataset.stage === 'wipe' && g.dataset.panel === 'left-rear')(document.querySelector('[data-testid=gate-now]'))`)
	})
	isAllAtShop(q)
}

// vanPanels are a medium van's, in the order in which they hang.
var vanPanels = []string{"rear", "left-sill", "left-rear", "left-front", "left-door", "right-sill", "right-rear", "right-front", "right-door", "hood"}
