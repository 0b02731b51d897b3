package cbor

import (
	"bytes"
	"errors"
	"math"
	"strconv"
	"unicode/utf8"
)

// MaxDepth is how deep arrays and maps may stand within each other.
const MaxDepth = 16

// Reader reads the items of a byte slice one after the other. Its first error
// sticks: everything after it answers zero. The zero Reader reads nothing.
type Reader struct {
	b     []byte
	pos   int
	err   error
	text  bool // keys must be text
	depth int
	open  [MaxDepth]level
}

// level is a container whose items are not all read.
type level struct {
	left     int32 // items to come; a map has two for each pair
	key      int32 // where the key that is being read starts
	from, to int32 // the previous key, to see that keys go up
	isMap    bool
}

// NewReader reads b, which must not change while anything that Bytes or Raw
// returned is in use.
func NewReader(b []byte) *Reader {
	r := new(Reader)
	r.Reset(b)
	return r
}

// Reset makes a Reader of b, as NewReader does, where there is one already.
func (r *Reader) Reset(b []byte) {
	// What stood in open is written over before it is read, and clearing it
	// would cost more than a small item.
	r.b, r.pos, r.err, r.text, r.depth = b, 0, nil, false, 0
	if len(b) > math.MaxInt32 {
		r.Fail("more than 2 GiB")
	}
}

// Err is the first error, nil if there is none.
func (r *Reader) Err() error { return r.err }

// Rest is how many bytes are not read yet.
func (r *Reader) Rest() int { return len(r.b) - r.pos }

// Close says whether everything was read and well: the first error, or one
// about bytes left over.
func (r *Reader) Close() error {
	if r.err == nil && r.pos < len(r.b) {
		r.Fail("bytes left over after the last item")
	}
	if r.err == nil && r.depth > 0 {
		r.Fail("ends inside an array or a map")
	}
	return r.err
}

// TextKeys says whether the keys of the maps to come must be text, as those of
// a JSON object are.
func (r *Reader) TextKeys(must bool) { r.text = must }

// Fail makes msg the Reader's error unless it has one; a decoder calls it for
// a value that is well encoded and still wrong.
func (r *Reader) Fail(msg string) {
	if r.err == nil {
		r.err = errors.New("cbor: byte " + strconv.Itoa(r.pos) + ": " + msg)
	}
}

// Major is the major type of the next item, or 255 where none can be read.
func (r *Reader) Major() byte {
	if r.err != nil || r.pos >= len(r.b) {
		return 255
	}
	return r.b[r.pos] >> 5
}

// head reads the head of the next item and leaves pos behind it.
func (r *Reader) head() (major byte, v uint64, ok bool) {
	if r.err != nil {
		return 0, 0, false
	}
	if r.pos >= len(r.b) {
		r.Fail("ends where an item should begin")
		return 0, 0, false
	}
	if r.depth > 0 {
		if l := &r.open[r.depth-1]; l.isMap && l.left%2 == 0 {
			l.key = int32(r.pos)
			m := r.b[r.pos] >> 5
			if r.text && m != Text {
				r.Fail("a key must be text")
				return 0, 0, false
			}
			if m != Uint && m != NegInt && m != Text {
				r.Fail("a key must be an integer or text")
				return 0, 0, false
			}
		}
	}
	first := r.b[r.pos]
	major, v = first>>5, uint64(first&31)
	if v < 24 {
		r.pos++
		return major, v, true
	}
	if v > 27 {
		r.Fail("indefinite or reserved length")
		return 0, 0, false
	}
	if major == Simple {
		r.Fail("a float or another simple value")
		return 0, 0, false
	}
	n := 1 << (v - 24) // bytes of the argument: 1, 2, 4, 8
	if r.Rest() < 1+n {
		r.Fail("ends inside an item")
		return 0, 0, false
	}
	v = 0
	for _, c := range r.b[r.pos+1 : r.pos+1+n] {
		v = v<<8 | uint64(c)
	}
	// Section 4.2.1: the shortest form. One byte must hold 24 or more, and
	// each wider form more than the form of half its width can.
	if n == 1 && v < 24 || n > 1 && v>>(4*n) == 0 {
		r.Fail("not the shortest form of a number or length")
		return 0, 0, false
	}
	r.pos += 1 + n
	return major, v, true
}

// done counts a whole item off its container, and the container off its own
// when that was the last.
func (r *Reader) done() {
	for r.depth > 0 && r.err == nil {
		l := &r.open[r.depth-1]
		if l.isMap && l.left%2 == 0 {
			if l.to > 0 && bytes.Compare(r.b[l.from:l.to], r.b[l.key:r.pos]) >= 0 {
				r.Fail("keys twice or out of order")
				return
			}
			l.from, l.to = l.key, int32(r.pos)
		}
		if l.left--; l.left > 0 {
			return
		}
		r.depth--
	}
}

