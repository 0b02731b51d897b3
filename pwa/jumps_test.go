package pwa_test

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// TestBrowserNothingJumps adds up what Chromium calls layout shift (the Layout
// Instability API: share of the screen that moved times how far, without the
// half second after a tap) while screens open and while a line is noted and
// taken back. 0.1 is what web.dev calls good; a hand in a glove gets a tenth.
func TestBrowserNothingJumps(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	const most = 0.01
	if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: shifts}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(390, 844)); err != nil {
		t.Fatal(err)
	}
	for _, s := range []screen{
		{"home", "", "#/", nil, "job-row:V5"},
		{"job", "", "#/job/job-V1", nil, "finding-add"},
		{"noted", "", "#/job/job-V1", []string{"tick:wipe:left-front"}, "undo"},
		{"taken back", "", "#/job/job-V1", []string{"tick:wipe:left-front", "undo"}, "finding-add"},
		{"board", "", "#/board", nil, "place:Bay 4"},
	} {
		if err := open(ctx, base, screen{hash: s.hash, want: append(s.taps, s.want)[0]}, "day"); err != nil {
			t.Fatal(err)
		}
		for _, tap := range s.taps {
			stands(t, ctx, tap)
			eval[bool](t, ctx, "("+id(tap)+".click(), true)")
		}
		stands(t, ctx, s.want)
		sum, shifts := shift(t, ctx)
		if sum > most {
			t.Errorf("%s: %.3f moved, more than %.2f: %v", s.name, sum, most, shifts)
		}
	}
}

// shifts gathers in a page what Chromium reports as moved.
const shifts = `globalThis.shifted = []; new PerformanceObserver((l) => { for (const e of l.getEntries()) if (!e.hadRecentInput)
	shifted.push([e.value, e.sources.map((s) => s.node?.className ?? s.node?.nodeName ?? '').join(' ')]); }).observe({ type: 'layout-shift', buffered: true });`

// shift adds it up.
func shift(t *testing.T, ctx context.Context) (sum float64, all [][]any) {
	t.Helper()
	all = eval[[][]any](t, ctx, "shifted")
	for _, s := range all {
		sum += s[0].(float64)
	}
	return sum, all
}

// openIn opens a screen by day in English or Spanish, 'en' or 'es', until it stands.
func openIn(t *testing.T, ctx context.Context, base string, s screen, tongue string) {
	t.Helper()
	if err := open(ctx, base, s, "day"); err != nil {
		t.Fatal(err)
	}
	if tongue == "es" {
		if err := inSpanish(ctx, s); err != nil {
			t.Fatal(err)
		}
	}
	stands(t, ctx, s.want)
}

// stands waits until a thing is there and two frames longer: what moved has been
// reported by then, and no hand taps before it sees what it taps.
func stands(t *testing.T, ctx context.Context, testid string) {
	t.Helper()
	if err := until(ctx, id(testid)); err != nil {
		t.Fatal(err)
	}
	eval[bool](t, ctx, `new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => done(true)))))`)
}

// What says where the lines are, and what an answer lacks without the shop, comes
// and goes by itself: a second after each line, and with the signal. Nothing moves
// from under a finger for it.
func TestBrowserSignalMovesNothing(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	for _, size := range [][2]int64{{390, 844}, {320, 568}} {
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(size[0], size[1])); err != nil {
			t.Fatal(err)
		}
		for _, s := range []screen{
			{"home", "", "#/", nil, "job-row:V5"},
			{"job", "", "#/job/job-V1", nil, "finding-add"},
			{"job-wet", "", "#/job/job-V5", nil, "finding-add"},
			{"board", "", "#/board", nil, "place:Bay 4"},
			{"phone", "", "#/phone", nil, "own-tongue-es"},
			{"rules", "", "#/rules", nil, "rule:dry_hours"},
			{"setup", "", "#/setup", nil, "place-save"},
		} {
			for _, tongue := range []string{"en", "es"} {
				openIn(t, ctx, base, s, tongue)
				saw := map[float64][]string{}
				for i, net := range []string{"online: true, waiting: 0", "online: true, waiting: 1", "online: false, waiting: 23", "online: false, waiting: 1234", "online: false, waiting: 0"} {
					eval[bool](t, ctx, `import('/app/main.js').then(({app, paint}) => {
						for (const v of Object.values(app.views)) v.net = {...v.net, since: v.now - 3600e3, `+net+`};
						paint();
						return true;
					})`)
					stands(t, ctx, s.want)
					shot(t, ctx, fmt.Sprintf("signal_%s_%d_%s_%d", s.name, size[0], tongue, i))
					at := eval[float64](t, ctx, id(s.want)+".getBoundingClientRect().y + scrollY")
					saw[at] = append(saw[at], net)
				}
				if len(saw) != 1 {
					t.Errorf("%s, %d wide, %s: %s stands at %v", s.name, size[0], tongue, s.want, saw)
				}
			}
		}
	}
}

