// A reactor that uses what a packed core must still be able to do: maps, the
// garbage collector with pointers on the stack, a panic deep in calls and its
// recovery.
package main

import "strconv"

type node struct {
	next *node
	text string
}

//go:wasmexport probe
func probe(n int32) (sum int64) {
	defer func() {
		if r := recover(); r != nil {
			sum = -int64(len(r.(error).Error()))
		}
	}()
	seen := map[string]*node{}
	var list *node
	for i := range int(n) {
		list = &node{list, strconv.Itoa(i) + string(make([]byte, 1000))}
		seen[list.text[:3]] = list
	}
	for at := list; at != nil; at = at.next {
		sum += int64(len(at.text)) + int64(len(seen))
	}
	if n%2 == 1 {
		return int64(deep(100, nil))
	}
	return sum
}

//go:noinline
func deep(n int, none []int) int {
	if n == 0 {
		return none[n]
	}
	return deep(n-1, none) + 1
}

func main() {}
