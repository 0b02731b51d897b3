package paper

import (
	"fmt"
	"io"

	"bayhold/checklist/record"
)

// What a pen in a gloved hand needs: a row of 9 mm, a box of 6 mm to tick
// (common practice, no source).
const (
	writeHigh = 25.5
	tickBox   = 17.0
	codeHigh  = 104.0 // of the code beside the facts
)

// WriteCards sets one card after the other, each on sheets of its own that can
// be handed out: it begins on the front of a sheet. Printed on both sides, no
// two jobs share one.
func WriteCards(out io.Writer, cards []*record.Record, o Options) error {
	if len(cards) == 0 {
		return fmt.Errorf("there is no card to print")
	}
	s, err := blank(o.Size)
	if err != nil {
		return err
	}
	for i, r := range cards {
		if i > 0 && len(s.pages)%2 == 1 {
			s.turn()
		}
		if err := s.set(r, o); err != nil {
			return fmt.Errorf("%s: %w", r.Subject, err)
		}
	}
	return s.finish(out, cards[0])
}

// face sets facts with a code beside them.
func (s *sheet) face(in *node, f record.Face) error {
	y := s.y
	x := left + s.wide() - codeHigh
	wide := s.wide() - codeHigh - 12
	name := 0.0
	for _, fact := range f.Facts {
		name = max(name, s.bold.measure(s.clean(s.bold, fact.Name), body)+2*padX)
	}
	name = min(name, wide/2)
	rows := in.add("Table").add("TBody")
	for _, fact := range f.Facts {
		tr, top := rows.add("TR"), s.y
		th := tr.add("TH")
		th.scope = "Row"
		s.text(th, s.bold, body, left, name-padX, black, fact.Name)
		low := s.y
		s.y = top
		s.text(tr.add("TD"), s.regular, body, left+name, wide-name, black, fact.Value)
		s.y = max(low, s.y) + 1.5
	}
	low := s.y
	s.y = y - 8 // its quiet zone is white anyway
	if err := s.dots(in, f.Code, x, codeHigh); err != nil {
		return err
	}
	s.y -= 6
	s.text(in.add("P"), s.regular, small, x+8, codeHigh-8, grey, f.Code.Caption)
	s.y = max(low, s.y) + 8
	return nil
}

// form sets a table to be written on: every cell has its lines all around, in
// black, so that a copy still shows them.
func (s *sheet) form(in *node, f record.Form) {
	parts := 0
	for _, n := range f.Wide {
		parts += n
	}
	wide := make([]float64, len(f.Wide))
	for i, n := range f.Wide {
		wide[i] = s.wide() * float64(n) / float64(parts)
	}
	row := func(cells []string, head, write bool) *formRow {
		r := &formRow{sheet: s, wide: wide, head: head, write: write, numbers: f.Numbers}
		r.fill(cells)
		return r
	}
	head := row(f.Head, true, false)
	rows := make([]*formRow, len(f.Rows))
	whole := 2*body*leaded + head.high()
	for i, r := range f.Rows {
		rows[i] = row(r.Cells, false, r.Write)
		whole += rows[i].high()
	}
	if begun := 2*body*leaded + head.high() + 4*writeHigh; whole > s.floor()-top {
		whole = begun // longer than a page: it may begin here
	}
	s.need(whole)
	s.text(in.add("P"), s.bold, sub, left, s.wide(), black, f.Title)
	s.y += 2
	table := in.add("Table")
	head.draw(table.add("THead").add("TR"))
	in = table.add("TBody")
	for _, r := range rows {
		if s.y+r.high() > s.floor() {
			s.turn()
			head.draw(nil)
		}
		r.draw(in.add("TR"))
	}
	s.y += 10
}

// formRow is a row, its cells broken into lines. A name that is longer than a
// third of a page is cut there: no row is higher than a page.
type formRow struct {
	*sheet
	wide        []float64
	lines       [][]string // by column
	head, write bool
	numbers     bool
}

func (r *formRow) letters(i int) letters {
	if r.head || i == 0 {
		return r.bold
	}
	return r.regular
}

func (r *formRow) fill(cells []string) {
	r.lines = make([][]string, len(r.wide))
	for i, c := range cells {
		if c == record.Tick {
			r.lines[i] = []string{c}
			continue
		}
		l := r.wrap(r.letters(i), small, r.wide[i]-2*padX, c)
		r.lines[i] = l[:min(len(l), 20)]
	}
}

func (r *formRow) high() float64 {
	n := 1
	for _, l := range r.lines {
		n = max(n, len(l))
	}
	high := float64(n)*small*leaded + 2*padY
	if r.write {
		high = max(high, writeHigh)
	}
	return high
}

// draw sets the row; without an element it is the head repeated.
func (r *formRow) draw(tr *node) {
	s, p, high := r.sheet, r.page(), r.high()
	s.aside(p, func() {
		if r.head {
			p.SetFillColorRGB(shade[0], shade[1], shade[2])
			p.Rectangle(left, s.up(s.y+high), s.wide(), high)
			p.Fill()
		}
		x := left
		p.SetStrokeColorRGB(black[0], black[1], black[2])
		p.SetLineWidth(0.6)
		for i, w := range r.wide {
			p.Rectangle(x, s.up(s.y+high), w, high)
			p.Stroke()
			if len(r.lines[i]) == 1 && r.lines[i][0] == record.Tick {
				p.SetLineWidth(1.2)
				p.Rectangle(x+(w-tickBox)/2, s.up(s.y+(high+tickBox)/2), tickBox, tickBox)
				p.Stroke()
				p.SetLineWidth(0.6)
			}
			x += w
		}
	})
	x := left
	for i := range r.wide {
		set := func() {
			if len(r.lines[i]) == 1 && r.lines[i][0] == record.Tick {
				return
			}
			y := s.y + (high-float64(len(r.lines[i]))*small*leaded)/2
			for k, text := range r.lines[i] {
				at := x + padX
				if r.numbers && i > 0 {
					at = x + r.wide[i] - padX - r.letters(i).measure(text, small)
				}
				s.write(p, r.letters(i), small, at, y+float64(k)*small*leaded+small, black, text)
			}
		}
		if tr == nil {
			s.aside(p, set)
		} else {
			s.mark((&grid{sheet: s}).cell(tr, i, r.head, false), set)
		}
		x += r.wide[i]
	}
	s.y += high
}
