package server

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// Erasing is what follows from a line checklist.Forget, in two steps.
//
// In the transaction that keeps it, what is left takes the place of each entry
// that it names, the words that its job is found by are looked up no more, what
// was set aside of that logbook loses its bytes, and its photos are noted as
// erased: they are not taken again (photos.go).
//
// Behind it the disk is cleaned: photos are deleted, and the pages of the store's
// file that the old bytes lay on are written over. bbolt uses pages again and
// clears none, so until then they could be read from the file. "scrub" in the
// bucket meta says that this is still to do; a server that was stopped goes on
// with it at its next start.

var (
	bucketErased = []byte("erased")
	bucketScrub  = []byte("scrub")
	keyScrub     = []byte("scrub")
)

// forgets reads what a line names as erased; ok is false for every other line.
func forgets(e *logbook.Entry) (f checklist.Forget, ok bool) {
	if e.Kind != f.Kind() {
		return f, false
	}
	body, err := line.Decode(e.Kind, e.Body)
	if err == nil {
		f, ok = body.(checklist.Forget)
	}
	return f, ok
}

// forget erases what a line names, as far as it is here. What is not what the
// line says stays as it is, and Report tells of it.
func (b *batch) forget(log logbook.Log, f checklist.Forget) error {
	b.forgot = true
	found := b.tx.Bucket(bucketFound)
	var words [][]byte
	old := func(l record, e *logbook.Entry) error {
		r, err := logbook.DecodeReceipt(l.Receipt)
		words = append(words, foundKeys(e, r)...)
		return err
	}
	err := b.eachOf(log, old)
	for _, k := range words {
		err = errors.Join(err, found.Delete(k))
	}
	if err != nil {
		return err
	}
	lines, err := b.bucket(log)
	if err != nil {
		return err
	}
	for i := range f.Lines() {
		key := b.tx.Bucket(bucketNames).Get(nameKey(log, logbook.Ref{Writer: logbook.ID(f.Writers[i]), Seq: uint64(f.Seqs[i])}))
		if len(key) != 8 {
			continue
		}
		key = bytes.Clone(key)
		l, err := readLine(lines.Get(key))
		if err != nil {
			return err
		}
		if hexOf(logbook.EntrySum(l.Entry)) != f.Sums[i] {
			continue
		}
		l.Entry = line.Erase(l.Entry, f.Gone[i])
		if err := lines.Put(key, l.append(nil)); err != nil {
			return err
		}
	}
	err = b.eachOf(log, func(l record, e *logbook.Entry) error {
		r, err := logbook.DecodeReceipt(l.Receipt)
		if err != nil {
			return err
		}
		return find(found, e, r)
	})
	if err != nil {
		return err
	}
	for _, sha := range f.Photos {
		if key, err := hex.DecodeString(sha); err == nil && isSHA256(sha) {
			if err := b.tx.Bucket(bucketErased).Put(key, logKey(log)); err != nil {
				return err
			}
		}
	}
	return errors.Join(b.forgetAside(log), b.tx.Bucket(bucketMeta).Put(keyScrub, []byte{1}))
}

// forgetAside takes the bytes from what was set aside of a job, or of the crew.
// Its hash, and why, stay.
func (b *batch) forgetAside(log logbook.Log) error {
	aside := b.tx.Bucket(bucketAside)
	left := map[string][]byte{}
	err := aside.ForEach(func(k, raw []byte) error {
		a, err := readAside(raw)
		if err != nil {
			return err
		}
		e, err := logbook.Decode(a.Bytes)
		if err != nil || e.Log != log || log.Class != checklist.JobLog && e.Kind != (checklist.PersonAdd{}).Kind() {
			return nil
		}
		a.Bytes = nil
		left[string(k)] = a.append(nil)
		return nil
	})
	for k, a := range left {
		err = errors.Join(err, aside.Put([]byte(k), a))
	}
	return err
}

// erased says whether a photo or spoken note was erased.
func (v view) erased(sha string) bool {
	b, key := v.tx.Bucket(bucketErased), []byte(nil)
	if b != nil {
		key, _ = hex.DecodeString(sha)
	}
	return len(key) > 0 && b.Get(key) != nil
}

// Erased says whether a photo or spoken note was erased.
func (st *Store) Erased(sha string) (is bool) {
	st.read(func(v view) error { is = v.erased(sha); return nil })
	return is
}

