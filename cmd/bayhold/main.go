// Bayhold is the bay checklist of a vehicle-graphics shop in one binary: it
// serves the phone's app, keeps the shop's logbooks, and answers from the
// command line what a gate says and what a science computes.
//
//	bayhold serve                              the shop server
//	bayhold gates --log FILE.jsonl --at TIME   every gate of every job
//	bayhold export --data DIR                  all logbooks as JSON Lines
//	bayhold backup --data DIR --to DIR         a copy of everything, made safely
//	bayhold restore --from DIR --data DIR      a data folder out of a backup
//	bayhold verify --data DIR                  what does not fit, and where
//	bayhold verify FILE                        the same of a vehicle's record
//	bayhold record --data DIR --job NAME ...   the sealed record of a vehicle
//	bayhold compact --data DIR                 the store without unused room
//	bayhold import --data DIR --log FILE.jsonl what a phone saved as a file
//	bayhold invite --data DIR                  an invitation for a phone, such as the lead's
//	bayhold aside --data DIR                   what no logbook took, and adopts it
//	bayhold forget --data DIR                  erases what lines say of people
//	bayhold compute ...                        the sciences, one by one
//
// Every command exits 0 when it did its work, 1 when it could not, 2 when it
// was called wrongly; sentences for people go to standard error.
package main

import (
	"fmt"
	"io"
	"os"
	_ "time/tzdata" // the shop's zone, on machines that have no table of zones
)

// command is one row of the table of what the binary can do.
type command struct {
	name, args, what string
	run              func(args []string, stdout, stderr io.Writer) int
}

func commands() []command {
	return []command{
		{"serve", "[--addr HOST:PORT] [--data DIR | --demo]", "serves the app and keeps the shop's logbooks", runServe},
		{"gates", "--log FILE.jsonl --at TIME [--json]", "every gate of every job at that moment", runGates},
		{"export", "--data DIR", "everything in a store as JSON Lines", runExport},
		{"backup", "--data DIR --to DIR", "copies everything, beside a running server too", runBackup},
		{"restore", "--from DIR --data DIR", "makes a data folder of a backup", runRestore},
		{"verify", "--data DIR | FILE", "reads everything and says what does not fit", runVerify},
		{"record", "--data DIR --job NAME --out FILE.zip", "the sealed record of a vehicle that was handed over", runRecord},
		{"compact", "--data DIR", "writes the store anew without unused room", runCompact},
		{"import", "--data DIR --log FILE.jsonl", "brings in what a phone saved as a file", runImport},
		{"invite", "--data DIR [--role lead|crew]", "shows what a phone joins the shop by", runInvite},
		{"aside", "--data DIR [--adopt HASH --as LEAD]", "lists what was set aside, and adopts a line of it", runAside},
		{"forget", "--data DIR --job NAME | --due | --person NAME", "erases what lines say of people; the hashes stay", runForget},
		{"compute", "NAME [--INPUT VALUE ...]", "the sciences: dew point, drying, warm-up, ...", runCompute},
	}
}

func main() {
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

// run finds the command and runs it.
func run(args []string, stdout, stderr io.Writer) int {
	if len(args) == 0 {
		usage(stderr)
		return 2
	}
	switch args[0] {
	case "help", "-h", "-help", "--help":
		usage(stdout)
		return 0
	}
	for _, c := range commands() {
		if c.name == args[0] {
			return c.run(args[1:], stdout, stderr)
		}
	}
	fmt.Fprintf(stderr, "bayhold: there is no command %q\n\n", args[0])
	usage(stderr)
	return 2
}

func usage(w io.Writer) {
	fmt.Fprint(w, "Bayhold, the bay checklist of a vehicle-graphics shop\n\n")
	for _, c := range commands() {
		fmt.Fprintf(w, "  bayhold %-8s %-42s %s\n", c.name, c.args, c.what)
	}
	fmt.Fprint(w, "\n'bayhold COMMAND --help' explains a command's options.\n")
}
