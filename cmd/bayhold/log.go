package main

import (
	"errors"
	"fmt"
	"io"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/jsonl"
	"bayhold/sync/logbook"
)

// logLine is a line of a JSON Lines file: the entry, and what the checklist
// reads in it.
type logLine struct {
	jsonl.Line
	said checklist.Line
	at   int64 // ms: when the shop had it; of a line written by hand, its `at`
}

// readLog reads a whole file or nothing. An error names the line.
func readLog(r io.Reader) ([]logLine, error) {
	raw, err := jsonl.Read(r)
	if err != nil {
		return nil, err
	}
	out := make([]logLine, len(raw))
	for i, l := range raw {
		if out[i], err = understand(l); err != nil {
			return nil, fmt.Errorf("line %d: %w", l.Number, err)
		}
	}
	return out, nil
}

func understand(l jsonl.Line) (out logLine, err error) {
	if l.Hand {
		if l.Entry.Body, err = line.ResolveNames(l.Entry.Kind, l.Entry.Body, named); err != nil {
			return out, err
		}
	}
	at := l.Entry.At
	out = logLine{Line: l, at: at.Wall}
	// A line that only its phone has was written no earlier than the phone
	// could vouch for, and no later than its clock said.
	order, span := uint64(0), checklist.Span{Earliest: at.Earliest, Latest: max(at.Earliest, at.Wall)}
	if c := l.Receipt; c != nil {
		order, span, out.at = c.Order, checklist.Span{Earliest: c.Earliest, Latest: c.Latest}, c.First()
	}
	if out.said, err = line.Of(l.Entry, order, span); err != nil {
		return out, err
	}
	if why := line.Impossible(out.said.Body); why != "" {
		return out, errors.New(reader{}.marks(why))
	}
	return out, nil
}

// named takes a UUID as it is, and a name for the id that is made of it.
func named(name string) checklist.ID {
	if id, ok := logbook.ParseID(name); ok {
		return checklist.ID(id)
	}
	return checklist.ID(logbook.Named(name))
}
