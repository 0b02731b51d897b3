package paper

import (
	"regexp"
	"strings"
	"sync"

	"github.com/carlos7ags/folio/content"
	"github.com/carlos7ags/folio/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/text/unicode/norm"
)

// The measures of a page, in points.
const (
	left, right = 48.0, 48.0
	top, bottom = 46.0, 54.0

	body   = 9.0 // size of text
	small  = 8.0 // and in tables and captions
	title  = 20.0
	head   = 13.0
	sub    = 10.0
	leaded = 1.34
)

// Ink.
var (
	black = [3]float64{0.10, 0.11, 0.13}
	grey  = [3]float64{0.36, 0.38, 0.41} // on white 7:1 and more
	rule  = [3]float64{0.78, 0.79, 0.81}
	air   = [3]float64{0.07, 0.36, 0.56}
	dew   = [3]float64{0.47, 0.23, 0.49}
	shade = [3]float64{0.93, 0.94, 0.95}
)

// letters is one of the document's fonts.
type letters struct {
	name string
	font *font.EmbeddedFont
}

// faces reads the fonts once for all documents; each document counts for itself
// which letters it uses.
var faces = sync.OnceValues(func() ([2]font.Face, error) {
	regular, err := font.ParseTTF(goregular.TTF)
	if err != nil {
		return [2]font.Face{}, err
	}
	bold, err := font.ParseTTF(gobold.TTF)
	return [2]font.Face{regular, bold}, err
})

// page is one page's content.
type page struct {
	*content.Stream
	marks int // how many marked contents it has
}

// heading is one that the outline names.
type heading struct {
	text string
	page int
	y    float64
}

// sheet is the document while it is laid out: y runs down from the upper edge.
type sheet struct {
	width, height float64
	pages         []*page
	y             float64
	regular, bold letters
	root          *node
	headings      []heading
	images        []image
	share         int // bytes that a photo may take
}

func (s *sheet) page() *page          { return s.pages[len(s.pages)-1] }
func (s *sheet) wide() float64        { return s.width - left - right }
func (s *sheet) floor() float64       { return s.height - bottom }
func (s *sheet) up(y float64) float64 { return s.height - y }

// turn begins a new page.
func (s *sheet) turn() {
	s.pages = append(s.pages, &page{Stream: content.NewStream()})
	s.y = top
}

// need begins a new page unless that much room is left.
func (s *sheet) need(room float64) {
	if s.y+room > s.floor() && s.y > top {
		s.turn()
	}
}

// mark draws as content of an element.
func (s *sheet) mark(n *node, draw func()) {
	p := s.page()
	n.kids = append(n.kids, kid{page: len(s.pages) - 1, mcid: p.marks})
	p.BeginMarkedContentWithID(n.tag, p.marks)
	p.marks++
	draw()
	p.EndMarkedContent()
}

// aside draws what is no content: lines, repeated headings, page numbers.
func (s *sheet) aside(p *page, draw func()) {
	p.BeginMarkedContent("Artifact")
	draw()
	p.EndMarkedContent()
}

// write puts one line of text with its left end and its base line.
func (s *sheet) write(p *page, f letters, size, x, y float64, ink [3]float64, text string) {
	if text == "" {
		return
	}
	p.BeginText()
	p.SetFillColorRGB(ink[0], ink[1], ink[2])
	p.SetFont(f.name, size)
	p.MoveText(x, s.up(y))
	p.ShowTextHex(f.font.EncodeString(text))
	p.EndText()
}

// line draws a thin line.
func (s *sheet) line(p *page, x1, y1, x2, y2, width float64, ink [3]float64) {
	p.SetStrokeColorRGB(ink[0], ink[1], ink[2])
	p.SetLineWidth(width)
	p.MoveTo(x1, s.up(y1))
	p.LineTo(x2, s.up(y2))
	p.Stroke()
}

// clean is text as it can be set: composed, on one line, without letters that
// the font lacks.
func (s *sheet) clean(f letters, text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r' || r == '\u00a0':
			return ' '
		case r < ' ':
			return -1
		case f.font.Face().GlyphIndex(r) == 0:
			return '□'
		}
		return r
	}, norm.NFC.String(text))
}

func (f letters) measure(text string, size float64) float64 { return f.font.MeasureString(text, size) }

// glue is what stays on one line: a day with its time, a number with its unit.
var glue = regexp.MustCompile(`(\d) (\p{L}{3})( \d{4})? (\d\d:\d\d)|(\d) (C|F|K|m|mm|h|min|µm|%)\b`)

// words are what a line can break between.
func (s *sheet) words(f letters, text string) []string {
	const held = '\x00'
	text = glue.ReplaceAllStringFunc(s.clean(f, text), func(m string) string { return strings.ReplaceAll(m, " ", string(held)) })
	out := strings.Fields(text)
	for i := range out {
		out[i] = strings.ReplaceAll(out[i], string(held), " ")
	}
	return out
}

// wrap breaks text into lines that are at most so wide. A word that is wider is
// broken where it must.
func (s *sheet) wrap(f letters, size, wide float64, text string) []string {
	var lines []string
	line := ""
	for _, word := range s.words(f, text) {
		joined := word
		if line != "" {
			joined = line + " " + word
		}
		if f.measure(joined, size) <= wide {
			line = joined
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for f.measure(word, size) > wide {
			n := 0
			for i := range word {
				if i > 0 && f.measure(word[:i], size) > wide {
					break
				}
				n = i
			}
			if n == 0 {
				break // not one letter fits
			}
			lines, word = append(lines, word[:n]), word[n:]
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// text sets a paragraph as an element's content, over as many pages as it needs.
func (s *sheet) text(n *node, f letters, size, x, wide float64, ink [3]float64, text string) {
	lines := s.wrap(f, size, wide, text)
	lead := size * leaded
	if len(lines) > 1 {
		s.need(2 * lead) // no single line at a page's foot
	}
	for len(lines) > 0 {
		s.need(lead)
		fit := min(len(lines), max(1, int((s.floor()-s.y)/lead)))
		if fit < len(lines) && len(lines)-fit == 1 && fit > 2 {
			fit-- // nor at a page's head
		}
		s.mark(n, func() {
			for _, l := range lines[:fit] {
				s.write(s.page(), f, size, x, s.y+size, ink, l)
				s.y += lead
			}
		})
		if lines = lines[fit:]; len(lines) > 0 {
			s.turn()
		}
	}
}
