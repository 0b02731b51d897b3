package paper

import (
	"bytes"
	"errors"
	"fmt"
	goimage "image"
	"image/color"
	"image/jpeg"
	_ "image/png" // phones send JPEG, PNG and WebP
	"io"

	"bayhold/checklist/record"

	"github.com/carlos7ags/folio/core"
	folio "github.com/carlos7ags/folio/image"
	"golang.org/x/image/draw"
	_ "golang.org/x/image/webp"
)

const (
	// budget is what all photos of a document may take together, in bytes, so
	// that it can be mailed; most is what one needs at its size on the page.
	budget = 4 << 20
	most   = 160 << 10
	// longest is a photo's longer side in the document, in points of a screen:
	// 165 points of paper at 300 to the inch.
	longest = 690
	// largest is how many points a photo may have before it is opened.
	largest = 64 << 20
)

// image is a photo as the document holds it.
type image struct {
	name   string
	stream core.PdfObject
}

// shareOf is what each photo of a record may take.
func shareOf(r *record.Record) int {
	n := 1
	for _, p := range r.Sections {
		for _, b := range p.Blocks {
			if photos, ok := b.(record.Pictures); ok {
				n += len(photos)
			}
		}
	}
	return min(most, budget/n)
}

// pictures sets photos three in a row, each over its words.
func (s *sheet) pictures(in *node, all record.Pictures, open func(string) (io.ReadCloser, bool)) error {
	const across = 3
	wide := (s.wide() - 12*(across-1)) / across
	high := wide * 3 / 4
	for i := 0; i < len(all); i += across {
		row := all[i:min(i+across, len(all))]
		s.need(high + 4*small*leaded)
		y, lowest := s.y, s.y
		for k, photo := range row {
			s.y = y
			x := left + (wide+12)*float64(k)
			scaled, w, h, err := shrunk(photo.SHA, open, s.share)
			if err != nil {
				return fmt.Errorf("photo %s: %w", photo.SHA, err)
			}
			if scaled == nil {
				s.y += 2
				s.text(in.add("P"), s.regular, small, x, wide, grey, photo.Missing)
			} else {
				m := image{fmt.Sprintf("P%d", len(s.images)), scaled}
				s.images = append(s.images, m)
				scale := min(wide/float64(w), high/float64(h))
				s.figure(in, photo.Caption, x, float64(w)*scale, high, func(p *page) {
					p.ConcatMatrix(float64(w)*scale, 0, 0, float64(h)*scale, x, s.up(y+high))
					p.Do(m.name)
				})
				s.y += 3
			}
			s.text(in.add("P"), s.regular, small, x, wide, black, photo.Caption)
			lowest = max(lowest, s.y)
		}
		s.y = lowest + 10
	}
	return nil
}

// shrunk reads one photo and scales it down until it fits into its share; nil if
// the shop does not have it, or cannot read it.
func shrunk(sha string, open func(string) (io.ReadCloser, bool), share int) (out core.PdfObject, w, h int, err error) {
	if open == nil {
		return nil, 0, 0, nil
	}
	in, ok := open(sha)
	if !ok {
		return nil, 0, 0, nil
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	var begin bytes.Buffer
	about, _, err := goimage.DecodeConfig(io.TeeReader(in, &begin))
	if err != nil || about.Width*about.Height > largest || about.Width < 1 || about.Height < 1 {
		return nil, 0, 0, nil
	}
	picture, _, err := goimage.Decode(io.MultiReader(&begin, in))
	if err != nil {
		return nil, 0, 0, nil
	}
	var small *goimage.RGBA
	for side, quality := longest, 74; ; {
		if small == nil {
			w, h = about.Width, about.Height
			if long := max(w, h); long > side {
				w, h = max(1, w*side/long), max(1, h*side/long)
			}
			small = goimage.NewRGBA(goimage.Rect(0, 0, w, h))
			draw.Draw(small, small.Bounds(), goimage.NewUniform(color.White), goimage.Point{}, draw.Src)
			draw.ApproxBiLinear.Scale(small, small.Bounds(), picture, picture.Bounds(), draw.Over, nil)
		}
		var packed bytes.Buffer
		if err := jpeg.Encode(&packed, small, &jpeg.Options{Quality: quality}); err != nil {
			return nil, 0, 0, err
		}
		if packed.Len() <= share || side < 100 {
			photo, err := folio.NewJPEG(packed.Bytes())
			if err != nil {
				return nil, 0, 0, err
			}
			var object core.PdfObject
			photo.BuildXObject(func(o core.PdfObject) *core.PdfIndirectReference {
				object = o
				return core.NewPdfIndirectReference(1, 0)
			})
			return object, w, h, nil
		}
		if quality > 50 {
			quality -= 12
		} else {
			side, small = side*3/4, nil
		}
	}
}
