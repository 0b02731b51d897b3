// Package sha256 is the hash of FIPS 180-4, small.
//
// The phone's core must fit a budget for its download, and the standard
// library's crypto/sha256 brings a quarter of it along, the FIPS module and its
// self-tests, as encoding/binary would bring reflect. This one is the plain
// loop of the standard, checked against crypto/sha256 in the tests. It keeps nothing secret, so it need not
// run in constant time. The server may use either: they agree.
package sha256

import "math/bits"

// Size is the length of a sum in bytes.
const Size = 32

// k holds the round constants of FIPS 180-4 section 4.2.2: the first 32 bits
// of the fractions of the cube roots of the first 64 primes.
var k = [64]uint32{
	0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
	0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
	0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
	0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
	0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
	0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
	0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
	0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
}

// Sum is the SHA-256 of b.
func Sum(b []byte) [Size]byte {
	// Section 5.3.3: the fractions of the square roots of the first 8 primes.
	h := [8]uint32{0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19}
	n := uint64(len(b))
	for len(b) >= 64 {
		block(&h, b[:64])
		b = b[64:]
	}
	// Section 5.1.1: a one bit, zeros, and the length in bits in the last 8
	// bytes of a block.
	var last [128]byte
	end := 64
	last[copy(last[:], b)] = 0x80
	if len(b) >= 56 {
		end = 128
	}
	for i := range 8 {
		last[end-1-i] = byte(n * 8 >> (8 * i))
	}
	block(&h, last[:64])
	if end == 128 {
		block(&h, last[64:])
	}
	var sum [Size]byte
	for i, v := range h {
		sum[4*i], sum[4*i+1], sum[4*i+2], sum[4*i+3] = byte(v>>24), byte(v>>16), byte(v>>8), byte(v)
	}
	return sum
}

// block folds one block of 64 bytes into h (section 6.2.2).
func block(h *[8]uint32, p []byte) {
	var w [64]uint32
	for i := range 16 {
		w[i] = uint32(p[4*i])<<24 | uint32(p[4*i+1])<<16 | uint32(p[4*i+2])<<8 | uint32(p[4*i+3])
	}
	for i := 16; i < 64; i++ {
		x, y := w[i-15], w[i-2]
		s0 := bits.RotateLeft32(x, -7) ^ bits.RotateLeft32(x, -18) ^ x>>3
		s1 := bits.RotateLeft32(y, -17) ^ bits.RotateLeft32(y, -19) ^ y>>10
		w[i] = w[i-16] + s0 + w[i-7] + s1
	}
	a, b, c, d, e, f, g, hh := h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7]
	for i := range 64 {
		t1 := hh + (bits.RotateLeft32(e, -6) ^ bits.RotateLeft32(e, -11) ^ bits.RotateLeft32(e, -25)) +
			(e&f ^ ^e&g) + k[i] + w[i]
		t2 := (bits.RotateLeft32(a, -2) ^ bits.RotateLeft32(a, -13) ^ bits.RotateLeft32(a, -22)) +
			(a&b ^ a&c ^ b&c)
		hh, g, f, e, d, c, b, a = g, f, e, d+t1, c, b, a, t1+t2
	}
	for i, v := range [8]uint32{a, b, c, d, e, f, g, hh} {
		h[i] += v
	}
}
