package main

import (
	"bytes"
	"encoding/binary"
	"slices"
)

// head begins the table of functions on a 64-bit little-endian target whose
// program counters step by one (runtime.pcHeader: magic of Go 1.20, two zeros,
// quantum, pointer size).
var head = []byte{0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8}

// Offsets into a function's record (runtime._func), after which npcdata
// numbers follow at recordSize.
const (
	nameOff    = 4
	returnOff  = 12
	pcspOff    = 16
	pcfileOff  = 20
	pclnOff    = 24
	npcdataOff = 28
	cuOff      = 32
	startLine  = 36
	funcdata   = 43 // number of funcdata offsets, behind those of pcdata
	recordSize = 44
)

// What only a traceback or a preempting signal reads (internal/abi/symtab.go):
// WebAssembly has no signals, and no inlined call needs its name.
var (
	pcdataUnread   = []int{0, 2, 3}    // unsafe point, inline tree index, live arguments
	funcdataUnread = []int{3, 5, 6, 7} // inline tree, arguments, live arguments, wrapped function
)

var le = binary.LittleEndian

// function is what the table says of one: its name and, if it defers calls, the
// point at which the runtime goes on in it after a recovered panic.
type function struct {
	name  string
	again int
}

// stripTable finds the table of functions in a piece of memory, returns the
// functions in its order, and overwrites names, files and lines with
// zeros. Offset 0 into the table of program counters means 'not known' to the
// runtime, which then prints '?'. It changes nothing and returns nil if there is
// no table or it is not laid out as expected.
func stripTable(mem []byte) []function {
	at := bytes.Index(mem, head)
	if at < 0 || at+72 > len(mem) {
		return nil
	}
	t := mem[at:]
	word := func(i int) int { return int(int64(le.Uint64(t[8+8*i:]))) }
	count, names, units, files, pcs, funcs := word(0), word(3), word(4), word(5), word(6), word(7)
	if !slices.IsSorted([]int{72, names, units, files, pcs, funcs, len(t)}) || count <= 0 || count > (len(t)-funcs)/8 {
		return nil
	}

	var found []function
	var records [][]byte
	kept, dropped := map[int]bool{}, map[int]bool{}
	for i := range count {
		from := funcs + int(le.Uint32(t[funcs+8*i+4:]))
		if from+recordSize > len(t) {
			return nil
		}
		f := t[from:]
		n := int(le.Uint32(f[npcdataOff:]))
		if n > 64 || from+recordSize+4*n > len(t) {
			return nil
		}
		kept[int(le.Uint32(f[pcspOff:]))] = true
		for k := range n {
			offset := f[recordSize+4*k:]
			if slices.Contains(pcdataUnread, k) {
				dropped[int(le.Uint32(offset))] = true
				le.PutUint32(offset, 0)
			} else {
				kept[int(le.Uint32(offset))] = true
			}
		}
		for k := range int(f[funcdata]) {
			if at := recordSize + 4*n + 4*k; slices.Contains(funcdataUnread, k) && from+at+4 <= len(t) {
				le.PutUint32(f[at:], ^uint32(0))
			}
		}
		dropped[int(le.Uint32(f[pcfileOff:]))] = true
		dropped[int(le.Uint32(f[pclnOff:]))] = true
		name := t[names:units]
		if at := int(le.Uint32(f[nameOff:])); at < len(name) {
			name = name[at:]
		}
		name, _, _ = bytes.Cut(name, []byte{0})
		found = append(found, function{string(name), int(le.Uint32(f[returnOff:]))})
		records = append(records, f[:recordSize])
	}

	// A run in the table of program counters ends where the next one begins.
	starts := []int{funcs - pcs}
	for o := range kept {
		starts = append(starts, o)
	}
	for o := range dropped {
		if !kept[o] {
			starts = append(starts, o)
		}
	}
	slices.Sort(starts)
	if last := starts[len(starts)-1]; last != funcs-pcs {
		return nil
	}

	for i, o := range starts[:len(starts)-1] {
		if o != 0 && !kept[o] {
			clear(t[pcs+o : pcs+starts[i+1]])
		}
	}
	for _, f := range records {
		clear(f[nameOff : nameOff+4])
		clear(f[pcfileOff : pclnOff+4])
		clear(f[cuOff : startLine+4])
	}
	clear(t[names:units])
	clear(t[files:pcs])
	return found
}

// stripTypes overwrites the names of types, in the piece of memory at address at,
// with zeros and keeps their lengths: they serve printing and the text of a
// failed type assertion. A name is a byte of flags, the length as a varint and
// the text (internal/abi/type.go, Name), and a type's begins with '*', where a
// field's or a method's never does. Other bytes may look like one, so it counts
// only if some aligned word holds its distance from the first type, as a type's
// Str does.
func stripTypes(mem []byte, at int64) {
	mem = mem[:max(0, bytes.Index(mem, head))] // types stand before the table of functions
	first := at &^ 31
	held := map[uint32]bool{}
	for i := int(-at & 3); i+4 <= len(mem); i += 4 {
		held[le.Uint32(mem[i:])] = true
	}
	for i := 0; i+2 < len(mem); i++ {
		size, n := binary.Uvarint(mem[i+1:])
		from := i + 1 + n
		if mem[i] > 1 || n <= 0 || size < 2 || size > uint64(len(mem)-from) || !held[uint32(at+int64(i)-first)] {
			continue
		}
		text := mem[from : from+int(size)]
		if text[0] == '*' && !slices.ContainsFunc(text, func(c byte) bool { return c < ' ' }) {
			clear(text[1:])
			i = from + int(size) - 1
		}
	}
}
