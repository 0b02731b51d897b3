package sealed

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"crypto/ed25519"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"sort"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/fxamacker/cbor/v2"
	"pgregory.net/rapid"

	"bayhold/checklist"
	"bayhold/sync/jsonl"
	"bayhold/sync/logbook"
	"bayhold/testdata/jobs/story"
)

// The record of each of the four routes fits, as a zip and as a folder, is the
// same bytes each time, names nobody who had no part in the job, and says which
// photo the shop does not have.
func TestFourRoutes(t *testing.T) {
	for name := range story.Jobs {
		t.Run(name, func(t *testing.T) {
			s, job := shelved(t, name)
			r := sealed(t, s, job)
			b := zipped(t, r)
			if again := zipped(t, sealed(t, s, job)); !bytes.Equal(b, again) {
				t.Error("packed again it is other bytes")
			}
			got, lines, err := verifiedZip(b)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range got.Faults {
				t.Error(f)
			}
			if len(r.Missing) != 1 || len(got.Notes) != 1 || !strings.Contains(got.Notes[0], "1 photos") {
				t.Errorf("missing %v, notes %q: want the one photo that rotted", r.Missing, got.Notes)
			}
			if lines == nil || len(lines.All) != got.Lines || got.Photos != len(s.photos)-1 {
				t.Errorf("%d lines, %d photos of %d", got.Lines, got.Photos, len(s.photos))
			}
			for name, b := range laid(t, r) {
				for _, stranger := range []string{"Zedenka", "nobody's business", "logger of bay 9", "Zed's phone", logbook.Named("Zed's phone").String()} {
					if bytes.Contains(b, []byte(stranger)) {
						t.Errorf("%s: has %q, which is not the job's", name, stranger)
					}
				}
			}

			devices := map[string]int{}
			for i := range lines.All {
				if kind := lines.All[i].entry.Kind; strings.HasPrefix(kind, "device.") {
					devices[kind]++
				}
			}
			if len(devices) != 3 || devices["device.add"] != 1 || devices["device.writer"] != 1 || devices["device.revoke"] != 1 {
				t.Errorf("of phones it has %v, want the three lines of the desk's", devices)
			}

			// A later line, a call back, changes neither the hand-over nor its
			// signature.
			s.put("job:"+jobLabel(lines), "phone D", "D", story0, checklist.Note{Text: "came back", Salt: make([]byte, 16)})
			later := sealed(t, s, job)
			if later.Handed != r.Handed || !bytes.Equal(later.Head, r.Head) || later.Last.Order != r.Last.Order+1 {
				t.Errorf("sealed at %d, then with one line more at %d", r.Handed.Order, later.Handed.Order)
			}
		})
	}
}

// story0 is after all four jobs.
var story0 = time.Date(2026, 4, 1, 9, 0, 0, 0, time.UTC)

func jobLabel(l *Lines) string {
	f, _ := l.Shop.Job(checklist.ID(l.Job))
	return f.Open.Label
}

