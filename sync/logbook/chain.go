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
}

// MaxReceipt is the length of the longest receipt's encoding.
const MaxReceipt = 1 + 5*9

// Append appends the receipt's encoding: an array of its five numbers.
func (c Receipt) Append(b []byte) []byte {
	b = cbor.AppendArray(b, 5)
	b = cbor.AppendUint(b, c.Epoch)
	b = cbor.AppendUint(b, c.Order)
	b = cbor.AppendInt(b, c.Arrived)
	b = cbor.AppendInt(b, c.Earliest)
	return cbor.AppendInt(b, c.Latest)
}

// ReadReceipt reads a receipt as one item of a longer message.
func ReadReceipt(r *cbor.Reader) Receipt {
	if r.Array() != 5 {
		r.Fail("a receipt has 5 numbers")
		return Receipt{}
	}
	c := Receipt{Epoch: readSeq(r), Order: readSeq(r), Arrived: ReadTime(r), Earliest: ReadTime(r), Latest: ReadTime(r)}
	if why := c.Wrong(); why != "" {
		r.Fail(why)
	}
	return c
}

// Wrong says what makes the receipt none, "" if it is one. That its numbers
// have 53 bits the reader sees.
func (c Receipt) Wrong() string {
	switch {
	case c.Epoch == 0 || c.Order == 0:
		return "epochs and orders count from 1"
	case c.Earliest < 0 || c.Earliest > c.Latest || c.Latest > c.Arrived:
		return "a receipt has 0 <= earliest <= latest <= arrived"
	}
	return ""
}

// DecodeReceipt reads a receipt that stands alone.
func DecodeReceipt(b []byte) (Receipt, error) {
	r := cbor.NewReader(b)
	c := ReadReceipt(r)
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

// Next is the chain's hash after one more entry.
func Next(h Hash, receipt, entry []byte) Hash {
	return NextSum(h, receipt, sha256.Sum(entry))
}

// NextSum is Next for an entry that is known by its hash, as one that was
// erased is.
func NextSum(h Hash, receipt []byte, entry Hash) Hash {
	var b [3 * sha256.Size]byte
	sum := sha256.Sum(receipt)
	copy(b[:], h[:])
	copy(b[32:], sum[:])
	copy(b[64:], entry[:])
	return sha256.Sum(b[:])
}

// Cursor is how far a copy of a logbook has come: the last entry's epoch and
// order, and the chain's hash there. The zero Cursor has nothing yet.
type Cursor struct {
	Epoch, Order uint64
	Hash         Hash
}
