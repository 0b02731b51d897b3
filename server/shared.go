package server

import (
	"slices"
	"sync"

	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// Phones that keep up stand at the same line, so each new one is asked for by
// all of them, one after the other. What was made for the first goes to the
// rest as it is, packed: of each logbook the newest batches, if they are short.
//
// They are out of date for a moment at most: adopt takes them away and then
// pokes everyone, and who was given an old one looks again.
type shared struct {
	mu    sync.RWMutex
	grown uint64 // how often adopt was called
	bytes int    // of batches kept since of was empty
	of    map[logbook.Log][]sharedBatch
}

type sharedBatch struct {
	after uint64
	batch *session.Batch // nobody changes it
}

const (
	maxShared  = 16 << 10 // bytes of a batch
	maxBatches = 4        // of a logbook: who was written to while it grew stands elsewhere
	maxKept    = 4 << 20  // bytes; then it begins anew
)

// get is the batch of a logbook behind an order, nil if none is kept, and how
// often the store had grown then.
func (s *shared) get(log logbook.Log, after uint64) (*session.Batch, uint64) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	for _, b := range s.of[log] {
		if b.after == after {
			return b.batch, s.grown
		}
	}
	return nil, s.grown
}

// keep keeps a batch that was read when the store had grown so often; after it
// has grown again the batch may lack lines that others have been told of.
func (s *shared) keep(log logbook.Log, kept sharedBatch, grown uint64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if grown != s.grown {
		return
	}
	if s.bytes += len(kept.batch.Bytes); s.of == nil || s.bytes > maxKept {
		s.of, s.bytes = map[logbook.Log][]sharedBatch{}, 0
	}
	of := s.of[log]
	if len(of) >= maxBatches {
		of = slices.Delete(of, 0, 1)
	}
	s.of[log] = append(of, kept)
}

// forget drops the batches of logbooks that have grown.
func (s *shared) forget(heads map[logbook.Log]Head) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.grown++
	for log := range heads {
		delete(s.of, log)
	}
}

// Shared implements session.Store.
func (st *Store) Shared(log logbook.Log, order uint64, make func() (*session.Batch, error)) (*session.Batch, error) {
	b, grown := st.shared.get(log, order)
	if b != nil {
		return b, nil
	}
	b, err := make()
	if b == nil || err != nil || len(b.Bytes) > maxShared {
		return b, err
	}
	b.Wire = pack(b.Frame)
	st.shared.keep(log, sharedBatch{order, b}, grown)
	return b, nil
}
