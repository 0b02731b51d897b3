package sealed

import (
	"archive/zip"
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"slices"
	"time"

	"bayhold/checklist"
	"bayhold/sync/logbook"
)

// Record is a sealed record: the seal and its files. The same lines, photos and
// key make the same bytes, whenever they are packed.
type Record struct {
	Seal
	Signature []byte

	files []file
}

// file is one that will be packed.
type file struct {
	Sum
	crc  uint32
	open func() (io.ReadCloser, error)
}

// Attached is a photo or a voice note of the shop's. Ext is by its first bytes,
// such as ".jpg".
type Attached struct {
	Ext  string
	Open func() (io.ReadCloser, error)
}

// Handed is the job's logbook at the line that handed it over: what the seal
// holds for ever.
func (l *Lines) Handed() logbook.Cursor { at, _ := l.handed(); return at }

// Until is when the last of the job's lines was written: the record tells up to
// there.
func (l *Lines) Until() (last checklist.Span) {
	for i := range l.All {
		if s := l.All[i].said.Span; l.All[i].Log.Class == checklist.JobLog && s.Latest >= last.Latest {
			last = s
		}
	}
	return last
}

func (l *Lines) handed() (at logbook.Cursor, arrived int64) {
	for i := range l.All {
		x := &l.All[i]
		if x.Log.Class != checklist.JobLog {
			continue
		}
		if _, ok := x.said.Body.(checklist.JobClose); !ok {
			continue
		}
		if s, _ := l.Shop.Line(x.said.Log, x.said.ID); !s.Struck {
			at, arrived = x.cursor(), x.receipt.First()
		}
	}
	return at, arrived
}

func (x *Line) cursor() logbook.Cursor {
	return logbook.Cursor{Epoch: x.receipt.Epoch, Order: x.receipt.Order, Hash: x.After}
}

// Build seals the lines with the shop's key. find answers the photo or voice
// note of a hash, ok false if the shop does not have it. pdf is the record for
// people, nil if there is none.
func Build(l *Lines, find func(sha string) (a Attached, ok bool), pdf []byte, key ed25519.PrivateKey) (*Record, error) {
	public := key.Public().(ed25519.PublicKey)
	r := &Record{Seal: l.seal(public)}
	r.Head = ed25519.Sign(key, r.Handed.Head(logbook.Log{Class: checklist.JobLog, ID: l.Job}))
	texts, err := l.texts(public)
	if err != nil {
		return nil, err
	}
	for _, t := range texts {
		r.add(t)
		if t.name == nameReadme && pdf != nil {
			r.add(content{namePDF, pdf})
		}
	}
	for _, a := range l.attached() {
		got, ok := find(a.sha)
		if ok {
			ok, err = r.attach(a.folder+"/"+a.sha+got.Ext, a.sha, got.Open)
		}
		if err != nil {
			return nil, err
		}
		if !ok {
			r.Missing = append(r.Missing, a.sha)
		}
	}
	r.add(content{nameSums, sums(r.Files)})
	signed := r.Seal.Append(nil)
	r.Signature = ed25519.Sign(key, signed)
	for _, c := range []content{{nameView, r.Seal.view()}, {nameSeal, signed}, {nameSig, r.Signature}} {
		r.files = append(r.files, inMemory(c))
	}
	return r, nil
}

// seal is what the lines alone say of it.
func (l *Lines) seal(key ed25519.PublicKey) Seal {
	s := Seal{Job: l.Job, Key: key}
	facts, _ := l.Shop.Job(checklist.ID(l.Job))
	s.How = facts.Closed
	s.Handed, s.Closed = l.handed()
	lines, names := map[logbook.ID]uint64{}, map[logbook.ID]bool{}
	for i := range l.All {
		x := &l.All[i]
		if by := x.entry.By; !by.IsZero() && !names[by] {
			names[by] = true
			if p, ok := l.Shop.Person(checklist.ID(by)); ok {
				s.People = append(s.People, Person{by, p.Name, p.Role})
			} else {
				s.People = append(s.People, Person{ID: by})
			}
		}
		if x.Log.Class != checklist.JobLog {
			if n := len(s.Others); n > 0 && s.Others[n-1].Log == x.Log {
				s.Others[n-1].Last = x.cursor()
			} else {
				s.Others = append(s.Others, Book{x.Log, x.cursor()})
			}
			continue
		}
		s.Last = x.cursor()
		if x.receipt.Order == 1 {
			s.Opened = x.receipt.First()
		}
		if lines[x.entry.Writer]++; lines[x.entry.Writer] == 1 {
			s.Writers = append(s.Writers, Writer{ID: x.entry.Writer})
		}
		var pins []string
		switch b := x.said.Body.(type) {
		case checklist.JobOpen:
			pins = []string{b.Rules, b.Steps}
		case checklist.JobRules:
			pins = []string{b.Rules, b.Steps}
		}
		for _, hash := range pins {
			if hash != "" && !slices.Contains(s.Rules, hash) {
				s.Rules = append(s.Rules, hash)
			}
		}
	}
	for i := range s.Writers {
		s.Writers[i].Lines = lines[s.Writers[i].ID]
	}
	return s
}

