package paper

import (
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/carlos7ags/folio/core"
	"github.com/carlos7ags/folio/reader"
)

// said reads a document's text in the order of its structure tree, with a
// figure's words in brackets, and fails the test where the tags are not as
// ISO 32000-1 section 14.7 and 14.8 and ISO 14289-1 section 7 ask (from memory;
// neither standard is free to read):
//
//   - the document is marked, has a language, a title that is shown;
//   - every mark on a page is marked content with a number, or an artifact, and
//     neither lies in the other;
//   - every number of a page belongs to exactly one element, the parent tree
//     says the same;
//   - headings begin with one H1 and leave out no level;
//   - a table's rows have as many cells as each other, its TH a scope;
//   - figures have words and a box;
//   - every letter has its Unicode.
func said(t *testing.T, pdf []byte) string {
	t.Helper()
	r, err := reader.Parse(pdf)
	if err != nil {
		t.Fatal(err)
	}
	d := &tagged{t: t, r: r, text: map[[2]int]string{}, seen: map[[2]int]string{}}
	c := r.Catalog()
	if !d.yes(d.dict(c, "MarkInfo"), "Marked") {
		t.Error("the document is not marked")
	}
	if l, _ := d.get(c, "Lang").(*core.PdfString); l == nil || len(l.Text()) != 2 {
		t.Error("the document has no language")
	}
	if !d.yes(d.dict(c, "ViewerPreferences"), "DisplayDocTitle") {
		t.Error("the title is not shown")
	}
	if title, _, _, _, _ := r.Info(); title == "" {
		t.Error("the document has no title")
	}
	meta, _ := d.get(c, "Metadata").(*core.PdfStream)
	if meta == nil || !strings.Contains(string(meta.Data), "<pdfuaid:part>1</pdfuaid:part>") || !strings.Contains(string(meta.Data), "<dc:title>") {
		t.Error("the metadata does not name its title and standard")
	}
	for i := range r.PageCount() {
		d.page(i)
	}
	root := d.dict(c, "StructTreeRoot")
	d.parents(d.dict(root, "ParentTree"))
	var out strings.Builder
	d.element(d.dict(root, "K"), &out, nil)
	for at := range d.text {
		if d.seen[at] == "" {
			t.Errorf("content %d of page %d is in no element", at[1], at[0]+1)
		}
	}
	if d.h1 != 1 {
		t.Errorf("%d headings of the first level", d.h1)
	}
	return squeezed(out.String())
}

type tagged struct {
	t       *testing.T
	r       *reader.PdfReader
	pages   []*core.PdfDictionary
	text    map[[2]int]string // by page and number
	seen    map[[2]int]string // which element holds it
	parent  map[[2]int]string // and which the parent tree names
	level   int
	h1      int
	figures int
}

func (d *tagged) resolve(o core.PdfObject) core.PdfObject {
	out, err := d.r.ResolveObject(o)
	if err != nil {
		d.t.Fatal(err)
	}
	return out
}

func (d *tagged) get(of *core.PdfDictionary, key string) core.PdfObject {
	return d.resolve(of.Get(key))
}

func (d *tagged) yes(of *core.PdfDictionary, key string) bool {
	v, ok := d.get(of, key).(*core.PdfBoolean)
	return ok && v.Bool()
}

func (d *tagged) dict(of *core.PdfDictionary, key string) *core.PdfDictionary {
	out, ok := d.get(of, key).(*core.PdfDictionary)
	if !ok {
		d.t.Fatalf("%s is no dictionary", key)
	}
	return out
}

// page reads one page's content: what is marked, and what it says.
func (d *tagged) page(i int) {
	info, err := d.r.Page(i)
	if err != nil {
		d.t.Fatal(err)
	}
	d.pages = append(d.pages, info.Dict())
	resources, err := info.Resources()
	if err != nil {
		d.t.Fatal(err)
	}
	fonts := map[string]*reader.CMap{}
	for name, f := range d.dict(resources, "Font").All() {
		unicode := d.get(d.resolve(f).(*core.PdfDictionary), "ToUnicode").(*core.PdfStream)
		fonts[name] = reader.ParseCMap(unicode.Data)
	}
	ops, err := info.ContentOps()
	if err != nil {
		d.t.Fatal(err)
	}
	in, font := "", ""
	at := [2]int{i, -1}
	for _, op := range ops {
		switch op.Operator {
		case "BMC", "BDC":
			if in != "" {
				d.t.Errorf("page %d: %s begins inside %s", i+1, op.Operands[0].Value, in)
			}
			if len(op.Operands) != map[string]int{"BMC": 1}[op.Operator] && op.Operator == "BMC" {
				d.t.Errorf("page %d: BMC with %d operands", i+1, len(op.Operands))
			}
			in, at[1] = op.Operands[0].Value, -1
			if op.Operator == "BMC" {
				if in != "Artifact" {
					d.t.Errorf("page %d: %s has no number", i+1, in)
				}
				break
			}
			for k, o := range op.Operands {
				if o.Value == "MCID" && k+1 < len(op.Operands) {
					at[1] = int(op.Operands[k+1].Int)
				}
			}
			if _, twice := d.text[at]; twice || at[1] < 0 {
				d.t.Errorf("page %d: number %d of %s is missing or stands twice", i+1, at[1], in)
			}
			d.text[at] = ""
		case "EMC":
			if in == "" {
				d.t.Errorf("page %d: ends what never began", i+1)
			}
			in = ""
		case "Tf":
			font = op.Operands[0].Value
		case "Tj", "TJ", "'", "\"", "Do", "S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "sh":
			if in == "" {
				d.t.Fatalf("page %d: %s outside marked content", i+1, op.Operator)
			}
			if op.Operator != "Tj" || in == "Artifact" {
				break
			}
			said := d.decode(fonts[font], op.Operands[0].Value)
			d.text[at] += said + " "
		}
	}
	if in != "" {
		d.t.Errorf("page %d: %s never ends", i+1, in)
	}
}

