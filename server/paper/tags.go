package paper

import (
	"github.com/carlos7ags/folio/core"
)

// A node is a structure element (ISO 32000-1 section 14.7.2): its type, and what
// it holds in reading order, other nodes or marked content.
type node struct {
	tag   string
	alt   string
	scope string     // of a TH: "Column" or "Row"
	box   [4]float64 // of a Figure, on its page
	kids  []kid
}

// kid is a node, or marked content on a page if node is nil.
type kid struct {
	node       *node
	page, mcid int
}

// add puts a new element into n and returns it.
func (n *node) add(tag string) *node {
	child := &node{tag: tag}
	n.kids = append(n.kids, kid{node: child})
	return child
}

// tree turns the elements into objects, and each page's list of the elements
// that hold its marked content, by their number.
type tree struct {
	add     func(core.PdfObject) *core.PdfIndirectReference
	pages   []*core.PdfIndirectReference
	parents [][]*core.PdfIndirectReference
}

// root writes the structure tree under a document element.
func (t *tree) root(document *node) *core.PdfIndirectReference {
	root := core.NewPdfDictionary()
	root.Set("Type", core.NewPdfName("StructTreeRoot"))
	ref := t.add(root)
	root.Set("K", t.element(document, ref))
	nums := core.NewPdfArray()
	for page, elements := range t.parents {
		list := core.NewPdfArray()
		for _, e := range elements {
			list.Add(e)
		}
		nums.Add(core.NewPdfInteger(page))
		nums.Add(t.add(list))
	}
	parents := core.NewPdfDictionary()
	parents.Set("Nums", nums)
	root.Set("ParentTree", t.add(parents))
	root.Set("ParentTreeNextKey", core.NewPdfInteger(len(t.parents)))
	return ref
}

func (t *tree) element(n *node, parent *core.PdfIndirectReference) *core.PdfIndirectReference {
	e := core.NewPdfDictionary()
	ref := t.add(e)
	e.Set("Type", core.NewPdfName("StructElem"))
	e.Set("S", core.NewPdfName(n.tag))
	e.Set("P", parent)
	if n.alt != "" {
		e.Set("Alt", core.NewPdfTextString(n.alt))
	}
	if n.scope != "" {
		e.Set("A", dictionary("O", core.NewPdfName("Table"), "Scope", core.NewPdfName(n.scope)))
	}
	if n.tag == "Figure" {
		box := core.NewPdfArray()
		for _, v := range n.box {
			box.Add(core.NewPdfReal(v))
		}
		e.Set("A", dictionary("O", core.NewPdfName("Layout"), "Placement", core.NewPdfName("Block"), "BBox", box))
	}
	kids := core.NewPdfArray()
	for _, k := range n.kids {
		if k.node != nil {
			kids.Add(t.element(k.node, ref))
			continue
		}
		kids.Add(dictionary("Type", core.NewPdfName("MCR"), "Pg", t.pages[k.page], "MCID", core.NewPdfInteger(k.mcid)))
		for len(t.parents[k.page]) <= k.mcid {
			t.parents[k.page] = append(t.parents[k.page], nil)
		}
		t.parents[k.page][k.mcid] = ref
	}
	e.Set("K", kids)
	return ref
}

// dictionary makes one of keys and values in turn.
func dictionary(of ...any) *core.PdfDictionary {
	d := core.NewPdfDictionary()
	for i := 0; i+1 < len(of); i += 2 {
		d.Set(of[i].(string), of[i+1].(core.PdfObject))
	}
	return d
}
