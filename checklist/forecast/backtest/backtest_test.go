package backtest

import (
	"bytes"
	"flag"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/forecast"
	"bayhold/testdata/demo/story"
)

var update = flag.Bool("update", false, "write the golden table")

func linesOf(run byte) (out []checklist.Line) {
	for _, e := range story.Run(run) {
		out = append(out, e.Line())
	}
	return out
}

// long is asked for by BAYHOLD_LONG=1: the whole table. Without it run A is judged
// and its rows are held against the table.
var long = os.Getenv("BAYHOLD_LONG") == "1"

func table(whole bool) []Row {
	from, to := story.At(story.Tuesday, "12:00").UnixMilli(), story.At(story.Wednesday, "12:00").UnixMilli()
	rows := Demo("demo, run A", linesOf('A'), from, to)
	if whole {
		rows = append(rows, Demo("demo, run B", linesOf('B'), from, to)...)
		rows = append(rows, Generated(6)...)
	}
	return rows
}

// claims is how the mean miss stands to that of 'stays as it is': no larger, in
// the demo by no more than three in a hundred, and clearly smaller in between. A
// day ahead it is the same hour again, and nothing beats that by much. The interval
// is made to hold nine in ten and holds 85 at least; of the demo a day ahead, seven
// moments of six bays, the one in six is lost in which a flame heater burns that
// was never seen on.
var claims = []struct {
	set, what string
	from, to  int // minutes ahead
	ratio     float64
	least     float64 // share inside the interval
}{
	{"all generated", "air", 20, 1440, 1, 0.85},
	{"all generated", "air", 60, 720, 0.8, 0.85},
	{"all generated", "dew point", 20, 1440, 1, 0.85},
	{"all generated", "dew point", 180, 720, 0.8, 0.85},
	{"demo, run A", "air", 20, 720, 1.03, 0.85},
	{"demo, run A", "air", 360, 720, 0.9, 0.85},
	{"demo, run A", "air", 1440, 1440, 1, 0.8},
	{"demo, run A", "dew point", 20, 1440, 1, 0.85},
	{"demo, run A", "dew point", 120, 720, 0.8, 0.85},
	{"demo, run B", "air", 20, 720, 1.03, 0.85},
	{"demo, run B", "dew point", 20, 1440, 1.03, 0.8},
}

func TestTable(t *testing.T) {
	rows := table(long || *update)
	var b bytes.Buffer
	if err := Print(&b, rows); err != nil {
		t.Fatal(err)
	}
	t.Log("\n" + b.String())
	for _, r := range rows {
		for _, c := range claims {
			if r.Set != c.set || r.What != c.what || r.Minutes < c.from || r.Minutes > c.to {
				continue
			}
			if r.Mean > c.ratio*r.Stays {
				t.Errorf("%s, %s, %d min: mean miss %.2f K, more than %.2f of %.2f", r.Set, r.What, r.Minutes, r.Mean, c.ratio, r.Stays)
			}
			if r.Inside < c.least || r.Inside > 0.97 {
				t.Errorf("%s, %s, %d min: %.1f %% inside", r.Set, r.What, r.Minutes, 100*r.Inside)
			}
		}
	}
	const path = "../../../testdata/forecast/errors.txt"
	if *update {
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	// A part of the table has narrower columns, so only words are compared.
	known := map[string]bool{}
	for line := range strings.Lines(string(want)) {
		known[strings.Join(strings.Fields(line), " ")] = true
	}
	for line := range strings.Lines(b.String()) {
		if got := strings.Join(strings.Fields(line), " "); !known[got] {
			t.Errorf("not in %s: %s\nlook at it, then run with -update", path, got)
		}
	}
}

// The miss that a bay without a history of its own is taken to have: counted in
// other generated bays than those of the table, each from 4 to 36 hours.
func TestUsually(t *testing.T) {
	if !long {
		t.Skip("long: BAYHOLD_LONG=1")
	}
	var air, dew [len(forecast.Usually)][]float64
	for i, h := range habits {
		for k := range 8 {
			m := generate(h, uint64(5000+100*i+k), 3)
			for hour := 4; hour <= 36; hour += 4 {
				n := hour*6 + 1
				w, err := forecast.FitWeather(m.outside[:n], m.bay[n-1].At, 0)
				if err != nil {
					t.Fatal(err)
				}
				model, err := forecast.Fit(forecast.Bay{Samples: m.bay[:n], Weather: w, Things: m.things(m.bay[n-1].At)})
				if err != nil {
					t.Fatal(err)
				}
				p := model.Ahead(24, nil)
				for j, u := range forecast.Usually {
					if at := n - 1 + u.Step; at < len(m.bay) {
						air[j] = append(air[j], math.Abs(p[u.Step].Air.Mid-m.bay[at].AirC))
						dew[j] = append(dew[j], math.Abs(p[u.Step].Dew.Mid-m.bay[at].DewC))
					}
				}
			}
		}
	}
	for j, u := range forecast.Usually {
		slices.Sort(air[j])
		slices.Sort(dew[j])
		n := len(air[j])
		// With the days the miss of a bay grows no more; the table says that by
		// the last three alike.
		if a := air[j][n*9/10]; u.Step <= 54 && math.Abs(a-u.Air) > 0.35*u.Air {
			t.Errorf("%d steps: air %.2f K, the table has %.2f", u.Step, a, u.Air)
		}
		if d := dew[j][n*19/20]; u.Step <= 72 && math.Abs(d-u.Dew) > 0.35*u.Dew {
			t.Errorf("%d steps: dew point %.2f K, the table has %.2f", u.Step, d, u.Dew)
		}
	}
}
