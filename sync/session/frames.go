package session

import (
	"errors"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// Protocol is the number that hello and welcome carry. A phone of protocol 1
// knows nothing of proofs, and of lines that were brought back; one of protocol
// 2 nothing of lines that were erased, and would keep what is to go. Both give
// their lines, get none, and are told to update. One of protocol 3 cannot be
// told of a line that it is to come later: its connection ends instead.
const (
	Protocol = 4
	defers   = 4 // the first that is told later
	erases   = 3 // the first that gets lines
	oldest   = 1 // that the shop still listens to
)

// The types of frames: the first item of each.
const (
	// from the phone
	hello = 1
	lines = 2
	beat  = 3
	proof = 4
	bring = 5

	// from the shop
	welcome = 16
	kept    = 17
	aside   = 18
	from    = 19
	batch   = 20
	echo    = 21
	live    = 22
	bye     = 23
	caught  = 24
	want    = 25
	taken   = 26
	later   = 27
)

// Limits of one frame; the transport refuses longer ones before they get
// here, compressed or not.
const (
	MaxFrame = 4 << 20 // bytes, after decompression

	maxLines  = 600       // in one lines or batch frame: a phone applies it within 50 ms
	maxBytes  = 256 << 10 // of entries in one frame, unless a single one is longer
	maxList   = 20000     // cursors or writers in a hello
	maxQueued = 4096      // answers that a phone has not read

	// MaxRun is how many lines of one logbook a phone brings back at most: what
	// the hashes of fit into a frame.
	MaxRun = 60000
)

// reading is the phone's clock when it sends lines: enough to place them in
// the shop's time without anything that came before on the connection.
type reading struct {
	wall, mono int64
	earliest   int64 // clock.Moment.Earliest
	steady     int64 // clock.Phone.Steady
}

func (c reading) append(b []byte) []byte {
	b = cbor.AppendArray(b, 4)
	b = cbor.AppendInt(b, c.wall)
	b = cbor.AppendInt(b, c.mono)
	b = cbor.AppendInt(b, c.earliest)
	return cbor.AppendInt(b, c.steady)
}

func readReading(r *cbor.Reader) reading {
	array(r, 4, "a clock reading")
	return reading{logbook.ReadTime(r), logbook.ReadTime(r), logbook.ReadTime(r), logbook.ReadTime(r)}
}

// array reads the head of an array that must have n items.
func array(r *cbor.Reader, n int, what string) {
	if got := r.Array(); got != n && r.Err() == nil {
		r.Fail(what + " has another number of items")
	}
}

// list reads the head of an array of any length up to most.
func list(r *cbor.Reader, most int, what string) int {
	n := r.Array()
	if n > most {
		r.Fail("too many " + what)
		return 0
	}
	return n
}

// count reads how many lines follow.
func count(r *cbor.Reader) int {
	n := r.Uint()
	if n > maxLines {
		r.Fail("too many lines")
		return 0
	}
	return int(n)
}

func readHash(r *cbor.Reader) logbook.Hash {
	b := r.Bytes()
	if len(b) != len(logbook.Hash{}) {
		r.Fail("a hash has 32 bytes")
		return logbook.Hash{}
	}
	return logbook.Hash(b)
}

func appendHash(b []byte, h logbook.Hash) []byte { return cbor.AppendBytes(b, h[:]) }

func appendID(b []byte, id logbook.ID) []byte { return cbor.AppendBytes(b, id[:]) }

// head begins a frame of n items after its type.
func head(kind byte, n int) []byte { return appendType(make([]byte, 0, 128), kind, n) }

func appendType(b []byte, kind byte, n int) []byte {
	return cbor.AppendUint(cbor.AppendArray(b, 1+n), uint64(kind))
}

// open reads a frame's type and answers how many items follow.
func open(r *cbor.Reader, frame []byte) (kind uint64, n int) {
	r.Reset(frame)
	if len(frame) > MaxFrame {
		r.Fail("longer than 4 MiB")
	}
	n = r.Array()
	return r.Uint(), n - 1
}

// refused is the error about a frame: nothing of it was taken.
func refused(r *cbor.Reader, what string) error {
	if err := r.Err(); err != nil {
		return errors.New("session: " + what + " refused: " + err.Error())
	}
	return errors.New("session: " + what + " refused")
}
