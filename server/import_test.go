package server

import (
	"context"
	"slices"
	"testing"
)

// A file's lines are judged as if their phone had brought them: what is new is
// kept, what is here is known, however often the file comes; what has no place
// is set aside, and what stands behind a missing line waits for it.
func TestImport(t *testing.T) {
	s := startShop(t, t.TempDir())
	s.submit(t, note("a", 1, "here"))
	one, two, four := note("a", 1, "here"), note("a", 2, "new"), note("a", 4, "behind a gap")
	forged, torn := note("a", 1, "another text"), []byte{0xa0}
	file := [][]byte{one.Append(nil), two.Append(nil), torn, four.Append(nil)}
	for _, step := range []struct {
		what        string
		file        [][]byte
		kept, known int
		aside, gaps int
	}{
		{"first", file, 1, 1, 1, 1},
		{"again", file, 0, 2, 1, 1},
		{"a forged line", [][]byte{forged.Append(nil)}, 0, 0, 1, 0},
		{"nothing", nil, 0, 0, 0, 0},
	} {
		got, err := s.Import(context.Background(), step.file)
		if err != nil {
			t.Fatalf("%s: %v", step.what, err)
		}
		if got.Kept != step.kept || got.Known != step.known || len(got.Aside) != step.aside || got.Gaps != step.gaps || slices.Contains(got.Aside, "") {
			t.Errorf("%s: %+v, want %d kept, %d known, %d aside, %d behind a gap", step.what, got, step.kept, step.known, step.aside, step.gaps)
		}
	}
	lines, err := s.store.After(jobV5, 0, 100, 1<<20)
	if err != nil || len(lines) != 2 {
		t.Errorf("the job has %d lines, want 2: %v", len(lines), err)
	}
}
