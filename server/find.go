package server

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode"

	bolt "go.etcd.io/bbolt"
	"golang.org/x/text/unicode/norm"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// A job is found again years later by what somebody remembers of it: its
// plate, the customer, the batch of its film, the day. The bucket "found" holds
// a key for each such word of each job and is written with the line that says
// it, so that ten years of jobs are looked through by their first letters
// alone.
//
// A word is kept without case, accents and marks. Of a number that people write
// in groups (plate, vehicle number, batch, roll) the groups are one word; of a
// name each part is.

// remembered is what a job is found by.
var remembered = []struct {
	by     byte   // first byte of its keys
	name   string // before a colon in a question it asks for this alone
	number bool   // written in groups that are one word
}{
	{'p', "plate", true},
	{'v', "vin", true},
	{'f', "fleet", true},
	{'b', "batch", true},
	{'r', "roll", true},
	{'s', "film", false},
	{'c', "customer", false},
	{'k', "vehicle", false},
	{'l', "label", false},
}

// says is what a line tells that a job is found by.
func says(e *logbook.Entry) map[byte]string {
	if e.Log.Class != checklist.JobLog || e.Kind != (checklist.JobOpen{}).Kind() && e.Kind != (checklist.FilmRoll{}).Kind() {
		return nil
	}
	body, err := line.Decode(e.Kind, e.Body)
	if err != nil {
		return nil // kept as it came, and nobody's word
	}
	switch b := body.(type) {
	case checklist.JobOpen:
		return map[byte]string{'p': b.Plate, 'v': b.VIN, 'f': b.Fleet, 'c': b.Customer, 'k': b.Vehicle, 'l': b.Label}
	case checklist.FilmRoll:
		return map[byte]string{'b': b.Batch, 'r': b.Roll, 's': b.Sheet}
	}
	return nil
}

// longestWord is what is kept of a word at most.
const longestWord = 48

// wordsOf is a text without case, accents and marks, its words apart.
func wordsOf(s string) (words []string) {
	var w strings.Builder
	end := func() {
		if w.Len() > 0 {
			words = append(words, w.String())
			w.Reset()
		}
	}
	for _, r := range norm.NFKD.String(strings.ToLower(s)) {
		switch {
		case unicode.Is(unicode.Mn, r):
		case !unicode.IsLetter(r) && !unicode.IsDigit(r):
			end()
		case w.Len() < longestWord:
			w.WriteRune(r)
		}
	}
	end()
	return words
}

// number is a text as one word.
func number(s string) string {
	w := strings.Join(wordsOf(s), "")
	return w[:min(len(w), longestWord)]
}

// byDay begins the key of a job's first day: the moment (8), the job. byOpen
// that of a job: the newest line that says what it is.
const (
	byDay  = 'd'
	byOpen = 'o'
)

func openKey(job logbook.ID) []byte { return append([]byte{byOpen}, job[:]...) }

func dayKey(at int64, job logbook.ID) []byte {
	return append(binary.BigEndian.AppendUint64([]byte{byDay}, uint64(at)), job[:]...)
}

// foundKeys are the keys of the bucket "found" under which a line puts its job.
func foundKeys(e *logbook.Entry, r logbook.Receipt) (keys [][]byte) {
	if e.Log.Class == checklist.JobLog && r.Order == 1 {
		keys = append(keys, dayKey(r.First(), e.Log.ID))
	}
	if e.Log.Class == checklist.JobLog && e.Kind == (checklist.JobOpen{}).Kind() {
		keys = append(keys, openKey(e.Log.ID))
	}
	said := says(e)
	for _, f := range remembered {
		words := wordsOf(said[f.by])
		if f.number && len(words) > 0 {
			words = []string{number(said[f.by])}
		}
		for _, w := range words {
			key := append(append([]byte{f.by}, w...), 0)
			keys = append(keys, append(key, e.Log.ID[:]...))
		}
	}
	return keys
}

// stays says whether the first line under a key counts, and not the newest.
func stays(key []byte) bool { return key[0] != byOpen }

// find notes what a line says; the first line that says a word counts.
func find(found *bolt.Bucket, e *logbook.Entry, r logbook.Receipt) error {
	for _, k := range foundKeys(e, r) {
		if stays(k) && found.Get(k) != nil {
			continue
		}
		if err := found.Put(k, be64(r.Order)); err != nil {
			return err
		}
	}
	return nil
}

