package paper

import (
	"slices"
	"strings"

	"bayhold/checklist/record"
)

// The room in a cell.
const (
	padX = 5.0
	padY = 2.6
)

// table sets a table of any length. Its head is repeated on every page, its
// rows stay whole where a page can hold them. names says that the first column
// names its row.
func (s *sheet) table(in *node, t record.Table) {
	if t.Title != "" {
		s.need(60)
		s.y += 4
		s.text(in.add("P"), s.bold, small+0.5, left, s.wide(), black, t.Title)
		s.y += 2
	}
	table := in.add("Table")
	g := &grid{s, s.columns(t), t.Numbers}
	head := g.row(t.Head, true)
	first := 0.0
	if len(t.Rows) > 0 {
		first = g.row(t.Rows[0], false).high()
	}
	if len(t.Head) > 0 {
		s.need(head.high() + first + 4)
		g.draw(table.add("THead").add("TR"), head, true)
	}
	body := table.add("TBody")
	for i, cells := range t.Rows {
		r := g.row(cells, false)
		room := s.floor() - top - head.high()
		high := min(r.high(), room)
		if i == len(t.Rows)-2 && i > 0 { // no last row alone on a page
			high = min(high+g.row(t.Rows[i+1], false).high(), room)
		}
		if s.y+high > s.floor() {
			s.turn()
			g.again(head)
		}
		tr := body.add("TR")
		for len(r.lines) > 0 {
			r = g.draw(tr, r, false)
			if len(r.lines) > 0 { // higher than a page
				s.turn()
				g.again(head)
			}
		}
	}
	s.y += 8
}

// facts is names and values, as a table whose names are its headings.
func (s *sheet) facts(in *node, facts record.Facts) {
	t := record.Table{}
	for _, f := range facts {
		t.Rows = append(t.Rows, []string{f.Name, f.Value})
	}
	wide := 0.0
	for _, f := range facts {
		wide = max(wide, s.bold.measure(s.clean(s.bold, f.Name), small))
	}
	wide = min(wide+2*padX, s.wide()/3)
	g := &grid{s, []float64{wide, s.wide() - wide}, nil}
	body := in.add("Table").add("TBody")
	for _, cells := range t.Rows {
		r := g.row(cells, false)
		s.need(min(r.high(), s.floor()-top))
		tr := body.add("TR")
		for len(r.lines) > 0 {
			if r = g.draw(tr, r, false); len(r.lines) > 0 {
				s.turn()
			}
		}
	}
	s.y += 8
}

// columns shares the width out: what every column wants where all fit, and the
// rest by what each lacks where they do not.
func (s *sheet) columns(t record.Table) []float64 {
	n := len(t.Head)
	least, want := make([]float64, n), make([]float64, n)
	look := func(f letters, i int, text string) {
		words := s.words(f, text)
		want[i] = max(want[i], f.measure(strings.Join(words, " "), small)+2*padX)
		for _, word := range words {
			least[i] = max(least[i], min(f.measure(word, small), s.wide()/4)+2*padX)
		}
	}
	for i, h := range t.Head {
		look(s.bold, i, h)
	}
	for _, row := range t.Rows {
		for i, c := range row {
			f := s.regular
			if i == 0 {
				f = s.bold
			}
			look(f, i, c)
		}
	}
	out := make([]float64, n)
	sum, small := 0.0, 0.0
	for i := range want {
		// One long cell must not starve the others.
		want[i] = max(least[i], min(want[i], s.wide()*0.42))
		sum, small = sum+want[i], small+least[i]
	}
	for i := range want {
		switch {
		case sum <= s.wide():
			out[i] = want[i] + (s.wide()-sum)*want[i]/sum
		case small < s.wide():
			out[i] = least[i] + (s.wide()-small)*(want[i]-least[i])/(sum-small)
		default:
			out[i] = s.wide() * least[i] / small
		}
	}
	return out
}

// grid is a table's columns.
type grid struct {
	*sheet
	wide    []float64
	numbers []int
}

// cells is a row, broken into lines.
type cells struct {
	lines [][]string // by line, then column
	begun bool       // some of its lines stand on the page before
}

func (c cells) high() float64 { return float64(len(c.lines))*small*leaded + 2*padY }

func (g *grid) letters(i int, head bool) letters {
	if head || i == 0 {
		return g.bold
	}
	return g.regular
}

func (g *grid) row(texts []string, head bool) cells {
	var c cells
	for i, t := range texts {
		for k, line := range g.wrap(g.letters(i, head), small, g.wide[i]-2*padX, t) {
			if len(c.lines) <= k {
				c.lines = append(c.lines, make([]string, len(texts)))
			}
			c.lines[k][i] = line
		}
	}
	if len(c.lines) == 0 && len(texts) > 0 {
		c.lines = [][]string{make([]string, len(texts))}
	}
	return c
}

// again repeats the head on a new page.
func (g *grid) again(head cells) {
	if len(head.lines) > 0 {
		g.draw(nil, head, true)
	}
}

// draw sets as much of a row as the page holds, and returns the rest. Without an
// element it is a heading repeated.
func (g *grid) draw(tr *node, c cells, head bool) cells {
	s := g.sheet
	lead := small * leaded
	fit := min(len(c.lines), max(1, int((s.floor()-s.y-2*padY)/lead)))
	high := float64(fit)*lead + 2*padY
	p := s.page()
	s.aside(p, func() {
		if head {
			p.SetFillColorRGB(shade[0], shade[1], shade[2])
			p.Rectangle(left, s.up(s.y+high), s.wide(), high)
			p.Fill()
		}
		s.line(p, left, s.y+high, left+s.wide(), s.y+high, 0.4, rule)
	})
	x := left
	for i := range c.lines[0] {
		f := g.letters(i, head)
		set := func() {
			for k := range fit {
				text := c.lines[k][i]
				at := x + padX
				if slices.Contains(g.numbers, i) {
					at = x + g.wide[i] - padX - f.measure(text, small)
				}
				s.write(p, f, small, at, s.y+padY+float64(k)*lead+small, black, text)
			}
		}
		switch {
		case tr == nil:
			s.aside(p, set)
		default:
			s.mark(g.cell(tr, i, head, c.begun), set)
		}
		x += g.wide[i]
	}
	s.y += high
	return cells{c.lines[fit:], true}
}

// cell is a row's element for a column: a new one, or that which the row has from
// the page before.
func (g *grid) cell(tr *node, i int, head, again bool) *node {
	if again {
		return tr.kids[i].node
	}
	switch {
	case head:
		n := tr.add("TH")
		n.scope = "Column"
		return n
	case i == 0:
		n := tr.add("TH")
		n.scope = "Row"
		return n
	}
	return tr.add("TD")
}