// What is quoted of the shop's and the places' logbooks is enough: from check-in
// to hand-over every gate answers from the record's lines as it did from the
// whole store.
func TestSameAnswers(t *testing.T) {
	for name := range story.Jobs {
		t.Run(name, func(t *testing.T) {
			s, job := shelved(t, name)
			l, err := Gather(s, job)
			if err != nil {
				t.Fatal(err)
			}
			type arrived struct {
				at             int64
				receipt, entry []byte
			}
			var whole, quoted []arrived
			for _, log := range s.logs {
				for _, x := range log {
					r, err := logbook.DecodeReceipt(x[0])
					if err != nil {
						t.Fatal(err)
					}
					whole = append(whole, arrived{r.Arrived, x[0], x[1]})
				}
			}
			for i := range l.All {
				quoted = append(quoted, arrived{l.All[i].receipt.Arrived, l.All[i].Receipt, l.All[i].Entry})
			}
			if len(quoted) >= len(whole) {
				t.Fatalf("%d of %d lines are quoted", len(quoted), len(whole))
			}
			facts, _ := l.Shop.Job(checklist.ID(job))
			a, b := checklist.NewShop(), checklist.NewShop()
			step := func(shop *checklist.Shop, lines *[]arrived, until int64) {
				for len(*lines) > 0 && (*lines)[0].at <= until {
					if err := Fold(shop, (*lines)[0].receipt, (*lines)[0].entry); err != nil {
						t.Fatal(err)
					}
					*lines = (*lines)[1:]
				}
			}
			for _, lines := range [][]arrived{whole, quoted} {
				sort.SliceStable(lines, func(i, j int) bool { return lines[i].at < lines[j].at })
			}
			asked := 0
			for at := facts.Opened.Latest; at <= facts.ClosedAt.Latest; at += 2 * 3600_000 {
				step(a, &whole, at)
				step(b, &quoted, at)
				now := checklist.Span{Earliest: at, Latest: at}
				want, got := a.Gates(checklist.ID(job), now), b.Gates(checklist.ID(job), now)
				if asked += len(want); !reflect.DeepEqual(got, want) {
					t.Fatalf("%d ms after check-in the record's lines answer\n%v\nthe store\n%v", at-facts.Opened.Latest, got, want)
				}
			}
			if asked < 100 {
				t.Errorf("only %d gates were asked", asked)
			}
		})
	}
}

// stride is how many bytes a test of every byte leaves out.
func stride(n int) int {
	if os.Getenv("BAYHOLD_LONG") != "" {
		return 1
	}
	return n
}

// One changed byte anywhere in the folder is found, and the sentence names the
// file, and of a text the line.
func TestEveryByte(t *testing.T) {
	files := laid(t, small(t))
	if r := verified(files); len(r.Faults) > 0 {
		t.Fatal(r.Faults)
	}
	for name, was := range files {
		step := stride(149)
		if len(was) < 100 {
			step = 1
		}
		for i := 0; i < len(was); i += step {
			for _, bit := range []byte{1, 0x80} {
				now := bytes.Clone(was)
				now[i] ^= bit
				files[name] = now
				r := verified(files)
				if !named(r, name) {
					t.Fatalf("%s, byte %d ^ %#x: %q", name, i, bit, r.Faults)
				}
				if line := 1 + bytes.Count(was[:i], []byte("\n")); strings.HasSuffix(name, ".jsonl") || strings.HasSuffix(name, ".csv") || strings.HasSuffix(name, ".ics") || name == nameReadme || name == nameSums {
					if !slices.ContainsFunc(r.Faults, func(f string) bool { return strings.HasPrefix(f, fmt.Sprintf("%s, line %d was changed", name, line)) }) {
						t.Fatalf("%s, byte %d of line %d: %q", name, i, line, r.Faults)
					}
				}
			}
		}
		files[name] = was
	}
}

func named(r *Report, name string) bool {
	return slices.ContainsFunc(r.Faults, func(f string) bool { return strings.Contains(f, name) })
}

