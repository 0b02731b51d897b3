package line_test

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"

	public "github.com/fxamacker/cbor/v2"
)

var (
	ourSteps = checklist.StepsSet{Route: "panels", Name: "Ours", Steps: []checklist.Step{
		{Key: "wash"}, {Key: "inspection"}, {Key: "dry"}, {Key: "window"}, {Key: "wipe"}, {Key: "lay"}}}
	ourRules = checklist.RulesSet{Values: checklist.DefaultRules()}
)

// The name of a set is the SHA-256 (FIPS 180-4, by crypto/sha256) of its
// canonical CBOR (RFC 8949 section 4.2.1, by a public library).
func TestPin(t *testing.T) {
	mode, err := public.CoreDetEncOptions().EncMode()
	if err != nil {
		t.Fatal(err)
	}
	name := func(v any) string {
		b, err := mode.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(b)
		return hex.EncodeToString(sum[:])
	}
	if got, want := line.Pin(ourRules).(checklist.RulesSet).Hash, name(ourRules.Values); got != want {
		t.Errorf("rules: %s, want %s", got, want)
	}
	var steps []map[string]any
	for _, s := range ourSteps.Steps {
		steps = append(steps, map[string]any{"key": s.Key})
	}
	want := name(map[string]any{"route": "panels", "name": "Ours", "steps": steps})
	if got := line.Pin(ourSteps).(checklist.StepsSet).Hash; got != want {
		t.Errorf("steps: %s, want %s", got, want)
	}
	if n := (checklist.Note{Text: "x"}); line.Pin(n).(checklist.Note).Text != "x" {
		t.Error("a note has no name")
	}
}

// A set under a false name is refused when it is written; one that arrives all
// the same is kept, and neither comes in force nor takes the true one's place.
func TestFalseNames(t *testing.T) {
	lead := checklist.ID(logbook.Named("M"))
	shopLog := logbook.Log{Class: checklist.ShopLog, ID: logbook.Named("shop")}
	jobLog := logbook.Log{Class: checklist.JobLog, ID: logbook.Named("V")}
	seq := uint64(0)
	s := checklist.NewShop()
	arrive := func(log logbook.Log, b checklist.Body) checklist.LineID {
		seq++
		e := logbook.Entry{Log: log, Writer: logbook.Named("phone"), Seq: seq, By: logbook.ID(lead), Kind: b.Kind(), Body: line.Encode(b)}
		l, err := line.Of(e, seq, checklist.Span{Earliest: int64(seq), Latest: int64(seq)})
		if err != nil {
			t.Fatal(err)
		}
		s.Add(l)
		return l.ID
	}
	check := func(log logbook.Log, b checklist.Body) line.Refusal {
		return line.Check(checklist.Line{Log: checklist.Log{Class: log.Class, ID: checklist.ID(log.ID)}, By: lead, Kind: b.Kind(), Body: b}, s, checklist.Span{Earliest: 1000, Latest: 1000})
	}
	arrive(shopLog, checklist.PersonAdd{Person: lead, Name: "M", Initials: "M", Role: "lead"})
	arrive(jobLog, checklist.JobOpen{Label: "V", Route: "panels"})

	rules := line.Pin(ourRules).(checklist.RulesSet)
	steps := line.Pin(ourSteps).(checklist.StepsSet)
	loose := checklist.DefaultRules()
	loose["dry_hours"] = 0
	false1 := checklist.RulesSet{Hash: rules.Hash, Values: loose}
	false2 := checklist.StepsSet{Hash: steps.Hash, Route: "panels", Name: "Ours", Steps: []checklist.Step{{Key: "lay"}}}
	if r := check(shopLog, false1); r.Text != "These numbers carry another set's name. Write them anew." {
		t.Errorf("%+v", r)
	}
	if r := check(shopLog, false2); r.Text != "These steps carry another set's name. Write them anew." {
		t.Errorf("%+v", r)
	}
	for _, b := range []checklist.Body{false1, false2} {
		id := arrive(shopLog, b)
		if _, kept := s.Line(checklist.Log{Class: shopLog.Class, ID: checklist.ID(shopLog.ID)}, id); !kept {
			t.Errorf("%s is not kept", b.Kind())
		}
	}
	if _, _, ok := s.RulesInForce(); ok {
		t.Error("numbers under a false name came in force")
	}
	if hash, _ := s.StepsInForce("panels"); hash != "" {
		t.Error("steps under a false name came in force")
	}
	if r := check(jobLog, checklist.JobRules{Rules: rules.Hash, Why: "now"}); r.Text != "Those numbers are not on this phone. Go online once." {
		t.Errorf("%+v", r)
	}
	if r := check(jobLog, checklist.JobRules{Steps: steps.Hash, Why: "now"}); r.Text != "Those steps are not on this phone. Go online once." {
		t.Errorf("%+v", r)
	}
	arrive(shopLog, rules)
	arrive(shopLog, steps)
	if values, ok := s.Rules(rules.Hash); !ok || values["dry_hours"] == 0 {
		t.Error("the true numbers did not come in force")
	}
	if r, ok := s.Steps(steps.Hash); !ok || len(r.Stages) != len(ourSteps.Steps) {
		t.Error("the true steps did not come in force")
	}
	for _, b := range []checklist.Body{checklist.JobRules{Rules: rules.Hash, Why: "now"}, checklist.JobRules{Steps: steps.Hash, Why: "now"}} {
		if r := check(jobLog, b); r.Refused() {
			t.Errorf("%+v", r)
		}
	}
	if r := check(jobLog, checklist.JobRules{Why: "now"}); r.Text != "Say which numbers or steps the job shall take." {
		t.Errorf("%+v", r)
	}
	other := ourSteps
	other.Route = "van"
	arrive(shopLog, line.Pin(other))
	if r := check(jobLog, checklist.JobRules{Steps: line.Pin(other).(checklist.StepsSet).Hash, Why: "now"}); r.Text != "Those steps are for another kind of job." {
		t.Errorf("%+v", r)
	}
}

