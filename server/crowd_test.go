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
)

// A crowd listens to 50 jobs while lines come in: every phone gets every line,
// in an unbroken chain (the session at its end sees to that), and none that is
// healthy loses its socket. A phone carries all open jobs, so each of them gets
// more than the two that it has on its screen. Asked for by BAYHOLD_LONG it is
// two thousand phones and a hundred lines a second for a minute.
func TestCrowd(t *testing.T) {
	phones, lines, pace := 40, 120, time.Duration(0)
	if os.Getenv("BAYHOLD_LONG") == "1" {
		phones, lines, pace = 2000, 6000, 10*time.Millisecond
		if raced {
			phones, lines = 1000, 600
		}
	}
	const jobs, writers = 50, 4
	s := startShop(t, t.TempDir())
	crewed(t, s)
	var all sync.WaitGroup
	var dropped atomic.Int64
	for i := range phones {
		p := newPhone(t, fmt.Sprint("phone ", i))
		p.connect(s)
		all.Go(func() {
			if !p.hears(lines) {
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
			p.until("every line is kept", func() bool { return len(p.outbox) == 0 })
		})
	}
	wrote.Wait()
	all.Wait()
	if n := dropped.Load(); n > 0 {
		t.Errorf("%d of %d phones lost their socket", n, phones)
	}
	if got := s.hub.count(); got < phones {
		t.Errorf("%d of %d phones are connected at the end", got, phones)
	}
}

// hears takes frames and forgets the lines in them until so many came of the
// crowd's jobs; false says that the socket ended before. It beats as a phone
// does.
func (p *phone) hears(lines int) bool {
	tick := time.NewTicker(5 * time.Second)
	defer tick.Stop()
	late := time.After(20 * time.Minute)
	for {
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
			for _, l := range out.Lines {
				if l.Name.Log.Class == checklist.JobLog && l.Name.Log != jobV5 {
					lines--
				}
			}
			out.Lines = nil
			p.do(out)
			if lines == 0 {
				return true
			}
		case <-tick.C:
			wall, mono := p.clocks()
			p.do(p.end.Tick(wall, mono))
		case <-late:
			p.t.Errorf("%d lines have not come", lines)
			return false
		}
	}
}
