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
// is not among them: batches count it, kept lines name it beside the seq. The
// last three are sent only if there is a line that a phone brought back.
var columns = [...]func(*logbook.Receipt) int64{
	func(c *logbook.Receipt) int64 { return int64(c.Epoch) },
	func(c *logbook.Receipt) int64 { return c.Arrived },
	func(c *logbook.Receipt) int64 { return c.Earliest },
	func(c *logbook.Receipt) int64 { return c.Latest },
	func(c *logbook.Receipt) int64 { return int64(c.Was.Epoch) },
	func(c *logbook.Receipt) int64 { return int64(c.Was.Order) },
	func(c *logbook.Receipt) int64 { return c.Was.Arrived },
}

const (
	usualReceipt = 32 // bytes of one line's, coded

	fewColumns = 4
	allColumns = len(columns)
)

// width is how many columns these receipts need.
func width(receipts []logbook.Receipt) int {
	for i := range receipts {
		if receipts[i].Was.Epoch != 0 {
			return allColumns
		}
	}
	return fewColumns
}

// readWidth reads the head of an array of other items and columns, and answers
// how many columns it has.
func readWidth(r *cbor.Reader, others int, what string) int {
	n := r.Array() - others
	if n != fewColumns && n != allColumns && r.Err() == nil {
		r.Fail(what + " has another number of items")
	}
	return n
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
func appendReceipts(b []byte, receipts []logbook.Receipt, width int) []byte {
	for _, of := range columns[:width] {
		b = appendColumn(b, len(receipts), func(i int) int64 { return of(&receipts[i]) })
	}
	return b
}

// readNumbers reads a column, which must have n numbers, and gives them to put
// in order. Numbers are from 0 to logbook.MaxTime.
func readNumbers(r *cbor.Reader, n int, put func(i int, v int64)) {
	if list(r, maxLines, "lines") != n {
		r.Fail("columns of different lengths")
		return
	}
	v := int64(0)
	for i := range n {
		if v += logbook.ReadTime(r); v < 0 || v > logbook.MaxTime {
			r.Fail("a number out of range")
		}
		if r.Err() != nil {
			return
		}
		put(i, v)
	}
}

// readReceipts reads what appendReceipts wrote of lines that have their order
// already, and makes each receipt's own encoding. It answers nothing if any of
// it is wrong.
func readReceipts(r *cbor.Reader, receipts []logbook.Receipt, width int) (coded [][]byte) {
	n := len(receipts)
	readNumbers(r, n, func(i int, v int64) { receipts[i].Epoch = uint64(v) })
	readNumbers(r, n, func(i int, v int64) { receipts[i].Arrived = v })
	readNumbers(r, n, func(i int, v int64) { receipts[i].Earliest = v })
	readNumbers(r, n, func(i int, v int64) { receipts[i].Latest = v })
	if width == allColumns {
		readNumbers(r, n, func(i int, v int64) { receipts[i].Was.Epoch = uint64(v) })
		readNumbers(r, n, func(i int, v int64) { receipts[i].Was.Order = uint64(v) })
		readNumbers(r, n, func(i int, v int64) { receipts[i].Was.Arrived = v })
	}
	if r.Err() != nil {
		return nil
	}
	coded = make([][]byte, n)
	room := make([]byte, 0, n*usualReceipt) // longer ones move it; what is coded stays where it is
	for i, c := range receipts {
		if why := c.Wrong(); why != "" {
			r.Fail(why)
			return nil
		}
		from := len(room)
		room = c.Append(room)
		coded[i] = room[from:len(room):len(room)]
	}
	return coded
}
