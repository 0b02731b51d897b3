package server

import (
	"bytes"
	"testing"

	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// The second phone that stands at the same line gets what was made for the
// first, and never one that was made before the last line came.
func TestShared(t *testing.T) {
	s := startShop(t, t.TempDir())
	s.submit(t, note("a", 1, "x"), note("a", 2, "y"))
	newest := func() (*session.Batch, bool) {
		t.Helper()
		made := false
		b, err := s.store.Shared(jobV5, 1, func() (*session.Batch, error) {
			made = true
			last := s.store.Heads()[jobV5].Order
			return &session.Batch{Frame: session.Frame{Bytes: []byte{byte(last)}}, Last: last}, nil
		})
		if err != nil || b.Last != s.store.Heads()[jobV5].Order || !bytes.Equal(b.Wire, pack(b.Frame)) {
			t.Fatalf("%+v (%v)", b, err)
		}
		return b, made
	}
	for seq := uint64(3); seq < 6; seq++ {
		first, made := newest()
		if !made {
			t.Fatalf("what is shared is from before line %d", seq-1)
		}
		if second, made := newest(); made || second != first {
			t.Error("it is made again for the same lines")
		}
		s.submit(t, note("a", seq, "z"))
	}
	// What was begun before the logbook grew is not kept for those who come after.
	_, err := s.store.Shared(jobV5, 1, func() (*session.Batch, error) {
		s.submit(t, note("a", 6, "z"))
		return &session.Batch{Frame: session.Frame{Bytes: []byte{1}}, Last: 5}, nil
	})
	if _, made := newest(); err != nil || !made {
		t.Errorf("an old one was kept (%v)", err)
	}
	// A long one is this phone's alone.
	for range 2 {
		made := false
		long := make([]byte, maxShared+1)
		if _, err := s.store.Shared(jobV5, 2, func() (*session.Batch, error) {
			made = true
			return &session.Batch{Frame: session.Frame{Bytes: long}}, nil
		}); err != nil || !made {
			t.Error("a long batch is kept", err)
		}
	}
	// However many are kept, they stay within their bounds.
	st := &shared{}
	for i := range 100_000 {
		log := logbook.Log{Class: 'j', ID: logbook.Named(string(rune('a' + i%3)))}
		st.keep(log, sharedBatch{uint64(i), &session.Batch{Frame: session.Frame{Bytes: make([]byte, 100)}}}, 0)
		if len(st.of[log]) > maxBatches || st.bytes > maxKept {
			t.Fatalf("%d batches of a logbook, %d bytes", len(st.of[log]), st.bytes)
		}
	}
}