// What somebody may do to a folder, of a whole job in the long run: each is
// found and named.
func TestTampered(t *testing.T) {
	files := laid(t, small(t))
	if os.Getenv("BAYHOLD_LONG") != "" {
		s, job := shelved(t, "van")
		files = laid(t, sealed(t, s, job))
	}
	var names []string
	for name := range files {
		names = append(names, name)
	}
	slices.Sort(names)
	rapid.Check(t, func(rt *rapid.T) {
		now := map[string][]byte{}
		for name, b := range files {
			now[name] = b
		}
		name := rapid.SampledFrom(names).Draw(rt, "file")
		was := files[name]
		at := rapid.IntRange(0, len(was)-1).Draw(rt, "at")
		switch rapid.SampledFrom([]string{"flip", "drop", "add", "swap", "truncate", "repeat", "cut a line"}).Draw(rt, "what") {
		case "flip":
			b := bytes.Clone(was)
			b[at] ^= rapid.ByteRange(1, 255).Draw(rt, "bits")
			now[name] = b
		case "drop":
			delete(now, name)
		case "add":
			now[name+".more"] = was
		case "swap":
			other := rapid.SampledFrom(names).Draw(rt, "other")
			if bytes.Equal(files[other], was) {
				return
			}
			now[name], now[other] = files[other], was
			if r := verified(now); !named(r, name) && !named(r, other) {
				rt.Fatalf("%q", r.Faults)
			}
			return
		case "truncate":
			now[name] = was[:at]
		case "repeat":
			now[name] = append(bytes.Clone(was), was[at:]...)
		case "cut a line":
			lines := bytes.SplitAfter(was, []byte("\n"))
			i := at % len(lines)
			if len(lines[i]) == 0 {
				return
			}
			now[name] = bytes.Join(slices.Delete(lines, i, i+1), nil)
		}
		if r := verified(now); !named(r, name) {
			rt.Fatalf("%q", r.Faults)
		}
	})
}

// One changed byte of the zip is found too: in a file it is named; between the
// files it is a note, for it says nothing of the vehicle.
func TestEveryByteOfTheZip(t *testing.T) {
	r := small(t)
	was := zipped(t, r)
	clean, _, err := verifiedZip(was)
	if err != nil || len(clean.Faults)+len(clean.Notes) > 0 {
		t.Fatal(clean, err)
	}
	for i := 0; i < len(was); i += stride(113) {
		now := bytes.Clone(was)
		now[i] ^= 0x20
		got, _, err := verifiedZip(now)
		if err == nil && len(got.Faults)+len(got.Notes) == 0 {
			t.Fatalf("byte %d: all fits", i)
		}
	}
	for i, end := range []string{"more behind", ""} {
		now := append(bytes.Clone(was), end...)
		if end == "" {
			now = was[:len(was)-1]
		}
		if got, _, err := verifiedZip(now); err == nil && len(got.Faults)+len(got.Notes) == 0 {
			t.Errorf("%d: all fits", i)
		}
	}

	// The folder that came out of it, packed by another program within a folder
	// and compressed, is as good.
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	z.Create("from the mail/")
	for name, raw := range laid(t, r) {
		w, err := z.Create("from the mail/" + name)
		if err != nil {
			t.Fatal(err)
		}
		w.Write(raw)
	}
	z.Close()
	got, _, err := verifiedZip(b.Bytes())
	if err != nil || len(got.Faults) > 0 || len(got.Notes) != 1 || !strings.Contains(got.Notes[0], "packed anew") {
		t.Errorf("packed anew: %+v, %v", got, err)
	}
}

