package main

import "bayhold/checklist/view/jsonout"

// The first byte of an answer.
const (
	answered = 0 // u32 length of the JSON, the JSON, then for each blob its u32 length and bytes
	refused  = 1 // a sentence for the person
	asked    = 2 // a question: the same call with "sure" writes all the same
	broken   = 3 // the core broke; this instance is of no more use
)

// output is an answer in the making; numbers are little-endian.
type output struct {
	jsonout.Writer
	blobs [][]byte
	rows  []byte // where rows to store are made, for blobs
	bytes []byte
}

func (o *output) reset() {
	o.Reset()
	o.blobs, o.rows, o.bytes = o.blobs[:0], o.rows[:0], o.bytes[:0]
}

// blob adds bytes beside the JSON; the answer holds them in order.
func (o *output) blob(b []byte) { o.blobs = append(o.blobs, b) }

func (o *output) done() []byte {
	json := o.Bytes()
	size := 1 + 4 + len(json)
	for _, blob := range o.blobs {
		size += 4 + len(blob)
	}
	if cap(o.bytes) < size {
		o.bytes = make([]byte, 0, size)
	}
	b := append(o.bytes[:0], answered)
	b = append(appendLen(b, len(json)), json...)
	for _, blob := range o.blobs {
		b = append(appendLen(b, len(blob)), blob...)
	}
	o.bytes = b
	return b
}

func (o *output) say(code byte, text string) []byte {
	o.bytes = append(append(o.bytes[:0], code), text...)
	return o.bytes
}

func appendLen(b []byte, n int) []byte {
	return append(b, byte(n), byte(n>>8), byte(n>>16), byte(n>>24))
}
