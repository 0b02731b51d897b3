package clock

import "bayhold/sync/logbook"

// Facts is what a phone's session told the shop about its clocks.
type Facts struct {
	Life   uint64
	Steady int64 // Phone.Steady when the phone last spoke of it

	// The offset, shop minus wall, lies in [Least, Most] at the last moment
	// that both sides bound: the phone read its wall clock after something
	// the shop had sent and before the shop heard of it. At is when it heard;
	// 0 = no such moment yet.
	Least, Most, At int64
}

// Bracket bounds the offset by a reading of the phone's wall clock that was
// taken after server time sent and arrived at server time arrived.
func (f *Facts) Bracket(wall, sent, arrived int64) { f.BracketAt(wall, sent, wall, arrived) }

// BracketAt is Bracket for two readings: after one thing that the shop sent,
// and later before the shop heard.
func (f *Facts) BracketAt(wallAfter, sent, wallBefore, arrived int64) {
	least, most := sent-wallAfter, arrived-wallBefore
	f.Least, f.Most, f.At = min(least, most), max(least, most), arrived
}

// Interval is where an act lies by its stamp, the session's facts, the
// monotonic reading when the phone sent it and the server time when it
// arrived: 0 <= earliest <= latest <= arrived.
func Interval(s logbook.Stamp, f Facts, sentMono, arrived int64) Moment {
	m := Moment{s.Earliest, arrived}
	if s.Life == f.Life {
		m.Latest -= AtLeast(sentMono - s.Mono)
	}
	m.Latest = max(0, m.Latest)
	if m.Earliest < 0 || m.Earliest > m.Latest {
		m.Earliest = 0 // the shop's own clock went back: nothing is known
	}
	return narrow(m, s, f, arrived)
}

// narrow believes the wall stamp if the phone's offset to the shop was the
// same at the contact before the act and at the one after it.
func narrow(m Moment, s logbook.Stamp, f Facts, arrived int64) Moment {
	gap := arrived - s.OffsetAt
	if s.OffsetAt == 0 || f.At == 0 || s.OffsetErr >= Unbounded || f.Steady > s.OffsetAt ||
		gap < 0 || !agree(s.Offset, f.Least+(f.Most-f.Least)/2, gap) {
		return m
	}
	// In between the offset was that of one contact or of the other, within
	// their errors and the tolerance.
	least := s.Wall + min(s.Offset-s.OffsetErr, f.Least) - tolerance(gap)
	most := s.Wall + max(s.Offset+s.OffsetErr, f.Most) + tolerance(gap)
	if least > m.Latest || most < m.Earliest {
		return m // the stamp contradicts what is certain
	}
	return Moment{max(m.Earliest, least), min(m.Latest, most)}
}
