package main

import (
	"flag"
	"fmt"
	"io"

	"bayhold/server"
)

const compactHelp = `bayhold compact --data DIR

Writes the store anew without the room that it no longer uses. The old file
stays until the new one is whole and has been read through.

  --data DIR  the data folder of a server that is not running
`

// runCompact is the compact command.
func runCompact(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("compact", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	data := fs.String("data", "", "")
	if code, ok := parse(fs, args, compactHelp, stdout, stderr, "data"); !ok {
		return code
	}
	before, after, err := server.Compact(*data)
	if err != nil {
		fmt.Fprintf(stderr, "bayhold compact: %v\n", err)
		return 1
	}
	fmt.Fprintf(stdout, "%.1f MB before, %.1f MB now\n", float64(before)/1e6, float64(after)/1e6)
	return 0
}
