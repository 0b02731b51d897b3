package server

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
	demo "bayhold/testdata/demo/story"
)

// One line in ten is drawn, whoever wrote it and whatever step it is of: 20,000
// lines of one logbook, chained as the server chains them. Their number lies
// within four standard deviations of 2,000 (binomial: the root of 20,000 x 0.1 x
// 0.9 is 42.4), and by chi-square neither people, the lead among them, nor steps
// are drawn more than others, nor the line after one that was drawn (tables, one
// in a thousand: 13.8 of 2, 27.9 of 9, 10.8 of 1 degree of freedom).
func TestSpotOneInTen(t *testing.T) {
	const n = 20_000
	r := rand.New(rand.NewPCG(10, 90))
	people := []logbook.ID{logbook.Named("the lead"), logbook.Named("a hand"), logbook.Named("another hand")}
	stages := []string{"strip", "wash", "dry-fit", "wipe", "primer", "lay", "settle", "trim", "edge-check", "refit"}
	log := logbook.Log{Class: checklist.JobLog, ID: logbook.Named("a job")}
	chain, total, before := logbook.Genesis(log), 0, false
	byPerson, ofPerson := make([]int, len(people)), make([]int, len(people))
	byStage, ofStage := make([]int, len(stages)), make([]int, len(stages))
	after, ofAfter := make([]int, 2), make([]int, 2)
	for i := range n {
		who, which := r.IntN(len(people)), r.IntN(len(stages))
		at := int64(1_768_377_600_000 + i*1000)
		e := logbook.Entry{Log: log, Writer: logbook.Named("phone"), Seq: uint64(i + 1), By: people[who], At: logbook.Stamp{Wall: at, Earliest: at},
			Kind: (checklist.Tick{}).Kind(), Body: line.Encode(checklist.Tick{Stage: stages[which], Answer: "done"})}
		receipt := logbook.Receipt{Epoch: 1, Order: uint64(i + 1), Arrived: at, Earliest: at, Latest: at}
		chain = logbook.Next(chain, receipt.Append(nil), e.Append(nil))
		is := drawn(chain)
		one := 0
		if is {
			one = 1
		}
		follows := 0
		if before {
			follows = 1
		}
		total += one
		byPerson[who] += one
		ofPerson[who]++
		byStage[which] += one
		ofStage[which]++
		after[follows] += one
		ofAfter[follows]++
		before = is
	}
	if off := math.Abs(float64(total) - n/10); off > 4*math.Sqrt(n*0.1*0.9) {
		t.Errorf("%d of %d lines are drawn", total, n)
	}
	for _, c := range []struct {
		what      string
		drawn, of []int
		most      float64
	}{{"people", byPerson, ofPerson, 13.8}, {"steps", byStage, ofStage, 27.9}, {"lines after a drawn one", after, ofAfter, 10.8}} {
		x := 0.0
		for i := range c.drawn {
			want := float64(c.of[i]) * float64(total) / n
			x += (float64(c.drawn[i]) - want) * (float64(c.drawn[i]) - want) / (want * (1 - float64(total)/n))
		}
		if x > c.most {
			t.Errorf("%s: chi-square %.1f over %.1f: %v of %v", c.what, x, c.most, c.drawn, c.of)
		}
	}
	if byPerson[0] == 0 {
		t.Error("the lead is never drawn")
	}
}

type spotTold struct {
	Job, Label, Stage, Name, Panel, By string
	PanelName                          string `json:"panel_name"`
	At                                 int64
	Seen                               *struct {
		By, Note             string
		Looked, Right, Alone bool
	}
}

type spotAnswer struct{ Spots []spotTold }

