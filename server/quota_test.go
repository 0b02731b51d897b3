package server

import (
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"bayhold/checklist"
)

// A phone that brings more lines to be set aside than it may keeps the rest,
// hears why, and brings them when there is room again; the other phones are not
// held up, and a server that starts again has not forgotten.
func TestQuotaOfOnePhone(t *testing.T) {
	var now atomic.Int64
	now.Store(time.Now().UnixMilli())
	dir := t.TempDir()
	s := startShopAt(t, dir, &now)
	crewed(t, s)
	p, other := newPhone(t, "a"), newPhone(t, "b")
	refused := func(i int) {
		p.entry(jobV5, crew, checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: fmt.Sprint("goes tonight ", i)})
	}
	p.connect(s)
	for i := range quotaOf.lines {
		refused(i)
	}
	p.say(p.outbox...)
	p.until("all have their reason", func() bool { return len(p.outbox) == 0 })
	refused(-1)
	p.say(p.outbox...)
	p.until("the goodbye", func() bool { return p.closed != "" })
	if !strings.Contains(p.closed, "lead must look") || len(p.outbox) != 1 {
		t.Errorf("the phone hears %q and holds %d lines", p.closed, len(p.outbox))
	}
	p.hangUp()
	other.connect(s)
	other.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	other.untilKept()
	s.stop(t)

	again := startShopAt(t, dir, &now)
	p.connect(again)
	p.until("the goodbye of another start", func() bool { return p.closed != "" })
	p.hangUp()
	if got, err := again.store.Aside(); err != nil || len(got) != quotaOf.lines || got[0].Device != p.device {
		t.Errorf("%d lines on the shelf (%v)", len(got), err)
	}
	now.Add(quotaOf.span + 1000)
	p.connect(again)
	p.until("the line has its reason", func() bool { return len(p.outbox) == 0 })
	good := p.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	p.untilKept()
	if p.rows[good].receipt == nil || len(p.aside) != quotaOf.lines+1 {
		t.Errorf("%d set aside", len(p.aside))
	}
}