// What no record holds is refused before any of it is unpacked.
func TestRefused(t *testing.T) {
	pack := func(add func(z *zip.Writer)) []byte {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		add(z)
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	plain := func(names ...string) []byte {
		return pack(func(z *zip.Writer) {
			for _, n := range names {
				w, err := z.CreateHeader(&zip.FileHeader{Name: n})
				if err != nil {
					t.Fatal(err)
				}
				io.WriteString(w, "x")
			}
		})
	}
	for _, v := range []struct {
		what string
		zip  []byte
		says string
	}{
		{"nothing", nil, "neither a folder nor a zip"},
		{"no zip", []byte("hello"), "neither a folder nor a zip"},
		{"out of the folder", plain("../../etc/passwd"), "no name that a record's file has"},
		{"from the root", plain("/etc/passwd"), "no name that a record's file has"},
		{"another system's path", plain(`..\..\x`), "no name that a record's file has"},
		{"a drive", plain("C:x"), "no name that a record's file has"},
		{"twice", plain("seal.cbor", "seal.cbor"), "stands in it twice"},
		{"too many", plain(slices.Repeat([]string{"x"}, maxFiles+1)...), "at most 10000"},
		{"a link", pack(func(z *zip.Writer) {
			h := &zip.FileHeader{Name: "record.pdf"}
			h.SetMode(os.ModeSymlink | 0o777)
			w, _ := z.CreateHeader(h)
			io.WriteString(w, "/etc/passwd")
		}), "no plain file"},
		{"encrypted", pack(func(z *zip.Writer) { z.CreateRaw(&zip.FileHeader{Name: "seal.cbor", Flags: 1}) }), "encrypted"},
		{"another method", pack(func(z *zip.Writer) { z.CreateRaw(&zip.FileHeader{Name: "seal.cbor", Method: 93}) }), "method 93"},
		{"unpacks to a disk full", pack(func(z *zip.Writer) {
			z.CreateRaw(&zip.FileHeader{Name: "record.pdf", Method: zip.Deflate, UncompressedSize64: maxAll + 1})
		}), "more than 8 GiB"},
	} {
		if _, _, err := verifiedZip(v.zip); err == nil || !strings.Contains(err.Error(), v.says) {
			t.Errorf("%s: %v, want %q", v.what, err, v.says)
		}
	}

	// A bomb under a sealed name: a gigabyte of zeros in a megabyte. Its length
	// is not the sealed one, so it is never unpacked; a length that lies is
	// believed for that many bytes.
	r := small(t)
	var packed bytes.Buffer
	f, _ := flate.NewWriter(&packed, flate.BestCompression)
	f.Write(make([]byte, 32<<20))
	f.Close()
	for _, claimed := range []uint64{32 << 20, 0} {
		bomb := pack(func(z *zip.Writer) {
			for name, raw := range laid(t, r) {
				if !strings.HasPrefix(name, "photos/") {
					w, _ := z.Create(name)
					w.Write(raw)
					continue
				}
				size := claimed
				if size == 0 {
					size = uint64(len(raw))
				}
				w, _ := z.CreateRaw(&zip.FileHeader{Name: name, Method: zip.Deflate, CompressedSize64: uint64(packed.Len()), UncompressedSize64: size})
				w.Write(packed.Bytes())
			}
		})
		if got, _, err := verifiedZip(bomb); err != nil || !named(got, "photos/") {
			t.Errorf("bomb that says %d: %+v, %v", claimed, got, err)
		}
	}

	dir := t.TempDir()
	if err := os.Symlink("/etc/passwd", filepath.Join(dir, "record.pdf")); err != nil {
		t.Skip("no links on this system")
	}
	if _, err := Verify(dir); err == nil || !strings.Contains(err.Error(), "no links") {
		t.Errorf("a folder with a link: %v", err)
	}
}

// Whoever changes a record and seals it with a key of their own has a record
// that fits, under another fingerprint. It is the fingerprint that people
// compare; a seal alone cannot say more.
func TestAnotherKey(t *testing.T) {
	s, job := shelved(t, "hood")
	l, err := Gather(s, job)
	if err != nil {
		t.Fatal(err)
	}
	theirs := ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize))
	forged, err := Build(l, s.find, nil, theirs)
	if err != nil {
		t.Fatal(err)
	}
	got := verified(laid(t, forged))
	if len(got.Faults) > 0 || Fingerprint(got.Seal.Key) == Fingerprint(testKey.Public().(ed25519.PublicKey)) {
		t.Errorf("%q, %s", got.Faults, Fingerprint(got.Seal.Key))
	}

	// With the seal's own key a seal that says another thing than its lines is
	// found all the same.
	files := laid(t, forged)
	seal := forged.Seal
	seal.How = "no-film"
	files[nameSeal], files[nameView] = seal.Append(nil), seal.view()
	files[nameSig] = ed25519.Sign(theirs, files[nameSeal])
	if got := verified(files); !named(got, "says another thing than the lines") {
		t.Errorf("a seal that lies: %q", got.Faults)
	}
}

