package session

import (
	"slices"
	"testing"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// Receipts come out of their columns as they went in, byte for byte, also
// where numbers go back and the epoch changes; the encoding in the middle is
// written out by hand (RFC 8949: 0x20+n is -1-n).
func TestColumns(t *testing.T) {
	in := []logbook.Receipt{
		{Epoch: 1, Order: 7, Arrived: 20, Earliest: 0, Latest: 10},
		{Epoch: 1, Order: 8, Arrived: 20, Earliest: 9, Latest: 11},
		{Epoch: 3, Order: 9, Arrived: 15, Earliest: 4, Latest: 5},
	}
	b := appendReceipts(nil, in, width(in))
	want := []byte{0x83, 1, 0, 2, 0x83, 20, 0, 0x20 + 4, 0x83, 0, 9, 0x20 + 4, 0x83, 10, 1, 0x20 + 5}
	if !slices.Equal(b, want) {
		t.Fatalf("% x, want % x", b, want)
	}
	out := []logbook.Receipt{{Order: 7}, {Order: 8}, {Order: 9}}
	coded := readReceipts(cbor.NewReader(b), out, fewColumns)
	for i, c := range in {
		if out[i] != c || !slices.Equal(coded[i], c.Append(nil)) {
			t.Errorf("%+v % x, want %+v % x", out[i], coded[i], c, c.Append(nil))
		}
	}
}

// A line among them that came back has three columns more, for all.
func TestColumnsOfWhatCameBack(t *testing.T) {
	in := []logbook.Receipt{
		{Epoch: 2, Order: 7, Arrived: 20, Earliest: 0, Latest: 10},
		{Epoch: 2, Order: 8, Arrived: 20, Earliest: 3, Latest: 4, Was: logbook.Was{Epoch: 1, Order: 9, Arrived: 5}},
	}
	b := appendReceipts(nil, in, width(in))
	want := []byte{0x82, 2, 0, 0x82, 20, 0, 0x82, 0, 3, 0x82, 10, 0x20 + 5, 0x82, 0, 1, 0x82, 0, 9, 0x82, 0, 5}
	if !slices.Equal(b, want) {
		t.Fatalf("% x, want % x", b, want)
	}
	out := []logbook.Receipt{{Order: 7}, {Order: 8}}
	coded := readReceipts(cbor.NewReader(b), out, allColumns)
	for i, c := range in {
		if out[i] != c || !slices.Equal(coded[i], c.Append(nil)) {
			t.Errorf("%+v % x, want %+v", out[i], coded[i], c)
		}
	}
}

// Columns that make no receipts answer nothing and an error.
func TestColumnsRefused(t *testing.T) {
	for name, b := range map[string][]byte{
		"a column too short":     {0x82, 1, 0, 0x81, 20, 0x82, 0, 0, 0x82, 10, 0},
		"a column too long":      {0x82, 1, 0, 0x83, 20, 0, 0, 0x82, 0, 0, 0x82, 10, 0},
		"below zero":             {0x82, 1, 0, 0x82, 20, 0, 0x82, 0, 0x20, 0x82, 10, 0},
		"no epoch":               {0x82, 0, 0, 0x82, 20, 0, 0x82, 0, 0, 0x82, 10, 0},
		"later than its arrival": {0x82, 1, 0, 0x82, 20, 0, 0x82, 0, 0, 0x82, 10, 11},
		"beyond 53 bits": {0x82, 1, 0, 0x82, 0x1b, 0, 0x1f, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 1,
			0x82, 0, 0, 0x82, 10, 0},
		"cut off": {0x82, 1, 0, 0x82, 20},
	} {
		r := cbor.NewReader(b)
		if coded := readReceipts(r, []logbook.Receipt{{Order: 1}, {Order: 2}}, fewColumns); coded != nil || r.Err() == nil {
			t.Errorf("%s: % x, %v", name, coded, r.Err())
		}
	}
}
