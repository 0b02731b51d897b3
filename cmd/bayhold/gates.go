package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"bayhold/checklist"
	"bayhold/sync/logbook"
)

const gatesHelp = `bayhold gates --log FILE.jsonl --at TIME [--json]
bayhold gates --log FILE.jsonl --every 1h

Folds a logbook and prints every gate of every job at that moment: may the
stage be started, and if not, what holds it, until when, and the way out.

  --log FILE.jsonl  entries as JSON Lines, one an entry: what 'bayhold export'
                    prints, or lines written by hand such as
                    {"log":"job:V9","writer":"phone J","by":"J",
                     "at":"2026-01-14T07:30:00+01:00","kind":"tick",
                     "body":{"stage":"wash","answer":"done"}}
                    ('-' reads standard input)
  --at TIME         an RFC 3339 time; lines that the shop had later are left out
  --json            a JSON array instead of a table
  --every STEP      the whole log from its first job on: at each step (such as
                    1h) the stages whose answer changed

A line that is no entry is an error with its number, and nothing is printed.
Where no reading tells, a gate says 'not known'; an end that hangs on climate to
come is given as its condition. The gates say when a surface is dry and warm;
they never say that anything is safe.
`

// runGates is the gates command.
func runGates(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("gates", flag.ContinueOnError)
	fs.SetOutput(io.Discard)
	file := fs.String("log", "", "")
	when := fs.String("at", "", "")
	asJSON := fs.Bool("json", false, "")
	every := fs.Duration("every", 0, "")
	if code, ok := parse(fs, args, gatesHelp, stdout, stderr); !ok {
		return code
	}
	if *every != 0 {
		if *file == "" || *when != "" || *asJSON || *every < time.Minute {
			fmt.Fprint(stderr, "bayhold gates: --every wants --log and a step of a minute at least, and neither --at nor --json\n\n", gatesHelp)
			return 2
		}
		if err := everyStep(*file, *every, stdout); err != nil {
			fmt.Fprintf(stderr, "bayhold gates: %s: %v\n", *file, err)
			return 1
		}
		return 0
	}
	if *file == "" || *when == "" {
		fmt.Fprint(stderr, "bayhold gates: --log and --at are needed\n\n", gatesHelp)
		return 2
	}
	at, err := time.Parse(time.RFC3339, *when)
	if err != nil {
		fmt.Fprintf(stderr, "bayhold gates: --at %q is no RFC 3339 time such as 2026-01-14T08:00:00+01:00\n", *when)
		return 2
	}
	if err := gates(*file, at, *asJSON, stdout); err != nil {
		fmt.Fprintf(stderr, "bayhold gates: %s: %v\n", *file, err)
		return 1
	}
	return 0
}

// parse reads a command's options, of which some are needed; ok is false if the
// command is over with code.
func parse(fs *flag.FlagSet, args []string, help string, stdout, stderr io.Writer, needed ...string) (code int, ok bool) {
	err := fs.Parse(args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		fmt.Fprint(stdout, help)
		return 0, false
	case err != nil:
		fmt.Fprintf(stderr, "bayhold %s: %v\n\n%s", fs.Name(), err, help)
		return 2, false
	case fs.NArg() > 0:
		fmt.Fprintf(stderr, "bayhold %s: %q is no option\n\n%s", fs.Name(), fs.Arg(0), help)
		return 2, false
	}
	for _, name := range needed {
		if fs.Lookup(name).Value.String() == "" {
			fmt.Fprintf(stderr, "bayhold %s: --%s is needed\n\n%s", fs.Name(), name, help)
			return 2, false
		}
	}
	return 0, true
}

// readFile reads a log, "-" from standard input.
func readFile(file string) ([]logLine, error) {
	if file == "-" {
		return readLog(os.Stdin)
	}
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return readLog(f)
}

func gates(file string, at time.Time, asJSON bool, stdout io.Writer) error {
	lines, err := readFile(file)
	if err != nil {
		return err
	}
	shop := checklist.NewShop()
	for _, l := range lines {
		if l.at <= at.UnixMilli() {
			shop.Add(l.said)
		}
	}
	rows := gatesOf(shop, at, readerOf(shop, at))
	if asJSON {
		enc := json.NewEncoder(stdout)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		return enc.Encode(rows)
	}
	return printGates(stdout, rows, at)
}

