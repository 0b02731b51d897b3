package checklist

import "bayhold/checklist/material"

// Forces are why one panel lies under another, by material.Force: the open
// edge faces away from the wind of driving, or water runs over it, or it is in
// reach while two are fresh.
var Forces = [...]string{"airflow", "water", "reach"}

// HangPiece is a panel in the hang order.
type HangPiece struct {
	Panel, Name string
	Under       []string // panels that lie under it, and so hang before it
	Laid, Bare  bool
	Early       bool // laid before one that should lie under it: a lap faces the wrong way
}

// HangOrder returns the panels in the order in which they hang, by the seams
// that were measured: airflow before water, water before reach, otherwise flat
// before contour and as the job lists them, the rear first. Without seams it is
// the job's own order. circle names seams that contradict each other; the order
// is then the job's.
func (s *Shop) HangOrder(id ID, now Span) (pieces []HangPiece, circle string) {
	v, ok := s.view(id, now)
	if !ok || v.limits == nil {
		return nil, ""
	}
	laps := v.laps()
	order := make([]int, len(v.open.Panels))
	for i := range order {
		order[i] = i
	}
	if len(laps) > 0 {
		hang := make([]material.Hanging, len(order))
		for i := range hang {
			hang[i] = material.Hanging{Name: v.open.Panels[i].Name, Contour: v.open.Panels[i].Contour}
		}
		if o, err := material.HangOrder(hang, laps, false); err != nil {
			circle = err.Error()
		} else {
			order = o.Order
			laps = lapsWithout(laps, o.Yielded)
		}
	}
	for _, i := range order {
		p := HangPiece{Panel: v.open.Panels[i].ID, Name: v.open.Panels[i].Name, Bare: v.ended[i].bare, Laid: v.ended[i].is && !v.ended[i].bare}
		for _, l := range laps {
			if l.Over == i {
				p.Under = append(p.Under, v.open.Panels[l.Under].ID)
				u := &v.ended[l.Under]
				p.Early = p.Early || p.Laid && !u.bare && (!u.is || v.ended[i].laid.Latest < u.laid.Earliest)
			}
		}
		pieces = append(pieces, p)
	}
	return pieces, circle
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

func lapsWithout(laps, gone []material.Lap) []material.Lap {
	var out []material.Lap
	for _, l := range laps {
		kept := true
		for _, g := range gone {
			kept = kept && l != g
		}
		if kept {
			out = append(out, l)
		}
	}
	return out
}

// BeforeUnder asks whether a panel is to be laid before one that should lie
// under it, "" if there is none.
func (s *Shop) BeforeUnder(id ID, panel string, now Span) string {
	pieces, _ := s.HangOrder(id, now)
	v, ok := s.view(id, now)
	if !ok {
		return ""
	}
	for i := range pieces {
		if pieces[i].Panel != panel {
			continue
		}
		for _, under := range pieces[i].Under {
			u := v.panel(under)
			if e := &v.ended[v.place(u)]; e.is {
				continue
			}
			if v.lapForce(panel, under) == material.Airflow {
				return say(sayLapForward, upper(pieces[i].Name), u.Name)
			}
			return say(sayLapUnder, pieces[i].Name, upper(u.Name))
		}
	}
	return ""
}

func (v *view) lapForce(over, under string) material.Force {
	for _, l := range v.laps() {
		if v.open.Panels[l.Over].ID == over && v.open.Panels[l.Under].ID == under {
			return l.Force
		}
	}
	return material.Reach
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
