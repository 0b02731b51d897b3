package server

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	bolt "go.etcd.io/bbolt"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// Report is what came of reading everything.
type Report struct {
	Logbooks, Lines, Aside, Photos int

	// Awaited are photos that lines name and that have not come: some phone
	// has them still.
	Awaited int

	// Faults are sentences: what does not fit, and where.
	Faults []string
}

func (r *Report) fault(format string, args ...any) {
	r.Faults = append(r.Faults, fmt.Sprintf(format, args...))
}

// Verify is Report for callers who want everything to fit: the first fault is
// the error.
func (st *Store) Verify() error {
	r, err := st.Report()
	if err == nil && len(r.Faults) > 0 {
		err = errors.New(r.Faults[0])
	}
	return err
}

// Report reads the whole store and says everything in it that does not fit:
// the pages of the file, the form and the chain of every line, what was set
// aside, and every index against the lines that it is made of.
//
// A hash covers every byte of a line, with its receipt and its place, and the
// bytes of what was set aside. Heads, names and what else can be made again
// from the lines is made again and compared. What is left is covered by
// nothing: the reason and the time of what was set aside, climate that is not a
// block yet, the store's epoch and the server's own writer.
func (st *Store) Report() (*Report, error) {
	r := &Report{}
	err := st.db.View(func(tx *bolt.Tx) error {
		// A file whose pages do not hang together is not walked any further.
		for err := range tx.Check() {
			r.fault("the file %s: %v", StoreFile, err)
		}
		if len(r.Faults) > 0 {
			return nil
		}
		c := checker{view: view{tx, st}, Report: r, made: derived{
			names: map[string][]byte{}, settled: map[string]uint64{}, again: map[string][]byte{}, found: map[string][]byte{}, photos: map[string]bool{}},
			back: map[string]bool{}}
		return caught(c.check)
	})
	return r, err
}

// checker follows every line once and makes the indexes again as it goes.
type checker struct {
	view
	*Report
	made derived
	back map[string]bool // writers of whom phones brought lines back
}

// derived is what can be made again from the lines, by the keys of its buckets.
type derived struct {
	names   map[string][]byte // of one logbook at a time
	settled map[string]uint64
	again   map[string][]byte
	found   map[string][]byte

	left, said map[logbook.Ref][2]string // of one logbook: what was erased, its hash and that of what is left
	photos     map[string]bool           // erased, by the key of their bucket
}

func (c *checker) check() error {
	if key := c.tx.Bucket(bucketMeta).Get(keySeal); key != nil && !bytes.Equal(key, c.st.seal.key) {
		c.fault("the key that signs heads was changed")
	}
	heads := c.tx.Bucket(bucketHeads)
	err := heads.ForEach(func(k, _ []byte) error {
		if len(k) != 17 {
			c.fault("a head has the key %x, which is no logbook's", k)
			return nil
		}
		return c.log(logOf(k))
	})
	if err != nil {
		return err
	}
	err = c.tx.Bucket(bucketLines).ForEachBucket(func(k []byte) error {
		if heads.Get(k) == nil {
			c.fault("%x: lines without a head", k)
		}
		return nil
	})
	// A logbook may have names and no line: all that came was set aside.
	last := bytes.Repeat([]byte{0xff}, 25)
	names := c.tx.Bucket(bucketNames).Cursor()
	for k, _ := names.First(); len(k) >= 17 && err == nil; k, _ = names.Seek(append(bytes.Clone(k[:17]), last...)) {
		if heads.Get(k[:17]) == nil {
			clear(c.made.names)
			err = c.names(logOf(k))
		}
	}
	if err == nil {
		err = c.aside()
	}
	if err == nil {
		err = c.climate()
	}
	if err == nil {
		err = c.again()
	}
	if err == nil {
		err = c.settled()
	}
	if err == nil {
		err = c.found()
	}
	if err == nil {
		err = c.erased()
	}
	return err
}

