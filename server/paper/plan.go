package paper

import (
	_ "embed"
	"encoding/json"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"bayhold/checklist/record"
)

// The vehicles' drawings are those of the app, read off its data file:
// pwa/app/views/bodies.js says what they mean, and a test that both are alike.
//
//go:embed bodies.json
var drawings []byte

// vehicle is a drawing, unrolled: the left side, the strip of hood, roof and rear,
// the right side.
type vehicle struct {
	Long, High, Strip     float64
	OneSide               bool
	Side, Glass, Channels string
	Middle, MiddleGlass   string
	Wheels                [][2]float64
	Panels                map[string][]region
	Slices                map[string]region
}

// region is a part of a face: the left, the right or the strip.
type region struct {
	Face       string
	X, Y, W, H float64
}

var bodies = sync.OnceValue(func() map[string]*vehicle {
	var out map[string]*vehicle
	if err := json.Unmarshal(drawings, &out); err != nil {
		panic("paper: bodies.json: " + err.Error()) // it is built in
	}
	return out
})

// bodyOf picks the drawing by what the vehicle is called, as the app does.
func bodyOf(called string, ids []string) *vehicle {
	name := strings.ToLower(called)
	if len(ids) > 0 && !slices.ContainsFunc(ids, func(id string) bool { return id != "hood" && id != "bonnet" }) {
		return bodies()["hood"]
	}
	for _, row := range []struct{ body, of string }{{"bus", `bus|coach|tram`}, {"trailer", `trailer`}, {"box", `box`},
		{"car", `\bcar\b|estate|saloon|hatch`}, {"smallVan", `small van`}, {"highVan", `high`}} {
		if regexp.MustCompile(row.of).MatchString(name) {
			return bodies()[row.body]
		}
	}
	return bodies()["van"]
}

// size is how large the drawing is, in its own units.
func (b *vehicle) size() (wide, high float64) {
	sides := 2.0
	if b.OneSide {
		sides = 1
	}
	high = b.Long
	if high == 0 {
		high = 260
	}
	return b.High*sides + b.Strip, high
}

// matrix places a face in the drawing.
func (b *vehicle) matrix(face string) [6]float64 {
	switch face {
	case "L":
		return [6]float64{0, 1, -1, 0, b.High, 0}
	case "R":
		return [6]float64{0, 1, 1, 0, b.High + b.Strip, 0}
	}
	return [6]float64{1, 0, 0, 1, b.High, 0}
}

// box is a region in the drawing.
func (b *vehicle) box(r region) (x, y, w, h float64) {
	switch r.Face {
	case "L":
		return b.High - r.Y - r.H, r.X, r.H, r.W
	case "R":
		return b.High + b.Strip + r.Y, r.X, r.H, r.W
	}
	return b.High + r.X, r.Y, r.W, r.H
}

var numbered = regexp.MustCompile(`^(.+)-(\d+)$`)

// regions are those of a panel, none if this body has no such panel.
func (b *vehicle) regions(id string, ids []string) []region {
	if known := b.Panels[id]; len(known) > 1 {
		return known
	} else if len(known) == 1 {
		r := known[0]
		whole := id == "left" || id == "right" || id == "left-side" || id == "right-side"
		if whole && b.Panels["left-sill"] != nil && !slices.ContainsFunc(ids, func(i string) bool { return strings.Contains(i, "sill") || strings.Contains(i, "lower") }) {
			r.H = b.High - r.Y
		}
		return []region{r}
	}
	m := numbered.FindStringSubmatch(id)
	if m == nil {
		return nil
	}
	whole, ok := b.Slices[m[1]]
	n, err := strconv.Atoi(m[2])
	if !ok || err != nil || n < 1 {
		return nil
	}
	all := 0
	for _, i := range ids {
		if o := numbered.FindStringSubmatch(i); o != nil && o[1] == m[1] {
			all++
		}
	}
	part := whole.W / float64(max(all, n))
	whole.X, whole.W = whole.X+whole.W-part*float64(n), part
	return []region{whole}
}

