package server

import (
	"testing"
)

// The second phone that asks for the newest lines is answered from memory, and
// never with an answer from before the last line.
func TestTail(t *testing.T) {
	s := startShop(t, t.TempDir())
	s.submit(t, note("a", 1, "x"), note("a", 2, "y"))
	for seq := uint64(3); seq < 6; seq++ {
		first, err := s.store.After(jobV5, 1, 1000, 1<<20)
		if err != nil || uint64(len(first)) != seq-2 {
			t.Fatalf("%d lines behind the first, want %d (%v)", len(first), seq-2, err)
		}
		second, err := s.store.After(jobV5, 1, 1000, 1<<20)
		if err != nil || len(second) != len(first) || &second[0] != &first[0] {
			t.Errorf("the store is read again for the same lines (%v)", err)
		}
		if epoch, chain, ok, err := s.store.Chain(jobV5, seq-1); err != nil || !ok || epoch != 1 || chain != s.store.Heads()[jobV5].Chain {
			t.Errorf("the chain at line %d: %d %x %v %v", seq-1, epoch, chain, ok, err)
		}
		if one, err := s.store.After(jobV5, 1, 1, 1<<20); err != nil || len(one) != 1 {
			t.Errorf("%d lines where one was asked for (%v)", len(one), err)
		}
		if _, err := s.store.After(jobV5, 1, 1000, 1<<20); err != nil { // kept again
			t.Fatal(err)
		}
		s.submit(t, note("a", seq, "z"))
	}
}
