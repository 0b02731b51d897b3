package sealed

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"slices"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server/join"
	"bayhold/sync/logbook"
	demo "bayhold/testdata/demo/story"
	"bayhold/testdata/jobs/story"
)

// shelf is a store in memory.
type shelf struct {
	shop   logbook.Log
	logs   map[logbook.Log][][2][]byte // receipts and entries
	seqs   map[logbook.Log]map[logbook.ID]uint64
	photos map[string][]byte
}

func (s *shelf) Shop() logbook.Log { return s.shop }

func (s *shelf) Places() (out []logbook.Log) {
	for log := range s.logs {
		if log.Class == 'p' {
			out = append(out, log)
		}
	}
	slices.SortFunc(out, logbook.Log.Compare)
	return out
}

func (s *shelf) Lines(log logbook.Log, f func(receipt, entry []byte) error) error {
	for _, l := range s.logs[log] {
		if err := f(l[0], l[1]); err != nil {
			return err
		}
	}
	return nil
}

func (s *shelf) find(sha string) (Attached, bool) {
	b, ok := s.photos[sha]
	return Attached{".jpg", func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b)), nil }}, ok
}

// put writes a line as the shop keeps it: a quarter of a minute late, and known
// to within that.
func (s *shelf) put(name, writer, by string, at time.Time, body checklist.Body, strikes ...logbook.Ref) logbook.Ref {
	kind := "strike"
	if body != nil {
		kind = body.Kind()
	}
	return s.raw(name, writer, by, at, kind, line.Encode(body), strikes...)
}

func (s *shelf) raw(name, writer, by string, at time.Time, kind string, body []byte, strikes ...logbook.Ref) logbook.Ref {
	l := demo.LogOf(name)
	log := logbook.Log{Class: l.Class, ID: logbook.ID(l.ID)}
	if s.seqs[log] == nil {
		s.seqs[log] = map[logbook.ID]uint64{}
	}
	w := logbook.Named(writer)
	s.seqs[log][w]++
	e := logbook.Entry{Log: log, Writer: w, Seq: s.seqs[log][w], At: logbook.Stamp{Wall: at.UnixMilli(), Earliest: at.UnixMilli()},
		Kind: kind, Body: body, Strikes: strikes}
	if by != "" {
		e.By = logbook.Named(by)
	}
	c := logbook.Receipt{Epoch: 1, Order: uint64(len(s.logs[log]) + 1), Arrived: at.UnixMilli() + 15_000, Earliest: at.UnixMilli(), Latest: at.UnixMilli() + 15_000}
	s.logs[log] = append(s.logs[log], [2][]byte{c.Append(nil), e.Append(nil)})
	return e.Ref()
}

// picture stands for a photo: its bytes are never decoded here.
func picture(of string) (sha string, b []byte) {
	b = append([]byte("\xff\xd8\xff"), bytes.Repeat([]byte(of), 40)...)
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:]), b
}

// shelved puts one of the four jobs of testdata/jobs into a store that holds
// other things too: another job's people, other bays' air, a bay that shares
// air with the job's. Photos get bytes, but for the first, which never came.
func shelved(t testing.TB, name string) (*shelf, logbook.ID) {
	t.Helper()
	s := &shelf{logs: map[logbook.Log][][2][]byte{}, seqs: map[logbook.Log]map[logbook.ID]uint64{}, photos: map[string][]byte{}}
	l := demo.LogOf("shop:Four Jobs")
	s.shop = logbook.Log{Class: l.Class, ID: logbook.ID(l.ID)}
	photo := func(sha string) string {
		if sha == "" {
			return ""
		}
		now, b := picture(sha)
		if s.photos[now] = b; len(s.photos) == 1 {
			s.photos[now] = append(b, "rotten"...)
		}
		return now
	}
	var job string
	entries := story.Jobs[name]()
	first, last := time.Time{}, time.Time{}
	for _, e := range entries {
		if e.Log[:4] == "job:" {
			if job == "" {
				first = e.At
			}
			job, last = e.Log, e.At
		}
	}
	noisy := false
	for _, e := range entries {
		if !noisy && e.At.After(first) {
			noisy = true
			s.noise(first, last)
		}
		switch b := e.Body.(type) {
		case checklist.Photo:
			b.SHA = photo(b.SHA)
			e.Body = b
		case checklist.Evidence:
			b.Photo = photo(b.Photo)
			e.Body = b
		case checklist.Finding:
			b.Photo = photo(b.Photo)
			e.Body = b
		case checklist.Trial:
			b.Photo = photo(b.Photo)
			e.Body = b
		case checklist.Patch:
			b.Photo = photo(b.Photo)
			e.Body = b
		}
		s.put(e.Log, e.Writer, e.By, e.At, e.Body)
	}
	return s, logbook.ID(demo.LogOf(job).ID)
}

