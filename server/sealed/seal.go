package sealed

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"bayhold/checklist"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// Seal is what the shop signs of a record. Its form is a chapter of the package
// comment.
type Seal struct {
	Job     logbook.ID
	Handed  logbook.Cursor // the job's logbook at the line that handed it over
	Head    []byte         // the shop's signature of that head
	Last    logbook.Cursor // the job's logbook at its last line here
	How     string         // "handed-over" or "no-film"
	Opened  int64          // ms: the arrivals of the lines that opened and closed the job
	Closed  int64
	Rules   []string // the hashes that the job pinned, in the order of its lines
	People  []Person
	Writers []Writer
	Others  []Book   // how far the shop's and the places' logbooks are quoted
	Missing []string // photos and voice notes that lines name and that the shop does not have
	Files   []Sum    // every file of the record but the seal's own
	Key     ed25519.PublicKey
}

// Person is somebody who wrote in the record.
type Person struct {
	ID         logbook.ID
	Name, Role string
}

// Writer is a phone's, or the server's, way of writing: how many lines of the
// job are from it.
type Writer struct {
	ID    logbook.ID
	Lines uint64
}

// Book is a logbook of which some lines are quoted, up to a cursor.
type Book struct {
	Log  logbook.Log
	Last logbook.Cursor
}

// Sum is a file, its length and its SHA-256.
type Sum struct {
	Name string
	Size uint64
	SHA  logbook.Hash
}

const (
	sealName    = "bayhold record"
	sealVersion = 1
)

// Append appends the bytes that are signed.
func (s *Seal) Append(b []byte) []byte {
	b = cbor.AppendArray(b, 16)
	b = cbor.AppendText(b, sealName)
	b = cbor.AppendUint(b, sealVersion)
	b = cbor.AppendBytes(b, s.Job[:])
	b = appendCursor(b, s.Handed)
	b = cbor.AppendBytes(b, s.Head)
	b = appendCursor(b, s.Last)
	b = cbor.AppendText(b, s.How)
	b = cbor.AppendInt(b, s.Opened)
	b = cbor.AppendInt(b, s.Closed)
	b = appendTexts(b, s.Rules)
	b = cbor.AppendArray(b, len(s.People))
	for _, p := range s.People {
		b = cbor.AppendBytes(cbor.AppendArray(b, 3), p.ID[:])
		b = cbor.AppendText(cbor.AppendText(b, p.Name), p.Role)
	}
	b = cbor.AppendArray(b, len(s.Writers))
	for _, w := range s.Writers {
		b = cbor.AppendUint(cbor.AppendBytes(cbor.AppendArray(b, 2), w.ID[:]), w.Lines)
	}
	b = cbor.AppendArray(b, len(s.Others))
	for _, o := range s.Others {
		b = appendCursor(logbook.AppendLog(cbor.AppendArray(b, 2), o.Log), o.Last)
	}
	b = appendTexts(b, s.Missing)
	b = cbor.AppendArray(b, len(s.Files))
	for _, f := range s.Files {
		b = cbor.AppendText(cbor.AppendArray(b, 3), f.Name)
		b = cbor.AppendBytes(cbor.AppendUint(b, f.Size), f.SHA[:])
	}
	return cbor.AppendBytes(b, s.Key)
}

func appendCursor(b []byte, c logbook.Cursor) []byte {
	b = cbor.AppendUint(cbor.AppendArray(b, 3), c.Epoch)
	return cbor.AppendBytes(cbor.AppendUint(b, c.Order), c.Hash[:])
}

func appendTexts(b []byte, texts []string) []byte {
	b = cbor.AppendArray(b, len(texts))
	for _, t := range texts {
		b = cbor.AppendText(b, t)
	}
	return b
}

// readSeal reads what Append wrote.
func readSeal(b []byte) (*Seal, error) {
	r := cbor.NewReader(b)
	var s Seal
	if r.Array() != 16 || r.Text() != sealName {
		return nil, errors.New("it is not the seal of a Bayhold record")
	}
	if v := r.Uint(); v != sealVersion && r.Err() == nil {
		return nil, fmt.Errorf("it is of version %d, and this Bayhold reads version %d: use a newer one", v, sealVersion)
	}
	s.Job = logbook.ReadID(r)
	s.Handed = readCursor(r)
	s.Head = bytes.Clone(r.Bytes())
	s.Last = readCursor(r)
	s.How, s.Opened, s.Closed = r.Text(), r.Int(), r.Int()
	s.Rules = readTexts(r)
	for n := r.Array(); n > 0 && r.Err() == nil; n-- {
		list(r, 3)
		s.People = append(s.People, Person{logbook.ReadID(r), r.Text(), r.Text()})
	}
	for n := r.Array(); n > 0 && r.Err() == nil; n-- {
		list(r, 2)
		s.Writers = append(s.Writers, Writer{logbook.ReadID(r), r.Uint()})
	}
	for n := r.Array(); n > 0 && r.Err() == nil; n-- {
		list(r, 2)
		s.Others = append(s.Others, Book{logbook.ReadLog(r), readCursor(r)})
	}
	s.Missing = readTexts(r)
	for n := r.Array(); n > 0 && r.Err() == nil; n-- {
		list(r, 3)
		s.Files = append(s.Files, Sum{r.Text(), r.Uint(), readHash(r)})
	}
	s.Key = bytes.Clone(r.Bytes())
	if len(s.Key) != ed25519.PublicKeySize || len(s.Head) != ed25519.SignatureSize {
		r.Fail("its key or its signature has another length")
	}
	return &s, r.Close()
}

