package clock

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"bayhold/sync/logbook"

	"pgregory.net/rapid"
)

// TestNTP checks the exchanges of testdata/ntp.json, by the formulas of RFC
// 5905 section 8.
func TestNTP(t *testing.T) {
	b, err := os.ReadFile("testdata/ntp.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Vectors []struct {
			Name           string
			T1, T2, T3, T4 int64
			Offset         float64
			Delay          int64
			TrueOffset     int64 `json:"true_offset"`
		}
	}
	if err := json.Unmarshal(b, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Vectors) < 7 {
		t.Fatalf("%d vectors", len(file.Vectors))
	}
	for _, v := range file.Vectors {
		twice, delay := NTP(v.T1, v.T2, v.T3, v.T4)
		if float64(twice) != 2*v.Offset || delay != v.Delay {
			t.Errorf("%s: offset %v, delay %d, want %v, %d", v.Name, float64(twice)/2, delay, v.Offset, v.Delay)
		}
		if off := math.Abs(v.Offset - float64(v.TrueOffset)); 2*off > float64(delay) {
			t.Errorf("%s: off by %v with a delay of %d", v.Name, off, delay)
		}
	}
}

// TestNTPHalf: half a millisecond is not cut away, on either side of zero.
func TestNTPHalf(t *testing.T) {
	for _, v := range []struct{ t2, twice, floor int64 }{{38, 15, 7}, {23, -15, -8}} {
		twice, _ := NTP(0, v.t2, v.t2, 61)
		if twice != v.twice || floorHalf(twice) != v.floor {
			t.Errorf("twice the offset %d, half %d, want %d and %d", twice, floorHalf(twice), v.twice, v.floor)
		}
	}
}

// TestNTPNegativeDelay is the example of RFC 5905 section 8: a clock that is
// 100 ppm slow over 64 s without any delay measures -6.4 ms, which is clamped
// to the precision.
func TestNTPNegativeDelay(t *testing.T) {
	if _, delay := NTP(0, 0, 64000, 64000-6); delay != 1 {
		t.Errorf("delay %d, want the precision, 1", delay)
	}
}

// TestNTPAsymmetric: with all the delay on one way the error is exactly half
// of it, up or down, and never more (RFC 5905 section 8; offset minus truth is
// half of up minus down).
func TestNTPAsymmetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		truth := rapid.Int64Range(-1e10, 1e10).Draw(t, "offset")
		up, down := rapid.Int64Range(0, 60000).Draw(t, "up"), rapid.Int64Range(0, 60000).Draw(t, "down")
		work := rapid.Int64Range(0, 1000).Draw(t, "work")
		twice, delay := NTP(0, up+truth, up+work+truth, up+work+down)
		if twice-2*truth != up-down {
			t.Fatalf("error %d halves, want %d", twice-2*truth, up-down)
		}
		if delay != max(1, up+down) {
			t.Fatalf("delay %d", delay)
		}
	})
}

// t0 is when the test phone first meets the shop; its own clock is an hour slow.
const (
	t0    = int64(1_772_600_000_000)
	slow  = int64(3_600_000)
	wall0 = t0 - slow
)

// met is a phone that met the shop at t0 with 40 ms each way, mono then 1080.
func met() *Phone {
	p := NewPhone(1, wall0-80, 1000)
	p.Contact(wall0-80, 1000, t0-40, t0-40, wall0, 1080)
	return p
}

func TestNeverMet(t *testing.T) {
	p := NewPhone(1, wall0, 0)
	if now := p.Now(wall0+5000, 5000); now != (Moment{0, Far}) {
		t.Errorf("now %v", now)
	}
	if s := p.Stamp(wall0+5000, 5000); s.Earliest != 0 || s.OffsetAt != 0 || p.Steady(wall0+5000, 5000) != Far {
		t.Errorf("stamp %+v", s)
	}
}