// Without Bayhold: a public CBOR library reads the seal, the standard library's
// Ed25519 (RFC 8032) checks it, SHA-256 every file; and so do openssl and
// sha256sum as README.txt says, where they are installed.
func TestWithoutBayhold(t *testing.T) {
	s, job := shelved(t, "removal")
	r := sealed(t, s, job)
	files := laid(t, r)

	mode, err := cbor.DecOptions{DupMapKey: cbor.DupMapKeyEnforcedAPF, IndefLength: cbor.IndefLengthForbidden}.DecMode()
	if err != nil {
		t.Fatal(err)
	}
	var seal []any
	if err := mode.Unmarshal(files["seal.cbor"], &seal); err != nil {
		t.Fatal(err)
	}
	if seal[0] != "bayhold record" || len(seal) != 16 {
		t.Fatalf("%v", seal[:2])
	}
	if !ed25519.Verify(ed25519.PublicKey(seal[15].([]byte)), files["seal.cbor"], files["seal.sig"]) {
		t.Error("the signature does not verify")
	}
	canonical, err := cbor.CoreDetEncOptions().EncMode()
	if err != nil {
		t.Fatal(err)
	}
	if b, err := canonical.Marshal(seal); err != nil || !bytes.Equal(b, files["seal.cbor"]) {
		t.Errorf("the seal is not in RFC 8949's core deterministic encoding: %v", err)
	}
	// The hand-over's chain, from the exact bytes in lines.jsonl alone.
	lines, err := jsonl.Read(bytes.NewReader(files["lines.jsonl"]))
	if err != nil {
		t.Fatal(err)
	}
	handed := seal[3].([]any)
	chain := logbook.Genesis(logbook.Log{Class: 'j', ID: job})
	for _, l := range lines {
		if l.Entry.Log.Class == 'j' && l.Receipt.Order <= handed[1].(uint64) {
			chain = logbook.Next(chain, l.Receipt.Append(nil), l.Bytes)
		}
	}
	if !bytes.Equal(chain[:], handed[2].([]byte)) {
		t.Error("the lines do not lead to the hand-over's hash")
	}

	dir := t.TempDir()
	for name, b := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := Verify(dir); err != nil || len(got.Faults) > 0 {
		t.Errorf("the folder on disk: %+v, %v", got, err)
	}
	for _, line := range []string{"sha256sum -c SHA256SUMS", "openssl pkeyutl -verify -pubin -inkey shop.pem -rawin -in seal.cbor -sigfile seal.sig"} {
		if !strings.Contains(strings.Join(strings.Fields(strings.ReplaceAll(string(files["README.txt"]), "\\", "")), " "), line) {
			t.Errorf("README.txt does not say %q", line)
		}
		args := strings.Fields(line)
		if _, err := exec.LookPath(args[0]); err != nil {
			t.Logf("%s is not installed", args[0])
			continue
		}
		run := func() error {
			cmd := exec.Command(args[0], args[1:]...)
			cmd.Dir = dir
			out, err := cmd.CombinedOutput()
			t.Logf("%s: %.200s", line, out)
			return err
		}
		if err := run(); err != nil {
			t.Errorf("%s: %v", line, err)
		}
	}
}

