package logbook

// What a line says of a person can be erased, and the line stays: its place, its
// receipt and its hash. In the place of the entry's bytes stands then
//
//	[SHA-256 of the entry, what is left of it]
//
// What is left is an entry like any other, with the same name, time, author,
// kind and strikes; of its body some values are gone. So a copy folds it
// as before and chains it by the hash that stands in front, and nobody needs the
// bytes that are gone.
//
// The hash says nothing of what is left. That says the line with which the shop
// erased it: it names the entry's hash and that of what is left, and its own
// place in the chain is signed as ever. Which kind of line that is belongs to
// the reader.

// mark begins the bytes of an erased entry: an array of two, the first a byte
// string of 32. An entry begins with the head of a map.
const mark = "\x82\x58\x20"

// Split takes the bytes of an erased entry apart: the hash of what it was and
// what is left of it. ok is false for any other bytes.
func Split(b []byte) (sum Hash, left []byte, ok bool) {
	n := len(mark) + len(sum)
	if len(b) < n || string(b[:len(mark)]) != mark {
		return sum, b, false
	}
	return Hash(b[len(mark):n]), b[n:], true
}

// EntrySum is the hash by which a line is chained: of an entry's bytes, or the
// one that an erased entry left.
func EntrySum(b []byte) Hash {
	if sum, _, ok := Split(b); ok {
		return sum
	}
	return Sum(b)
}

// Left is the bytes of an erased entry: its hash, and what is left of it.
func Left(sum Hash, left *Entry) []byte { return left.Append(append([]byte(mark), sum[:]...)) }
