package server

import (
	"crypto/ed25519"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"bayhold/checklist"
	"bayhold/server/sealed"
	"bayhold/sync/logbook"
)

// sealedStore is the store as package sealed reads it.
type sealedStore struct{ *Store }

func (st sealedStore) Places() (out []logbook.Log) {
	for log := range st.Heads() {
		if log.Class == checklist.PlaceLog {
			out = append(out, log)
		}
	}
	slices.SortFunc(out, logbook.Log.Compare)
	return out
}

func (st sealedStore) Lines(log logbook.Log, f func(receipt, entry []byte) error) error {
	for from := uint64(0); ; {
		lines, err := st.After(log, from, 1000, 1<<20)
		if err != nil || len(lines) == 0 {
			return err
		}
		for _, l := range lines {
			if from = l.Order; err == nil {
				err = f(l.Receipt, l.Entry)
			}
			if err != nil {
				return fmt.Errorf("line %d of %s: %w", l.Order, LogName(log), err)
			}
		}
	}
}

// Record seals the record of a job, with the photos of the data folder.
func (st *Store) Record(data string, job logbook.ID) (*sealed.Record, *checklist.Shop, error) {
	lines, err := sealed.Gather(sealedStore{st}, job)
	if err != nil {
		return nil, nil, err
	}
	if len(st.seal.key) != ed25519.PrivateKeySize {
		return nil, nil, errors.New("this store has no key to sign with: start the server on it once")
	}
	find := func(sha string) (a sealed.Attached, ok bool) {
		if !isSHA256(sha) {
			return a, false
		}
		open := func() (io.ReadCloser, error) { return os.Open(filepath.Join(data, photoFolder, sha)) }
		f, err := open()
		if err != nil {
			return a, false
		}
		defer f.Close()
		var magic [12]byte
		io.ReadFull(f, magic[:])
		_, ext := pictureType(magic[:])
		if spoken, its := voiceType(magic[:]); spoken != "" {
			ext = its
		}
		return sealed.Attached{Ext: ext, Open: open}, true
	}
	r, err := sealed.Build(lines, find, nil, st.seal.key)
	return r, lines.Shop, err
}

// record answers GET /record/{job}: the sealed record as a zip.
func (s *Server) record(w http.ResponseWriter, r *http.Request) {
	job, ok := logbook.ParseID(r.PathValue("job"))
	if !ok {
		http.Error(w, "a record is asked for by its job's id", http.StatusBadRequest)
		return
	}
	if h := s.store.Heads()[logbook.Log{Class: checklist.JobLog, ID: job}]; h.Order == 0 {
		http.Error(w, "no vehicle has this id", http.StatusNotFound)
		return
	}
	s.sealing.Lock() // one at a time: all lines that it needs are read
	rec, shop, err := s.store.Record(s.cfg.Data, job)
	s.sealing.Unlock()
	switch {
	case errors.Is(err, sealed.ErrOpen):
		http.Error(w, err.Error(), http.StatusConflict)
		return
	case err != nil:
		s.log.Error("a record cannot be made", "job", job.String(), "err", err)
		http.Error(w, "the record cannot be made just now; 'bayhold verify' says what does not fit", http.StatusInternalServerError)
		return
	}
	if len(rec.Missing) > 0 {
		s.log.Warn("a record lacks photos that lines name", "job", job.String(), "missing", len(rec.Missing))
	}
	facts, _ := shop.Job(checklist.ID(job))
	h := w.Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Content-Disposition", `attachment; filename="`+RecordName(facts.Open)+`"`)
	h.Set("Cache-Control", "no-store")
	if err := rec.WriteZip(patient{w, http.NewResponseController(w)}); err != nil {
		s.log.Warn("a record was not read to its end", "err", err)
	}
}

// RecordName is what a record's file is called: the label and the plate, in
// letters that every system takes.
func RecordName(o checklist.JobOpen) string {
	plain := func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-':
			return r
		case r == ' ':
			return '-'
		}
		return -1
	}
	name := "record"
	for _, part := range []string{o.Label, o.Plate} {
		if part = strings.Trim(strings.Map(plain, part), "-"); part != "" {
			name += "-" + part
		}
	}
	return name[:min(len(name), 60)] + ".zip"
}

// FindJobs returns the jobs that are called so: by id, label or plate, without
// regard to case and spaces.
func (st *Store) FindJobs(name string) (out []logbook.ID, err error) {
	if id, ok := logbook.ParseID(name); ok {
		return []logbook.ID{id}, nil
	}
	same := func(s string) bool {
		strip := func(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), "")) }
		return strip(s) == strip(name)
	}
	for log := range st.Heads() {
		if log.Class != checklist.JobLog {
			continue
		}
		shop := checklist.NewShop()
		err := sealedStore{st}.Lines(log, func(receipt, entry []byte) error { return sealed.Fold(shop, receipt, entry) })
		if err != nil {
			return nil, err
		}
		if f, ok := shop.Job(checklist.ID(log.ID)); ok && (same(f.Open.Label) || same(f.Open.Plate)) {
			out = append(out, log.ID)
		}
	}
	slices.SortFunc(out, func(a, b logbook.ID) int { return slices.Compare(a[:], b[:]) })
	return out, nil
}
