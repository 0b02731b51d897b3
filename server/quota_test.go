package server

import (
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// A phone that brings more lines to be set aside than it may keeps the rest and
// hears why. It reads on, writes in other jobs, and brings them when there is room
// again; the other phones are not held up, and a server that starts again has not
// forgotten.
func TestQuotaOfOnePhone(t *testing.T) {
	var now atomic.Int64
	now.Store(time.Now().UnixMilli())
	dir := t.TempDir()
	s := startShopAt(t, dir, &now)
	crewed(t, s)
	p, other := newPhone(t, "a"), newPhone(t, "b")
	jobV6 := logbook.Log{Class: checklist.JobLog, ID: logbook.Named("V6")}
	refused := func(i int) session.Name {
		return p.entry(jobV5, crew, checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: fmt.Sprint("goes tonight ", i)})
	}
	good := func(log logbook.Log) session.Name {
		return p.entry(log, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	}
	p.connect(s)
	for i := range quotaOf.lines {
		refused(i)
	}
	p.say(p.outbox...)
	p.until("all have their reason", func() bool { return len(p.outbox) == 0 })
	before := good(jobV5)
	over := refused(-1)
	behind, beside := good(jobV5), good(jobV6)
	p.say(p.outbox...)
	p.until("the sentence", func() bool { return p.later != "" })
	if !strings.Contains(p.later, "lead must look") {
		t.Errorf("the phone hears %q", p.later)
	}
	p.until("what stands before it and beside it is kept", func() bool { return len(p.outbox) == 2 })
	if p.rows[before].receipt == nil || p.rows[beside].receipt == nil || p.closed != "" {
		t.Errorf("%d lines wait (%s)", len(p.outbox), p.closed)
	}
	other.connect(s)
	theirs := other.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	other.untilKept()
	p.until("what others write, on the same connection", func() bool { return p.rows[theirs].receipt != nil })
	meanwhile, goes := good(jobV5), good(jobV6)
	p.say(meanwhile, goes)
	p.until("other jobs go on", func() bool { return p.rows[goes].receipt != nil })

	// As the session's clock has it, the time is over; but not yet the day.
	tick := func() {
		wall, mono := p.clocks()
		p.later = ""
		p.do(p.end.Tick(wall+quotaOf.again, mono+quotaOf.again))
	}
	tick()
	p.until("the sentence again", func() bool { return p.later != "" })
	if len(p.outbox) != 3 {
		t.Errorf("%d lines wait, want the one for the lead and two behind it", len(p.outbox))
	}
	s.stop(t)

	again := startShopAt(t, dir, &now)
	p.connect(again)
	p.until("the sentence of another start", func() bool { return p.later != "" })
	if got, err := again.store.Aside(); err != nil || len(got) != quotaOf.lines || got[0].Device != p.device {
		t.Errorf("%d lines on the shelf (%v)", len(got), err)
	}
	now.Add(quotaOf.span + 1000)
	tick()
	p.until("all have their answer", func() bool { return len(p.outbox) == 0 })
	if p.rows[behind].receipt == nil || p.rows[meanwhile].receipt == nil || p.rows[over].receipt != nil || len(p.aside) != quotaOf.lines+1 {
		t.Errorf("%d set aside (%s)", len(p.aside), p.closed)
	}
}
