package logbook

import "bayhold/sync/sha256"

// ID is a UUID (RFC 9562) as its 16 bytes. The zero ID stands for nobody and
// nowhere.
type ID [16]byte

// Log names one logbook: the shop's, a place's or a job's.
type Log struct {
	Class byte // 's' shop, 'p' place, 'j' job
	ID    ID
}

// Ref names an entry within its logbook: seq counts up by one for each
// writer, from 1.
type Ref struct {
	Writer ID
	Seq    uint64
}

// Compare orders logbooks by class and id, so that lists of them are the same
// on every copy: -1, 0 or 1.
func (l Log) Compare(m Log) int {
	if l.Class != m.Class {
		if l.Class < m.Class {
			return -1
		}
		return 1
	}
	return l.ID.Compare(m.ID)
}

// Compare orders ids bytewise: -1, 0 or 1.
func (id ID) Compare(other ID) int {
	for i, c := range id {
		if c != other[i] {
			if c < other[i] {
				return -1
			}
			return 1
		}
	}
	return 0
}

// IsZero says whether id stands for nobody.
func (id ID) IsZero() bool { return id == ID{} }

const hexDigits = "0123456789abcdef"

// String writes id as RFC 9562 section 4 does: 8-4-4-4-12, lower case.
func (id ID) String() string {
	b := make([]byte, 0, 36)
	for i, c := range id {
		if i == 4 || i == 6 || i == 8 || i == 10 {
			b = append(b, '-')
		}
		b = append(b, hexDigits[c>>4], hexDigits[c&15])
	}
	return string(b)
}

// ParseID reads the 36 characters that String writes; capitals are taken too.
func ParseID(text string) (ID, bool) {
	var id ID
	if len(text) != 36 {
		return ID{}, false
	}
	n := 0 // hex digits read
	for i := range len(text) {
		c := text[i]
		if i == 8 || i == 13 || i == 18 || i == 23 {
			if c != '-' {
				return ID{}, false
			}
			continue
		}
		switch {
		case '0' <= c && c <= '9':
			c -= '0'
		case 'a' <= c && c <= 'f':
			c -= 'a' - 10
		case 'A' <= c && c <= 'F':
			c -= 'A' - 10
		default:
			return ID{}, false
		}
		id[n/2] = id[n/2]<<4 | c
		n++
	}
	return id, true
}

// Named is the id of a name in a log written by hand or in the demo: a
// UUIDv8 made of the name's SHA-256 (RFC 9562 section 5.8 and appendix B.2,
// without a namespace).
func Named(name string) ID {
	sum := sha256.Sum([]byte(name))
	id := ID(sum[:16])
	id[6] = id[6]&0x0f | 8<<4
	id[8] = id[8]&0x3f | 0x80
	return id
}

// Timed is a UUIDv7 (RFC 9562 section 5.7) of a wall clock in milliseconds
// and 10 random bytes. A phone's clock may be wrong: the id is no evidence of
// time.
func Timed(wall int64, random [10]byte) ID {
	var id ID
	for i := range 6 {
		id[i] = byte(wall >> (40 - 8*i))
	}
	copy(id[6:], random[:])
	id[6] = id[6]&0x0f | 7<<4
	id[8] = id[8]&0x3f | 0x80
	return id
}
