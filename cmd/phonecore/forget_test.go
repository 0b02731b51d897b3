package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// The line that names erased ones comes in a row behind them: what they said of
// people is in no byte that the core hands back, every hash is as before, lines
// that it does not name are untouched, and the photos to delete are told.
func TestForget(t *testing.T) {
	job, _ := logbook.ParseID(jobID)
	log := logbook.Log{Class: 'j', ID: job}
	me, _ := logbook.ParseID(writer)
	entry := func(seq uint64, b checklist.Body) []byte {
		e := logbook.Entry{Log: log, Writer: me, Seq: seq, At: logbook.Stamp{Wall: wall}, Kind: b.Kind(), Body: line.Salted(b, bytes.Repeat([]byte{5}, 16))}
		return e.Append(nil)
	}
	open := entry(1, checklist.JobOpen{Label: "Zworykin", Customer: "Zworykin", Plate: "QX-77", Route: "van"})
	tick := entry(2, checklist.Tick{Stage: "wash", Answer: "done"})
	note := entry(3, checklist.Note{Text: "Zworykin calls"})
	hash := func(b []byte) string { s := sha256.Sum256(b); return hex.EncodeToString(s[:]) }
	sha := hash([]byte("a photo"))
	say := entry(4, checklist.Forget{Writers: []checklist.ID{checklist.ID(me), checklist.ID(me)}, Seqs: []int64{1, 3}, Kinds: []string{"job.open", "note"},
		Sums: []string{hash(open), hash(note)}, Left: []string{"-", "-"}, Gone: []string{"label customer plate salt", "text salt"}, Photos: []string{sha}, Why: "asked"})
	var rows [2][]byte
	for i, e := range [][]byte{open, tick, note, say} {
		receipt := logbook.Receipt{Epoch: 1, Order: uint64(i + 1), Arrived: wall, Latest: wall}.Append(nil)
		rows[i/3] = appendRow(rows[i/3], receipt, e)
	}
	h := native()
	h.ask(t, opStart, m{"writer": writer, "device": writer, "life": 1, "wall": wall, "mono": 1})
	_, text, blobs := h.ask(t, opForget, m{"rows": [][]byte{rows[0], rows[1]}})
	var said struct {
		Photos []string
		Store  []struct {
			First, Last int
		}
	}
	if err := json.Unmarshal([]byte(text), &said); err != nil || len(said.Photos) != 1 || said.Photos[0] != sha || len(said.Store) != 1 || said.Store[0].First != 1 || said.Store[0].Last != 4 {
		t.Fatalf("%s: %v", text, err)
	}
	for _, word := range []string{"Zworykin", "QX-77"} {
		if bytes.Contains(blobs[0], []byte(word)) {
			t.Errorf("%q is still there", word)
		}
	}
	was, n := [][]byte{open, tick, note, say}, 0
	for r := openRow(blobs[0]); r.next(); n++ {
		if sum := logbook.EntrySum(r.entry); hex.EncodeToString(sum[:]) != hash(was[n]) {
			t.Errorf("line %d has another hash", n+1)
		}
		if same := bytes.Equal(r.entry, was[n]); same != (n == 1 || n == 3) {
			t.Errorf("line %d: untouched is %v", n+1, same)
		}
	}
	if n != 4 {
		t.Errorf("%d lines are left", n)
	}
	// It says the same of what is erased already, and a core reads it.
	if _, _, again := h.ask(t, opForget, m{"rows": blobs}); !bytes.Equal(again[0], blobs[0]) {
		t.Error("done again it is another row")
	}
	h.ask(t, opLoad, m{"rows": blobs})
	_, view, _ := h.ask(t, opView, m{"name": "job", "id": jobID, "by": "", "wall": wall, "mono": 2})
	if !bytes.Contains([]byte(view), []byte(`"erased"`)) {
		t.Errorf("the job is shown as %s", view)
	}
}
