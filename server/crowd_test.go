package server

import (
	"fmt"
	"os"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// A crowd listens to 50 jobs while lines come in: every phone gets every line,
// in an unbroken chain (the session at its end sees to that), and none that is
// healthy loses its socket. A phone carries all open jobs, so each of them gets
// more than the two that it has on its screen. Asked for by BAYHOLD_LONG it is
// two thousand phones and a hundred lines a second for a minute.
func TestCrowd(t *testing.T) {
	phones, lines, pace, late := 40, 120, time.Duration(0), time.Minute
	if os.Getenv("BAYHOLD_LONG") == "1" {
		phones, lines, pace, late = 2000, 6000, 10*time.Millisecond, 30*time.Minute
		if raced {
			phones, lines = 1000, 600
		}
	}
	const jobs, writers = 50, 4
	s := startShop(t, t.TempDir())
	crewed(t, s)
	over := time.Now().Add(late)
	var all sync.WaitGroup
	var dropped atomic.Int64
	for i := range phones {
		p := newPhone(t, fmt.Sprint("phone ", i))
		p.connect(s)
		all.Go(func() {
			left := lines
			if !p.hears(over, func(out session.Out) bool {
				for _, l := range out.Lines {
					if l.Name.Log.Class == checklist.JobLog && l.Name.Log != jobV5 {
						left--
					}
				}
				return left == 0
			}) {
				dropped.Add(1)
			}
		})
		defer p.ws.Close()
	}
	var wrote sync.WaitGroup
	for w := range writers {
		p := newPhone(t, fmt.Sprint("writer ", w))
		p.connect(s)
		wrote.Go(func() {
			defer p.ws.Close()
			var next <-chan time.Time
			if pace > 0 {
				tick := time.NewTicker(pace * writers)
				defer tick.Stop()
				next = tick.C
			}
			for i := range lines / writers {
				if next != nil {
					<-next
				}
				job := logbook.Log{Class: 'j', ID: logbook.Named(fmt.Sprint("job ", (i*writers+w)%jobs))}
				p.write(job, crew, checklist.Tick{Stage: "wash", Answer: "done", Note: fmt.Sprint(i)})
				for len(p.frames) > 0 { // what it hears of the others
					p.take(<-p.frames)
				}
			}
			if !p.hears(over, func(session.Out) bool { return len(p.outbox) == 0 }) {
				t.Errorf("%d lines of a writer are not kept", len(p.outbox))
			}
		})
	}
	wrote.Wait()
	all.Wait()
	if n := dropped.Load(); n > 0 {
		t.Errorf("%d of %d phones lost their socket, or lack lines after %v", n, phones, late)
	}
}

// hears takes frames and forgets the lines in them until it is enough; false
// says that the socket ended or the time was over before. It beats as a phone
// does.
func (p *phone) hears(over time.Time, enough func(session.Out) bool) bool {
	tick := time.NewTicker(5 * time.Second)
	defer tick.Stop()
	late := time.NewTimer(time.Until(over))
	defer late.Stop()
	for !enough(session.Out{}) {
		select {
		case f, ok := <-p.frames:
			if !ok {
				return false
			}
			wall, mono := p.clocks()
			out, err := p.end.Frame(f, wall, mono)
			if err != nil {
				p.t.Error(err)
				return false
			}
			enough(out)
			out.Lines = nil
			p.do(out)
		case <-tick.C:
			wall, mono := p.clocks()
			p.do(p.end.Tick(wall, mono))
		case <-late.C:
			return false
		}
	}
	return true
}
