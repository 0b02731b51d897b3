//go:build linux

package server

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/server/browsertest"
)

// The program is killed again and again on a disk that is full again and again:
// killed while its disk is full, while it fills, and while lines are taken again;
// started on a full disk, and given room while it runs. What was acknowledged,
// lines and photos, is there after each kill, it takes lines again by itself, and
// 'bayhold verify' finds the store whole.
func TestKilledAndFullLosesNothing(t *testing.T) {
	rounds := 4
	if os.Getenv("BAYHOLD_LONG") == "1" {
		rounds = 60
	}
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=24m"); err != nil {
		t.Skip("a small disk of its own needs the right to mount one: ", err)
	}
	t.Cleanup(func() { syscall.Unmount(disk, syscall.MNT_DETACH) })
	bin, data, filler := browsertest.Program(t), filepath.Join(disk, "shop"), filepath.Join(disk, "filler")
	fill := func() {
		f, err := os.Create(filler)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		for n := 1 << 16; n > 0; n /= 16 { // to the last page
			for err = nil; err == nil; {
				_, err = f.Write(make([]byte, n))
			}
			if !errors.Is(err, syscall.ENOSPC) {
				t.Fatal(err)
			}
		}
	}
	room := func() {
		if err := os.Remove(filler); err != nil {
			t.Fatal(err)
		}
	}

	p := newPhone(t, "a")
	written, full := 0, false
	var kept, owed [][]byte // photos that were acknowledged, and others
	write := func(body checklist.Body) {
		written++
		p.write(jobV5, crew, body)
	}
	burst := func(n int) {
		for range n {
			write(checklist.Tick{Stage: "wash", Answer: "done", Note: fmt.Sprint(written)})
		}
	}
	sendPhotos := func(url string) {
		still := owed[:0]
		for _, raw := range owed {
			switch code := photoCode(t, url, raw); {
			case code == http.StatusCreated:
				kept = append(kept, raw)
			case code == http.StatusServiceUnavailable && full:
				still = append(still, raw)
			default:
				t.Errorf("a photo is answered %d, with the disk full: %v", code, full)
			}
		}
		owed = still
	}
	kill := func(server *process) {
		server.kill()
		for f := range p.frames { // what it said before it died counts too
			wall, mono := p.clocks()
			if out, err := p.end.Frame(f, wall, mono); err == nil {
				p.do(out)
			}
		}
	}
	// there looks for everything acknowledged in what the program left.
	there := func(when string) {
		t.Helper()
		acked := 0
		for n, r := range p.rows {
			if r.receipt != nil && n.Log == jobV5 {
				acked++
			}
		}
		if got := acknowledged(t, data, p); got != acked {
			t.Fatalf("%s: %d of %d acknowledged lines are there", when, got, acked)
		}
		for _, raw := range kept {
			if got, err := os.ReadFile(filepath.Join(data, photoFolder, name(raw))); err != nil || !bytes.Equal(got, raw) {
				t.Fatalf("%s: an acknowledged photo: %v", when, err)
			}
		}
	}
	heard := func(server *process, what string) {
		t.Helper()
		for deadline := time.Now().Add(browsertest.Patience); !strings.Contains(server.said.text(), what); time.Sleep(10 * time.Millisecond) {
			if time.Now().After(deadline) {
				t.Fatalf("the terminal does not say %q:\n%s", what, server.said.text())
			}
		}
	}
	// refused writes until the disk takes no more: its pages may have some room.
	refused := func() {
		t.Helper()
		for i := 0; p.later == ""; i++ {
			if i == 4000 {
				t.Fatal("28 MB of lines were kept on a disk of 24 MB")
			}
			write(checklist.Note{Text: noise(7000, written), Salt: make([]byte, 16)})
			p.until("an answer", func() bool { return len(p.outbox) == 0 || p.later != "" })
		}
		if !strings.Contains(p.later, "disk may be full") || len(p.outbox) == 0 || len(p.aside) > 0 {
			t.Fatalf("the phone hears %q and holds %d lines, %d aside", p.later, len(p.outbox), len(p.aside))
		}
	}

	for round := range rounds {
		server := startProcess(t, bin, data) // on a full disk too
		owed = append(owed, picture(64+round, 48))
		if full {
			p.dial(server.url)
			p.until("an answer", func() bool { return len(p.outbox) == 0 || p.later != "" })
			refused()
			heard(server, "Disk full")
			sendPhotos(server.url)
			p.hangUp()
			room()
			full = false
			p.dial(server.url)
			p.untilKept() // without a start
			heard(server, "Lines are taken again")
		} else {
			p.dial(server.url)
			p.untilKept()
		}
		sendPhotos(server.url)
		if len(owed) > 0 {
			t.Fatalf("%d photos are not taken with room on the disk", len(owed))
		}
		burst(50)
		switch round % 3 {
		case 0: // killed with a full disk
			p.untilKept()
			owed = append(owed, picture(64+round, 64))
			fill()
			full = true
			refused()
			sendPhotos(server.url)
			heard(server, "Disk full")
		case 1: // killed while lines come, to a disk that has just got room
			p.untilKept()
			fill()
			full = true
			refused()
			p.hangUp()
			room()
			full = false
			p.dial(server.url)
			burst(100)
			some := rand.IntN(len(p.outbox))
			p.until("some lines are kept", func() bool { return len(p.outbox) <= some })
		case 2: // killed while the disk fills and lines come
			some := rand.IntN(len(p.outbox) + 1)
			p.until("some lines are kept", func() bool { return len(p.outbox) <= some })
			fill()
			full = true
			for range 20 {
				write(checklist.Note{Text: noise(7000, written), Salt: make([]byte, 16)})
			}
			if rand.IntN(2) == 0 {
				p.until("an answer", func() bool { return len(p.outbox) < 10 || p.later != "" })
			}
		}
		kill(server)
		there(fmt.Sprintf("round %d", round))
	}

	server := startProcess(t, bin, data)
	heard(server, "not stopped in good order")
	if full {
		room()
		full = false
	}
	p.dial(server.url)
	p.untilKept()
	p.untilCaught()
	sendPhotos(server.url)
	kill(server)
	there("at last")
	if out, err := exec.Command(bin, "verify", "--data", data).CombinedOutput(); err != nil {
		t.Errorf("bayhold verify: %v\n%s", err, out)
	}
	st, err := ReadStore(filepath.Join(data, StoreFile))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	if got := st.Heads()[jobV5].Order; got != uint64(written) || len(owed) > 0 {
		t.Errorf("%d lines are in the store, %d were written; %d photos are not", got, written, len(owed))
	}
}