// noise is what went on in the shop beside the job, some of which reached it.
func (s *shelf) noise(first, last time.Time) {
	hour := func(h int) time.Time { return first.Add(time.Duration(h) * time.Hour) }
	s.put("shop:Four Jobs", "phone M", "M", first, checklist.PersonAdd{Person: demo.ID("Zed"), Name: "Zedenka", Initials: "Z", Role: "crew"})
	s.put("shop:Four Jobs", "phone M", "M", first, checklist.PlaceAdd{Place: demo.ID("bay 9"), Name: "Bay 9", Sort: "bay", Order: 9})
	s.put("shop:Four Jobs", "phone M", "M", first, checklist.AirShared{Places: []checklist.ID{demo.ID("bay 9"), demo.ID("bay 1"), demo.ID("bay 2"), demo.ID("bay 3")}, From: first.UnixMilli()})
	// The desk's phone wrote in every job, the other one in none.
	for device, writer := range map[string]string{"desk's phone": "phone D", "Zed's phone": "phone Z"} {
		kind, body := join.Added(join.Device{ID: logbook.Named(device), Key: make([]byte, 65), Name: device, Role: join.Crew, Salt: make([]byte, 16)})
		s.raw("shop:Four Jobs", "server", "", first, kind, body)
		kind, body = join.Writes(logbook.Named(device), logbook.Named(writer))
		s.raw("shop:Four Jobs", "server", "", first, kind, body)
		kind, body = join.Taken(logbook.Named(device), logbook.Named("the lead's phone"))
		s.raw("shop:Four Jobs", "server", "", last, kind, body)
	}
	values := checklist.DefaultRules()
	values["wipe_shelf"] /= 2
	s.put("shop:Four Jobs", "phone M", "M", hour(5), line.Pin(checklist.RulesSet{Values: values}))
	for h := range 60 {
		s.put("place:bay 9", "server", "", hour(h), checklist.ClimateBlock{Instrument: "logger of bay 9", From: hour(h).UnixMilli() - 600_000, To: hour(h).UnixMilli(),
			N: 10, Air: checklist.Range{Least: 1000, Most: 1000, Last: 1000}, RH: checklist.Range{Least: 90_000, Most: 90_000, Last: 90_000}})
	}
	for h := 5; hour(h).Before(last); h += 7 {
		s.put("place:bay 9", "phone J", "J", hour(h), checklist.PlaceEvent{Cause: "silicone", From: hour(h).UnixMilli(), To: hour(h + 1).UnixMilli(), Note: "=1+1"})
	}
	wrong := s.put("place:bay 9", "phone J", "J", hour(22), checklist.PlaceEvent{Cause: "silicone", From: hour(22).UnixMilli(), To: hour(23).UnixMilli()})
	s.put("place:bay 9", "phone J", "J", hour(22), nil, wrong)
	s.put("job:another", "phone Z", "Zed", hour(2), checklist.Note{Text: "nobody's business", Salt: make([]byte, 16)})
}

var testKey = ed25519.NewKeyFromSeed(bytes.Repeat([]byte{7}, ed25519.SeedSize))

func sealed(t testing.TB, s *shelf, job logbook.ID) *Record {
	t.Helper()
	l, err := Gather(s, job)
	if err != nil {
		t.Fatal(err)
	}
	r, err := Build(l, s.find, []byte("%PDF-2.0 stands for the paper"), testKey)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func zipped(t testing.TB, r *Record) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := r.WriteZip(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// laid is a record's files in memory, to be changed.
func laid(t testing.TB, r *Record) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	for _, f := range r.files {
		in, err := f.open()
		if err != nil {
			t.Fatal(err)
		}
		if out[f.Name], err = io.ReadAll(in); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// verified reads files that lie in a folder.
func verified(files map[string][]byte) *Report {
	o := &opened{files: map[string]there{}}
	for name, b := range files {
		if err := o.put(name, there{uint64(len(b)), func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b)), nil }}); err != nil {
			return &Report{Faults: []string{err.Error()}}
		}
	}
	r, _ := o.verify()
	return r
}

func verifiedZip(b []byte) (*Report, *Lines, error) {
	o := &opened{files: map[string]there{}}
	if err := o.packed(bytes.NewReader(b), int64(len(b))); err != nil {
		return nil, nil, err
	}
	r, l := o.verify()
	return r, l, nil
}

// small is a job of few lines, whose every byte can be changed.
func small(t testing.TB) *Record {
	t.Helper()
	s := &shelf{logs: map[logbook.Log][][2][]byte{}, seqs: map[logbook.Log]map[logbook.ID]uint64{}, photos: map[string][]byte{}}
	l := demo.LogOf("shop:Small")
	s.shop = logbook.Log{Class: l.Class, ID: logbook.ID(l.ID)}
	at := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	s.put("shop:Small", "phone M", "M", at, checklist.ShopSet{Name: "Small", Units: "C", Zone: "UTC"})
	s.put("shop:Small", "phone M", "M", at, checklist.PersonAdd{Person: demo.ID("Q"), Name: "Q", Initials: "Q", Role: "desk"})
	s.put("shop:Small", "phone M", "M", at, checklist.PersonAdd{Person: demo.ID("M"), Name: "M", Initials: "M", Role: "lead"})
	s.put("place:bay 1", "server", "", at, checklist.ClimateBlock{Instrument: "logger", From: at.UnixMilli() - 600_000, To: at.UnixMilli(), N: 10,
		Air: checklist.Range{Least: -500, Most: 18_000, Last: 18_000}, RH: checklist.Range{Least: 50_000, Most: 50_000, Last: 50_000}})
	sha, b := picture("door")
	s.photos[sha] = b
	s.put("job:S1", "phone M", "M", at, checklist.JobOpen{Label: "=S1", Vehicle: "van", Plate: "TST 001", Route: "application", Place: demo.ID("bay 1")})
	s.put("job:S1", "phone M", "M", at, checklist.Note{Text: "\tdoor, \"left\"\nscratched", Salt: make([]byte, 16)})
	s.put("job:S1", "phone M", "M", at, checklist.Photo{SHA: sha, Bytes: int64(len(b)), Name: "door"})
	s.put("job:S1", "phone M", "M", at.Add(time.Hour), checklist.JobClose{How: "no-film"})
	return sealed(t, s, logbook.ID(demo.LogOf("job:S1").ID))
}
