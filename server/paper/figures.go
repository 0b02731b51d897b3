package paper

import (
	"fmt"
	"math"
	"strconv"

	"bayhold/checklist/record"

	"rsc.io/qr"
)

// figure sets a drawing of that size as one element with its words.
func (s *sheet) figure(in *node, alt string, x, wide, high float64, draw func(p *page)) {
	s.need(high)
	n := in.add("Figure")
	n.alt = alt
	n.box = [4]float64{x, s.up(s.y + high), x + wide, s.up(s.y)}
	s.mark(n, func() {
		s.page().SaveState()
		draw(s.page())
		s.page().RestoreState()
	})
	s.y += high
}

// code sets a text as a QR code (ISO/IEC 18004), with its words beside it.
func (s *sheet) code(in *node, c record.Code) error {
	const high = 112.0 // a cell of half a millimetre and more
	s.need(high + 20)
	if err := s.dots(in, c, left, high); err != nil {
		return err
	}
	s.text(in.add("P"), s.regular, small, left, s.wide(), grey, c.Caption)
	s.y += 6
	return nil
}

// dots sets the code alone, so large, with its left end at x.
func (s *sheet) dots(in *node, c record.Code, x, high float64) error {
	code, err := qr.Encode(c.Text, qr.M)
	if err != nil {
		return fmt.Errorf("the record's code: %w", err)
	}
	cell := high / float64(code.Size+8)
	y := s.y
	s.figure(in, c.Caption+": "+c.Text, x, high, high, func(p *page) {
		p.SetFillColorRGB(black[0], black[1], black[2])
		for row := range code.Size {
			for col := 0; col < code.Size; col++ {
				run := 0
				for col+run < code.Size && code.Black(col+run, row) {
					run++
				}
				if run > 0 {
					p.Rectangle(x+cell*float64(col+4), s.up(y+cell*float64(row+5)), cell*float64(run), cell)
					col += run
				}
			}
		}
		p.Fill()
	})
	return nil
}

// penUp is what lifts the pen between two strokes of a signature.
const penUp = 0x7fff

// ink sets signatures as they were drawn, three in a row.
func (s *sheet) ink(in *node, all record.Ink) {
	const across, high = 3, 56.0
	wide := s.wide() / across
	for i := 0; i < len(all); i += across {
		row := all[i:min(i+across, len(all))]
		s.need(high + 3*small*leaded)
		y, lowest := s.y, s.y
		for k, g := range row {
			s.y = y
			x := left + wide*float64(k)
			s.figure(in, g.Caption, x, wide-12, high, func(p *page) { s.strokes(p, g.Strokes, x+4, y+4, wide-20, high-8) })
			s.text(in.add("P"), s.regular, small, x, wide-12, grey, g.Caption)
			lowest = max(lowest, s.y)
		}
		s.y = lowest + 6
	}
}

// strokes draws a signature into a box, as large as it fits.
func (s *sheet) strokes(p *page, raw []byte, x, y, wide, high float64) {
	var points [][2]float64
	least, most := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for i := 0; i+3 < len(raw); i += 4 {
		at := [2]float64{float64(int16(uint16(raw[i])<<8 | uint16(raw[i+1]))), float64(int16(uint16(raw[i+2])<<8 | uint16(raw[i+3])))}
		points = append(points, at)
		if at[0] == penUp {
			continue
		}
		for k := range at {
			least[k], most[k] = min(least[k], at[k]), max(most[k], at[k])
		}
	}
	if least[0] > most[0] {
		return
	}
	scale := min(wide/max(1, most[0]-least[0]), high/max(1, most[1]-least[1]))
	p.SetStrokeColorRGB(black[0], black[1], black[2])
	p.SetLineWidth(1.1)
	p.SetLineCap(1)
	p.SetLineJoin(1)
	down := false
	for _, at := range points {
		if at[0] == penUp {
			down = false
			continue
		}
		px, py := x+(at[0]-least[0])*scale, s.up(y+(at[1]-least[1])*scale)
		if !down {
			p.MoveTo(px, py)
			p.LineTo(px, py) // a dot is ink too
		} else {
			p.LineTo(px, py)
		}
		down = true
	}
	p.Stroke()
}

