package server

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"bayhold/checklist"
	vehicle "bayhold/checklist/record"
	"bayhold/server/paper"
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

// finished is a job that was handed over, and what its record is made of.
type finished struct {
	*sealed.Lines
	key   ed25519.PrivateKey
	data  string // folder of the photos
	drawn []vehicle.Drawn
}

func (st *Store) finished(data string, job logbook.ID) (*finished, error) {
	lines, err := sealed.Gather(sealedStore{st}, job)
	if err != nil {
		return nil, err
	}
	if len(st.seal.key) != ed25519.PrivateKeySize {
		return nil, errors.New("this store has no key to sign with: start the server on it once")
	}
	drawn, err := st.spots(logbook.Log{Class: checklist.JobLog, ID: job})
	if err != nil {
		return nil, err
	}
	return &finished{lines, st.seal.key, data, drawn.forRecord()}, nil
}

// Record seals the record of a job, with the photos of the data folder and, for
// people, the paper in English.
func (st *Store) Record(data string, job logbook.ID) (*sealed.Record, *checklist.Shop, error) {
	f, err := st.finished(data, job)
	if err != nil {
		return nil, nil, err
	}
	size := paper.A4
	if set, _ := f.Shop.Setting(); set.Units == "F" {
		size = paper.Letter
	}
	pdf, err := f.pdf("en", size)
	if err != nil {
		return nil, nil, err
	}
	r, err := sealed.Build(f.Lines, f.find, pdf, f.key)
	return r, f.Shop, err
}

// find opens a photo or voice note of the shop's.
func (f *finished) find(sha string) (a sealed.Attached, ok bool) {
	in, ok := f.open(sha)
	if !ok {
		return a, false
	}
	defer in.Close()
	var magic [12]byte
	io.ReadFull(in, magic[:])
	_, ext := pictureType(magic[:])
	if spoken, its := voiceType(magic[:]); spoken != "" {
		ext = its
	}
	return sealed.Attached{Ext: ext, Open: func() (io.ReadCloser, error) { return os.Open(filepath.Join(f.data, photoFolder, sha)) }}, true
}

func (f *finished) open(sha string) (io.ReadCloser, bool) {
	if !isSHA256(sha) {
		return nil, false
	}
	in, err := os.Open(filepath.Join(f.data, photoFolder, sha))
	return in, err == nil
}

// pdf sets the record for people. It tells up to the job's last line, so that it
// is the same whenever it is made.
func (f *finished) pdf(language string, size paper.Size) ([]byte, error) {
	head := f.Handed()
	r, ok := vehicle.Of(f.Shop, vehicle.Asked{Job: checklist.ID(f.Job), Now: f.Until(), Zone: zoneOf(f.Shop), Language: language,
		Seal: vehicle.Seal{Epoch: head.Epoch, Order: head.Order, Head: hex.EncodeToString(head.Hash[:]),
			Key: sealed.Fingerprint(f.key.Public().(ed25519.PublicKey))}, Drawn: f.drawn})
	if !ok {
		return nil, fmt.Errorf("no job has the id %s", f.Job)
	}
	var out bytes.Buffer
	if err := paper.Write(&out, r, paper.Options{Size: size, Photo: f.open}); err != nil {
		return nil, fmt.Errorf("the record's paper: %w", err)
	}
	return out.Bytes(), nil
}

// record answers GET /record/{job}: the sealed record as a zip; and GET
// /record/{job}.pdf, its paper, with ?language=es in Spanish and ?size=letter.
func (s *Server) record(w http.ResponseWriter, r *http.Request) {
	name, onPaper := strings.CutSuffix(r.PathValue("job"), ".pdf")
	job, ok := logbook.ParseID(name)
	if !ok {
		http.Error(w, "a record is asked for by its job's id", http.StatusBadRequest)
		return
	}
	if h := s.store.Heads()[logbook.Log{Class: checklist.JobLog, ID: job}]; h.Order == 0 {
		http.Error(w, "no vehicle has this id", http.StatusNotFound)
		return
	}
	language, size := r.FormValue("language"), paper.A4
	if language == "" {
		language = "en"
	}
	if r.FormValue("size") == "letter" {
		size = paper.Letter
	}
	if !slices.Contains(checklist.Languages, language) {
		http.Error(w, "a record is written in "+strings.Join(checklist.Languages, " or "), http.StatusBadRequest)
		return
	}
	var (
		rec  *sealed.Record
		pdf  []byte
		shop *checklist.Shop
		err  error
	)
	s.sealing.Lock() // one at a time: all lines that it needs are read
	if onPaper {
		var f *finished
		if f, err = s.store.finished(s.cfg.Data, job); err == nil {
			shop = f.Shop
			pdf, err = f.pdf(language, size)
		}
	} else {
		rec, shop, err = s.store.Record(s.cfg.Data, job)
	}
	s.sealing.Unlock()
	switch {
	case errors.Is(err, sealed.ErrOpen):
		http.Error(w, err.Error(), http.StatusConflict)
		return
	case err != nil:
		s.log.Error("A vehicle's record cannot be made: {err}. Run 'bayhold verify'.", "job", job.String(), "err", err)
		http.Error(w, "the record cannot be made just now; 'bayhold verify' says what does not fit", http.StatusInternalServerError)
		return
	}
	facts, _ := shop.Job(checklist.ID(job))
	h, called := w.Header(), RecordName(facts.Open)
	h.Set("Cache-Control", "no-store")
	if onPaper {
		h.Set("Content-Type", "application/pdf")
		h.Set("Content-Disposition", `attachment; filename="`+called+`.pdf"`)
		w.Write(pdf)
		return
	}
	if len(rec.Missing) > 0 {
		s.log.Warn("A vehicle's record lacks photos that have not come from their phones: {missing}.", "job", job.String(), "missing", len(rec.Missing))
	}
	h.Set("Content-Type", "application/zip")
	h.Set("Content-Disposition", `attachment; filename="`+called+`.zip"`)
	if err := rec.WriteZip(patient{w, http.NewResponseController(w)}); err != nil {
		s.log.Debug("A record was not read to its end: {err}", "err", err)
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
	return name[:min(len(name), 60)]
}
