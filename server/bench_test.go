package server

import (
	"bufio"
	"context"
	"crypto/tls"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server/browsertest"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// The budget's figures of the server. Each is reported as a metric of one run;
// ns/op says nothing here. Peers are measured beside them by 'make bench'.

// listener is a phone that counts the lines it gets and does nothing else.
type listener struct {
	*phone
	came chan int
}

func listen(b *testing.B, s *shopAt, name string) *listener {
	l := &listener{phone: newPhone(b, name), came: make(chan int, 4096)}
	l.connect(s)
	l.untilCaught()
	go func() {
		for f := range l.frames {
			wall, mono := l.clocks()
			out, err := l.end.Frame(f, wall, mono)
			if err != nil {
				b.Error(err)
				return
			}
			if n := len(out.Lines); n > 0 {
				l.came <- n
			}
		}
	}()
	return l
}

// One tick to 20 phones, on disk before anyone hears of it: from the moment it
// is sent until the last phone has it.
func BenchmarkBudgetTick(b *testing.B) {
	s := startShop(b, b.TempDir())
	crewed(b, s)
	writer := newPhone(b, "writer")
	writer.connect(s)
	writer.untilCaught()
	var others []*listener
	for i := range 20 {
		others = append(others, listen(b, s, fmt.Sprint("phone ", i)))
	}
	var took []time.Duration
	for b.Loop() {
		for range 500 {
			tick := writer.entry(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
			began := time.Now()
			writer.say(tick)
			for _, o := range others {
				<-o.came
			}
			took = append(took, time.Since(began))
			writer.untilKept()
		}
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
}

// A phone comes back with 10,000 lines in 20 jobs; a second one is connected.
// From the first one's dialling until the second has them all.
func BenchmarkBudgetBacklog(b *testing.B) {
	const lines = 10_000
	var times []time.Duration
	var up, down int64
	for b.Loop() {
		b.StopTimer()
		s := startShop(b, b.TempDir())
		crewed(b, s)
		second := listen(b, s, "second")
		first := newPhone(b, "first")
		for i := range lines {
			job := logbook.Log{Class: 'j', ID: logbook.Named(fmt.Sprint("job ", i%20))}
			first.entry(job, crew, event(i))
		}
		before := second.received.Load()
		b.StartTimer()
		began := time.Now()
		first.dial(s.http.URL)
		for got := 0; got < lines; {
			got += <-second.came
		}
		times = append(times, time.Since(began))
		b.StopTimer()
		first.untilKept()
		up, down = first.sent.Load(), second.received.Load()-before
		first.hangUp()
		s.stop(b)
		b.StartTimer()
	}
	slices.Sort(times)
	b.ReportMetric(float64(times[len(times)/2].Milliseconds()), "ms")
	b.ReportMetric(float64(up)/1e6, "up-MB")
	b.ReportMetric(float64(down)/1e6, "down-MB")
}

// event is one of the things that a crew writes, with a note of its own.
func event(i int) checklist.Body {
	note := fmt.Sprintf("panel %d, tape dot %d, hand %x", i%17, i%9, uint32(i)*2654435761)
	switch i % 3 {
	case 0:
		return checklist.Tick{Stage: "wipe", Panel: fmt.Sprint("panel-", i%17), Answer: "done", Note: note}
	case 1:
		return checklist.Setback{Cause: "touched", Panels: []string{fmt.Sprint("panel-", i%17)}, Note: note}
	}
	return checklist.Evidence{What: "card-strips", Zone: "lower", Passed: true, Count: int64(i % 7), Note: note}
}

// A thousand phones over TLS that said hello, caught up, beat once, and rest.
// The memory is the server's resident set, its own process, store and packed
// app included.
func BenchmarkBudgetIdlePhones(b *testing.B) {
	for b.Loop() {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), tlsServerIn+"="+b.TempDir())
		out, err := cmd.StdoutPipe()
		if err != nil {
			b.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			b.Fatal(err)
		}
		text, err := bufio.NewReader(out).ReadString('\n')
		_, url, ok := strings.Cut(strings.TrimSpace(text), " at ")
		if !ok {
			b.Fatalf("no server: %q %v", text, err)
		}
		bare := resident(b, cmd.Process.Pid, "VmRSS")
		phones := idle(b, url, 1000)
		b.ReportMetric(resident(b, cmd.Process.Pid, "VmRSS"), "MB")
		b.ReportMetric(resident(b, cmd.Process.Pid, "VmHWM"), "peak-MB")
		b.ReportMetric(bare, "bare-MB")
		for _, p := range phones {
			p.Close()
		}
		cmd.Process.Kill()
		cmd.Wait()
	}
}

// idle connects n phones, eight at a time.
func idle(b *testing.B, url string, n int) (out []*websocket.Conn) {
	dialer := websocket.Dialer{Subprotocols: []string{subprotocol}, TLSClientConfig: &tls.Config{InsecureSkipVerify: true},
		ReadBufferSize: 512, WriteBufferSize: 512}
	var wg sync.WaitGroup
	var mu sync.Mutex
	room := make(chan struct{}, 8)
	for i := range n {
		wg.Add(1)
		room <- struct{}{}
		go func() {
			defer wg.Done()
			defer func() { <-room }()
			ws, _, err := dialer.Dial("wss"+strings.TrimPrefix(url, "https")+"/ws", http.Header{"Origin": {url}})
			if err != nil {
				b.Error(err)
				return
			}
			p := newPhone(b, fmt.Sprint("idle ", i))
			p.attach(ws)
			p.untilCaught()
			wall, mono := p.clocks()
			p.do(p.end.Probe(wall, mono))
			contact := false
			for !contact {
				out, err := p.end.Frame(<-p.frames, wall, mono)
				if err != nil {
					b.Error(err)
					return
				}
				contact = out.Contact
			}
			mu.Lock()
			defer mu.Unlock()
			out = append(out, ws)
		}()
	}
	wg.Wait()
	return out
}

// resident reads a line of /proc/PID/status in MB.
func resident(b *testing.B, pid int, what string) float64 {
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		b.Skip("memory is read from /proc: ", err)
	}
	for l := range strings.Lines(string(raw)) {
		if rest, ok := strings.CutPrefix(l, what+":"); ok {
			kb, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(rest), "kB")), 64)
			if err != nil {
				b.Fatal(err)
			}
			return kb * 1024 / 1e6
		}
	}
	b.Fatal("no ", what)
	return 0
}

