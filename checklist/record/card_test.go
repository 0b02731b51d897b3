package record_test

import (
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/record"
	"bayhold/testdata/jobs/story"
)

// until is the shop of one of the four whole jobs after that part of its lines,
// and the moment of the last.
func until(name string, part float64) (*checklist.Shop, int64) {
	s, now := checklist.NewShop(), int64(0)
	all := story.Jobs[name]()
	for i, e := range all {
		if float64(i) > part*float64(len(all)) {
			break
		}
		l := e.Line()
		l.Order = uint64(i + 1)
		s.Add(l)
		now = max(now, l.Span.Latest)
	}
	return s, now
}

// TestCardShowsWhatIsOpen: every gate of a job that is not done has a box on its
// card, and none that is done: a box to tick in the steps, an empty one by panel.
func TestCardShowsWhatIsOpen(t *testing.T) {
	for name := range story.Jobs {
		for _, part := range []float64{0.1, 0.3, 0.5, 0.8} {
			s, now := until(name, part)
			job := s.Jobs()[0]
			at := checklist.Span{Earliest: now, Latest: now}
			card, ok := record.CardOf(s, record.Asked{Job: job, Now: at, Language: "en"}, "https://bay.local/#/job/x")
			if !ok {
				t.Fatal("no card")
			}
			facts, _ := s.Job(job)
			stages := map[string]checklist.Stage{}
			for _, st := range facts.Route.Stages {
				stages[st.Key] = st
			}
			steps, boxes, bench := 0, 0, map[string]bool{}
			for _, g := range s.Gates(job, at) {
				st := stages[g.Stage]
				switch {
				case g.State == checklist.Done || st.Free || g.Cause == "bare":
				case st.Per != checklist.PerPanel:
					steps++
				case st.Side == checklist.Bench:
					bench[g.Stage] = true
				default:
					boxes++
				}
			}
			steps += len(bench)
			ticks, empty := 0, 0
			for _, p := range card.Sections {
				for _, b := range p.Blocks {
					f, ok := b.(record.Form)
					if !ok || p.Key == "readings" {
						continue
					}
					for _, row := range f.Rows {
						for _, c := range row.Cells {
							if c == record.Tick {
								ticks++
							}
							if p.Key == "panels" && c == "" {
								empty++
							}
						}
					}
				}
			}
			if ticks != steps || empty != boxes {
				t.Errorf("%s after %.0f %%: %d boxes to tick for %d open steps, %d by panel for %d", name, part*100, ticks, steps, empty, boxes)
			}
		}
	}
}

// TestLateLines: a line that was written two hours after its act stands on the
// record's first page with both, and with the lead's word once there is one.
func TestLateLines(t *testing.T) {
	all := story.Jobs["van"]()
	front := func(adopted bool) string {
		s, now := checklist.NewShop(), int64(0)
		for i, e := range all {
			l := e.Line()
			l.Order = uint64(i + 1)
			if b, ok := l.Body.(checklist.Tick); ok && b.Stage == "wash" && b.Answer == "done" {
				b.At = l.Span.Earliest - 2*60*60_000
				l.Body = b
				if adopted {
					s.Add(checklist.Line{Log: l.Log, ID: checklist.LineID{Writer: checklist.ID{0xad}, Seq: uint64(i + 1)}, Order: uint64(9000 + i), Span: l.Span,
						Kind: "time.adopt", Body: checklist.TimeAdopt{Line: l.ID}})
				}
			}
			s.Add(l)
			now = max(now, l.Span.Latest)
		}
		r, _ := record.Of(s, record.Asked{Job: s.Jobs()[0], Now: checklist.Span{Earliest: now, Latest: now}, Language: "en"})
		r.Sections = r.Sections[:1]
		return r.Text()
	}
	if got := front(false); !strings.Contains(got, "Wash: at 2 Mar ") || !strings.Contains(got, " as typed, written 2.0 h later by ") || strings.Contains(got, "took that time as true") {
		t.Errorf("the first page does not tell of the late line:\n%s", got)
	}
	if got := front(true); !strings.Contains(got, " as typed, written 2.0 h later by ") || !strings.Contains(got, "; the lead took that time as true.") {
		t.Errorf("the first page does not tell of the lead's word:\n%s", got)
	}
}
