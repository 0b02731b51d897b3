// Package order sorts slices, with little code for each kind of slice.
//
// The phone's core is measured by its compressed size. Package slices makes a
// whole sort, seven kilobytes and more, for every type that is sorted, and
// sort.Slice brings a part of reflection along. Here the one sort of package
// sort does for all types; a type adds three short methods.
package order

import "sort"

// Stable sorts by less and leaves what is equal in its order.
func Stable[T any](s []T, less func(a, b *T) bool) { sort.Stable(by[T]{s, less}) }

type by[T any] struct {
	s    []T
	less func(a, b *T) bool
}

func (b by[T]) Len() int           { return len(b.s) }
func (b by[T]) Less(i, k int) bool { return b.less(&b.s[i], &b.s[k]) }
func (b by[T]) Swap(i, k int)      { b.s[i], b.s[k] = b.s[k], b.s[i] }
