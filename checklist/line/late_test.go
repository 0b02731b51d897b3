package line_test

import (
	"testing"

	"bayhold/checklist"
)

// The lead alone adopts a typed time, of a line that has one. (DESIGN.md, Time.)
func TestWhoAdoptsATime(t *testing.T) {
	f := newFinished()
	tick := func(at int64) checklist.LineID {
		f.add(theJob, theHand, checklist.Tick{Stage: "wash", Answer: "done", At: at})
		return checklist.LineID{Writer: theHand, Seq: f.seq}
	}
	late, plain := tick(f.now-3_600_000), tick(0)
	for _, c := range []struct {
		by   checklist.ID
		line checklist.LineID
		want string
	}{
		{theLead, late, ""},
		{theHand, late, "Only the lead can write this."},
		{theLead, plain, "That line has no typed time."},
		{theLead, checklist.LineID{Writer: theHand, Seq: 99}, "That line has no typed time."},
	} {
		if r := f.check(c.by, checklist.TimeAdopt{Line: c.line}); r.Text != c.want {
			t.Errorf("%v of %v: %q, want %q", c.by, c.line, r.Text, c.want)
		}
	}
}
