package server

import (
	"bytes"
	"net/http/httptest"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/jsonl"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// startShopAt is startShop by a clock of the test's own, ms.
func startShopAt(t *testing.T, dir string, now *atomic.Int64) *shopAt {
	t.Helper()
	s, err := Open(Config{Data: dir, App: appFiles, Worker: []byte("//"), Bundle: "test", Log: testLog(t),
		Now: func() time.Time { return time.UnixMilli(now.Load()) }})
	if err != nil {
		t.Fatal(err)
	}
	at := &shopAt{Server: s, http: httptest.NewServer(s.Handler()), dir: dir}
	t.Cleanup(func() { at.stop(t) })
	return at
}

// A phone goes out of reach without a word: no packet says that its socket is
// over. The shop closes it after its silence and goes on with the others, and
// what the phone missed and wrote meanwhile comes together later.
func TestHalfOpenPhone(t *testing.T) {
	var now atomic.Int64
	now.Store(time.Now().UnixMilli())
	s := startShopAt(t, t.TempDir(), &now)
	crewed(t, s)
	gone, here := newPhone(t, "gone"), newPhone(t, "here")
	gone.connect(s)
	gone.untilCaught()
	here.connect(s)
	here.untilCaught()
	connected := func(p *phone) bool {
		return slices.ContainsFunc(s.hub.all(), func(at *wsSession) bool { return at.device() == p.device })
	}
	beat := func() {
		t.Helper()
		for _, p := range s.hub.all() { // the clock steps over what real phones' beats would fill
			if p.device() != here.device {
				continue
			}
			before := p.heard()
			wall, mono := here.clocks()
			here.do(here.end.Probe(wall, mono))
			here.until("the shop hears the beat", func() bool { return p.heard() > before })
		}
	}
	// The shop closes a socket after 45 s of silence (package session): 30 s are
	// none, 60 s are.
	now.Add(30_000)
	beat()
	s.hub.drop(s.clock())
	if !connected(gone) || !connected(here) {
		t.Fatal("a socket was closed after 30 s of silence")
	}
	now.Add(30_000)
	s.hub.drop(s.clock())
	if connected(gone) || !connected(here) {
		t.Fatalf("after a minute of silence: the silent phone %v, the one that beats %v", connected(gone), connected(here))
	}
	for range gone.frames { // the other end hears of it, if any packet reaches it
	}
	missed := here.write(jobV5, crew, checklist.Tick{Stage: "wash", Answer: "done"})
	here.untilKept()
	mine := gone.entry(jobV5, crew, checklist.Tick{Stage: "dry", Answer: "done"})
	gone.connect(s)
	gone.untilKept()
	gone.untilCaught()
	here.until("the line of the phone that was gone", func() bool { return here.rows[mine].receipt != nil })
	if gone.rows[missed].receipt == nil || !bytes.Equal(gone.copyOf(jobV5), s.copyOf(t, jobV5)) {
		t.Error("the phone that was gone lacks a line")
	}
}

// heard is when the shop heard of the phone, as far as Silent tells: the least
// moment at which it would be silent.
func (p *wsSession) heard() int64 {
	lo, hi := int64(0), int64(1)<<50
	for lo < hi {
		if mid := lo + (hi-lo)/2; p.silent(mid) {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return lo
}

// A phone lay in a drawer for a year with lines that never reached the shop.
// Meanwhile the job was handed over and the server started anew. Its lines are
// kept, nobody takes them for new ones, and the others get them.
func TestPhoneAfterAYear(t *testing.T) {
	const year = 365 * 24 * time.Hour
	var now atomic.Int64
	then := time.Now().Add(-year).UnixMilli()
	now.Store(then)
	dir := t.TempDir()
	s := startShopAt(t, dir, &now)
	crewed(t, s)
	old := newPhone(t, "old")
	// Written by hand, because a phone under test lives now: ten lines, a minute
	// apart, by a phone that met the shop half an hour before.
	var written []int64
	for i := range int64(10) {
		at := then + 30*60_000 + i*60_000
		e := logbook.Entry{Log: jobV5, Writer: old.writer, Seq: uint64(i) + 1, By: crew,
			At: logbook.Stamp{Wall: at, Earliest: at, Mono: 30*60_000 + i*60_000, Life: 7, OffsetErr: 20, OffsetAt: then}}
		body := checklist.Tick{Stage: "wash", Answer: "done"}
		e.Kind, e.Body = body.Kind(), line.Encode(body)
		n := session.Name{Log: jobV5, Ref: e.Ref()}
		old.rows[n] = row{entry: e.Append(nil)}
		old.outbox, old.seqs[jobV5] = append(old.outbox, n), e.Seq
		written = append(written, at)
	}
	now.Add(int64(3 * time.Hour / time.Millisecond))
	desk := newPhone(t, "desk")
	desk.connect(s)
	desk.write(jobV5, lead, checklist.JobClose{How: "handed-over"})
	desk.untilKept()
	desk.hangUp()
	s.stop(t)

	now.Store(then + year.Milliseconds())
	again := startShopAt(t, dir, &now)
	watch := newPhone(t, "watch")
	watch.connect(again)
	watch.untilCaught()
	names := append([]session.Name(nil), old.outbox...)
	old.connect(again)
	old.untilKept()
	if len(old.aside) > 0 {
		t.Fatalf("%d lines were set aside: %s", len(old.aside), old.aside[0].Reason)
	}
	for i, n := range names {
		r, err := logbook.DecodeReceipt(old.rows[n].receipt)
		if err != nil {
			t.Fatal(err)
		}
		// The interval holds the true time, and the arrival is no proof of it.
		if r.Earliest > written[i] || r.Latest < written[i] || r.Arrived < then+year.Milliseconds() {
			t.Errorf("line %d was written at %d; its receipt says %+v", i, written[i], r)
		}
		if r.Earliest < then {
			t.Errorf("line %d: nothing vouches for its time: %+v", i, r)
		}
	}
	last := names[len(names)-1]
	watch.until("the old lines", func() bool { return watch.rows[last].receipt != nil })
	old.until("the job's first line, its last and those between", func() bool { return old.cursors[jobV5].Order == 12 })
	if !bytes.Equal(old.copyOf(jobV5), again.copyOf(t, jobV5)) {
		t.Error("the old phone's copy differs")
	}
}

// A line of a kind that only a newer version knows goes all the way unharmed:
// through the shop, to another phone, into the export and back, and it can be
// taken back like any other.
func TestKindOfTheFuture(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	a, b := newPhone(t, "a"), newPhone(t, "b")
	a.connect(s)
	b.connect(s)
	// {"nm": -7, "of": {"deep": [1, h'00ff', null, true, "x"]}} by RFC 8949,
	// keys in the order of its section 4.2.1.
	body := []byte{0xa2, 0x62, 'n', 'm', 0x26, 0x62, 'o', 'f', 0xa1, 0x64, 'd', 'e', 'e', 'p',
		0x85, 0x01, 0x42, 0x00, 0xff, 0xf6, 0xf5, 0x61, 'x'}
	n := a.raw(jobV5, crew, "torque.of.tomorrow", body)
	want := bytes.Clone(a.rows[n].entry)
	a.say(n)
	strike := a.write(jobV5, crew, nil, n.Ref)
	a.untilKept()
	b.until("both lines", func() bool { return b.rows[n].receipt != nil && b.rows[strike].receipt != nil })
	if !bytes.Equal(b.rows[n].entry, want) {
		t.Error("the other phone has other bytes")
	}
	lines, err := jsonl.Read(bytes.NewReader([]byte(exported(t, s.dir))))
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, l := range lines {
		if l.Entry.Kind == "torque.of.tomorrow" && bytes.Equal(l.Bytes, want) && bytes.Equal(l.Receipt.Append(nil), a.rows[n].receipt) {
			found++
		}
	}
	if found != 1 {
		t.Errorf("the export has the line %d times", found)
	}
}
