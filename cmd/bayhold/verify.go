package main

import (
	"flag"
	"fmt"
	"io"
	"strings"

	"bayhold/server"
	"bayhold/server/sealed"
)

const verifyHelp = `bayhold verify --data DIR
bayhold verify FILE

Reads everything in a data folder or a backup and says what does not fit, one
sentence for each fault with its logbook and line, or its photo: the pages of
the file, the form and the hash of every line, what was set aside, every index,
every photo. It may be run beside a server. Exits 1 if anything does not fit.

No hash covers the reason and time of what was set aside, the last ten minutes
of a logger, and the number of the epoch.

  --data DIR  the data folder, or a backup's

FILE is a vehicle's record, the zip or the folder that came out of it. It needs
no store and no network: every file, line and photo is compared with what was
sealed, and whose key sealed it is printed. A seal is worth as much as the key:
compare its fingerprint with the one that the shop tells you.
`

// runVerify is the verify command.
func runVerify(args []string, stdout, stderr io.Writer) int {
	if len(args) == 1 && !strings.HasPrefix(args[0], "-") {
		return verifyRecord(args[0], stdout, stderr)
	}
	fs := flag.NewFlagSet("verify", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	data := fs.String("data", "", "")
	if code, ok := parse(fs, args, verifyHelp, stdout, stderr, "data"); !ok {
		return code
	}
	r, err := verify(*data)
	return told("verify", r, err, stdout, stderr)
}

func verify(data string) (*server.Report, error) {
	store, err := server.Look(data)
	if err != nil {
		return nil, err
	}
	defer store.Close()
	r, err := store.Report()
	if err == nil {
		err = store.ReportPhotos(data, r)
	}
	return r, err
}

// verifyRecord reads a vehicle's record.
func verifyRecord(path string, stdout, stderr io.Writer) int {
	r, err := sealed.Verify(path)
	if err != nil {
		fmt.Fprintf(stderr, "bayhold verify: %s: %v\n", path, err)
		return 1
	}
	for _, f := range r.Faults {
		fmt.Fprintf(stderr, "bayhold verify: %s\n", f)
	}
	for _, n := range r.Notes {
		fmt.Fprintf(stdout, "%s\n", n)
	}
	if r.Seal != nil {
		fmt.Fprintf(stdout, "%s: %d lines, %d photos and voice notes. Shop's key %s\n", r.Name, r.Lines, r.Photos, sealed.Fingerprint(r.Seal.Key))
	}
	if len(r.Faults) > 0 {
		fmt.Fprintf(stdout, "%d faults\n", len(r.Faults))
		return 1
	}
	fmt.Fprintln(stdout, "all fits")
	return 0
}
