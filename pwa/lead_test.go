package pwa_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// The lead's screens as the page paints them from the shop server's answer: the
// board has a line on the night and the alarms, the plan a bar for every piece
// of work with its word, the walk a box that stays ticked, a vehicle of
// years ago is found by a word of it, and all of it is
// still there, with its age, when the server is gone, a bay's air with its range
// too.
func TestBrowserLead(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{hash: "#/board", want: "alarm:heater"}, "day"); err != nil {
		t.Fatal(err)
	}
	for what, js := range map[string]string{
		"six nights":               `document.querySelectorAll('[data-testid=night]').length === 6`,
		"what did not count":       `[...document.querySelectorAll('[data-testid=night]')].some((n) => n.textContent.includes('V3:') && n.textContent.includes('did not count'))`,
		"no mark is left unfilled": `!document.body.textContent.includes('⟨')`,
		"what is at risk":          `document.querySelector('[data-testid="alarm:heater"]').textContent.includes('hours stop about')`,
	} {
		if !eval[bool](t, ctx, js) {
			t.Errorf("the board lacks %s: %s", what, eval[string](t, ctx, `document.querySelector('#page').textContent.replace(/\s+/g, ' ')`))
		}
	}
	eval[bool](t, ctx, `(location.hash = '#/plan', true)`)
	if err := until(ctx, id("planned:V5")); err != nil {
		t.Fatal(err)
	}
	if words := eval[string](t, ctx, id("planned:V5")+`.textContent`); !contains(words, "it sweated", "late", "Bay 4") {
		t.Errorf("the plan of V5 says %q", words)
	}
	eval[bool](t, ctx, `(location.hash = '#/walk', true)`)
	if err := until(ctx, id("see:Bay 5")); err != nil {
		t.Fatal(err)
	}
	eval[bool](t, ctx, `(`+id("see:Bay 5")+`.click(), true)`)
	if err := until(ctx, `document.querySelector('[data-testid="see:Bay 5"][aria-checked=true]')`); err != nil {
		t.Error("a tick did not stay")
	}
	eval[bool](t, ctx, `(location.hash = '#/find', true)`)
	if err := until(ctx, id("question")); err != nil {
		t.Fatal(err)
	}
	for _, c := range [][2]string{{"nobody", "Nothing for"}, {"mk 11", "14 vehicles for"}} {
		question, want := c[0], c[1]
		eval[bool](t, ctx, `(() => { const q = `+id("question")+`; q.value = '`+question+`'; q.dispatchEvent(new Event('input')); q.form.requestSubmit(); return true; })()`)
		if err := until(ctx, `document.querySelector('[data-testid=lookup] [role=status]').textContent.includes('`+want+` "`+question+`"')`); err != nil {
			t.Error(err)
		}
	}
	if href := eval[string](t, ctx, id("found:V7")+`.querySelector('a').getAttribute('href')`); href != "/record/job-old.pdf" {
		t.Errorf("a finished vehicle leads to %q", href)
	}
	// The server is gone: what it said last is still there and says so.
	eval[bool](t, ctx, `(globalThis.fetch = () => Promise.reject(new Error('gone')), location.hash = '#/board', true)`)
	if err := until(ctx, id("alarm:heater")); err != nil {
		t.Error("without the server the last answer is lost")
	}
	// So is the picture of a bay that nobody opened here before.
	eval[bool](t, ctx, `(location.hash = '#/air/place-4', true)`)
	if err := until(ctx, `document.querySelector('[data-testid=air] path.range')?.getAttribute('d')`); err != nil {
		t.Error("without the server there is no picture of a bay's air")
	}
}

// A bus side comes in as the drops that were counted for it, on the drawing too.
func TestBrowserDropsOfABus(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{hash: "#/new", taps: []string{"sort:bus"}, want: "drops-count"}, "day"); err != nil {
		t.Fatal(err)
	}
	count := func(side, roll string) {
		eval[bool](t, ctx, `(() => { for (const [key, value] of [['side', '`+side+`'], ['roll', '`+roll+`']]) {
			const input = document.querySelector('[data-testid=drops-' + key + ']');
			input.value = value;
			input.dispatchEvent(new Event('input'));
		} `+id("drops-count")+`.click(); return true; })()`)
	}
	count("12.5", "1370")
	if err := until(ctx, `document.body.textContent.includes('A side has 1 to 30 m')`); err != nil {
		t.Error("what cannot be counted is not refused")
	}
	count("12", "1370")
	if err := until(ctx, id("film:drop-10")); err != nil {
		t.Fatal(err)
	}
	if eval[bool](t, ctx, `!!document.querySelector('[data-testid="film:side-1"], [data-testid="film:drop-11"]')`) {
		t.Error("the side has other panels than its drops")
	}
}

// The answer has its place in the move's sheet from the start: one that comes
// late moves nothing (Chromium's layout shift, as in TestBrowserNothingJumps),
// and one that was there is read out, on a phone and on a small one.
func TestBrowserMayItMove(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: shifts + `
		const straight = fetch, answered = new Promise((go) => { globalThis.answer = go; });
		globalThis.fetch = (...a) => String(a[0]).startsWith('/may/move') ? answered.then(() => straight(...a)) : straight(...a);`}); err != nil {
		t.Fatal(err)
	}
	for _, size := range [][2]int64{{390, 844}, {320, 568}} {
		for _, tongue := range []string{"en", "es"} {
			where := fmt.Sprint(size, tongue)
			if err := chromedp.Do(ctx, chromedp.EmulateViewport(size[0], size[1])); err != nil {
				t.Fatal(err)
			}
			openIn(t, ctx, base, screen{hash: "#/job/job-V5", want: "move"}, tongue)
			eval[bool](t, ctx, "("+id("move")+".click(), true)")
			stands(t, ctx, "may:Bay 2")
			eval[bool](t, ctx, "(shifted.length = 0, answer(), true)")
			stands(t, ctx, "may:Bay 2:no")
			if sum, all := shift(t, ctx); sum != 0 {
				t.Errorf("%s: %.4f moved as the answer came: %v", where, sum, all)
			}
			if eval[bool](t, ctx, id("may:Bay 2:no")+".open") {
				t.Errorf("%s: what came late opened under a finger", where)
			}
			eval[bool](t, ctx, "("+id("sheet-close")+".click(), true)")
			if err := until(ctx, "!document.querySelector('dialog[open]') && ("+id("move")+".click(), true)"); err != nil {
				t.Fatal(err)
			}
			stands(t, ctx, "may:Bay 2:no")
			if words := eval[string](t, ctx, id("may:Bay 2:no")+`.innerText`); tongue == "en" && !contains(words, "better not", "V5 will sweat", "Flame heater off, flush from") {
				t.Errorf("%s: the sheet says %q", where, words)
			}
		}
	}
}

func contains(s string, parts ...string) bool {
	for _, p := range parts {
		if !strings.Contains(s, p) {
			return false
		}
	}
	return true
}
