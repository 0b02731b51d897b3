package pwa_test

import (
	"context"
	"fmt"
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
				if err := open(ctx, base, s, "day"); err != nil {
					t.Fatal(err)
				}
				if tongue == "es" {
					if err := inSpanish(ctx, s); err != nil {
						t.Fatal(err)
					}
				}
				stands(t, ctx, s.want)
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
	eval[bool](t, ctx, `(location.hash = '#/', true)`)
	stands(t, ctx, "job-row:V2")
	eval[bool](t, ctx, `(location.hash = '#/job/job-V2', true)`)
	stands(t, ctx, "lines")
	if is := where(); is != was {
		t.Errorf("opened again, the dots stand\n%s, before\n%s", is, was)
	}
	counted := ask(false)
	if counted == was {
		t.Error("what is asked for by the first count does not come first")
	}
	if is := ask(false); is != counted {
		t.Errorf("the dots stand\n%s, before\n%s", is, counted)
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
			if err := open(ctx, base, s, "day"); err != nil {
				t.Fatal(err)
			}
			if tongue == "es" {
				if err := inSpanish(ctx, s); err != nil {
					t.Fatal(err)
				}
			}
			stands(t, ctx, s.want)
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
