package lead

import (
	"strconv"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/testdata/demo/story"
)

// sized is the story's shop on Tuesday 22:00, V5 in the yard, with bays and a van
// that were measured: metres by bay, 0 where nobody did.
func sized(t *testing.T, units string, long, high float64, bays, doors map[int]float64) *Look {
	t.Helper()
	at := momentOf(story.Tuesday, "22:00")
	s := shopAt('A', at)
	seq := uint64(0)
	add := func(log checklist.Log, b checklist.Body) {
		seq++
		s.Add(checklist.Line{Log: log, ID: checklist.LineID{Writer: story.ID("tape"), Seq: seq}, Span: checklist.Span{Earliest: at, Latest: at}, Kind: b.Kind(), Body: b})
	}
	shop := checklist.Log{Class: checklist.ShopLog, ID: story.ID("shop:" + story.Shop)}
	for i, p := range s.Places() {
		p.Length, p.Door = int64(bays[i+1]*1e6), int64(doors[i+1]*1e6)
		add(shop, p)
	}
	if set, _ := s.Setting(); units != "" {
		set.Units = units
		add(shop, set)
	}
	v5 := checklist.Log{Class: checklist.JobLog, ID: story.ID("V5")}
	for what, m := range map[string]float64{"length-mm": long, "height-mm": high} {
		if m != 0 {
			add(v5, checklist.Asked{What: what, Answer: strconv.Itoa(int(m * 1000))})
		}
	}
	return At(s, checklist.Span{Earliest: at, Latest: at}, 0, open())
}

// A van of 6.9 m does not go into a bay for 6.5 m, whatever the air is; one that
// nobody measured is asked about and not stopped. 1 ft is 0.3048 m by definition:
// 6.9 m are 22.64 ft.
func TestTooLarge(t *testing.T) {
	morning := momentOf(story.Wednesday, "06:00")
	for _, c := range []struct {
		units       string
		long, high  float64
		bays, doors map[int]float64
		want        string
	}{
		{"C", 6.9, 0, map[int]float64{4: 6.5}, nil, "V5 is 6.9 m long, Bay 4 takes 6.5 m."},
		{"F", 6.9, 0, map[int]float64{4: 6.5}, nil, "V5 is 22.64 ft long, Bay 4 takes 21.33 ft."},
		{"C", 6.9, 2.8, map[int]float64{4: 7}, map[int]float64{4: 2.7}, "V5 is 2.8 m high, the door of Bay 4 takes 2.7 m."},
		{"C", 6.9, 2.8, map[int]float64{4: 6.9}, map[int]float64{4: 2.8}, "V5 will sweat"}, // exactly as long and high
		{"C", 0, 0, map[int]float64{4: 3}, nil, "V5 will sweat"},
		{"C", 12, 3.2, nil, nil, "V5 will sweat"},
	} {
		l := sized(t, c.units, c.long, c.high, c.bays, c.doors)
		a := l.Move(story.ID("V5"), story.ID("bay 4"), morning)
		if got := said(t, a.Sentence); a.Verdict != No || !strings.HasPrefix(got, c.want) {
			t.Errorf("%+v: %s, %q", c, a.Verdict, got)
		}
		said(t, a.Action)
		if l.Sized(story.ID("V5")) != (c.long != 0 && c.high != 0) {
			t.Errorf("%+v: measured or not?", c)
		}
	}
}

// The plan takes it where it fits, as soon as that bay is free, and names it
// where it fits nowhere; the others' plan stands.
func TestPlanOfALongVehicle(t *testing.T) {
	short := map[int]float64{1: 7, 2: 7, 3: 7, 4: 7, 5: 14, 6: 7}
	s := sized(t, "", 10, 0, short, nil).Schedule()
	for i, c := range s.Problem.Chains {
		if c.Name == "V5" && (s.Plan == nil || s.Problem.Bays[s.Bays[i]].Name != "Bay 5") {
			t.Errorf("V5 in bay %d, %s", s.Bays[i], s.Refused)
		}
	}
	s = sized(t, "", 15, 0, short, nil).Schedule()
	if len(s.Out) != 1 || said(t, s.Out[0]) != "V5 is 15 m long, Bay 5 takes 14 m." || s.Plan == nil {
		t.Errorf("%q, %s", s.Out, s.Refused)
	}
}