// attachment is what a line names.
type attachment struct{ folder, sha string }

// attached lists the photos and voice notes that the job's lines name, struck
// ones too, each once.
func (l *Lines) attached() (out []attachment) {
	for i := range l.All {
		a := attachment{folder: "photos"}
		switch b := l.All[i].said.Body.(type) {
		case checklist.Photo:
			a.sha = b.SHA
		case checklist.Evidence:
			a.sha = b.Photo
		case checklist.Finding:
			a.sha = b.Photo
		case checklist.Trial:
			a.sha = b.Photo
		case checklist.Patch:
			a.sha = b.Photo
		case checklist.Voice:
			a = attachment{"voice", b.SHA}
		}
		if a.sha != "" && !slices.ContainsFunc(out, func(x attachment) bool { return x.sha == a.sha }) {
			out = append(out, a)
		}
	}
	return out
}

func (r *Record) add(c content) {
	f := inMemory(c)
	r.Files = append(r.Files, f.Sum)
	r.files = append(r.files, f)
}

func inMemory(c content) file {
	return file{Sum{c.name, uint64(len(c.bytes)), logbook.Sum(c.bytes)}, crc32.ChecksumIEEE(c.bytes),
		func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(c.bytes)), nil }}
}

// attach reads a photo once for its hashes; it is not held in memory. ok is
// false if its bytes are not those of its name.
func (r *Record) attach(name, sha string, open func() (io.ReadCloser, error)) (ok bool, err error) {
	in, err := open()
	if err != nil {
		return false, err
	}
	defer in.Close()
	sum, crc := sha256.New(), crc32.NewIEEE()
	n, err := io.Copy(io.MultiWriter(sum, crc), in)
	if err != nil {
		return false, err
	}
	f := file{Sum{name, uint64(n), logbook.Hash(sum.Sum(nil))}, crc.Sum32(), open}
	if hex.EncodeToString(f.SHA[:]) != sha {
		return false, nil
	}
	r.Files = append(r.Files, f.Sum)
	r.files = append(r.files, f)
	return true, nil
}

// WriteZip packs the record. Nothing is compressed: photos would not shrink,
// and a page needs no library to read it.
func (r *Record) WriteZip(w io.Writer) error { return pack(w, r.files, r.Closed) }

// pack writes the one zip that these files make.
func pack(w io.Writer, files []file, at int64) error {
	out := zip.NewWriter(w)
	date, clock := dosTime(at)
	for _, f := range files {
		to, err := out.CreateRaw(&zip.FileHeader{Name: f.Name, Method: zip.Store, CRC32: f.crc, ModifiedDate: date, ModifiedTime: clock,
			CompressedSize64: f.Size, UncompressedSize64: f.Size})
		if err == nil {
			err = copyFile(to, f)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", f.Name, err)
		}
	}
	return out.Close()
}

func copyFile(to io.Writer, f file) error {
	in, err := f.open()
	if err != nil {
		return err
	}
	n, err := io.Copy(to, io.LimitReader(in, int64(f.Size)))
	if err == nil && uint64(n) != f.Size {
		err = errors.New("it was cut short while it was packed")
	}
	return errors.Join(err, in.Close())
}

// dosTime is a moment as a zip has it, in UTC and to two seconds
// (APPNOTE.TXT section 4.4.6).
func dosTime(ms int64) (date, clock uint16) {
	t := time.UnixMilli(max(ms, time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC).UnixMilli())).UTC()
	return uint16((t.Year()-1980)<<9 | int(t.Month())<<5 | t.Day()), uint16(t.Hour()<<11 | t.Minute()<<5 | t.Second()/2)
}
