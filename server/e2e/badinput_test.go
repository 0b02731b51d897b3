package e2e

import (
	"strings"
	"sync"
	"testing"
	"time"

	"bayhold/server/browsertest"
)

// What cannot be true is answered with a sentence on the screen, leaves no
// line behind and opens no gate. Each row does one wrong thing.
func TestBrowserBadInputIsAnswered(t *testing.T) {
	shop := newShop(t)
	p := browsertest.New(t, "A", shop.addr)
	setUp(p)
	be(p, "M")
	job := bringIn(p, "V7")
	isAllAtShop(p)
	big := photo(t, 64, 64, 25_000_000)
	text := photo(t, 64, 64, 0) + ".txt"
	writeFile(t, text, "no picture")

	// air opens the pad for a bay's air and types its two numbers.
	air := func(unit, c, rh string) {
		p.Tap("climate")
		p.Tap("pad-unit-" + unit)
		key(p, c)
		p.Tap("pad-ok")
		p.Reads("pad", "%")
		key(p, rh)
		p.Tap("pad-ok")
	}
	for _, wrong := range []struct {
		name string
		at   string // where: a path, "" for the job
		do   func()
		says []string // words of the sentence
	}{
		{"humidity of 130 %", "", func() { air("C", "20", "130") }, []string{"130"}},
		{"a surface of 400 C", "", func() { p.Tap("read:1"); p.Tap("pad-unit-C"); key(p, "400"); p.Tap("pad-ok") }, []string{"400"}},
		{"air of 68 in C, which was F", "", func() { air("C", "68", "40") }, []string{"68", "F"}},
		{"a surface far below frost", "", func() { p.Tap("read:1"); p.Tap("pad-unit-C"); key(p, "-90"); p.Tap("pad-ok") }, []string{"90"}},
		{"no number", "", func() { p.Tap("read:1"); p.Tap("pad-ok") }, []string{"number"}},
		{"an instrument reset tomorrow", "", func() {
			p.Tap("minmax")
			p.Sees("minmax-from")
			setField(p, "minmax-from", time.Now().Add(26*time.Hour).Format("2006-01-02T15:04"))
			p.Tap("minmax-next")
			for _, n := range []string{"18", "20", "40", "50"} {
				key(p, n)
				p.Tap("pad-ok")
			}
		}, nil},
		{"a promise without a name", "/#/new", func() { p.Tap("sort:van"); p.Tap("new-job-save") }, []string{"name"}},
		{"a shop without a name", "/#/setup", func() { p.Type("setup-shop-name", ""); p.Tap("setup-save") }, []string{"name"}},
		{"a bay without a name", "/#/setup", func() { p.Type("place-name", "  "); p.Tap("place-save") }, []string{"name"}},
		{"a person without a name", "/#/setup", func() { p.Type("person-initials", "X"); p.Tap("person-save") }, []string{"name"}},
		{"a zone that is none", "/#/setup", func() { p.Type("setup-zone", "Nowhere/At_all"); p.Tap("setup-save") }, []string{"Nowhere/At_all"}},
		{"a photo of 25 MB", "", func() { p.Upload("photo-input", big) }, []string{"MB"}},
		{"a photo that is none", "", func() { p.Upload("photo-input", text) }, []string{"photo"}},
		{"a reading without its place", "", func() {
			past(p, `{log: {class: 'j', id: '`+job+`'}, kind: 'reading', body: {values: [{spot: '', surface: 18000}], instrument: 'contact', answer: '', typed: '18 C'}}`)
		}, nil},
		{"a reading at a spot that is none", "", func() {
			past(p, `{log: {class: 'j', id: '`+job+`'}, kind: 'reading', body: {values: [{spot: '99', surface: 18000}], instrument: 'contact', answer: '', typed: '18 C'}}`)
		}, []string{"99"}},
		{"a tick of a step that is none", "", func() {
			past(p, `{log: {class: 'j', id: '`+job+`'}, kind: 'tick', body: {stage: 'polish', panel: '', zone: '', answer: 'done'}}`)
		}, nil},
		{"a tick said to be done tomorrow", "", func() {
			past(p, `{log: {class: 'j', id: '`+job+`'}, kind: 'tick', body: {stage: 'wash', panel: '', zone: '', answer: 'done', at: Date.now() + 86400000}}`)
		}, nil},
	} {
		t.Run(wrong.name, func(t *testing.T) {
			openJob(p, job)
			p.Reload() // a fresh page: nothing of the row before is left open
			p.Sees("job")
			before := stages(p)
			if wrong.at != "" {
				p.Open(wrong.at)
				p.Reload()
			}
			wrong.do()
			p.Sees("refusal")
			sentence := p.Text("refusal")
			t.Log(sentence)
			for _, word := range wrong.says {
				if !strings.Contains(sentence, word) {
					t.Errorf("the sentence is %q and does not say %q", sentence, word)
				}
			}
			openJob(p, job)
			p.Reload()
			p.Sees("job")
			if got := stages(p); got != before {
				t.Errorf("the steps were %s and are %s", before, got)
			}
			if n := waiting(p); n != 0 {
				t.Errorf("%d lines on this phone after a refusal", n)
			}
		})
	}
	lines, _ := shop.export()
	for _, kind := range []string{"reading", "climate.reading", "climate.span", "tick", "photo"} {
		if n := count(lines, kind, nil); n != 0 {
			t.Errorf("the store has %d of %s after refusals", n, kind)
		}
	}
	if n := count(lines, "job.open", nil); n != 1 {
		t.Errorf("the store has %d jobs", n)
	}
}

