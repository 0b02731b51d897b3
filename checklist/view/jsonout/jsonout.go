// Package jsonout writes JSON (RFC 8259) by appending to a byte slice.
//
// It exists because encoding/json brings reflection and its tables into the
// phone's core, which may be 512 KB compressed in all; this package is a few
// hundred bytes. It writes and does not read. Numbers are integers: a view
// has no floats.
//
//	var w jsonout.Writer
//	w.Object()
//	w.Key("v").String("home")
//	w.Key("jobs").Array()
//	w.Int(3)
//	w.End()
//	w.End()
//	w.Bytes() // {"v":"home","jobs":[3]}
package jsonout

import (
	"strconv"
	"unicode/utf8"
)

// Writer builds one JSON value. The caller keeps Object and Array in balance
// with End; Bytes panics if it did not.
type Writer struct {
	b     []byte
	ends  []byte // closing brackets that are due
	comma bool   // the next value or key needs a comma before it
}

// Reset empties the writer and keeps its memory.
func (w *Writer) Reset() { *w = Writer{b: w.b[:0], ends: w.ends[:0]} }

// Bytes is what was written; it is good until the next Reset.
func (w *Writer) Bytes() []byte {
	if len(w.ends) != 0 {
		panic("jsonout: an object or array is not ended")
	}
	return w.b
}

func (w *Writer) value() {
	if w.comma {
		w.b = append(w.b, ',')
	}
	w.comma = true
}

// Object begins an object; keys and values follow until End.
func (w *Writer) Object() { w.begin('{', '}') }

// Array begins an array; values follow until End.
func (w *Writer) Array() { w.begin('[', ']') }

func (w *Writer) begin(open, end byte) {
	w.value()
	w.b = append(w.b, open)
	w.ends = append(w.ends, end)
	w.comma = false
}

// End ends the innermost object or array.
func (w *Writer) End() {
	last := len(w.ends) - 1
	w.b = append(w.b, w.ends[last])
	w.ends = w.ends[:last]
	w.comma = true
}

// Key writes a key of an object; its value follows.
func (w *Writer) Key(key string) *Writer {
	w.String(key)
	w.b = append(w.b, ':')
	w.comma = false
	return w
}

// Int writes an integer. Beyond 2^53 a JavaScript reader rounds it.
func (w *Writer) Int(n int64) {
	w.value()
	w.b = strconv.AppendInt(w.b, n, 10)
}

// Bool writes true or false.
func (w *Writer) Bool(v bool) {
	w.value()
	w.b = strconv.AppendBool(w.b, v)
}

// Null writes null.
func (w *Writer) Null() {
	w.value()
	w.b = append(w.b, "null"...)
}

// Raw writes what is JSON already.
func (w *Writer) Raw(json []byte) {
	w.value()
	w.b = append(w.b, json...)
}

const hex = "0123456789abcdef"

// String writes a string. Bytes that are not UTF-8 become U+FFFD.
func (w *Writer) String(s string) {
	w.value()
	b := append(w.b, '"')
	start := 0
	for i := 0; i < len(s); {
		c := s[i]
		if c < utf8.RuneSelf {
			if c >= ' ' && c != '"' && c != '\\' {
				i++
				continue
			}
			b = append(b, s[start:i]...)
			switch c {
			case '"', '\\':
				b = append(b, '\\', c)
			case '\n':
				b = append(b, '\\', 'n')
			default:
				b = append(b, '\\', 'u', '0', '0', hex[c>>4], hex[c&15])
			}
			i++
			start = i
			continue
		}
		r, size := utf8.DecodeRuneInString(s[i:])
		if r == utf8.RuneError && size == 1 {
			b = append(append(b, s[start:i]...), "\ufffd"...)
			i++
			start = i
			continue
		}
		i += size
	}
	w.b = append(append(b, s[start:]...), '"')
}