// A reading changes which dots are asked for. On the screen they stay where they
// are, or the next touch would meet another dot.
func TestBrowserDotsStay(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(390, 844)); err != nil {
		t.Fatal(err)
	}
	if err := open(ctx, base, screen{hash: "#/job/job-V2", want: "lines"}, "day"); err != nil {
		t.Fatal(err)
	}
	stands(t, ctx, "lines")
	where := func() string {
		t.Helper()
		return eval[string](t, ctx, `[...document.querySelectorAll('.dots .press')].map(e => e.querySelector('.dot').innerText + ' at ' + (e.getBoundingClientRect().y + scrollY)).join(', ')`)
	}
	asked := func() string {
		t.Helper()
		return eval[string](t, ctx, `[...document.querySelectorAll('.dots .press.next .dot')].map(e => e.innerText).sort().join()`)
	}
	was, wasAsked := where(), asked()
	ask := func(stale bool) string { // for the others than before
		t.Helper()
		eval[bool](t, ctx, `import('/app/main.js').then(({app, job, paint}) => {
			app.shop.ask = async () => {}; // nothing else comes in
			for (const s of job().spots) s.ask = !s.ask;
			job().stale = `+strconv.FormatBool(stale)+`;
			paint();
			return true;
		})`)
		stands(t, ctx, "lines")
		return where()
	}
	if is := ask(false); is != was {
		t.Errorf("the dots stand\n%s, before\n%s", is, was)
	}
	if is := asked(); is == wasAsked {
		t.Errorf("dots %s are asked for as before", is)
	}
	// What the last visit saw is on screen until the phone has counted: then what
	// is asked for comes first, and stays.
	if is := ask(true); is != was {
		t.Errorf("the dots stand\n%s, before\n%s", is, was)
	}
	again := func() string {
		t.Helper()
		eval[bool](t, ctx, `(location.hash = '#/', true)`)
		stands(t, ctx, "job-row:V2")
		eval[bool](t, ctx, `(location.hash = '#/job/job-V2', true)`)
		stands(t, ctx, "lines")
		return where()
	}
	if is := again(); is != was {
		t.Errorf("opened again, the dots stand\n%s, before\n%s", is, was)
	}
	counted := ask(false)
	if counted == was {
		t.Error("what is asked for by the first count does not come first")
	}
	if is := ask(false); is != counted {
		t.Errorf("the dots stand\n%s, before\n%s", is, counted)
	}
	// A hand that reads one of them meanwhile finds the next where it is.
	ask(true)
	was = again()
	for _, tap := range []string{`document.querySelector('.dots .press:not(.next)')`, `document.querySelector('dialog[open] header button')`} {
		if err := until(ctx, tap+"?.click() === undefined && !!"+tap); err != nil {
			t.Fatal(err)
		}
	}
	if err := until(ctx, "!document.querySelector('dialog[open], [inert]')"); err != nil {
		t.Fatal(err)
	}
	if is := ask(false); is != was {
		t.Errorf("after a touch the dots stand\n%s, before\n%s", is, was)
	}
}

// A logger's air comes when its signal does, perhaps while a hand reads dot after
// dot. The numbers that come with it move nothing that can be touched.
func TestBrowserAirMovesNothing(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	s := screen{"air", "", "#/job/job-V1", nil, "lines"}
	for _, size := range [][2]int64{{390, 844}, {320, 568}} {
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(size[0], size[1])); err != nil {
			t.Fatal(err)
		}
		for _, tongue := range []string{"en", "es"} {
			openIn(t, ctx, base, s, tongue)
			saw := map[string][]string{}
			for i, came := range []string{
				"climate: null, margin: null", // no air yet
				"climate: {air: 21000, rh: 55000, dew: 11600, source: 'logger', age_ms: 600e3}, margin: null", // and no dot read yet
				"climate: {air: 21000, rh: 55000, dew: 11600, source: 'logger', age_ms: 600e3}, margin: {spot_name: 'left side mid-panel', value: 13000}",
				"climate: {air: -11500, rh: 100000, dew: -11600, source: 'by hand', age_ms: 9e7}, margin: {spot_name: 'rear door lower edge', value: -13400}",
			} {
				eval[bool](t, ctx, `import('/app/main.js').then(({app, job, paint}) => {
					app.shop.ask = async () => {}; // nothing else comes in
					Object.assign(job(), {`+came+`});
					paint();
					return true;
				})`)
				stands(t, ctx, s.want)
				eval[bool](t, ctx, "("+id("climate")+".scrollIntoView({block: 'center'}), true)")
				shot(t, ctx, fmt.Sprintf("air_%d_%s_%d", size[0], tongue, i))
				at := eval[string](t, ctx, `[...document.querySelectorAll('main .press')].map((e) => Math.round(e.getBoundingClientRect().y + scrollY)).join(' ')`)
				saw[at] = append(saw[at], came)
			}
			if len(saw) != 1 {
				t.Errorf("%d wide, %s: what can be touched stands at %v", size[0], tongue, saw)
			}
		}
	}
}