// redraw draws from the lines and receipts alone, as DESIGN writes the chain:
// h(0) = SHA-256(log id), h(n) = SHA-256(h(n-1) || SHA-256(receipt) ||
// SHA-256(entry)); a line is drawn if the first eight bytes of SHA-256 over the
// words and h(n) lie in the lowest tenth. It returns their steps and panels.
func redraw(t *testing.T, s *shopAt, log logbook.Log) (places []string) {
	t.Helper()
	lines, err := s.store.After(log, 0, 10_000, 1<<30)
	if err != nil {
		t.Fatal(err)
	}
	h := logbook.Genesis(log)
	for _, l := range lines {
		receipt, entry := sha256.Sum256(l.Receipt), sha256.Sum256(l.Entry)
		h = sha256.Sum256(slices.Concat(h[:], receipt[:], entry[:]))
		sum := sha256.Sum256(append([]byte("bayhold spot check\n"), h[:]...))
		e, err := logbook.Decode(l.Entry)
		if err != nil {
			t.Fatal(err)
		}
		body, err := line.Decode(e.Kind, e.Body)
		if err != nil {
			t.Fatal(err)
		}
		if b, ok := body.(checklist.Tick); ok && b.Answer == "done" && float64(binary.BigEndian.Uint64(sum[:8]))/math.Exp2(64) < 0.1 {
			places = append(places, b.Stage+" "+b.Panel)
		}
	}
	return places
}

// What the server draws is what anyone draws anew from the lines, the lead's own
// among them; a look is a line, and then the check is no longer open; a tick that
// was taken back is not asked about, nor is one that says 'started'.
func TestSpots(t *testing.T) {
	s := startShop(t, t.TempDir())
	crewed(t, s)
	p := newPhone(t, "lead")
	p.connect(s)
	p.untilCaught()
	job := logbook.Log{Class: checklist.JobLog, ID: logbook.Named("job:many")}
	open := checklist.JobOpen{Label: "V8", Customer: "A", Vehicle: "van", Route: "van", Place: checklist.ID(bay4)}
	for i := range 60 {
		open.Panels = append(open.Panels, checklist.Panel{ID: fmt.Sprint("p", i), Name: fmt.Sprint("panel ", i), Zone: "upper"})
	}
	p.write(job, lead, open)
	for k, stage := range []string{"dry-fit", "wipe", "lay", "settle", "trim"} {
		for i, panel := range open.Panels {
			p.write(job, []logbook.ID{lead, crew}[i%2], checklist.Tick{Stage: stage, Panel: panel.ID, Zone: "upper", Answer: []string{"done", "done", "done", "started"}[(i+k)%4]})
		}
	}
	p.untilKept()
	var a spotAnswer
	decoded(t, s.http.URL+"/spots?job="+job.ID.String(), &a)
	var got []string
	for _, c := range a.Spots {
		got = append(got, c.Stage+" "+c.Panel)
		if c.Seen != nil || c.Label != "V8" || c.Stage == "wipe" && c.Name != "Final wipe" || c.PanelName != "panel "+c.Panel[1:] {
			t.Errorf("%+v", c)
		}
	}
	want := redraw(t, s, job)
	if !slices.Equal(got, want) || len(want) == 0 { // of 225 none is drawn once in 2 x 10^10 runs
		t.Fatalf("drawn: %v, anyone draws %v", got, want)
	}
	var all spotAnswer
	decoded(t, s.http.URL+"/spots", &all)
	if len(all.Spots) != len(want) {
		t.Errorf("%d are open on the board, %d were drawn", len(all.Spots), len(want))
	}

	// Right by the other, right by the same hand, wrong, and nobody can look; one
	// that was not drawn is written down all the same.
	first := a.Spots[0]
	same := crew
	if first.By == lead.String() {
		same = lead
	}
	look := func(place string, by logbook.ID, looked int64, right bool, note string) {
		stage, panel, _ := strings.Cut(place, " ")
		p.write(job, by, checklist.Evidence{What: "spot-check", Feature: stage, Panel: panel, Passed: right, Of: looked, Note: note})
		p.untilKept()
		decoded(t, s.http.URL+"/spots?job="+job.ID.String(), &a)
	}
	find := func(place string) (seen string) {
		for _, c := range a.Spots {
			if c.Stage+" "+c.Panel == place && c.Seen != nil {
				seen = fmt.Sprintf("%+v", *c.Seen)
			}
		}
		return seen
	}
	look(want[0], same, 1, true, "")
	if seen := find(want[0]); !strings.HasSuffix(seen, "Looked:true Right:true Alone:true}") {
		t.Errorf("looked at by who had done it: %s", seen)
	}
	other := lead
	if same == lead {
		other = crew
	}
	look(want[0], other, 1, false, "silicone at the edge")
	if seen := find(want[0]); !strings.Contains(seen, "silicone at the edge") || !strings.HasSuffix(seen, "Looked:true Right:false Alone:false}") {
		t.Errorf("the last look holds: %s", seen)
	}
	look(want[0], other, 0, false, "")
	if seen := find(want[0]); !strings.HasSuffix(seen, "Looked:false Right:false Alone:false}") {
		t.Errorf("nobody could look: %s", seen)
	}
	decoded(t, s.http.URL+"/spots", &all)
	if len(all.Spots) != len(want)-1 {
		t.Errorf("%d are open, after one of %d was looked at", len(all.Spots), len(want))
	}
	unasked := slices.IndexFunc(open.Panels, func(x checklist.Panel) bool { return !slices.Contains(want, "wipe "+x.ID) })
	look("wipe "+open.Panels[unasked].ID, lead, 1, true, "")
	if find("wipe "+open.Panels[unasked].ID) == "" || len(a.Spots) != len(want)+1 {
		t.Errorf("a look that was not asked for is lost: %d of %d", len(a.Spots), len(want)+1)
	}

	// Taken back: nothing to look at.
	if len(want) > 1 {
		lines, err := s.past.lines(job, 0, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			if b, ok := l.Body.(checklist.Tick); ok && b.Stage+" "+b.Panel == want[1] {
				p.write(job, lead, nil, logbook.Ref{Writer: logbook.ID(l.ID.Writer), Seq: l.ID.Seq})
			}
		}
		p.untilKept()
		decoded(t, s.http.URL+"/spots?job="+job.ID.String(), &a)
		if slices.ContainsFunc(a.Spots, func(c spotTold) bool {
			return c.Stage+" "+c.Panel == want[1]
		}) {
			t.Error("a tick that was taken back is still asked about")
		}
	}
	if code, _ := get(t, s.http.URL+"/spots?job=nobody"); code != 404 {
		t.Errorf("a vehicle that is not there: %d", code)
	}
}