// want reads the head of an item that must be of one major type.
func (r *Reader) want(major byte, what string) (uint64, bool) {
	if m := r.Major(); m != major && m != 255 {
		r.Fail("want " + what)
		return 0, false
	}
	_, v, ok := r.head()
	return v, ok
}

// Uint reads an unsigned integer.
func (r *Reader) Uint() uint64 {
	v, ok := r.want(Uint, "an unsigned integer")
	if ok {
		r.done()
	}
	return v
}

// Int reads an integer that an int64 holds.
func (r *Reader) Int() int64 {
	m := r.Major()
	if m != Uint && m != NegInt && m != 255 {
		r.Fail("want an integer")
		return 0
	}
	_, v, ok := r.head()
	if !ok {
		return 0
	}
	if v > math.MaxInt64 {
		r.Fail("an integer that 64 bits with a sign do not hold")
		return 0
	}
	r.done()
	if m == NegInt {
		return ^int64(v)
	}
	return int64(v)
}

// Bytes reads a byte string; it shares the Reader's memory.
func (r *Reader) Bytes() []byte {
	v, ok := r.want(Bytes, "a byte string")
	if !ok {
		return nil
	}
	return r.take(v)
}

// Text reads a text string.
func (r *Reader) Text() string { return string(r.TextBytes()) }

// TextBytes reads a text string without making a string of it; it shares the
// Reader's memory.
func (r *Reader) TextBytes() []byte {
	v, ok := r.want(Text, "text")
	if !ok {
		return nil
	}
	return r.takeText(v)
}

func (r *Reader) take(n uint64) []byte {
	if n > uint64(r.Rest()) {
		r.Fail("ends inside a string")
		return nil
	}
	s := r.b[r.pos : r.pos+int(n) : r.pos+int(n)]
	r.pos += int(n)
	r.done()
	return s
}

func (r *Reader) takeText(n uint64) []byte {
	s := r.take(n)
	if !utf8.Valid(s) {
		r.Fail("text that is not UTF-8")
		return nil
	}
	return s
}

// Bool reads true or false.
func (r *Reader) Bool() bool {
	v, ok := r.want(Simple, "true or false")
	if !ok {
		return false
	}
	if v != 20 && v != 21 {
		r.Fail("want true or false")
		return false
	}
	r.done()
	return v == 21
}

// Null reads a null if one comes next, and says whether it did.
func (r *Reader) Null() bool {
	if r.err != nil || r.pos >= len(r.b) || r.b[r.pos] != nullByte {
		return false
	}
	if _, _, ok := r.head(); ok {
		r.done()
	}
	return r.err == nil
}

// Array reads the head of an array and answers the number of its items.
func (r *Reader) Array() int {
	v, ok := r.want(Array, "an array")
	if !ok {
		return 0
	}
	return r.push(v, false)
}

// Map reads the head of a map and answers the number of its pairs. That the
// keys go up is seen while they are read.
func (r *Reader) Map() int {
	v, ok := r.want(Map, "a map")
	if !ok {
		return 0
	}
	return r.push(v, true)
}

// push opens a container of n items or pairs. A length that the bytes left
// cannot hold is refused before anyone makes room for it.
func (r *Reader) push(n uint64, isMap bool) int {
	items := n
	if isMap {
		items = 2 * n
	}
	if n > uint64(r.Rest()) || items > uint64(r.Rest()) {
		r.Fail("an array or a map longer than its bytes")
		return 0
	}
	if n == 0 {
		r.done()
		return 0
	}
	if r.depth == MaxDepth {
		r.Fail("arrays or maps too deep within each other")
		return 0
	}
	r.open[r.depth] = level{left: int32(items), isMap: isMap}
	r.depth++
	return int(n)
}

// Skip reads one whole item of any kind and checks it like any other.
func (r *Reader) Skip() {
	depth := r.depth
	for {
		r.skipOne()
		if r.err != nil || r.depth <= depth {
			return
		}
	}
}

func (r *Reader) skipOne() {
	major, v, ok := r.head()
	if !ok {
		return
	}
	switch major {
	case Uint:
		r.done()
	case NegInt:
		if v > math.MaxInt64 {
			r.Fail("an integer that 64 bits with a sign do not hold")
			return
		}
		r.done()
	case Bytes:
		r.take(v)
	case Text:
		r.takeText(v)
	case Array:
		r.push(v, false)
	case Map:
		r.push(v, true)
	case Tag:
		r.Fail("a tag")
	default:
		if v < 20 || v > 22 {
			r.Fail("undefined or another simple value")
			return
		}
		r.done()
	}
}

// Raw reads one whole item of any kind and answers its bytes; they share the
// Reader's memory.
func (r *Reader) Raw() []byte {
	start := r.pos
	r.Skip()
	if r.err != nil {
		return nil
	}
	return r.b[start:r.pos:r.pos]
}
