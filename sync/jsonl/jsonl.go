package jsonl

import (
	"io"

	"bayhold/sync/logbook"
)

// Line is one line of a file: an entry, and its receipt if it was kept.
type Line struct {
	Entry   logbook.Entry
	Bytes   []byte           // the entry's encoding; of a line written by hand, made from the view
	Receipt *logbook.Receipt // of a line written by hand: Order 0, its times all the view's `at`
	Hand    bool             // written by hand: the view alone, no bytes
}

// Read reads a whole file or nothing. An error names the line.
func Read(r io.Reader) ([]Line, error) { panic("not yet") }

// Append appends one entry as a line with its view, its receipt (nil if there
// is none) and its bytes.
func Append(b []byte, entry []byte, receipt *logbook.Receipt) ([]byte, error) { panic("not yet") }
