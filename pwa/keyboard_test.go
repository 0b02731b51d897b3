package pwa_test

import (
	"context"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// reach presses Tab until the control with this test id has the focus, as a
// person does who has no pointer.
func reach(t *testing.T, ctx context.Context, testid string) {
	t.Helper()
	if err := until(ctx, id(testid)); err != nil {
		t.Fatal(err)
	}
	for range 150 {
		if err := chromedp.Do(ctx, chromedp.KeyEvent(kb.Tab)); err != nil {
			t.Fatal(err)
		}
		if eval[string](t, ctx, "document.activeElement?.dataset?.testid ?? ''") == testid {
			return
		}
	}
	t.Fatalf("150 times Tab does not reach %s", testid)
}

// TestBrowserByKeyboardAlone does by Tab and Enter what TestBrowserIntents does
// by taps, and the same lines are written.
func TestBrowserByKeyboardAlone(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	for _, c := range intents {
		t.Run(c.name, func(t *testing.T) {
			want := "gate-now"
			if !strings.HasPrefix(c.hash, "#/job/") {
				want = c.taps[0]
			}
			if err := open(ctx, base, screen{hash: c.hash, want: want}, "day"); err != nil {
				t.Fatal(err)
			}
			for _, tap := range c.taps {
				reach(t, ctx, tap)
				if err := chromedp.Do(ctx, chromedp.KeyEvent(kb.Enter)); err != nil {
					t.Fatal(err)
				}
			}
			if err := until(ctx, "globalThis.asked.some((a) => a.type === 'write')"); err != nil {
				t.Fatal(err)
			}
			got := written(t, ctx)
			if len(got) != 1 || got[0].Kind != c.kind || !reflect.DeepEqual(got[0].Body, c.body) {
				t.Errorf("wrote %v, want one %s: %v", got, c.kind, c.body)
			}
		})
	}
}

// TestBrowserIsReadSensibly asserts what a screen reader is told: what was noted
// (politely), what was refused (at once), and how a panel stands.
// TestBrowserEveryScreen asserts the rest on every screen.
func TestBrowserIsReadSensibly(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	for _, c := range []struct{ query, tap, place, want string }{
		{"", "tick:wipe:left-front", "said", "Wiped, left side front."},
		{"refuse", "tick:wipe:left-front", "alarm", "This phone is full: the line is not stored. Delete something on it, then tap again."},
	} {
		if err := open(ctx, base, screen{query: c.query, hash: "#/job/job-V1", taps: []string{c.tap}, want: "job"}, "day"); err != nil {
			t.Fatal(err)
		}
		if err := until(ctx, fmt.Sprintf("document.getElementById(%q).textContent === %q", c.place, c.want)); err != nil {
			t.Errorf("%s does not say %q", c.place, c.want)
		}
		if got := eval[string](t, ctx, fmt.Sprintf("document.getElementById(%q).getAttribute('role')", c.place)); got != map[string]string{"said": "status", "alarm": "alert"}[c.place] {
			t.Errorf("%s has the role %q", c.place, got)
		}
	}
	if err := open(ctx, base, screen{hash: "#/job/job-V1", want: "tile:left-door"}, "day"); err != nil {
		t.Fatal(err)
	}
	if got, want := eval[string](t, ctx, id("tile:left-door")+".innerText.replace(/\\s+/g, ' ').trim()"), "5 left front door: wipe good 13 min, start now"; !strings.HasPrefix(got, want) {
		t.Errorf("a panel on the drawing is called %q, want %q; it holds %s", got, want, eval[string](t, ctx, id("tile:left-door")+".outerHTML"))
	}
}

// TestBrowserBehindASheet: while a sheet is open, nothing of the page is reached by Tab
// or by a tap, nor told by a screen reader, and what is said aloud still is; once it is
// closed, all of the page can be reached, the focus is where it was, and nothing is left
// behind by a sheet that was closed at once, or by one that a new screen closed.
// What a modal dialog keeps out of reach: ARIA Authoring Practices, Dialog (Modal).
func TestBrowserBehindASheet(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{hash: "#/job/job-V5", want: "note-add"}, "day"); err != nil {
		t.Fatal(err)
	}
	const (
		out    = "document.getElementById('page').inert && document.getElementById('dock').inert"
		back   = "!document.querySelector('[inert], dialog[open]')"
		stands = "document.querySelector('dialog[open]')"
	)
	wait := func(cond string) {
		t.Helper()
		if err := until(ctx, cond); err != nil {
			t.Fatal(err)
		}
	}
	wait("document.querySelector('.job.settled')")
	eval[bool](t, ctx, "("+id("note-add")+".focus(), "+id("note-add")+".click(), true)")
	wait(stands)
	// From the first frame on a tap meets the shade, inert or not yet.
	for _, at := range eval[[]string](t, ctx, `[[5, 5], [innerWidth / 2, 60], [innerWidth - 5, 200]].map(([x, y]) => document.elementFromPoint(x, y)).filter((e) => e.id !== 'shade').map((e) => e.outerHTML.slice(0, 90))`) {
		t.Errorf("beside the sheet a tap meets %s", at)
	}
	wait(out)
	for range 12 {
		if err := chromedp.Do(ctx, chromedp.KeyEvent(kb.Tab)); err != nil {
			t.Fatal(err)
		}
		if at := eval[string](t, ctx, "document.activeElement.closest('dialog, body').tagName + ' ' + (document.activeElement.dataset?.testid ?? '')"); !strings.HasPrefix(at, "DIALOG") && at != "BODY " {
			t.Errorf("Tab leads out of the sheet, to %s", at)
		}
	}
	if eval[bool](t, ctx, "['said', 'alarm'].some((name) => document.getElementById(name).closest('[inert]'))") {
		t.Error("what is said aloud is out of reach")
	}
	// What is drawn meanwhile is as far away.
	if !eval[bool](t, ctx, "(() => { const b = document.createElement('button'); document.querySelector('main').append(b); b.focus(); const had = document.activeElement === b; b.remove(); return !had; })()") {
		t.Error("a button drawn behind the sheet takes the focus")
	}
	if err := chromedp.Do(ctx, chromedp.KeyEvent(kb.Escape)); err != nil {
		t.Fatal(err)
	}
	wait(back)
	if at := eval[string](t, ctx, "document.activeElement.dataset.testid ?? ''"); at != "note-add" {
		t.Errorf("the focus came back to %q, not to what opened the sheet", at)
	}

	does := func(js string) { eval[bool](t, ctx, "("+js+", true)") }
	const escapes = "dispatchEvent(new KeyboardEvent('keydown', { key: 'Escape' }))"
	opens := id("note-add") + ".click()"
	for _, c := range []struct{ what, from, then, last string }{
		{"closed before all of the page is away, opened again before all is back", stands, "0", escapes},
		{"what was a part at the first opening is more than one at the next", out,
			"document.querySelectorAll('#page [inert]').forEach((e) => { for (let i = 0; i < 90; i++) e.append(document.createElement('i')); })", escapes},
		{"closed by the phone's own way back", out, "0", "document.getElementById('sheet').requestClose()"},
	} {
		t.Log(c.what)
		does(opens)
		wait(c.from)
		does(escapes)
		wait("!" + stands)
		does(c.then)
		does(opens)
		wait(out)
		does(c.last)
		wait(back)
	}

	// A new screen closes it.
	does(opens)
	wait(out)
	does("location.hash = '#/'")
	wait("document.querySelector('.vehicles') && " + back)
}