// findAll makes the bucket of a store that has none yet. Keys are put in their
// order: bbolt divides a page at the end of a transaction only, and a million
// put here and there would each move half of the rest.
func findAll(tx *bolt.Tx) error {
	if tx.Bucket(bucketFound) != nil {
		return nil
	}
	found, err := tx.CreateBucket(bucketFound)
	if err != nil {
		return err
	}
	said := map[string]uint64{}
	all := tx.Bucket(bucketLines)
	err = all.ForEachBucket(func(log []byte) error {
		if log[0] != checklist.JobLog {
			return nil
		}
		return all.Bucket(log).ForEach(func(_, raw []byte) error {
			l, err := readLine(raw)
			if err != nil {
				return err
			}
			e, err := logbook.Decode(l.Entry)
			if err != nil {
				return err
			}
			r, err := logbook.DecodeReceipt(l.Receipt)
			for _, k := range foundKeys(&e, r) {
				if _, ok := said[string(k)]; !ok || !stays(k) {
					said[string(k)] = r.Order
				}
			}
			return err
		})
	})
	for _, k := range slices.Sorted(maps.Keys(said)) {
		if err == nil {
			err = found.Put([]byte(k), be64(said[k]))
		}
	}
	return err
}

// Found is a job that fits a question.
type Found struct {
	Job      logbook.ID
	Label    string
	Plate    string
	Customer string
	Vehicle  string
	Began    int64 // when its first line came to the shop, ms
	Closed   int64 // when it was handed over, 0 if it was not
}

// mostFound is how many jobs an answer names.
const mostFound = 50

// longestQuestion is how long a question may be, in bytes.
const longestQuestion = 200

// ErrQuestion says that a question asks for nothing.
var ErrQuestion = errors.New("type a plate, a name, a batch or a day such as 2026-11-28")

// errNoWords says that a store has no words to look up yet.
var errNoWords = errors.New("an older bayhold wrote this store: start the server on it once, then ask again")

// Jobs answers the jobs that have every word of a question, the newest first,
// and how many more there are. A word fits by its beginning. 'batch:' and the
// other names of the table ask for that alone; a day, month or year (2026-11-28,
// 2026-11, 2026), in a place's calendar, is when a job began.
func (st *Store) Jobs(question string, in *time.Location) (jobs []Found, more int, err error) {
	if len(question) > longestQuestion {
		return nil, 0, fmt.Errorf("a question has at most %d letters: %w", longestQuestion, ErrQuestion)
	}
	words := strings.Fields(question)
	if len(wordsOf(question)) == 0 {
		return nil, 0, ErrQuestion
	}
	err = st.read(func(v view) error {
		if v.tx.Bucket(bucketFound) == nil {
			return errNoWords
		}
		ids := v.all(words, in)
		more = max(0, len(ids)-mostFound)
		for _, id := range ids[:len(ids)-more] {
			j, err := v.told(logbook.Log{Class: checklist.JobLog, ID: id})
			if err != nil {
				return err
			}
			jobs = append(jobs, j)
		}
		return nil
	})
	return jobs, more, err
}

// all are the jobs that have all words together as one number, for a plate is
// typed in its groups; or else those that every word fits. The newest stands
// first, for ids are UUIDv7 (RFC 9562).
func (v view) all(words []string, in *time.Location) []logbook.ID {
	fit := map[logbook.ID]bool{}
	if whole := number(strings.Join(words, "")); len(words) > 1 && len(whole) >= 3 {
		for _, f := range remembered {
			if f.number {
				v.begins(f.by, whole, fit)
			}
		}
	}
	if len(fit) == 0 {
		fit = v.every(words, in)
	}
	return slices.SortedFunc(maps.Keys(fit), func(a, b logbook.ID) int { return bytes.Compare(b[:], a[:]) })
}

// every are the jobs that every word fits. Long words are asked first: they
// leave the least.
func (v view) every(words []string, in *time.Location) (fit map[logbook.ID]bool) {
	words = slices.Clone(words)
	slices.SortStableFunc(words, func(a, b string) int { return len(b) - len(a) })
	for _, w := range words {
		if len(wordsOf(w)) == 0 {
			continue
		}
		if fit != nil && len(fit) == 0 {
			break
		}
		these := v.fit(w, in)
		if fit == nil {
			fit = these
		}
		for id := range fit {
			if !these[id] {
				delete(fit, id)
			}
		}
	}
	return fit
}

// Named answers the jobs that are called so: by id, or whose label or plate now
// is this, without regard to case, accents and marks.
func (st *Store) Named(name string) (out []logbook.ID, err error) {
	if id, ok := logbook.ParseID(name); ok {
		return []logbook.ID{id}, nil
	}
	err = st.read(func(v view) error {
		if v.tx.Bucket(bucketFound) == nil {
			return errNoWords
		}
		fit, words := map[logbook.ID]bool{}, wordsOf(name)
		v.begins('p', number(name), fit)
		if len(words) > 0 {
			v.begins('l', words[0], fit)
		}
		for _, id := range slices.SortedFunc(maps.Keys(fit), logbook.ID.Compare) {
			j, err := v.told(logbook.Log{Class: checklist.JobLog, ID: id})
			if err != nil {
				return err
			}
			if number(j.Label) == number(name) || number(j.Plate) == number(name) {
				out = append(out, id)
			}
		}
		return nil
	})
	return out, err
}

