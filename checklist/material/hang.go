package material

import (
	"errors"
	"strconv"
	"strings"
)

// Force is why one piece goes under another.
type Force uint8

// The forces, strongest first on a vehicle that drives.
const (
	Airflow Force = iota // the open edge faces the rear: rear piece first
	Water                // the upper piece laps the lower one, like roof tiles
	Reach                // no lap: the one wants doing while two are fresh
	Sight                // the edge looks away from where people stand
)

// ForceNames are the words of the forces.
var ForceNames = [...]string{"airflow", "water", "reach", "sight"}

// Hanging is one piece in the order.
type Hanging struct {
	Name    string
	Ladder  bool // needs a ladder: early, while two are fresh
	Contour bool // flat pieces go first
}

// Lap says that the piece Under hangs before the piece Over; both are places in
// the list of pieces.
type Lap struct {
	Under, Over int
	Force       Force
}

// Order is the hang order.
type Order struct {
	Pieces   []Hanging
	Order    []int // places in Pieces, first to hang first
	Yielded  []Lap // laps that gave way to a stronger force
	Sentence string
}

// HangOrder returns the order in which the pieces hang: every piece after those
// that lie under it, otherwise ladder pieces first, flat before contour, and as
// listed (list the rear first).
//
// Where forces fight, as at the top front corner, airflow wins on vehicles that
// drive and water on those that stand or are slow; the laps that gave way are
// named. A circle within one force is refused, and named.
func HangOrder(pieces []Hanging, laps []Lap, slow bool) (Order, error) {
	if len(pieces) == 0 || len(pieces) > mostPieces {
		return Order{}, errors.New("list has " + strconv.Itoa(len(pieces)) + " pieces; valid is 1 to " + strconv.Itoa(mostPieces))
	}
	if len(laps) > 20*mostPieces {
		return Order{}, errors.New("list has " + strconv.Itoa(len(laps)) + " laps; valid is up to " + strconv.Itoa(20*mostPieces))
	}
	for _, l := range laps {
		if l.Under < 0 || l.Over < 0 || l.Under >= len(pieces) || l.Over >= len(pieces) || int(l.Force) >= len(ForceNames) {
			return Order{}, errors.New("a lap names a piece or a force that is not in the list; valid are 1 to " + strconv.Itoa(len(pieces)))
		}
		if l.Under == l.Over {
			return Order{}, errors.New(pieces[l.Under].Name + " cannot lie under itself; strike that lap")
		}
	}
	o, way, force := Hang(pieces, laps, slow)
	if way != nil {
		return Order{}, circle(pieces, way, force)
	}
	o.Sentence = o.sentence()
	return o, nil
}

// Hang is HangOrder for laps that name pieces of the list, without sentences:
// a gate asks so. A circle within one force is returned as the pieces on it.
func Hang(pieces []Hanging, laps []Lap, slow bool) (o Order, way []int, force Force) {
	o.Pieces = pieces
	forces := [...]Force{Airflow, Water, Reach, Sight}
	if slow {
		forces = [...]Force{Water, Airflow, Reach, Sight}
	}
	var kept []Lap
	for _, f := range forces {
		var same []Lap
		for _, l := range laps {
			if l.Force != f {
				continue
			}
			if way := path(len(pieces), same, l.Over, l.Under); way != nil {
				return Order{}, way, f
			}
			same = append(same, l)
			if path(len(pieces), kept, l.Over, l.Under) != nil {
				o.Yielded = append(o.Yielded, l)
				continue
			}
			kept = append(kept, l)
		}
	}
	o.Order = sorted(pieces, kept)
	return o, nil, 0
}

// path returns the pieces from one to another along the laps, or nil.
func path(n int, laps []Lap, from, to int) []int {
	before := make([]int, n)
	for i := range before {
		before[i] = -1
	}
	before[from] = from
	queue := []int{from}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		if at == to {
			n := 1
			for k := at; k != from; k = before[k] {
				n++
			}
			way := make([]int, n)
			for n--; n >= 0; n-- {
				way[n] = at
				at = before[at]
			}
			return way
		}
		for _, l := range laps {
			if l.Under == at && before[l.Over] < 0 {
				before[l.Over] = at
				queue = append(queue, l.Over)
			}
		}
	}
	return nil
}

func circle(pieces []Hanging, way []int, f Force) error {
	var names []string
	for _, p := range way {
		names = append(names, pieces[p].Name)
	}
	return errors.New("circle by " + ForceNames[f] + ": " + strings.Join(append(names, names[0]), " under ") + "; strike one lap")
}

// sorted is Kahn's algorithm; of the pieces that may hang next it takes the
// first by ladder, flat, list.
func sorted(pieces []Hanging, laps []Lap) []int {
	waits := make([]int, len(pieces))
	for _, l := range laps {
		waits[l.Over]++
	}
	var order []int
	done := make([]bool, len(pieces))
	for range pieces {
		next := -1
		for i := range pieces {
			if !done[i] && waits[i] == 0 && (next < 0 || rank(pieces[i]) < rank(pieces[next])) {
				next = i
			}
		}
		done[next] = true
		order = append(order, next)
		for _, l := range laps {
			if l.Under == next {
				waits[l.Over]--
			}
		}
	}
	return order
}

func rank(h Hanging) int {
	r := 0
	if !h.Ladder {
		r += 2
	}
	if h.Contour {
		r++
	}
	return r
}

func (o Order) sentence() string {
	s := o.Pieces[o.Order[0]].Name + " first, " + o.Pieces[o.Order[len(o.Order)-1]].Name + " last."
	switch len(o.Yielded) {
	case 0:
		return s
	case 1:
		return s + " One lap gave way."
	}
	return s + " " + strconv.Itoa(len(o.Yielded)) + " laps gave way."
}
