package server

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"bayhold/checklist"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

const crowdJobs = 50

// A crowd listens to 50 jobs while lines come in: every phone gets every line,
// in its place, and none that is healthy loses its socket. A phone carries all
// open jobs, so each of them gets far more than the two that it has on its
// screen. It is large enough that the hub gathers.
func TestCrowd(t *testing.T) {
	s := startShop(t, t.TempDir())
	c := crowd{phones: crowdFrom + 20, lines: 300, late: 2 * time.Minute}
	c.listenAndWrite(t, s.http.URL)
}

// Two thousand phones, a hundred lines a second, for a minute. The server is a
// process of its own, as in a shop. With -v it prints the delays, the server's
// memory and its processor time. It wants two cores of its own: there it took a
// minute, 0.37 s at the 99th percentile, 36 s of processor and 124 MB.
func TestCrowdOfThousands(t *testing.T) {
	if os.Getenv("BAYHOLD_LONG") != "1" {
		t.Skip("a minute with two thousand phones: asked for by BAYHOLD_LONG=1")
	}
	c := crowd{phones: 2000, lines: 6000, pace: 10 * time.Millisecond, late: 20 * time.Minute}
	if raced {
		c.phones, c.lines = 500, 600
	}
	dir := t.TempDir()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), serverIn+"="+dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stderr = t.Output()
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer cmd.Wait()
	defer cmd.Process.Kill()
	text, err := bufio.NewReader(out).ReadString('\n')
	_, url, ok := strings.Cut(strings.TrimSpace(text), " at ")
	if !ok {
		t.Fatalf("no server: %q %v", text, err)
	}
	c.listenAndWrite(t, url)
	if proc, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", cmd.Process.Pid)); err == nil {
		for l := range strings.Lines(string(proc)) {
			if strings.HasPrefix(l, "VmHWM") || strings.HasPrefix(l, "VmRSS") {
				t.Log("server: ", strings.TrimSpace(l))
			}
		}
	}
	cmd.Process.Kill()
	cmd.Wait()
	t.Logf("server: %v of processor from start to end", cmd.ProcessState.UserTime()+cmd.ProcessState.SystemTime())
	st, err := ReadStore(filepath.Join(dir, StoreFile))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	var kept uint64
	for log, h := range st.Heads() {
		if log.Class == checklist.JobLog {
			kept += h.Order
		}
	}
	if err := st.Verify(); err != nil || kept != uint64(c.lines) {
		t.Errorf("the store has %d of %d lines: %v", kept, c.lines, err)
	}
}

// crowd is how many listen to how many lines, how far apart these are, and when
// waiting ends.
type crowd struct {
	phones, lines int
	pace, late    time.Duration
}

// Of the crowd most are ears, which look at the names and the number of lines
// alone: on the machine that also serves, thousands of phones would have no time
// to follow every chain. One in so many is a whole phone.
const wholePhones = 50