// told is a job as the newest of the lines that open it tells it.
func (v view) told(log logbook.Log) (Found, error) {
	out := Found{Job: log.ID}
	first, ok := v.line(log, 1)
	h, err := v.head(log)
	if err != nil || !ok {
		return out, fmt.Errorf("%s: its first line or its head cannot be read: run bayhold verify", LogName(log))
	}
	if h.Closed != (logbook.Ref{}) {
		out.Closed = h.ClosedAt
	}
	r, err := logbook.DecodeReceipt(first.Receipt)
	if err != nil {
		return out, err
	}
	out.Began = r.First()
	at := v.tx.Bucket(bucketFound).Get(openKey(log.ID))
	if at == nil {
		return out, nil // a job of which the opening line never came
	}
	l, ok := v.line(log, binary.BigEndian.Uint64(at))
	if !ok {
		return out, fmt.Errorf("%s: the line that opens it is elsewhere: run bayhold verify", LogName(log))
	}
	e, err := logbook.Decode(l.Entry)
	if err != nil {
		return out, err
	}
	if body, err := line.Decode(e.Kind, e.Body); err == nil {
		if b, ok := body.(checklist.JobOpen); ok {
			out.Label, out.Plate, out.Customer, out.Vehicle = b.Label, b.Plate, b.Customer, b.Vehicle
		}
	}
	return out, nil
}

// fit are the jobs that one word of a question fits.
func (v view) fit(word string, in *time.Location) map[logbook.ID]bool {
	out := map[logbook.ID]bool{}
	if from, to, ok := days(word, in); ok {
		v.between(from, to, out)
	}
	only := byte(0)
	if name, rest, ok := strings.Cut(word, ":"); ok {
		for _, f := range remembered {
			if f.name == strings.ToLower(name) {
				only, word = f.by, rest
			}
		}
	}
	for _, f := range remembered {
		if only != 0 && f.by != only {
			continue
		}
		if f.number {
			v.begins(f.by, number(word), out)
			continue
		}
		each := map[logbook.ID]int{}
		parts := wordsOf(word)
		for _, p := range parts {
			these := map[logbook.ID]bool{}
			v.begins(f.by, p, these)
			for id := range these {
				each[id]++
			}
		}
		for id, n := range each {
			if n == len(parts) {
				out[id] = true
			}
		}
	}
	return out
}

// begins adds the jobs with a word that begins so.
func (v view) begins(by byte, word string, to map[logbook.ID]bool) {
	if word == "" {
		return
	}
	key, cur := append([]byte{by}, word...), v.tx.Bucket(bucketFound).Cursor()
	for k, _ := cur.Seek(key); bytes.HasPrefix(k, key); k, _ = cur.Next() {
		to[logbook.ID(k[len(k)-16:])] = true
	}
}

// days reads a day, a month or a year as its first moment and the one after
// its last, ms.
func days(word string, in *time.Location) (from, to int64, ok bool) {
	for _, f := range []struct {
		form                string
		years, months, days int
	}{{"2006-01-02", 0, 0, 1}, {"2006-01", 0, 1, 0}, {"2006", 1, 0, 0}} {
		if t, err := time.ParseInLocation(f.form, word, in); err == nil {
			return t.UnixMilli(), t.AddDate(f.years, f.months, f.days).UnixMilli(), true
		}
	}
	return 0, 0, false
}

// between adds the jobs that began from one moment to before another.
func (v view) between(from, to int64, jobs map[logbook.ID]bool) {
	cur := v.tx.Bucket(bucketFound).Cursor()
	for k, _ := cur.Seek(dayKey(from, logbook.ID{})); len(k) == 25 && k[0] == byDay; k, _ = cur.Next() {
		if int64(binary.BigEndian.Uint64(k[1:])) >= to {
			break
		}
		jobs[logbook.ID(k[9:])] = true
	}
}

// find answers GET /find?q=: the jobs that fit a question.
func (s *Server) find(w http.ResponseWriter, r *http.Request) {
	s.writer.mu.RLock()
	zone := zoneOf(s.writer.shop)
	s.writer.mu.RUnlock()
	jobs, more, err := s.store.Jobs(r.URL.Query().Get("q"), zone)
	if errors.Is(err, ErrQuestion) {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	if err != nil {
		s.log.Error("Vehicles cannot be looked up: {err}. Run 'bayhold verify'.", "err", err)
		http.Error(w, "the shop's jobs cannot be read just now; ask again", http.StatusInternalServerError)
		return
	}
	out := []object{}
	for _, j := range jobs {
		out = append(out, object{"job": j.Job.String(), "label": j.Label, "plate": j.Plate, "customer": j.Customer,
			"vehicle": j.Vehicle, "began": j.Began, "closed": j.Closed})
	}
	w.Header().Set("Cache-Control", "no-store")
	writeJSON(w, http.StatusOK, object{"jobs": out, "more": more})
}