// log follows one logbook from its first line.
func (c *checker) log(log logbook.Log) error {
	c.Logbooks++
	where := LogName(log)
	head, err := c.head(log)
	if err != nil {
		c.fault("%s: its head: %v", where, err)
	}
	b := c.lines(log)
	if b == nil {
		c.fault("%s: it has a head and no lines", where)
		return nil
	}
	clear(c.made.names)
	c.made.left, c.made.said = map[logbook.Ref][2]string{}, map[logbook.Ref][2]string{}
	made := Head{Chain: logbook.Genesis(log)}
	// Where a line and its hash do not fit one of the two was changed: the line
	// behind it fits the hash that stands there, or the one that belongs there.
	belongs, epoch := made.Chain, uint64(0)
	err = b.ForEach(func(k, raw []byte) error {
		c.Lines++
		made.Order++
		if len(k) != 8 || binary.BigEndian.Uint64(k) != made.Order {
			c.fault("%s, line %d: in its place stands the key %x", where, made.Order, k)
			if len(k) == 8 {
				made.Order = binary.BigEndian.Uint64(k)
			}
		}
		fault := func(what string) { c.fault("%s, line %d: %s", where, made.Order, what) }
		l, err := readLine(raw)
		if err != nil {
			fault(err.Error())
			if len(raw) >= 32 {
				made.Chain = logbook.Hash(raw)
				belongs = made.Chain
			}
			return nil
		}
		chained := l.Chain == logbook.Next(made.Chain, l.Receipt, l.Entry) ||
			l.Chain == logbook.Next(belongs, l.Receipt, l.Entry)
		if belongs = l.Chain; !chained {
			belongs = logbook.Next(made.Chain, l.Receipt, l.Entry)
		}
		made.Chain = l.Chain
		r, err := logbook.DecodeReceipt(l.Receipt)
		if err != nil {
			fault(err.Error())
			return nil
		}
		e, err := logbook.Decode(l.Entry)
		sum, left, erased := logbook.Split(l.Entry)
		switch {
		case err != nil:
			fault(err.Error())
			return nil
		case !chained:
			fault("it is not what was chained: its bytes or its hash were changed")
		case !bytes.Equal(e.Append(nil), left) || !bytes.Equal(r.Append(nil), l.Receipt):
			fault("it is not in the one form that a line has")
		case e.Log != log || r.Order != made.Order:
			fault("it belongs in another place")
		case r.Epoch < epoch || r.Epoch > c.st.epoch:
			fault(fmt.Sprintf("its epoch is %d, before it was %d and the store's is %d", r.Epoch, epoch, c.st.epoch))
		}
		if erased {
			c.made.left[e.Ref()] = [2]string{hexOf(sum), hexOf(logbook.Sum(left))}
		}
		if f, ok := forgets(&e); ok {
			c.forgets(log, f)
		}
		epoch = r.Epoch
		made = made.with(&e, r.Arrived)
		c.made.names[string(nameKey(log, e.Ref()))] = bytes.Clone(k)
		w := string(writerKey(log, e.Writer))
		c.made.settled[w] = max(c.made.settled[w], e.Seq)
		if r.Was != (logbook.Was{}) {
			c.back[w] = true
		}
		for _, key := range foundKeys(&e, r) {
			if !stays(key) || c.made.found[string(key)] == nil {
				c.made.found[string(key)] = bytes.Clone(k)
			}
		}
		if e.Origin.Seq > 0 {
			c.made.again[string(e.Origin.Sum[:])] = bytes.Clone(k)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if head != made {
		c.fault("%s: its head says line %d, its lines end at %d, or the hashes there or the line that closed it differ",
			where, head.Order, made.Order)
	}
	c.unsaid(log)
	return c.names(log)
}

// forgets notes what a line says was erased.
func (c *checker) forgets(log logbook.Log, f checklist.Forget) {
	for i := range f.Lines() {
		c.made.said[logbook.Ref{Writer: logbook.ID(f.Writers[i]), Seq: uint64(f.Seqs[i])}] = [2]string{f.Sums[i], f.Left[i]}
	}
	for _, sha := range f.Photos {
		if key, err := hex.DecodeString(sha); err == nil && isSHA256(sha) {
			c.made.photos[string(key)] = true
		}
	}
}

// unsaid compares what was erased of a logbook with what its lines say was.
func (c *checker) unsaid(log logbook.Log) {
	where := LogName(log)
	for ref, is := range c.made.left {
		switch said, ok := c.made.said[ref]; {
		case !ok:
			c.fault("%s: seq %d of writer %s was erased, and no line says so", where, ref.Seq, ref.Writer)
		case said != is:
			c.fault("%s: seq %d of writer %s: what is left of it is not what the line says that erased it", where, ref.Seq, ref.Writer)
		}
	}
	for ref := range c.made.said {
		if _, ok := c.made.left[ref]; !ok && len(c.tx.Bucket(bucketNames).Get(nameKey(log, ref))) == 8 {
			c.fault("%s: seq %d of writer %s is named as erased and is not", where, ref.Seq, ref.Writer)
		}
	}
}

// erased compares the photos that are not taken again with what lines say.
func (c *checker) erased() error {
	b := c.tx.Bucket(bucketErased)
	if b == nil {
		return nil // an older bayhold's
	}
	n := 0
	err := b.ForEach(func(k, _ []byte) error {
		if n++; !c.made.photos[string(k)] {
			c.fault("photo %x: it counts as erased, and no line says so", k)
		}
		return nil
	})
	if n < len(c.made.photos) {
		c.fault("lines say that %d photos were erased, %d are known", len(c.made.photos), n)
	}
	return err
}

// names compares the names of a logbook with its lines: no line without its
// name, no name without its line, every writer's without a gap. Only where a
// phone brought lines back may one be missing: what was set aside after the
// backup is known to nobody but its writer.
func (c *checker) names(log logbook.Log) error {
	where, key, count := LogName(log), logKey(log), map[string]uint64{}
	cur := c.tx.Bucket(bucketNames).Cursor()
	for k, v := cur.Seek(key); bytes.HasPrefix(k, key); k, v = cur.Next() {
		if len(k) != 41 {
			c.fault("%s: the name %x is none", where, k)
			continue
		}
		w, seq := string(k[:33]), binary.BigEndian.Uint64(k[33:])
		if count[w]++; count[w] != seq {
			if !c.back[w] {
				c.fault("%s: writer %s has seq %d after %d", where, logbook.ID(k[17:]), seq, count[w]-1)
			}
			count[w] = seq
		}
		line, ok := c.made.names[string(k)]
		switch {
		case ok && !bytes.Equal(line, v):
			c.fault("%s, line %d: seq %d of writer %s is looked for elsewhere", where, binary.BigEndian.Uint64(line), seq, logbook.ID(k[17:]))
		case !ok && c.tx.Bucket(bucketAside).Get(v) == nil:
			c.fault("%s: seq %d of writer %s is neither a line nor set aside", where, seq, logbook.ID(k[17:]))
		}
		delete(c.made.names, string(k))
		c.made.settled[w] = max(c.made.settled[w], seq)
	}
	for k, line := range c.made.names {
		c.fault("%s, line %d: it is not found by its name (seq %d of writer %s)", where,
			binary.BigEndian.Uint64(line), binary.BigEndian.Uint64([]byte(k[33:])), logbook.ID([]byte(k[17:])))
	}
	return nil
}

// aside checks what was set aside against its hash.
func (c *checker) aside() error {
	return c.tx.Bucket(bucketAside).ForEach(func(k, raw []byte) error {
		c.Aside++
		a, err := readAside(raw)
		switch sum := logbook.EntrySum(a.Bytes); {
		case err != nil:
			c.fault("set aside, %x: %v", k, err)
		case len(a.Bytes) > 0 && !bytes.Equal(sum[:], k):
			c.fault("set aside, %x: its bytes have another hash", k)
		}
		return nil
	})
}

// climate checks the form of what loggers sent; no hash covers it until it is a
// line.
func (c *checker) climate() error {
	return c.tx.Bucket(bucketClimate).ForEach(func(k, raw []byte) error {
		if len(k) < 24 {
			c.fault("samples under the key %x, which is none", k)
		} else if _, err := readWindow(raw, windowOf(k).start); err != nil {
			c.fault("place:%s, samples of %s: %v", windowOf(k).place, windowOf(k).instrument, err)
		}
		return nil
	})
}

func (c *checker) again() error {
	n := 0
	err := c.tx.Bucket(bucketAgain).ForEach(func(k, v []byte) error {
		n++
		if !bytes.Equal(c.made.again[string(k)], v) {
			c.fault("written again, %x: no line at %x says so", k, v)
		}
		return nil
	})
	if n < len(c.made.again) {
		c.fault("%d lines were written again, %d are known to be", len(c.made.again), n)
	}
	return err
}

func (c *checker) settled() error {
	n := 0
	err := c.tx.Bucket(bucketSettled).ForEach(func(k, v []byte) error {
		n++
		if len(k) != 33 || len(v) != 8 {
			c.fault("a writer is settled under %x at %x, which is no such thing", k, v)
		} else if got, want := binary.BigEndian.Uint64(v), c.made.settled[string(k)]; got != want {
			c.fault("%s: writer %s is settled to %d, its last line is %d", LogName(logOf(k[:17])), logbook.ID(k[17:]), got, want)
		}
		return nil
	})
	if n < len(c.made.settled) {
		c.fault("%d writers have lines, %d are settled", len(c.made.settled), n)
	}
	return err
}

// found compares the words that jobs are found by with what their lines say. A
// store of an older bayhold has none until a server opens it.
func (c *checker) found() error {
	words := c.tx.Bucket(bucketFound)
	if words == nil {
		return nil
	}
	n := 0
	err := words.ForEach(func(k, v []byte) error {
		n++
		if !bytes.Equal(c.made.found[string(k)], v) {
			c.fault("looking up, %q: no line at %x says so", k, v)
		}
		return nil
	})
	if n < len(c.made.found) {
		c.fault("lines say %d words that jobs are found by, %d are known", len(c.made.found), n)
	}
	return err
}

// LogName names a logbook as an export does.
func LogName(log logbook.Log) string {
	class := map[byte]string{checklist.ShopLog: "shop", checklist.PlaceLog: "place", checklist.JobLog: "job"}[log.Class]
	if class == "" {
		class = string(log.Class)
	}
	return class + ":" + log.ID.String()
}

// ReportPhotos reads every photo beside the store in the folder dir and adds
// to the report which does not have the hash that is its name. Pieces of
// photos that are still on their way have none to be checked by.
func (st *Store) ReportPhotos(dir string, r *Report) error {
	list, err := os.ReadDir(filepath.Join(dir, photoFolder))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	here := map[string]bool{}
	for _, f := range list {
		if f.IsDir() || isScratch(f.Name()) {
			continue
		}
		here[f.Name()] = true
		r.Photos++
		if st.Erased(f.Name()) {
			r.fault("photo %s: it was erased, and its file is still here", f.Name())
		}
		switch sum, err := fileSum(filepath.Join(dir, photoFolder, f.Name())); {
		case err != nil:
			r.fault("photo %s: %v", f.Name(), err)
		case sum != f.Name():
			r.fault("photo %s: its bytes have another hash", f.Name())
		}
	}
	return st.each(func(log logbook.Log, order uint64, entry []byte) {
		e, err := logbook.Decode(entry)
		if err != nil || e.Kind != (checklist.Photo{}).Kind() {
			return
		}
		if body, err := line.Decode(e.Kind, e.Body); err == nil && !here[body.(checklist.Photo).SHA] && !st.Erased(body.(checklist.Photo).SHA) {
			r.Awaited++
		}
	})
}

// each calls f with every line that can be read.
func (st *Store) each(f func(log logbook.Log, order uint64, entry []byte)) error {
	return st.read(func(v view) error {
		return v.tx.Bucket(bucketLines).ForEachBucket(func(k []byte) error {
			return v.tx.Bucket(bucketLines).Bucket(k).ForEach(func(order, raw []byte) error {
				if l, err := readLine(raw); err == nil && len(k) == 17 && len(order) == 8 {
					f(logOf(k), binary.BigEndian.Uint64(order), l.Entry)
				}
				return nil
			})
		})
	})
}

func fileSum(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	_, err = io.Copy(h, f)
	return hex.EncodeToString(h.Sum(nil)), err
}
