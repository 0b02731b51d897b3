package pwa_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"bayhold/server/browsertest"
)

// screens is the folder for a picture of every screen; without it none is made.
var screens = os.Getenv("BAYHOLD_SCREENSHOTS")

// screen is one thing to look at: an address, and the taps (test ids) that
// lead to it from there.
type screen struct {
	name, query, hash string
	taps              []string
	want              string // a test id that must then be there
}

var all = []screen{
	{"home", "", "#/", nil, "job-row:V5"},
	{"home-offline", "net=off", "#/", nil, "job-row:V5"},
	{"who", "me=none", "#/", []string{"me"}, "person:J"},
	{"setup-first", "shop=none", "#/", nil, "setup-shop-name"},
	{"meeting", "shop=none&net=off", "#/", nil, "meeting"},
	{"setup", "", "#/setup", nil, "person-save"},
	{"rules", "", "#/rules", nil, "rule-change:margin"},
	{"rule", "", "#/rules", []string{"rule-change:margin", "pad-4"}, "pad-ok"},
	{"own-steps", "", "#/steps/van", nil, "back:check-in"},
	{"own-step", "", "#/steps/van", []string{"own-add", "own-panel"}, "own-done"},
	{"new", "", "#/new", []string{"sort:van"}, "new-job-save"},
	{"new-size", "", "#/new", []string{"sort:high-van", "size-usual"}, "size-long"},
	{"new-bus", "", "#/new", []string{"sort:bus"}, "drops-count"},
	{"new-refused", "", "#/new", []string{"new-job-save"}, "refusal"},
	{"job-open", "", "#/job/job-V1", nil, "tick:wipe:left-front"},
	{"job-waits", "", "#/job/job-V3", nil, "gate-now"},
	{"job-held", "", "#/job/job-V5", nil, "waive"},
	{"job-reading", "", "#/job/job-V2", nil, "read:1"},
	{"job-wet", "", "#/job/job-wet", nil, "waive"},
	{"job-risen", "", "#/job/job-risen", nil, "waive"},
	{"job-test", "", "#/job/job-V4", nil, "evidence-now:patch-test"},
	{"job-offline", "net=off", "#/job/job-V1", nil, "gate-now"},
	{"job-noted", "", "#/job/job-V1", []string{"tick:wipe:left-front"}, "undo"},
	{"job-not-stored", "refuse", "#/job/job-V1", []string{"tick:wipe:left-front"}, "refusal"},
	{"job-walk", "", "#/job/job-walk", nil, "pin-w:hood"},
	{"job-soon", "", "#/job/job-soon", nil, "gate-now"},
	{"job-checkin", "", "#/job/job-checkin", nil, "walk-owner"},
	{"job-strip", "", "#/job/job-strip", nil, "tick:strip"},
	{"job-survey", "", "#/job/job-survey", nil, "form:feature"},
	{"flats", "", "#/job/job-survey", []string{"flats", "flats-all"}, "flats-save"},
	{"form-sort", "", "#/job/job-survey", []string{"form:feature"}, "pick:sort:channel"},
	{"form-number", "", "#/job/job-survey", []string{"form:feature", "pick:sort:channel", "pick:shape:V", "pad-8"}, "pad-ok"},
	{"form-skip", "", "#/job/job-survey", []string{"form:feature", "pick:sort:rivets", "pad-2", "pad-ok"}, "skip:length"},
	{"panel-film", "", "#/job/job-survey", []string{"tile:left-rear"}, "panel-film"},
	{"job-film", "", "#/job/job-film", nil, "form:film"},
	{"form-panels", "", "#/job/job-film", []string{"form:film"}, "pick:panels:all"},
	{"form-family", "", "#/job/job-film", []string{"form:film", "pick:panels:all"}, "pick:family:cast"},
	{"form-text", "", "#/job/job-film", []string{"form:film", "pick:panels:all", "pick:family:cast", "skip:laminate", "skip:adhesive", "skip:thickness", "pick:printed:true", "skip:months"}, "type:batch"},
	{"form-limit", "", "#/job/job-film", []string{"form:limit"}, "pick:key:surface_floor"},
	{"job-refused", "", "#/job/job-refused", nil, "refuse"},
	{"refuse", "", "#/job/job-refused", []string{"refuse"}, "refuse:declined"},
	{"job-asks", "", "#/job/job-asks", nil, "asked:film-age:unknown"},
	{"job-signs", "", "#/job/job-signs", nil, "paper-owner"},
	{"paper", "", "#/job/job-signs", []string{"paper-owner"}, "sign-save"},
	{"job-trials", "", "#/job/job-trials", nil, "removal"},
	{"form-trial", "", "#/job/job-trials", []string{"form:trial"}, "type:place"},
	{"form-paint", "", "#/job/job-paint", []string{"form:paint", "pick:cure:baked"}, "date-ok"},
	{"form-list", "", "#/job/job-paint", []string{"form:paint", "pick:cure:factory", "pad-9", "pad-0", "pad-ok"}, "list-enough"},
	{"form-patch", "", "#/job/job-patch", []string{"form:patch-on"}, "pick:places:3"},
	{"job-fit", "", "#/job/job-fit", nil, "fits:left-rear"},
	{"job-lay", "", "#/job/job-lay", nil, "begin:lay:left-rear"},
	{"job-heat", "", "#/job/job-heat", nil, "pace"},
	{"pace", "", "#/job/job-heat", []string{"pace"}, "pace:all"},
	{"pace-runs", "", "#/job/job-heat", []string{"pace", "pace:all", "gun-go"}, "gun-pause"},
	{"pace-reads", "", "#/job/job-heat", []string{"pace", "pace:all", "gun-film", "pad-9", "by-infrared"}, "pad-back"},
	{"pace-ends", "", "#/job/job-heat", []string{"pace", "pace:all", "rivet-10"}, "gun-part"},
	{"job-edges", "", "#/job/job-edges", nil, "tick:edge-check:left-rear"},
	{"job-pin", "", "#/job/job-pin", nil, "pin-redone"},
	{"edge-finding", "", "#/job/job-edges", []string{"edge-pin", "finding-edge-up"}, "finding-save"},
	{"job-early", "", "#/job/job-early", nil, "paper-early"},
	{"job-rest", "", "#/job/job-rest", nil, "gate-now"},
	{"job-count", "", "#/job/job-count", nil, "form:risen"},
	{"job-handover", "", "#/job/job-handover", nil, "paper-driver"},
	{"care", "", "#/job/job-handover", []string{"paper-driver", "care-es"}, "sign-save"},
	{"job-callback", "", "#/job/job-callback", nil, "leaves"},
	{"steps", "", "#/job/job-heat", []string{"steps-done", "steps-film"}, "steps-done"},
	{"job-gone", "", "#/job/none", nil, "job-gone"},
	{"pad", "", "#/job/job-V2", []string{"read:1"}, "pad"},
	{"pad-typed", "", "#/job/job-V2", []string{"read:1", "pad-minus", "pad-7", "pad-dot", "pad-6", "pad-unit-F"}, "pad-ok"},
	{"pad-infrared", "", "#/job/job-V2", []string{"read:1", "by-infrared", "emissivity-0.92"}, "pad-ok"},
	{"pad-refused", "refuse", "#/job/job-V2", []string{"read:1", "pad-7", "pad-ok"}, "refusal"},
	{"pad-humidity", "", "#/job/job-V2", []string{"climate", "pad-2", "pad-0", "pad-ok"}, "pad-ok"},
	{"minmax", "", "#/job/job-V2", []string{"minmax"}, "minmax-next"},
	{"panel", "", "#/job/job-V1", []string{"tile:left-door"}, "sheet-close"},
	{"which", "", "#/job/job-V1", []string{"setback:touched"}, "which:all"},
	{"evidence", "", "#/job/job-V5", []string{"evidence:card-strips", "strips-6"}, "evidence-passed"},
	{"finding-where", "", "#/job/job-V1", []string{"finding-add"}, "pin-f:hood"},
	{"hold", "", "#/job/job-V1", []string{"hold"}, "hold-back"},
	{"hold-nothing", "", "#/job/job-V5", []string{"hold"}, "hold-back"},
	{"absent", "", "#/job/job-V1", []string{"owner-absent"}, "absent-phone"},
	{"sign-phone", "", "#/job/job-V1", []string{"owner-absent", "absent-phone"}, "sign-save"},
	{"finding", "", "#/job/job-V1", []string{"pin-w:hood", "finding-chip", "size-5"}, "finding-save"},
	{"sign", "", "#/job/job-V1", []string{"sign-owner"}, "sign-canvas"},
	{"go-ahead", "", "#/job/job-V5", []string{"waive"}, "waive-save"},
	{"move-size", "", "#/job/job-V5", []string{"move", "size-open"}, "size-save"},
	{"move", "", "#/job/job-V5", []string{"move"}, "move:Bay 2:unknown"},
	{"lines-where", "net=off", "#/job/job-V5", []string{"net"}, "export"},
	{"phones", "", "#/phones", nil, "phone:bay 4 phone"},
	{"shared", "shared", "#/setup", nil, "needs:person.add"},
	{"pin", "shared", "#/setup", []string{"setup-save"}, "pin"},
	{"moved", "moved", "#/moved", nil, "moved-held"},
	{"phone", "net=off&share", "#/phone", nil, "install"},
	{"phone-offer", "offer", "#/phone", nil, "install"},
	{"leaves", "", "#/job/job-V5", []string{"close"}, "close-handed-over"},
	{"note", "", "#/job/job-V5", []string{"note-add"}, "note-save"},
	{"voice", "", "#/job/job-V5", []string{"voice-add"}, "voice-record"},
	{"board", "", "#/board", nil, "place:Bay 4"},
	{"board-offline", "net=off", "#/board", nil, "place:Bay 4"},
	{"air", "", "#/air/place-5", nil, "air"},
	{"plan", "", "#/plan", nil, "planned:V5"},
	{"walk", "", "#/walk", []string{"see:Bay 1 wash"}, "see:Bay 5"},
	{"instruments", "", "#/instruments", []string{"instrument-air"}, "instrument-rh"},
	{"hours", "", "#/hours", nil, "measures:Bay 4"},
	{"find", "", "#/find", nil, "question"},
	{"found", "", "#/find/mk%2011", nil, "found:V7"},
	{"learn", "", "#/learn", nil, "look:call-back"},
	{"check", "", "#/check", nil, "check"},
	{"late", "", "#/late/job-V5", nil, "late"},
	{"late-refused", "", "#/late/job-V1", []string{"late:wipe:left-front:done"}, "refusal"},
	{"parts", "", "#/parts", nil, "parts"},
	{"owner-link", "me=desk", "#/owner/job-V5", []string{"link-give"}, "link-address"},
	{"owner-before", "", "/owner/before", nil, "phase:before"},
	{"owner-asks", "", "/owner/asks", []string{"declined:1"}, "send:1"},
	{"owner-paper", "", "/owner/paper", nil, "owner-sign"},
	{"owner-gone", "", "/owner/gone", nil, "owner-record"},
	{"owner-over", "", "/owner/over", nil, "owner-failed"},
}

