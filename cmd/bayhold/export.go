package main

import (
	"bufio"
	"flag"
	"fmt"
	"io"

	"bayhold/server"
)

const exportHelp = `bayhold export --data DIR

Prints every line of every logbook of a store as JSON Lines: the shop's first,
then the places', then the jobs', each in its order. A line holds its readable
view, its receipt and, base64url, its exact bytes; 'bayhold gates --log' reads
them. What was set aside stands in no logbook and is counted on standard error.

  --data DIR  the data folder, or a backup's; a server may be running on it
`

// runExport is the export command.
func runExport(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("export", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	data := fs.String("data", "", "")
	if code, ok := parse(fs, args, exportHelp, stdout, stderr, "data"); !ok {
		return code
	}
	if err := export(*data, stdout, stderr); err != nil {
		fmt.Fprintf(stderr, "bayhold export: %v\n", err)
		return 1
	}
	return 0
}

func export(data string, stdout, stderr io.Writer) error {
	store, err := server.Look(data)
	if err != nil {
		return err
	}
	defer store.Close()
	out := bufio.NewWriterSize(stdout, 1<<20)
	n, err := store.Export(out)
	if err == nil {
		err = out.Flush()
	}
	if err != nil {
		return err
	}
	aside, err := store.Aside()
	if err != nil {
		return err
	}
	fmt.Fprintf(stderr, "%d lines; %d set aside\n", n, len(aside))
	for _, a := range aside {
		fmt.Fprintf(stderr, "  aside: %s\n", a.Reason)
	}
	return nil
}
