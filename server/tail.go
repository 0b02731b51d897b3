package server

import (
	"sync"

	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// Phones that keep up stand at the same line, so each new one is asked for by
// all of them, one after the other. What the first was answered is kept for the
// rest: of each logbook its tail, if it is short.
//
// A tail is out of date for a moment at most: adopt takes it away and then pokes
// everyone, and who was given an old one looks again.
type tails struct {
	mu    sync.RWMutex
	grown uint64 // how often adopt was called
	of    map[logbook.Log]tail
}

// tail is an answer of After, and what Chain answers for its last line.
type tail struct {
	asked asked
	lines []session.Stored // sessions share them, and nobody changes them
	epoch uint64
	chain logbook.Hash
}

type asked struct {
	order   uint64
	n, size int
}

// end is the order of the tail's last line.
func (t *tail) end() uint64 { return t.asked.order + uint64(len(t.lines)) }

const (
	maxTail  = 16 << 10 // bytes of entries
	maxTails = 64
)

// get is the tail of a logbook, if one is kept, and how often the store had
// grown then.
func (t *tails) get(log logbook.Log) (tail, uint64) {
	t.mu.RLock()
	defer t.mu.RUnlock()
	return t.of[log], t.grown
}

// keep keeps a tail that was read when the store had grown so often; after it
// has grown again the tail may lack lines that others have been told of.
func (t *tails) keep(log logbook.Log, kept tail, grown uint64) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if grown != t.grown {
		return
	}
	if t.of == nil || len(t.of) >= maxTails {
		t.of = map[logbook.Log]tail{}
	}
	t.of[log] = kept
}

// forget drops the tails of logbooks that have grown.
func (t *tails) forget(heads map[logbook.Log]Head) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.grown++
	for log := range heads {
		delete(t.of, log)
	}
}

// After implements session.Store.
func (st *Store) After(log logbook.Log, order uint64, n, size int) ([]session.Stored, error) {
	ask := asked{order, n, size}
	t, grown := st.tails.get(log)
	if len(t.lines) > 0 && t.asked == ask {
		return t.lines, nil
	}
	lines, chain, err := st.after(log, order, n, size)
	if err != nil || len(lines) == 0 {
		return lines, err
	}
	bytes := 0
	for _, l := range lines {
		bytes += len(l.Entry)
	}
	if bytes > maxTail {
		return lines, nil
	}
	receipt, err := logbook.DecodeReceipt(lines[len(lines)-1].Receipt)
	if err != nil {
		return nil, err
	}
	st.tails.keep(log, tail{ask, lines, receipt.Epoch, chain}, grown)
	return lines, nil
}
