package session

import (
	"cmp"
	"sort"

	"bayhold/sync/logbook"
)

// Compare orders names by logbook, writer and seq: -1, 0 or 1.
func (n Name) Compare(m Name) int {
	if d := n.Log.Compare(m.Log); d != 0 {
		return d
	}
	if d := n.Ref.Writer.Compare(m.Ref.Writer); d != 0 {
		return d
	}
	return cmp.Compare(n.Ref.Seq, m.Ref.Seq)
}

// ByName holds something of each of many lines by the line's name. A writer
// counts up by one, so its lines lie side by side and are found without
// hashing their names. The zero ByName is empty.
type ByName[T any] struct {
	runs map[writer]*run[T]
	n    int
	last writer // asked for last, and its run: most often the next one too
	run  *run[T]
}

// run is what is held of one writer's lines in one logbook, by seq.
type run[T any] struct {
	lines []numbered[T]
	n     int // of them, not deleted
}

type numbered[T any] struct {
	seq uint64
	of  *T // nil: deleted
}

// find answers where seq is or would be.
func (r *run[T]) find(seq uint64) (i int, found bool) {
	lines := r.lines
	if len(lines) == 0 || seq < lines[0].seq {
		return 0, false
	}
	if i := seq - lines[0].seq; i < uint64(len(lines)) && lines[i].seq == seq {
		return int(i), true // no gap before it
	}
	from, to := 0, len(lines)
	for from < to {
		if mid := (from + to) / 2; lines[mid].seq < seq {
			from = mid + 1
		} else {
			to = mid
		}
	}
	return from, from < len(lines) && lines[from].seq == seq
}

func (b *ByName[T]) of(n Name) *run[T] {
	if w := (writer{n.Log, n.Ref.Writer}); b.run == nil || w != b.last {
		b.last, b.run = w, b.runs[w]
	}
	return b.run
}

// Len is how many there are.
func (b *ByName[T]) Len() int { return b.n }

// Get is what was put under the name, nil if nothing was.
func (b *ByName[T]) Get(n Name) *T {
	if b.n == 0 {
		return nil
	}
	r := b.of(n)
	if r == nil {
		return nil
	}
	i, ok := r.find(n.Ref.Seq)
	if !ok {
		return nil
	}
	return r.lines[i].of
}

// Put puts of, which is not nil, under the name.
func (b *ByName[T]) Put(n Name, of *T) {
	r := b.of(n)
	if r == nil {
		if b.runs == nil {
			b.runs = map[writer]*run[T]{}
		}
		r = &run[T]{}
		b.runs[b.last], b.run = r, r
	}
	i, found := r.find(n.Ref.Seq)
	if !found {
		// slices.Insert would be seven times the code.
		r.lines = append(r.lines, numbered[T]{})
		copy(r.lines[i+1:], r.lines[i:])
		r.lines[i] = numbered[T]{seq: n.Ref.Seq}
	}
	if r.lines[i].of == nil {
		r.n++
		b.n++
	}
	r.lines[i].of = of
}

// Delete takes what is under the name away.
func (b *ByName[T]) Delete(n Name) {
	if b.Get(n) == nil {
		return
	}
	r := b.run
	i, _ := r.find(n.Ref.Seq)
	r.lines[i].of = nil
	b.n--
	if r.n--; r.n == 0 {
		delete(b.runs, b.last)
		b.run = nil
		return
	}
	for r.lines[0].of == nil {
		r.lines = r.lines[1:]
	}
}

// All yields everything in the order of Compare. Nothing may be put or deleted
// meanwhile.
func (b *ByName[T]) All(yield func(Name, *T) bool) {
	firsts := make(names, 0, len(b.runs))
	for w := range b.runs {
		firsts = append(firsts, Name{w.log, logbook.Ref{Writer: w.id}})
	}
	sort.Stable(firsts)
	for _, name := range firsts {
		for _, l := range b.runs[writer{name.Log, name.Ref.Writer}].lines {
			name.Ref.Seq = l.seq
			if l.of != nil && !yield(name, l.of) {
				return
			}
		}
	}
}

// names sort by Compare. Package slices would make a sort of its own for them,
// and every kilobyte of the phone's core counts.
type names []Name

func (n names) Len() int           { return len(n) }
func (n names) Less(i, k int) bool { return n[i].Compare(n[k]) < 0 }
func (n names) Swap(i, k int)      { n[i], n[k] = n[k], n[i] }
