package server

import (
	"fmt"
	"io"
	"slices"

	"bayhold/sync/jsonl"
	"bayhold/sync/logbook"
)

// Export writes every line of every logbook as JSON Lines: the shop's, the
// places', the jobs', each in its order. It answers how many.
func (st *Store) Export(w io.Writer) (n int, err error) {
	var logs []logbook.Log
	for log := range st.Heads() {
		logs = append(logs, log)
	}
	rank := map[byte]int{'s': 0, 'p': 1, 'j': 2}
	slices.SortFunc(logs, func(a, b logbook.Log) int {
		if a.Class != b.Class {
			return rank[a.Class] - rank[b.Class]
		}
		return a.Compare(b)
	})
	var text []byte
	for _, log := range logs {
		for from := uint64(0); ; {
			lines, err := st.After(log, from, 1000, 1<<20)
			if err != nil {
				return n, err
			}
			if len(lines) == 0 {
				break
			}
			for _, l := range lines {
				from = l.Order
				receipt, err := logbook.DecodeReceipt(l.Receipt)
				if err == nil {
					text, err = jsonl.Append(text[:0], l.Entry, &receipt)
				}
				if err != nil {
					return n, fmt.Errorf("line %d of logbook %c:%s: %w", l.Order, log.Class, log.ID, err)
				}
				if _, err := w.Write(text); err != nil {
					return n, err
				}
				n++
			}
		}
	}
	return n, nil
}