func (c crowd) listenAndWrite(t *testing.T, url string) {
	const writers = 4
	over := time.Now().Add(c.late)
	ctx, done := context.WithDeadline(t.Context(), over)
	defer done()
	var mu sync.Mutex
	var delays []time.Duration
	var dropped []error
	drop := func(err error) {
		mu.Lock()
		defer mu.Unlock()
		dropped = append(dropped, err)
	}
	var all sync.WaitGroup
	var ears []*ear
	for i := range c.phones {
		p := newPhone(t, fmt.Sprint("phone ", i))
		if i%wholePhones > 0 {
			e := hark(t, p, url)
			ears = append(ears, e)
			all.Go(func() {
				if err := e.hears(c.lines); err != nil {
					drop(fmt.Errorf("phone %d has %d lines: %w", i, e.lines, err))
				}
			})
			continue
		}
		p.dial(url)
		defer p.ws.Close()
		all.Go(func() {
			left := c.lines
			var late []time.Duration
			if !p.hears(over, func(out session.Out) bool {
				now := time.Now()
				for _, l := range out.Lines {
					if e, err := logbook.Decode(l.Entry); err == nil && l.Name.Log.Class == checklist.JobLog {
						late = append(late, now.Sub(time.UnixMilli(e.At.Wall)))
						left--
					}
				}
				return left == 0
			}) {
				drop(fmt.Errorf("phone %d lacks %d lines: %s", i, left, p.closed))
			}
			mu.Lock()
			defer mu.Unlock()
			delays = append(delays, late...)
		})
	}
	go beats(ctx, ears)
	began := time.Now()
	var wrote sync.WaitGroup
	for w := range writers {
		p := newPhone(t, fmt.Sprint("writer ", w))
		p.dial(url)
		defer p.ws.Close()
		wrote.Go(func() {
			var next <-chan time.Time
			if c.pace > 0 {
				tick := time.NewTicker(c.pace * writers)
				defer tick.Stop()
				next = tick.C
			}
			for i := range c.lines / writers {
				if next != nil {
					<-next
				}
				job := logbook.Log{Class: 'j', ID: logbook.Named(fmt.Sprint("job ", (i*writers+w)%crowdJobs))}
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
	written := time.Since(began)
	stop := context.AfterFunc(ctx, func() {
		for _, e := range ears {
			e.ws.Close()
		}
	})
	all.Wait()
	stop()
	for _, e := range ears {
		e.ws.Close()
	}
	for i, err := range dropped {
		if i < 5 {
			t.Error(err)
		}
	}
	if len(dropped) > 0 {
		t.Errorf("%d of %d phones lost their socket, or lack lines", len(dropped), c.phones)
	}
	slices.Sort(delays)
	if n := len(delays); n > 0 {
		t.Logf("%d lines in %v to %d phones; from tap to the others: p50 %v, p99 %v, at most %v",
			c.lines, written.Round(time.Millisecond), c.phones, delays[n/2], delays[n*99/100], delays[n-1])
	}
}

// ear is a phone that keeps how far it has come, and nothing else.
type ear struct {
	*phone
	mu    sync.Mutex // the phone's end, between hears and beats
	in    *bufio.Reader
	long  []byte
	at    map[logbook.Log]uint64
	lines int
}

func hark(t *testing.T, p *phone, url string) *ear {
	t.Helper()
	ws, _, err := dial(url)
	if err != nil {
		t.Fatal(err)
	}
	p.ws, p.end = ws, session.NewPhone(p.device, p.clk)
	wall, mono := p.clocks()
	p.do(p.end.Open(wall, mono, nil, nil, nil, nil))
	return &ear{phone: p, in: bufio.NewReaderSize(ws.NetConn(), 8<<10), at: map[logbook.Log]uint64{}}
}

// beats lets every ear say that it is there, as phones do.
func beats(ctx context.Context, ears []*ear) {
	tick := time.NewTicker(5 * time.Second)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			for _, e := range ears {
				e.mu.Lock()
				e.do(e.end.Tick(e.clocks()))
				e.mu.Unlock()
			}
		}
	}
}

// hears reads until there were so many lines of jobs, each logbook's without a
// gap and without one twice.
func (e *ear) hears(lines int) error {
	for e.lines < lines {
		frame, err := e.frame()
		if err != nil {
			return err
		}
		var r cbor.Reader
		r.Reset(frame)
		r.Array()
		if r.Uint() != 20 { // not a batch: see package sync
			e.mu.Lock()
			wall, mono := e.clocks()
			out, err := e.end.Frame(frame, wall, mono)
			e.mu.Unlock()
			if err != nil || out.Closed != "" {
				return fmt.Errorf("it is told: %v %v", out.Closed, err)
			}
			continue
		}
		log, after := logbook.ReadLog(&r), r.Uint()
		if !r.Null() {
			r.Skip()
			e.at[log] = after
		}
		n := r.Uint()
		if r.Err() != nil || after != e.at[log] {
			return fmt.Errorf("lines behind %d follow where %d was the last: %v", after, e.at[log], r.Err())
		}
		if e.at[log] += n; log.Class == checklist.JobLog {
			e.lines += int(n)
		}
	}
	return nil
}

// frame reads a websocket message (RFC 6455 section 5.2: what a server sends is
// in one piece here, and not masked) and unpacks it. It is good until the next.
func (e *ear) frame() ([]byte, error) {
	head, err := e.in.Peek(2)
	if err != nil {
		return nil, err
	}
	if head[0] != 0x80|websocket.BinaryMessage {
		return nil, fmt.Errorf("a frame that begins with %x", head[0])
	}
	n := int(head[1])
	long := map[int]int{126: 2, 127: 8}[n]
	e.in.Discard(2)
	if long > 0 {
		b, err := e.in.Peek(long)
		if err != nil {
			return nil, err
		}
		n = 0
		for _, c := range b {
			n = n<<8 | int(c)
		}
		e.in.Discard(long)
	}
	if e.long = slices.Grow(e.long[:0], n)[:n]; n == 0 {
		return nil, errors.New("an empty message")
	}
	if _, err := io.ReadFull(e.in, e.long); err != nil {
		return nil, err
	}
	if e.long[0] == rawFrame {
		return e.long[1:], nil
	}
	return unpack(strings.NewReader(string(e.long)))
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
