// A reactor that uses what a packed core must still be able to do: maps, the
// garbage collector with pointers on the stack, a panic deep in calls and its
// recovery, goroutines that leave in the middle of a function and come back, a
// stack that grows and is copied, and deferred calls that end a panic halfway.
package main

import (
	"runtime"
	"strconv"
)

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
	return sum + switches(int(n)%5000) + grown(int(n)%3000, &node{text: "end"}) + rescued(int(n)%300)
}

// switches changes goroutines at every number, twice within one expression.
func switches(n int) (sum int64) {
	out, back := make(chan *node), make(chan *node)
	go func() {
		for at := range out {
			text := at.text
			if len(text)%7 == 0 {
				runtime.GC()
			}
			back <- &node{at, text + "!"}
			back <- at
		}
		close(back)
	}()
	for i := range n {
		mine := &node{nil, strconv.Itoa(i)}
		out <- mine
		sum += int64(len((<-back).next.text)*10 + len((<-back).text))
		if i%500 == 0 {
			runtime.Gosched()
			runtime.GC()
		}
		sum += int64(len(mine.text))
	}
	close(out)
	_, open := <-back
	if !open {
		sum++
	}
	return sum
}

// grown goes n calls deep with a pointer into each frame and collects at the end.
//
//go:noinline
func grown(n int, from *node) int64 {
	here := node{from, from.text}
	if n <= 0 {
		runtime.GC()
		return int64(len(here.text))
	}
	below := grown(n-1, &here)
	return below + int64(len(here.next.text)) + int64(len(strconv.Itoa(n)))
}

// rescued panics n times between other calls and goes on after each.
func rescued(n int) (sum int64) {
	for i := range n {
		sum += try(i) + int64(len(strconv.Itoa(i)))
	}
	return sum
}

func try(i int) (got int64) {
	text := strconv.Itoa(i)
	defer func() { got += int64(len(text)) }()
	if i%3 == 0 {
		defer func() {
			if r := recover(); r != nil {
				got = 1000 + int64(len(r.(error).Error()))
			}
		}()
	}
	for k := range 3 {
		defer func() { got += int64(k) }()
	}
	got += int64(len(strconv.Itoa(i * 7)))
	if i%3 == 0 {
		got += int64(deep(i, nil))
	}
	return got + int64(len(text+"."))
}

//go:noinline
func deep(n int, none []int) int {
	if n == 0 {
		return none[n]
	}
	return deep(n-1, none) + 1
}

func main() {}
