package main

import "unsafe"

var instance core

//go:wasmexport buffer
func buffer(n int32) int32 {
	if cap(instance.in) < int(n) {
		instance.in = make([]byte, n)
	}
	instance.in = instance.in[:n]
	return int32(uintptr(unsafe.Pointer(unsafe.SliceData(instance.in))))
}

//go:wasmexport call
func call(op, n int32) int64 {
	out := instance.call(op, instance.in[:n])
	return int64(uintptr(unsafe.Pointer(unsafe.SliceData(out))))<<32 | int64(len(out))
}
