package lead

import (
	"testing"

	"bayhold/checklist"
	"bayhold/testdata/demo/story"
)

// An owner is told a range: from the plan's own end, in half hours, to an end that
// lies at least the shop's spare behind it (half a day of a van, a night of a bus:
// common practice, no source) and in opening hours.
func TestReady(t *testing.T) {
	l := lookAt('A', momentOf(story.Tuesday, "14:24"))
	s := l.Schedule()
	told := 0
	for i, job := range s.Jobs {
		if s.Problem.Chains[i].Film {
			continue
		}
		early, late, open := s.Ready(l, job)
		end := s.Ends[i]
		name := s.Problem.Chains[i].Name
		if early%(30*minute) != 0 || early > end || end-early >= 30*minute {
			t.Errorf("%s: from %d, the plan ends %d", name, early, end)
		}
		if open {
			continue
		}
		told++
		least := int64(4 * hour)
		if j, _ := l.Shop.Job(job); j.Open.Route == "bus-side" {
			least = 14 * hour
		}
		if late%(30*minute) != 0 || late < end+least {
			t.Errorf("%s: until %d, %d h behind the plan's end", name, late, (late-end)/hour)
		}
		inside := false
		for _, o := range l.Open {
			inside = inside || o.From <= late && late <= o.To+30*minute
		}
		if !inside {
			t.Errorf("%s: until %d, when nobody is there", name, late)
		}
	}
	if told == 0 {
		t.Error("nobody is told an end")
	}
	if early, late, open := s.Ready(l, checklist.ID{1}); early != 0 || late != 0 || open {
		t.Error("a vehicle that the plan does not have is told one")
	}
}
