package server

import (
	"bytes"
	"compress/flate"
	"fmt"
	"net"
	"net/http"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// Two installers and the lead's board share a job: each line reaches the
// others, in the same bytes with the same receipt, and does not come back.
func TestPhonesAgree(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	a, b := newPhone(t, "a"), newPhone(t, "b")
	a.connect(s)
	a.untilCaught()
	b.connect(s)
	b.untilCaught()
	cameA := a.came

	var ticks []session.Name
	for i := range 40 {
		ticks = append(ticks, a.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done", Note: fmt.Sprint(i)}))
	}
	a.untilKept()
	last := ticks[len(ticks)-1]
	b.until("the last tick has come", func() bool { return b.rows[last].receipt != nil })

	if a.came != cameA {
		t.Errorf("%d of its own lines came back to the phone that wrote them", a.came-cameA)
	}
	want := s.copyOf(t, jobV5)
	for _, p := range []*phone{a, b} {
		if !bytes.Equal(p.copyOf(jobV5), want) {
			t.Error("a copy of the job differs from the store's")
		}
	}
}

// A phone whose socket breaks anywhere goes on from its cursor, and what it
// had sent without hearing of it is in the store once.
func TestPhoneResumesAfterAnyBreak(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	writer, reader := newPhone(t, "a"), newPhone(t, "b")
	var names []session.Name
	for i := range 30 {
		writer.connect(s)
		for j := range i % 4 {
			names = append(names, writer.entry(jobV5, crew, checklist.Note{Text: fmt.Sprint(i, ".", j), Salt: make([]byte, 16)}))
		}
		writer.say(writer.outbox...)
		n := i % 3 // frames heard before the break: the welcome, perhaps the receipts
		writer.until("some frames", func() bool { n--; return n < 0 })
		writer.hangUp()

		reader.connect(s)
		n = i % 5
		reader.until("some frames", func() bool { n--; return n < 0 || reader.end.Caught() })
		reader.hangUp()
	}
	writer.connect(s)
	writer.untilKept()
	writer.untilCaught()
	reader.connect(s)
	reader.untilCaught()
	want := s.copyOf(t, jobV5)
	if !bytes.Equal(writer.copyOf(jobV5), want) || !bytes.Equal(reader.copyOf(jobV5), want) {
		t.Error("a copy of the job differs from the store's")
	}
	for _, n := range names {
		if writer.rows[n].receipt == nil {
			t.Errorf("line %d was lost", n.Ref.Seq)
		}
	}
	// The phones read what is on disk, a moment before the writer has its heads
	// in memory; what is handed to it now comes after that.
	if err := s.writer.do(t.Context(), func(*pen) error { return nil }); err != nil {
		t.Fatal(err)
	}
	if h := s.store.Heads()[jobV5]; h.Order != uint64(len(names))+1 {
		t.Errorf("%d lines in the store, want %d and the job's first", h.Order, len(names))
	}
}

// A server that stops and starts again is found in the same state.
func TestPhoneAcrossRestart(t *testing.T) {
	dir := t.TempDir()
	s := startShop(t, dir)
	crewed(t, s)
	p := newPhone(t, "a")
	p.connect(s)
	p.untilCaught()
	s.stop(t)
	p.until("the shop says why it stops", func() bool { return p.closed != "" })
	for range p.frames {
	}

	p.entry(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	again := startShop(t, dir)
	p.connect(again)
	p.untilKept()
	p.untilCaught()
	if !bytes.Equal(p.copyOf(jobV5), again.copyOf(t, jobV5)) {
		t.Error("the phone's copy differs after the restart")
	}
}

// What the crew may not write goes aside with a sentence, clears the outbox
// and holds nothing up.
func TestLineThatIsSetAside(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	p := newPhone(t, "a")
	p.connect(s)
	wash := p.write(jobV5, lead, checklist.Tick{Stage: "wash", Answer: "done"})
	undo := p.write(jobV5, lead, nil, wash.Ref)
	for _, c := range []struct {
		what string
		line func() session.Name
		why  string
	}{
		{"crew waives a gate", func() session.Name {
			return p.entry(jobV5, crew, checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: "goes tonight"})
		}, "Only the lead may write this."},
		{"nobody waives a gate", func() session.Name {
			return p.entry(jobV5, logbook.ID{}, checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: "goes tonight"})
		}, "Only the lead"},
		{"crew changes the rules", func() session.Name {
			return p.entry(s.store.shop, crew, line.Pin(checklist.RulesSet{Values: checklist.DefaultRules()}))
		}, "Only the lead or the shop server"},
		{"crew makes a lead", func() session.Name {
			return p.entry(s.store.shop, crew, checklist.PersonAdd{Person: checklist.ID(logbook.Named("X")), Name: "X", Initials: "X", Role: "lead"})
		}, "Only the lead"},
		{"crew answers for the owner", func() session.Name {
			return p.entry(jobV5, crew, checklist.FindingAnswer{Finding: checklist.LineID{Writer: checklist.ID(wash.Ref.Writer), Seq: 1}, Answer: "accepted"})
		}, "Only the lead or the desk may write this."},
		{"crew takes back the lead's line", func() session.Name { return p.entry(jobV5, crew, nil, wash.Ref) }, "Only who wrote it, or the lead"},
		{"a line that is not there is taken back", func() session.Name { return p.entry(jobV5, lead, nil, logbook.Ref{Writer: logbook.Named("z"), Seq: 9}) }, "not at the shop"},
		{"a strike is struck", func() session.Name { return p.entry(jobV5, lead, nil, undo.Ref) }, "write the line again"},
		{"a tick in the shop's logbook", func() session.Name { return p.entry(s.store.shop, lead, checklist.Tick{Stage: "wash", Answer: "done"}) }, "does not belong in this logbook"},
		{"another shop's line", func() session.Name {
			return p.entry(logbook.Log{Class: 's', ID: logbook.Named("other")}, lead, checklist.ShopSet{Name: "x", Units: "C", Zone: "UTC"})
		}, "another shop"},
		{"a body that is none", func() session.Name { return p.raw(jobV5, crew, "tick", []byte{0xa1, 0x65, 's', 't', 'a', 'g', 'e', 1}) }, "stage"},
		{"the server's own kind", func() session.Name {
			return p.entry(placeLog(bay4), lead, checklist.ClimateBlock{Instrument: "x", From: 1, To: 2, N: 1})
		}, "Only the shop server"},
	} {
		before := len(p.aside)
		name := c.line()
		p.say(name)
		p.until(c.what, func() bool { return len(p.aside) > before })
		if got := p.aside[before]; got.Name != name || !strings.Contains(got.Reason, c.why) {
			t.Errorf("%s: %q, want %q", c.what, got.Reason, c.why)
		}
	}
	// The lines behind them are kept, the lead's and a newer version's too.
	good := []session.Name{
		p.entry(jobV5, lead, checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: "goes tonight"}),
		p.entry(s.store.shop, lead, checklist.PersonAdd{Person: checklist.ID(logbook.Named("S")), Name: "Sol", Initials: "S", Role: "crew"}),
		p.raw(jobV5, crew, "torque.of.tomorrow", []byte{0xa1, 0x62, 'n', 'm', 7}),
	}
	p.say(good...)
	p.untilKept()
	for _, n := range good {
		if p.rows[n].receipt == nil {
			t.Errorf("seq %d of %c is not kept", n.Ref.Seq, n.Log.Class)
		}
	}
	if got, _ := s.store.Aside(); len(got) != 12 {
		t.Errorf("%d lines aside, want 12", len(got))
	}
}

