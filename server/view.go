package server

import (
	"encoding/binary"
	"fmt"
	"time"

	bolt "go.etcd.io/bbolt"

	"bayhold/sync/cbor"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// view is the store within one transaction: what the writer judges by, and
// what readers read by. It implements judge.Ledger.
type view struct {
	tx *bolt.Tx
	st *Store
}

func (v view) Epoch() uint64 { return v.st.epoch }

// lines is the bucket of a logbook, nil if it has no line.
func (v view) lines(log logbook.Log) *bolt.Bucket {
	return v.tx.Bucket(bucketLines).Bucket(logKey(log))
}

// line is the line of an order; its bytes last as long as the transaction.
func (v view) line(log logbook.Log, order uint64) (record, bool) {
	b := v.lines(log)
	if b == nil {
		return record{}, false
	}
	raw := b.Get(be64(order))
	if raw == nil {
		return record{}, false
	}
	r, err := readLine(raw)
	return r, err == nil
}

// eachOf calls f with every line of a logbook that can be read, in its order.
func (v view) eachOf(log logbook.Log, f func(record, *logbook.Entry) error) error {
	b := v.lines(log)
	if b == nil {
		return nil
	}
	return b.ForEach(func(_, raw []byte) error {
		l, err := readLine(raw)
		if err != nil {
			return err
		}
		e, err := logbook.Decode(l.Entry)
		if err != nil {
			return err
		}
		return f(l, &e)
	})
}

// Head answers from the transaction, not from memory: it is what the next
// line is chained to.
func (v view) Head(log logbook.Log) (order uint64, chain logbook.Hash, err error) {
	h, err := v.head(log)
	return h.Order, h.Chain, err
}

func (v view) head(log logbook.Log) (Head, error) {
	raw := v.tx.Bucket(bucketHeads).Get(logKey(log))
	if raw == nil {
		return Head{Chain: logbook.Genesis(log)}, nil
	}
	return readHead(raw)
}

func (v view) Settled(log logbook.Log, writer logbook.ID) (uint64, error) {
	raw := v.tx.Bucket(bucketSettled).Get(writerKey(log, writer))
	if raw == nil {
		return 0, nil
	}
	return binary.BigEndian.Uint64(raw), nil
}

func (v view) Find(log logbook.Log, ref logbook.Ref) (judge.Verdict, error) {
	raw := v.tx.Bucket(bucketNames).Get(nameKey(log, ref))
	switch len(raw) {
	case 0:
		return judge.Verdict{}, nil
	case 8:
		order := binary.BigEndian.Uint64(raw)
		line, ok := v.line(log, order)
		if !ok {
			return judge.Verdict{}, fmt.Errorf("line %d of logbook %c:%s is named but not there", order, log.Class, log.ID)
		}
		receipt, err := logbook.DecodeReceipt(line.Receipt)
		if err != nil {
			return judge.Verdict{}, err
		}
		return judge.Verdict{What: judge.Kept, Sum: logbook.EntrySum(line.Entry), Receipt: receipt,
			Coded: append([]byte(nil), line.Receipt...), Chain: line.Chain}, nil
	}
	return v.FindAside(logbook.Hash(raw))
}

// entry is the kept entry of a name.
func (v view) entry(log logbook.Log, ref logbook.Ref) (logbook.Entry, bool, error) {
	raw := v.tx.Bucket(bucketNames).Get(nameKey(log, ref))
	if len(raw) != 8 {
		return logbook.Entry{}, false, nil
	}
	line, ok := v.line(log, binary.BigEndian.Uint64(raw))
	if !ok {
		return logbook.Entry{}, false, nil
	}
	e, err := logbook.Decode(line.Entry)
	return e, err == nil, err
}

// FindAside implements judge.Ledger.
func (v view) FindAside(sum logbook.Hash) (judge.Verdict, error) {
	raw := v.tx.Bucket(bucketAside).Get(sum[:])
	if raw == nil {
		return judge.Verdict{}, nil
	}
	a, err := readAside(raw)
	return judge.Verdict{What: judge.Aside, Sum: sum, Code: a.Code, Reason: a.Reason}, err
}

// Again implements judge.Ledger.
func (v view) Again(sum logbook.Hash) (bool, error) {
	return v.tx.Bucket(bucketAgain).Get(sum[:]) != nil, nil
}

// Carries implements session.Store: the shop's logbook; the jobs that are not
// handed over, and for carriedFor those that are, so that every phone learns
// of it; the places' as far back as the oldest open job began and at least
// carriedFor.
func (st *Store) Carries() ([]session.Carried, error) {
	cutoff := st.now().Add(-carriedFor).UnixMilli()
	since, heads := st.since(cutoff), st.Heads()

	out := []session.Carried{{Log: st.shop}}
	err := st.read(func(v view) error {
		for log, h := range heads {
			switch log.Class {
			case 'j':
				if h.Closed == (logbook.Ref{}) || h.ClosedAt > cutoff {
					out = append(out, session.Carried{Log: log})
				}
			case 'p':
				from, err := v.orderBefore(log, h.Order, since)
				if err != nil {
					return err
				}
				out = append(out, session.Carried{Log: log, From: from})
			}
		}
		return nil
	})
	return out, err
}

// since is a moment, or the earlier one at which the oldest open job began. ms.
func (st *Store) since(ms int64) int64 {
	st.mu.RLock()
	defer st.mu.RUnlock()
	for _, began := range st.began {
		ms = min(ms, began)
	}
	return ms
}

// carriedFor is how long phones carry what is over (see Carries).
const carriedFor = 14 * 24 * time.Hour

// orderBefore is the last order of a logbook whose line arrived before a
// moment; arrivals only go up, so it is found by halving.
func (v view) orderBefore(log logbook.Log, head uint64, ms int64) (uint64, error) {
	lo, hi := uint64(0), head
	for lo < hi {
		mid := lo + (hi-lo+1)/2
		line, ok := v.line(log, mid)
		if !ok {
			return 0, fmt.Errorf("line %d of logbook %c:%s is missing", mid, log.Class, log.ID)
		}
		receipt, err := logbook.DecodeReceipt(line.Receipt)
		if err != nil {
			return 0, err
		}
		if receipt.Arrived < ms {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	return lo, nil
}

// beginning is a time before a job's first line was written: the earliest that
// its receipt vouches for, or two weeks before it arrived.
func beginning(receipt []byte) int64 {
	r, err := logbook.DecodeReceipt(receipt)
	if err != nil {
		return 0
	}
	return max(r.Earliest, r.First()-carriedFor.Milliseconds())
}

// SetAside is something that no logbook took.
type SetAside struct {
	At     int64 // ms, when it arrived
	Code   judge.Code
	Reason string
	Bytes  []byte       // none where they were erased
	Device logbook.ID   // that brought it; zero if none did
	Sum    logbook.Hash // of the bytes

	Stands bool // in its logbook by now: adopted, or written again
}

func (a SetAside) append(b []byte) []byte {
	n := 4
	if !a.Device.IsZero() {
		n++
	}
	b = cbor.AppendArray(b, n)
	b = cbor.AppendInt(b, a.At)
	b = cbor.AppendUint(b, uint64(a.Code))
	b = cbor.AppendText(b, a.Reason)
	b = cbor.AppendBytes(b, a.Bytes)
	if n > 4 {
		b = cbor.AppendBytes(b, a.Device[:])
	}
	return b
}

func readAside(b []byte) (SetAside, error) {
	r := cbor.NewReader(b)
	n := r.Array()
	if n != 4 && n != 5 {
		r.Fail("what was set aside has 4 or 5 fields")
	}
	a := SetAside{At: r.Int(), Code: judge.Code(r.Uint()), Reason: r.Text(), Bytes: r.Bytes()}
	if n == 5 {
		if a.Device = logbook.ReadID(r); a.Device.IsZero() {
			r.Fail("no device is written as none")
		}
	}
	return a, r.Close()
}

// Aside lists what was set aside.
func (st *Store) Aside() (out []SetAside, err error) {
	err = st.read(func(v view) error {
		return v.tx.Bucket(bucketAside).ForEach(func(sum, raw []byte) error {
			a, err := readAside(append([]byte(nil), raw...))
			if a.Sum = [32]byte(sum); len(a.Bytes) == 0 {
				a.Reason += " (erased)"
			}
			if e, err := logbook.Decode(a.Bytes); err == nil {
				a.Stands = a.Code == judge.Twice || v.tx.Bucket(bucketAgain).Get(first(&e, a.Bytes)) != nil
			}
			out = append(out, a)
			return err
		})
	})
	return out, err
}
