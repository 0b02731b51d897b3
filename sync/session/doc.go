// Package session is one connection between a phone and the shop, both ends,
// without any I/O: frames and readings of clocks go in, frames and things to
// store come out. The server drives a Shop with a websocket, the phone a Phone
// with the browser's, a test both with nothing. The frames stand in the doc
// comment of the folder above, sync, with an example of each.
//
// # Phone
//
// The phone speaks first and does not wait: hello with its cursors and, for
// each of its writers, how far it wrote and what it has receipts for; behind
// it the outbox. So a reconnect costs one round trip. What Out asks for is
// stored in one strict transaction before anything is sent; if that fails the
// session is dropped and a new one opens from what the store has. A frame that
// is refused has changed nothing.
//
// Lines come in batches that follow the cursor without a gap and name the
// hash that they lead to; a copy whose chain does not lead there takes nothing.
// A line that this phone sent comes back as its receipt alone (kept), and has
// its place in the next batch without bytes.
//
// # Shop
//
// A Shop holds no lines. It knows how far the phone has come in each logbook
// and reads on from there when the socket has room (Next), so catching up and
// following live are one thing, a slow phone costs no memory, and a poke too
// many does no harm. Answers go before lines.
//
// A cursor that the store's chain does not pass through belongs to a store
// that lost something: the phone rewinds that logbook, offers its own lines of
// it again and reads it from the start. A writer that the shop knows to be
// further than the phone does, or with another last line, went on elsewhere: on
// a copy of this phone, or here before an old copy of its store came back. The
// phone takes a new writer and writes again what was not kept.
//
// # Silence
//
// The phone beats every 20 s and closes a socket that is silent for 10 s after
// it, 5 s after Probe. The shop closes one that it has not heard for 45 s.
// Backoff spreads the return.
//
// # What does not heal yet
//
// After a restore the lines of phones that never return are shelved on the
// phones that carried them, and not offered by those. A line that was written
// again says what it was first (logbook.Origin), so that an old copy of a
// phone's store does not bring it a second time: it is set aside as standing
// already. But where a backup of the shop and an old copy of a phone come back
// both, about one schedule in 250 of the simulation still ends with a phone that
// holds a line which the store has under another name, or with one that waits
// for ever (go test -calamities).
package session
