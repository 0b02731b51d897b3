package e2e

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"bayhold/server/browsertest"
)

// at is the step that a job's screen shows, as its drawing says it.
type at struct{ Stage, Panel, Zone, State string }

// gateNow asks the phone to look again, and reads the answer on the screen, until
// it is the same twice: a clock of no time at all still runs for the milliseconds
// by which two clocks may differ, and meanwhile another step is offered.
func gateNow(p *browsertest.Phone, job string) at {
	return browsertest.JS[at](p, `import('/app/main.js').then(async ({app}) => {
		for (let was = '';;) {
			await app.shop.ask('view', {name: 'job', id: '`+job+`'});
			await new Promise((done) => setTimeout(done, 100));
			const {stage, panel, zone, state} = document.querySelector('[data-testid=gate-now]')?.dataset ?? {};
			const is = {Stage: stage ?? '', Panel: panel ?? '', Zone: zone ?? '', State: state ?? ''};
			if (was === (was = JSON.stringify(is))) return is;
		}
	})`)
}

// moved waits until the job's screen shows another step than this.
func moved(p *browsertest.Phone, job string, from at) {
	p.Until("another step than "+fmt.Sprint(from), `import('/app/main.js').then(async ({app}) => {
		await app.shop.ask('view', {name: 'job', id: '`+job+`'});
		const {stage, panel, zone, state} = document.querySelector('[data-testid=gate-now]')?.dataset ?? {};
		return stage && [stage, panel, zone, state].join() !== '`+strings.Join([]string{from.Stage, from.Panel, from.Zone, from.State}, ",")+`';
	})`)
}

// lined waits until a write was noted and its sheet is gone.
func lined(p *browsertest.Phone) {
	p.Until("the sheet to close", "!document.querySelector('dialog[open]')")
}

// quick is a rule set without waits: every clock of the whole job runs out at
// once, and what the steps ask of a hand stays as it is.
const quick = `{log: {class: 's', id: ''}, kind: 'rules.set', body: {values: {degas: 0, laminate_rest: 0, film_in_bay: 0, settle_film: 0,
	dry_hours: 0, dry_hours_raw: 0, rest_hours: 0, recheck_after: 0, call_back: 0, primer_base: 0}}}`

// bring opens a job of two panels of a van, one of them with contours and
// primer, on a route of the shop.
func bring(p *browsertest.Phone, route string) string {
	p.Open("/#/")
	p.Sees("home")
	job := browsertest.JS[string](p, `import('/app/main.js').then(async ({app, home}) => {
		const place = home().places.find(p => p.name === 'Bay 2').id;
		return (await app.shop.ask('newJob', {label: 'V8', customer: 'Oddvale Parcels', vehicle: 'medium van', plate: 'QF 8', proof: '`+map[string]string{"van": "C"}[route]+`', route: '`+route+`', film: '', place, promise: 0,
			panels: [{id: 'left-rear', name: 'left side rear', zone: 'upper', contour: true, primer: true}, {id: 'hood', name: 'hood', zone: 'upper', contour: false, primer: false}],
			spots: [{id: '1', name: 'left side mid-panel', zone: 'upper'}]})).id;
	})`)
	openJob(p, job)
	return job
}

// signs signs the open paper by name alone. After the installer the phone asks
// for the owner, who signs it too.
func signs(p *browsertest.Phone, name string) {
	for range 2 {
		p.Until("a paper", "document.querySelector('dialog[open] #sheet-title')")
		title := browsertest.JS[string](p, "document.getElementById('sheet-title').innerText")
		p.Type("sign-name", name)
		p.Tap("sign-save")
		p.Until("the paper signed", `(document.querySelector('dialog[open] #sheet-title')?.innerText ?? '') !== `+strconv.Quote(title))
		if !p.Has("sign-save") {
			return
		}
	}
}

