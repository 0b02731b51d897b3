package main

import (
	"flag"
	"io"

	"bayhold/server"
)

const restoreHelp = `bayhold restore --from DIR --data DIR

Makes a data folder of a backup. The server that is started on it goes on from
the backup's last lines in a new epoch; phones that come back find by it which
of their lines the backup lacks. Do not start the old folder again.

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
	return told("restore", r, err, stdout, stderr)
}