// sweep deletes the photos in a folder that were erased, pieces too.
func (st *Store) sweep(dir string) error {
	var gone []string
	for _, in := range []string{dir, filepath.Join(dir, "partial")} {
		err := eachFile(in, func(name, path string) error {
			if isSHA256(name) && st.Erased(name) {
				gone = append(gone, path)
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	for _, path := range gone {
		if err := os.Remove(path); err != nil && !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	if len(gone) == 0 {
		return nil
	}
	return syncDir(dir)
}

// reset makes the next question read everything anew.
func (p *past) reset() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.shop, p.fold, p.read, p.of = nil, checklist.NewShop(), 0, map[logbook.ID]told{}
}

// cleaner cleans the disk after every erasure, and after one that an earlier run
// did not come to the end of.
func (s *Server) cleaner(ctx context.Context) {
	if s.store.read(func(v view) error {
		if v.tx.Bucket(bucketMeta).Get(keyScrub) != nil {
			return errScrub
		}
		return nil
	}) == nil {
		select {
		case <-s.writer.forgot:
		case <-ctx.Done():
			return
		}
	}
	for {
		if err := s.clean(ctx); err != nil && ctx.Err() == nil {
			s.log.Error("What was erased is not gone from the disk yet: {err}. It is tried again at the next start.", "err", err)
		}
		select {
		case <-s.writer.forgot:
		case <-ctx.Done():
			return
		}
	}
}

// errScrub says that the disk is still to be cleaned.
var errScrub = errors.New("still to be cleaned")

// clean does what is to do on the disk after something was erased. It returns
// when it is done.
func (s *Server) clean(ctx context.Context) error {
	s.cleaning.Lock()
	defer s.cleaning.Unlock()
	s.over.reset()
	s.past.reset()
	if err := s.store.sweep(s.photos.dir); err != nil {
		return fmt.Errorf("deleting erased photos: %w", err)
	}
	var w scrubbing
	for w.waits < scrubWaits {
		var next scrubbing
		done := false
		err := s.writer.do(ctx, func(p *pen) (err error) {
			next = w // this may run again
			done, err = p.scrub(&next)
			return err
		})
		if err != nil || done {
			return err
		}
		waits := w.waits
		if w = next; w.waits == waits {
			continue
		}
		select { // what is left is held by somebody who reads
		case <-time.After(scrubWait):
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return errors.New("somebody reads the store for long: what was erased still stands in unused parts of its file, until the server starts again or 'bayhold compact' is run")
}

const (
	scrubWaits = 3000
	scrubWait  = 20 * time.Millisecond
	scrubMost  = 4096 // pages in one transaction
)

// scrubbing is how far the free pages of the store's file are written over.
type scrubbing struct {
	begun bool
	old   []int  // were free at the start and are not written over yet
	todo  int    // pages to write in this pass
	at    uint64 // keys used
	waits int    // passes that did not reach all, because of readers
}

// scrub writes zeros over free pages, some in a transaction: it lets bbolt take
// them for a bucket of nothing else. A page that was free and is not any more
// was written over. Pages that somebody reads from still are not given yet: they
// are for another pass. When none is left the bucket goes.
func (b *batch) scrub(s *scrubbing) (done bool, err error) {
	zeros := b.tx.Bucket(bucketScrub)
	if !s.begun {
		s.begun, s.old = true, b.freePages(nil)
	} else if s.todo == 0 {
		if s.old = b.freePages(s.old); len(s.old) > 0 {
			s.waits++
		}
	}
	if len(s.old) == 0 || s.todo == 0 && zeros != nil {
		if zeros != nil {
			err = b.tx.DeleteBucket(bucketScrub)
		}
		if len(s.old) == 0 {
			return true, errors.Join(err, b.tx.Bucket(bucketMeta).Delete(keyScrub))
		}
		return false, err
	}
	if s.todo == 0 {
		s.todo = len(b.freePages(nil))
	}
	if zeros == nil {
		if zeros, err = b.tx.CreateBucket(bucketScrub); err != nil {
			return false, err
		}
	}
	zeros.FillPercent = 1
	// Two fill a page, but for its head (16 bytes) and theirs (16 and the key).
	nothing := make([]byte, (b.tx.DB().Info().PageSize-16)/2-24)
	n := min(s.todo, scrubMost)
	for range 2*n + 8 {
		if err := zeros.Put(be64(s.at), nothing); err != nil {
			return false, err
		}
		s.at++
	}
	s.todo -= n
	return false, nil
}

// freePages is which pages of the file no line uses; of those given, if any are.
func (v view) freePages(of []int) (free []int) {
	is := func(id int) {
		if p, err := v.tx.Page(id); err == nil && p != nil && p.Type == "free" {
			free = append(free, id)
		}
	}
	if of == nil {
		for id := range int(v.tx.Size()) / v.tx.DB().Info().PageSize {
			is(id)
		}
	}
	for _, id := range of {
		is(id)
	}
	return free
}