// A store of 1,000,000 entries in 400 jobs and 10 places: from starting the
// program until it says that it is well. The file is in the page cache.
func BenchmarkBudgetStart(b *testing.B) {
	dir, bin := b.TempDir(), browsertest.Program(b)
	fill(b, dir, 1_000_000)
	var times []time.Duration
	for b.Loop() {
		began := time.Now()
		p := startProcess(b, bin, dir)
		resp, err := http.Get(p.url + "/healthz")
		if err != nil || resp.StatusCode != http.StatusOK {
			b.Fatal(resp, err)
		}
		resp.Body.Close()
		times = append(times, time.Since(began))
		p.kill()
	}
	slices.Sort(times)
	b.ReportMetric(times[len(times)/2].Seconds(), "s")
}

// fill writes n entries through the writer, in rounds of ten thousand.
func fill(b *testing.B, dir string, n int) {
	s, err := Open(Config{Data: dir, App: appFiles, Worker: []byte("//")})
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	var logs []logbook.Log
	for i := range 410 {
		class := byte(checklist.JobLog)
		if i >= 400 {
			class = checklist.PlaceLog
		}
		logs = append(logs, logbook.Log{Class: class, ID: logbook.Named(fmt.Sprint("log ", i))})
	}
	writer := logbook.Named("w")
	seq := map[logbook.Log]uint64{}
	for done := 0; done < n; done += maxRound {
		err := s.writer.do(context.Background(), func(p *pen) error {
			for i := range maxRound {
				log := logs[i/(maxRound/len(logs)+1)] // in runs, as phones write them
				seq[log]++
				e := logbook.Entry{Log: log, Writer: writer, Seq: seq[log], At: logbook.Stamp{Wall: p.now}, Kind: "tick",
					Body: line.Encode(checklist.Tick{Stage: "wash", Answer: "done", Note: fmt.Sprint(done + i)})}
				if log.Class == checklist.PlaceLog {
					e.Kind, e.Body = "climate.block", line.Encode(blockOf("x", []point{{p.now, 20_000, 50_000}}))
				}
				p.subs = append(p.subs, judge.Submission{Bytes: e.Append(nil), Entry: e, Arrived: p.now, Earliest: p.now, Latest: p.now})
			}
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
	}
	if st, err := os.Stat(filepath.Join(dir, StoreFile)); err == nil {
		b.Logf("%d entries in %d MB", s.store.Entries(), st.Size()/1e6)
	}
}
