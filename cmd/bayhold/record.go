package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"bayhold/server"
	"bayhold/server/sealed"
	"bayhold/sync/logbook"
)

const recordHelp = `bayhold record --data DIR --job NAME --out FILE.zip

Writes the sealed record of a vehicle that was handed over: its lines, its
photos, tables for a spreadsheet, and the shop's signature over all of it.
README.txt in it says how anybody checks it. The same lines make the same file.
The fingerprint of the shop's key is printed: tell it to whoever asks.

  --data DIR      the data folder, or a backup's; a server may be running on it
  --job NAME      the vehicle's label, plate or id
  --out FILE.zip  the file, which must not be there yet
`

// runRecord is the record command.
func runRecord(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("record", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	data, job, out := fs.String("data", "", ""), fs.String("job", "", ""), fs.String("out", "", "")
	if code, ok := parse(fs, args, recordHelp, stdout, stderr, "data", "job", "out"); !ok {
		return code
	}
	if err := writeRecord(*data, *job, *out, stdout); err != nil {
		fmt.Fprintf(stderr, "bayhold record: %v\n", err)
		return 1
	}
	return 0
}

func writeRecord(data, name, out string, stdout io.Writer) (err error) {
	store, err := server.Look(data)
	if err != nil {
		return err
	}
	defer store.Close()
	jobs, err := store.Named(name)
	switch {
	case err != nil:
		return err
	case len(jobs) == 0:
		return fmt.Errorf("no vehicle has the label or the plate %q", name)
	case len(jobs) > 1:
		return fmt.Errorf("%d vehicles are called %q; ask for one by its id: %v", len(jobs), name, ids(jobs))
	}
	r, _, err := store.Record(data, jobs[0])
	if err != nil {
		return err
	}
	if _, err := os.Lstat(out); !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s is there already: give another name", out)
	}
	f, err := os.CreateTemp(filepath.Dir(out), "record-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // gone by then, if all is well
	if err := errors.Join(r.WriteZip(f), f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), out); err != nil {
		return err
	}
	fmt.Fprintf(stdout, "%s: %d files, sealed at line %d by the key %s", out, len(r.Files), r.Handed.Order, sealed.Fingerprint(r.Key))
	if n := len(r.Missing); n > 0 {
		fmt.Fprintf(stdout, "; %d photos or voice notes that lines name are not at the shop", n)
	}
	fmt.Fprintln(stdout)
	return nil
}

func ids(jobs []logbook.ID) (out []string) {
	for _, id := range jobs {
		out = append(out, id.String())
	}
	return out
}
