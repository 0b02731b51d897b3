package browsertest

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"github.com/chromedp/chromedp"
)

// do runs steps on the open tab within Patience, or fails the test.
func (p *Phone) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if err := p.try(steps...); err != nil {
		p.t.Fatalf("%s: %v\n%s", p.name, err, p.state())
	}
}

func (p *Phone) try(steps ...chromedp.Action[chromedp.Void]) error {
	ctx, cancel := context.WithTimeout(p.ctx, Patience)
	defer cancel()
	return chromedp.Do(ctx, steps...)
}

// Open goes to a path of the shop's server, such as "/#/board", and waits
// until the document is read. What the page then does is for Until.
func (p *Phone) Open(path string) {
	p.t.Helper()
	p.do(chromedp.Navigate(p.place.Origin + path))
}

// Browse goes to any address, and says why if it cannot.
func (p *Phone) Browse(url string) error {
	return p.try(chromedp.Navigate(url))
}

// Reload loads the open page again.
func (p *Phone) Reload() {
	p.t.Helper()
	p.do(chromedp.Reload())
}

// ReadyOffline waits until the service worker has the whole app: only then can
// the page be opened without a server. A worker that is active counts; one
// that controls this very page does not yet, because the first visit may stay
// uncontrolled until the next load.
func (p *Phone) ReadyOffline() {
	p.t.Helper()
	p.Until("the app to be kept for offline use",
		`navigator.serviceWorker.getRegistration().then(r => r?.active?.state === 'activated')`)
}

// JS evaluates an expression of JavaScript, waits for its promise, and decodes
// the value.
func JS[T any](p *Phone, expression string) T {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, Patience)
	defer cancel()
	value, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		p.t.Fatalf("%s: %.120s: %v\n%s", p.name, expression, err, p.state())
	}
	return value
}

// Until polls a JavaScript condition until it is true and returns how long
// that took. It survives navigation, and after Patience it fails the test.
// what says what is waited for.
func (p *Phone) Until(what, condition string) time.Duration {
	p.t.Helper()
	// !!(promise) would be true at once: await first.
	expression := "(async () => !!(await (" + condition + ")))()"
	began := time.Now()
	var last error
	for time.Since(began) < Patience {
		ctx, cancel := context.WithTimeout(p.ctx, 5*time.Second)
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](expression, chromedp.EvalAwaitPromise))
		cancel()
		if err == nil && ok {
			return time.Since(began)
		}
		last = err
		time.Sleep(5 * time.Millisecond)
	}
	p.t.Fatalf("%s: waited %v in vain for %s (%s; last error %v)\n%s", p.name, Patience, what, condition, last, p.state())
	return 0
}

// find is the JavaScript for the visible element with a data-testid. What an
// open dialog holds comes first: it lies over the rest. A file input counts
// though it is hidden, because the label over it is what a finger meets.
func find(id string) string {
	return `(() => {
		const all = '[data-testid=' + CSS.escape(` + strconv.Quote(id) + `) + ']';
		return [...document.querySelectorAll('dialog[open] ' + all), ...document.querySelectorAll(all)]
			.find(e => e.checkVisibility() || e.type === 'file');
	})()`
}

// Sees waits until the element with this data-testid is there and visible.
func (p *Phone) Sees(id string) {
	p.t.Helper()
	p.Until(id+" on the screen", find(id))
}

// SeesNot waits until no element with this data-testid is visible.
func (p *Phone) SeesNot(id string) {
	p.t.Helper()
	p.Until(id+" to leave the screen", "!"+find(id))
}

// Has reports whether the element is on the screen at this moment.
func (p *Phone) Has(id string) bool {
	p.t.Helper()
	return JS[bool](p, "!!"+find(id))
}

