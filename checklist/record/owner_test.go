package record

import (
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"bayhold/checklist"
)

var quoted = regexp.MustCompile(`'([^']+)'`)

// What an owner signs by link is what a crew phone shows over the same signature:
// the English of both is compared, sentence by sentence and in its order.
func TestOwnersPapers(t *testing.T) {
	raw, err := os.ReadFile("../../pwa/app/views/words.js")
	if err != nil {
		t.Fatal(err)
	}
	table := func(name string) (out []string) {
		_, rest, ok := strings.Cut(string(raw), "export const "+name+" = words({\n")
		body, _, closed := strings.Cut(rest, "\n});")
		if !ok || !closed {
			t.Fatalf("words.js has no table %s", name)
		}
		for _, m := range quoted.FindAllStringSubmatch(body, -1) {
			if strings.Contains(m[1], " ") && m[1] != "old film" && m[1] != "raw plastic" {
				out = append(out, m[1])
			}
		}
		slices.Sort(out)
		return out
	}
	var said, risked []string
	for _, of := range papers {
		for _, s := range of {
			said = append(said, s[0])
		}
	}
	for _, s := range risks {
		risked = append(risked, s[0])
	}
	slices.Sort(said)
	slices.Sort(risked)
	if got := table("papers"); !slices.Equal(got, said) {
		t.Errorf("papers on a crew phone:\n%q\nby link:\n%q", got, said)
	}
	if got := table("riskOf"); !slices.Equal(got, risked) {
		t.Errorf("risks on a crew phone:\n%q\nby link:\n%q", got, risked)
	}
	catalogue, err := os.ReadFile("../../pwa/app/spanish.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range slices.Concat(slices.Concat(slices.Collect(maps.Values(papers))...), slices.Collect(maps.Values(risks)), slices.Collect(maps.Values(spots))) {
		if !strings.Contains(string(catalogue), "\n"+s[0]+" = "+s[1]+"\n") {
			t.Errorf("a crew phone says %q otherwise in Spanish than %q", s[0], s[1])
		}
	}
	for _, group := range []map[string]text{risks, spots} {
		for key, s := range group {
			if slices.Contains(s[:], "") {
				t.Errorf("%q is not in every language", key)
			}
		}
	}
	for _, key := range []string{"paint-risk", "removal-risk", "film-risk", "early-release"} {
		if len(papers[key]) == 0 {
			t.Errorf("no paper %s", key)
		}
	}
}

// When it is ready: as promised while the shop's range ends before it, otherwise
// the range itself. Owners want one time, and no buffer that is not needed
// (common practice, no source). 13 January 2026 was a Tuesday (ISO 8601, the
// proleptic Gregorian calendar).
func TestOwnersReady(t *testing.T) {
	at := func(day, hour int) int64 { return time.Date(2026, 1, day, hour, 0, 0, 0, time.UTC).UnixMilli() }
	for _, c := range []struct {
		name    string
		promise int64
		ready   Ready
		want    string
	}{
		{"holds", at(15, 14), Ready{From: at(15, 9), To: at(15, 13)}, "Ready by Thu 15 Jan 14:00, as promised."},
		{"nobody can tell", at(15, 14), Ready{}, "Ready by Thu 15 Jan 14:00, as promised."},
		{"close", at(15, 14), Ready{From: at(15, 13), To: at(15, 17)}, "Promised for Thu 15 Jan 14:00. It is close. As it stands: ready between Thu 15 Jan 13:00 and Thu 15 Jan 17:00."},
		{"lost", at(15, 14), Ready{From: at(16, 9), To: at(16, 13)}, "It takes longer than promised (Thu 15 Jan 14:00). As it stands: ready between Fri 16 Jan 09:00 and Fri 16 Jan 13:00."},
		{"no promise", 0, Ready{From: at(16, 9), To: at(16, 13)}, "As it stands: ready between Fri 16 Jan 09:00 and Fri 16 Jan 13:00."},
		{"no end", at(15, 14), Ready{From: at(17, 9), Open: true}, "Not before Sat 17 Jan 09:00: it has to dry first."},
		{"nothing", 0, Ready{}, "No time is promised yet."},
	} {
		s := checklist.NewShop()
		job := checklist.ID{15: 1}
		s.Add(checklist.Line{Log: checklist.Log{Class: checklist.JobLog, ID: job}, ID: checklist.LineID{Writer: checklist.ID{1}, Seq: 1}, Order: 1,
			Span: checklist.Span{Earliest: at(13, 8), Latest: at(13, 8)}, Kind: "job.open", Body: checklist.JobOpen{Label: "V5", Route: "van", Promise: c.promise}})
		o, ok := OwnerOf(s, Asked{Job: job, Now: checklist.Span{Earliest: at(13, 9), Latest: at(13, 9)}, Zone: time.UTC, Language: "en"}, c.ready)
		if got := strings.Join(o.Says, " "); !ok || got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
