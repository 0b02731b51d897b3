package main

import "encoding/binary"

// Opcodes that packcore looks at (core specification 5.4).
const (
	opBlock    = 0x02
	opLoop     = 0x03
	opIf       = 0x04
	opElse     = 0x05
	opEnd      = 0x0b
	opBr       = 0x0c
	opBrIf     = 0x0d
	opBrTable  = 0x0e
	opReturn   = 0x0f
	opCall     = 0x10
	opIndirect = 0x11
	opLocalGet = 0x20
	opLocalSet = 0x21
	opLocalTee = 0x22
	opI32Const = 0x41
	opI64Const = 0x42
	opI64Add   = 0x7c
	opExtend   = 0xad // i64.extend_i32_u
	opPrefix   = 0xfc

	typeI32 = 0x7f
	typeI64 = 0x7e
	noType  = 0x40
)

// instruction is one of a function's body: its bytes and, for what packcore
// looks at, its first number or the labels of a br_table.
type instruction struct {
	op     byte
	n      int64
	labels []int
	bytes  []byte
}

// local tells whether an instruction names a local variable.
func (i instruction) local() bool { return i.op >= opLocalGet && i.op <= opLocalTee }

// leaves tells whether what follows an instruction is not reached from it.
func (i instruction) leaves() bool {
	return i.op == 0x00 || i.op == opBr || i.op == opBrTable || i.op == opReturn
}

// group is a run of local variables of one type.
type group struct {
	count int64
	kind  byte
}

// readBody takes a function's body apart. It knows the instructions that Go's
// compiler writes: those of WebAssembly 1.0, saturating conversions and bulk
// memory.
func readBody(b []byte) (locals []group, code []instruction, err error) {
	at := 0
	unsigned := func() int64 {
		v, n := binary.Uvarint(b[at:])
		if n <= 0 {
			err = errForm
			n = len(b) - at
		}
		at += n
		return int64(v)
	}
	signed := func() int64 {
		v, n := readSigned(b[at:])
		if n == 0 {
			err = errForm
			n = len(b) - at
		}
		at += n
		return v
	}
	for range unsigned() {
		count := unsigned()
		if at >= len(b) {
			return nil, nil, errForm
		}
		locals = append(locals, group{count, b[at]})
		at++
	}
	for at < len(b) && err == nil {
		from := at
		i := instruction{op: b[at]}
		at++
		switch op := i.op; {
		case op == opBlock, op == opLoop, op == opIf: // of a type in one byte
			at++
		case op == opBr, op == opBrIf, op == opCall, op >= 0x20 && op <= 0x24:
			i.n = unsigned()
		case op == opBrTable:
			for range unsigned() + 1 {
				i.labels = append(i.labels, int(unsigned()))
				if err != nil {
					break
				}
			}
		case op == opIndirect, op >= 0x28 && op <= 0x3e: // loads and stores: alignment, offset
			unsigned()
			unsigned()
		case op == 0x3f, op == 0x40:
			at++
		case op == opI32Const, op == opI64Const:
			i.n = signed()
		case op == 0x43:
			at += 4
		case op == 0x44:
			at += 8
		case op == opPrefix:
			switch kind := unsigned(); {
			case kind == 10:
				at += 2
			case kind == 11:
				at++
			case kind > 7:
				err = errForm
			}
		case op <= 0x01, op == opElse, op == opEnd, op == opReturn, op == 0x1a, op == 0x1b, op >= 0x45 && op <= 0xc4:
		default:
			err = errForm
		}
		if err != nil || at > len(b) {
			return nil, nil, errForm
		}
		i.bytes = b[from:at]
		code = append(code, i)
	}
	return locals, code, err
}
