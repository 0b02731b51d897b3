package server

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"strings"
	"testing"

	"bayhold/checklist"
)

// A fault in one session ends that session with a sentence. The writer that
// told it the news, the other phones and the next socket go on.
func TestFaultOfOneSession(t *testing.T) {
	shop := startShop(t, t.TempDir())
	a := newPhone(t, "a")
	a.connect(shop)
	a.untilCaught()
	struck := shop.hub.all()[0]
	b := newPhone(t, "b")
	b.connect(shop)
	b.untilCaught()

	struck.tell(func() { panic("on purpose") })
	b.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	b.untilKept()
	a.until("the goodbye", func() bool { return a.closed != "" })
	if !strings.Contains(a.closed, "stumbled") {
		t.Errorf("the phone heard %q", a.closed)
	}
	a.hangUp()

	a.connect(shop)
	a.write(jobV5, crew, checklist.Tick{Stage: "dry", Answer: "done"})
	a.untilKept()
	b.until("a's line", func() bool { return len(b.rows) >= 2 })
}

// A fault in the writer, over one task of a round, costs that task alone:
// nothing of it is on disk, and what was gathered with it is kept.
func TestFaultInTheWriter(t *testing.T) {
	shop := startShop(t, t.TempDir())
	p := newPhone(t, "a")
	p.connect(shop)
	p.untilCaught()
	before := shop.store.Entries()

	// The writer is held up so that all that follows is one round.
	hold, held := make(chan struct{}), make(chan struct{})
	go shop.writer.do(context.Background(), func(*pen) error { close(held); <-hold; return nil })
	<-held
	answer := make(chan error)
	go func() {
		answer <- shop.writer.do(context.Background(), func(pen *pen) error {
			if err := pen.write(shop.store.shop, checklist.PersonAdd{Person: checklist.ID(crew), Name: "half written"}); err != nil {
				return err
			}
			panic("on purpose")
		})
	}()
	p.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	close(hold)
	var fault *stumble
	if err := <-answer; !errors.As(err, &fault) {
		t.Errorf("the task was answered %v", err)
	}
	p.untilKept()
	if got := shop.store.Entries(); got != before+1 {
		t.Errorf("%d entries were written, want the phone's alone", got-before)
	}
}

// One phone too many is told when to come again.
func TestTooManyPhones(t *testing.T) {
	shop := startShop(t, t.TempDir())
	shop.hub.mu.Lock()
	for range maxSessions {
		shop.hub.sessions[new(wsSession)] = struct{}{}
	}
	shop.hub.mu.Unlock()
	_, r, err := dial(shop.http.URL)
	if err == nil || r == nil || r.StatusCode != http.StatusServiceUnavailable {
		t.Fatalf("%v %v, want 503", r, err)
	}
	if n, err := strconv.Atoi(r.Header.Get("Retry-After")); err != nil || n < 1 {
		t.Errorf("Retry-After %q", r.Header.Get("Retry-After"))
	}
	shop.hub.mu.Lock()
	clear(shop.hub.sessions)
	shop.hub.mu.Unlock()

	// Nor do sockets that prove nothing gather without end.
	closed := startClosed(t, t.TempDir())
	closed.proofs.Add(maxProofs - 1)
	ws, _ := closed.open(t) // the last one
	_, r, err = closed.dialer(proving).Dial("wss"+strings.TrimPrefix(closed.http.URL, "https")+"/ws", http.Header{"Origin": {closed.http.URL}})
	if err == nil || r == nil || r.StatusCode != http.StatusServiceUnavailable || r.Header.Get("Retry-After") == "" {
		t.Errorf("one more that proves nothing: %v %v, want 503", r, err)
	}
	ws.Close()
}
