// Budget prints the project's performance budget beside what this machine
// measures: one row per promise, each read from a benchmark of the package
// that keeps the promise, or from a side-by-side run with general-purpose
// sync stacks.
//
//	go run ./cmd/budget                    every row that needs no peers
//	go run ./cmd/budget -peers DIR         the rows against peers as well
//	go run ./cmd/budget -peers DIR -beside the table of the peers alone
//
// DIR holds the peers' harness (a folder per stack with a run.mjs, and
// common/); it is copied, never changed. Without it those rows say 'not
// measured'. Nothing here is a test: the program fails only if a
// benchmark fails to run, and a missed budget is printed as missed.
package main

import (
	"flag"
	"fmt"
	"os"
	"strings"
)

func main() {
	peers := flag.String("peers", "", "folder with the peers' harness; empty leaves those rows out")
	rounds := flag.Int("rounds", 3, "rounds of the side-by-side run")
	alone := flag.Bool("beside", false, "measure only beside the peers, and print every stack")
	flag.Parse()
	if err := run(*peers, *rounds, *alone); err != nil {
		fmt.Fprintln(os.Stderr, "budget:", err)
		os.Exit(1)
	}
}

func run(peersDir string, rounds int, alone bool) error {
	if alone {
		by, err := sideBySide(peersDir, rounds)
		if err == nil {
			fmt.Println(beside(by))
		}
		return err
	}
	measured := map[string]float64{}
	for _, pkg := range packages() {
		fmt.Fprintln(os.Stderr, "measuring", pkg)
		if err := benchmarks(pkg, measured); err != nil {
			return err
		}
	}
	if peersDir != "" {
		fmt.Fprintln(os.Stderr, "measuring beside the peers in", peersDir)
		by, err := sideBySide(peersDir, rounds)
		if err != nil {
			return err
		}
		compare(by, measured)
	}
	fmt.Println(table(measured))
	return nil
}

// table renders the rows with what was measured, as Markdown.
func table(measured map[string]float64) string {
	var b strings.Builder
	b.WriteString("| what | at most | measured | |\n|---|---|--:|---|\n")
	for _, r := range rows {
		v, ok := measured[r.bench+" "+r.unit]
		got, verdict := "not measured", ""
		if ok {
			got = fmt.Sprintf("%.4g %s", v, r.unit)
			switch {
			case r.limit < 0:
			case v <= r.limit:
				verdict = "holds"
			default:
				verdict = "MISSED"
			}
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", r.what, r.promise, got, verdict)
	}
	return b.String()
}
