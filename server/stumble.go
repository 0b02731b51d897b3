package server

import (
	"fmt"
	"runtime/debug"
)

// stumble is a panic that was caught: a fault of ours, over one line or one
// phone. It must not end the process for everyone, and nothing half done may
// be taken for done.
type stumble struct {
	what  any
	stack []byte
}

func (e *stumble) Error() string { return fmt.Sprintf("stumbled: %v", e.what) }

// caught runs f and turns a panic in it into a *stumble.
func caught(f func() error) (err error) {
	defer func() {
		if what := recover(); what != nil {
			err = &stumble{what, debug.Stack()}
		}
	}()
	return f()
}
