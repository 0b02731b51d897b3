package browsertest

import (
	"context"
	"encoding/json"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"
)

// Before runs a script in front of every page and worker that the phone loads
// from now on, restarts included: a wrong clock, a database that breaks. It
// may be called more than once; the scripts run in that order.
func (p *Phone) Before(script string) {
	p.t.Helper()
	p.before += script + ";\n"
	p.inFront(script + ";\n")
}

// inFront puts a script in front of what loads. A page takes one before its
// own; a worker does not, so each is held at its start until it has run.
func (p *Phone) inFront(script string) {
	p.t.Helper()
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
		return err
	}))
	if p.holding {
		return
	}
	p.holding = true
	attached := chromedp.Events(p.ctx, target.AttachedToTarget) // from here on none is missed
	go func(ctx context.Context) {
		for held, err := range attached {
			if err != nil {
				return
			}
			p.toHeld(ctx, held.SessionID, "Runtime.evaluate", map[string]any{"expression": p.before})
			p.toHeld(ctx, held.SessionID, "Runtime.runIfWaitingForDebugger", nil)
		}
	}(p.ctx)
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
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
