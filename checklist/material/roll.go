package material

import (
	"errors"
	"slices"
	"strconv"

	"bayhold/checklist/say"
)

// best lays the pieces on the given width, or on that of [Widths] that takes
// the least film.
func best(pieces []Piece, r Roll, bleed func(Bleed) float64) (Cut, error) {
	if r.WidthMM != 0 {
		return lay(pieces, r, bleed)
	}
	var found Cut
	var first error
	for _, w := range Widths {
		r.WidthMM = w
		c, err := lay(pieces, r, bleed)
		if err != nil {
			if first == nil {
				first = err
			}
			continue
		}
		if found.Placed == nil || c.FilmM2 < found.FilmM2 {
			found = c
		}
	}
	if found.Placed == nil {
		return Cut{}, first
	}
	return found, nil
}

func lay(pieces []Piece, r Roll, bleed func(Bleed) float64) (Cut, error) {
	usable := r.WidthMM - r.EdgeMM
	c := Cut{Pieces: pieces, Roll: r}
	var todo []Placed
	hardest, hard := 0, -1.0
	for i, p := range pieces {
		c.BodyM2 += p.Along * p.Across / 1e6
		cut := split(i, p, r, bleed(Bleeds[p.Kind]))
		if len(todo)+len(cut) > mostDrops {
			return Cut{}, errors.New("more than " + strconv.Itoa(mostDrops) + " pieces of film; valid is less: take a wider roll")
		}
		todo = append(todo, cut...)
		if h := float64(p.Kind)*1e9 + p.Along*p.Across; h > hard {
			hardest, hard = i, h
		}
	}
	if r.FirstTime {
		for _, s := range split(hardest, pieces[hardest], r, bleed(Bleeds[pieces[hardest].Kind])) {
			s.Spare = true
			todo = append(todo, s)
		}
	}
	for _, p := range todo {
		if p.Along > r.LengthM*1000 {
			return Cut{}, errors.New(pieces[p.Piece].Name + ": " + say.Number(p.Along, 0) + " mm is longer than the roll; valid is up to " +
				say.Number(r.LengthM*1000, 0) + " mm")
		}
	}
	// The longest first; the sort keeps the list's order among equals.
	slices.SortStableFunc(todo, func(a, b Placed) int {
		switch {
		case a.Along > b.Along:
			return -1
		case a.Along < b.Along:
			return 1
		}
		return 0
	})
	length, rolls := shelve(todo, usable, r.LengthM*1000)
	lost := 0.0
	if r.Printed {
		lost += printMM
	}
	if r.Laminated {
		lost += laminateMM
	}
	c.Placed, c.Rolls = todo, rolls
	c.LengthM = (length + lost*float64(rolls)) / 1000
	c.FilmM2 = c.LengthM * r.WidthMM / 1000
	c.Waste = 1 - c.BodyM2/c.FilmM2
	return c, nil
}

// split returns the drops of a piece, or those of the piece turned if its
// direction is free and that takes less film.
func split(i int, p Piece, r Roll, bleed float64) []Placed {
	usable := r.WidthMM - r.EdgeMM
	along, across := p.Along+2*bleed, p.Across+2*bleed
	if p.Laps {
		along += r.OverlapMM
	}
	straight := cutUp(i, along, across, usable, r.OverlapMM, false)
	if r.Keep {
		return straight
	}
	turned := cutUp(i, across, along, usable, r.OverlapMM, true)
	if filmOf(turned) < filmOf(straight) {
		return turned
	}
	return straight
}

func cutUp(i int, along, across, usable, overlap float64, turned bool) []Placed {
	n := drops(across, usable, overlap)
	each := across
	if n > 1 {
		each = usable
	}
	out := make([]Placed, n)
	for d := range out {
		out[d] = Placed{Piece: i, Drop: d, Turned: turned, Along: along, Across: each}
	}
	return out
}

func filmOf(drops []Placed) float64 {
	sum := 0.0
	for _, d := range drops {
		sum += d.Along * d.Across
	}
	return sum
}

// shelve places the pieces, longest first, and returns the length used over
// all rolls and the number of rolls.
func shelve(todo []Placed, usable, rollLength float64) (length float64, rolls int) {
	type shelf struct {
		roll    int
		y, used float64
	}
	var shelves []shelf
	var ends []float64 // of each roll
	for i := range todo {
		p := &todo[i]
		s := slices.IndexFunc(shelves, func(s shelf) bool { return s.used+p.Across <= usable+1e-9 })
		if s < 0 {
			roll := slices.IndexFunc(ends, func(end float64) bool { return end+p.Along <= rollLength+1e-9 })
			if roll < 0 {
				roll = len(ends)
				ends = append(ends, 0)
			}
			s = len(shelves)
			shelves = append(shelves, shelf{roll: roll, y: ends[roll]})
			ends[roll] += p.Along
		}
		p.Roll, p.X, p.Y = shelves[s].roll, shelves[s].used, shelves[s].y
		shelves[s].used += p.Across
	}
	for _, end := range ends {
		length += end
	}
	return length, len(ends)
}
