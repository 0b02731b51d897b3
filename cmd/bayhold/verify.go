package main

import (
	"flag"
	"io"

	"bayhold/server"
)

const verifyHelp = `bayhold verify --data DIR

Reads everything in a data folder or a backup and says what does not fit, one
sentence for each fault with its logbook and line, or its photo: the pages of
the file, the form and the hash of every line, what was set aside, every index,
every photo. It may be run beside a server. Exits 1 if anything does not fit.

No hash covers the reason and time of what was set aside, the last ten minutes
of a logger, and the number of the epoch.

  --data DIR  the data folder, or a backup's
`

// runVerify is the verify command.
func runVerify(args []string, stdout, stderr io.Writer) int {
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