// plan sets the vehicle unrolled beside the names of its panels in hang order.
func (s *sheet) plan(in *node, plan record.Plan) {
	ids := make([]string, len(plan.Panels))
	for i, p := range plan.Panels {
		ids[i] = p.ID
	}
	b := bodyOf(plan.Vehicle, ids)
	wide, high := b.size()
	scale := min(270/high, s.wide()*0.58/wide)
	list := float64(len(plan.Panels))*small*leaded*1.5 + 6
	room := max(high*scale, list) + 4
	s.need(room)
	y0 := s.y + 2
	s.figure(in, plan.Alt, left, s.wide(), room, func(p *page) {
		// From here on in the drawing's units, y down.
		p.SaveState()
		p.ConcatMatrix(scale, 0, 0, -scale, left, s.up(y0))
		p.SetLineJoin(1)
		face := func(f string, draw func()) {
			m := b.matrix(f)
			p.SaveState()
			p.ConcatMatrix(m[0], m[1], m[2], m[3], m[4], m[5])
			draw()
			p.RestoreState()
		}
		body := func(outline, glass string) {
			p.SetFillColorRGB(0.97, 0.97, 0.975)
			p.SetStrokeColorRGB(grey[0], grey[1], grey[2])
			p.SetLineWidth(1.1)
			trace(p, outline)
			p.FillAndStroke()
			p.SetFillColorRGB(0.86, 0.88, 0.90)
			trace(p, glass)
			p.Fill()
		}
		side := func() {
			body(b.Side, b.Glass)
			p.SetStrokeColorRGB(rule[0], rule[1], rule[2])
			p.SetLineWidth(0.8)
			trace(p, b.Channels)
			p.Stroke()
		}
		if b.Side != "" {
			face("L", side)
			if !b.OneSide {
				face("R", side)
			}
		}
		if b.Middle != "" {
			face("T", func() {
				body(b.Middle, b.MiddleGlass)
				if b.Side == "" {
					p.SetStrokeColorRGB(rule[0], rule[1], rule[2])
					trace(p, b.Channels)
					p.Stroke()
				}
			})
		}
		for _, panel := range plan.Panels {
			for _, r := range b.regions(panel.ID, ids) {
				x, y, w, h := b.box(r)
				p.SetStrokeColorRGB(black[0], black[1], black[2])
				p.SetLineWidth(0.8)
				if panel.Bare {
					p.SetDashPattern([]float64{4, 3}, 0)
				}
				p.RoundedRect(x+1.5, y+1.5, w-3, h-3, 4)
				p.Stroke()
				p.SetDashPattern(nil, 0)
			}
		}
		p.RestoreState()
		for _, panel := range plan.Panels {
			for i, r := range b.regions(panel.ID, ids) {
				x, y, w, h := b.box(r)
				cx, cy := left+(x+w/2)*scale, y0+(y+h/2)*scale
				s.disc(p, cx, cy, strconv.Itoa(panel.Order))
				if i > 0 {
					continue
				}
				for k, pin := range panel.Pins {
					s.pin(p, cx-float64(len(panel.Pins)-1)*7+float64(k)*14, cy+13, pin)
				}
			}
		}
		x := left + s.wide()*0.62
		for i, panel := range plan.Panels {
			y := y0 + 8 + float64(i)*small*leaded*1.5
			s.disc(p, x+5, y-3, strconv.Itoa(panel.Order))
			name := s.clean(s.regular, panel.Name)
			s.write(p, s.regular, small, x+14, y, black, name)
			at := x + 20 + s.regular.measure(name, small)
			for _, pin := range panel.Pins {
				s.pin(p, at+5, y-3, pin)
				at += 14
			}
		}
	})
	s.y += 6
}

// pin is a finding's number, dark on its diamond.
func (s *sheet) pin(p *page, x, y float64, n int) {
	p.SetFillColorRGB(black[0], black[1], black[2])
	diamond(p, x, s.up(y), 6.4)
	text := strconv.Itoa(n)
	s.write(p, s.bold, 6, x-s.bold.measure(text, 6)/2, y+2.1, [3]float64{1, 1, 1}, text)
}
