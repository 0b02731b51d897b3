// Package clock is what may be said about time when no clock on a phone can
// be trusted. A drying clock must not open a gate early because somebody set a
// phone's clock, and a wipe that is too old must not pass for fresh.
//
// Every moment is an interval of the shop server's time, earliest to latest.
// Two rules make use of it, and stay right as long as the true moment lies
// inside:
//
//	a waiting gate opens   when now.Earliest >= start.Latest + duration
//	a claim is too old     when now.Latest >= act.Earliest + shelf life
//
// A Phone keeps a lower and an upper bound of the present. A contact (RFC 5905
// section 8) sets both. The lower one grows with the monotonic clock alone,
// less 200 ppm, and not at all while the page is closed; the upper one with
// the wall clock too, because a monotonic clock may stand still in sleep, and
// after a step backwards there is none until the next contact.
//
// The shop makes an Interval of each line that arrives, for its receipt. The
// act was not before what its phone vouched for, and not after its arrival
// less the monotonic time from act to sending, within one page life. The wall
// stamp narrows that only if the offset at the contact before the act and the
// one at the sending agree within 2 s and 200 ppm of the gap, and the phone
// saw no step since the first.
//
// # What is taken for granted
//
// The shop's own clock is the measure. It must not go back; the server passes
// the greater of its clock and the last value. If it does go back, phones
// follow it at the next contact, and an interval that became contradictory
// loses its lower end.
//
// A rate is within 200 ppm. A wall clock that is slewed faster, by more than
// 50 ms in all since anyone looked, counts as set.
//
// # Out of scope
//
// A step backwards shows by the monotonic clock while the page runs, and by
// the last reading kept while it is closed. So it stays unseen
//
//   - if the clock is set back, while the page is closed or the phone asleep,
//     by less than it had run on since the clocks were last looked at (asleep)
//     or the state last kept (closed): until the next contact a claim may look
//     younger by that much;
//   - if the clock is set, and set back again, between two contacts, and none
//     of it was seen: then a line stamped in between may get an interval that
//     is off by that step. Forwards cannot be told from sleep; of such a pair
//     the step backwards is seen, unless it falls under the first case;
//   - if an older copy of the phone's store comes back and the clock was set
//     since it was made: the step is forgotten with the rest.
//
// Opening a gate early needs the second or the third, never the first: the
// lower bound does not read the wall clock.
package clock