// decode is a hexadecimal string of glyphs as Unicode.
func (d *tagged) decode(m *reader.CMap, value string) string {
	raw := []byte(value)
	if b, err := hex.DecodeString(strings.Trim(value, "<>")); err == nil && len(value)%4 == 0 {
		raw = b
	}
	said := m.Decode(raw)
	if said == "" && len(raw) > 0 || strings.ContainsRune(said, '\uFFFD') || strings.ContainsRune(said, 0) {
		d.t.Errorf("letters %x have no Unicode", raw)
	}
	return said
}

// parents reads the parent tree: which element each number of a page belongs to.
func (d *tagged) parents(tree *core.PdfDictionary) {
	d.parent = map[[2]int]string{}
	nums := d.get(tree, "Nums").(*core.PdfArray)
	for i := 0; i+1 < nums.Len(); i += 2 {
		page := d.resolve(nums.At(i)).(*core.PdfNumber).IntValue()
		list := d.resolve(nums.At(i + 1)).(*core.PdfArray)
		for n := range list.Len() {
			d.parent[[2]int{page, n}] = fmt.Sprint(list.At(n).(*core.PdfIndirectReference).Num())
		}
	}
}

// element reads one element and what it holds.
func (d *tagged) element(e *core.PdfDictionary, out *strings.Builder, ref *core.PdfIndirectReference) (cells int) {
	tag := d.get(e, "S").(*core.PdfName).Value
	switch tag {
	case "H1", "H2", "H3":
		level := int(tag[1] - '0')
		if level > d.level+1 {
			d.t.Errorf("%s after level %d", tag, d.level)
		}
		if d.level = level; level == 1 {
			d.h1++
		}
	case "TH":
		if s, _ := d.get(d.dict(e, "A"), "Scope").(*core.PdfName); s == nil || s.Value != "Row" && s.Value != "Column" {
			d.t.Error("a TH has no scope")
		}
	case "Figure":
		alt, _ := d.get(e, "Alt").(*core.PdfString)
		box, _ := d.get(d.dict(e, "A"), "BBox").(*core.PdfArray)
		if box == nil || box.Len() != 4 {
			d.t.Error("a figure has no box")
		}
		words := ""
		if alt != nil {
			words = alt.TextString()
		}
		out.WriteString("[" + words + "]")
		out = &strings.Builder{} // its letters are part of the picture
	}
	kids, _ := d.get(e, "K").(*core.PdfArray)
	if kids == nil {
		kids = core.NewPdfArray(e.Get("K"))
	}
	var wide []int
	for i := range kids.Len() {
		k, ok := d.resolve(kids.At(i)).(*core.PdfDictionary)
		if !ok {
			d.t.Fatalf("%s holds what is neither element nor content", tag)
		}
		if kind, _ := k.Get("Type").(*core.PdfName); kind != nil && kind.Value == "MCR" {
			page := d.get(k, "Pg").(*core.PdfDictionary)
			at := [2]int{slices.IndexFunc(d.pages, func(p *core.PdfDictionary) bool { return d.same(p, page) }), k.Get("MCID").(*core.PdfNumber).IntValue()}
			text, ok := d.text[at]
			if !ok || d.seen[at] != "" {
				d.t.Errorf("content %d of page %d is not there, or in two elements", at[1], at[0]+1)
			}
			d.seen[at] = tag
			if ref == nil || d.parent[at] != fmt.Sprint(ref.Num()) {
				d.t.Errorf("the parent tree gives content %d of page %d to another", at[1], at[0]+1)
			}
			out.WriteString(text)
			continue
		}
		under := d.get(k, "S").(*core.PdfName).Value
		if want := map[string]string{"Table": "THead TBody", "THead": "TR", "TBody": "TR", "TR": "TH TD", "L": "LI", "LI": "Lbl LBody"}[tag]; want != "" && !slices.Contains(strings.Fields(want), under) {
			d.t.Errorf("%s holds a %s", tag, under)
		}
		child, _ := kids.At(i).(*core.PdfIndirectReference)
		n := d.element(k, out, child)
		switch tag {
		case "TR":
			cells++
		case "THead", "TBody", "Table":
			if n > 0 {
				wide = append(wide, n)
			}
		}
	}
	if len(wide) > 0 {
		if slices.Min(wide) != slices.Max(wide) {
			d.t.Errorf("rows of a table have %v cells", wide)
		}
		cells = wide[0]
	}
	return cells
}

// same says whether two dictionaries are one page: they have one number in the
// parent tree.
func (d *tagged) same(a, b *core.PdfDictionary) bool {
	x, _ := a.Get("StructParents").(*core.PdfNumber)
	y, _ := b.Get("StructParents").(*core.PdfNumber)
	return x != nil && y != nil && x.IntValue() == y.IntValue()
}
