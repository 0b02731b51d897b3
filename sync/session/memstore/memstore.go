// Package memstore is a shop's store in memory for tests: it keeps what
// session.Store and judge.Ledger promise, and it can lose power.
//
// Write judges a batch and writes it; Sync is the fsync. Sessions read what is
// synced, the judge what is written. Crash loses what was written and not
// synced; Restore goes back to an earlier moment, as a backup does, and begins
// a new epoch.
package memstore

import (
	"crypto/ed25519"
	"maps"
	"slices"

	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// Store is the store. The zero Store is not ready; New makes one.
type Store struct {
	journal []record
	synced  int
	epoch   uint64
	from    map[logbook.Log]uint64 // see CarryFrom
	key     ed25519.PrivateKey

	signed map[logbook.Log]signed

	written, disk *state // the fold of the whole journal, and of its synced part
}

// signed is a head and what was signed of it.
type signed struct {
	at        logbook.Cursor
	signature []byte
}

// record is one fresh verdict and what it is about.
type record struct {
	sub judge.Submission
	v   judge.Verdict
}

// state is the fold of the journal: what bbolt's buckets hold.
type state struct {
	logs    map[logbook.Log][]stored
	settled map[writer]uint64
	named   map[session.Name]judge.Verdict
	aside   map[logbook.Hash]judge.Verdict
	again   map[logbook.Hash]bool
}

type stored struct {
	line  session.Stored
	epoch uint64
	chain logbook.Hash
}

type writer struct {
	log logbook.Log
	id  logbook.ID
}

// New is an empty store of epoch 1. Its key is that of a seed of zeros, so that
// what it signs is the same in every run.
func New() *Store {
	return &Store{epoch: 1, from: map[logbook.Log]uint64{}, signed: map[logbook.Log]signed{}, key: ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize)), written: newState(), disk: newState()}
}

func newState() *state {
	return &state{map[logbook.Log][]stored{}, map[writer]uint64{}, map[session.Name]judge.Verdict{}, map[logbook.Hash]judge.Verdict{}, map[logbook.Hash]bool{}}
}

// Write judges a batch on what is written and writes what is fresh.
func (s *Store) Write(batch []judge.Submission, policy func(*judge.Submission) string) ([]judge.Verdict, error) {
	verdicts, err := judge.Judge(ledger{s}, batch, policy)
	if err != nil {
		return nil, err
	}
	for i, v := range verdicts {
		if v.Fresh {
			s.journal = append(s.journal, record{batch[i], v})
			s.written.apply(batch[i], v)
		}
	}
	return verdicts, nil
}

// Sync makes durable what is written.
func (s *Store) Sync() {
	for _, r := range s.journal[s.synced:] {
		s.disk.apply(r.sub, r.v)
	}
	s.synced = len(s.journal)
}

// Crash loses what is not synced and answers how many records that were.
func (s *Store) Crash() int {
	lost := len(s.journal) - s.synced
	s.journal = s.journal[:s.synced]
	s.written = s.disk.clone()
	return lost
}

// Backup is a moment to go back to.
func (s *Store) Backup() int { return s.synced }

// Restore goes back to a Backup and begins a new epoch.
func (s *Store) Restore(backup int) {
	s.epoch++
	s.journal, s.synced = s.journal[:backup], backup
	s.disk = fold(s.journal)
	s.written = s.disk.clone()
}

func fold(journal []record) *state {
	st := newState()
	for _, r := range journal {
		st.apply(r.sub, r.v)
	}
	return st
}

func (st *state) clone() *state {
	c := &state{maps.Clone(st.logs), maps.Clone(st.settled), maps.Clone(st.named), maps.Clone(st.aside), maps.Clone(st.again)}
	for l, lines := range c.logs {
		c.logs[l] = slices.Clip(lines) // what is added to one is not written into the other
	}
	return c
}

func (st *state) apply(sub judge.Submission, v judge.Verdict) {
	e := &sub.Entry
	named := sub.Refusal == "" && (v.What == judge.Kept || v.Code.Named())
	if v.What == judge.Kept {
		st.logs[e.Log] = append(st.logs[e.Log], stored{session.Stored{Order: v.Receipt.Order, Entry: sub.Bytes, Receipt: v.Coded}, v.Receipt.Epoch, v.Chain})
		if e.Origin.Seq > 0 {
			st.again[e.Origin.Sum] = true
		}
	} else {
		st.aside[v.Sum] = v
	}
	if named {
		w := writer{e.Log, e.Writer}
		st.settled[w] = max(st.settled[w], e.Seq)
		st.named[session.Name{Log: e.Log, Ref: e.Ref()}] = v
	}
}