// do does on the phone what the step at hand asks, by what the dock offers;
// times is how often it was done before.
func do(t *testing.T, p *browsertest.Phone, job string, g at, times int) {
	t.Helper()
	tick := "tick:" + g.Stage
	if g.Panel != "" {
		tick += ":" + g.Panel
	}
	number := func(n string) {
		key(p, n)
		p.Tap("pad-ok")
	}
	switch g.Stage {
	case "check-in", "inspection", "bare-paint":
		if p.Has("walk-installer") {
			p.Tap("walk-installer")
		} else {
			p.Tap("walk-owner")
		}
		signs(p, "R. Oddvale")
	case "survey":
		p.Tap("form:feature")
		p.Tap("pick:sort:channel")
		p.Tap("pick:shape:V") // Table 8's side channel: 80 wide, 15 deep
		number("80")
		number("15")
		number("2.4") // m
		p.Tap("pick:laid:floor-first")
		p.Tap("pick:plan:stretch")
	case "film":
		p.Tap("form:film")
		p.Tap("pick:panels:all")
		p.Tap("pick:family:cast")
		p.Tap("pick:laminate:none")
		p.Tap("pick:adhesive:permanent")
		number("50") // micrometres: 2 mil
		p.Tap("pick:printed:true")
		number("60") // months
		p.Type("type:batch", "B-2207")
		p.Tap("text-ok")
		p.Tap("skip:roll")
		p.Tap("skip:sheet")
	case "proof":
		p.Tap("form:proof-plate")
		p.Tap("pick:passed:true")
		p.Upload("photo-asked", photo(t, 640, 480, 0))
		p.SeesNot("ask:photo")
	case "old-film":
		p.Until("a question", `document.querySelector('[data-testid^="asked:"][data-testid$=":unknown"]')`)
		p.Tap(browsertest.JS[string](p, `document.querySelector('[data-testid^="asked:"][data-testid$=":unknown"]').dataset.testid`))
	case "trial-strips":
		p.Tap("form:trial")
		p.Tap("pick:place:" + []string{"sunny roof edge", "side", "repaired panel"}[times])
		number("40")
		number("150")
		p.Tap("skip:speed")
		number("8")
		p.Tap("pick:area:90000")
		number("10")
		p.Tap("pick:paint:sound")
		p.Tap("skip:photo")
	case "removal-risk", "hand-over":
		if g.Stage == "removal-risk" {
			p.Reads("removal", "Estimate from 3 strips: ")
		}
		if p.Has("paper-owner") {
			p.Tap("paper-owner")
		} else {
			p.Tap("paper-driver")
		}
		signs(p, "R. Oddvale")
	case "post-heat":
		if times == 0 {
			p.Tap("pace")
			p.Tap("pace:all")
			p.Tap("gun-go")
			p.Until("the gun to have come a while", `parseFloat(document.querySelector('[data-testid=gun-come]').innerText) > 0`)
			p.Tap("gun-film")
			p.Tap("by-contact")
			number("95")
			p.Tap("gun-part") // what it came so far is a line; the rest goes without the pacer
			return
		}
		p.Tap("form:heat")
		number("2.4")
		number("4") // min: 0.6 m a minute
		p.Tap("pick:guns:1")
		p.Tap("skip:rivets")
		number("95")
		p.Tap("list-enough")
		p.Tap("pick:instrument:contact")
		p.Tap("pick:answer:done")
	case "edge-check":
		switch {
		case p.Has("pin-redone"): // whoever laid it does it again, and says so
			be(p, "J")
			openJob(p, job)
			p.Tap("pin-redone")
			p.SeesNot("pin-redone")
			be(p, "M")
			openJob(p, job)
		case times == 0 && g.Panel == "left-rear":
			p.Tap("edge-pin")
			p.Tap("finding-edge-up")
			p.Tap("finding-save")
		default:
			p.Tap(tick)
		}
	case "re-check":
		p.Tap("form:risen")
		number("40")
		number("1")
	default:
		if spot := browsertest.JS[string](p, `document.querySelector('#dock [data-testid^="read:"]')?.dataset.testid ?? ''`); spot != "" {
			read(p, strings.TrimPrefix(spot, "read:"), "21")
			return
		}
		p.Tap(tick)
	}
}

// A van from check-in to the call back, by what the screen offers at each step:
// the lead does everything but the laying and trimming, so that another hand
// looks at the edges. The shop's numbers have no waits, so every clock ends at once.
// The lead has chosen Spanish: for her no step says a sentence in English, and
// for the other hand the same phone goes on in English.
func TestBrowserVanFromCheckInToCallBack(t *testing.T) {
	whole(t, "van", "call-back", map[string]int{
		"sign": 5, "feature": 1, "film": 1, "heat": 2, "evidence": 2, "finding": 1, "finding.answer": 1,
	})
}