// A photo of 20 MB is what a camera makes on a good day: it is taken, scaled
// down, and reaches the shop.
func TestBrowserLargePhotoIsTaken(t *testing.T) {
	shop := newShop(t)
	p := browsertest.New(t, "A", shop.addr)
	setUp(p)
	be(p, "J")
	bringIn(p, "V7")
	p.Upload("photo-input", photo(t, 3000, 2000, 20_000_000))
	p.Until("the photo to be noted", `document.querySelector('#dock').innerText.includes('Photo on this phone')`)
	isAllAtShop(p)
	lines, _ := shop.export()
	if n := count(lines, "photo", nil); n != 1 {
		t.Fatalf("the store has %d photos", n)
	}
	for _, l := range lines {
		if l.Kind == "photo" && l.Body["bytes"].(float64) > 2_000_000 {
			t.Errorf("the photo was not scaled down: %v bytes", l.Body["bytes"])
		}
	}
}

// A second tap right after the first writes nothing more.
func TestBrowserSecondTap(t *testing.T) {
	shop := newShop(t)
	p := browsertest.New(t, "A", shop.addr)
	setUp(p)
	be(p, "J")
	bringIn(p, "V7")
	p.Sees("tick:wash")
	browsertest.JS[bool](p, `(() => {
		const b = document.querySelector('[data-testid="tick:wash"]');
		b.click(); b.click(); b.click();
		return true;
	})()`)
	stageIs(p, "wash", "done")
	isAllAtShop(p)
	t.Logf("said: %q", p.Text("refusal"))
	lines, _ := shop.export()
	if n := count(lines, "tick", with("stage", "wash")); n != 1 {
		t.Errorf("three taps left %d ticks in the store", n)
	}
}

