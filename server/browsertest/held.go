package browsertest

import (
	"context"
	"encoding/json"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/tracing"
	"github.com/chromedp/chromedp"
)

// Held runs f and answers how long the page's thread worked at the longest task
// meanwhile, in ms of the thread's own time. The Long Tasks API takes the clock's,
// which counts as well how long a task waited for one of this machine's cores.
func (p *Phone) Held(f func()) (ms float64) {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.ctx, Patience)
	defer cancel()
	var trace []*tracing.EventDataCollected
	lost := make(chan bool, 1)
	if err := chromedp.Listen(ctx, func(event any) { // in the order in which they came
		switch e := event.(type) {
		case *tracing.EventDataCollected:
			trace = append(trace, e)
		case *tracing.EventTracingComplete:
			lost <- e.DataLossOccurred
		}
	}); err != nil {
		p.t.Fatalf("%s: %v", p.name, err)
	}
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, tracing.Start, tracing.StartParams{TraceConfig: &tracing.TraceConfig{IncludedCategories: []string{"toplevel"}}})
		return err
	}))
	f()
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error { return t.Call(ctx, tracing.CommandEnd, nil, nil) }))
	select {
	case some := <-lost:
		if some {
			p.t.Fatalf("%s: the browser lost a part of its trace", p.name)
		}
	case <-ctx.Done():
		p.t.Fatalf("%s: the trace did not end", p.name)
	}
	type thread struct{ Pid, Tid int }
	worked, named := map[thread]float64{}, map[thread]string{}
	for _, bucket := range trace {
		for _, raw := range bucket.Value {
			var e struct {
				thread
				Name string
				Tdur float64 // us
				Args struct{ Name string }
			}
			if json.Unmarshal(raw, &e) != nil {
				continue
			}
			switch e.Name {
			case "thread_name":
				named[e.thread] = e.Args.Name
			case "ThreadControllerImpl::RunTask":
				worked[e.thread] = max(worked[e.thread], e.Tdur/1000)
			}
		}
	}
	for of, longest := range worked {
		if named[of] == "CrRendererMain" {
			ms = max(ms, longest)
		}
	}
	if ms == 0 {
		p.t.Fatalf("%s: the trace has no task of a page", p.name)
	}
	return ms
}
