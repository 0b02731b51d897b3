package record

import (
	"strings"
	"testing"
	"time"

	"bayhold/checklist"
)

// Every outcome of a spot check stands in the record in words, in both
// languages; a record in which nothing was drawn has no such table.
func TestDrawn(t *testing.T) {
	s := checklist.NewShop()
	job, jon := checklist.ID{1}, checklist.ID{2}
	at := time.Date(2026, 3, 5, 14, 20, 0, 0, time.UTC).UnixMilli()
	add := func(log checklist.Log, seq uint64, b checklist.Body) {
		s.Add(checklist.Line{Log: log, ID: checklist.LineID{Writer: checklist.ID{9}, Seq: seq}, Order: seq, Span: checklist.Span{Earliest: at, Latest: at}, By: jon, Kind: b.Kind(), Body: b})
	}
	add(checklist.Log{Class: checklist.ShopLog}, 1, checklist.PersonAdd{Person: jon, Name: "Jon", Initials: "J", Role: "crew"})
	add(checklist.Log{Class: checklist.JobLog, ID: job}, 1, checklist.JobOpen{Label: "V9", Route: "van", Panels: []checklist.Panel{{ID: "a", Name: "rear door", Zone: "upper"}}})
	now := checklist.Span{Earliest: at, Latest: at}
	drawn := []Drawn{
		{Stage: "wipe", Panel: "a", By: jon, At: at},
		{Stage: "lay", Panel: "a", At: at, Seen: true, Looked: true, Right: true, SeenBy: jon, SeenAt: at},
		{Stage: "trim", Panel: "a", By: jon, At: at, Seen: true, Looked: true, SeenBy: jon, SeenAt: at, Note: "edge not tucked"},
		{Stage: "wash", At: at, Seen: true, SeenBy: jon, SeenAt: at},
	}
	for language, want := range map[string][]string{
		"en": {"Final wipe|rear door|drawn, and nobody looked||", "Lay|rear door|found right|Jon|", "Cut and tuck edges|rear door|found wrong, edge not tucked, by the same hand|Jon|", "Wash|vehicle|nobody could look|Jon|"},
		"es": {"rear door|sorteada, y nadie miró||", "estaba bien|Jon", "estaba mal, edge not tucked, por la misma mano|Jon", "nadie pudo mirar|Jon"},
	} {
		rows := func(d []Drawn) (out []string) {
			r, ok := Of(s, Asked{Job: job, Now: now, Language: language, Drawn: d})
			if !ok {
				t.Fatal("no record")
			}
			for _, sec := range r.Sections {
				for _, b := range sec.Blocks {
					if tab, ok := b.(Table); ok && (strings.HasPrefix(tab.Title, "Spot checks") || strings.HasPrefix(tab.Title, "Comprobaciones")) {
						for _, row := range tab.Rows {
							out = append(out, strings.Join(row, "|"))
						}
					}
				}
			}
			return out
		}
		got := rows(drawn)
		for i, w := range want {
			if i >= len(got) || !strings.Contains(got[i], w) {
				t.Errorf("%s: row %d is %q, want %q in it", language, i, got, w)
			}
		}
		if got := rows(nil); len(got) != 0 {
			t.Errorf("%s: nothing was drawn, and there stands %q", language, got)
		}
	}
}