// A shop that is being set up has no lead yet: whoever holds the first phone
// writes its name, bays and crew, until there is a job.
func TestSetupByAnyone(t *testing.T) {
	s := startShop(t, t.TempDir())
	p := newPhone(t, "a")
	p.connect(s)
	p.entry(s.store.shop, logbook.ID{}, checklist.ShopSet{Name: "Tarnbrook Six", Units: "C", Zone: "Europe/Berlin"})
	p.entry(s.store.shop, logbook.ID{}, checklist.PersonAdd{Person: checklist.ID(lead), Name: "Mara", Initials: "M", Role: "lead"})
	p.entry(s.store.shop, logbook.ID{}, checklist.PersonAdd{Person: checklist.ID(crew), Name: "Jon", Initials: "J", Role: "crew"})
	p.entry(jobV5, crew, checklist.JobOpen{Label: "V5", Route: "panels"})
	p.say(p.outbox...)
	p.untilKept()
	late := p.write(s.store.shop, logbook.ID{}, checklist.ShopSet{Name: "Mine", Units: "C", Zone: "UTC"})
	p.until("the last line is answered", func() bool { return len(p.outbox) == 0 })
	if len(p.aside) != 1 || p.aside[0].Name != late {
		t.Errorf("aside: %v", p.aside)
	}
}

