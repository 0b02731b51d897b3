package main

import (
	"testing"

	public "github.com/fxamacker/cbor/v2"
)

// What the core takes as an argument is well-formed CBOR (RFC 8949 section 5.3)
// to a public library too; the rest is an error, never a panic.
func FuzzInput(f *testing.F) {
	for _, in := range []map[string]any{
		{}, {"wall": -1, "mono": 7}, {"rows": [][]byte{{1}, {}}, "cursors": [][]any{{"shop", []byte{0}}}},
		{"writer": "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", "body": map[string]any{"a": []int{1}}, "sure": true},
	} {
		b, err := public.Marshal(in)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte{0xbb, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff})
	f.Fuzz(func(t *testing.T, b []byte) {
		if _, err := parse(b); err != nil {
			return
		}
		if err := public.Wellformed(b); err != nil {
			t.Fatalf("%x was taken, but: %v", b, err)
		}
	})
}
