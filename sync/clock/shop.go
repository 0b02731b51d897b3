package clock

import "bayhold/sync/logbook"

// Facts is what the shop knows of a phone's clocks when lines came in.
type Facts struct {
	Life          uint64
	Wall, Mono    int64 // the phone's clocks when it sent them
	Steady        int64 // Phone.Steady then
	Sent, Arrived int64 // server time: not sent before, and when they came
}

// Interval is where an act lies by its stamp and the facts of its arrival:
// 0 <= earliest <= latest <= arrived.
func Interval(s logbook.Stamp, f Facts) Moment {
	m := Moment{s.Earliest, f.Arrived}
	if s.Life == f.Life {
		m.Latest -= AtLeast(f.Mono - s.Mono)
	}
	m.Latest = max(0, m.Latest)
	if m.Earliest < 0 || m.Earliest > m.Latest {
		m.Earliest = 0 // the shop's own clock went back: nothing is known
	}
	return narrow(m, s, f)
}

// narrow believes the wall stamp if the phone's offset to the shop was the
// same at the contact before the act and when the lines were sent.
func narrow(m Moment, s logbook.Stamp, f Facts) Moment {
	// The offset when the lines were sent lies between these two.
	least, most := f.Sent-f.Wall, f.Arrived-f.Wall
	gap := f.Arrived - s.OffsetAt
	if s.OffsetAt == 0 || s.OffsetErr >= Unbounded || f.Steady > s.OffsetAt || least > most || gap < 0 ||
		!agree(s.Offset, least+(most-least)/2, gap) {
		return m
	}
	// At the act it was that of one contact or of the other, within their
	// errors and the tolerance.
	earliest := s.Wall + min(s.Offset-s.OffsetErr, least) - tolerance(gap)
	latest := s.Wall + max(s.Offset+s.OffsetErr, most) + tolerance(gap)
	if earliest > m.Latest || latest < m.Earliest {
		return m // the stamp contradicts what is certain
	}
	return Moment{max(m.Earliest, earliest), min(m.Latest, latest)}
}
