package main

import "bayhold/sync/cbor"

// A row of the phone's store is a sequence of lines: for each, a CBOR byte
// string with its receipt and one with its entry, both as they came. Rows are
// joined by putting one behind the other.

func appendRow(row, receipt, entry []byte) []byte {
	return cbor.AppendBytes(cbor.AppendBytes(row, receipt), entry)
}

// piece is of how many lines at most the fold takes in at once.
const piece = 50

// appendPieces takes a row apart, for a fold that lets taps in between.
func appendPieces(pieces [][]byte, row []byte) [][]byte {
	n := 0
	for r := openRow(row); r.next(); {
		if n++; n == piece {
			at := len(row) - r.r.Rest()
			pieces, row, n = append(pieces, row[:at]), row[at:], 0
		}
	}
	if len(row) > 0 {
		pieces = append(pieces, row)
	}
	return pieces
}

type rowReader struct {
	r              *cbor.Reader
	receipt, entry []byte
}

func openRow(row []byte) rowReader { return rowReader{r: cbor.NewReader(row)} }

// next reads the next line; a row that ends in the middle of one ends before it.
func (r *rowReader) next() bool {
	if r.r.Rest() == 0 {
		return false
	}
	r.receipt, r.entry = r.r.Bytes(), r.r.Bytes()
	return r.r.Err() == nil
}
