package server

import (
	"crypto/ed25519"
	"errors"

	bolt "go.etcd.io/bbolt"

	"bayhold/sync/logbook"
)

// seal is the key with which the shop signs the heads of its logbooks, so that
// phones can prove later what it had (see package session). It is made with the
// store and goes wherever the store is copied to.
type seal struct{ key ed25519.PrivateKey }

var keySeal = []byte("seal")

// makeSeal gives a store its key, if it has none.
func makeSeal(meta *bolt.Bucket) error {
	if meta.Get(keySeal) != nil {
		return nil
	}
	_, key, err := ed25519.GenerateKey(nil) // from crypto/rand
	if err != nil {
		return err
	}
	return meta.Put(keySeal, key)
}

func readSeal(meta *bolt.Bucket) (seal, error) {
	key := meta.Get(keySeal)
	if key == nil {
		return seal{}, nil // of an older version, opened to be read only
	}
	if len(key) != ed25519.PrivateKeySize {
		return seal{}, errors.New("its key has another length")
	}
	return seal{ed25519.NewKeyFromSeed(key[:ed25519.SeedSize])}, nil
}

// signed is the last head of a logbook that was signed: every phone that keeps
// up asks for the same.
type signed struct {
	at        logbook.Cursor
	signature []byte
}

// Sign implements session.Store.
func (st *Store) Sign(log logbook.Log, at logbook.Cursor) []byte {
	st.mu.RLock()
	last := st.signed[log]
	st.mu.RUnlock()
	if last.at == at {
		return last.signature
	}
	signature := ed25519.Sign(st.seal.key, at.Head(log))
	st.mu.Lock()
	if st.signed[log].at.Order <= at.Order {
		st.signed[log] = signed{at, signature}
	}
	st.mu.Unlock()
	return signature
}

// Signed implements session.Store.
func (st *Store) Signed(log logbook.Log, at logbook.Cursor, signature []byte) bool {
	return len(signature) == ed25519.SignatureSize && ed25519.Verify(st.Key(), at.Head(log), signature)
}

// Key implements session.Store.
func (st *Store) Key() []byte { return st.seal.key.Public().(ed25519.PublicKey) }
