package paper

import (
	"bytes"
	goimage "image"
	"image/color"
	"image/jpeg"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"

	"bayhold/checklist"
	"bayhold/checklist/record"
	"bayhold/server/browsertest"
	"bayhold/testdata/jobs/story"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// recordOf is the record of one of the four whole jobs.
func recordOf(t testing.TB, name, language string) *record.Record {
	t.Helper()
	s := checklist.NewShop()
	now := int64(0)
	for i, e := range story.Jobs[name]() {
		l := e.Line()
		l.Order = uint64(i + 1)
		s.Add(l)
		now = max(now, l.Span.Latest)
	}
	r, ok := record.Of(s, record.Asked{Job: s.Jobs()[0], Now: checklist.Span{Earliest: now, Latest: now}, Language: language,
		Seal: record.Seal{Epoch: 1, Order: 40, Head: strings.Repeat("5a", 32), Key: "an invented key"}})
	if !ok {
		t.Fatalf("%s has no job", name)
	}
	return r
}

// jpegOf is a photo of noise, the worst that can be packed.
func jpegOf(t testing.TB, wide, high int) []byte {
	t.Helper()
	noise := rand.New(rand.NewPCG(1, 2))
	m := goimage.NewGray(goimage.Rect(0, 0, wide, high))
	for i := range m.Pix {
		m.Pix[i] = uint8(noise.Uint32())
	}
	m.SetGray(0, 0, color.Gray{255})
	var out bytes.Buffer
	if err := jpeg.Encode(&out, m, nil); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// always answers one photo for every hash.
func always(photo []byte) func(string) (io.ReadCloser, bool) {
	return func(string) (io.ReadCloser, bool) { return io.NopCloser(bytes.NewReader(photo)), true }
}

func write(t testing.TB, r *record.Record, o Options) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, r, o); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// kept says where to leave the documents for a person to look at:
// BAYHOLD_PAPER=DIR go test ./server/paper.
func kept(t testing.TB, name string, pdf []byte) {
	if dir := os.Getenv("BAYHOLD_PAPER"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name+".pdf"), pdf, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// TestPapers: the four whole jobs, in each language and on each paper. What the
// tags hold, in their order, is what the record says and all of it; and the
// rules of tags.go's check.
func TestPapers(t *testing.T) {
	photo := jpegOf(t, 64, 48)
	for name := range story.Jobs {
		for i, language := range checklist.Languages {
			t.Run(name+" "+language, func(t *testing.T) {
				r := recordOf(t, name, language)
				for size, paper := range []string{"a4", "letter"} {
					// Each job once in each language and once on each paper; all
					// four ways where somebody asks for it.
					if size != i && os.Getenv("BAYHOLD_LONG") != "1" && os.Getenv("BAYHOLD_PAPER") == "" {
						continue
					}
					o := Options{Size: Size(size), Photo: always(photo)}
					pdf := write(t, r, o)
					kept(t, name+"."+language+"."+paper, pdf)
					if name == "van" && !bytes.Equal(pdf, write(t, r, o)) {
						t.Error("set twice, the record is not the same bytes")
					}
					got, want := said(t, pdf), squeezed(expected(r))
					if got != want {
						at := 0
						for at < len(got) && at < len(want) && got[at] == want[at] {
							at++
						}
						t.Errorf("on %s the tags hold\n...%s\nwhere the record says\n...%s", paper, part(got, at), part(want, at))
					}
				}
			})
		}
	}
}

func part(s string, at int) string { return s[max(0, min(at, len(s))-40):min(len(s), at+80)] }

// expected is the record as a reader of tags gets it, block by block.
func expected(r *record.Record) string {
	var b strings.Builder
	add := func(of ...string) {
		for _, s := range of {
			b.WriteString(s)
		}
	}
	add(r.Title, r.Subject)
	for _, p := range r.Sections {
		add(p.Title)
		for _, block := range p.Blocks {
			switch x := block.(type) {
			case record.Sub:
				add(string(x))
			case record.Say:
				add(string(x))
			case record.Points:
				for _, s := range x {
					add("•", s)
				}
			case record.Facts:
				for _, f := range x {
					add(f.Name, f.Value)
				}
			case record.Table:
				add(x.Title)
				add(x.Head...)
				for _, row := range x.Rows {
					add(row...)
				}
			case record.Form:
				add(x.Title)
				add(x.Head...)
				for _, row := range x.Rows {
					for _, c := range row.Cells {
						add(strings.ReplaceAll(c, record.Tick, ""))
					}
				}
			case record.Face:
				for _, f := range x.Facts {
					add(f.Name, f.Value)
				}
				add("["+x.Code.Caption+": "+x.Code.Text+"]", x.Code.Caption)
			case record.Plan:
				add("[" + x.Alt + "]")
			case record.Plot:
				add(x.Title, ", ", x.Unit, "["+x.Title+". "+x.Alt+"]")
			case record.Pictures:
				for _, s := range x {
					add("["+s.Caption+"]", s.Caption)
				}
			case record.Ink:
				for _, s := range x {
					add("["+s.Caption+"]", s.Caption)
				}
			case record.Code:
				add("["+x.Caption+": "+x.Text+"]", x.Caption)
			}
		}
	}
	return b.String()
}

// squeezed is a text without its white space: lines break where the paper ends.
func squeezed(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return r
	}, s)
}