func TestNow(t *testing.T) {
	const hour = int64(3_600_000)
	for _, c := range []struct {
		name        string
		wall, mono  int64 // passed since the contact
		least, most int64 // bounds of now.Earliest and now.Latest from t0
	}{
		{"at the contact", 0, 0, -40, 40 + 20},
		// 200 ppm of an hour are 720 ms.
		{"an hour", hour, hour, hour - 720 - 50, hour + 720 + 60},
		{"an hour asleep: wall counts for latest, nothing for earliest", hour, 0, -50, hour + 720 + 60},
		{"set forwards counts as sleep", 2 * hour, hour, hour - 720 - 50, 2*hour + 1440 + 60},
	} {
		p := met()
		now := p.Now(wall0+c.wall, 1080+c.mono)
		if now.Earliest < t0+c.least || now.Earliest > t0+c.mono || now.Latest < t0+c.wall || now.Latest > t0+c.most {
			t.Errorf("%s: now is t0%+d to t0%+d", c.name, now.Earliest-t0, now.Latest-t0)
		}
	}
}

func TestStepBackwards(t *testing.T) {
	for _, c := range []struct {
		name  string
		looks [][2]int64 // wall and mono since the contact
	}{
		{"ten seconds", [][2]int64{{0, 0}, {-10_000, 0}}},
		{"unseen until later", [][2]int64{{600_000 - 10_000, 600_000}}},
		{"right after a sleep, by more than it", [][2]int64{{5000, 5000}, {5000 + 26_000 - 27_600, 5000}}},
		{"the same, hours after the contact", [][2]int64{{13_000_000, 13_000_000}, {13_000_000 + 26_000 - 27_600, 13_000_000}}},
	} {
		p := met()
		var wall, mono int64
		for _, l := range c.looks {
			wall, mono = wall0+l[0], 1080+l[1]
			p.Now(wall, mono)
		}
		now := p.Now(wall, mono)
		if now.Latest != Far || now.Earliest > t0+mono-1080 {
			t.Errorf("%s: now %v", c.name, now)
		}
		if s := p.Stamp(wall, mono); s.OffsetErr != Unbounded || p.Steady(wall, mono) != Far {
			t.Errorf("%s: the wall stamp is still believed: %+v", c.name, s)
		}
		// It stays so in the next page life, until the next contact.
		q, err := Load(p.Append(nil, wall, mono), 2, wall, 0)
		if err != nil || q.Now(wall+100_000, 100_000).Latest != Far {
			t.Errorf("%s: forgotten with the page: %v", c.name, err)
		}
		q.Contact(wall+100_000, 100_000, t0+20_000_000, t0+20_000_000, wall+100_050, 100_050)
		if now := q.Now(wall+100_050, 100_050); now.Latest > t0+20_000_000+60 || q.Steady(wall+100_050, 100_050) != t0+20_000_000 {
			t.Errorf("%s: a contact does not heal it: %v", c.name, now)
		}
	}
}

func TestStepWhileAnswerIsUnderWay(t *testing.T) {
	p := met()
	wall, mono := wall0+1000, int64(2080)
	p.Now(wall, mono)
	p.Contact(wall, mono, t0+20_000, t0+20_000, wall-5000, mono+100)
	if now := p.Now(wall-5000, mono+100); now.Latest != Far || now.Earliest < t0+20_000 {
		t.Errorf("now %v: nobody knows how long the phone slept meanwhile", now)
	}
}

// TestPageClosed: the time with the page closed adds nothing to earliest and
// all of the wall clock's to latest.
func TestPageClosed(t *testing.T) {
	const hour = int64(3_600_000)
	p := met()
	before := p.Now(wall0+60_000, 61_080)
	state := p.Append(nil, wall0+60_000, 61_080)
	q, err := Load(state, 2, wall0+60_000+8*hour, 0)
	if err != nil {
		t.Fatal(err)
	}
	now := q.Now(wall0+60_000+8*hour, 0)
	if now.Earliest != before.Earliest {
		t.Errorf("earliest moved by %d", now.Earliest-before.Earliest)
	}
	if grew := now.Latest - before.Latest; grew < 8*hour || grew > 8*hour+8*720+20 {
		t.Errorf("latest moved by %d", grew)
	}
	if q, err = Load(state, 2, wall0+59_999, 0); err != nil || q.Now(wall0+59_999, 0).Latest != Far {
		t.Errorf("set back while closed: %v, %v", q, err)
	}
}