// A look that found something wrong, or nobody to look, changes no gate: a draw
// holds nothing up.
func TestSpotHoldsNothing(t *testing.T) {
	shop := checklist.NewShop()
	at := demo.At(demo.Wednesday, "08:00")
	var last checklist.Line
	for _, e := range demo.Run('A') {
		if !e.At.After(at) {
			shop.Add(e.Line())
			if e.Log == "job:V1" {
				last = e.Line()
			}
		}
	}
	now := checklist.Span{Earliest: at.UnixMilli(), Latest: at.UnixMilli()}
	v1 := checklist.ID(last.Log.ID)
	before := slices.Clone(shop.Gates(v1, now))
	for i, b := range []checklist.Evidence{{What: "spot-check", Feature: "wipe", Panel: "bonnet", Of: 1}, {What: "spot-check", Feature: "wash"}, {What: "spot-check", Feature: "dry", Zone: "lower", Of: 1}} {
		shop.Add(checklist.Line{Log: last.Log, ID: checklist.LineID{Writer: checklist.ID{77}, Seq: uint64(i + 1)}, Order: uint64(10_000 + i), Span: now, Kind: b.Kind(), Body: b})
	}
	if after := shop.Gates(v1, now); len(before) == 0 || !reflect.DeepEqual(before, after) {
		t.Errorf("a spot check changed a gate:\n%+v\n%+v", before, after)
	}
}

// Somebody is asked for a day; the record keeps what was drawn.
func TestSpotsAreAskedForADay(t *testing.T) {
	s, now := demoAt(t, 'A', demo.Wednesday, "08:00")
	var today, later, one spotAnswer
	decoded(t, s.http.URL+"/spots", &today)
	if len(today.Spots) == 0 { // the story's lines are always the same, and so are their draws
		t.Fatal("nothing is drawn in two days of the story")
	}
	for _, c := range today.Spots {
		if c.At < now.Load()-24*3_600_000 {
			t.Errorf("%s %s is older than a day", c.Label, c.Stage)
		}
	}
	now.Add(24 * 3_600_000)
	decoded(t, s.http.URL+"/spots", &later)
	decoded(t, s.http.URL+"/spots?job="+today.Spots[0].Job, &one)
	if len(later.Spots) != 0 || len(one.Spots) == 0 {
		t.Errorf("a day after %d are asked for, and the vehicle tells of %d", len(later.Spots), len(one.Spots))
	}
}
