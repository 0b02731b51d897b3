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
