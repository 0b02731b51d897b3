package clock

import "bayhold/sync/logbook"

// Facts is what a phone's session told the shop about its clocks.
type Facts struct {
	Life   uint64
	Steady int64 // Phone.Steady when the phone last spoke of it

	// The offset, shop minus wall, lies in [Least, Most] when the shop last
	// heard, at server time At; 0 = not yet.
	Least, Most, At int64
}

// Bracket bounds the offset: the phone read wallAfter when something came that
// the shop had sent at server time sent, and wallBefore, then or later, when
// it sent what arrived at server time arrived.
func (f *Facts) Bracket(sent, wallAfter, wallBefore, arrived int64) {
	least, most := sent-wallAfter, arrived-wallBefore
	// They cross if the clock was set forwards in between; then the offset
	// was the one before and is the other now.
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
