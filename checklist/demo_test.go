package checklist_test

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"bayhold/checklist"
	"bayhold/testdata/demo"
	"bayhold/testdata/demo/story"
)

var update = flag.Bool("update", false, "write the golden files anew")

// TestDemoFiles: the committed files are what the generator writes.
func TestDemoFiles(t *testing.T) {
	for run, file := range map[byte][]byte{'A': demo.RunA, 'B': demo.RunB} {
		got := story.JSONL(story.Run(run))
		if !bytes.Equal(got, file) {
			t.Errorf("run %c differs: go run ./testdata/demo/gen testdata/demo", run)
		}
		if len(file) > 1<<20 {
			t.Errorf("run %c has %d bytes", run, len(file))
		}
	}
	if demo.Shop != story.Shop || !demo.Moment.Equal(story.At(story.Wednesday, "08:00")) {
		t.Error("the demo's moment or name is not the story's")
	}
}

// shopAt folds the lines of a run that were written up to a moment.
func shopAt(run byte, at time.Time) (*checklist.Shop, checklist.Span) {
	s := checklist.NewShop()
	for _, e := range story.Run(run) {
		if !e.At.After(at) {
			s.Add(e.Line())
		}
	}
	now := at.UnixMilli()
	return s, checklist.Span{Earliest: now, Latest: now}
}

// moments of the story whose whole answer is kept as a golden file. The
// sentences beside them are the story's right answers (invented, judged
// against common practice).
var moments = []struct {
	run   byte
	job   string
	day   time.Time
	clock string
	right string
}{
	{'A', "V3", story.Tuesday, "09:00", "not dry, count not started"},
	{'A', "V1", story.Tuesday, "14:30", "bonnet, left wing: wipe undone by door; other panels fine"},
	{'A', "V4", story.Tuesday, "15:00", "patch not valid (16 C), neither pass nor fail"},
	{'A', "V4", story.Tuesday, "16:30", "failed, wait, release car without film"},
	{'A', "V2", story.Wednesday, "04:30", "dry; wipe may start when crew comes"},
	{'A', "V5", story.Wednesday, "06:10", "blocked, dry reset, 12 counted hours to come"},
	{'A', "V5", story.Wednesday, "08:00", "blocked though mid-door is 15.0 C and air 20.0 C"},
	{'A', "V3", story.Wednesday, "09:30", "blocked, 21.2 of 24 counted h, ready 12:20"},
	{'B', "V5", story.Wednesday, "06:00", "one reading under the dew point: read again, nothing reset"},
	{'B', "V5", story.Wednesday, "06:10", "second reading above it: the 20 hours are kept"},
	{'B', "V5", story.Wednesday, "09:30", "upper zones open, lower zones blocked"},
	{'A', "V3", story.Wednesday, "12:20", "open after sweat test"},
	{'A', "V5", story.Wednesday, "12:00", "counting since 10:10, twelve hours reached 22:10"},
	{'B', "V5", story.Wednesday, "12:20", "lower zones open too"},
}

func TestDemoAnswers(t *testing.T) {
	for _, m := range moments {
		at := story.At(m.day, m.clock)
		name := fmt.Sprintf("run-%c-%s-%s.txt", m.run+'a'-'A', m.job, strings.ToLower(at.Format("Mon-1504")))
		t.Run(name, func(t *testing.T) {
			s, now := shopAt(m.run, at)
			var b strings.Builder
			fmt.Fprintf(&b, "run %c, %s, %s: %s\n", m.run, m.job, at.Format("Mon 15:04"), m.right)
			b.WriteString(show(s.Gates(story.ID(m.job), now)))
			golden(t, filepath.Join("..", "testdata", "gates", name), b.String())
		})
	}
}

func golden(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s\ngot:\n%s\nwant:\n%s", path, got, want)
	}
}

// show writes gates as text, in UTC and degrees Celsius.
func show(gates []checklist.Gate) string {
	var b strings.Builder
	for _, g := range gates {
		target := g.Panel
		if target == "" {
			target = g.Zone
		}
		state := [...]string{"open", "waits", "held", "not known", "done"}[g.State]
		fmt.Fprintf(&b, "%-13s %-14s %-9s %-12s", g.Stage, target, state, g.Cause)
		for _, s := range []string{g.Reason, g.WayOut, g.Condition} {
			if s != "" {
				b.WriteString(" " + unmark(s))
			}
		}
		if g.Until != 0 {
			b.WriteString(" until " + time.UnixMilli(g.Until).UTC().Format("Mon 15:04"))
		}
		if g.Needed != 0 {
			fmt.Fprintf(&b, " [%.1f of %.0f h]", float64(g.Counted)/3.6e6, float64(g.Needed)/3.6e6)
		}
		if g.Ask != "" {
			b.WriteString(" read " + g.Ask)
		}
		if len(g.Causes) > 1 {
			fmt.Fprintf(&b, " causes %v", g.Causes)
		}
		if g.Waived {
			b.WriteString(" waived")
		}
		b.WriteByte('\n')
	}
	return b.String()
}

var marks = regexp.MustCompile(`⟨([tckh]):(-?\d+)⟩`)

func unmark(s string) string {
	return marks.ReplaceAllStringFunc(s, func(m string) string {
		p := marks.FindStringSubmatch(m)
		n, _ := strconv.ParseInt(p[2], 10, 64)
		switch p[1] {
		case "t":
			return time.UnixMilli(n).UTC().Format("Mon 15:04")
		case "c":
			return fmt.Sprintf("%.1f C", float64(n)/1000)
		case "k":
			return fmt.Sprintf("%.1f K", float64(n)/1000)
		}
		return fmt.Sprintf("%.1f h", float64(n)/3.6e6)
	})
}
