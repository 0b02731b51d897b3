package paper

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"bayhold/checklist/record"

	"github.com/carlos7ags/folio/core"
	"github.com/carlos7ags/folio/document"
	"github.com/carlos7ags/folio/font"
)

// Size is a sheet of paper.
type Size uint8

// The sizes: ISO 216 A4, and Letter.
const (
	A4 Size = iota
	Letter
)

var sizes = [...][2]float64{A4: {595.28, 841.89}, Letter: {612, 792}}

// Options is how a record is set.
type Options struct {
	Size Size
	// Photo opens the photo of a hash; ok is false if the shop does not have it.
	// Without it no photo is set.
	Photo func(sha string) (photo io.ReadCloser, ok bool)
}

// Write sets a record and writes its PDF.
func Write(out io.Writer, r *record.Record, o Options) error {
	s, err := blank(o.Size)
	if err != nil {
		return err
	}
	s.share = shareOf(r)
	if err := s.set(r, o); err != nil {
		return err
	}
	return s.finish(out, r)
}

// blank is a document without a page.
func blank(size Size) (*sheet, error) {
	read, err := faces()
	if err != nil {
		return nil, fmt.Errorf("the record's letters: %w", err)
	}
	return &sheet{width: sizes[size][0], height: sizes[size][1], root: &node{tag: "Document"},
		regular: letters{"R", font.NewEmbeddedFont(read[0])}, bold: letters{"B", font.NewEmbeddedFont(read[1])}}, nil
}

// set puts a record on pages of its own.
func (s *sheet) set(r *record.Record, o Options) error {
	s.turn()
	first := len(s.pages) - 1
	s.text(s.root.add("H1"), s.bold, title, left, s.wide(), black, r.Title)
	s.text(s.root.add("P"), s.regular, sub+1, left, s.wide(), grey, r.Subject)
	s.y += 6
	for i := range r.Sections {
		if err := s.section(&r.Sections[i], r, o); err != nil {
			return err
		}
	}
	s.feet(r, first)
	return nil
}

// section sets a heading and its blocks.
func (s *sheet) section(p *record.Section, r *record.Record, o Options) error {
	in := s.root.add("Sect")
	s.need(begins(p.Blocks))
	if s.y > top {
		s.y += 10
	}
	s.headings = append(s.headings, heading{p.Title, len(s.pages) - 1, s.y})
	s.text(in.add("H2"), s.bold, head, left, s.wide(), black, p.Title)
	s.y += 4
	for i, b := range p.Blocks {
		switch b := b.(type) {
		case record.Sub:
			s.need(48)
			s.y += 4
			s.text(in.add("H3"), s.bold, sub, left, s.wide(), black, string(b))
			s.y += 2
		case record.Say:
			s.text(in.add("P"), s.regular, body, left, s.wide(), black, string(b))
			s.y += 6
		case record.Points:
			s.points(in, b)
		case record.Facts:
			s.facts(in, b)
		case record.Table:
			s.table(in, b)
		case record.Plan:
			s.plan(in, b)
		case record.Form:
			s.form(in, b)
		case record.Face:
			if err := s.face(in, b); err != nil {
				return err
			}
		case record.Plot:
			s.plot(in, b)
		case record.Ink:
			s.ink(in, b)
		case record.Code:
			if err := s.code(in, b); err != nil {
				return err
			}
		case record.Pictures:
			if err := s.pictures(in, b, o.Photo); err != nil {
				return err
			}
		default:
			return fmt.Errorf("block %d of %s is of a kind that paper cannot set: %T", i, p.Key, b)
		}
	}
	return nil
}

// begins is how much room a section's heading wants with the beginning of what
// stands under it.
func begins(blocks []record.Block) float64 {
	for i, b := range blocks {
		switch b := b.(type) {
		case record.Plan, record.Plot, record.Pictures:
			if i < 2 {
				return 325
			}
		case record.Code:
			return 240 // the seal stands whole
		case record.Form:
			if i == 0 {
				return 80 + float64(len(b.Rows))*writeHigh
			}
		}
	}
	return 90
}

// points sets a list.
func (s *sheet) points(in *node, points record.Points) {
	list := in.add("L")
	for _, p := range points {
		item := list.add("LI")
		s.need(2 * body * leaded)
		s.mark(item.add("Lbl"), func() { s.write(s.page(), s.regular, body, left+2, s.y+body, black, "•") })
		s.text(item.add("LBody"), s.regular, body, left+12, s.wide()-12, black, p)
		s.y += 1.5
	}
	s.y += 6
}

// feet puts the vehicle and the page's number under every page from the first
// of the record on.
func (s *sheet) feet(r *record.Record, first int) {
	for i, p := range s.pages[first:] {
		y := s.height - bottom + 22
		number := strings.NewReplacer("{1}", strconv.Itoa(i+1), "{2}", strconv.Itoa(len(s.pages)-first)).Replace(r.Words.Page)
		s.aside(p, func() {
			s.line(p, left, y-10, left+s.wide(), y-10, 0.4, rule)
			if lines := s.wrap(s.regular, small, s.wide()*0.75, r.Title+" · "+r.Subject); len(lines) > 0 {
				s.write(p, s.regular, small, left, y, grey, lines[0])
			}
			number = s.clean(s.regular, number)
			s.write(p, s.regular, small, left+s.wide()-s.regular.measure(number, small), y, grey, number)
		})
	}
}

