package order_test

import (
	"slices"
	"testing"

	"bayhold/checklist/order"

	"pgregory.net/rapid"
)

// TestStable: as the standard library's stable sort, which is the public
// reference here, on values with many equals.
func TestStable(t *testing.T) {
	type pair struct{ key, place int }
	rapid.Check(t, func(t *rapid.T) {
		keys := rapid.SliceOf(rapid.IntRange(0, 9)).Draw(t, "keys")
		var got []pair
		for i, k := range keys {
			got = append(got, pair{k, i})
		}
		want := slices.Clone(got)
		slices.SortStableFunc(want, func(a, b pair) int { return a.key - b.key })
		order.Stable(got, func(a, b *pair) bool { return a.key < b.key })
		if !slices.Equal(got, want) {
			t.Fatalf("%v, not %v", got, want)
		}
	})
}

// TestInsert: as the standard library's, the public reference here.
func TestInsert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SliceOf(rapid.Int()).Draw(t, "s")
		i := rapid.IntRange(0, len(s)).Draw(t, "i")
		want := slices.Insert(slices.Clone(s), i, 7)
		if got := order.Insert(s, i, 7); !slices.Equal(got, want) {
			t.Fatalf("%v, not %v", got, want)
		}
	})
}
