package server

import (
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"runtime"
	"sync"
	"time"

	"github.com/google/uuid"
	bolt "go.etcd.io/bbolt"

	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// format is the number of the layout in the package comment.
const format = 1

var (
	bucketMeta     = []byte("meta")
	bucketLines    = []byte("lines")
	bucketHeads    = []byte("heads")
	bucketSettled  = []byte("settled")
	bucketNames    = []byte("names")
	bucketFound    = []byte("found")
	bucketAside    = []byte("aside")
	bucketAgain    = []byte("again")
	bucketClimate  = []byte("climate")
	bucketContacts = []byte("contacts")
	bucketPINs     = []byte("pins")
	bucketGrants   = []byte("grants")

	keyFormat = []byte("format")
	keyEpoch  = []byte("epoch")
	keyShop   = []byte("shop")
	keyWriter = []byte("writer")
)

// Head is how far a logbook has come.
type Head struct {
	Order    uint64
	Chain    logbook.Hash
	Closed   logbook.Ref // of a job: the line that handed it over, zero while it is open
	ClosedAt int64       // when that line arrived, ms
}

// Store is the shop's logbooks on disk. It is safe for any number of readers
// beside the one writer; what a reader sees is committed and synced.
type Store struct {
	db     *bolt.DB
	epoch  uint64
	shop   logbook.Log
	writer logbook.ID // the server's own, in this epoch
	now    func() time.Time
	seal   seal

	borrowed string // a copy that goes away with Close; see Look
	shared   shared

	mu    sync.RWMutex
	heads map[logbook.Log]Head
	began map[logbook.Log]int64 // of a job: a time before its first line

	signed map[logbook.Log]signed
}

// StoreFile is the store's name in the data folder.
const StoreFile = "store.db"

// OpenStore opens the store in a file and makes it if there is none; a new
// one's shop has the id, or one of its own if that is zero. now is the shop's
// clock. A second process that has the store open is an error after a second.
func OpenStore(path string, shop logbook.ID, now func() time.Time) (*Store, error) {
	st, err := openStore(path, false, now)
	if err != nil {
		return nil, err
	}
	if shop.IsZero() {
		shop = logbook.ID(uuid.Must(uuid.NewV7()))
	}
	err = st.db.Update(func(tx *bolt.Tx) error { return prepare(tx, shop) })
	if err == nil {
		err = st.db.View(st.load)
	}
	if err != nil {
		st.db.Close()
		return nil, fmt.Errorf("the store %s: %w", path, err)
	}
	return st, nil
}

// ReadStore opens a store that is there, to read it only.
func ReadStore(path string) (*Store, error) {
	if _, err := os.Stat(path); err != nil {
		return nil, fmt.Errorf("there is no store: %w", err)
	}
	st, err := openStore(path, true, time.Now)
	if err != nil {
		return nil, err
	}
	if err := st.db.View(st.load); err != nil {
		st.db.Close()
		return nil, fmt.Errorf("the store %s: %w", path, err)
	}
	return st, nil
}

// ErrInUse says that another process, a server as a rule, has the store open.
var ErrInUse = errors.New("in use by another bayhold")

func openStore(path string, readOnly bool, now func() time.Time) (*Store, error) {
	before, _ := os.Stat(path)
	db, err := bolt.Open(path, 0o600, &bolt.Options{
		Timeout:  time.Second,
		ReadOnly: readOnly,
		// The list of free pages is not written with every tick but found again
		// at the next start, in a time that grows with the store's pages.
		NoFreelistSync:  true,
		FreelistType:    bolt.FreelistMapType,
		InitialMmapSize: mapSize(),
		NoStatistics:    true,
	})
	if errors.Is(err, bolt.ErrTimeout) {
		return nil, fmt.Errorf("the store %s is %w", path, ErrInUse)
	}
	if err != nil {
		return nil, fmt.Errorf("opening the store %s: %w", path, err)
	}
	// While this waited for the lock a compact copy may have taken the name: what
	// was opened then is a file that nobody finds again.
	if after, err := os.Stat(path); before != nil && (err != nil || !os.SameFile(before, after)) {
		db.Close()
		return nil, fmt.Errorf("the store %s was replaced while it was opened: start again", path)
	}
	return &Store{db: db, now: now, heads: map[logbook.Log]Head{}, began: map[logbook.Log]int64{}, signed: map[logbook.Log]signed{}}, nil
}

// mapSize is the address space that the file begins with. Growing it waits for
// every reader, and a gigabyte costs nothing until it is used; but Windows
// would make the file as long.
func mapSize() int {
	if runtime.GOOS == "windows" {
		return 0
	}
	return 1 << 30
}

// prepare makes the buckets and what a store is born with.
func prepare(tx *bolt.Tx, shop logbook.ID) error {
	for _, name := range [][]byte{bucketMeta, bucketLines, bucketHeads, bucketSettled, bucketNames, bucketAside, bucketAgain, bucketClimate, bucketContacts, bucketPINs, bucketGrants, bucketErased} {
		if _, err := tx.CreateBucketIfNotExists(name); err != nil {
			return err
		}
	}
	if err := findAll(tx); err != nil {
		return err
	}
	meta := tx.Bucket(bucketMeta)
	if err := makeSeal(meta); err != nil {
		return err
	}
	if meta.Get(keyFormat) != nil {
		return nil // load judges it
	}
	return errors.Join(
		meta.Put(keyFormat, be64(format)),
		meta.Put(keyEpoch, be64(1)),
		putID(meta, keyShop, shop),
		putID(meta, keyWriter, logbook.ID(uuid.Must(uuid.NewV7()))))
}

func putID(b *bolt.Bucket, key []byte, id logbook.ID) error { return b.Put(key, id[:]) }

// load reads what is kept in memory: the store's names and every head.
func (st *Store) load(tx *bolt.Tx) error {
	meta := tx.Bucket(bucketMeta)
	if meta == nil || len(meta.Get(keyFormat)) != 8 {
		return errors.New("this is no bayhold store")
	}
	if n := binary.BigEndian.Uint64(meta.Get(keyFormat)); n != format {
		return fmt.Errorf("its format is %d, this bayhold reads %d: use the version that wrote it", n, format)
	}
	st.epoch = binary.BigEndian.Uint64(meta.Get(keyEpoch))
	st.shop = logbook.Log{Class: 's', ID: logbook.ID(meta.Get(keyShop))}
	st.writer = logbook.ID(meta.Get(keyWriter))
	var err error
	if st.seal, err = readSeal(meta); err != nil {
		return err
	}
	return tx.Bucket(bucketHeads).ForEach(func(k, v []byte) error {
		log := logOf(k)
		h, err := readHead(v)
		if err != nil {
			return fmt.Errorf("head of logbook %c:%s: %w", log.Class, log.ID, err)
		}
		st.heads[log] = h
		if log.Class == 'j' && h.Closed == (logbook.Ref{}) {
			line, ok := view{tx, st}.line(log, 1)
			if ok {
				st.began[log] = beginning(line.Receipt)
			}
		}
		return nil
	})
}

// Close waits for readers and closes the file.
func (st *Store) Close() error {
	err := st.db.Close()
	if st.borrowed != "" {
		err = errors.Join(err, os.Remove(st.borrowed))
	}
	return err
}

// Path is the store's file.
func (st *Store) Path() string { return st.db.Path() }

// Epoch goes up when a backup is restored.
func (st *Store) Epoch() uint64 { return st.epoch }

// Shop is the shop's logbook.
func (st *Store) Shop() logbook.Log { return st.shop }

// Heads is how far every logbook has come.
func (st *Store) Heads() map[logbook.Log]Head {
	st.mu.RLock()
	defer st.mu.RUnlock()
	out := make(map[logbook.Log]Head, len(st.heads))
	for l, h := range st.heads {
		out[l] = h
	}
	return out
}

// Entries is the number of lines in all logbooks.
func (st *Store) Entries() (n uint64) {
	st.mu.RLock()
	defer st.mu.RUnlock()
	for _, h := range st.heads {
		n += h.Order
	}
	return n
}

// Check reads a little of the store, to say that it can be read.
func (st *Store) Check() error {
	return st.db.View(func(tx *bolt.Tx) error {
		if v := tx.Bucket(bucketMeta).Get(keyFormat); len(v) != 8 {
			return errors.New("its format number is gone")
		}
		return nil
	})
}

// read runs f in a transaction that only reads.
func (st *Store) read(f func(view) error) error {
	return st.db.View(func(tx *bolt.Tx) error { return f(view{tx, st}) })
}

// After implements session.Store: the lines behind an order, at most n of them,
// up to the one with which their entries reach size bytes. They share one copy
// of the bytes, because those of the store last only as long as the transaction.
func (st *Store) After(log logbook.Log, order uint64, n, size int) (out []session.Stored, err error) {
	err = st.read(func(v view) error {
		b := v.lines(log)
		if b == nil {
			return nil
		}
		var lines []record
		entries, total := 0, 0
		c := b.Cursor()
		for k, raw := c.Seek(be64(order + 1)); k != nil && len(lines) < n && entries < size; k, raw = c.Next() {
			l, err := readLine(raw)
			if err != nil {
				return fmt.Errorf("line %d of logbook %c:%s: %w", binary.BigEndian.Uint64(k), log.Class, log.ID, err)
			}
			lines = append(lines, l)
			entries += len(l.Entry)
			total += len(l.Receipt) + len(l.Entry)
		}
		arena := make([]byte, 0, total)
		clone := func(b []byte) []byte {
			from := len(arena)
			arena = append(arena, b...)
			return arena[from:len(arena):len(arena)]
		}
		out = make([]session.Stored, len(lines))
		for i, l := range lines {
			out[i] = session.Stored{Order: order + 1 + uint64(i), Entry: clone(l.Entry), Receipt: clone(l.Receipt)}
		}
		return nil
	})
	return out, err
}

// Chain implements session.Store.
func (st *Store) Chain(log logbook.Log, order uint64) (epoch uint64, chain logbook.Hash, ok bool, err error) {
	if order == 0 {
		return 0, logbook.Genesis(log), true, nil
	}
	err = st.read(func(v view) error {
		line, found := v.line(log, order)
		if !found {
			return nil
		}
		receipt, err := logbook.DecodeReceipt(line.Receipt)
		if err != nil {
			return err
		}
		epoch, chain, ok = receipt.Epoch, line.Chain, true
		return nil
	})
	return epoch, chain, ok, err
}

// Settled implements session.Store.
func (st *Store) Settled(log logbook.Log, writer logbook.ID) (seq uint64, err error) {
	err = st.read(func(v view) error { seq, err = v.Settled(log, writer); return err })
	return seq, err
}

// Find implements session.Store.
func (st *Store) Find(log logbook.Log, ref logbook.Ref) (found judge.Verdict, err error) {
	err = st.read(func(v view) error { found, err = v.Find(log, ref); return err })
	return found, err
}

// record is a line as the bucket of its logbook holds it.
type record struct {
	Chain          logbook.Hash
	Receipt, Entry []byte
}

func (r record) append(b []byte) []byte {
	b = append(b, r.Chain[:]...)
	b = binary.AppendUvarint(b, uint64(len(r.Receipt)))
	b = append(b, r.Receipt...)
	return append(b, r.Entry...)
}

func readLine(b []byte) (record, error) {
	if len(b) < 33 {
		return record{}, errors.New("shorter than its chain hash")
	}
	r := record{Chain: logbook.Hash(b)}
	n, k := binary.Uvarint(b[32:])
	if k <= 0 || k > 1 && b[32+k-1] == 0 || n > uint64(len(b)-32-k) {
		return record{}, errors.New("its receipt is cut off")
	}
	b = b[32+k:]
	r.Receipt, r.Entry = b[:n:n], b[n:]
	return r, nil
}

func (h Head) append(b []byte) []byte {
	b = binary.BigEndian.AppendUint64(b, h.Order)
	b = append(b, h.Chain[:]...)
	if h.Closed != (logbook.Ref{}) {
		b = append(b, h.Closed.Writer[:]...)
		b = binary.BigEndian.AppendUint64(b, h.Closed.Seq)
		b = binary.BigEndian.AppendUint64(b, uint64(h.ClosedAt))
	}
	return b
}

func readHead(b []byte) (Head, error) {
	if len(b) != 40 && len(b) != 72 {
		return Head{}, fmt.Errorf("it has %d bytes", len(b))
	}
	h := Head{Order: binary.BigEndian.Uint64(b), Chain: logbook.Hash(b[8:])}
	if len(b) == 72 {
		h.Closed = logbook.Ref{Writer: logbook.ID(b[40:]), Seq: binary.BigEndian.Uint64(b[56:])}
		h.ClosedAt = int64(binary.BigEndian.Uint64(b[64:]))
	}
	return h, nil
}

func be64(v uint64) []byte { return binary.BigEndian.AppendUint64(nil, v) }

func logKey(l logbook.Log) []byte {
	return append(append(make([]byte, 0, 41), l.Class), l.ID[:]...)
}

func logOf(k []byte) logbook.Log { return logbook.Log{Class: k[0], ID: logbook.ID(k[1:])} }

func writerKey(l logbook.Log, w logbook.ID) []byte { return append(logKey(l), w[:]...) }

func nameKey(l logbook.Log, r logbook.Ref) []byte {
	return binary.BigEndian.AppendUint64(writerKey(l, r.Writer), r.Seq)
}