// TestMailable: 24 photos of noise are still under 5 MB, what many mail servers
// take at least (common practice, no source). Noise is packed one by one until
// it fits its share, which is slow: here for one photo, and 24 times its share
// beside the document without photos; all 24 where somebody asks for it.
func TestMailable(t *testing.T) {
	const limit = 5 << 20
	noise := always(jpegOf(t, 720, 540))
	r := recordOf(t, "van", "en")
	share := budget / 25 // of 24 photos
	photo, w, h, err := shrunk("x", noise, share)
	if err != nil {
		t.Fatal(err)
	}
	var packed bytes.Buffer
	if _, err := photo.WriteTo(&packed); err != nil {
		t.Fatal(err)
	}
	// A third of the page is 165 points wide: 150 points to the inch are 344.
	if n := packed.Len(); n > share+1<<10 || max(w, h) < 344 {
		t.Errorf("a photo of %d by %d takes %d bytes of %d", w, h, n, share)
	}
	if n := len(write(t, r, Options{})) + 24*(share+1<<10); n >= limit {
		t.Errorf("with 24 photos it can take %d bytes", n)
	}
	if os.Getenv("BAYHOLD_LONG") != "1" {
		return
	}
	var all record.Pictures
	for range 24 {
		all = append(all, record.Picture{SHA: "x", Caption: "left side. 3 Mar 13:50, J"})
	}
	r.Sections = append(r.Sections, record.Section{Key: "photos", Title: "Photos", Blocks: []record.Block{all}})
	pdf := write(t, r, Options{Photo: noise})
	if n := strings.Count(string(pdf), "/DCTDecode"); n < 24 {
		t.Errorf("%d photos are in the document, want 24 more than its own", n)
	}
	if len(pdf) >= limit {
		t.Errorf("%d bytes, want under 5 MB", len(pdf))
	}
}

// TestNoPhoto: a photo that is missing, or is none, is told in words.
func TestNoPhoto(t *testing.T) {
	for name, open := range map[string]func(string) (io.ReadCloser, bool){
		"none": nil, "missing": func(string) (io.ReadCloser, bool) { return nil, false }, "not a photo": always([]byte("not a photo")),
		"cut off": always(jpegOf(t, 64, 48)[:700]),
	} {
		r := recordOf(t, "hood", "en")
		r.Sections = []record.Section{{Key: "photos", Title: "Photos", Blocks: []record.Block{record.Pictures{{SHA: "x", Caption: "hood", Missing: "Not at the shop."}}}}}
		pdf := write(t, r, Options{Photo: open})
		if got := said(t, pdf); !strings.HasSuffix(got, "PhotosNotattheshop.hood") {
			t.Errorf("%s: %s", name, got)
		}
	}
}

// TestLongAndStrange: rows higher than a page, words wider than a column, letters
// that the font lacks, an empty table, hundreds of rows.
func TestLongAndStrange(t *testing.T) {
	long := strings.Repeat("rinsed from the roof down and blown out again ", 200)
	wide := strings.Repeat("W", 300)
	rows := [][]string{{"note", long}, {wide, wide}, {"", ""}, {"漢字 and a\ttab", "ñ é ü ß Ω Ж"}}
	for range 150 {
		rows = append(rows, []string{"row", "short"})
	}
	r := &record.Record{Language: "en", Title: "T", Subject: long, Words: record.Words{Page: "{1} {2}"}, Sections: []record.Section{
		{Title: "S", Blocks: []record.Block{record.Table{Head: []string{"a", "b"}, Rows: rows}, record.Facts{{Name: wide, Value: long}},
			record.Points{long, ""}, record.Say(long), record.Table{Head: []string{"a"}}, record.Plan{}, record.Plot{Alt: "none"},
			record.Ink{{Caption: "ink", Strokes: []byte{0, 1, 0, 2, 0, 9, 0, 9, 0x7f, 0xff, 0x7f, 0xff, 0, 3}}}}},
	}}
	got := said(t, write(t, r, Options{Size: Letter}))
	want := strings.NewReplacer("漢字", "□□").Replace(squeezed(expected(r)))
	want = strings.Replace(want, "[]", "", 1) // a plan without words has none
	if strings.Replace(got, "[]", "", 1) != want {
		t.Errorf("got %d letters, want %d", len(got), len(want))
	}
}

