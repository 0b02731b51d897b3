package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"bayhold/server"
	"bayhold/server/sealed"
	"bayhold/sync/jsonl"
)

const importHelp = `bayhold import --data DIR --log FILE.jsonl
bayhold import --data DIR --record FILE

Brings the lines of a file into a store: what a phone saved as a file because
it could not reach the shop. A line that the shop has already is left as it is,
so nothing is harmed when the phone comes back, or the file comes twice. What
its author may not write is set aside for the lead, with the reason.

Of a vehicle's sealed record it brings in the job's lines, each with the receipt
that it had, and the photos, if the store has no line of this job. The record is
read through first; whose key sealed it is printed, and is yours to know.

  --data DIR     the data folder of a server that is not running
  --log FILE     what the phone saved
  --record FILE  a record, the zip or the folder that came out of it
`

// runImport is the import command.
func runImport(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("import", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	data, file, record := fs.String("data", "", ""), fs.String("log", "", ""), fs.String("record", "", "")
	if code, ok := parse(fs, args, importHelp, stdout, stderr); !ok {
		return code
	}
	if *data == "" || (*file == "") == (*record == "") {
		fmt.Fprint(stderr, "bayhold import: --data and either --log or --record are needed\n\n", importHelp)
		return 2
	}
	if *record != "" {
		return importRecord(*data, *record, stdout, stderr)
	}
	if err := importFile(*data, *file, stdout); err != nil {
		fmt.Fprintf(stderr, "bayhold import: %v\n", err)
		return 1
	}
	return 0
}

func importFile(data, path string, stdout io.Writer) (err error) {
	if _, err := os.Stat(filepath.Join(data, server.StoreFile)); err != nil {
		return fmt.Errorf("there is no store: %w", err)
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	lines, err := jsonl.Read(f)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	entries := make([][]byte, len(lines))
	for i, l := range lines {
		if l.Hand {
			return fmt.Errorf("%s: line %d has no bytes: only a phone's own lines are brought in", path, l.Number)
		}
		entries[i] = l.Bytes
	}
	shop, err := server.Open(server.Config{Data: data, Addr: "localhost:0"})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, shop.Close()) }()
	got, err := shop.Import(context.Background(), entries)
	if err != nil {
		return err
	}
	fmt.Fprintf(stdout, "%d lines: %d new, %d here already, %d set aside\n", len(entries), got.Kept, got.Known, len(got.Aside))
	for _, why := range got.Aside {
		fmt.Fprintf(stdout, "  aside: %s\n", why)
	}
	if got.Gaps > 0 {
		return fmt.Errorf("%d lines wait for lines before them, which this file does not have", got.Gaps)
	}
	return nil
}

// importRecord brings in the job of a sealed record.
func importRecord(data, path string, stdout, stderr io.Writer) int {
	r, n, err := server.ImportRecord(data, path)
	if r != nil {
		for _, f := range r.Faults {
			fmt.Fprintf(stderr, "bayhold import: %s\n", f)
		}
		if err == nil && len(r.Faults) > 0 {
			err = errors.New("this record does not fit, and nothing was brought in")
		}
	}
	if err != nil {
		fmt.Fprintf(stderr, "bayhold import: %s: %v\n", path, err)
		return 1
	}
	fmt.Fprintf(stdout, "%s: %d lines brought in, sealed by the key %s\n", r.Name, n, sealed.Fingerprint(r.Seal.Key))
	return 0
}