// plot sets curves over time: the axis in the shop's degrees, days below, what
// counted as a bar along the foot, what happened as numbers along the top.
func (s *sheet) plot(in *node, t record.Plot) {
	const high, key, foot = 190.0, 34.0, 12.0
	s.need(high + key + foot + 30)
	s.text(in.add("P"), s.bold, small+0.5, left, s.wide(), black, t.Title+", "+t.Unit)
	s.y += 2
	x0, wide := left+28, s.wide()-28
	y0 := s.y + 14
	least, most := math.Inf(1), math.Inf(-1)
	see := func(v int64) { least, most = min(least, float64(v)/1000), max(most, float64(v)/1000) }
	for _, c := range t.Curves {
		for _, p := range c.Spots {
			see(p.Value)
		}
	}
	for _, l := range t.Limits {
		see(l.Value)
	}
	step := 5.0
	if most-least > 50 {
		step = 10
	}
	least, most = math.Floor(least/step)*step-step, math.Ceil(most/step)*step
	px := func(at int64) float64 { return x0 + wide*float64(at-t.From)/float64(max(1, t.To-t.From)) }
	py := func(v int64) float64 { return y0 + high*(most-float64(v)/1000)/(most-least) }

	s.figure(in, t.Title+". "+t.Alt, left, s.wide(), high+14+foot+key, func(p *page) {
		for v := least; v <= most; v += step {
			y := py(int64(v * 1000))
			s.line(p, x0, y, x0+wide, y, 0.3, rule)
			label := strconv.Itoa(int(v))
			s.write(p, s.regular, 7, x0-4-s.regular.measure(label, 7), y+2.5, grey, label)
		}
		last := -100.0
		for _, d := range t.Days {
			x := max(px(d.At), x0)
			s.line(p, x, y0, x, y0+high+3, 0.4, rule)
			if x-last > 34 && x < x0+wide-20 {
				s.write(p, s.regular, 7, x+2, y0+high+9, grey, s.clean(s.regular, d.Text))
				last = x
			}
		}
		for _, l := range t.Limits {
			y := py(l.Value)
			p.SetDashPattern([]float64{1.5, 2}, 0)
			s.line(p, x0, y, x0+wide, y, 0.9, black)
			p.SetDashPattern(nil, 0)
			name := s.clean(s.regular, l.Name)
			at := x0 + wide - s.regular.measure(name, 7) - 3
			p.SetFillColorRGB(1, 1, 1)
			p.Rectangle(at-2, s.up(y-2), x0+wide-at, 7.5)
			p.Fill()
			s.write(p, s.regular, 7, at, y-3, black, name)
		}
		for _, c := range t.Counted {
			p.SetFillColorRGB(0.55, 0.57, 0.60)
			p.Rectangle(px(c[0]), s.up(y0+high-1), max(0.5, px(c[1])-px(c[0])), 5)
			p.Fill()
		}
		looks := []struct {
			ink  [3]float64
			dash []float64
		}{{air, nil}, {dew, []float64{5, 2.5}}, {black, nil}}
		for i, c := range t.Curves {
			look := looks[i%len(looks)]
			p.SetStrokeColorRGB(look.ink[0], look.ink[1], look.ink[2])
			p.SetFillColorRGB(look.ink[0], look.ink[1], look.ink[2])
			p.SetLineWidth(1.1)
			p.SetLineJoin(1)
			if c.Dots {
				for _, d := range thin(c.Spots, 400) {
					diamond(p, px(d.At), s.up(py(d.Value)), 2.1)
				}
				continue
			}
			p.SetDashPattern(look.dash, 0)
			var before int64
			for k, d := range thin(c.Spots, 600) {
				if x, y := px(d.At), s.up(py(d.Value)); k == 0 || d.At-before > gap {
					p.MoveTo(x, y)
				} else {
					p.LineTo(x, y)
				}
				before = d.At
			}
			p.Stroke()
			p.SetDashPattern(nil, 0)
		}
		last = -100
		for _, m := range t.Marks {
			x := min(max(px(m.At), x0+4), x0+wide-4)
			if x-last < 9 {
				x = last + 9
			}
			s.disc(p, x, y0-7, m.Text)
			last = x
		}
		// The key, in words beside the sign.
		x, y := x0, y0+high+foot+14
		for i, c := range t.Curves {
			look := looks[i%len(looks)]
			if c.Dots {
				p.SetFillColorRGB(look.ink[0], look.ink[1], look.ink[2])
				diamond(p, x+9, s.up(y-2.5), 2.6)
			} else {
				p.SetDashPattern(look.dash, 0)
				s.line(p, x, y-2.5, x+18, y-2.5, 1.3, look.ink)
				p.SetDashPattern(nil, 0)
			}
			name := s.clean(s.regular, c.Name)
			s.write(p, s.regular, small, x+22, y, black, name)
			x += 34 + s.regular.measure(name, small)
		}
		if len(t.Counted) > 0 {
			p.SetFillColorRGB(0.55, 0.57, 0.60)
			p.Rectangle(x, s.up(y), 18, 5)
			p.Fill()
			s.write(p, s.regular, small, x+22, y, black, s.clean(s.regular, t.CountedName))
		}
	})
	s.y += 4
}

// gap is how long a curve may be without a value and still be joined.
const gap = 2 * 60 * 60 * 1000

// thin leaves the least and the most of each piece of a long curve.
func thin(spots []record.Spot, n int) []record.Spot {
	if len(spots) <= n {
		return spots
	}
	var out []record.Spot
	piece := (2*len(spots) + n - 1) / n
	for i := 0; i < len(spots); i += piece {
		part := spots[i:min(i+piece, len(spots))]
		low, high := 0, 0
		for k := range part {
			if part[k].Value < part[low].Value {
				low = k
			}
			if part[k].Value > part[high].Value {
				high = k
			}
		}
		out = append(out, part[min(low, high)])
		if low != high {
			out = append(out, part[max(low, high)])
		}
	}
	return out
}

func diamond(p *page, x, y, r float64) {
	p.MoveTo(x, y+r)
	p.LineTo(x+r, y)
	p.LineTo(x, y-r)
	p.LineTo(x-r, y)
	p.ClosePath()
	p.Fill()
}

// disc is a number in a circle.
func (s *sheet) disc(p *page, x, y float64, text string) {
	p.SetFillColorRGB(1, 1, 1)
	p.SetStrokeColorRGB(black[0], black[1], black[2])
	p.SetLineWidth(0.7)
	p.Circle(x, s.up(y), 4.6)
	p.FillAndStroke()
	s.write(p, s.bold, 6.5, x-s.bold.measure(text, 6.5)/2, y+2.3, black, text)
}
