package server

import (
	"cmp"
	"context"
	"encoding/binary"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"time"

	bolt "go.etcd.io/bbolt"

	"bayhold/checklist"
	"bayhold/checklist/air"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// A window is ten minutes of one instrument. It holds its start not and its
// end: a sample at 08:10:00 says how the ten minutes before it were, and a
// logger that samples every ten minutes on the dot gives one to each window.
const (
	windowSpan  = 10 * 60 * 1000           // ms
	windowGrace = 30 * 1000                // ms that a sample may be under way
	windowKept  = 31 * 24 * 60 * 60 * 1000 // ms; a day more than samples are taken, to know them again
)

func windowStart(at int64) int64 { return (at - 1) - (at-1)%windowSpan }

// windowKey names a window.
type windowKey struct {
	start      int64
	place      logbook.ID
	instrument string
}

func (k windowKey) bytes() []byte {
	b := binary.BigEndian.AppendUint64(nil, uint64(k.start))
	b = append(b, k.place[:]...)
	return append(b, k.instrument...)
}

func windowOf(b []byte) windowKey {
	return windowKey{int64(binary.BigEndian.Uint64(b)), logbook.ID(b[8:24]), string(b[24:])}
}

// point is a sample in its window.
type point struct {
	at      int64
	air, rh int32 // 0 and 0: surfaces alone
}

func (p point) climate() bool { return p.rh != 0 } // a humidity of 0 is refused at the door

// window is what the store keeps of one: its samples in the order they came,
// of which the first closed ones have gone into a line.
type window struct {
	closed int
	points []point
}

func (w window) append(b []byte, start int64) []byte {
	b = cbor.AppendArray(b, 1+len(w.points))
	b = cbor.AppendUint(b, uint64(w.closed))
	for _, p := range w.points {
		b = cbor.AppendArray(b, 3)
		b = cbor.AppendInt(b, p.at-start)
		b = cbor.AppendInt(b, int64(p.air))
		b = cbor.AppendInt(b, int64(p.rh))
	}
	return b
}

func readWindow(raw []byte, start int64) (window, error) {
	if raw == nil {
		return window{}, nil
	}
	r := cbor.NewReader(raw)
	n := r.Array() - 1
	closed := r.Uint()
	if r.Err() == nil && (n < 0 || closed > uint64(n)) {
		r.Fail("more samples are closed than there are")
	}
	w := window{closed: int(closed)}
	for ; n > 0 && r.Err() == nil; n-- {
		if r.Array() != 3 {
			r.Fail("a sample has 3 numbers")
		}
		at, air, rh := r.Int(), r.Int(), r.Int()
		if air != int64(int32(air)) || rh != int64(int32(rh)) {
			r.Fail("a sample beyond 32 bits")
		}
		w.points = append(w.points, point{start + at, int32(air), int32(rh)})
	}
	if err := r.Close(); err != nil {
		return window{}, err
	}
	return w, nil
}

// addSample puts a sample into its window; fresh is false if it was there.
func (b *batch) addSample(key windowKey, smp sample) (fresh bool, err error) {
	bucket := b.tx.Bucket(bucketClimate)
	w, err := readWindow(bucket.Get(key.bytes()), key.start)
	if err != nil {
		return false, fmt.Errorf("samples of %s: %w", key.instrument, err)
	}
	for _, p := range w.points {
		if p.at == smp.at {
			return false, nil
		}
	}
	w.points = append(w.points, point{smp.at, smp.air, smp.rh})
	return true, bucket.Put(key.bytes(), w.append(nil, key.start))
}

// closeWindow writes the line of a window's samples that are in no line yet.
// A sample that comes after its window was closed makes a second line for it;
// gates take the worse of both.
func (p *pen) closeWindow(key windowKey) error {
	bucket := p.tx.Bucket(bucketClimate)
	w, err := readWindow(bucket.Get(key.bytes()), key.start)
	if err != nil {
		return fmt.Errorf("samples of %s: %w", key.instrument, err)
	}
	var points []point
	for _, pt := range w.points[w.closed:] {
		if pt.climate() {
			points = append(points, pt)
		}
	}
	w.closed = len(w.points)
	if err := bucket.Put(key.bytes(), w.append(nil, key.start)); err != nil {
		return err
	}
	if len(points) == 0 {
		return nil
	}
	return p.write(placeLog(key.place), blockOf(key.instrument, points))
}

// blockOf sums up samples. The dew point is that of each sample, so that its
// most is the worst moment, not the warmest air with the dampest.
func blockOf(instrument string, points []point) checklist.ClimateBlock {
	points = slices.SortedFunc(slices.Values(points), func(a, b point) int { return cmp.Compare(a.at, b.at) })
	c := checklist.ClimateBlock{Instrument: instrument, From: points[0].at, To: points[len(points)-1].at, N: int64(len(points))}
	if c.From == c.To {
		c.From-- // one sample is a moment, and a block spans something
	}
	for i, p := range points {
		dew, _ := air.DewPointMilli(p.air, p.rh) // in range: sample.go refused the rest
		for _, v := range []struct {
			r     *checklist.Range
			value int32
		}{{&c.Air, p.air}, {&c.RH, p.rh}, {&c.Dew, dew}} {
			if i == 0 {
				v.r.Least, v.r.Most = v.value, v.value
			}
			v.r.Least, v.r.Most, v.r.Last = min(v.r.Least, v.value), max(v.r.Most, v.value), v.value
		}
	}
	return c
}

// windows knows which have samples that are in no line yet, and closes them
// when their time is over.
type windows struct {
	writer *writer
	log    *slog.Logger

	mu      sync.Mutex
	waiting map[windowKey]struct{}
}

// newWindows finds what a stopped server left open.
func newWindows(store *Store, writer *writer, log *slog.Logger) (*windows, error) {
	ws := &windows{writer: writer, log: log, waiting: map[windowKey]struct{}{}}
	err := store.read(func(v view) error {
		return v.tx.Bucket(bucketClimate).ForEach(func(k, raw []byte) error {
			key := windowOf(k)
			w, err := readWindow(raw, key.start)
			if err == nil && w.closed < len(w.points) {
				ws.waiting[key] = struct{}{}
			}
			return err
		})
	})
	return ws, err
}

func (ws *windows) open(key windowKey) {
	ws.mu.Lock()
	defer ws.mu.Unlock()
	ws.waiting[key] = struct{}{}
}

// due takes the windows that are over.
func (ws *windows) due(now int64) (keys []windowKey) {
	ws.mu.Lock()
	defer ws.mu.Unlock()
	for key := range ws.waiting {
		if key.start+windowSpan+windowGrace <= now {
			keys = append(keys, key)
			delete(ws.waiting, key)
		}
	}
	slices.SortFunc(keys, func(a, b windowKey) int { return cmp.Compare(a.start, b.start) })
	return keys
}

// close writes the lines of what is due at now.
func (ws *windows) close(ctx context.Context, now int64) error {
	keys := ws.due(now)
	if len(keys) == 0 {
		return nil
	}
	err := ws.writer.do(ctx, func(p *pen) error {
		for _, key := range keys {
			if err := p.closeWindow(key); err != nil {
				return err
			}
		}
		return p.forgetWindows(now - windowKept)
	})
	if err != nil {
		for _, key := range keys {
			ws.open(key) // try again; nothing of it is on disk, or it finds nothing to do
		}
	}
	return err
}

// forgetWindows deletes windows that started before ms.
func (b *batch) forgetWindows(ms int64) error {
	return deleteBefore(b.tx.Bucket(bucketClimate), be64(uint64(ms)))
}

func deleteBefore(b *bolt.Bucket, end []byte) error {
	c := b.Cursor()
	for k, _ := c.First(); k != nil && string(k) < string(end); k, _ = c.First() {
		if err := c.Delete(); err != nil {
			return err
		}
	}
	return nil
}

// run closes windows as they end, until ctx ends.
func (ws *windows) run(ctx context.Context, clock func() int64) {
	tick := time.NewTicker(5 * time.Second)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			if err := ws.close(ctx, clock()); err != nil && ctx.Err() == nil {
				ws.log.Error("Climate cannot be written: {err}. What loggers sent is tried again.", "err", err)
			}
		case <-ctx.Done():
			return
		}
	}
}
