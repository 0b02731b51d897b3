package logbook

// What a logbook holds at most. A writer checks before it writes, the shop
// when an entry arrives; both refuse with a sentence, and nothing is cut off.
const (
	// MaxEntry is the length of an encoded entry. The longest honest one is a
	// signature's strokes; a photo is a hash and never comes near.
	MaxEntry = 16 << 10

	// MaxKeys is the number of keys of a body. The fullest kind, a complete
	// rule set, has its numbers one level down.
	MaxKeys = 64

	// MaxKind is the length of a kind's name in bytes.
	MaxKind = 40

	// MaxStrikes is how many entries one entry strikes: the panels that one
	// tap ticked.
	MaxStrikes = 16

	// MaxSeq keeps seq and order numbers exact in JavaScript and JSON, whose
	// numbers have 53 bits.
	MaxSeq = 1<<53 - 1

	// MaxTime bounds every moment the same way; the year is 287396.
	MaxTime = 1<<53 - 1

	// MaxWall is the last millisecond of the year 9999, which RFC 3339 still
	// writes. A phone that believes in a later one is stamped with this.
	MaxWall = 253402300799999
)