// faults finds what no screen may have: anything wider than the screen, a
// target under 48 px, on a phone of usual width one under 57 px (15 mm at 96 to
// the inch) where hands wear gloves and a word that breaks in its middle, and
// what the policy refused.
const faults = `(() => {
  const bad = [...(globalThis.wrong ?? [])];
  const root = document.scrollingElement;
  if (root.scrollWidth > innerWidth) bad.push('page is ' + root.scrollWidth + ' wide on ' + innerWidth);
  const sheet = document.querySelector('dialog[open]');
  if (sheet && sheet.scrollWidth > sheet.clientWidth) bad.push('sheet overflows');
  for (const el of (sheet ?? document).querySelectorAll('a[href], button, input, select, textarea, summary, label.press')) {
    if (el.closest('.unseen') || el.matches('.unseen') || !el.checkVisibility()) continue;
    const box = (el.closest('label.check') ?? el).getBoundingClientRect();
    const name = (el.getAttribute('data-testid') ?? '') + ' ' + (el.textContent ?? '').trim().slice(0, 30);
    const gloved = innerWidth >= 390 && el.matches('.act, .key, .hit, .choice.glove > *, .sheet .choice > *, .found .choice > *, .dots .press, .pad .press, .moves .press, .noted .press, .strips .press, .people .press');
    const least = gloved ? 56.5 : 47.5;
    if (box.height < least || box.width < least) bad.push('target ' + Math.round(box.width) + ' x ' + Math.round(box.height) + ': ' + name);
    if (box.right > innerWidth + 1 || box.left < -1) bad.push('beside the screen: ' + name);
    if (el.scrollWidth > el.clientWidth + 2 && getComputedStyle(el).display !== 'inline' && el.matches('button, a.press, a.act')) bad.push('text cut: ' + name);
    if (el.matches('.act, .press') && [...el.children].some((c) => c.checkVisibility() && !c.matches('.unseen') && (c.getBoundingClientRect().left < box.left - 1 || c.getBoundingClientRect().right > box.right + 1))) bad.push('sticks out of its button: ' + name);
  }
  const usual = innerWidth >= 390 && !(document.documentElement.style.fontSize && document.documentElement.lang === 'es'); // its words are longer than a phone is wide then
  for (const el of usual ? (sheet ?? document).querySelectorAll('button, a.press, a.act, h1, h2, .word, .typed output, .noted span, .rules .grow, .fact') : []) {
    if (el.closest('.unseen') || !el.checkVisibility()) continue;
    const walk = document.createTreeWalker(el, NodeFilter.SHOW_TEXT), range = document.createRange();
    while (walk.nextNode()) if (!walk.currentNode.data.includes('://')) for (const word of walk.currentNode.data.matchAll(/\p{L}{3,}/gu)) {
      range.setStart(walk.currentNode, word.index);
      range.setEnd(walk.currentNode, word.index + word[0].length);
      const [first, ...more] = range.getClientRects();
      if (more.some((r) => r.top > first.top + 4)) bad.push('word broken: ' + word[0] + ' in ' + el.tagName + '.' + el.className);
    }
  }
  // 'Not done', 'not measured' and 'from memory' are as large as 'done'.
  for (const acts of (sheet ?? document).querySelectorAll('.acts')) {
    const boxes = [...acts.children].filter((el) => el.matches('.act:not(.low), .press')).map((el) => el.getBoundingClientRect());
    const apart = (key) => Math.max(...boxes.map((b) => b[key])) - Math.min(...boxes.map((b) => b[key])) > 1.5 || boxes.some((b) => b[key] < 56.5);
    if (apart('width') || apart('height')) bad.push('answers of sizes ' + boxes.map((b) => Math.round(b.width) + ' x ' + Math.round(b.height)).join(', ') + ': ' + acts.innerText.replace(/\s+/g, ' ').trim());
  }
  for (const el of document.querySelectorAll('.answer, .tile, .vehicle, .stay, .bay, .lap')) {
    if (el.scrollWidth > el.clientWidth + 2) bad.push('cut in ' + el.className + ': ' + el.textContent.trim().slice(0, 40));
  }
  return bad;
})()`