// A removal from check-in to bare paint: nothing of it waits for hours.
func TestBrowserRemovalToBarePaint(t *testing.T) {
	whole(t, "removal", "wash", map[string]int{"sign": 4, "asked": 4, "trial": 3})
}

// whole drives a job of a route until the step at hand is this one, and reads
// the lines that it must have left out of the store.
func whole(t *testing.T, route, until string, want map[string]int) {
	shop := newShop(t)
	p := browsertest.New(t, "phone", shop.addr)
	setUp(p)
	be(p, "M")
	if route == "van" {
		p.Open("/#/phone")
		p.Tap("own-tongue-es")
		p.Until("the phone to speak Spanish", "document.documentElement.lang === 'es'")
	}
	past(p, quick)
	shop.sayHour("Bay 2", 21, 40)
	job := bring(p, route)
	times := map[string]int{}
	layer := false // who lays and trims is another than who looks at the edges
	for range 90 {
		g := gateNow(p, job)
		if g.Stage == until && g.State == "open" {
			break
		}
		t.Logf("%v", g)
		if speaks := browsertest.JS[string](p, "document.documentElement.lang"); speaks != map[bool]string{false: "en", true: "es"}[route == "van" && !layer] {
			t.Errorf("at %v the page speaks %q", g, speaks)
		} else if speaks == "es" {
			for _, said := range browsertest.JS[[]string](p, browsertest.English) {
				t.Errorf("at %v: %s", g, said)
			}
		}
		if is := g.Stage == "lay" || g.Stage == "trim"; is != layer {
			who := "M"
			if is {
				who = "J"
			}
			be(p, who)
			openJob(p, job)
			p.Sees("gate-now")
			layer = is
			continue
		}
		if g.State == "waits" {
			moved(p, job, g)
			continue
		}
		if p.Has("read-air") { // a line of the bay, not of the vehicle
			p.Tap("read-air")
			for _, n := range []string{"21", "40"} { // C and %
				key(p, n)
				p.Tap("pad-ok")
			}
			p.SeesNot("pad")
			moved(p, job, g)
			continue
		}
		key := g.Stage + g.Panel
		written(p, func() { do(t, p, job, g, times[key]) })
		times[key]++
	}
	if g := gateNow(p, job); g.Stage != until {
		t.Fatalf("the job stands at %v, not at %s", g, until)
	}
	if until == "call-back" {
		p.Tap("tick:call-back")
		stageIs(p, "call-back", "done")
	}
	isAllAtShop(p)
	lines, file := shop.export()
	for kind, n := range want {
		if got := count(lines, kind, nil); got != n {
			t.Errorf("the store has %d of %s, want %d", got, kind, n)
		}
	}
	// The command line makes the same of the store: all before this step is done.
	for _, g := range gatesOf(t, shop.gates(file, time.Now().Add(time.Second))) {
		if g.Stage == until && until != "call-back" {
			break
		}
		if g.State != "done" {
			t.Errorf("by the store %s is %s (%s), on the screen it is done", g.Stage, g.State, g.Cause)
		}
	}
}

func gatesOf(t *testing.T, out []byte) []gate {
	t.Helper()
	var all []gate
	if err := json.Unmarshal(out, &all); err != nil {
		t.Fatalf("gates: %v in %.400s", err, out)
	}
	return all
}

// last is the job's newest line as the screen has it.
func last(p *browsertest.Phone) string {
	return browsertest.JS[string](p, `import('/app/main.js').then(({job}) => { const l = job()?.lines?.[0]; return l ? l.writer + l.seq : ''; })`)
}

// written does something that writes one line, and waits until the screen has it.
func written(p *browsertest.Phone, act func()) {
	before := last(p)
	act()
	p.Until("the line on the screen", `import('/app/main.js').then(({job}) => { const l = job()?.lines?.[0]; return l && l.writer + l.seq !== '`+before+`'; })`)
	p.Until("the sheet to close", "!document.querySelector('dialog[open]')")
}
