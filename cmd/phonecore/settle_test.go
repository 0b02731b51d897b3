package main

import (
	"fmt"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// What a phone is given is taken in fifty lines at a time, then the lists'
// jobs one by one, until nothing is left; and whoever looks in the middle of it
// sees what they would have seen without.
func TestSettle(t *testing.T) {
	me, _ := logbook.ParseID(writer)
	row := func(class byte, id string, bodies ...checklist.Body) (row []byte) {
		log := logbook.Log{Class: class}
		log.ID, _ = logbook.ParseID(id)
		for i, b := range bodies {
			e := logbook.Entry{Log: log, Writer: me, Seq: uint64(i + 1), At: logbook.Stamp{Wall: wall}, Kind: b.Kind(), Body: line.Salted(b, make([]byte, 16))}
			receipt := logbook.Receipt{Epoch: 1, Order: uint64(i + 1), Arrived: wall, Latest: wall}.Append(nil)
			row = appendRow(row, receipt, e.Append(nil))
		}
		return row
	}
	long := []checklist.Body{checklist.JobOpen{Label: "V1", Route: "van"}}
	for i := range 249 {
		long = append(long, checklist.Note{Text: fmt.Sprint("note ", i)})
	}
	const otherJob = "01945f00-0000-7000-8000-0000000000f6"
	given := m{"rows": [][]byte{
		row('s', shopID, checklist.ShopSet{Name: "Hall", Units: "C", Zone: "UTC"}),
		row('j', jobID, long...), // five pieces
		row('j', otherJob, checklist.JobOpen{Label: "V2", Route: "van"}),
	}}
	clocks := func(more m) m {
		more["wall"], more["mono"] = wall, 1
		return more
	}
	begun := func() host {
		h := native()
		h.ask(t, opStart, clocks(m{"writer": writer, "device": writer, "life": 1}))
		h.ask(t, opLoad, given)
		return h
	}
	looks := func(h host) (all string) {
		for _, name := range []string{"home", "board", "job"} {
			_, text, _ := h.ask(t, opView, clocks(m{"name": name, "id": jobID, "by": leadID}))
			all += text
		}
		return all
	}
	want := looks(begun())
	if !strings.Contains(want, "note 248") || !strings.Contains(want, `"V2"`) {
		t.Fatalf("without it: %.400s", want)
	}
	for _, c := range []struct {
		name string
		left int // answers that say so: seven pieces, and two jobs where lists are looked at
	}{{"", 7}, {"lists", 9}} {
		settle := func(h host) string {
			_, text, _ := h.ask(t, opSettle, clocks(m{"name": c.name}))
			return text
		}
		for after := range c.left + 2 {
			h := begun()
			for i := range after {
				if got, want := settle(h), map[bool]string{true: `{"left":true}`, false: `{}`}[i < c.left]; got != want {
					t.Errorf("settle %q for the %d. time answers %s, want %s", c.name, i+1, got, want)
				}
			}
			if got := looks(h); got != want {
				t.Errorf("after settling %q %d times the views are others:\n%.400s\nwant\n%.400s", c.name, after, got, want)
			}
		}
	}
}

// A row in pieces is the same row: each line once, in order, fifty at most in
// a piece, and what cannot be read stays at the end.
func TestPieces(t *testing.T) {
	for _, n := range []int{0, 1, piece - 1, piece, piece + 1, 5 * piece} {
		for _, torn := range []string{"", "\x58"} {
			var row []byte
			for i := range n {
				row = appendRow(row, []byte{byte(i)}, fmt.Append(nil, "entry ", i))
			}
			row = append(row, torn...)
			lines, joined := 0, ""
			for _, p := range appendPieces(nil, row) {
				joined += string(p)
				of := 0
				for r := openRow(p); r.next(); of++ {
					if want := fmt.Sprint("entry ", lines); string(r.entry) != want {
						t.Fatalf("%d lines: %q, want %q", n, r.entry, want)
					}
					lines++
				}
				if of > piece {
					t.Errorf("%d lines: a piece of %d", n, of)
				}
			}
			if lines != n || joined != string(row) {
				t.Errorf("%d lines%q: %d lines and %d of %d bytes in the pieces", n, torn, lines, len(joined), len(row))
			}
		}
	}
}