// sensible finds what keeps a screen reader from telling a screen: landmarks and
// one heading a screen, a name on every sheet and control, where the step at
// hand is.
const sensible = `(() => {
  const bad = [], dialog = document.querySelector('dialog[open]');
  if (document.querySelectorAll('h1').length !== 1) bad.push('no single h1');
  if (document.querySelectorAll('main').length !== 1) bad.push('no single main');
  if (dialog && !document.getElementById(dialog.getAttribute('aria-labelledby'))?.textContent.trim()) bad.push('a sheet without a name');
  if (dialog && !dialog.contains(document.activeElement)) bad.push('the focus is not in the sheet');
  const steps = document.querySelectorAll('.steps summary[aria-current=step]');
  if (document.querySelector('.steps') && steps.length !== 1) bad.push(steps.length + ' steps are at hand');
  for (const el of document.querySelectorAll('button, a[href]')) {
    const name = el.getAttribute('aria-label') ?? el.textContent.trim();
    if (!name) bad.push('a control without a name: ' + el.outerHTML.slice(0, 90));
  }
  for (const pressed of document.querySelectorAll('[aria-pressed]')) if (!pressed.closest('[role=group], fieldset, .people, .vehicle-map, .strips, .parts, [data-testid=parts]')) bad.push('a choice outside any group: ' + pressed.textContent.trim().slice(0, 30));
  return bad;
})()`