func TestState(t *testing.T) {
	p := met()
	act := p.Stamp(wall0+500, 1580)
	p.Contact(wall0+900, 1980, t0+940, t0+941, wall0+980, 2060)
	wall, mono := wall0+2000, int64(3080)
	state := p.Append(nil, wall, mono)
	q, err := Load(state, 2, wall, 0)
	if err != nil {
		t.Fatal(err)
	}
	a, b := p.Stamp(wall, mono), q.Stamp(wall, 0)
	a.Mono, a.Life, b.Mono, b.Life = 0, 0, 0, 0
	if a != b {
		t.Errorf("stamp %+v, after loading %+v", a, b)
	}
	if p.Steady(wall, mono) != q.Steady(wall, 0) || p.Span(act) != q.Span(act) {
		t.Errorf("steady %d %d, span %v %v", p.Steady(wall, mono), q.Steady(wall, 0), p.Span(act), q.Span(act))
	}
	if at := q.Span(act); at.Earliest > t0+500 || at.Latest < t0+500 || at.Latest > t0+600 {
		t.Errorf("an act at t0+500 lies from t0%+d to t0%+d", at.Earliest-t0, at.Latest-t0)
	}
	for n := range state {
		if _, err := Load(state[:n], 2, wall, 0); err == nil {
			t.Errorf("the first %d of %d bytes were taken", n, len(state))
		}
	}
}

// TestInterval checks the shop's side: the wall stamp narrows only if the
// offsets before and after agree within 2 s and 200 ppm of the gap.
func TestInterval(t *testing.T) {
	const gap = int64(10_000_000) // 200 ppm: 2 s
	stamp := logbook.Stamp{Wall: wall0 + 4_000_000, Earliest: t0, Mono: 5_000_000, Life: 7, Offset: slow, OffsetErr: 40, OffsetAt: t0}
	facts := func(drift int64) Facts { // sent and arrived at t0+gap, the clock off by drift more
		return Facts{Life: 8, Wall: wall0 + gap - drift, Mono: 1000, Steady: t0, Sent: t0 + gap, Arrived: t0 + gap}
	}
	wide := Moment{t0, t0 + gap}
	for _, c := range []struct {
		name   string
		change func(*logbook.Stamp, *Facts)
		drift  int64
		narrow bool
	}{
		{"same offset", nil, 0, true},
		{"4.001 s", nil, 4001, true},
		{"4.002 s", nil, 4002, false},
		{"4.002 s the other way", nil, -4002, false},
		{"a step between", func(s *logbook.Stamp, f *Facts) { f.Steady = t0 + 1 }, 0, false},
		{"no contact before", func(s *logbook.Stamp, f *Facts) { s.OffsetAt = 0 }, 0, false},
		{"offset spoiled", func(s *logbook.Stamp, f *Facts) { s.OffsetErr = Unbounded }, 0, false},
	} {
		s, f := stamp, facts(c.drift)
		if c.change != nil {
			c.change(&s, &f)
		}
		got := Interval(s, f)
		if c.narrow == (got == wide) {
			t.Errorf("%s: %v", c.name, got)
		}
		if truth := t0 + 4_000_000; got.Earliest > truth || got.Latest < truth {
			t.Errorf("%s: %v does not hold %d", c.name, got, truth)
		}
	}
	// The same page life: a monotonic span, less 200 ppm, to the sending.
	f := Facts{Life: 7, Wall: wall0, Mono: 6_000_000, Steady: Far, Sent: t0 + gap, Arrived: t0 + gap}
	if got := Interval(stamp, f); got != (Moment{t0, t0 + gap - (1_000_000 - 200 - 1)}) {
		t.Errorf("same page life: %v", got)
	}
}
