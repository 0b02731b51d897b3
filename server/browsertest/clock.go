package browsertest

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"
)

// Skew sets the phone's wall clock wrong by d, for every page and worker that
// it loads from now on, restarts included. The monotonic clock stays right, as
// it does on a phone whose owner sets the time by hand.
func (p *Phone) Skew(d time.Duration) {
	p.t.Helper()
	if p.skew != 0 {
		p.t.Fatalf("%s: the clock is wrong by %v already", p.name, p.skew)
	}
	p.skew = d
	p.wrongClock()
}

// clockJS replaces Date by one that is wrong by d.
func clockJS(d time.Duration) string {
	return fmt.Sprintf(`(() => {
		const Real = Date, skew = %d;
		globalThis.Date = class Date extends Real {
			constructor(...a) { if (a.length) super(...a); else super(Real.now() + skew); }
			static now() { return Real.now() + skew; }
		};
	})()`, d.Milliseconds())
}

// wrongClock puts the wrong clock in front of everything that loads. A page
// takes a script before its own; a worker does not, so each is held at its
// start until its clock is set.
func (p *Phone) wrongClock() {
	p.t.Helper()
	attached := chromedp.Events(p.ctx, target.AttachedToTarget) // from here on none is missed
	go func(ctx context.Context) {
		for held, err := range attached {
			if err != nil {
				return
			}
			p.toHeld(ctx, held.SessionID, "Runtime.evaluate", map[string]any{"expression": clockJS(p.skew)})
			p.toHeld(ctx, held.SessionID, "Runtime.runIfWaitingForDebugger", nil)
		}
	}(p.ctx)
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		if _, err := cdp.Call(ctx, t, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: clockJS(p.skew)}); err != nil {
			return err
		}
		// Unflattened sessions, because chromedp routes none but its own; they
		// are spoken to through the page.
		return t.Call(ctx, "Target.setAutoAttach", map[string]any{"autoAttach": true, "waitForDebuggerOnStart": true, "flatten": false}, nil)
	}))
}

// toHeld sends a command to a worker. An error means that the worker or the
// phone is gone; the test sees that by itself.
func (p *Phone) toHeld(ctx context.Context, session target.SessionID, method string, params map[string]any) {
	message, err := json.Marshal(map[string]any{"id": 1, "method": method, "params": params})
	if err != nil {
		panic(err)
	}
	chromedp.Do(ctx, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		return t.Call(ctx, "Target.sendMessageToTarget", map[string]any{"sessionId": string(session), "message": string(message)}, nil)
	}))
}
