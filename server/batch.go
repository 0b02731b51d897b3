package server

import (
	"encoding/binary"

	bolt "go.etcd.io/bbolt"

	"bayhold/checklist"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// batch is the one write transaction of a round of the writer.
type batch struct {
	view
	now int64 // ms of the shop's clock, for everything in this round

	buckets map[logbook.Log]*bolt.Bucket
	heads   map[logbook.Log]Head
	settled map[writerOf]uint64
	began   map[logbook.Log]int64     // jobs that began in this batch
	forgot  bool                      // lines were erased
	bound   map[logbook.ID]logbook.ID // names, and the phones that write under them for the first time
}

type writerOf struct {
	log    logbook.Log
	writer logbook.ID
}

func newBatch(tx *bolt.Tx, st *Store, now int64) *batch {
	return &batch{view: view{tx, st}, now: now,
		buckets: map[logbook.Log]*bolt.Bucket{}, heads: map[logbook.Log]Head{},
		settled: map[writerOf]uint64{}, began: map[logbook.Log]int64{}}
}

// store writes what was decided afresh; the bytes go in as they came.
func (b *batch) store(sub *judge.Submission, v *judge.Verdict) error {
	if !v.Fresh {
		return nil
	}
	switch v.What {
	case judge.Kept:
		return b.keep(sub, v)
	case judge.Aside:
		return b.setAside(sub, v)
	}
	return nil
}

func (b *batch) keep(sub *judge.Submission, v *judge.Verdict) error {
	e := &sub.Entry
	lines, err := b.bucket(e.Log)
	if err != nil {
		return err
	}
	key := be64(v.Receipt.Order)
	if err := lines.Put(key, record{v.Chain, v.Coded, sub.Bytes}.append(nil)); err != nil {
		return err
	}
	if err := b.tx.Bucket(bucketNames).Put(nameKey(e.Log, e.Ref()), key); err != nil {
		return err
	}
	if err := find(b.tx.Bucket(bucketFound), e, v.Receipt); err != nil {
		return err
	}
	if err := b.settle(sub); err != nil {
		return err
	}
	if e.Origin.Seq > 0 {
		if err := b.tx.Bucket(bucketAgain).Put(e.Origin.Sum[:], key); err != nil {
			return err
		}
	}

	h, ok := b.heads[e.Log]
	if !ok {
		if h, err = b.head(e.Log); err != nil {
			return err
		}
	}
	h.Order, h.Chain = v.Receipt.Order, v.Chain
	h = h.with(e, v.Receipt.Arrived)
	if e.Log.Class == checklist.JobLog && h.Order == 1 {
		b.began[e.Log] = beginning(v.Coded)
	}
	b.heads[e.Log] = h
	if f, ok := forgets(e); ok {
		return b.forget(e.Log, f)
	}
	return nil
}

// with is the head after one more line, as far as that says whether the job was
// handed over.
func (h Head) with(e *logbook.Entry, arrived int64) Head {
	if e.Log.Class != checklist.JobLog {
		return h
	}
	if e.Kind == (checklist.JobClose{}).Kind() {
		h.Closed, h.ClosedAt = e.Ref(), arrived
	}
	for _, s := range e.Strikes {
		if s == h.Closed {
			h.Closed, h.ClosedAt = logbook.Ref{}, 0
		}
	}
	return h
}

// settle counts a seq as used. Of lines that come back a later one may have been
// first.
func (b *batch) settle(sub *judge.Submission) error {
	w := writerOf{sub.Entry.Log, sub.Entry.Writer}
	seq, known := b.settled[w]
	if !known && sub.Back != nil {
		var err error
		if seq, err = b.Settled(w.log, w.writer); err != nil {
			return err
		}
	}
	b.settled[w] = max(seq, sub.Entry.Seq)
	return nil
}

// bucket is the logbook's, made with its first line. Lines come in order, so
// its pages are filled nearly whole.
func (b *batch) bucket(log logbook.Log) (*bolt.Bucket, error) {
	if got, ok := b.buckets[log]; ok {
		return got, nil
	}
	got, err := b.tx.Bucket(bucketLines).CreateBucketIfNotExists(logKey(log))
	if err != nil {
		return nil, err
	}
	got.FillPercent = 0.95
	b.buckets[log] = got
	return got, nil
}

// setAside keeps the bytes by their hash. A line that is refused or stands in
// the logbook already takes its name with it, so that its writer goes on behind
// it; a fork does not, because the name is another line's, nor what a phone
// brought back without proof.
func (b *batch) setAside(sub *judge.Submission, v *judge.Verdict) error {
	aside := b.tx.Bucket(bucketAside)
	a := SetAside{At: b.now, Code: v.Code, Reason: v.Reason, Bytes: sub.Bytes, Device: deviceOf(sub)}
	if before := aside.Get(v.Sum[:]); before != nil {
		was, err := readAside(before)
		if err != nil {
			return err
		}
		was.Code, was.Reason = v.Code, v.Reason // it took no name then, and does now
		a = was
	}
	if err := aside.Put(v.Sum[:], a.append(nil)); err != nil {
		return err
	}
	e := &sub.Entry
	if !v.Code.Named() || e.Seq == 0 {
		return nil
	}
	if err := b.settle(sub); err != nil {
		return err
	}
	return b.tx.Bucket(bucketNames).Put(nameKey(e.Log, e.Ref()), v.Sum[:])
}

// finish writes what changed with several lines once.
func (b *batch) finish() error {
	heads := b.tx.Bucket(bucketHeads)
	for log, h := range b.heads {
		if err := heads.Put(logKey(log), h.append(nil)); err != nil {
			return err
		}
	}
	settled := b.tx.Bucket(bucketSettled)
	for w, seq := range b.settled {
		if err := settled.Put(writerKey(w.log, w.writer), binary.BigEndian.AppendUint64(nil, seq)); err != nil {
			return err
		}
	}
	return nil
}

// adopt takes the batch's heads into memory once it is on disk, and answers
// which logbooks have new lines.
func (st *Store) adopt(b *batch) (grown []logbook.Log) {
	st.mu.Lock()
	defer st.mu.Unlock()
	st.shared.forget(b.heads)
	for log, h := range b.heads {
		st.heads[log] = h
		if began, ok := b.began[log]; ok {
			st.began[log] = began
		}
		if h.Closed != (logbook.Ref{}) {
			delete(st.began, log)
		}
		grown = append(grown, log)
	}
	return grown
}
