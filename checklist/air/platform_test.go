package air

import (
	"encoding/binary"
	"hash/fnv"
	"testing"
)

// A gate's dew point must be the same thousandth on every copy. exp and log differ
// in the last bit between amd64 (assembly), arm64 (fused multiply-add), 386 and
// WebAssembly, so the hash over 200,000 answers was taken on amd64 and holds on the
// others: it was run on 386 and under js/wasm. It checks the platform and not the
// formula, which the grid does.
func TestDewPointMilliIsTheSameEverywhere(t *testing.T) {
	const want = 0x81a4e6ebd861d103
	h := fnv.New64a()
	var b [4]byte
	x := uint32(1)
	for range 200_000 {
		x = x*1664525 + 1013904223 // a fixed sequence: Numerical Recipes' quick generator
		air := int32((x>>8)%100_001) - 40_000
		x = x*1664525 + 1013904223
		rh := int32((x>>8)%100_000) + 1
		dew, _ := DewPointMilli(air, rh)
		binary.LittleEndian.PutUint32(b[:], uint32(dew))
		h.Write(b[:])
	}
	if got := h.Sum64(); got != want {
		t.Errorf("hash of 200,000 dew points is %#x, want %#x", got, uint64(want))
	}
}
