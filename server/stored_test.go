package server

import (
	"bytes"
	"testing"

	"bayhold/sync/logbook"
)

// Whatever stands in a value of the store's file is read without a fault of
// ours, and what is taken for good is written again as the same bytes: nothing
// in it is passed over.
func FuzzStored(f *testing.F) {
	e := note("a", 1, "x")
	receipt := logbook.Receipt{Epoch: 1, Order: 1, Arrived: 3, Earliest: 1, Latest: 2}
	f.Add(record{logbook.Genesis(jobV5), receipt.Append(nil), e.Append(nil)}.append(nil))
	f.Add(Head{Order: 7, Closed: e.Ref(), ClosedAt: 9}.append(nil))
	f.Add(Head{Order: 7}.append(nil))
	f.Add(SetAside{At: 5, Code: 1, Reason: "Only the lead may write this.", Bytes: e.Append(nil)}.append(nil))
	f.Add(SetAside{At: 5, Code: 1, Reason: "x", Bytes: e.Append(nil), Device: crew}.append(nil))
	f.Add(window{1, []point{{600_000, 20_000, 50_000}, {600_001, -5_000, 0}}}.append(nil, 600_000))
	f.Fuzz(func(t *testing.T, raw []byte) {
		same := func(what string, err error, again []byte) {
			if err == nil && !bytes.Equal(again, raw) {
				t.Errorf("a %s is read from %x and written as %x", what, raw, again)
			}
		}
		l, err := readLine(raw)
		same("line", err, l.append(nil))
		h, err := readHead(raw)
		if h.Closed != (logbook.Ref{}) || len(raw) == 40 {
			same("head", err, h.append(nil))
		}
		a, err := readAside(raw)
		same("line that was set aside", err, a.append(nil))
		if len(raw) > 0 { // none is an empty window
			w, err := readWindow(raw, 600_000)
			same("window", err, w.append(nil, 600_000))
			if err == nil {
				_ = w.points[w.closed:]
			}
		}
	})
}
