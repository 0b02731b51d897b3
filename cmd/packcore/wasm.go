package main

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
)

// near is how many zeros between two segments are cheaper to write out than
// the head of another segment.
const near = 1 << 16

var errForm = errors.New("not a WebAssembly file of Go's linker")

// segment is a run of the data section: bytes and where they go in memory.
type segment struct {
	at    int64
	bytes []byte
}

// Sections by their numbers (core specification 5.5.2).
const (
	codeSection = 10
	dataSection = 11
)

// section is one part of a WebAssembly file.
type section struct {
	id   byte
	body []byte
}

// split takes a file apart.
func split(file []byte) (sections []section, err error) {
	if len(file) < 8 || string(file[:4]) != "\x00asm" {
		return nil, errForm
	}
	for rest := file[8:]; len(rest) > 0; {
		size, n := binary.Uvarint(rest[1:]) // LEB128, as WebAssembly's u32
		if n <= 0 || size > uint64(len(rest)-1-n) {
			return nil, errForm
		}
		sections = append(sections, section{rest[0], rest[1+n : 1+n+int(size)]})
		rest = rest[1+n+int(size):]
	}
	return sections, nil
}

// pack returns the file with its data joined and, if the table of functions
// was recognised, stripped of names and lines, and its code rewritten.
func pack(file []byte) (packed []byte, stripped bool, err error) {
	sections, err := split(file)
	if err != nil {
		return nil, false, err
	}
	var functions []function // stand behind the code that they are of
	for i := range sections {
		if sections[i].id != dataSection {
			continue
		}
		segments, err := readData(sections[i].body)
		if err != nil {
			return nil, false, err
		}
		segments = join(segments)
		for _, s := range segments {
			if found := stripTable(s.bytes); found != nil {
				functions = found
				stripTypes(s.bytes, s.at)
			}
		}
		sections[i].body = appendData(nil, segments)
	}
	packed = slices.Clone(file[:8])
	for _, s := range sections {
		if s.id == codeSection && functions != nil {
			if s.body, err = rewrite(s.body, functions); err != nil {
				return nil, false, err
			}
		}
		packed = append(packed, s.id)
		packed = binary.AppendUvarint(packed, uint64(len(s.body)))
		packed = append(packed, s.body...)
	}
	return packed, functions != nil, nil
}

// rewrite silences functions of a code section or lets them idle, and counts the returns of the
// others. The table of functions is in the same order. Functions without a name
// were rewritten before.
func rewrite(code []byte, functions []function) ([]byte, error) {
	count, n := binary.Uvarint(code)
	if n <= 0 || count != uint64(len(functions)) {
		return nil, errors.New("the table of functions and the code have not the same functions")
	}
	out := binary.AppendUvarint(nil, count)
	rest := code[n:]
	for number, f := range functions {
		size, n := binary.Uvarint(rest)
		if n <= 0 || size > uint64(len(rest)-n) {
			return nil, errForm
		}
		body := rest[n : n+int(size)]
		rest = rest[n+int(size):]
		if isSilent(f.name) {
			body = nothing
		} else if idle[f.name] != "" {
			body = back
		} else if f.name != "" {
			var err error
			if body, err = countReturns(body, number, f.again); err != nil {
				return nil, fmt.Errorf("%s: %w", f.name, err)
			}
		}
		out = binary.AppendUvarint(out, uint64(len(body)))
		out = append(out, body...)
	}
	return out, nil
}

// readData reads active segments of memory 0 at constant addresses, the only
// kind that Go's linker writes (core specification 5.5.14).
func readData(b []byte) ([]segment, error) {
	count, n := binary.Uvarint(b)
	if n <= 0 {
		return nil, errForm
	}
	b = b[n:]
	var out []segment
	for range count {
		if len(b) < 2 || b[0] != 0 || b[1] != 0x41 { // flags 0, i32.const
			return nil, errForm
		}
		at, n := readSigned(b[2:])
		b = b[2+n:]
		if n == 0 || len(b) == 0 || b[0] != 0x0b { // end
			return nil, errForm
		}
		size, n := binary.Uvarint(b[1:])
		if n <= 0 || size > uint64(len(b)-1-n) {
			return nil, errForm
		}
		out = append(out, segment{at, b[1+n : 1+n+int(size)]})
		b = b[1+n+int(size):]
	}
	return out, nil
}

func appendData(b []byte, segments []segment) []byte {
	b = binary.AppendUvarint(b, uint64(len(segments)))
	for _, s := range segments {
		b = append(b, 0, 0x41)
		b = appendSigned(b, s.at)
		b = append(b, 0x0b)
		b = binary.AppendUvarint(b, uint64(len(s.bytes)))
		b = append(b, s.bytes...)
	}
	return b
}

// join sorts segments by address and fills short gaps with the zeros that are
// there anyway: memory starts as zeros.
func join(in []segment) []segment {
	slices.SortFunc(in, func(a, b segment) int { return int(a.at - b.at) })
	var out []segment
	for _, s := range in {
		if len(out) > 0 {
			last := &out[len(out)-1]
			gap := s.at - last.at - int64(len(last.bytes))
			if gap >= 0 && gap <= near {
				last.bytes = append(append(last.bytes, make([]byte, gap)...), s.bytes...)
				continue
			}
		}
		out = append(out, segment{s.at, slices.Clone(s.bytes)})
	}
	return out
}

// readSigned reads a signed LEB128 number and how many bytes it took, 0 if it
// does not end.
func readSigned(b []byte) (v int64, n int) {
	var shift uint
	for n < len(b) && n < 10 {
		c := b[n]
		v |= int64(c&0x7f) << shift
		shift += 7
		n++
		if c < 0x80 {
			if c&0x40 != 0 && shift < 64 {
				v |= -1 << shift
			}
			return v, n
		}
	}
	return 0, 0
}

func appendSigned(b []byte, v int64) []byte {
	for {
		c := byte(v & 0x7f)
		v >>= 7
		if v == 0 && c&0x40 == 0 || v == -1 && c&0x40 != 0 {
			return append(b, c)
		}
		b = append(b, c|0x80)
	}
}
