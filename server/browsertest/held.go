package browsertest

import (
	"context"
	"encoding/json"
	"time"

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
	data, ended := chromedp.Events(ctx, tracing.DataCollected), chromedp.Events(ctx, tracing.TracingComplete)
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, tracing.Start, tracing.StartParams{TraceConfig: &tracing.TraceConfig{IncludedCategories: []string{"toplevel"}}})
		return err
	}))
	f()
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error { return t.Call(ctx, tracing.CommandEnd, nil, nil) }))
	for _, err := range ended {
		if err != nil {
			p.t.Fatalf("%s: the trace did not end: %v", p.name, err)
		}
		break
	}
	time.AfterFunc(time.Second, cancel) // what was collected is here; nothing says that it was the last
	type thread struct{ Pid, Tid int }
	worked, named := map[thread]float64{}, map[thread]string{}
	for bucket, err := range data {
		if err != nil {
			break
		}
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