// Tap waits for the element with this data-testid to be there, enabled, and
// the topmost thing at its middle, and taps it by real touch events. A page
// that moves under the finger makes a tap miss; then it taps again, as a
// person does. What the element does with the tap is never asked twice.
func (p *Phone) Tap(id string) {
	p.t.Helper()
	p.Until(id+" to be there", find(id))
	JS[bool](p, "(globalThis.met = 'nothing', globalThis.tapped = false)")
	for began := time.Now(); time.Since(began) < Patience; {
		p.Until(id+" ready for a tap", `(() => {
			if (globalThis.tapped) return true; // the tap before only took its time
			const e = `+find(id)+`;
			if (!e || e.disabled || e.getAttribute('aria-disabled') === 'true') return false;
			e.scrollIntoView({block: 'center', behavior: 'instant'});
			const r = e.getBoundingClientRect();
			const top = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
			return top && (e.contains(top) || top.closest('label')?.control === e);
		})()`)
		at := JS[[]float64](p, `(() => {
			if (globalThis.tapped) return [];
			const e = `+find(id)+`;
			if (!e) return [0]; // gone since: look again
			const r = e.getBoundingClientRect();
			// On the document, because a page may put another element with this
			// id in e's place before the finger is there.
			document.addEventListener('click', click => {
				const id = '[data-testid=' + CSS.escape(`+strconv.Quote(id)+`) + ']';
				globalThis.met = click.target.closest('[data-testid]')?.dataset.testid ?? click.target.tagName;
				if (click.target.closest(id) || click.target.closest('label')?.querySelector(id)) globalThis.tapped = true;
			}, {capture: true, once: true});
			return [r.x + r.width / 2, r.y + r.height / 2];
		})()`)
		if len(at) == 0 {
			return
		}
		if len(at) == 1 {
			continue
		}
		if p.width >= 600 {
			p.do(chromedp.MouseClickXY(at[0], at[1]))
		} else {
			p.do(chromedp.TapXY(at[0], at[1]))
		}
		if JS[bool](p, tapped) {
			return
		}
		p.t.Logf("%s: the tap on %s missed and met %s; again", p.name, id, JS[string](p, "globalThis.met"))
	}
	p.t.Fatalf("%s: every tap on %s missed\n%s", p.name, id, p.state())
}

// tapped waits for the click that a tap makes. A tap may have left the page: then
// nothing here knows of it.
const tapped = `new Promise(ok => {
	const until = performance.now() + 5000;
	const look = () => globalThis.tapped !== false || performance.now() > until ? ok(globalThis.tapped !== false) : setTimeout(look, 5);
	look();
})`

// Type taps a field and types text into it in place of what was there.
func (p *Phone) Type(id, text string) {
	p.t.Helper()
	p.Tap(id)
	p.Until(id+" to take the typing", `(() => { const e = `+find(id)+`; e.focus(); e.select?.(); return document.activeElement === e; })()`)
	if text == "" {
		p.do(chromedp.KeyEvent("\b"))
		return
	}
	p.do(chromedp.KeyEvent(text))
}

// Choose picks an option of a select element by its value or its text.
func (p *Phone) Choose(id, option string) {
	p.t.Helper()
	p.Until(option+" in "+id, `(() => {
		const e = `+find(id)+`;
		const o = e && [...e.options].find(o => o.value === `+strconv.Quote(option)+` || o.text === `+strconv.Quote(option)+`);
		if (!o) return false;
		e.value = o.value;
		e.dispatchEvent(new Event('input', {bubbles: true}));
		e.dispatchEvent(new Event('change', {bubbles: true}));
		return true;
	})()`)
}

// Upload puts a file into a file input, as the camera does.
func (p *Phone) Upload(id, file string) {
	p.t.Helper()
	p.Until(id+" to take a file", `(() => {
		const e = `+find(id)+`;
		document.querySelector('[data-upload-here]')?.removeAttribute('data-upload-here');
		e?.setAttribute('data-upload-here', '');
		return e;
	})()`)
	p.do(chromedp.SetUploadFiles(chromedp.CSS("[data-upload-here]"), []string{file}))
}

// Text is what a person reads in the element with this data-testid; "" if it
// is not on the screen.
func (p *Phone) Text(id string) string {
	p.t.Helper()
	return JS[string](p, "("+find(id)+")?.innerText ?? ''")
}

// Reads waits until the element's text contains the words, in any case of
// letters.
func (p *Phone) Reads(id, words string) {
	p.t.Helper()
	p.Until(fmt.Sprintf("%s to read %q", id, words),
		"("+find(id)+")?.innerText.toLowerCase().includes("+strconv.Quote(words)+".toLowerCase())")
}

// Data is the value of a data- attribute of the element, "" if there is none.
func (p *Phone) Data(id, name string) string {
	p.t.Helper()
	return JS[string](p, "("+find(id)+")?.getAttribute("+strconv.Quote("data-"+name)+") ?? ''")
}

// Screenshot writes a picture of the screen to dir/name.png.
func (p *Phone) Screenshot(dir, name string) string {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, Patience)
	defer cancel()
	picture, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		p.t.Fatalf("%s: screenshot: %v", p.name, err)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		p.t.Fatal(err)
	}
	path := filepath.Join(dir, name+".png")
	if err := os.WriteFile(path, picture, 0o644); err != nil {
		p.t.Fatal(err)
	}
	return path
}

// state says what a person would see and what the console said, for a failed
// test's log.
func (p *Phone) state() string {
	ctx, cancel := context.WithTimeout(p.ctx, 5*time.Second)
	defer cancel()
	seen, err := chromedp.Run(ctx, chromedp.Evaluate[string](
		`location.href + '\n' + (document.body?.innerText ?? '').slice(0, 1500)`))
	if err != nil {
		seen = "page does not answer: " + err.Error()
	}
	return "screen: " + seen + "\nconsole: " + p.Console()
}
