package server

import (
	"bufio"
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/server/browsertest"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// process is the program serving a data folder.
type process struct {
	cmd  *exec.Cmd
	url  string
	said lockedText // on its terminal, the first line left out
}

func startProcess(t testing.TB, bin, data string) *process {
	t.Helper()
	cmd := exec.Command(bin, "serve", "--addr", "127.0.0.1:0", "--data", data)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	p := &process{cmd: cmd}
	cmd.Stderr = &p.said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.kill() })
	text, err := bufio.NewReader(out).ReadString('\n')
	_, p.url, _ = strings.Cut(strings.TrimSpace(text), " at ")
	if err != nil || p.url == "" {
		t.Fatalf("the program did not start: %q %v\n%s", text, err, p.said.text())
	}
	return p
}

// kill ends the process without a word to it, and waits until it is gone.
func (p *process) kill() {
	p.cmd.Process.Signal(syscall.SIGKILL)
	p.cmd.Wait()
}

// The program is killed in the middle of its work, again and again. What a
// phone was told is kept is in the store with the same bytes and receipt, the
// store is whole, and what was under way arrives later, once.
func TestKilledServerLosesNothing(t *testing.T) {
	rounds := 4
	if os.Getenv("BAYHOLD_LONG") == "1" {
		rounds = 60
	}
	bin, data := browsertest.Program(t), t.TempDir()
	p := newPhone(t, "a")
	var all []session.Name
	for range rounds {
		server := startProcess(t, bin, data)
		p.dial(server.url)
		before := len(p.outbox)
		for i := range 200 {
			all = append(all, p.entry(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done", Note: fmt.Sprint(i)}))
		}
		// Singly and in bursts, so that some rounds of the writer hold many.
		for from := before; from < len(p.outbox); {
			n := min(1+rand.IntN(20), len(p.outbox)-from)
			names := append([]session.Name(nil), p.outbox[from:from+n]...)
			from += n
			p.say(names...)
		}
		some := len(p.outbox) - 1 - rand.IntN(len(p.outbox)-1)
		p.until("some lines are kept", func() bool { return len(p.outbox) <= some })
		server.kill()
		for f := range p.frames { // what it said before it died counts too
			wall, mono := p.clocks()
			if out, err := p.end.Frame(f, wall, mono); err == nil {
				p.do(out)
			}
		}

		st, err := OpenStore(filepath.Join(data, StoreFile), logbook.ID{}, time.Now)
		if err != nil {
			t.Fatal(err)
		}
		if err := st.Verify(); err != nil {
			t.Fatalf("after the kill: %v", err)
		}
		for n, r := range p.rows {
			if r.receipt == nil || n.Log != jobV5 {
				continue
			}
			stored, err := st.After(jobV5, r.order-1, 1, 1)
			if err != nil || len(stored) != 1 || !bytes.Equal(stored[0].Entry, r.entry) || !bytes.Equal(stored[0].Receipt, r.receipt) {
				t.Fatalf("line %d was kept and is lost: %v", n.Ref.Seq, err)
			}
		}
		if err := st.Close(); err != nil {
			t.Fatal(err)
		}
	}

	server := startProcess(t, bin, data)
	p.dial(server.url)
	p.untilKept()
	p.untilCaught()
	p.hangUp()
	server.kill()
	st, err := OpenStore(filepath.Join(data, StoreFile), logbook.ID{}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	if err := st.Verify(); err != nil {
		t.Fatal(err)
	}
	if got := st.Heads()[jobV5].Order; got != uint64(len(all)) || len(p.aside) > 0 {
		t.Errorf("%d lines in the store, %d were written, %d set aside", got, len(all), len(p.aside))
	}
}