func (st *state) head(l logbook.Log) (uint64, logbook.Hash) {
	lines := st.logs[l]
	if len(lines) == 0 {
		return 0, logbook.Genesis(l)
	}
	return uint64(len(lines)), lines[len(lines)-1].chain
}

// ledger is the written state as the judge reads it.
type ledger struct{ *Store }

func (s ledger) Epoch() uint64 { return s.epoch }

func (s ledger) Head(l logbook.Log) (uint64, logbook.Hash, error) {
	order, chain := s.written.head(l)
	return order, chain, nil
}

func (s ledger) Settled(l logbook.Log, id logbook.ID) (uint64, error) {
	return s.written.settled[writer{l, id}], nil
}

func (s ledger) Find(l logbook.Log, ref logbook.Ref) (judge.Verdict, error) {
	return s.written.named[session.Name{Log: l, Ref: ref}], nil
}

func (s ledger) FindAside(sum logbook.Hash) (judge.Verdict, error) { return s.written.aside[sum], nil }

func (s ledger) Again(sum logbook.Hash) (bool, error) { return s.written.again[sum], nil }

// Epoch is the store's.
func (s *Store) Epoch() uint64 { return s.epoch }

// CarryFrom has phones carry a logbook from behind an order on.
func (s *Store) CarryFrom(l logbook.Log, order uint64) { s.from[l] = order }

// Carries lists every logbook that has a line.
func (s *Store) Carries() ([]session.Carried, error) {
	var out []session.Carried
	for l := range s.disk.logs {
		out = append(out, session.Carried{Log: l, From: s.from[l]})
	}
	slices.SortFunc(out, func(a, b session.Carried) int { return a.Log.Compare(b.Log) })
	return out, nil
}

// After lists synced lines behind an order.
func (s *Store) After(l logbook.Log, order uint64, n, size int) (out []session.Stored, err error) {
	lines := s.disk.logs[l]
	for _, line := range lines[min(order, uint64(len(lines))):] {
		if len(out) == n || size <= 0 {
			break
		}
		size -= len(line.line.Entry)
		out = append(out, line.line)
	}
	return out, nil
}

// Shared shares nothing.
func (s *Store) Shared(_ logbook.Log, _ uint64, make func() (*session.Batch, error)) (*session.Batch, error) {
	return make()
}

// Chain is the hash after the synced line of this order.
func (s *Store) Chain(l logbook.Log, order uint64) (uint64, logbook.Hash, bool, error) {
	lines := s.disk.logs[l]
	if order == 0 {
		return 0, logbook.Genesis(l), true, nil
	}
	if order > uint64(len(lines)) {
		return 0, logbook.Hash{}, false, nil
	}
	return lines[order-1].epoch, lines[order-1].chain, true, nil
}

// Sign signs a head. Every phone asks for the same one, so the last is kept.
func (s *Store) Sign(l logbook.Log, at logbook.Cursor) []byte {
	if last, ok := s.signed[l]; ok && last.at == at {
		return last.signature
	}
	signature := ed25519.Sign(s.key, at.Head(l))
	s.signed[l] = signed{at, signature}
	return signature
}

// Signed says whether a head was signed by this store.
func (s *Store) Signed(l logbook.Log, at logbook.Cursor, signature []byte) bool {
	return len(signature) == ed25519.SignatureSize && ed25519.Verify(ed25519.PublicKey(s.Key()), at.Head(l), signature)
}

// Key is the public half of the key that signs.
func (s *Store) Key() []byte { return s.key.Public().(ed25519.PublicKey) }

// Settled is the highest synced seq of a writer.
func (s *Store) Settled(l logbook.Log, id logbook.ID) (uint64, error) {
	return s.disk.settled[writer{l, id}], nil
}

// IsAside says whether a line with this hash was set aside.
func (s *Store) IsAside(sum logbook.Hash) bool { return s.disk.aside[sum].What != 0 }

// Find is what became of the line of this name.
func (s *Store) Find(l logbook.Log, ref logbook.Ref) (judge.Verdict, error) {
	return s.disk.named[session.Name{Log: l, Ref: ref}], nil
}