// A line of somebody else's makes what stands above longer, or shorter, while a hand
// reads dot after dot. What it touched last stays where it is on the screen, and with
// nothing touched in sight what is in the middle. At the top the page does not scroll.
// So it is where the browser holds the page by itself, and where it says that it does not;
// the real one of that kind has a test of its own (WebKit).
func TestBrowserStillUnderTheHand(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	without := browser(t)
	if _, err := chromedp.Call(without, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: noAnchors}); err != nil {
		t.Fatal(err)
	}
	s := screen{"still", "", "#/job/job-V2", nil, "lines"}
	// What lies under the thumb changes with it, as it does when a step closes.
	const longer = "app.fault = 'Somebody said something that takes four lines. '.repeat(4); job().gate = {...job().gate, ask: '', state: 'waits'};"
	const shorter = "app.fault = ''; job().gate = {...job().gate, ask: '1', state: 'open'}"
	for _, row := range []struct {
		name, touch, amid string // touched, and in the middle of the screen by then
		comes             string
		stays             string // or the page, at its top
	}{
		{"a dot was touched", "read:3", "read:4", longer, "read:3"},
		{"nothing was touched", "", "read:3", longer, "read:3"},
		{"it was touched far away", "note-add", "climate", longer, "climate"},
		{"it goes", "evidence:sweat-test", "climate", longer + "job().evidence = []", "climate"},
		{"at the top", "read:3", "", longer, ""},
	} {
		for anchors, ctx := range map[bool]context.Context{true: ctx, false: without} {
			if err := open(ctx, base, s, "day"); err != nil {
				t.Fatal(err)
			}
			stands(t, ctx, s.want)
			middle := func(what string) (at [2]float64) {
				eval[bool](t, ctx, "("+id(what)+".scrollIntoView({block: 'center'}), true)")
				stands(t, ctx, what)
				return eval[[2]float64](t, ctx, "(({x, y, width, height}) => [x + width / 2, y + height / 2])("+id(what)+".getBoundingClientRect())")
			}
			if row.touch != "" {
				at := middle(row.touch)
				if err := chromedp.Do(ctx, chromedp.MouseClickXY(at[0], at[1])); err != nil {
					t.Fatal(err)
				}
				for _, then := range []string{
					"document.querySelector('dialog[open]') && document.getElementById('page').inert",
					"document.querySelector('dialog[open] header button').click() === undefined",
					"!document.querySelector('dialog[open], [inert]')",
				} {
					if err := until(ctx, then); err != nil {
						t.Fatal(err)
					}
				}
			}
			if row.amid != "" {
				middle(row.amid)
			} else {
				eval[bool](t, ctx, "(scrollTo(0, 0), true)")
			}
			where := func(change string) float64 {
				eval[bool](t, ctx, `import('/app/main.js').then(({app, job, paint}) => {
					app.shop.ask = async () => {}; // nothing else comes in
					`+change+`;
					paint();
					return true;
				})`)
				stands(t, ctx, s.want)
				if row.stays == "" {
					return eval[float64](t, ctx, "scrollY")
				}
				return eval[float64](t, ctx, id(row.stays)+".getBoundingClientRect().y")
			}
			was := where("")
			for _, change := range []string{row.comes, shorter} {
				if is := where(change); math.Abs(is-was) > 1 {
					t.Errorf("%s, the browser anchors %v: %q stands at %.0f, before %.0f, after %s", row.name, anchors, row.stays, is, was, change)
				}
			}
		}
	}
}

// noAnchors takes scroll anchoring from a page, and has it say so.
const noAnchors = `{
	const { supports } = CSS, none = new CSSStyleSheet();
	CSS.supports = (what, how) => what !== 'overflow-anchor' && supports.call(CSS, what, how);
	none.replaceSync('html { overflow-anchor: none }');
	document.adoptedStyleSheets = [...document.adoptedStyleSheets, none];
}`
