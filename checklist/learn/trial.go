package learn

import (
	"slices"

	"bayhold/checklist"
	"bayhold/checklist/stretch"
)

// Look is an occasion at which what was laid is looked at again.
type Look struct {
	Key, Name string
	One, Many string // what is counted
	Fails     string
}

// Looks are the occasions. At the edge check every panel is looked at by
// itself; of the second look and the call back one count for the vehicle is
// written, so a vehicle is what is counted.
var Looks = []Look{
	{"edge-check", "Edge check", "panel", "panels", "Failed: something pinned at its edges, or a test there."},
	{"re-check", "Second look", "vehicle", "vehicles", "Failed: some places had risen."},
	{"call-back", "Call back", "vehicle", "vehicles", "Failed: risen places or a test, after hand-over."},
}

// Factor is one way to tell panels apart.
type Factor struct{ Key, Name string }

const (
	byShape = iota
	byFamily
	byStretch
	byPrimer
	factors
)

// Factors are what failures are told apart by.
var Factors = [factors]Factor{
	byShape:   {"feature", "Shape"},
	byFamily:  {"film", "Film"},
	byStretch: {"stretch", "Most stretch"},
	byPrimer:  {"primer", "Primer"},
}

// Band is a range of stretch, from a strain to before the next: what families
// of film take freely and what post-heat sets (package stretch, common practice,
// no source).
type Band struct {
	From float64
	Name string
}

// Bands are the ranges.
var Bands = []Band{{0, "up to 3 %"}, {0.03, "3 to 10 %"}, {0.10, "10 to 25 %"}, {0.25, "over 25 %"}}

const (
	notMeasured = "not measured"
	plain       = "flat"
)

func band(strain float64) int {
	at := 0
	for i := range Bands {
		if strain > Bands[i].From {
			at = i
		}
	}
	return at
}

// edgeTests are tests of one panel's edges; to fail one is a failure there.
var edgeTests = []string{"gap-cut", "keep-clear", "blade-line"}

// trials is what was laid on a vehicle and looked at afterwards.
func trials(shop *checklist.Shop, f checklist.JobFacts) []Trial {
	now := checklist.Span{Earliest: f.LastAt.Latest, Latest: f.LastAt.Latest}
	looked, failed, primed := map[string]bool{}, map[string]bool{}, map[string]bool{}
	var counted, risen, called, bad bool
	for _, l := range shop.Lines(f.ID, 0) {
		if l.Struck {
			continue
		}
		late := f.Closed != "" && l.Span.Earliest > f.ClosedAt.Latest
		switch b := l.Body.(type) {
		case checklist.Tick:
			if b.Answer != "done" && b.Answer != "from-memory" {
				break
			}
			switch b.Stage {
			case "edge-check":
				looked[b.Panel] = true
			case "primer":
				primed[b.Panel] = true
			case "call-back":
				called = true
			}
		case checklist.Finding:
			if b.Walk == "edges" {
				failed[b.Panel] = true
			}
		case checklist.Evidence:
			if slices.Contains(edgeTests, b.What) && !b.Passed {
				failed[b.Panel] = true
			}
			switch {
			case late:
				bad = bad || !b.Passed && b.What != "spot-check" || b.What == "risen" && b.Count > 0
			case b.What == "risen" && b.Of > 0:
				counted, risen = true, risen || b.Count > 0
			}
		}
	}
	var out []Trial
	var whole [factors][]string
	most := -1
	for _, p := range f.Open.Panels {
		facts, ok := shop.PanelFacts(f.ID, p.ID, now)
		if !ok || shop.Claim(f.ID, "lay", p.ID, "", now).State != checklist.GoodClaim {
			continue
		}
		var of [factors][]string
		strain := -1
		for _, x := range facts.Features {
			of[byShape] = with(of[byShape], x.Sort)
			if s, known := x.Feature.Strain(); known && s > 0 {
				strain = max(strain, band(s))
			}
		}
		switch {
		case len(of[byShape]) == 0 && p.Contour:
			of[byShape] = []string{notMeasured}
			of[byStretch] = []string{notMeasured}
		case len(of[byShape]) == 0:
			of[byShape] = []string{plain}
		}
		if of[byStretch] == nil {
			of[byStretch] = []string{Bands[max(strain, 0)].Name}
			most = max(most, strain, 0)
		}
		if facts.Film.Family != "" {
			of[byFamily] = []string{filmName(facts.Film.Family)}
		}
		of[byPrimer] = []string{primer(primed[p.ID])}
		for k, v := range of {
			for _, x := range v {
				whole[k] = with(whole[k], x)
			}
		}
		if looked[p.ID] || looked[""] {
			out = append(out, Trial{"edge-check", failed[p.ID], of})
		}
	}
	if whole[byPrimer] == nil { // nothing is laid
		return out
	}
	// A vehicle is what its most stretched panel is, and primed if any was.
	if most >= 0 {
		whole[byStretch] = []string{Bands[most].Name}
	}
	whole[byPrimer] = []string{primer(len(primed) > 0)}
	if counted {
		out = append(out, Trial{"re-check", risen, whole})
	}
	if called {
		out = append(out, Trial{"call-back", bad, whole})
	}
	return out
}

func primer(used bool) string {
	if used {
		return "with primer"
	}
	return "without primer"
}

func filmName(key string) string {
	for i := range stretch.Families {
		if stretch.Families[i].Key == key {
			return stretch.Families[i].Name
		}
	}
	return key
}

func with(list []string, s string) []string {
	if slices.Contains(list, s) {
		return list
	}
	return append(list, s)
}

// together is how many steps ticked within a minute make one ask: common
// practice, no source. Two or three are ticked at once by a hand that was busy.
const together = 4

// quick finds the minute in which most steps were ticked as done. A tick whose
// moment is not known to a minute says nothing here, nor does one with a typed
// time: it says itself that it was written later.
func quick(lines []checklist.LineState) Quick {
	type act struct {
		at, until int64
		stage     string
	}
	var acts []act
	for _, l := range lines {
		if b, ok := l.Body.(checklist.Tick); ok && !l.Struck && b.At == 0 && (b.Answer == "done" || b.Answer == "from-memory") && l.Span.Latest-l.Span.Earliest < minute {
			acts = append(acts, act{l.Span.Earliest, l.Span.Latest, b.Stage})
		}
	}
	slices.SortFunc(acts, func(a, b act) int { return int(a.at - b.at) })
	var best Quick
	for i := range acts {
		var stages []string
		for _, a := range acts[i:] {
			if a.at-acts[i].at > minute {
				break
			}
			if a.until-acts[i].at <= minute {
				stages = with(stages, a.stage)
			}
		}
		if len(stages) >= together && len(stages) > best.Steps {
			best = Quick{len(stages), acts[i].at}
		}
	}
	return best
}
