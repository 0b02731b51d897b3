package checklist_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"bayhold/checklist"
)

// typedInto puts a typed time into a tick, a reading or a test of a job.
func typedInto(b checklist.Body, at int64) (checklist.Body, bool) {
	switch b := b.(type) {
	case checklist.Tick:
		b.At = at
		return b, true
	case checklist.Reading:
		b.At = at
		return b, true
	case checklist.Evidence:
		b.At = at
		return b, true
	}
	return b, false
}

// late draws a day whose lines were partly written down afterwards: the lines
// with their typed times, the same without, as if each had been written when it
// says, and the lead's words that adopt them.
func late(r *rapid.T, t *testing.T) (typed, silent, then, words []checklist.Line) {
	lines := drawn(r, t)
	for i, l := range lines {
		silent = append(silent, l)
		at := l.Span.Earliest/60_000*60_000 - rapid.Int64Range(0, 300).Draw(r, "ago")*60_000
		b, ok := typedInto(l.Body, at)
		if !ok || rapid.IntRange(0, 2).Draw(r, "late") > 0 {
			typed, then = append(typed, l), append(then, l)
			continue
		}
		of, was := l, l
		of.Body = b
		// Hands write the minute, so it may have been any moment of it.
		was.Span = checklist.Span{Earliest: at, Latest: at + 59_999}
		typed, then = append(typed, of), append(then, was)
		words = append(words, checklist.Line{Log: l.Log, ID: checklist.LineID{Writer: checklist.ID{0xad}, Seq: uint64(len(words) + 1)}, Order: uint64(9000 + i),
			Span: sharp("1+17:59"), By: checklist.ID{1}, Kind: "time.adopt", Body: checklist.TimeAdopt{Line: l.ID}})
	}
	return typed, silent, then, words
}

func shopOf(lines ...[]checklist.Line) *checklist.Shop {
	s := checklist.NewShop()
	for _, of := range lines {
		for _, l := range of {
			s.Add(l)
		}
	}
	return s
}

// opensNothing fails where a gate of the first stages is open for the second
// shop and not for the first.
func opensNothing(r *rapid.T, what string, a, b *checklist.Shop) {
	for _, at := range []string{"12:00", "19:30", "1+8:10", "1+18:00"} {
		was, is := a.Gates(jobLog.ID, sharp(at)), b.Gates(jobLog.ID, sharp(at))
		for i := range was {
			if was[i].Stage != "wipe" && was[i].Stage != "window" && was[i].Stage != "dry" || was[i].Cause == "move-unknown" || was[i].Cause == "outside-long" {
				continue // see TestWiderIntervalsNeverOpen
			}
			if was[i].State != checklist.Open && was[i].State != checklist.Done && (is[i].State == checklist.Open || was[i].Stage == "dry" && is[i].State == checklist.Done) {
				r.Fatalf("at %s %s opened %s\n%s", at, what, was[i].Stage, show([]checklist.Gate{was[i], is[i]}))
			}
		}
	}
}

// TestTypedTimesNeverOpen: a time that somebody typed in opens nothing sooner
// than the same line without it (DESIGN.md, Time).
func TestTypedTimesNeverOpen(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		typed, silent, _, _ := late(r, t)
		opensNothing(r, "a typed time", shopOf(silent), shopOf(typed))
	})
}

// TestAdoptedTimes: a typed time that the lead adopted opens nothing that the
// same line would not have opened, written in that minute; the order in which
// lines come does not matter; and when the lead takes the word back, the answers
// are those before it.
func TestAdoptedTimes(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		typed, _, then, words := late(r, t)
		got := shopOf(typed, words)
		opensNothing(r, "an adopted time", shopOf(then), got)
		mixed := shopOf(rapid.Permutation(slices.Concat(typed, words)).Draw(r, "order"))
		var strikes []checklist.Line
		for i, w := range words {
			strikes = append(strikes, checklist.Line{Log: w.Log, ID: checklist.LineID{Writer: checklist.ID{0xae}, Seq: uint64(i + 1)}, Order: uint64(9500 + i),
				Span: w.Span, By: w.By, Kind: "strike", Strikes: []checklist.LineID{w.ID}})
		}
		back := shopOf(rapid.Permutation(slices.Concat(typed, words, strikes)).Draw(r, "order back"))
		before := shopOf(typed)
		for _, at := range []string{"12:00", "1+8:10"} {
			if a, b := answers(got, sharp(at)), answers(mixed, sharp(at)); a != b {
				r.Fatalf("at %s\nin order: %s\nmixed:    %s", at, a, b)
			}
			if a, b := answers(before, sharp(at)), answers(back, sharp(at)); a != b {
				r.Fatalf("at %s\nnever adopted: %s\ntaken back:    %s", at, a, b)
			}
		}
	})
}

// TestAdoptedOpens: a wash at 6:00, blown out at 6:01, that is written down at
// 14:00 counts hours from 14:00 on, until the lead adopts both times: then from
// 6:01. The world has air and surfaces that count from 6:00 to 18:00.
func TestAdoptedOpens(t *testing.T) {
	w := ready(t)
	var ids []checklist.LineID
	for i := range w.lines {
		l := &w.lines[i]
		switch b := l.Body.(type) {
		case checklist.Tick:
			b.At = clock("6:00")
			l.Body = b
		case checklist.Evidence:
			b.At = clock("6:01")
			l.Body = b
		default:
			continue
		}
		l.Span = sharp("14:00")
		ids = append(ids, l.ID)
	}
	counted := func() int64 {
		return pick(t, w.shop().Gates(jobLog.ID, sharp("18:00")), "dry", "upper").Counted
	}
	const hour = 60 * 60_000
	if n := counted(); n > 4*hour || n < 3*hour {
		t.Errorf("written at 14:00, %d min count at 18:00", n/60_000)
	}
	for _, id := range ids {
		w.line("M", sharp("16:00"), jobLog, checklist.TimeAdopt{Line: id})
	}
	if n := counted(); n > 12*hour-59_999 || n < 11*hour {
		t.Errorf("adopted for 6:00 and 6:01, %d min count at 18:00", n/60_000)
	}
}
