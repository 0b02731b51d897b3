package checklist

import "bayhold/checklist/material"

// Forces are why one panel lies under another, by material.Force: the open
// edge faces away from the wind of driving, or water runs over it, or it is in
// reach while two are fresh, or looks away from where people stand.
var Forces = [...]string{"airflow", "water", "reach", "sight"}

// HangPiece is a panel in the hang order.
type HangPiece struct {
	Panel, Name string
	Under       []string // panels that lie under it, and so hang before it
	Laid, Bare  bool
	Early       bool // laid before one that should lie under it: a lap faces the wrong way
}

// HangOrder returns the panels in the order in which they hang, by the seams
// that were measured: airflow before water, then reach, then sight, otherwise flat
// before contour and as the job lists them, the rear first. Without seams it is
// the job's own order. circle says which seams contradict each other; the order
// is then the job's.
func (s *Shop) HangOrder(id ID, now Span) (pieces []HangPiece, circle string) {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil {
		return nil, ""
	}
	laps := v.laps()
	hang := make([]material.Hanging, len(v.open.Panels))
	for i := range hang {
		hang[i].Contour = len(laps) > 0 && v.open.Panels[i].Contour
	}
	o, way, _ := material.Hang(hang, laps, false)
	if way != nil {
		for _, i := range append(way, way[0]) {
			if circle != "" {
				circle += ", "
			}
			circle += v.open.Panels[i].Name
		}
		circle = say(sayCircle, circle)
		o, _, _ = material.Hang(hang, nil, false)
	}
	for _, i := range o.Order {
		e := &v.ended[i]
		p := HangPiece{Panel: v.open.Panels[i].ID, Name: v.open.Panels[i].Name, Bare: e.bare, Laid: e.is && !e.bare}
		for _, l := range laps {
			if l.Over != i || yielded(o.Yielded, l) {
				continue
			}
			p.Under = append(p.Under, v.open.Panels[l.Under].ID)
			u := &v.ended[l.Under]
			p.Early = p.Early || p.Laid && !u.bare && (!u.is || e.laid.Latest < u.laid.Earliest)
		}
		pieces = append(pieces, p)
	}
	return pieces, circle
}

func yielded(laps []material.Lap, l material.Lap) bool {
	for _, y := range laps {
		if y == l {
			return true
		}
	}
	return false
}

// laps are the seams of the job where one panel lies under another.
func (v *view) laps() []material.Lap {
	var out []material.Lap
	for i := range v.filming.shapes {
		for k := range v.filming.shapes[i].features {
			f := &v.filming.shapes[i].features[k].Feature
			p := v.panel(f.Under)
			if f.Sort != "seam" || p == nil || v.place(p) == i {
				continue
			}
			l := material.Lap{Under: v.place(p), Over: i}
			for n, name := range Forces {
				if name == f.Force {
					l.Force = material.Force(n)
				}
			}
			out = append(out, l)
		}
	}
	return out
}

// BeforeUnder asks whether a panel is to be laid before one that should lie
// under it, "" if there is none.
func (s *Shop) BeforeUnder(id ID, panel string, now Span) string {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil {
		return ""
	}
	laps := v.laps()
	o, _, _ := material.Hang(make([]material.Hanging, len(v.open.Panels)), laps, false)
	for _, l := range laps {
		over, under := &v.open.Panels[l.Over], &v.open.Panels[l.Under]
		if over.ID != panel || v.ended[l.Under].is || yielded(o.Yielded, l) {
			continue
		}
		if l.Force == material.Airflow {
			return say(sayLapForward, upper(over.Name), under.Name)
		}
		return say(sayLapUnder, over.Name, upper(under.Name))
	}
	return ""
}

// Numbers of a bus side in drops, in micrometres: what a roll's edges lose, how
// far a drop laps on the one behind it, what is spared on the last. Common
// practice, no source.
const (
	dropEdge    = 30_000
	dropOverlap = 15_000
	dropSpare   = 30_000
)

// Drops is how many drops of a roll hang on a side of that length, both in
// micrometres; 0 if the roll is too narrow for any.
func Drops(side, roll int64) int64 {
	usable := roll - dropEdge
	switch {
	case usable-dropOverlap < 100_000 || side <= 0:
		return 0
	case side <= usable:
		return 1
	}
	each := usable - dropOverlap
	return (side + dropSpare - dropOverlap + each - 1) / each
}