// The tables are RFC 4180 to Go's strict reader and to Python's, with as many
// cells in every row, CR LF at every end, and no cell that a spreadsheet
// computes. The dates are read by a public iCalendar library.
func TestPublicParsers(t *testing.T) {
	s, job := shelved(t, "bus-side")
	for what, files := range map[string]map[string][]byte{"bus side": laid(t, sealed(t, s, job)), "small": laid(t, small(t))} {
		for name, b := range files {
			if !strings.HasSuffix(name, ".csv") {
				continue
			}
			in := csv.NewReader(bytes.NewReader(b)) // strict: every row has the first one's cells
			rows, err := in.ReadAll()
			if err != nil || len(rows) < 2 {
				t.Fatalf("%s, %s: %d rows, %v", what, name, len(rows), err)
			}
			if bytes.Count(b, []byte("\n")) != bytes.Count(b, []byte("\r\n")) || !bytes.HasSuffix(b, []byte("\r\n")) {
				t.Errorf("%s, %s: a row does not end with CR LF", what, name)
			}
			for i, row := range rows {
				for _, cell := range row {
					if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) && !plainNumber(cell) {
						t.Errorf("%s, %s, row %d: %q would be computed", what, name, i+1, cell)
					}
				}
			}
			pythonReads(t, b, rows)
		}
		cal, err := ics.ParseCalendar(bytes.NewReader(files["dates.ics"]))
		if err != nil {
			t.Fatal(err)
		}
		if what == "bus side" {
			var said []string
			for _, e := range cal.Events() {
				at, err := e.GetStartAt()
				if err != nil {
					t.Error(err)
				}
				said = append(said, at.UTC().Format("02 15:04 ")+e.GetProperty(ics.ComponentPropertySummary).Value)
			}
			// Handed over at 17:10 on the sixth, as testdata/jobs/story tells; each
			// line is known to within a quarter of a minute here.
			if !slices.Contains(said, "06 17:10 B12 handed over") {
				t.Errorf("%q", said)
			}
		}
	}
	for cell, want := range map[string]string{"=1+1": "'=1+1", "+49 30": "'+49 30", "-3.500": "-3.500", "-x": "'-x", "@SUM": "'@SUM", "\tx": "'\tx", "\rx": "'\rx",
		"＝1": "'＝1", "3-4": "3-4", "--1": "'--1", "-": "'-", "": ""} {
		if got := harmless(cell); got != want {
			t.Errorf("%q becomes %q, want %q", cell, got, want)
		}
	}
}

// pythonReads compares what Python's csv module reads, strictly.
func pythonReads(t *testing.T, b []byte, rows [][]string) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Log("python3 is not installed")
		return
	}
	cmd := exec.Command(python, "-c", `import csv, io, sys
rows = list(csv.reader(io.TextIOWrapper(sys.stdin.buffer, encoding="utf-8", newline=""), strict=True))
sys.stdout.buffer.write("\x1e".join("\x1f".join(c.replace("\r\n", "\n") for c in r) for r in rows).encode())`)
	cmd.Stdin = bytes.NewReader(b)
	out, err := cmd.Output()
	if err != nil {
		t.Error(err)
		return
	}
	var want []string
	for _, r := range rows {
		want = append(want, strings.Join(r, "\x1f"))
	}
	if string(out) != strings.Join(want, "\x1e") {
		t.Errorf("Python reads another table: %.300s", out)
	}
}

// A job that is under way has no record, and one that nobody knows has none.
func TestNotHandedOver(t *testing.T) {
	s, job := shelved(t, "van")
	closed := logbook.Log{Class: 'j', ID: job}
	for i, x := range s.logs[closed] {
		if e, err := logbook.Decode(x[1]); err == nil && e.Kind == "job.close" {
			s.logs[closed] = s.logs[closed][:i]
			break
		}
	}
	if _, err := Gather(s, job); err != ErrOpen {
		t.Errorf("%v, want %v", err, ErrOpen)
	}
	if _, err := Gather(s, logbook.Named("nobody")); err == nil || !strings.Contains(err.Error(), "no job has the id") {
		t.Error(err)
	}
}

// Damaged bytes end in a sentence, never in a panic.
func FuzzSeal(f *testing.F) {
	r := small(f)
	f.Add(r.Seal.Append(nil))
	f.Fuzz(func(t *testing.T, b []byte) {
		if s, err := readSeal(b); err == nil && !bytes.Equal(s.Append(nil), b) {
			t.Fatalf("%x is read, and written as %x", b, s.Append(nil))
		}
	})
}
