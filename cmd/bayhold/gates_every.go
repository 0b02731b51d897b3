package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"bayhold/checklist"
)

// everyStep prints the answers of a whole log as they were, step by step: at
// each step the stages whose answer is another than at the step before. What a
// step does not name stands as it stood.
func everyStep(file string, step time.Duration, stdout io.Writer) error {
	lines, err := readFile(file)
	if err != nil || len(lines) == 0 {
		return err
	}
	slices.SortStableFunc(lines, func(a, b logLine) int { return int(a.at - b.at) })
	first := int64(0) // the first job's beginning: before it there is nothing to ask
	for _, l := range lines {
		if l.said.Kind == (checklist.JobOpen{}).Kind() {
			first = l.at
			break
		}
	}
	begin := time.UnixMilli(first).UTC().Truncate(step)
	end := time.UnixMilli(lines[len(lines)-1].at).UTC()
	shop := checklist.NewShop()
	stood := map[string]string{}
	fmt.Fprintf(stdout, "Every %s, only what changed; what is not named stands as it stood.\n", step)
	for at, i := begin.Add(step), 0; at.Before(end.Add(step)); at = at.Add(step) {
		for ; i < len(lines) && lines[i].at <= at.UnixMilli(); i++ {
			shop.Add(lines[i].said)
		}
		r := readerOf(shop, at)
		r.dated = true // or what stands would read otherwise the next day
		if err := printChanges(stdout, gatesOf(shop, at, r), at.In(r.zone), stood); err != nil {
			return err
		}
	}
	return nil
}

// printChanges prints the rows whose text is another than the one that stood.
// Targets that are told the same share a row.
func printChanges(w io.Writer, rows []gateRow, at time.Time, stood map[string]string) error {
	type change struct{ stage, text string }
	var order []change
	targets := map[change][]string{}
	for _, g := range rows {
		state := stateWords[g.State]
		if g.State == "waits" && g.UntilText != "" {
			state += " until " + g.UntilText
		}
		if g.Waived {
			state += " (waived)"
		}
		text := state + "\t" + strings.Join(said(g.Reason, g.Condition, g.WayOut), " ")
		key := strings.Join([]string{g.ID, g.Stage, g.Panel, g.Zone}, "\x00")
		if stood[key] == text {
			continue
		}
		stood[key] = text
		c := change{g.Job + " " + g.Stage, text}
		if targets[c] == nil {
			order = append(order, c)
		}
		targets[c] = append(targets[c], where(g))
	}
	if len(order) == 0 {
		return nil
	}
	fmt.Fprintf(w, "\n%s\n", at.Format("Mon 2 Jan 15:04"))
	tab := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, c := range order {
		fmt.Fprintf(tab, "  %s\t%s\t%s\n", c.stage, strings.Join(said(targets[c]...), ", "), c.text)
	}
	return tab.Flush()
}