// What a set says is judged before it is written; without a name it gets one.
func TestSetsAreJudged(t *testing.T) {
	s := checklist.NewShop()
	check := func(b checklist.Body) line.Refusal {
		return line.Check(checklist.Line{Log: checklist.Log{Class: checklist.ShopLog}, Kind: b.Kind(), Body: b}, s, checklist.Span{})
	}
	with := func(key string, n int64) checklist.RulesSet {
		v := checklist.DefaultRules()
		v[key] = n
		return checklist.RulesSet{Values: v}
	}
	for _, c := range []struct {
		body checklist.Body
		want string
		ask  bool
	}{
		{ourRules, "", false},
		{with("dry_hours", -1), "dry_hours cannot be below zero.", false},
		{with("surface_floor", 60_000_000), "surface_floor cannot be that. Check the unit.", false},
		{with("dry_rh", 130_000), "dry_rh cannot be that. Check the unit.", false},
		{ourSteps, "", false},
		{checklist.StepsSet{Route: "panels", Name: "Ours", Steps: []checklist.Step{{Key: "wash"}}}, "A route needs the step 'lay'.", false},
		{checklist.StepsSet{Route: "panels", Name: "Ours", Steps: []checklist.Step{{Key: "inspection"}, {Key: "window"}, {Key: "lay"}}},
			"These steps leave out: wash, dry, wipe. Write them all the same?", true},
	} {
		if r := check(c.body); r.Text != c.want || r.Ask != c.ask {
			t.Errorf("%+v: %+v", c.body, r)
		}
	}
	// A hand that writes a log cannot hash.
	b, err := line.ResolveNames("steps.set", line.Encode(ourSteps), func(string) checklist.ID { return checklist.ID{} })
	if err != nil {
		t.Fatal(err)
	}
	got, err := line.Decode("steps.set", b)
	if err != nil || got.(checklist.StepsSet).Hash != line.Pin(ourSteps).(checklist.StepsSet).Hash {
		t.Errorf("%+v, %v", got, err)
	}
	if strings.Contains(ourSteps.Fault(), "'") {
		t.Error(ourSteps.Fault())
	}
}
