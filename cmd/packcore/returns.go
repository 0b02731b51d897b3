package main

import (
	"encoding/binary"
	"slices"
)

// Before every call Go writes where to go on afterwards to its own stack: the
// function's number, times 65536, plus the number of the point behind the call
// within the function. Written out, that is a constant that stands nowhere else
// in the file, twenty thousand times. Points are numbered in the order of the
// code, so it is nearly always the last one plus one: a new local variable
// holds the last one, and the same few bytes stand at every call.
//
// A function is entered, and entered again in its middle, through one br_table
// over its parameter, the point's number. From there the variable is known at
// every instruction:
//
//   - In front of the br_table it becomes the function's number and the point.
//   - Labels of the br_table follow each other at the top level of the function.
//     Code that runs on into one first brings the variable to that label's point.
//   - Several points may share a label. If one is used that is not the label's
//     first, the label sets the variable itself.
//   - Within an 'if' of the top level the variable is read and not changed.
//
// Any constant of the function's own range is computed this way, whatever it
// is for, since the sum is that constant.
//
// Behind every call stands a jump to the function's end, where it returns 1: the
// goroutine changes, everything is left. How many blocks it leaves is again a
// number that hardly comes twice, and 'return 1' on the spot is always the same.

// firstFunction is the number of the first function (funcValueOffset in
// cmd/link/internal/wasm).
const firstFunction = 0x1000

// counted is the index of the new variable: behind the parameter and the copy
// of the stack pointer.
const counted = 2

// countReturns rewrites a function's body in this way. number is the function's
// place in the code section, and again the point that the runtime itself goes on
// at after a recovered panic, 0 if there is none. A body of another form comes
// back as it is.
func countReturns(body []byte, number, again int) ([]byte, error) {
	locals, code, err := readBody(body)
	if err != nil {
		return nil, err
	}
	base := int64(firstFunction+number) << 16
	own := func(i instruction) bool { return i.op == opI64Const && i.n>>16 == base>>16 }

	// The dispatch, and the blocks whose ends are its labels.
	dispatch := slices.IndexFunc(code, func(i instruction) bool { return i.op == opBrTable })
	if dispatch < 1 || code[dispatch-1].op != opLocalGet || code[dispatch-1].n != 0 ||
		len(locals) == 0 || locals[0] != (group{1, typeI32}) {
		return body, nil
	}
	labels := code[dispatch].labels
	last := labels[len(labels)-1]
	blocks := dispatch - 1 - (last + 1)
	if blocks < 0 || slices.ContainsFunc(code[blocks:dispatch-1], func(i instruction) bool { return i.op != opBlock }) {
		return body, nil
	}
	var around []byte // what is open around those blocks
	for _, i := range code[:blocks] {
		switch i.op {
		case opBlock, opLoop:
			around = append(around, i.op)
		case opIf, opElse, opEnd:
			return body, nil
		}
	}
	tail := code[max(0, len(code)-3):]
	leaves := len(around) > 0 && around[0] == opBlock && tail[0].op == opEnd && tail[1].op == opI32Const && tail[1].n == 1

	// The points that may be passed to it.
	used := map[int]bool{0: true, again: true}
	constants, label, depth := 0, -1, 0
	for k, i := range code[dispatch+1:] {
		switch before := code[dispatch+k]; {
		case depth == 0 && i.op == opEnd && label < last:
			label++
		case i.op == opBlock, i.op == opLoop, i.op == opIf:
			depth++
		case i.op == opEnd:
			depth--
		case own(i):
			constants++
			if depth == 0 { // nothing goes on within an 'if'
				used[int(i.n-base)] = true
			}
		case (i.op == opLocalSet || i.op == opLocalTee) && i.n == 0 && before.op == opI32Const:
			used[int(before.n)] = true
		case (i.op == opBr || i.op == opBrIf) && i.n >= int64(depth) && i.n < int64(depth+last-label):
			return body, nil // a jump past the dispatch
		}
	}
	if constants < 2 {
		return body, nil
	}
	first := make([]int, last+1) // the first point of each label
	sets := make([]bool, last+1) // whether the label sets the variable
	for point := len(labels) - 1; point >= 0; point-- {
		first[labels[point]] = point
	}
	for point := range used {
		label := labels[min(point, len(labels)-1)]
		sets[label] = sets[label] || point != first[label]
	}

	if len(locals) == 1 || locals[1].kind != typeI64 {
		locals = slices.Insert(locals, 1, group{0, typeI64})
	}
	locals[1].count++
	out := binary.AppendUvarint(nil, uint64(len(locals)))
	for _, g := range locals {
		out = binary.AppendUvarint(out, uint64(g.count))
		out = append(out, g.kind)
	}

	label, depth = -1, 0
	now, reached := base, true
	for k, i := range code {
		if k == blocks {
			out = append(out, opI64Const)
			out = appendSigned(out, base)
			out = append(out, opLocalGet, 0, opExtend, opI64Add, opLocalSet, counted)
		}
		if k <= dispatch {
			out = appendShifted(out, i)
			continue
		}
		switch {
		case depth == 0 && i.op == opEnd && label < last:
			label++
			point := base + int64(first[label])
			if label > 0 && reached && !sets[label] && now != point {
				out = appendStep(out, point-now)
				out = append(out, opLocalSet, counted)
			}
			out = append(out, opEnd)
			if sets[label] {
				out = append(out, opI64Const)
				out = appendSigned(out, point)
				out = append(out, opLocalSet, counted)
			}
			now, reached = point, true
			continue
		case own(i) && depth == 0 && reached:
			out = appendStep(out, i.n-now)
			out = append(out, opLocalTee, counted)
			now = i.n
			continue
		case own(i) && reached:
			out = appendStep(out, i.n-now)
			continue
		case i.op == opBlock, i.op == opLoop, i.op == opIf:
			depth++
		case i.op == opEnd:
			depth--
		case depth == 0 && i.leaves():
			reached = false
		case leaves && depth == 0 && i.op == opBrIf && i.n == int64(len(around)+last-label-1):
			out = append(out, opIf, noType, opI32Const, 1, opReturn, opEnd)
			continue
		}
		out = appendShifted(out, i)
	}
	return out, nil
}

// appendStep pushes the variable plus d.
func appendStep(out []byte, d int64) []byte {
	out = append(out, opLocalGet, counted)
	if d != 0 {
		out = append(out, opI64Const)
		out = appendSigned(out, d)
		out = append(out, opI64Add)
	}
	return out
}

// appendShifted appends an instruction; a local variable that stood where the
// new one is now, or behind it, has moved by one.
func appendShifted(out []byte, i instruction) []byte {
	if !i.local() || i.n < counted {
		return append(out, i.bytes...)
	}
	return binary.AppendUvarint(append(out, i.op), uint64(i.n+1))
}
