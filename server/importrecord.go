package server

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/google/uuid"
	bolt "go.etcd.io/bbolt"

	"bayhold/checklist"
	"bayhold/server/sealed"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// ImportRecord gives a store on which no server runs the logbook of a job that
// it lost, or never had, out of its sealed record: every line with the receipt
// that the shop gave it, so that the chain leads to the same head, and the
// photos beside it. What a record quotes of the shop's and the places' logbooks
// stays in the record, for a logbook has no gaps.
//
// The seal is read through first. Whose it is the caller has to know: the lines
// are not judged again. It answers how many there are, 0 if the store has them.
func ImportRecord(data, path string) (report *sealed.Report, n int, err error) {
	report, lines, err := sealed.Read(path)
	if err != nil || lines == nil {
		return report, 0, err
	}
	file := filepath.Join(data, StoreFile)
	if _, err := os.Stat(file); err != nil {
		return report, 0, fmt.Errorf("there is no store: %w", err)
	}
	st, err := OpenStore(file, logbook.ID{}, time.Now)
	if err != nil {
		return report, 0, err
	}
	defer func() { err = errors.Join(err, st.Close()) }()

	// The photos first: a line whose photo is still to come is one that a phone
	// has to send.
	photos := filepath.Join(data, photoFolder)
	if err := folder(photos); err != nil {
		return report, 0, err
	}
	err = sealed.Photos(path, func(sha string, in io.Reader) error {
		there := filepath.Join(photos, sha)
		if sum, err := fileSum(there); err == nil && sum == sha || st.Erased(sha) {
			return nil
		}
		raw, err := io.ReadAll(io.LimitReader(in, maxPhotoBytes+1))
		if err == nil && hexSum(raw) != sha {
			err = fmt.Errorf("it has more than %d MB, or another hash than its name", maxPhotoBytes>>20)
		}
		if err != nil {
			return err
		}
		return put(there, raw)
	})
	if err == nil {
		err = syncDir(photos)
	}
	if err == nil {
		n, err = st.bring(lines)
	}
	return report, n, err
}

// bring writes a whole logbook as it was kept.
func (st *Store) bring(l *sealed.Lines) (n int, err error) {
	log := logbook.Log{Class: checklist.JobLog, ID: l.Job}
	err = st.db.Update(func(tx *bolt.Tx) error {
		b := newBatch(tx, st, time.Now().UnixMilli())
		have, err := b.head(log)
		if err != nil {
			return err
		}
		epoch := st.epoch
		for i := range l.All {
			x := &l.All[i]
			if x.Log != log {
				continue
			}
			receipt, err := logbook.DecodeReceipt(x.Receipt)
			if err != nil {
				return err
			}
			if have.Order > 0 {
				if line, ok := b.line(log, receipt.Order); ok && line.Chain != x.After {
					return errors.New("this store has other lines of this job: they stay as they are")
				}
				continue
			}
			e, err := logbook.Decode(x.Entry)
			if err != nil {
				return err
			}
			epoch = max(epoch, receipt.Epoch)
			n++
			err = b.keep(&judge.Submission{Bytes: x.Entry, Entry: e}, &judge.Verdict{Receipt: receipt, Coded: x.Receipt, Chain: x.After})
			if err != nil {
				return err
			}
		}
		if epoch > st.epoch {
			// Lines of a later epoch than the store's: it goes on in theirs.
			meta := tx.Bucket(bucketMeta)
			if err := errors.Join(meta.Put(keyEpoch, binary.BigEndian.AppendUint64(nil, epoch)),
				putID(meta, keyWriter, logbook.ID(uuid.Must(uuid.NewV7())))); err != nil {
				return err
			}
		}
		return b.finish()
	})
	return n, err
}