// Two phones tick the same step at the same moment: both lines are kept, both
// phones and the store agree, and the step behind has not come nearer.
func TestBrowserTwoPhonesTickAtOnce(t *testing.T) {
	shop := newShop(t)
	a, b := browsertest.New(t, "A", shop.addr), browsertest.New(t, "B", shop.addr)
	setUp(a)
	be(a, "J")
	b.Open("/#/")
	b.ReadyOffline()
	be(b, "M")
	job := bringIn(a, "V7")
	openJob(b, job)
	a.Sees("tick:wash")
	b.Sees("tick:wash")
	isAllAtShop(a)

	// At once means: neither has seen the other's line.
	a.Wire.Cut()
	b.Wire.Cut()
	var both sync.WaitGroup
	for _, p := range []*browsertest.Phone{a, b} {
		both.Go(func() {
			p.Tap("tick:wash")
			stageIs(p, "wash", "done")
		})
	}
	both.Wait()
	began := time.Now()
	a.Wire.Restore()
	b.Wire.Restore()
	for _, p := range []*browsertest.Phone{a, b} {
		isAllAtShop(p)
		unfold(p, "lines")
		p.Until("both ticks", `[...document.querySelectorAll('[data-testid=lines] li .grow')].filter(e => /wash/i.test(e.innerText)).length === 2`)
	}
	if got, other := shown(a), shown(b); got != other {
		t.Errorf("A shows\n%s\nB shows\n%s", got, other)
	}
	lines, file := shop.export()
	writers := map[string]bool{}
	for _, l := range lines {
		if l.Kind == "tick" {
			writers[l.Writer] = true
		}
	}
	if len(writers) != 2 {
		t.Errorf("the store has ticks of %d phones, want both", len(writers))
	}
	if g := next(t, shop.gates(file, time.Now().Add(time.Second)), job); g.State == "open" && g.Stage != "inspection" {
		t.Errorf("%s is open %v after the wash", g.Stage, time.Since(began))
	}
}

// A phone whose clock is 13 hours ahead would have the van dry at once, if
// anything believed it; one that is 8 hours behind would say that the wash
// was yesterday.
func TestBrowserWrongClockOpensNothing(t *testing.T) {
	for name, skew := range map[string]time.Duration{"ahead": 13 * time.Hour, "behind": -8 * time.Hour} {
		t.Run(name, func(t *testing.T) {
			shop := newShop(t)
			p := browsertest.New(t, "A", shop.addr)
			setUp(p)
			be(p, "J")
			job := bringIn(p, "V7")
			isAllAtShop(p)
			shop.sayHour("Bay 2", 20, 40)
			p.Tap("tick:wash")
			stageIs(p, "wash", "done")
			washed := time.Now()
			for i := range 6 {
				read(p, string(rune('1'+i)), "19")
			}
			isAllAtShop(p)
			before := stages(p)

			shop.stop()
			isOffline(p)
			p.Skew(skew)
			p.Close()
			p.Start()
			openJob(p, job)
			if drift := browsertest.JS[float64](p, "Date.now()") - float64(time.Now().UnixMilli()); (drift > 0) != (skew > 0) {
				t.Fatalf("the phone's clock is off by %.0f ms, the test proves nothing", drift)
			}
			if got := stage(p, "dry"); got == "open" || got == "done" {
				t.Errorf("with the clock wrong by %v, dry is %s", skew, got)
			}
			if got := stages(p); opened(before, got) {
				t.Errorf("with the clock wrong by %v, the steps went from\n%s to\n%s", skew, before, got)
			}
			t.Logf("offline with the clock wrong by %v: %s", skew, p.Text("gate-now"))
			read(p, "1", "19.5")

			shop.start()
			isAllAtShop(p)
			t.Logf("online again: %s", p.Text("gate-now"))
			if got := stages(p); opened(before, got) {
				t.Errorf("online again, the steps went from\n%s to\n%s", before, got)
			}
			at := time.Now().Add(time.Second)
			lines, file := shop.export()
			if n := count(lines, "reading", nil); n != 7 {
				t.Errorf("the store has %d readings, want 7: nothing is lost to a wrong clock", n)
			}
			g := gateOf(t, shop.gates(file, at), "dry")
			if g.State == "open" || g.State == "done" {
				t.Errorf("the store says that %s is %s", g.Stage, g.State)
			}
			if g.Until != 0 && time.UnixMilli(g.Until).Before(washed.Add(12*time.Hour-time.Second)) {
				t.Errorf("dry at %v, before twelve hours after the wash at %v", time.UnixMilli(g.Until), washed)
			}
		})
	}
}

// opened reports whether a step is open or done in after that was not before.
func opened(before, after string) bool {
	was := map[string]bool{}
	for _, s := range strings.Fields(before) {
		was[s] = true
	}
	for _, s := range strings.Fields(after) {
		if !was[s] && (strings.HasSuffix(s, "=open") || strings.HasSuffix(s, "=done")) {
			return true
		}
	}
	return false
}
