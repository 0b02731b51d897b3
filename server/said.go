package server

import (
	"fmt"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// said reads a logbook behind an order as the checklist reads it, until f wants
// no more, and answers how far it came. A line that this version cannot read is
// left out, as on phones.
func (st *Store) said(log logbook.Log, order uint64, f func(checklist.Line, logbook.Receipt) bool) (uint64, error) {
	for {
		lines, err := st.After(log, order, 1000, 1<<20)
		if err != nil || len(lines) == 0 {
			return order, err
		}
		for _, l := range lines {
			e, err := logbook.Decode(l.Entry)
			if err != nil {
				return order, fmt.Errorf("line %d of %s: %w", l.Order, LogName(log), err)
			}
			r, err := logbook.DecodeReceipt(l.Receipt)
			if err != nil {
				return order, fmt.Errorf("receipt %d of %s: %w", l.Order, LogName(log), err)
			}
			if l, err := line.Of(e, r.Order, checklist.Span{Earliest: r.Earliest, Latest: r.Latest}); err == nil && !f(l, r) {
				return order, nil
			}
			order = l.Order
		}
	}
}

// foldInto adds a whole logbook to a shop.
func (st *Store) foldInto(shop *checklist.Shop, log logbook.Log) error {
	_, err := st.said(log, 0, func(l checklist.Line, _ logbook.Receipt) bool { shop.Add(l); return true })
	return err
}
