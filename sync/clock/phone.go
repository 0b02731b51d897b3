package clock

import (
	"errors"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// Phone is what a phone knows of the shop's time. It is asked with the
// readings of two clocks: wall, which people and networks set, and mono, which
// counts since the page began and may stand still while the phone sleeps.
// Both are in ms; every method takes them, so that a step is seen as soon as
// anyone looks.
//
// Its state outlives the page: keep Append's bytes with every entry written
// and every contact, and now and then between, and Load them.
type Phone struct {
	life uint64

	// The anchor: what held when the clocks read mono0 and wall0. A contact
	// and a new page life make a new one.
	mono0, wall0     int64
	earliest, latest int64
	met              bool // ever

	slept int64 // what wall gained on mono since the anchor: sleep

	// How far wall led mono when the clocks were last looked at, less what
	// their rates may differ by since; fade0 is the mono of that.
	lead, fade0 int64

	stepped   bool  // a step backwards was seen since the last contact
	steppedAt int64 // mono when it was last seen, in this page life

	// The last contact, for stamps and spans.
	offset, offsetErr, at int64
	contactLife           uint64
	contactMono           int64
	contactLatest         int64
	steady                int64 // server time of the first contact since which all agree and no step was seen
}

// NewPhone is a phone that never met the shop.
func NewPhone(life uint64, wall, mono int64) *Phone {
	return &Phone{life: life, mono0: mono, wall0: wall, fade0: mono, latest: Far, steady: Far}
}

// look takes note of the clocks. Within a page life wall can only gain on
// mono (sleep, or a step forwards, which counts as sleep); what it loses,
// beyond the difference of their rates since the last look, was a step
// backwards. Measured from the anchor, hours of that difference would hide a
// step of seconds.
func (p *Phone) look(wall, mono int64) {
	lead := (wall - p.wall0) - (mono - p.mono0)
	p.slept += max(0, lead-p.lead)
	// The rates' share, by whole milliseconds; what is left waits.
	if fade := max(0, mono-p.fade0) / (1e6 / (2 * DriftPPM)); fade > 0 {
		p.lead, p.fade0 = p.lead-fade, mono
	}
	if lead < p.lead-stepSlack {
		p.stepped, p.steppedAt = true, mono
		p.lead = lead // what it gains from here on is sleep again
	}
	p.lead = max(p.lead, lead)
}

// Now is the present moment in the shop's time. Before the first contact it
// is {0, Far}; after a step backwards Latest is Far until the next contact.
func (p *Phone) Now(wall, mono int64) Moment {
	p.look(wall, mono)
	if !p.met {
		return Moment{0, Far}
	}
	passed := max(0, mono-p.mono0)
	m := Moment{p.earliest + AtLeast(passed), Far}
	if !p.stepped && p.latest < Far {
		m.Latest = max(m.Earliest, p.latest+AtMost(passed+p.slept))
	}
	return m
}

// Stamp is the `at` of an entry that is written now.
func (p *Phone) Stamp(wall, mono int64) logbook.Stamp {
	now := p.Now(wall, mono)
	s := logbook.Stamp{Wall: min(max(0, wall), logbook.MaxWall), Earliest: now.Earliest, Mono: max(0, mono), Life: p.life,
		Offset: p.offset, OffsetErr: p.offsetErr, OffsetAt: p.at}
	if p.met && p.stepped {
		s.OffsetErr = Unbounded
	}
	return s
}

// Contact takes in one exchange with the shop: wall1 and mono1 when the
// request left, t2 and t3 the shop's receipt and answer, wall4 and mono4 now,
// all in this page life. The session gives each exchange once.
func (p *Phone) Contact(wall1, mono1, t2, t3, wall4, mono4 int64) {
	now := p.Now(wall4, mono4)
	if t3 < t2 || mono1 > mono4 {
		return
	}
	twice, delay := NTP(wall1, t2, t3, wall4)
	offset, err := floorHalf(twice), (delay+1)/2+1
	// Set back while the answer was under way, nobody knows how long that
	// was: the phone may have slept as well.
	torn := wall4-wall1 < mono4-mono1-stepSlack || p.stepped && p.steppedAt >= mono1
	if torn {
		err = Unbounded
	}
	if !p.met || p.stepped || max(err, p.offsetErr) >= Unbounded || !agree(offset, p.offset, t3-p.at) {
		p.steady = t3
	}
	// The shop's t2 and t3 lie between the request's leaving and now: now is
	// at least t3, and at most t2 and all that passed since the request left.
	// Mono may have slept meanwhile, so wall counts too. A count that is
	// beyond that says that the shop's own clock went back; it is the one
	// that counts.
	p.latest = max(t3, t2+AtMost(max(wall4-wall1, mono4-mono1)))
	if torn {
		p.latest = Far
	}
	if p.earliest = t3; now.Earliest <= p.latest {
		p.earliest = max(t3, now.Earliest)
	}
	p.mono0, p.wall0, p.stepped, p.met = mono4, wall4, torn, true
	p.slept, p.lead, p.fade0 = 0, 0, mono4
	p.offset, p.offsetErr, p.at = offset, err, t3
	p.contactLife, p.contactMono, p.contactLatest = p.life, mono4, p.latest
}

// floorHalf is half of a doubled offset, rounded down also below zero.
func floorHalf(twice int64) int64 { return twice >> 1 }

// Span is where an act of this phone lies that has no receipt yet.
//
// Without contact since the act, both ends are the stamp's Earliest (but for
// rounding): the phone's own count starts there, and Now.Earliest grows from
// it by no more than the time that truly passed. After a contact Now.Earliest has jumped,
// and the act is only known to be before that contact, by at least the
// monotonic time between them if the page lived on.
func (p *Phone) Span(s logbook.Stamp) Moment {
	if s.OffsetAt == p.at {
		return Moment{s.Earliest, s.Earliest + rounding}
	}
	latest := p.contactLatest
	if s.Life == p.contactLife {
		latest -= AtLeast(p.contactMono - s.Mono)
	}
	return Moment{s.Earliest, max(latest, s.Earliest)}
}

// Steady is the server time of the first contact since which every offset
// agreed and no step was seen; Far when a step was seen since the last one.
// The shop believes a wall stamp only behind it.
func (p *Phone) Steady(wall, mono int64) int64 {
	p.look(wall, mono)
	if !p.met || p.stepped {
		return Far
	}
	return p.steady
}

// Life is the page life that stamps carry.
func (p *Phone) Life() uint64 { return p.life }

// Append appends the state as it is at this reading of the clocks.
func (p *Phone) Append(b []byte, wall, mono int64) []byte {
	now := p.Now(wall, mono)
	b = cbor.AppendArray(b, 12)
	b = cbor.AppendBool(b, p.met)
	b = cbor.AppendBool(b, p.stepped)
	b = cbor.AppendInt(b, wall)
	b = cbor.AppendInt(b, now.Earliest)
	b = cbor.AppendInt(b, now.Latest)
	b = cbor.AppendInt(b, p.offset)
	b = cbor.AppendInt(b, p.offsetErr)
	b = cbor.AppendInt(b, p.at)
	b = cbor.AppendUint(b, p.contactLife)
	b = cbor.AppendInt(b, p.contactMono)
	b = cbor.AppendInt(b, p.contactLatest)
	return cbor.AppendInt(b, p.steady)
}

// Load begins a new page life from kept state. The time with the page closed
// adds nothing to Now.Earliest and counts in full, by the wall clock, towards
// Now.Latest; a wall clock that reads less than when the state was kept was
// set back.
func Load(b []byte, life uint64, wall, mono int64) (*Phone, error) {
	r := cbor.NewReader(b)
	if r.Array() != 12 {
		r.Fail("a clock's state has 12 fields")
	}
	p := NewPhone(life, wall, mono)
	p.met, p.stepped = r.Bool(), r.Bool()
	closed := wall - logbook.ReadTime(r)
	p.earliest, p.latest = logbook.ReadTime(r), logbook.ReadTime(r)
	p.offset, p.offsetErr, p.at = logbook.ReadTime(r), logbook.ReadTime(r), logbook.ReadTime(r)
	p.contactLife, p.contactMono, p.contactLatest = r.Uint(), logbook.ReadTime(r), logbook.ReadTime(r)
	p.steady = logbook.ReadTime(r)
	if err := r.Close(); err != nil {
		return nil, errors.New("clock: " + err.Error())
	}
	if closed < 0 {
		p.stepped = true
	} else if p.latest < Far {
		p.latest = min(Far, p.latest+AtMost(closed))
	}
	return p, nil
}
