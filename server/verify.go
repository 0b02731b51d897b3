package server

import (
	"bytes"
	"encoding/binary"
	"fmt"

	bolt "go.etcd.io/bbolt"

	"bayhold/sync/logbook"
)

// Verify reads the whole store and says what is wrong with it: the pages of
// the file, the order and the chain of every logbook, and every index against
// the lines that it points to.
func (st *Store) Verify() error {
	return st.db.View(func(tx *bolt.Tx) error {
		for err := range tx.Check() {
			return fmt.Errorf("the file: %w", err)
		}
		v := view{tx, st}
		named, settled := 0, map[writerOf]uint64{}
		err := tx.Bucket(bucketHeads).ForEach(func(k, _ []byte) error {
			n, err := v.verifyLog(logOf(k), settled)
			named += n
			if err != nil {
				log := logOf(k)
				return fmt.Errorf("logbook %c:%s: %w", log.Class, log.ID, err)
			}
			return nil
		})
		if err != nil {
			return err
		}
		logs := tx.Bucket(bucketLines).Stats().BucketN - 1
		if heads := tx.Bucket(bucketHeads).Stats().KeyN; heads != logs {
			return fmt.Errorf("%d logbooks have lines and %d have a head", logs, heads)
		}
		return v.verifyNames(named, settled)
	})
}

// verifyLog follows one logbook from its first line and counts its lines.
func (v view) verifyLog(log logbook.Log, settled map[writerOf]uint64) (n int, err error) {
	head, err := v.head(log)
	if err != nil {
		return 0, err
	}
	chain, order := logbook.Genesis(log), uint64(0)
	b := v.lines(log)
	if b == nil {
		return 0, fmt.Errorf("it has a head and no lines")
	}
	err = b.ForEach(func(k, raw []byte) error {
		order++
		if binary.BigEndian.Uint64(k) != order {
			return fmt.Errorf("line %d follows line %d", binary.BigEndian.Uint64(k), order-1)
		}
		l, err := readLine(raw)
		if err != nil {
			return fmt.Errorf("line %d: %w", order, err)
		}
		r, err := logbook.DecodeReceipt(l.Receipt)
		if err != nil {
			return fmt.Errorf("line %d: %w", order, err)
		}
		e, err := logbook.Decode(l.Entry)
		if err != nil {
			return fmt.Errorf("line %d: %w", order, err)
		}
		if chain = logbook.Next(chain, l.Receipt, l.Entry); chain != l.Chain || r.Order != order || e.Log != log {
			return fmt.Errorf("line %d is not the one that was chained", order)
		}
		if !bytes.Equal(v.tx.Bucket(bucketNames).Get(nameKey(log, e.Ref())), k) {
			return fmt.Errorf("line %d is not found by its name", order)
		}
		w := writerOf{log, e.Writer}
		settled[w] = max(settled[w], e.Seq)
		return nil
	})
	if err == nil && (head.Order != order || head.Chain != chain) {
		err = fmt.Errorf("its head is at %d, its last line at %d", head.Order, order)
	}
	return int(order), err
}

// verifyNames checks the names against what was counted: none too many, and
// every writer's without a gap.
func (v view) verifyNames(lines int, settled map[writerOf]uint64) error {
	kept, count := 0, map[writerOf]uint64{}
	err := v.tx.Bucket(bucketNames).ForEach(func(k, raw []byte) error {
		w := writerOf{logOf(k[:17]), logbook.ID(k[17:33])}
		seq := binary.BigEndian.Uint64(k[33:])
		if count[w]++; count[w] != seq {
			return fmt.Errorf("writer %s has seq %d after %d in %c:%s", w.writer, seq, count[w]-1, w.log.Class, w.log.ID)
		}
		settled[w] = max(settled[w], seq)
		if len(raw) == 8 {
			kept++
		} else if v.tx.Bucket(bucketAside).Get(raw) == nil {
			return fmt.Errorf("seq %d of writer %s was set aside and is gone", seq, w.writer)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if kept != lines {
		return fmt.Errorf("%d lines have %d names", lines, kept)
	}
	for w, seq := range settled {
		if got, _ := v.Settled(w.log, w.writer); got != seq {
			return fmt.Errorf("writer %s is settled to %d, its last line is %d", w.writer, got, seq)
		}
	}
	return nil
}
