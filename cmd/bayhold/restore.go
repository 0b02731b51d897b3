package main

import (
	"flag"
	"fmt"
	"io"

	"bayhold/server"
)

const restoreHelp = `bayhold restore --from DIR --data DIR

Makes a data folder of a backup. The server that is started on it goes on from
the backup's last lines in a new epoch; phones that come back find by it which
of their lines the backup lacks. Do not start the old folder again.

A backup knows nothing of a phone that was taken off after it was made. So every
phone joins again, with what is on it: 'bayhold serve' shows the lead's
invitation, and the lead's phone shows the others'. PINs, loggers' keys,
calendars' addresses and owners' links are made anew.

  --from DIR  the backup's folder
  --data DIR  the new data folder: missing, empty, or left by a restore that
              broke off
`

// runRestore is the restore command.
func runRestore(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("restore", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	from, data := fs.String("from", "", ""), fs.String("data", "", "")
	if code, ok := parse(fs, args, restoreHelp, stdout, stderr, "from", "data"); !ok {
		return code
	}
	r, err := server.Restore(*from, *data)
	code := told("restore", r, err, stdout, stderr)
	if err == nil {
		fmt.Fprintln(stdout, "Phones of the shop join again now, by an invitation; what is on them stays. PINs, keys of loggers, addresses of calendars and links of owners are made anew.")
	}
	return code
}
