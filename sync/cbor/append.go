package cbor

// The major types of RFC 8949 section 3.1, as Reader.Major answers them.
const (
	Uint   = 0
	NegInt = 1
	Bytes  = 2
	Text   = 3
	Array  = 4
	Map    = 5
	Tag    = 6
	Simple = 7
)

const (
	falseByte = Simple<<5 | 20
	trueByte  = Simple<<5 | 21
	nullByte  = Simple<<5 | 22
)

// appendHead writes the shortest head that holds v (section 4.2.1).
func appendHead(b []byte, major byte, v uint64) []byte {
	m := major << 5
	switch {
	case v < 24:
		return append(b, m|byte(v))
	case v < 1<<8:
		return append(b, m|24, byte(v))
	case v < 1<<16:
		return append(b, m|25, byte(v>>8), byte(v))
	case v < 1<<32:
		return append(b, m|26, byte(v>>24), byte(v>>16), byte(v>>8), byte(v))
	}
	return append(b, m|27, byte(v>>56), byte(v>>48), byte(v>>40), byte(v>>32),
		byte(v>>24), byte(v>>16), byte(v>>8), byte(v))
}

// AppendUint appends v as an unsigned integer.
func AppendUint(b []byte, v uint64) []byte { return appendHead(b, Uint, v) }

// AppendInt appends v as an unsigned or a negative integer, as its sign asks.
func AppendInt(b []byte, v int64) []byte {
	if v < 0 {
		return appendHead(b, NegInt, uint64(^v)) // -1-v without overflow
	}
	return appendHead(b, Uint, uint64(v))
}

// AppendBytes appends v as a byte string.
func AppendBytes(b, v []byte) []byte {
	return append(appendHead(b, Bytes, uint64(len(v))), v...)
}

// AppendText appends s, which must be UTF-8, as a text string. The Reader
// refuses text that is not.
func AppendText(b []byte, s string) []byte {
	return append(appendHead(b, Text, uint64(len(s))), s...)
}

// AppendArray appends the head of an array; its n items follow.
func AppendArray(b []byte, n int) []byte { return appendHead(b, Array, uint64(n)) }

// AppendMap appends the head of a map; its n keys follow, each with its value
// behind it, in the bytewise order of the encoded keys. For text that means
// shorter keys first, and keys of one length in bytewise order.
func AppendMap(b []byte, n int) []byte { return appendHead(b, Map, uint64(n)) }

// AppendBool appends true or false.
func AppendBool(b []byte, v bool) []byte {
	if v {
		return append(b, trueByte)
	}
	return append(b, falseByte)
}

// AppendNull appends null.
func AppendNull(b []byte) []byte { return append(b, nullByte) }
