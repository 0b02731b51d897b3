package line_test

import (
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/heat"
	"bayhold/checklist/line"
)

// finished is a shop with a lead, a hand and the desk, and a van of one flat
// panel in its bay; the moment is an hour after its last line.
type finished struct {
	*checklist.Shop
	seq uint64
	now int64
}

var (
	theJob  = checklist.Log{Class: checklist.JobLog, ID: checklist.ID{9}}
	theLead = checklist.ID{1}
	theHand = checklist.ID{2}
)

func newFinished() *finished {
	f := &finished{Shop: checklist.NewShop(), now: 1_768_300_000_000}
	shop := checklist.Log{Class: checklist.ShopLog, ID: checklist.ID{8}}
	f.add(shop, theLead, checklist.PersonAdd{Person: theLead, Name: "M", Initials: "M", Role: "lead"})
	f.add(shop, theLead, checklist.PersonAdd{Person: theHand, Name: "J", Initials: "J", Role: "crew"})
	f.add(shop, theLead, checklist.PlaceAdd{Place: checklist.ID{7}, Name: "Bay 1", Sort: "bay"})
	f.add(theJob, theLead, checklist.JobOpen{Label: "V", Route: "van", Place: checklist.ID{7}, Panels: []checklist.Panel{{ID: "side", Name: "left side", Zone: "lower"}}})
	return f
}

func (f *finished) add(log checklist.Log, by checklist.ID, b checklist.Body) {
	f.seq++
	f.now += 60_000
	f.Add(checklist.Line{Log: log, ID: checklist.LineID{Writer: by, Seq: f.seq}, Order: f.seq, By: by, Kind: b.Kind(), Body: b,
		Span: checklist.Span{Earliest: f.now, Latest: f.now}})
}

// check is what the phone says to a line of this body.
func (f *finished) check(by checklist.ID, b checklist.Body) line.Refusal {
	now := f.now + 3_600_000
	return line.Check(checklist.Line{Log: theJob, ID: checklist.LineID{Writer: checklist.ID{99}, Seq: 1}, By: by, Kind: b.Kind(), Body: b},
		f.Shop, checklist.Span{Earliest: now, Latest: now})
}

// A vehicle is handed over when its last gate is passed or the lead let it
// pass; without film it may always leave. After that only what the call back
// shows is written on it. (Ours; no source.)
func TestLeaving(t *testing.T) {
	f := newFinished()
	r := f.check(theLead, checklist.JobClose{How: "handed-over"})
	if !strings.HasPrefix(r.Text, "It cannot leave yet. ") || r.Ask {
		t.Errorf("handed over with nothing done: %+v", r)
	}
	if r := f.check(theLead, checklist.JobClose{How: "no-film"}); r.Refused() {
		t.Errorf("without film: %+v", r)
	}
	now := checklist.Span{Earliest: f.now, Latest: f.now}
	for _, g := range f.Gates(theJob.ID, now) {
		if g.Stage == "hand-over" {
			f.add(theJob, theLead, checklist.Waiver{Stage: "hand-over", Causes: g.Causes, Sentence: "Goes to a show tonight."})
		}
	}
	if r := f.check(theLead, checklist.JobClose{How: "handed-over"}); !r.Refused() {
		t.Error("a go-ahead alone released it early")
	}
	f.add(theJob, theHand, checklist.Sign{What: "early-release", As: "owner", Name: "an owner"})
	if r := f.check(theLead, checklist.JobClose{How: "handed-over"}); r.Refused() {
		t.Errorf("let pass and signed: %+v", r)
	}
	f.add(theJob, theLead, checklist.JobClose{How: "handed-over"})
	for _, b := range []checklist.Body{
		checklist.Note{Text: "came back"}, checklist.Photo{SHA: strings.Repeat("ab", 32), Panel: "side"},
		checklist.Evidence{What: "risen", Count: 0, Of: 9}, checklist.Tick{Stage: "call-back", Answer: "done"},
	} {
		if r := f.check(theHand, b); r.Refused() {
			t.Errorf("%s after the hand-over: %+v", b.Kind(), r)
		}
	}
	for _, b := range []checklist.Body{
		checklist.Tick{Stage: "lay", Panel: "side", Answer: "done"}, checklist.Heat{Panel: "side", Answer: "done"},
		checklist.Setback{Cause: "touched"}, checklist.Reading{Answer: "not-measured"},
	} {
		if r := f.check(theHand, b); !r.Refused() || r.Ask {
			t.Errorf("%s was taken after the hand-over: %+v", b.Kind(), r)
		}
	}
	g := newFinished()
	g.add(theJob, theLead, checklist.JobClose{How: "no-film"})
	if r := g.check(theHand, checklist.Tick{Stage: "call-back", Answer: "done"}); !r.Refused() {
		t.Error("a call back without film")
	}
}

