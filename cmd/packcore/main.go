// Packcore makes the phone's core small enough to download. It rewrites a
// WebAssembly file that Go's linker made, changing nothing that the program
// computes:
//
//   - Go's linker cuts the data section into tens of thousands of segments to
//     leave out short runs of zeros. Their addresses compress badly, the zeros
//     would have compressed to nothing, and a browser copies each segment by
//     itself. Segments that lie near each other become one.
//   - The runtime's table of functions names every function, file and line for
//     tracebacks. On a phone nobody reads a traceback, and the core answers a
//     panic with its text alone. Those names and lines become zeros, and so does
//     what only tracebacks and signals read of a function's data; what the
//     garbage collector and the unwinder need stays.
//   - The names of types serve printing and become zeros too. A failed type
//     assertion then says that it failed, and not of which type.
//   - The runtime can trace itself, profile itself and print every stack. None of
//     it is ever switched on in a phone, and those functions become traps; the
//     table of them (silence.go) says by which switch.
//   - Before every call stands the number of the place to return to, and behind
//     it the number of blocks to leave if the goroutine changes. Neither comes
//     twice. Both are written so that every call has the same bytes (returns.go).
//
// Together they take two fifths off the compressed core.
//
//	packcore core.wasm
//
// The file is rewritten in place, and core.wasm.br is put beside it: the form
// in which it travels, brotli at its best level, which takes seconds that a
// starting server has better use for. The table's layout is that of Go 1.20 to
// 1.26 (runtime/symtab.go); if it looks different it is left alone, and
// packcore says so.
package main

import (
	"bytes"
	"fmt"
	"os"

	"github.com/andybalholm/brotli"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: packcore FILE.wasm")
		os.Exit(2)
	}
	if err := packFile(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "packcore:", err)
		os.Exit(1)
	}
}

func packFile(name string) error {
	file, err := os.ReadFile(name)
	if err != nil {
		return err
	}
	packed, stripped, err := pack(file)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if !stripped {
		fmt.Fprintln(os.Stderr, "packcore: this Go lays out its table of functions in a new way; names and lines stay in")
	}
	if err := os.WriteFile(name, packed, 0o644); err != nil {
		return err
	}
	var br bytes.Buffer
	w := brotli.NewWriterLevel(&br, brotli.BestCompression)
	w.Write(packed) // into memory: it does not fail
	w.Close()
	return os.WriteFile(name+".br", br.Bytes(), 0o644)
}
