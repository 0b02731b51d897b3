package primer

import (
	"encoding/binary"
	"hash/fnv"
	"testing"
)

// The gate's minimum must be the same second on every copy: a hash over 200,000
// answers, taken on amd64. It was run on 386 and under js/wasm as well.
func TestMinimumMillisIsTheSameEverywhere(t *testing.T) {
	const want = 0xd890260653c32337
	h := fnv.New64a()
	var b [16]byte
	x := uint32(1)
	for range 200_000 {
		x = x*1664525 + 1013904223 // a fixed sequence: Numerical Recipes' quick generator
		base := int64((x>>8)%14_400) * 1000
		x = x*1664525 + 1013904223
		panel := int32((x>>8)%60_000) - 20_000
		binary.LittleEndian.PutUint64(b[:8], uint64(MinimumMillis(base, 21_000, panel)))
		binary.LittleEndian.PutUint64(b[8:], uint64(OpenMillis(base, 21_000, panel)))
		h.Write(b[:])
	}
	if got := h.Sum64(); got != want {
		t.Errorf("hash of 200,000 minima is %#x, want %#x", got, uint64(want))
	}
}