// gateRow is a gate as the command prints it.
type gateRow struct {
	Job       string   `json:"job"` // label
	ID        string   `json:"id"`
	Stage     string   `json:"stage"`
	Panel     string   `json:"panel,omitempty"`
	Zone      string   `json:"zone,omitempty"`
	State     string   `json:"state"` // open, waits, held, unknown, done
	Cause     string   `json:"cause,omitempty"`
	Causes    []string `json:"causes,omitempty"`
	Reason    string   `json:"reason,omitempty"`
	WayOut    string   `json:"way_out,omitempty"`
	Condition string   `json:"condition,omitempty"`
	Until     int64    `json:"until,omitempty"` // ms since the Unix epoch
	UntilText string   `json:"until_text,omitempty"`
	CountedMS int64    `json:"counted,omitempty"`
	NeededMS  int64    `json:"needed,omitempty"`
	Ask       string   `json:"ask,omitempty"` // spot to read next
	Waived    bool     `json:"waived,omitempty"`
}

// states are a gate's answers for machines and for people.
var states = map[checklist.State][2]string{
	checklist.Open:     {"open", "open"},
	checklist.Waits:    {"waits", "waits"},
	checklist.Held:     {"held", "held"},
	checklist.NotKnown: {"unknown", "not known"},
	checklist.Done:     {"done", "done"},
}

func gatesOf(shop *checklist.Shop, at time.Time, r reader) []gateRow {
	now := checklist.Span{Earliest: at.UnixMilli(), Latest: at.UnixMilli()}
	rows := []gateRow{}
	for _, id := range shop.Jobs() {
		job, _ := shop.Job(id)
		label := job.Open.Label
		if label == "" {
			label = logbook.ID(id).String()
		}
		for _, g := range shop.Gates(id, now) {
			row := gateRow{Job: label, ID: logbook.ID(id).String(), Stage: g.Stage, Panel: g.Panel, Zone: g.Zone,
				State: states[g.State][0], Cause: g.Cause, Causes: g.Causes, Reason: r.marks(g.Reason),
				WayOut: r.marks(g.WayOut), Condition: r.marks(g.Condition), Until: g.Until,
				CountedMS: g.Counted, NeededMS: g.Needed, Ask: g.Ask, Waived: g.Waived}
			if g.Until > 0 {
				row.UntilText = r.clock(g.Until)
			}
			rows = append(rows, row)
		}
	}
	return rows
}

// readerOf reads times and temperatures as the shop does.
func readerOf(shop *checklist.Shop, at time.Time) reader {
	// A log that names no shop is read in the zone of the question.
	r := reader{zone: at.Location(), now: at}
	set, _ := shop.Setting()
	if zone, err := time.LoadLocation(set.Zone); err == nil && set.Zone != "" {
		r.zone = zone
	}
	r.fahrenheit = set.Units == "F"
	return r
}

// stateWords are the words for people by those for machines.
var stateWords = func() map[string]string {
	words := map[string]string{}
	for _, s := range states {
		words[s[0]] = s[1]
	}
	return words
}()

func printGates(w io.Writer, rows []gateRow, at time.Time) error {
	tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	job := ""
	for _, g := range rows {
		if g.ID != job {
			if job != "" {
				fmt.Fprintln(tab)
			}
			job = g.ID
			fmt.Fprintf(tab, "%s at %s\n", g.Job, at.Format("Mon 2 Jan 2006 15:04 MST"))
		}
		state := stateWords[g.State]
		if g.State == "waits" && g.UntilText != "" {
			state += " until " + g.UntilText
		}
		if g.Waived {
			state += " (waived)"
		}
		fmt.Fprintf(tab, "  %s\t%s\t%s\t%s\n", g.Stage, where(g), state,
			strings.Join(said(g.Reason, g.Condition, g.WayOut), " "))
	}
	if len(rows) == 0 {
		fmt.Fprintf(tab, "no job at %s\n", at.Format(time.RFC3339))
	}
	return tab.Flush()
}

// where is the panel, or the zone of a gate without one.
func where(g gateRow) string {
	if g.Panel != "" {
		return g.Panel
	}
	return g.Zone
}

// said leaves out what is empty.
func said(sentences ...string) (out []string) {
	for _, s := range sentences {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}