// judge runs axe-core's rules on the page as it stands: all of them, or those
// on colours, which are all that a night differs in.
func judge(only string) string {
	return `axe.run(document, { resultTypes: ['violations'], ` + only + ` }).then((r) =>
		r.violations.flatMap((v) => v.nodes.map((n) => 'axe ' + v.id + ': ' + n.html.slice(0, 140) + ' ' + (n.any[0]?.message ?? n.all[0]?.message ?? n.none[0]?.message ?? ''))))`
}

// TestBrowserEveryScreen opens every screen on a phone by day and finds nothing
// cut, nothing too small to hit, nothing refused by the policy, nothing that a
// screen reader cannot tell, and nothing that axe-core objects to. Then, as it
// stands, it is looked at by night, as a phone whose owner reads text at 200 %,
// and as a small phone; for pictures also at a desk. Then it is told in Spanish,
// without a word of English left on it, and looked at in all the same ways.
func TestBrowserEveryScreen(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	for _, s := range all {
		t.Run(s.name, func(t *testing.T) {
			if err := chromedp.Do(ctx, chromedp.EmulateViewport(390, 844, chromedp.EmulateScale(2))); err != nil {
				t.Fatal(err)
			}
			if err := open(ctx, base, s, "day"); err != nil {
				t.Fatal(err)
			}
			find := func(where, js string) {
				t.Helper()
				for _, f := range eval[[]string](t, ctx, js) {
					t.Errorf("%s: %s", where, f)
				}
			}
			find("phone", faults)
			find("phone", sensible)
			eval[bool](t, ctx, `new Promise((done) => {
				const axe = document.createElement('script');
				axe.src = '/axe.js';
				axe.onload = () => done(true);
				axe.onerror = () => done(false);
				document.head.append(axe);
			})`)
			find("phone", judge(""))
			shot(t, ctx, s.name+"_phone_day")

			face(t, ctx, "night")
			find("night", faults)
			find("night", judge("runOnly: ['cat.color']"))
			shot(t, ctx, s.name+"_phone_night")

			face(t, ctx, "day")
			eval[bool](t, ctx, `(document.documentElement.style.fontSize = '200%', true)`)
			find("large text", faults)
			shot(t, ctx, s.name+"_large-text_day")

			eval[bool](t, ctx, `(document.documentElement.style.fontSize = '', true)`)
			size := func(name string, w, h int64) {
				t.Helper()
				if err := chromedp.Do(ctx, chromedp.EmulateViewport(w, h, chromedp.EmulateScale(2))); err != nil {
					t.Fatal(err)
				}
				find(name, faults)
			}
			if screens != "" {
				size("desk", 1280, 800)
				shot(t, ctx, s.name+"_desk_day")
			}
			size("small", 320, 568)
			shot(t, ctx, s.name+"_small_day")

			face(t, ctx, "night")
			if err := inSpanish(ctx, s); err != nil {
				t.Fatal(err)
			}
			if s.name != "parts" && !strings.HasPrefix(s.hash, "/") { // for those who make the app; the server's own words
				find("Spanish", browsertest.English)
			}
			find("Spanish, small, night", faults)
			find("Spanish, small, night", judge("runOnly: ['cat.color']"))
			shot(t, ctx, s.name+"_spanish-small_night")

			face(t, ctx, "day")
			size("Spanish", 390, 844)
			find("Spanish", sensible)
			find("Spanish", judge(""))
			shot(t, ctx, s.name+"_spanish_day")
			eval[bool](t, ctx, `(document.documentElement.style.fontSize = '200%', true)`)
			find("Spanish, large text", faults)
			shot(t, ctx, s.name+"_spanish-large_day")
		})
	}
}