// finish writes the objects: pages, fonts, images, tags, outline, catalog.
func (s *sheet) finish(out io.Writer, r *record.Record) error {
	w := document.NewWriter("1.7")
	sum := sha256.New()

	fonts := core.NewPdfDictionary()
	for _, f := range []letters{s.regular, s.bold} {
		fonts.Set(f.name, w.AddObject(f.font.BuildObjects(w.AddObject)))
	}
	images := core.NewPdfDictionary()
	for i, m := range s.images {
		images.Set(m.name, w.AddObject(m.stream))
		s.images[i].stream = nil
	}
	resources := w.AddObject(dictionary("Font", fonts, "XObject", images))

	all := core.NewPdfDictionary()
	parent := w.AddObject(all)
	t := &tree{add: w.AddObject, parents: make([][]*core.PdfIndirectReference, len(s.pages))}
	kids := core.NewPdfArray()
	for i, p := range s.pages {
		bytes := p.Bytes()
		sum.Write(bytes)
		ref := w.AddObject(dictionary("Type", core.NewPdfName("Page"), "Parent", parent,
			"MediaBox", core.NewPdfArray(core.NewPdfInteger(0), core.NewPdfInteger(0), core.NewPdfReal(s.width), core.NewPdfReal(s.height)),
			"Contents", w.AddObject(core.NewPdfStreamCompressed(bytes)), "Resources", resources,
			"StructParents", core.NewPdfInteger(i), "Tabs", core.NewPdfName("S")))
		t.pages = append(t.pages, ref)
		kids.Add(ref)
	}
	all.Set("Type", core.NewPdfName("Pages"))
	all.Set("Kids", kids)
	all.Set("Count", core.NewPdfInteger(len(s.pages)))

	at := time.UnixMilli(r.At).UTC()
	name := r.Title + ": " + r.Subject
	meta := core.NewPdfStream(metadata(name, r.Language, at))
	meta.SetCompress(false)
	meta.Dict.Set("Type", core.NewPdfName("Metadata"))
	meta.Dict.Set("Subtype", core.NewPdfName("XML"))
	catalog := dictionary("Type", core.NewPdfName("Catalog"), "Pages", parent, "Lang", core.NewPdfTextString(r.Language),
		"MarkInfo", dictionary("Marked", core.NewPdfBoolean(true)), "StructTreeRoot", t.root(s.root),
		"ViewerPreferences", dictionary("DisplayDocTitle", core.NewPdfBoolean(true)), "Metadata", w.AddObject(meta),
		"Outlines", s.outline(w, t.pages))
	w.SetRoot(w.AddObject(catalog))
	w.SetInfo(w.AddObject(dictionary("Title", core.NewPdfTextString(name), "CreationDate", core.NewPdfLiteralString(at.Format("D:20060102150405Z")))))
	w.SetFileID(sum.Sum(nil)[:16])
	_, err := w.WriteTo(out)
	return err
}

// outline lists the sections with their pages.
func (s *sheet) outline(w *document.Writer, pages []*core.PdfIndirectReference) *core.PdfIndirectReference {
	root := dictionary("Type", core.NewPdfName("Outlines"), "Count", core.NewPdfInteger(len(s.headings)))
	ref := w.AddObject(root)
	items := make([]*core.PdfDictionary, len(s.headings))
	refs := make([]*core.PdfIndirectReference, len(s.headings))
	for i, h := range s.headings {
		items[i] = dictionary("Title", core.NewPdfTextString(h.text), "Parent", ref, "Dest", core.NewPdfArray(pages[h.page],
			core.NewPdfName("XYZ"), core.NewPdfNull(), core.NewPdfReal(s.up(h.y)), core.NewPdfNull()))
		refs[i] = w.AddObject(items[i])
	}
	for i := range items {
		if i > 0 {
			items[i].Set("Prev", refs[i-1])
		}
		if i+1 < len(items) {
			items[i].Set("Next", refs[i+1])
		}
	}
	if len(refs) > 0 {
		root.Set("First", refs[0])
		root.Set("Last", refs[len(refs)-1])
	}
	return ref
}

// metadata is the document's XMP packet (ISO 16684-1), with its title, language
// and the identifier of ISO 14289-1 section 5.
func metadata(name, language string, at time.Time) []byte {
	var text bytes.Buffer
	for _, r := range name {
		switch r {
		case '<':
			text.WriteString("&lt;")
		case '&':
			text.WriteString("&amp;")
		default:
			if r >= ' ' {
				text.WriteRune(r)
			}
		}
	}
	return fmt.Appendf(nil, `<?xpacket begin="%s" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">%s</rdf:li></rdf:Alt></dc:title>
<dc:language><rdf:Bag><rdf:li>%s</rdf:li></rdf:Bag></dc:language>
<xmp:CreateDate>%s</xmp:CreateDate>
<pdfuaid:part>1</pdfuaid:part>
</rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="r"?>`, "\ufeff", text.String(), language, at.Format("2006-01-02T15:04:05Z"))
}
