package main

import (
	"flag"
	"fmt"
	"io"

	"bayhold/server"
)

const backupHelp = `bayhold backup --data DIR --to DIR

Copies the store, the photos and the keys into a folder, whether or not a
server runs on them. Everything is read through first; a copy that breaks off,
also in a power cut, leaves the backup that was there before. The next backup
into the same folder copies what is new. Put it on another disk, and keep it as
safe as the shop's own folder: who has it reads everything and holds the keys.

  --data DIR  the data folder
  --to DIR    the backup's folder, made if it is missing
`

// runBackup is the backup command.
func runBackup(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("backup", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	data, to := fs.String("data", "", ""), fs.String("to", "", "")
	if code, ok := parse(fs, args, backupHelp, stdout, stderr, "data", "to"); !ok {
		return code
	}
	r, err := server.Backup(*data, *to)
	return told("backup", r, err, stdout, stderr)
}

// told prints what a command read and what of it does not fit. Only when all of
// it fits, and the command did its work, is the exit code 0.
func told(command string, r *server.Report, err error, stdout, stderr io.Writer) int {
	if r != nil {
		for _, f := range r.Faults {
			fmt.Fprintf(stderr, "bayhold %s: %s\n", command, f)
		}
	}
	if err != nil {
		fmt.Fprintf(stderr, "bayhold %s: %v\n", command, err)
		return 1
	}
	fmt.Fprintf(stdout, "%d lines in %d logbooks, %d set aside, %d photos", r.Lines, r.Logbooks, r.Aside, r.Photos)
	if r.Awaited > 0 {
		fmt.Fprintf(stdout, " (%d have not come from their phones yet)", r.Awaited)
	}
	if len(r.Faults) > 0 {
		fmt.Fprintf(stdout, ": %d faults\n", len(r.Faults))
		return 1
	}
	fmt.Fprintln(stdout, ": all fits")
	return 0
}
