package main

import (
	"bytes"
	"encoding/json"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// A copy that reaches to line 2 has two lines of this phone's former and present
// writers beyond it. With another store of the shop those two wait again and the
// copy ends where its cursor is; with a copy that the shop has not at all, so do
// the present writer's lines within it.
func TestUnkeep(t *testing.T) {
	job, _ := logbook.ParseID(jobID)
	log := logbook.Log{Class: 'j', ID: job}
	me, _ := logbook.ParseID(writer)
	former, other := logbook.Named("my former writer"), logbook.Named("another phone")
	entry := func(who logbook.ID, seq uint64) []byte {
		b := checklist.Note{Text: "a note"}
		e := logbook.Entry{Log: log, Writer: who, Seq: seq, At: logbook.Stamp{Wall: wall}, Kind: b.Kind(), Body: line.Encode(b)}
		return e.Append(nil)
	}
	lines := [][]byte{entry(other, 1), entry(me, 1), entry(former, 1), entry(me, 2)}
	var row []byte
	for i, e := range lines {
		row = appendRow(row, logbook.Receipt{Epoch: 1, Order: uint64(i + 1), Arrived: wall, Latest: wall}.Append(nil), e)
	}
	cursor := appendMoved(&session.Moved{Log: log, Cursor: logbook.Cursor{Epoch: 1, Order: 2}})
	h := native()
	h.ask(t, opStart, m{"writer": writer, "device": writer, "life": 1, "wall": wall, "mono": 1})
	for _, test := range []struct {
		name         string
		writer       string // given with the call
		cursor       []byte
		own          []int // of lines
		first, until int   // of the row that is left
	}{
		{"another store", logbook.ID{}.String(), cursor, []int{2, 3}, 1, 2},
		{"no copy yet", logbook.ID{}.String(), []byte{}, []int{1, 3}, 0, 0},
		{"a copy of another history", writer, cursor, []int{1, 2, 3}, 1, 2},
		{"its cursor cannot be read", writer, []byte{0x80}, []int{1, 3}, 0, 0},
	} {
		_, text, blobs := h.ask(t, opUnkeep, m{"rows": [][]byte{row}, "bytes": test.cursor, "writer": test.writer})
		var said struct {
			Own []struct {
				Log, Writer string
				Seq         uint64
			}
			Store []struct{ First, Last int }
		}
		if err := json.Unmarshal([]byte(text), &said); err != nil || len(said.Own) != len(test.own) {
			t.Errorf("%s: %s %v", test.name, text, err)
			continue
		}
		for i, n := range test.own {
			_, ref, _ := logbook.NameOf(lines[n])
			if o := said.Own[i]; o.Log != "j:"+jobID || o.Writer != ref.Writer.String() || o.Seq != ref.Seq || !bytes.Equal(blobs[i], lines[n]) {
				t.Errorf("%s: own line %d is %+v", test.name, i, o)
			}
		}
		if test.until == 0 {
			if len(said.Store) != 0 {
				t.Errorf("%s: %+v is left", test.name, said.Store)
			}
			continue
		}
		if len(said.Store) != 1 || said.Store[0].First != test.first || said.Store[0].Last != test.until {
			t.Errorf("%s: %+v is left", test.name, said.Store)
			continue
		}
		n := 0
		for r := openRow(blobs[len(test.own)]); r.next(); n++ {
			if !bytes.Equal(r.entry, lines[n]) {
				t.Errorf("%s: line %d is another", test.name, n+1)
			}
		}
		if n != test.until {
			t.Errorf("%s: %d lines are left", test.name, n)
		}
	}
}
