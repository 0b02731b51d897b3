//go:build linux

package server

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"bayhold/checklist"
)

// The disk is full: a new line is refused with a sentence that says so, its
// phone keeps it, what is there can be read, and when there is room again the
// same lines are kept, without anyone starting anything again.
func TestDiskFull(t *testing.T) {
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=4m"); err != nil {
		t.Skip("a small disk of its own needs the right to mount one: ", err)
	}
	t.Cleanup(func() { syscall.Unmount(disk, syscall.MNT_DETACH) })
	s := startShop(t, filepath.Join(disk, "shop"))
	crewed(t, s)
	p, other := newPhone(t, "a"), newPhone(t, "b")
	p.connect(s)
	p.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	p.untilKept()

	filler := filepath.Join(disk, "filler")
	f, err := os.Create(filler)
	if err != nil {
		t.Fatal(err)
	}
	for block := make([]byte, 4096); err == nil; {
		_, err = f.Write(block)
	}
	f.Close()
	if !errors.Is(err, syscall.ENOSPC) {
		t.Fatal(err)
	}

	// The store may have some room of its own left.
	full := func() {
		t.Helper()
		for i := 0; p.later == ""; i++ {
			if i == 1000 {
				t.Fatal("7 MB of lines were kept on a full disk of 4 MB: this test shows nothing")
			}
			p.write(jobV5, crew, checklist.Note{Text: noise(7000, i), Salt: make([]byte, 16)})
			p.until("an answer", func() bool { return len(p.outbox) == 0 || p.later != "" })
		}
		if !strings.Contains(p.later, "disk may be full") || !strings.Contains(p.later, "stay on this phone") {
			t.Errorf("the phone hears %q", p.later)
		}
		if len(p.outbox) != 1 || len(p.aside) != 0 {
			t.Errorf("the phone holds %d lines, %d aside; want the last one", len(p.outbox), len(p.aside))
		}
		p.hangUp()
	}
	full()
	raw := picture(320, 240)
	if code := photoCode(t, s.http.URL, raw); code != http.StatusServiceUnavailable {
		t.Errorf("a photo is answered %d, want 503", code)
	}
	other.connect(s)
	other.untilCaught()
	if !bytes.Equal(other.copyOf(jobV5), s.copyOf(t, jobV5)) {
		t.Error("another phone does not get what is there")
	}
	other.hangUp()
	p.connect(s)
	p.until("the same answer", func() bool { return p.later != "" })
	p.hangUp()

	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	p.connect(s)
	p.untilKept()
	p.untilCaught()
	if !bytes.Equal(p.copyOf(jobV5), s.copyOf(t, jobV5)) {
		t.Error("the phone's copy differs")
	}
	if code := photoCode(t, s.http.URL, raw); code != http.StatusCreated {
		t.Errorf("with room again a photo is answered %d", code)
	}
}

// photoCode sends a whole photo, or what the shop lacks of it, and answers the
// status.
func photoCode(t *testing.T, url string, raw []byte) int {
	t.Helper()
	h, err := http.Head(url + "/photos/" + name(raw))
	if err != nil {
		t.Fatal(err)
	}
	h.Body.Close()
	offset, _ := strconv.Atoi(h.Header.Get("Upload-Offset"))
	r, err := http.NewRequest("PATCH", url+"/photos/"+name(raw), bytes.NewReader(raw[offset:]))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Upload-Offset", strconv.Itoa(offset))
	r.Header.Set("Upload-Length", strconv.Itoa(len(raw)))
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	io.Copy(io.Discard, resp.Body)
	resp.Body.Close()
	return resp.StatusCode
}
