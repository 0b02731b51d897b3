package session

import (
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// Receipts travel in columns: all epochs, then all arrivals, and so on, each
// number as its difference from the line before (the first from 0). Lines that
// came together differ by little, and what is alike lies side by side: that
// compresses to a few bytes a line. What is hashed and stored is the receipt's
// own encoding; the phone makes it again.

// columns of a receipt, in the order in which they are sent. Its order number
// is not among them: batches count it, kept lines name it beside the seq.
var columns = [...]func(*logbook.Receipt) int64{
	func(c *logbook.Receipt) int64 { return int64(c.Epoch) },
	func(c *logbook.Receipt) int64 { return c.Arrived },
	func(c *logbook.Receipt) int64 { return c.Earliest },
	func(c *logbook.Receipt) int64 { return c.Latest },
}

// appendColumn appends a column of n numbers.
func appendColumn(b []byte, n int, at func(i int) int64) []byte {
	b = cbor.AppendArray(b, n)
	before := int64(0)
	for i := range n {
		v := at(i)
		b = cbor.AppendInt(b, v-before)
		before = v
	}
	return b
}

// appendReceipts appends the columns of receipts, one behind the other.
func appendReceipts(b []byte, receipts []logbook.Receipt) []byte {
	for _, of := range columns {
		b = appendColumn(b, len(receipts), func(i int) int64 { return of(&receipts[i]) })
	}
	return b
}

// readColumn reads a column, which must have n numbers, or any up to maxLines
// if n is negative. Numbers are from 0 to logbook.MaxTime.
func readColumn(r *cbor.Reader, n int) []int64 {
	count := list(r, maxLines, "lines")
	if n >= 0 && count != n {
		r.Fail("columns of different lengths")
	}
	out := make([]int64, count)
	v := int64(0)
	for i := range out {
		if v += logbook.ReadTime(r); v < 0 || v > logbook.MaxTime {
			r.Fail("a number out of range")
		}
		if r.Err() != nil {
			return nil
		}
		out[i] = v
	}
	return out
}

// readReceipts reads what appendReceipts wrote of the lines of these orders,
// behind its first column, and makes each receipt's own encoding. It answers
// nothing if any of it is wrong.
func readReceipts(r *cbor.Reader, epochs, orders []int64) (receipts []logbook.Receipt, coded [][]byte) {
	n := len(orders)
	arrived, earliest, latest := readColumn(r, n), readColumn(r, n), readColumn(r, n)
	if r.Err() != nil {
		return nil, nil
	}
	receipts, coded = make([]logbook.Receipt, n), make([][]byte, n)
	room := make([]byte, 0, n*logbook.MaxReceipt)
	for i := range receipts {
		c := logbook.Receipt{Epoch: uint64(epochs[i]), Order: uint64(orders[i]), Arrived: arrived[i], Earliest: earliest[i], Latest: latest[i]}
		if why := c.Wrong(); why != "" {
			r.Fail(why)
			return nil, nil
		}
		from := len(room)
		room = c.Append(room)
		receipts[i], coded[i] = c, room[from:len(room):len(room)]
	}
	return receipts, coded
}
