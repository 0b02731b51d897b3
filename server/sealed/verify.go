package sealed

import (
	"bytes"
	"cmp"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"slices"
	"strings"
	"time"

	"bayhold/checklist"
	"bayhold/sync/jsonl"
	"bayhold/sync/logbook"
)

// Report is what came of reading a record.
type Report struct {
	Seal   *Seal  // nil if none could be read
	Name   string // the vehicle: its label, what it is, its plate
	Lines  int
	Photos int // and voice notes

	// Faults are sentences: what does not fit, and where.
	Faults []string
	// Notes are sentences about what is no fault.
	Notes []string
}

func (r *Report) fault(format string, args ...any) {
	r.Faults = append(r.Faults, fmt.Sprintf(format, args...))
}

// Verify reads a record, a zip or the folder that came out of one, and says
// everything in it that does not fit. An error is a file that is no record.
func Verify(path string) (*Report, error) {
	r, _, err := Read(path)
	return r, err
}

// Read is Verify, and the lines too if all fits.
func Read(path string) (*Report, *Lines, error) {
	in, err := open(path)
	if err != nil {
		return nil, nil, err
	}
	defer in.close()
	r, lines := in.verify()
	return r, lines, nil
}

// Photos calls f with every photo and voice note of a record.
func Photos(path string, f func(sha string, in io.Reader) error) error {
	o, err := open(path)
	if err != nil {
		return err
	}
	defer o.close()
	for _, name := range o.names {
		folder, file, ok := strings.Cut(name, "/")
		if !ok || folder != "photos" && folder != "voice" {
			continue
		}
		in, err := o.files[name].open()
		if err == nil {
			sha, _, _ := strings.Cut(file, ".")
			err = errors.Join(f(sha, io.LimitReader(in, int64(o.files[name].size))), in.Close())
		}
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	return nil
}

func (o *opened) verify() (*Report, *Lines) {
	c := checker{opened: o, Report: &Report{}, bad: map[string][]byte{}, good: map[string][]byte{}}
	func() {
		// Somebody hands this over: lines that no phone writes may trip what
		// folds them, and are a fault then.
		defer func() {
			if p := recover(); p != nil {
				c.fault("%s: its lines cannot be followed (%v)", nameLines, p)
			}
		}()
		c.check()
	}()
	if len(c.Faults) > 0 {
		return c.Report, nil
	}
	return c.Report, c.lines
}

type checker struct {
	*opened
	*Report
	lines *Lines
	good  map[string][]byte // text files that are as they were sealed
	bad   map[string][]byte // and those that are not
	known []file            // in the seal's order, for the zip's own bytes
}

// check looks at the seal, then at each file against the seal, then at the
// lines against their chain, and at last at the zip around all of it.
func (c *checker) check() {
	if !c.seal() {
		return
	}
	c.each()
	if len(c.bad[nameLines]) > 0 || c.good[nameLines] == nil {
		c.changedLines()
	} else {
		c.sealedLines()
	}
	for _, f := range c.Seal.Files {
		if _, changed := c.bad[f.Name]; changed && f.Name != nameLines {
			c.fault("%s%s was changed", f.Name, c.where(f.Name))
		}
	}
	if len(c.Faults) == 0 && c.zip != nil {
		c.envelope()
	}
}

// seal reads the seal's three files. Two of them that agree tell which the
// third is; false says that nothing tells any more what belongs here.
func (c *checker) seal() bool {
	raw, err := c.read(nameSeal)
	if err != nil {
		c.fault("%s %s: nothing tells what belongs to this record", nameSeal, missingOr(err))
		return false
	}
	s, err := readSeal(raw)
	if err != nil {
		c.fault("%s was changed: %v. Nothing else was checked", nameSeal, err)
		return false
	}
	c.Seal = s
	signature, sigErr := c.read(nameSig)
	signed := sigErr == nil && ed25519.Verify(s.Key, raw, signature)
	view, viewErr := c.read(nameView)
	viewed := viewErr == nil && bytes.Equal(view, s.view())
	switch {
	case !signed && !viewed && (sigErr == nil || viewErr == nil):
		c.fault("%s was changed: neither %s nor %s fits it. Nothing else was checked", nameSeal, nameSig, nameView)
		return false
	case !signed && sigErr != nil:
		c.fault("%s %s: nobody signed this record", nameSig, missingOr(sigErr))
	case !signed:
		c.fault("%s was changed: it is no signature of %s by the key in it", nameSig, nameSeal)
	}
	switch {
	case !viewed && viewErr != nil:
		c.fault("%s %s", nameView, missingOr(viewErr))
	case !viewed:
		c.fault("%s, line %d was changed", nameView, firstDifference(view, s.view()))
	}
	if !ed25519.Verify(s.Key, s.Handed.Head(logbook.Log{Class: checklist.JobLog, ID: s.Job}), s.Head) {
		c.fault("%s: the shop's key did not sign this hand-over", nameSeal)
	}
	return true
}

func missingOr(err error) string {
	if errors.Is(err, fs.ErrNotExist) {
		return "is missing"
	}
	return "cannot be read (" + err.Error() + ")"
}

// each compares every file with its length and hash in the seal.
func (c *checker) each() {
	listed := map[string]bool{}
	for _, own := range ownFiles {
		listed[own] = true
	}
	for _, f := range c.Seal.Files {
		if listed[f.Name] {
			c.fault("%s: it names %s twice", nameSeal, f.Name)
		}
		listed[f.Name] = true
		got, ok := c.files[f.Name]
		photo := strings.Contains(f.Name, "/")
		switch {
		case !ok:
			c.fault("%s is missing", f.Name)
			continue
		case photo && got.size != f.Size:
			c.fault("%s was changed: it has %d bytes, sealed were %d", f.Name, got.size, f.Size)
			continue
		}
		if photo {
			c.Photos++
		}
		if photo || f.Name == namePDF {
			sum, crc, err := hashOf(got)
			if err != nil || sum != f.SHA {
				c.fault("%s was changed: its bytes have another hash", f.Name)
			}
			c.known = append(c.known, file{f, crc, got.open})
			continue
		}
		raw, err := c.read(f.Name)
		if err != nil {
			c.fault("%s cannot be read (%v)", f.Name, err)
			c.bad[f.Name] = []byte{}
			continue
		}
		if logbook.Sum(raw) == f.SHA && uint64(len(raw)) == f.Size {
			c.good[f.Name] = raw
		} else {
			c.bad[f.Name] = raw
		}
		c.known = append(c.known, inMemory(content{f.Name, raw}))
	}
	for _, name := range c.names {
		if !listed[name] {
			c.fault("%s does not belong to this record", name)
		}
	}
}

func hashOf(f there) (sum logbook.Hash, crc uint32, err error) {
	in, err := f.open()
	if err != nil {
		return sum, 0, err
	}
	defer in.Close()
	h, k := sha256.New(), crc32.NewIEEE()
	_, err = io.Copy(io.MultiWriter(h, k), io.LimitReader(in, int64(f.size)))
	return logbook.Hash(h.Sum(nil)), k.Sum32(), err
}

// changedLines names the lines of lines.jsonl that are not those of chain.csv.
func (c *checker) changedLines() {
	if _, ok := c.files[nameLines]; !ok {
		return // said
	}
	rows, err := csv.NewReader(bytes.NewReader(c.good[nameChain])).ReadAll()
	if err != nil || len(rows) == 0 {
		c.fault("%s was changed, and %s does not tell where", nameLines, nameChain)
		return
	}
	place := map[string]int{}
	for i, row := range rows[1:] {
		place[row[3]] = i
	}
	said := len(c.Faults)
	next, seen := 0, make([]bool, len(rows)-1)
	lines := strings.SplitAfter(string(c.bad[nameLines]), "\n")
	if lines[len(lines)-1] == "" {
		lines = lines[:len(lines)-1]
	}
	var strange []int
	for n, text := range lines {
		i, ok := place[hexOf(logbook.Sum([]byte(text)))]
		switch {
		case !ok:
			strange = append(strange, n)
		case seen[i]:
			c.fault("%s, line %d stands there twice (%s)", nameLines, n+1, rowName(rows[i+1]))
		default:
			if seen[i] = true; i < next {
				c.fault("%s, line %d stands in another place (%s)", nameLines, n+1, rowName(rows[i+1]))
			}
			next = max(next, i+1)
		}
	}
	// A strange line where one is missing is that one, changed.
	for _, n := range strange {
		if n < len(seen) && !seen[n] {
			seen[n] = true
			c.fault("%s, line %d was changed (%s)", nameLines, n+1, rowName(rows[n+1]))
		} else {
			c.fault("%s, line %d was changed or put in", nameLines, n+1)
		}
	}
	for i, is := range seen {
		if !is {
			c.fault("%s: line %d is missing (%s)", nameLines, i+1, rowName(rows[i+1]))
		}
	}
	if len(c.Faults) == said {
		c.fault("%s was changed", nameLines)
	}
}

func rowName(row []string) string { return "order " + row[1] + " of " + row[0] }

// sealedLines follows the lines as they were sealed: every line in its chain,
// the chain to the seal, everything else that the lines decide.
func (c *checker) sealedLines() {
	l, err := readLines(c.good[nameLines], append(c.good[nameChain], c.bad[nameChain]...), c.Seal.Job) // one of the two
	if err != nil {
		c.fault("%s: %v", nameLines, err)
		return
	}
	c.lines = l
	c.Lines = len(l.All)
	facts, _ := l.Shop.Job(checklist.ID(l.Job))
	c.Name = strings.Join(strings.Fields(facts.Open.Label+" "+facts.Open.Vehicle+" "+facts.Open.Plate), " ")
	// The chain is made again from the lines: a line that was put in, left out or
	// moved leads to another hash than the seal's.
	_, hashes, err := l.jsonl()
	if was, ok := c.good[nameChain]; err == nil && ok && !bytes.Equal(l.chain(hashes), was) {
		c.fault("%s, line %d: it is not the chain of the lines", nameChain, firstDifference(was, l.chain(hashes)))
	}
	for i := range l.All {
		x := &l.All[i]
		first := i == 0 || l.All[i-1].Log != x.Log
		before := uint64(0)
		if !first {
			before = l.All[i-1].receipt.Order
		}
		if x.receipt.Order <= before || x.Log.Class == checklist.JobLog && x.receipt.Order != before+1 {
			c.fault("%s, line %d: order %d follows order %d", nameLines, i+1, x.receipt.Order, before)
		}
	}
	said := l.seal(c.Seal.Key)
	said.Head, said.Missing, said.Files = c.Seal.Head, c.Seal.Missing, c.Seal.Files
	if c.good[nameChain] != nil && !bytes.Equal(said.Append(nil), c.Seal.Append(nil)) {
		c.fault("%s: it says another thing than the lines", nameSeal)
	}
	for _, a := range l.attached() {
		if !slices.Contains(c.Seal.Missing, a.sha) && !slices.ContainsFunc(c.Seal.Files, func(f Sum) bool {
			return strings.HasPrefix(f.Name, a.folder+"/"+a.sha+".") && hexOf(f.SHA) == a.sha
		}) {
			c.fault("%s/%s: a line names it, and it is not in the record", a.folder, a.sha)
		}
	}
	c.erased()
	if n := len(c.Seal.Missing); n > 0 {
		c.Notes = append(c.Notes, fmt.Sprintf("%d photos or voice notes that lines name were not at the shop when this was sealed", n))
	}
}

// erased compares every line that was erased with the line that says so, and
// notes what is gone.
func (c *checker) erased() {
	type said struct {
		sum, left string
		at        int64
	}
	by := map[string]said{}
	name := func(log logbook.Log, r logbook.Ref) string { return fmt.Sprint(log, r) }
	photos, last := 0, int64(0)
	for i := range c.lines.All {
		x := &c.lines.All[i]
		f, ok := x.said.Body.(checklist.Forget)
		if !ok {
			continue
		}
		if x.Log.Class == checklist.JobLog {
			photos += len(f.Photos)
		}
		for i := range f.Lines() {
			ref := logbook.Ref{Writer: logbook.ID(f.Writers[i]), Seq: uint64(f.Seqs[i])}
			by[name(x.Log, ref)] = said{f.Sums[i], f.Left[i], x.receipt.First()}
		}
	}
	var kinds []string
	count := map[string]int{}
	for i := range c.lines.All {
		x := &c.lines.All[i]
		sum, left, ok := logbook.Split(x.Entry)
		if !ok {
			continue
		}
		s, ok := by[name(x.Log, x.entry.Ref())]
		switch {
		case !ok:
			c.fault("%s, line %d: it was erased, and no line says so", nameLines, i+1)
		case s.sum != hexOf(sum) || s.left != hexOf(logbook.Sum(left)):
			c.fault("%s, line %d: what is left of it is not what the line says that erased it", nameLines, i+1)
		}
		if count[x.entry.Kind]++; count[x.entry.Kind] == 1 {
			kinds = append(kinds, x.entry.Kind)
		}
		last = max(last, s.at)
	}
	for i, k := range kinds {
		kinds[i] = fmt.Sprintf("%d %s", count[k], k)
	}
	if len(kinds) > 0 || photos > 0 {
		c.Notes = append(c.Notes, fmt.Sprintf("erased by the shop, last on %s: what %s said of people, and %d photos or voice notes; their hashes stay",
			time.UnixMilli(last).UTC().Format(time.DateOnly), cmp.Or(strings.Join(kinds, ", "), "no line"), photos))
	}
}

// readLines reads lines.jsonl and, of chain.csv, where each line stands in its
// chain.
func readLines(text, chain []byte, job logbook.ID) (*Lines, error) {
	read, err := jsonl.Read(bytes.NewReader(text))
	if err != nil {
		return nil, err
	}
	rows := strings.Split(string(chain), "\r\n") // no cell of it is quoted
	out := &Lines{Job: job, Shop: checklist.NewShop()}
	for i, l := range read {
		if l.Receipt == nil || l.Hand {
			return nil, fmt.Errorf("line %d is no line that the shop kept", l.Number)
		}
		x := Line{Log: l.Entry.Log, Entry: l.Bytes, Receipt: l.Receipt.Append(nil)}
		if err := x.decode(); err != nil {
			return nil, fmt.Errorf("line %d: %w", l.Number, err)
		}
		switch {
		case x.receipt.Order == 1:
			x.Before = logbook.Genesis(x.Log)
		case i > 0 && out.All[i-1].Log == x.Log && out.All[i-1].receipt.Order+1 == x.receipt.Order:
			x.Before = out.All[i-1].After
		case i+1 < len(rows): // lines before it are not here
			if row := strings.Split(rows[i+1], ","); len(row) == len(chainHead) {
				hex.Decode(x.Before[:], []byte(row[6][:min(len(row[6]), 2*len(x.Before))]))
			}
		}
		x.After = logbook.Next(x.Before, x.Receipt, x.Entry)
		out.All = append(out.All, x)
		out.Shop.Add(x.said)
	}
	return out, nil
}

// where names the line of a changed file that is the first to differ, where the
// lines tell what stood there.
func (c *checker) where(name string) string {
	var was []byte
	if name == nameSums {
		was = sums(slices.DeleteFunc(slices.Clone(c.Seal.Files), func(f Sum) bool { return f.Name == nameSums }))
	} else if c.lines != nil {
		texts, err := c.lines.texts(c.Seal.Key)
		if i := slices.IndexFunc(texts, func(t content) bool { return t.name == name }); err == nil && i >= 0 {
			was = texts[i].bytes
		}
	}
	// Of the chain the rows behind lines that are not here cannot be made again,
	// but a changed one does not lead to its own end.
	if f, ok := c.Seal.file(name); !ok || was == nil || logbook.Sum(was) != f.SHA && name != nameChain {
		return ""
	}
	return fmt.Sprintf(", line %d", firstDifference(c.bad[name], was))
}

// firstDifference is the number of the first line that differs.
func firstDifference(a, b []byte) int {
	n := 0
	for n < len(a) && n < len(b) && a[n] == b[n] {
		n++
	}
	return 1 + bytes.Count(a[:n], []byte("\n"))
}

// envelope packs the files again and compares the zip itself. What stands
// between the files says nothing of the vehicle, and a zip that somebody packed
// anew is no worse: a difference is a note.
func (c *checker) envelope() {
	files := slices.Clone(c.known)
	for _, own := range ownFiles {
		raw, _ := c.read(own)
		files = append(files, inMemory(content{own, raw}))
	}
	w := &comparing{in: io.NewSectionReader(c.zip, 0, 1<<62)}
	err := pack(w, files, c.Seal.Closed)
	var one [1]byte
	if n, _ := w.in.Read(one[:]); err == nil && !w.differs && n == 0 {
		return
	}
	c.Notes = append(c.Notes, fmt.Sprintf("the zip around the files was changed or packed anew, from its byte %d on; the files in it fit", w.at))
}

// comparing is a writer that compares what it is given with what is there.
type comparing struct {
	in      *io.SectionReader
	at      int64
	differs bool
}

func (w *comparing) Write(b []byte) (int, error) {
	have := make([]byte, len(b))
	n, _ := io.ReadFull(w.in, have)
	same := 0
	for same < n && have[same] == b[same] {
		same++
	}
	w.at += int64(same)
	if same < len(b) {
		w.differs = true
		return same, errors.New("differs")
	}
	return len(b), nil
}