// Post-heat faster than 1.2 m a minute and 2 s a rivet for each gun is asked
// about and never blocked: 78 m in 12 minutes (TRADE 12.7, common practice) take
// 65 at least.
func TestPostHeatIsQuestioned(t *testing.T) {
	const metre, minute = 1_000_000, 60_000
	f := newFinished()
	for _, c := range []struct {
		length, took, guns, rivets int64
		ask                        string
	}{
		{78, 12, 1, 0, "78 m in 12 min with one gun: part done?"},
		{78, 65, 1, 0, ""},
		{78, 64, 1, 0, "78 m in 64 min with one gun: part done?"},
		{78, 33, 2, 0, ""},
		{78, 32, 2, 0, "78 m in 32 min with 2 guns: part done?"},
		{0, 3, 0, 100, "100 rivets in 3 min with one gun: part done?"}, // 200 s at least
		{0, 4, 0, 100, ""},
		{78, 0, 1, 0, ""}, // nobody took the time
	} {
		b := checklist.Heat{Panel: "side", Length: c.length * metre, Took: c.took * minute, Guns: c.guns, Rivets: c.rivets, Films: []int64{95_000}, Answer: "done"}
		r := f.check(theHand, b)
		if r.Text != c.ask || r.Ask != (c.ask != "") {
			t.Errorf("%+v: %+v", c, r)
		}
		if slow := c.took > 0 && float64(c.took) < (float64(c.length)/1.2+float64(c.rivets)*2/60)/float64(max(1, c.guns)); slow != r.Ask {
			t.Errorf("%+v: asked %v", c, r.Ask)
		}
	}
	if heat.LeastMs(78_000, 0, 1) != 65*minute {
		t.Error("package heat reckons otherwise")
	}
}

// Numbers that nobody can have measured are refused with a sentence, the rest
// are taken without a question.
func TestNumbersAfterLaying(t *testing.T) {
	f := newFinished()
	for _, c := range []struct {
		body checklist.Body
		want string
	}{
		{checklist.Heat{Panel: "side", Answer: "part", Length: 2_000_000_001, Films: []int64{95_000}}, "Metres 2001 cannot be. It goes from 0 to 2000."},
		{checklist.Heat{Panel: "side", Answer: "part", Length: -1}, "Metres -1 cannot be. It goes from 0 to 2000."},
		{checklist.Heat{Panel: "side", Answer: "part", Guns: 9}, "Guns 9 cannot be. It goes from 0 to 8."},
		{checklist.Heat{Panel: "side", Answer: "part", Films: []int64{95_000, 401_000}}, "Film ⟨c:401000⟩ cannot be. It goes from ⟨c:-40000⟩ to ⟨c:400000⟩."},
		{checklist.Heat{Panel: "side", Answer: "part", Emissivity: 100_001}, "Emissivity 100 % cannot be. It goes from 0 % to 100 %."},
		{checklist.Heat{Panel: "side", Answer: "part", Over: "wood"}, "What is under the film cannot be 'wood'."},
		{checklist.Heat{Panel: "roof", Answer: "part"}, "This job has no panel 'roof'."},
		{checklist.Heat{Panel: "side", Answer: "part", Films: []int64{95_000}, Took: 60_000}, ""},
		{checklist.Evidence{What: "risen", Count: 3}, "Say of how many."},
		{checklist.Evidence{What: "risen", Count: 61, Of: 60}, "That is more than there are. Check both numbers."},
		{checklist.Evidence{What: "risen", Count: 0, Of: 1440}, ""}, // a bus side
		{checklist.Evidence{What: "trim-bags", Count: 8, Of: 7}, "That is more than there are. Check both numbers."},
		{checklist.Evidence{What: "card-strips", Count: 101}, "Card strips 101 cannot be. It goes from 0 to 100."},
		{checklist.Evidence{What: "keep-clear", Panel: "roof", Feature: "cam"}, "This job has no panel 'roof'."},
	} {
		if r := f.check(theHand, c.body); r.Text != c.want || r.Ask {
			t.Errorf("%+v: %+v, want %q", c.body, r, c.want)
		}
	}
}

// Moving a vehicle whose film is half laid is asked about.
func TestMoveHalfLaid(t *testing.T) {
	f := newFinished()
	move := checklist.JobMove{Place: checklist.ID{7}, Wet: "no"}
	if r := f.check(theHand, move); r.Refused() {
		t.Errorf("%+v", r)
	}
	f.add(theJob, theHand, checklist.Tick{Stage: "lay", Panel: "side", Answer: "started"})
	if r := f.check(theHand, move); r.Text != "Film is half laid on left side. Move it all the same?" || !r.Ask {
		t.Errorf("%+v", r)
	}
}

// What was found at the edges is closed by the hand that did it again; what was
// found on the paint is answered by those who speak with its owner. (Ours; no
// source.)
func TestWhoAnswersAFinding(t *testing.T) {
	f := newFinished()
	pin := func(walk string) checklist.LineID {
		f.add(theJob, theHand, checklist.Finding{Panel: "side", What: "other", Walk: walk})
		return checklist.LineID{Writer: theHand, Seq: f.seq}
	}
	edge, chip := pin("edges"), pin("clean")
	for _, c := range []struct {
		by     checklist.ID
		pin    checklist.LineID
		answer string
		want   string
	}{
		{theHand, edge, "redone", ""},
		{theLead, edge, "redone", ""},
		{theHand, edge, "accepted", "Only the lead or the desk can write this."},
		{theHand, chip, "accepted", "Only the lead or the desk can write this."},
		{theHand, chip, "repaired", "Only the lead or the desk can write this."},
		{theHand, chip, "redone", "This job has no such finding."},
		{theLead, chip, "accepted", ""},
	} {
		if r := f.check(c.by, checklist.FindingAnswer{Finding: c.pin, Answer: c.answer}); r.Text != c.want {
			t.Errorf("%v %s by %v: %q, want %q", c.pin, c.answer, c.by, r.Text, c.want)
		}
	}
}
