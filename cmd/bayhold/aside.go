package main

import (
	"cmp"
	"flag"
	"fmt"
	"io"
	"slices"
	"time"

	"bayhold/server"
	"bayhold/sync/logbook"
)

const asideHelp = `bayhold aside --data DIR [--adopt HASH --as LEAD]

Lists what was set aside, the oldest first: when it came, its hash, what it is
and why no logbook took it. Nothing is ever deleted from there. A line that the
lead adopts comes back into its logbook in the lead's name. It may be run beside
a server.

  --data DIR    the data folder
  --adopt HASH  adopt the line with this hash
  --as LEAD     in the name of this lead: name, initials or id
`

// runAside is the aside command.
func runAside(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("aside", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	data, sum, as := fs.String("data", "", ""), fs.String("adopt", "", ""), fs.String("as", "", "")
	if code, ok := parse(fs, args, asideHelp, stdout, stderr, "data"); !ok {
		return code
	}
	if (*sum == "") != (*as == "") {
		fmt.Fprintln(stderr, "bayhold aside: --adopt and --as go together: which line, and in whose name")
		return 2
	}
	var err error
	if *sum != "" {
		err = server.Adopt(*data, *sum, *as)
	} else {
		err = listAside(*data, stdout)
	}
	if err != nil {
		fmt.Fprintf(stderr, "bayhold aside: %v\n", err)
		return 1
	}
	return 0
}

func listAside(data string, stdout io.Writer) error {
	store, err := server.Look(data)
	if err != nil {
		return err
	}
	defer store.Close()
	list, err := store.Aside()
	if err != nil {
		return err
	}
	slices.SortStableFunc(list, func(a, b server.SetAside) int { return cmp.Compare(a.At, b.At) })
	for _, a := range list {
		what := "no line"
		if e, err := logbook.Decode(a.Bytes); err == nil {
			what = fmt.Sprintf("%s in %s", e.Kind, server.LogName(e.Log))
		}
		stands := ""
		if a.Stands {
			stands = " It stands by now."
		}
		fmt.Fprintf(stdout, "%s  %x\n  %s: %s%s\n", time.UnixMilli(a.At).UTC().Format(time.RFC3339), a.Sum, what, a.Reason, stands)
	}
	return nil
}