// A phone that does not read its socket loses the socket, not its lines, and
// holds up nobody.
func TestSlowPhone(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	slow := newPhone(t, "slow")
	ws, _, err := dial(s.http.URL)
	if err != nil {
		t.Fatal(err)
	}
	ws.NetConn().(*net.TCPConn).SetReadBuffer(4 << 10)
	slow.ws = ws
	slow.end = session.NewPhone(slow.device, slow.clk)
	wall, mono := slow.clocks()
	slow.do(slow.end.Open(wall, mono, nil, nil, nil, nil)) // says hello, and never reads

	ofSlow := func() *wsSession {
		for _, p := range s.hub.all() {
			p.mu.Lock()
			device := p.shop.Device()
			p.mu.Unlock()
			if device == slow.device {
				return p
			}
		}
		return nil
	}
	for ofSlow() == nil {
		runtime.Gosched()
	}
	stuck := ofSlow()
	stuck.ws.NetConn().(*bundle).Conn.(*net.TCPConn).SetWriteBuffer(4 << 10)

	busy, other := newPhone(t, "a"), newPhone(t, "b")
	busy.connect(s)
	other.connect(s)
	const lines = 300 // 2 MB of letters: much more than the buffers of its socket
	var last session.Name
	for i := range lines {
		last = busy.entry(jobV5, crew, checklist.Note{Text: noise(7000, i), Salt: make([]byte, 16)})
	}
	busy.say(busy.outbox...)
	busy.untilKept()
	if len(busy.aside) > 0 {
		t.Fatalf("%d lines were set aside: %s", len(busy.aside), busy.aside[0].Reason)
	}
	other.until("the last line", func() bool { return other.rows[last].receipt != nil })

	stuck.mu.Lock()
	if !stuck.writing {
		t.Error("the slow phone was not slow: nothing waits for it")
	}
	stuck.mu.Unlock()
	stuck.ws.NetConn().SetWriteDeadline(time.Now()) // as writeWait does after ten seconds
	ws.Close()

	slow.connect(s)
	slow.untilCaught()
	if !bytes.Equal(slow.copyOf(jobV5), s.copyOf(t, jobV5)) {
		t.Error("the slow phone's copy differs")
	}
}

// noise is text of n letters that does not compress to nothing.
func noise(n, seed int) string {
	b := make([]byte, n)
	x := uint64(seed)*2654435761 + 88172645463325252
	for i := range b {
		x ^= x << 13
		x ^= x >> 7
		x ^= x << 17
		b[i] = 'a' + byte(x%26)
	}
	return string(b)
}

// A frame that is no frame ends the socket with a sentence and changes
// nothing.
func TestHostileFrames(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	before := s.store.Entries()
	bomb := func(n int) []byte {
		var b bytes.Buffer
		b.WriteByte(deflateFrame)
		w, _ := flate.NewWriter(&b, 9)
		w.Write(make([]byte, n))
		w.Close()
		return b.Bytes()
	}
	for _, c := range []struct {
		what string
		kind int
		msg  []byte
		says string
	}{
		{"an empty message", websocket.BinaryMessage, nil, "begins with a byte"},
		{"an unknown packing", websocket.BinaryMessage, []byte{7, 1, 2}, "packed as 0"},
		{"text", websocket.TextMessage, []byte("hello"), "binary message"},
		{"no CBOR", websocket.BinaryMessage, []byte{0, 0xff, 0xff}, "refused"},
		{"broken deflate", websocket.BinaryMessage, []byte{1, 0xff, 0xff, 0xff}, "cannot be read"},
		{"a bomb: 64 MiB in a few KiB", websocket.BinaryMessage, bomb(64 << 20), "at most 4 MiB"},
		{"lines before hello", websocket.BinaryMessage, []byte{0, 0x83, 2, 0x85, 0, 0, 0, 0, 0, 0x80}, "hello first"},
		{"5 MiB raw", websocket.BinaryMessage, make([]byte, 5<<20), ""}, // the socket just ends
	} {
		ws, _, err := dial(s.http.URL)
		if err != nil {
			t.Fatal(err)
		}
		ws.WriteMessage(c.kind, c.msg)
		ws.SetReadDeadline(time.Now().Add(20 * time.Second))
		var said []byte
		for {
			_, msg, err := ws.ReadMessage()
			if err != nil {
				break
			}
			said = append(said, msg...)
		}
		if !strings.Contains(string(said), c.says) {
			t.Errorf("%s: the shop says %q, want %q", c.what, said, c.says)
		}
		ws.Close()
	}
	if after := s.store.Entries(); after != before {
		t.Errorf("%d entries came of it", after-before)
	}
}

// Only a page of the shop's own may open a socket, and only in the protocol
// that the shop speaks (RFC 6455 section 10.2).
func TestUpgradeOfAnotherSite(t *testing.T) {
	s := startShop(t, t.TempDir())
	url := "ws" + strings.TrimPrefix(s.http.URL, "http") + "/ws"
	for _, c := range []struct {
		origin, protocol string
		code             int
	}{
		{"http://evil.example", subprotocol, 403},
		{"", subprotocol, 403},
		{"null", subprotocol, 403},
		{s.http.URL + ".evil.example", subprotocol, 403},
		{s.http.URL, "bayhold.99", 400},
		{s.http.URL, "", 400},
	} {
		d := websocket.Dialer{}
		if c.protocol != "" {
			d.Subprotocols = []string{c.protocol}
		}
		h := http.Header{}
		if c.origin != "" {
			h.Set("Origin", c.origin)
		}
		_, resp, err := d.Dial(url, h)
		if err == nil || resp == nil || resp.StatusCode != c.code {
			t.Errorf("origin %q, protocol %q: %v, want %d", c.origin, c.protocol, resp, c.code)
		}
	}
	resp, err := http.Get(s.http.URL + "/ws")
	if err != nil || resp.StatusCode != http.StatusUpgradeRequired {
		t.Errorf("a plain GET: %v %v", resp.StatusCode, err)
	}
}
