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
// A writer that the shop knows to be further than the phone does, or with
// another last line, went on elsewhere: on a copy of this phone, or here before
// an old copy of its store came back. The phone takes a new writer and writes
// again what was not kept.
//
// # A shop that lost lines
//
// A cursor that the store's chain does not pass through belongs to a history
// that the store has lost: its disk died, and a backup came back. Every phone
// has a part of what is missing, its own lines and those of others, and every
// batch ended with a head that the shop signed. So the phone brings back what it
// has of such a logbook, before its outbox and on the same connection:
//
//	proof   the head, and the hashes of each line that leads to it
//	want    where the shop's chain parts from that
//	bring   the lines from there on, with their receipts
//	taken   they are on the shop's disk
//
// The shop keeps no lines meanwhile, only the hashes. What the proof covers it
// takes under new order numbers, each with the times of its first receipt, so
// that a drying clock is as far as it was; what it has already it passes over;
// what somebody changed it sets aside. Phones come in any order, and one that
// never returns is not missed, as long as another carries what it wrote.
//
// Where a phone's own store was set back too, two lines may have one name. The
// one that is at the shop stays, the other is set aside with all that was
// written behind it by that writer. Whatever strikes it, also from this phone's
// outbox, is set aside too, for it would take back the wrong line.
//
// At last the phone puts its copies of these logbooks on a shelf and begins them
// anew. Until all of it is there it would bring the shelf back as well, to a
// shop that loses its disk a second time. While a line that takes another back
// still waits, the copies stay in use: what it names is theirs, and only a
// connection that brings them back tells the shop so.
//
// A phone of protocol 1 knows none of this. The shop takes its lines, gives it
// none, and tells it to update.
//
// # Lines that were erased
//
// What is left of an erased line (logbook.Split) goes both ways like any line
// and is chained by the hash that it carries. To the shop it only comes back:
// a proof covers the hash, and the line that names it what is left. A phone that
// comes after the job is no more carried still hears what came behind its
// cursor, or it would keep what is to go. A phone of protocol 2 knows nothing of
// this and is told to update.
//
// # Lines that are to come later
//
// The shop may have no room: its disk is full, or what it would set aside of one
// phone is too much for a day. It stores nothing of such lines and says when to
// send them again (later). The phone waits with what it writes in these
// logbooks, because a writer's lines have no gaps, and then sends all that
// waited, whichever of its writers wrote it; it goes on with all others, and a new
// connection asks again. What was under way behind such a line the shop drops
// without a word, for it comes again with it.
//
// # Silence
//
// The phone beats every 20 s and closes a socket that is silent for 10 s after
// it, 5 s after Probe. The shop closes one that it has not heard for 45 s.
// Backoff spreads the return.
//
// # What does not heal
//
// A line that was written again says what it was first (logbook.Origin), so that
// an old copy of a phone's store does not bring it a second time: it is set
// aside as standing already. Only where that old copy writes it again, too, both
// stand. Lines that no phone has under a signed head but its own writer come back
// as new ones, with the later end of their time open.
package session
