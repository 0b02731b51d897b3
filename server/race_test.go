//go:build race

package server

// raced says that the race detector watches: it knows 8128 goroutines at most,
// and everything takes ten times as long.
const raced = true