// list reads the head of an array of n items.
func list(r *cbor.Reader, n int) {
	if r.Array() != n {
		r.Fail("a list has another length")
	}
}

func readCursor(r *cbor.Reader) logbook.Cursor {
	list(r, 3)
	return logbook.Cursor{Epoch: r.Uint(), Order: r.Uint(), Hash: readHash(r)}
}

func readHash(r *cbor.Reader) (h logbook.Hash) {
	if b := r.Bytes(); len(b) == len(h) {
		copy(h[:], b)
	} else {
		r.Fail("a hash has 32 bytes")
	}
	return h
}

func readTexts(r *cbor.Reader) (out []string) {
	for n := r.Array(); n > 0 && r.Err() == nil; n-- {
		out = append(out, r.Text())
	}
	return out
}

// file returns what the seal says of a file.
func (s *Seal) file(name string) (Sum, bool) {
	i := slices.IndexFunc(s.Files, func(f Sum) bool { return f.Name == name })
	if i < 0 {
		return Sum{}, false
	}
	return s.Files[i], true
}

// Fingerprint is how people compare the shop's key: the SHA-256 of its 32
// bytes, in groups of four.
func Fingerprint(key ed25519.PublicKey) string {
	sum := logbook.Sum(key)
	var out []byte
	for i := range 8 {
		if i > 0 {
			out = append(out, ' ')
		}
		out = hex.AppendEncode(out, sum[2*i:2*i+2])
	}
	return string(out)
}

// view is the seal as JSON, for reading: no byte of it says anything that the
// signed bytes do not.
func (s *Seal) view() []byte {
	type cursor struct {
		Epoch uint64 `json:"epoch"`
		Order uint64 `json:"order"`
		Hash  string `json:"hash"`
	}
	at := func(c logbook.Cursor) cursor { return cursor{c.Epoch, c.Order, hex.EncodeToString(c.Hash[:])} }
	when := func(ms int64) string { return time.UnixMilli(ms).UTC().Format("2006-01-02T15:04:05.000Z07:00") }
	type person struct {
		ID   string `json:"id"`
		Name string `json:"name"`
		Role string `json:"role"`
	}
	type writer struct {
		ID    string `json:"id"`
		Lines uint64 `json:"lines"`
	}
	type book struct {
		Log string `json:"log"`
		cursor
	}
	type file struct {
		Name string `json:"name"`
		Size uint64 `json:"size"`
		SHA  string `json:"sha256"`
	}
	v := struct {
		What        string   `json:"what"`
		Version     int      `json:"version"`
		Job         string   `json:"job"`
		How         string   `json:"how"`
		Opened      string   `json:"opened"`
		Closed      string   `json:"closed"`
		Handed      cursor   `json:"hand_over"`
		Head        string   `json:"hand_over_signature"`
		Last        cursor   `json:"last_line"`
		Rules       []string `json:"rules"`
		People      []person `json:"people"`
		Writers     []writer `json:"writers"`
		Others      []book   `json:"quoted"`
		Missing     []string `json:"missing"`
		Files       []file   `json:"files"`
		Key         string   `json:"shop_key"`
		Fingerprint string   `json:"shop_key_fingerprint"`
	}{What: sealName, Version: sealVersion, Job: s.Job.String(), How: s.How, Opened: when(s.Opened), Closed: when(s.Closed),
		Handed: at(s.Handed), Head: base64.RawURLEncoding.EncodeToString(s.Head), Last: at(s.Last),
		Rules: append([]string{}, s.Rules...), People: []person{}, Writers: []writer{}, Others: []book{},
		Missing: append([]string{}, s.Missing...), Files: []file{},
		Key: base64.RawURLEncoding.EncodeToString(s.Key), Fingerprint: Fingerprint(s.Key)}
	for _, p := range s.People {
		v.People = append(v.People, person{p.ID.String(), p.Name, p.Role})
	}
	for _, w := range s.Writers {
		v.Writers = append(v.Writers, writer{w.ID.String(), w.Lines})
	}
	for _, o := range s.Others {
		v.Others = append(v.Others, book{logName(o.Log), at(o.Last)})
	}
	for _, f := range s.Files {
		v.Files = append(v.Files, file{f.Name, f.Size, hex.EncodeToString(f.SHA[:])})
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	enc.Encode(v) // strings and numbers: it cannot fail
	return out.Bytes()
}

// logName names a logbook as an export does.
func logName(l logbook.Log) string {
	class := map[byte]string{checklist.ShopLog: "shop", checklist.PlaceLog: "place", checklist.JobLog: "job"}[l.Class]
	if class == "" {
		class = string(rune(l.Class))
	}
	return class + ":" + l.ID.String()
}