// inSpanish makes the page speak Spanish and goes the screen's way again from
// where it leaves the page: nobody changes the tongue under a sheet. That a sheet
// closed is told late, and the views that the page asks for anew are sent by
// timers that were set before this one.
func inSpanish(ctx context.Context, s screen) error {
	if strings.HasPrefix(s.hash, "/") { // the owner's page, which has words of its own
		if err := until(ctx, "((e) => e && (e.click(), true))("+id("tongue-es")+")"); err != nil {
			return err
		}
		return until(ctx, "document.documentElement.lang === 'es' && "+id(s.want))
	}
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[chromedp.Void](`Promise.all([import('/app/own.js'), import('/app/views/app.js')])
		.then(([own, app]) => own.choose({ tongue: 'es' }).then(() => new Promise((done) => {
			const sheet = document.querySelector('dialog[open]');
			sheet ? sheet.addEventListener('close', done, { once: true }) : done();
			app.closeSheet();
		}))).then(() => new Promise((done) => setTimeout(() => setTimeout(done))))`, chromedp.EvalAwaitPromise)); err != nil {
		return err
	}
	if err := until(ctx, "document.documentElement.lang === 'es'"); err != nil {
		return err
	}
	for i := range s.taps {
		// What an earlier visit left, a gun that runs for one, may be some taps on.
		ahead, err := json.Marshal(append(slices.Clone(s.taps[i+1:]), s.want))
		if err != nil {
			return err
		}
		if err := until(ctx, fmt.Sprintf(`((e) => (e && (e.click(), true)) || %s.some((id) => document.querySelector('[data-testid="' + id + '"]')))(%s)`, ahead, id(s.taps[i]))); err != nil {
			return err
		}
	}
	return drawn(ctx, s)
}

// face turns the page to its day or its night, as the button on it does.
func face(t *testing.T, ctx context.Context, light string) {
	t.Helper()
	if got := eval[string](t, ctx, fmt.Sprintf(`(localStorage.setItem('daynight', %q), dispatchEvent(new Event('daynight')), document.documentElement.dataset.light)`, light)); got != light {
		t.Fatalf("the page is of the %q, not of the %s", got, light)
	}
}

// shot writes what the screen shows, if pictures are wanted.
func shot(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	if screens == "" {
		return
	}
	png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(screens, name+".png"), png, 0o644); err != nil {
		t.Fatal(err)
	}
}
