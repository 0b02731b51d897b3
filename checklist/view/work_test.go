package view_test

import (
	"encoding/hex"
	"fmt"
	"testing"

	"bayhold/checklist"

	"github.com/fxamacker/cbor/v2"
)

// whole is a shop with a removal in hand and a van that left eight days ago.
func whole() *checklist.Shop {
	s := small()
	seq := uint64(100)
	add := func(job string, at int64, body checklist.Body) {
		seq++
		s.Add(checklist.Line{Log: checklist.Log{Class: 'j', ID: id(job)}, ID: checklist.LineID{Writer: id("phone"), Seq: seq}, By: id("crew"),
			Span: checklist.Span{Earliest: at, Latest: at}, Body: body, Kind: body.Kind(), Order: seq})
	}
	panels := []checklist.Panel{{ID: "l", Name: "Left side", Zone: "upper", Contour: true}}
	add("old", now-8e6, checklist.JobOpen{Label: "V8", Route: "removal", Place: id("bay"), Panels: panels, VIN: "WV1ZZZ", Fleet: "F-7", Proof: "3"})
	add("old", now-7e6, checklist.Asked{What: "film-age", Answer: "unknown"})
	add("old", now-7e6, checklist.Feature{Panel: "l", ID: "channel-1", Sort: "channel", Width: 80_000, Depth: 15_000, Shape: "V"})
	add("old", now-6e6, checklist.Tick{Stage: "lay", Panel: "l", Answer: "done"})

	const day = 24 * 3_600_000
	add("gone", now-12*day, checklist.JobOpen{Label: "V9", Customer: "C", Route: "van", Place: id("bay"), Panels: panels})
	add("gone", now-10*day, checklist.Tick{Stage: "lay", Panel: "l", Answer: "done"})
	for _, as := range []string{"owner", "driver"} {
		add("gone", now-8*day, checklist.Sign{What: "hand-over", As: as, Name: "D. Owner"})
	}
	add("gone", now-8*day, checklist.JobClose{How: "handed-over"})
	return s
}

func TestJobSaysWhatWasMeasuredAndAsked(t *testing.T) {
	v := paint(t, whole(), "job", id("old"), "crew")
	for path, want := range map[string]any{
		"vin": "WV1ZZZ", "fleet": "F-7", "proof": "3",
		"stages.1.asks.0.key": "film-age", "stages.1.asks.0.answer": "unknown", "stages.1.asks.1.answer": "",
		"stages.1.asks.0.text": "How old is the film?", "stages.1.proof": "answers",
		"work.0": "feature", "newer_rules": "", "newer_steps": "",
	} {
		if got := at(v, path); got != want {
			t.Errorf("%s is %v, want %v", path, got, want)
		}
	}
	// The body as it is kept: CBOR, read by a public library.
	raw, err := hex.DecodeString(at(v, "work.1").(string))
	if err != nil {
		t.Fatal(err)
	}
	var body map[string]any
	if err := cbor.Unmarshal(raw, &body); err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]any{"panel": "l", "sort": "channel", "width": uint64(80_000), "depth": uint64(15_000)} {
		if body[key] != want {
			t.Errorf("the feature's %s is %v, want %v", key, body[key], want)
		}
	}
	// Table 8 of the trade's handbook: a V of 80 by 15 mm is 85 long, 7 %.
	if got := at(v, "panels.0.facts.0.bridged"); got != "7 %" && got != "6.8 %" {
		t.Errorf("bridged it stretches %v, want 7 %%", got)
	}
	// Hand wash 72 h after laying (common practice, no source).
	if got, want := at(v, "care.2.from"), now-6e6+72*3_600_000; fmt.Sprint(got) != fmt.Sprint(float64(want)) || at(v, "care.2.key") != "hand-wash" {
		t.Errorf("%v from %v, want hand-wash from %v", at(v, "care.2.key"), got, want)
	}
}

// A van that left is called about once a week has gone by, whatever of its
// lines before is missing here.
func TestHomeCallsBack(t *testing.T) {
	v := paint(t, whole(), "home", checklist.ID{}, "crew")
	if at(v, "calls.0.label") != "V9" || at(v, "calls.0.name") != "Call back" {
		t.Errorf("calls are %v, want V9's call back", at(v, "calls"))
	}
	if at(v, "jobs.1.label") != "V8" || at(v, "jobs.2.label") != "no such element" {
		t.Errorf("jobs are %v, want V5 and V8", at(v, "jobs"))
	}
}
