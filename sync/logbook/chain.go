package logbook

import (
	"errors"

	"bayhold/sync/cbor"
	"bayhold/sync/sha256"
)

// Receipt is what the shop adds to an entry that it keeps. It is made once,
// travels with the entry, and nobody makes it again.
type Receipt struct {
	Epoch    uint64 // of the store: goes up when a backup is restored
	Order    uint64 // place in the logbook, from 1 without gaps
	Arrived  int64  // server time of arrival, ms
	Earliest int64  // the act was not before this server time; 0 = not known
	Latest   int64  // nor after this one
	Was      Was    // of a line that the shop had before a backup was restored
}

// Was is the place of a line in an earlier epoch of the store, which lost it:
// the first that it had. A phone brought it back (see package session). The
// zero Was is that of every other line.
type Was struct {
	Epoch, Order uint64
	Arrived      int64
}

// Back is the receipt that a line gets when a phone brings it back: a new
// place, and the times of the first.
func (c Receipt) Back(epoch, order uint64, now int64) Receipt {
	if c.Was == (Was{}) {
		c.Was = Was{c.Epoch, c.Order, c.Arrived}
	}
	c.Epoch, c.Order, c.Arrived = epoch, order, now
	return c
}

// First is when the line came to the shop first.
func (c Receipt) First() int64 {
	if c.Was != (Was{}) {
		return c.Was.Arrived
	}
	return c.Arrived
}

// Append appends the receipt's encoding: an array of its five numbers, or of
// eight if the line was brought back.
func (c Receipt) Append(b []byte) []byte {
	n := 5
	if c.Was != (Was{}) {
		n = 8
	}
	b = cbor.AppendArray(b, n)
	b = cbor.AppendUint(b, c.Epoch)
	b = cbor.AppendUint(b, c.Order)
	b = cbor.AppendInt(b, c.Arrived)
	b = cbor.AppendInt(b, c.Earliest)
	b = cbor.AppendInt(b, c.Latest)
	if n == 5 {
		return b
	}
	b = cbor.AppendUint(b, c.Was.Epoch)
	b = cbor.AppendUint(b, c.Was.Order)
	return cbor.AppendInt(b, c.Was.Arrived)
}

// ReadReceipt reads a receipt as one item of a longer message.
func ReadReceipt(r *cbor.Reader) Receipt {
	n := r.Array()
	if n != 5 && n != 8 {
		r.Fail("a receipt has 5 or 8 numbers")
		return Receipt{}
	}
	c := Receipt{Epoch: readSeq(r), Order: readSeq(r), Arrived: ReadTime(r), Earliest: ReadTime(r), Latest: ReadTime(r)}
	if n == 8 {
		if c.Was = (Was{readSeq(r), readSeq(r), ReadTime(r)}); c.Was.Epoch == 0 {
			r.Fail("epochs and orders count from 1")
		}
	}
	if why := c.Wrong(); why != "" {
		r.Fail(why)
	}
	return c
}

// Wrong says what makes the receipt none, "" if it is one. That its numbers
// have 53 bits the reader sees.
func (c Receipt) Wrong() string {
	switch {
	case c.Epoch == 0 || c.Order == 0 || (c.Was.Epoch == 0) != (c.Was.Order == 0) || c.Was.Epoch == 0 && c.Was.Arrived != 0:
		return "epochs and orders count from 1"
	case c.Earliest < 0 || c.Earliest > c.Latest || c.Latest > c.First():
		return "a receipt has 0 <= earliest <= latest <= arrived"
	}
	return ""
}

// DecodeReceipt reads a receipt that stands alone.
func DecodeReceipt(b []byte) (Receipt, error) {
	var r cbor.Reader
	r.Reset(b)
	c := ReadReceipt(&r)
	if err := r.Close(); err != nil {
		return Receipt{}, errors.New("receipt: " + err.Error())
	}
	return c, nil
}

// Hash is a SHA-256.
type Hash = [sha256.Size]byte

// Sum is the hash of an entry's or a receipt's bytes.
func Sum(b []byte) Hash { return sha256.Sum(b) }

// Genesis is the chain's hash before a logbook's first entry: the SHA-256 of
// its name, class and id.
func Genesis(l Log) Hash {
	var b [17]byte
	b[0] = l.Class
	copy(b[1:], l.ID[:])
	return sha256.Sum(b[:])
}

// Next is the chain's hash after one more entry, whole or erased.
func Next(h Hash, receipt, entry []byte) Hash {
	return NextSum(h, receipt, EntrySum(entry))
}

// NextSum is Next for an entry that is known by its hash.
func NextSum(h Hash, receipt []byte, entry Hash) Hash {
	return Link(h, sha256.Sum(receipt), entry)
}

// Link is Next for a line of which the hashes alone are known.
func Link(h, receipt, entry Hash) Hash {
	var b [3 * sha256.Size]byte
	copy(b[:], h[:])
	copy(b[32:], receipt[:])
	copy(b[64:], entry[:])
	return sha256.Sum(b[:])
}

// Cursor is how far a copy of a logbook has come: the last entry's epoch and
// order, and the chain's hash there. The zero Cursor has nothing yet.
type Cursor struct {
	Epoch, Order uint64
	Hash         Hash
}

// MaxSignature is the length of a head's signature, Ed25519 (RFC 8032), at
// most.
const MaxSignature = 64

// Head is what the shop signs of a logbook that reached a cursor: a CBOR array
// ["bayhold head", log, epoch, order, hash]. Who has it can prove to the shop
// that a line was its own, also when the shop has lost it.
func (c Cursor) Head(l Log) []byte {
	b := cbor.AppendText(cbor.AppendArray(make([]byte, 0, 96), 5), "bayhold head")
	b = AppendLog(b, l)
	b = cbor.AppendUint(b, c.Epoch)
	b = cbor.AppendUint(b, c.Order)
	return cbor.AppendBytes(b, c.Hash[:])
}
