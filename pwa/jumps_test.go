package pwa_test

import (
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
	if _, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: `
		globalThis.shifted = []; new PerformanceObserver((l) => { for (const e of l.getEntries()) if (!e.hadRecentInput)
			shifted.push([e.value, e.sources.map((s) => s.node?.className ?? s.node?.nodeName ?? '').join(' ')]); }).observe({ type: 'layout-shift', buffered: true });`}); err != nil {
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
		// Two frames after the screen stands, what moved has been reported; no
		// hand taps before it sees what it taps.
		stands := func(testid string) {
			t.Helper()
			if err := until(ctx, id(testid)); err != nil {
				t.Fatal(err)
			}
			eval[bool](t, ctx, `new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => done(true)))))`)
		}
		if err := open(ctx, base, screen{hash: s.hash, want: append(s.taps, s.want)[0]}, "day"); err != nil {
			t.Fatal(err)
		}
		for _, tap := range s.taps {
			stands(tap)
			eval[bool](t, ctx, "("+id(tap)+".click(), true)")
		}
		stands(s.want)
		sum := 0.0
		shifts := eval[[][]any](t, ctx, "shifted")
		for _, shift := range shifts {
			sum += shift[0].(float64)
		}
		if sum > most {
			t.Errorf("%s: %.3f moved, more than %.2f: %v", s.name, sum, most, shifts)
		}
	}
}
