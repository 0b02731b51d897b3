// Package order sorts slices, and puts into them, with little code for each
// kind of slice.
//
// The phone's core is measured by its compressed size. Package slices makes a
// whole sort, seven kilobytes and more, for every type that is sorted, and
// sort.Slice brings a part of reflection along. Here the one sort of package
// sort does for all types; a type adds two short functions.
package order

import "sort"

// Stable sorts by less and leaves what is equal in its order.
func Stable[T any](s []T, less func(a, b *T) bool) {
	stable(by{len(s),
		func(i, k int) bool { return less(&s[i], &s[k]) },
		func(i, k int) { s[i], s[k] = s[k], s[i] }})
}

// stable sorts what is not in order yet; sort.Stable asks much oftener to see
// that it is.
func stable(b by) {
	if !sort.IsSorted(b) {
		sort.Stable(b)
	}
}

type by struct {
	n    int
	less func(i, k int) bool
	swap func(i, k int)
}

func (b by) Len() int           { return b.n }
func (b by) Less(i, k int) bool { return b.less(i, k) }
func (b by) Swap(i, k int)      { b.swap(i, k) }

// Insert puts v before the place i.
func Insert[T any](s []T, i int, v T) []T {
	s = append(s, v)
	copy(s[i+1:], s[i:])
	s[i] = v
	return s
}
