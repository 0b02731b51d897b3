package main

import "bayhold/sync/cbor"

// A row of the phone's store is a sequence of lines: for each, a CBOR byte
// string with its receipt and one with its entry, both as they came. Rows are
// joined by putting one behind the other.

func appendRow(row, receipt, entry []byte) []byte {
	return cbor.AppendBytes(cbor.AppendBytes(row, receipt), entry)
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
