package session_test

import (
	"maps"
	"slices"
	"testing"

	"bayhold/sync/logbook"
	"bayhold/sync/session"

	"pgregory.net/rapid"
)

// ByName is a map that keeps its order: any mix of puts and deletes leaves it
// with what a plain map has.
func TestByNameIsAMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var is session.ByName[int]
		want := map[session.Name]*int{}
		for range rapid.IntRange(0, 80).Draw(t, "steps") {
			n := session.Name{Log: simLogs[rapid.IntRange(0, 1).Draw(t, "log")], Ref: logbook.Ref{
				Writer: logbook.Named(rapid.SampledFrom([]string{"A", "B"}).Draw(t, "writer")), Seq: rapid.Uint64Range(1, 9).Draw(t, "seq")}}
			if rapid.Bool().Draw(t, "put") {
				v := new(int)
				is.Put(n, v)
				want[n] = v
			} else {
				is.Delete(n)
				delete(want, n)
			}
			if is.Get(n) != want[n] || is.Len() != len(want) {
				t.Fatalf("%v: %v, want %v; %d of %d", n, is.Get(n), want[n], is.Len(), len(want))
			}
		}
		names := slices.SortedFunc(maps.Keys(want), session.Name.Compare)
		for n, v := range is.All {
			if len(names) == 0 || n != names[0] || v != want[n] {
				t.Fatalf("%v comes where %v should", n, names)
			}
			names = names[1:]
		}
		if len(names) > 0 {
			t.Fatalf("%v do not come", names)
		}
	})
}
