// Package sha256 is the hash of FIPS 180-4, small.
//
// The phone's core must fit a budget for its download, and the standard
// library's crypto/sha256 brings a quarter of it along, the FIPS module and its
// self-tests, as encoding/binary would bring reflect. This one is the plain
// loop of the standard, 16 rounds written out, because a jump costs WebAssembly
// more than a round does. It is checked against crypto/sha256 in the tests,
// keeps nothing secret, so it need not run in constant time, and runs on the
// phone alone: everywhere else Sum is crypto/sha256's, which uses the
// processor's own instructions.
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

// sum is the SHA-256 of b.
func sum(b []byte) [Size]byte {
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
	var out [Size]byte
	for i, v := range h {
		out[4*i], out[4*i+1], out[4*i+2], out[4*i+3] = byte(v>>24), byte(v>>16), byte(v>>8), byte(v)
	}
	return out
}

// The functions of section 4.1.2, with fewer operations where there is a way.
func bigS0(x uint32) uint32 {
	return bits.RotateLeft32(x, -2) ^ bits.RotateLeft32(x, -13) ^ bits.RotateLeft32(x, -22)
}
func bigS1(x uint32) uint32 {
	return bits.RotateLeft32(x, -6) ^ bits.RotateLeft32(x, -11) ^ bits.RotateLeft32(x, -25)
}
func smallS0(x uint32) uint32 {
	return bits.RotateLeft32(x, -7) ^ bits.RotateLeft32(x, -18) ^ x>>3
}
func smallS1(x uint32) uint32 {
	return bits.RotateLeft32(x, -17) ^ bits.RotateLeft32(x, -19) ^ x>>10
}
func ch(x, y, z uint32) uint32  { return z ^ x&(y^z) }
func maj(x, y, z uint32) uint32 { return x&y | z&(x|y) }

// block folds one block of 64 bytes into h (section 6.2.2).
func block(h *[8]uint32, p []byte) {
	var w [64]uint32
	b64 := (*[64]byte)(p)
	for i := range 16 {
		w[i] = uint32(b64[4*i])<<24 | uint32(b64[4*i+1])<<16 | uint32(b64[4*i+2])<<8 | uint32(b64[4*i+3])
	}
	for i := 0; i < 48; i += 8 {
		v := (*[24]uint32)(w[i:])
		v[16] = v[0] + smallS0(v[1]) + v[9] + smallS1(v[14])
		v[17] = v[1] + smallS0(v[2]) + v[10] + smallS1(v[15])
		v[18] = v[2] + smallS0(v[3]) + v[11] + smallS1(v[16])
		v[19] = v[3] + smallS0(v[4]) + v[12] + smallS1(v[17])
		v[20] = v[4] + smallS0(v[5]) + v[13] + smallS1(v[18])
		v[21] = v[5] + smallS0(v[6]) + v[14] + smallS1(v[19])
		v[22] = v[6] + smallS0(v[7]) + v[15] + smallS1(v[20])
		v[23] = v[7] + smallS0(v[8]) + v[16] + smallS1(v[21])
	}
	a, b, c, d, e, f, g, hh := h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7]
	for i := 0; i < 64; i += 16 {
		// What the standard calls a after a round stands where h stood before
		// it, so that nothing moves.
		k, w := (*[16]uint32)(k[i:]), (*[16]uint32)(w[i:])
		hh += bigS1(e) + ch(e, f, g) + k[0] + w[0]
		d += hh
		hh += bigS0(a) + maj(a, b, c)
		g += bigS1(d) + ch(d, e, f) + k[1] + w[1]
		c += g
		g += bigS0(hh) + maj(hh, a, b)
		f += bigS1(c) + ch(c, d, e) + k[2] + w[2]
		b += f
		f += bigS0(g) + maj(g, hh, a)
		e += bigS1(b) + ch(b, c, d) + k[3] + w[3]
		a += e
		e += bigS0(f) + maj(f, g, hh)
		d += bigS1(a) + ch(a, b, c) + k[4] + w[4]
		hh += d
		d += bigS0(e) + maj(e, f, g)
		c += bigS1(hh) + ch(hh, a, b) + k[5] + w[5]
		g += c
		c += bigS0(d) + maj(d, e, f)
		b += bigS1(g) + ch(g, hh, a) + k[6] + w[6]
		f += b
		b += bigS0(c) + maj(c, d, e)
		a += bigS1(f) + ch(f, g, hh) + k[7] + w[7]
		e += a
		a += bigS0(b) + maj(b, c, d)
		hh += bigS1(e) + ch(e, f, g) + k[8] + w[8]
		d += hh
		hh += bigS0(a) + maj(a, b, c)
		g += bigS1(d) + ch(d, e, f) + k[9] + w[9]
		c += g
		g += bigS0(hh) + maj(hh, a, b)
		f += bigS1(c) + ch(c, d, e) + k[10] + w[10]
		b += f
		f += bigS0(g) + maj(g, hh, a)
		e += bigS1(b) + ch(b, c, d) + k[11] + w[11]
		a += e
		e += bigS0(f) + maj(f, g, hh)
		d += bigS1(a) + ch(a, b, c) + k[12] + w[12]
		hh += d
		d += bigS0(e) + maj(e, f, g)
		c += bigS1(hh) + ch(hh, a, b) + k[13] + w[13]
		g += c
		c += bigS0(d) + maj(d, e, f)
		b += bigS1(g) + ch(g, hh, a) + k[14] + w[14]
		f += b
		b += bigS0(c) + maj(c, d, e)
		a += bigS1(f) + ch(f, g, hh) + k[15] + w[15]
		e += a
		a += bigS0(b) + maj(b, c, d)
	}
	for i, v := range [8]uint32{a, b, c, d, e, f, g, hh} {
		h[i] += v
	}
}
