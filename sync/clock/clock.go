package clock

import (
	"bayhold/sync/logbook"
)

// Moment is an interval of the shop server's time, ms since the Unix epoch:
// the moment lies somewhere in [Earliest, Latest].
type Moment struct{ Earliest, Latest int64 }

const (
	// Far is a Latest that nothing is known about: later than every end.
	Far = int64(logbook.MaxTime)

	// Unbounded is the error of an offset that a step of the clock spoiled.
	Unbounded = int64(logbook.MaxTime)

	// DriftPPM is how far a clock's rate may be off, in parts per million.
	// RFC 5905's PHI is 15; quartz in the cold and cheap phones do worse.
	DriftPPM = 200

	// Agreement is how far the offsets at two contacts may differ, in ms,
	// besides the drift of the time between them, for the wall clock in
	// between to be believed.
	Agreement = 2000

	// stepSlack is how far the wall clock may fall behind the monotonic clock
	// before it was set back: the coarseness of both, in ms.
	stepSlack = 50

	// rounding is how much more than the true time lies between two moments
	// of one count at most, in ms: each reading is cut, and each allowance.
	rounding = 3
)

// AtLeast is the true time that passed while a clock counted ms: it may run
// fast, and a reading cut to whole milliseconds may count one too many. Never
// negative.
func AtLeast(ms int64) int64 { return max(0, ms-ms/(1e6/DriftPPM)-1) }

// AtMost is the true time that passed at most while a clock that never stood
// still counted ms.
func AtMost(ms int64) int64 { return max(0, ms) + max(0, ms)/(1e6/DriftPPM-1) + 2 }

// NTP is the offset and delay of RFC 5905 section 8 from the four stamps of
// an exchange: t1 sent and t4 received by the phone's clock, t2 received and
// t3 sent by the shop's. The offset (shop minus phone) comes doubled, because
// it may end in half a millisecond; the delay is at least one, the clocks'
// precision. The true offset is within half the delay of it.
func NTP(t1, t2, t3, t4 int64) (twiceOffset, delay int64) {
	return (t2 - t1) + (t3 - t4), max(1, (t4-t1)-(t3-t2))
}

// agree says whether two offsets that were measured gap ms apart may belong
// to a clock that nobody set in between.
func agree(a, b, gap int64) bool {
	d := a - b
	if d < 0 {
		d = -d
	}
	return d <= tolerance(gap)
}

func tolerance(gap int64) int64 { return Agreement + max(0, gap)/(1e6/DriftPPM) + 1 }
