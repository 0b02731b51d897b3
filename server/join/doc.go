// Package join is how a phone becomes one of a shop's, proves it on every
// connection, and stops being one.
//
// # Joining
//
// A lead shows an [Invitation]: a code that a camera reads, 128 random bits in
// the fragment of an address, so that neither a log nor a Referer ever holds
// them; and the same as eight letters and digits, for a phone whose app cannot
// see what its camera opened (on iOS the app on the home screen and the browser
// share nothing). It is good for one phone and ten minutes. The shop keeps
// hashes of both, compared in constant time. Letters can be guessed, 128 bits
// cannot: so a wrong guess counts against every code that is open, and a code
// that was guessed at too often dies, with the picture beside it still good.
//
// The phone makes its key itself, P-256, and its browser never gives it away.
// The shop learns the public half. That and the phone's name and role is a line
// of the shop's logbook, which the server writes: it stands in every copy and
// backup, and what is on record about a phone is on record for good.
//
// # Proving
//
// Each connection begins with a nonce of the shop's. The phone signs it together
// with its own id and the origin that its page came from ([Said]). A nonce is the
// socket's that it was made for and dies with the first answer; a signature for
// one origin is worthless at another. Until it is checked nothing is read and
// nothing is written. What the shop answers over HTTP beside the socket is asked
// for with a [Passes] pass, which the phone gets over the proven socket and
// which ends within the day, with the server, and with the phone's membership.
//
// # A lead on a shared phone
//
// Who is tapped on a shared phone proves nothing, so a lead's acts do not count
// from there, until the lead types a [PIN] and the shop finds it right. The shop
// keeps a slow hash of it and counts wrong ones ([Tries]). Then a line of the
// shop's logbook opens that phone to that lead for some minutes ([Opened],
// [Allowance]); it tells for good which acts were by PIN, and where.
//
// # Leaving
//
// A phone that was taken off may still bring what it wrote; all of it is set
// aside for the lead. It is told nothing any more. A phone is never put on again:
// it joins anew, with a new key.
//
// # After a restore
//
// A backup does not know who was taken off after it was made. So in a store that
// was restored every phone joins again, by an invitation and with the key that it
// has ([Joined]): it keeps its lines and is the same phone. What else opened the
// shop, PINs, keys of loggers and addresses of calendars, is gone there; owners'
// links are given anew.
//
// The package is pure: the caller passes time and randomness in, and keeps what
// it is told to keep.
package join