// TestPublicReaders: qpdf finds nothing to mend, and pdftotext reads the text.
// They are public programs.
func TestPublicReaders(t *testing.T) {
	browsertest.Tools(t, "qpdf", "pdftotext")
	for name := range story.Jobs {
		r := recordOf(t, name, "es")
		file := filepath.Join(t.TempDir(), name+".pdf")
		if err := os.WriteFile(file, write(t, r, Options{Photo: always(jpegOf(t, 64, 48))}), 0o644); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.Command("qpdf", "--check", file).CombinedOutput(); err != nil || !strings.Contains(string(out), "No syntax or stream encoding errors") {
			t.Errorf("%s: qpdf: %v\n%s", name, err, out)
		}
		out, err := exec.Command("pdftotext", "-layout", file, "-").CombinedOutput()
		if err != nil {
			t.Fatal(err, string(out))
		}
		text := squeezed(string(out))
		for _, want := range []string{"Registrodelvehículo", "Calentamientofinal", "Páginade1", "5a5a5a5a"} {
			if want == "Páginade1" {
				want = "Página1de"
			}
			if !strings.Contains(text, want) {
				t.Errorf("%s: pdftotext does not read %s", name, want)
			}
		}
	}
}

// TestCode: a camera reads the job and the head of its chain off the paper, here
// as pdftoppm draws it and gozxing sees it. Both are public.
func TestCode(t *testing.T) {
	browsertest.Tools(t, "pdftoppm")
	r := recordOf(t, "hood", "en")
	r.Sections = r.Sections[len(r.Sections)-1:]
	var want string
	for _, b := range r.Sections[0].Blocks {
		if c, ok := b.(record.Code); ok {
			want = c.Text
		}
	}
	if !strings.HasSuffix(want, " "+strings.Repeat("5a", 32)) {
		t.Fatalf("the code says %q", want)
	}
	file := filepath.Join(t.TempDir(), "seal")
	if err := os.WriteFile(file+".pdf", write(t, r, Options{}), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("pdftoppm", "-png", "-singlefile", "-r", "300", "-x", "150", "-y", "0", "-W", "700", "-H", "1500", file+".pdf", file).CombinedOutput(); err != nil {
		t.Fatal(err, string(out))
	}
	if got := camera(t, file+".png"); got != want {
		t.Errorf("a camera reads %q, want %q", got, want)
	}
}

// TestDrawings: the vehicles are those of the app. Every path of the data file
// stands in the app's; with node, every region is compared too.
func TestDrawings(t *testing.T) {
	source, err := os.ReadFile("../../pwa/app/views/bodies.js")
	if err != nil {
		t.Fatal(err)
	}
	paths := 0
	for name, b := range bodies() {
		for _, path := range []string{b.Side, b.Glass, b.Channels, b.Middle, b.MiddleGlass} {
			if !strings.Contains(string(source), "'"+path+"'") {
				t.Errorf("%s: the app has no path %s", name, path)
			}
			paths += min(1, len(path))
		}
	}
	if want := strings.Count(string(source), ": 'M"); paths != want {
		t.Errorf("%d paths, the app has %d", paths, want)
	}
	if _, err := exec.LookPath("node"); err != nil {
		t.Skip("node is not installed: regions are not compared")
	}
	out, err := exec.Command("node", "--input-type=module", "-e", drawn).Output()
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(out, drawings) {
		t.Error("bodies.json is not what the app draws; write it anew from what this test prints with -v")
		t.Logf("%s", out)
	}
}

// drawn prints the app's drawings as bodies.json has them.
const drawn = `
import { bodies } from '../../pwa/app/views/bodies.js';
const list = (v) => Array.isArray(v) ? v : [v];
const lines = Object.entries(bodies).map(([key, b]) => JSON.stringify(key) + ': ' + JSON.stringify({
  long: b.long, high: b.high, strip: b.strip, oneSide: b.sides === 'L', side: b.side, glass: b.glass, wheels: b.wheels,
  channels: b.channels, middle: b.middle, middleGlass: b.middleGlass,
  panels: Object.fromEntries(Object.entries(b.panels).map(([k, v]) => [k, list(v)])), slices: b.slices ?? {} }));
console.log('{\n' + lines.join(',\n') + '\n}');
`

// TestPanelsDrawn: every panel of the four jobs has its place on the drawing.
func TestPanelsDrawn(t *testing.T) {
	for name := range story.Jobs {
		for _, p := range recordOf(t, name, "en").Sections {
			for _, b := range p.Blocks {
				plan, ok := b.(record.Plan)
				if !ok {
					continue
				}
				var ids []string
				for _, p := range plan.Panels {
					ids = append(ids, p.ID)
				}
				for _, id := range ids {
					if id != "bumper" && len(bodyOf(plan.Vehicle, ids).regions(id, ids)) == 0 {
						t.Errorf("%s: no place for panel %s", name, id)
					}
				}
				if slices.Contains(ids, "") {
					t.Errorf("%s: a panel without a name", name)
				}
			}
		}
	}
}

// camera reads the code in a picture, by a public reader.
func camera(t *testing.T, picture string) string {
	t.Helper()
	in, err := os.Open(picture)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	drawn, _, err := goimage.Decode(in)
	if err != nil {
		t.Fatal(err)
	}
	bits, err := gozxing.NewBinaryBitmapFromImage(drawn)
	if err != nil {
		t.Fatal(err)
	}
	got, err := qrcode.NewQRCodeReader().Decode(bits, nil)
	if err != nil {
		t.Fatal(err)
	}
	return got.GetText()
}
