package server

import (
	"bytes"
	"encoding/hex"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// A crew hand's go-ahead is set aside, and the lead adopts it: it stands in the
// job on every phone, behind the adoption, as the lead's, once, and what its
// hash names is still what the crew hand wrote.
func TestLeadAdopts(t *testing.T) {
	dir := t.TempDir()
	s := startShop(t, dir)
	crewed(t, s)
	hand, desk := newPhone(t, "hand"), newPhone(t, "lead's")
	hand.connect(s)
	desk.connect(s)
	wrote := hand.write(jobV5, crew, checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: "goes tonight"})
	first := bytes.Clone(hand.rows[wrote].entry)
	hand.until("it is set aside", func() bool { return len(hand.aside) == 1 })
	sum := hexSum(first)

	adoption := desk.write(jobV5, lead, checklist.Adopt{Sum: sum})
	desk.untilKept()
	order := desk.rows[adoption].order
	for _, p := range []*phone{hand, desk} {
		p.until("the adopted line", func() bool { return p.cursors[jobV5].Order == order+1 })
		if !bytes.Equal(p.copyOf(jobV5), s.copyOf(t, jobV5)) {
			t.Error("a copy differs from the store's")
		}
	}
	adopted := func(s *shopAt) logbook.Entry {
		t.Helper()
		lines, err := s.store.After(jobV5, order, 2, 1<<20)
		if err != nil || len(lines) != 1 {
			t.Fatalf("%d lines behind the adoption, want one (%v)", len(lines), err)
		}
		e, err := logbook.Decode(lines[0].Entry)
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	e := adopted(s)
	was, err := logbook.Decode(first)
	if err != nil {
		t.Fatal(err)
	}
	if e.By != lead || e.Kind != "waiver" || !bytes.Equal(e.Body, was.Body) || e.At != was.At ||
		e.Origin.Ref != was.Ref() || hex.EncodeToString(e.Origin.Sum[:]) != sum {
		t.Errorf("adopted: %+v", e)
	}
	if shelf, err := s.store.Aside(); err != nil || len(shelf) != 1 || !bytes.Equal(shelf[0].Bytes, first) {
		t.Errorf("the shelf holds %+v (%v)", shelf, err)
	}

	// Sent again, by the hand or the lead, it changes nothing; adopted again it
	// is refused.
	hand.say(wrote)
	desk.say(adoption)
	desk.write(jobV5, lead, checklist.Adopt{Sum: sum})
	desk.until("the second adoption is answered", func() bool { return len(desk.aside) == 1 })
	if !strings.Contains(desk.aside[0].Reason, "already") {
		t.Errorf("adopted twice: %q", desk.aside[0].Reason)
	}
	s.stop(t)
	again := startShop(t, dir)
	if got := adopted(again); got.Ref() != e.Ref() {
		t.Error("after a restart another line is the adopted one")
	}
}

func TestAdoptionsThatAreRefused(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	p := newPhone(t, "a")
	p.connect(s)
	of := func(log logbook.Log, by logbook.ID, body checklist.Body) string {
		t.Helper()
		name := p.entry(log, by, body)
		raw := bytes.Clone(p.rows[name].entry)
		n := len(p.aside)
		p.say(name)
		p.until("it is set aside", func() bool { return len(p.aside) > n })
		return hexSum(raw)
	}
	waiver := checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: "goes tonight"}
	good := of(jobV5, crew, waiver)
	elsewhere := of(logbook.Log{Class: 'j', ID: logbook.Named("V6")}, crew, waiver)
	logger := of(placeLog(bay4), lead, checklist.ClimateBlock{Instrument: "x", From: 1, To: 2, N: 1})
	unread := p.raw(jobV5, crew, "tick", []byte{0xa1, 0x65, 's', 't', 'a', 'g', 'e', 1})
	unreadSum := hexSum(p.rows[unread].entry)
	p.say(unread)
	p.until("it is set aside", func() bool { return len(p.aside) == 4 })
	adoption := of(jobV5, crew, checklist.Adopt{Sum: good})

	before := s.store.Heads()[jobV5].Order
	for _, c := range []struct {
		what string
		log  logbook.Log
		by   logbook.ID
		sum  string
		says string
	}{
		{"by a crew hand", jobV5, crew, good, "Only the lead"},
		{"of nothing", jobV5, lead, strings.Repeat("0", 64), "Nothing with this hash"},
		{"without a hash", jobV5, lead, "the waiver", "64 hex digits"},
		{"into another logbook", jobV5, lead, elsewhere, "another logbook"},
		{"of a logger's line", placeLog(bay4), lead, logger, "Only the shop server"},
		{"of a line that no version reads", jobV5, lead, unreadSum, "stage"},
		{"of an adoption", jobV5, lead, adoption, "adopt the line itself"},
	} {
		n := len(p.aside)
		p.write(c.log, c.by, checklist.Adopt{Sum: c.sum})
		p.until(c.what, func() bool { return len(p.aside) > n })
		if got := p.aside[n].Reason; !strings.Contains(got, c.says) {
			t.Errorf("%s: %q, want %q", c.what, got, c.says)
		}
	}
	if after := s.store.Heads()[jobV5].Order; after != before {
		t.Errorf("%d lines came of it", after-before)
	}

	// Two leads adopt the same at once: one line comes of it.
	body := line.Encode(checklist.Adopt{Sum: good})
	twice := []logbook.Entry{
		{Log: jobV5, Writer: logbook.Named("x"), Seq: 1, By: lead, Kind: "adopt", Body: body},
		{Log: jobV5, Writer: logbook.Named("y"), Seq: 1, By: lead, Kind: "adopt", Body: body}}
	v := s.submit(t, twice...)
	if v[0].Reason != "" || !strings.Contains(v[1].Reason, "already") {
		t.Errorf("adopted twice in one round: %q, %q", v[0].Reason, v[1].Reason)
	}
	if after := s.store.Heads()[jobV5].Order; after != before+2 {
		t.Errorf("%d lines came of it, want the adoption and the line", after-before)
	}
}

