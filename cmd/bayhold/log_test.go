package main

import (
	"bytes"
	"testing"

	"bayhold/testdata/demo"
)

// A log comes from anywhere: whatever stands in it, it is read whole or refused.
func FuzzLog(f *testing.F) {
	for i, l := range bytes.SplitAfter(demo.RunA, []byte("\n")) {
		if i%40 == 0 {
			f.Add(l)
		}
	}
	f.Add([]byte(`{"log":"job:V9","writer":"phone J","at":"2026-01-14T07:30:00+01:00","by":"J","kind":"tick","body":{"stage":"wash","answer":"done"}}` + "\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		lines, err := readLog(bytes.NewReader(raw))
		if err != nil && len(lines) > 0 {
			t.Errorf("%d lines of a file that was refused: %v", len(lines), err)
		}
	})
}