// The machine's owner adopts in a lead's name, beside the running server and
// without one.
func TestAdoptFromTheCommandLine(t *testing.T) {
	dir := t.TempDir()
	s := startShop(t, dir)
	crewed(t, s)
	var sums []string
	for i := range 2 {
		e := note("a", uint64(i+1), "")
		e.Kind, e.Body = "waiver", line.Encode(checklist.Waiver{Stage: "dry", Causes: []string{"not-dry"}, Sentence: "goes tonight"})
		if v := s.submit(t, e); v[0].Reason == "" {
			t.Fatal("the waiver was kept")
		}
		sums = append(sums, hexSum(e.Append(nil)))
	}
	order := s.store.Heads()[jobV5].Order
	if err := Adopt(dir, sums[0], "Mara"); err != nil {
		t.Fatal(err)
	}
	if err := Adopt(dir, sums[0], "Mara"); err == nil || !strings.Contains(err.Error(), "already") {
		t.Errorf("a second time: %v", err)
	}
	if err := Adopt(dir, sums[1], "Jon"); err == nil || !strings.Contains(err.Error(), "no lead") {
		t.Errorf("by a crew hand: %v", err)
	}
	s.stop(t)
	if err := Adopt(dir, sums[1], "M"); err != nil {
		t.Fatal(err)
	}
	again := startShop(t, dir)
	lines, err := again.store.After(jobV5, order, 9, 1<<20)
	if err != nil || len(lines) != 4 {
		t.Fatalf("%d lines came of two adoptions (%v)", len(lines), err)
	}
	for i, want := range []string{"adopt", "waiver", "adopt", "waiver"} {
		e, err := logbook.Decode(lines[i].Entry)
		if err != nil || e.Kind != want || e.By != lead {
			t.Errorf("line %d is %s by %v (%v), want %s by the lead", i, e.Kind, e.By, err, want)
		}
	}
	shelf, err := again.store.Aside()
	if err != nil || len(shelf) != 2 || !shelf[0].Stands || !shelf[1].Stands {
		t.Errorf("the shelf: %+v (%v)", shelf, err)
	}
}
