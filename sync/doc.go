// Package baysync is a chapter and no code: how the copies of a logbook agree.
//
// A shop's logbooks are lists of entries that nobody changes. Each phone holds
// a copy, writes at its end without asking, and the shop's server decides the
// order. The packages below it say how, from the bottom up; none does any I/O
// of its own but jsonl, none reads a clock, and cbor, sha256, logbook, clock
// and session run on the phone too.
//
//   - cbor is the encoding: one value, one sequence of bytes (RFC 8949, 4.2).
//   - sha256 is FIPS 180-4, small enough for the phone.
//   - logbook is the entry, its name, its receipt, and the chain of hashes
//     that lets two copies compare all they have by 32 bytes.
//   - clock is what a phone knows of the server's time, as an interval.
//   - judge is the one writer's decision on lines that came in: kept with the
//     next order number, set aside with a reason, or a gap.
//   - session is the connection, both ends: frames in, frames and rows out.
//   - jsonl is the same entries as text.
//
// A line's way: a phone stores it, then sends it; the shop judges it, syncs it
// to disk, and only then says kept; only that clears the phone's outbox. All
// phones, also the one that wrote it, come past it in the order of the shop,
// by batches that say the hash they lead to, signed by the shop. A phone whose
// cursor the shop's chain does not know has lines that the shop lost: it brings
// them back, whoever wrote them, proves them by that signature, and begins the
// logbook anew.
//
// # Lines of JSON
//
// `bayhold export` prints a store, and `bayhold gates` reads a file, one entry
// a line. A line written by hand has the view alone:
//
//	{"log":"job:V1","writer":"phone A","at":"2026-03-04T08:31:00Z","kind":"tick","body":{"stage":"wash"}}
//
// log, writer, at, kind and body are required, also by hand; seq, by and
// strikes may be left out. log is shop:, place: or job: and a UUID or a name;
// where a UUID is wanted a name will do, and stands for the UUID that is made
// of it. at is RFC 3339, down to a millisecond. seq counts up by writer and
// logbook when it is left out. Numbers are whole; bytes in a body are
// {"base64url":"AQID"}. Of such a line the time is taken as true, and its
// place in the file as its order. A line from a store has its receipt, if it
// was kept, and its bytes as well:
//
//	{"log":"job:dae96fc0-046a-8ae1-864d-9a66e6715da8","writer":"1ac1b600-50d0-86b1-9023-e339b00d5ef4","seq":1,"at":"2026-03-04T04:53:20.000Z","kind":"tick","body":{"stage":"wash"},"receipt":{"epoch":1,"order":1,"arrived":1772600000020,"earliest":0,"latest":1772600000000},"bytes":"pwBRatrpb8AEaorhhk2aZuZxXagBUBrBtgBQ0IaxkCPjObANXvQCAQOHGwAAAZy3MX4AABkDhAcAAAAEQAVkdGljawahZXN0YWdlZHdhc2g"}
//
// A line that a phone brought back to a shop that had lost it has in its receipt
// also "was", its first receipt's epoch, order and arrived.
//
// seq is required beside bytes, and a view that says another thing than the
// bytes is refused, as is a receipt without bytes. Its at is the phone's wall
// clock, which may be wrong; the receipt has the server's interval. An unknown
// field, a field that stands twice or a name that stands on two lines is an
// error with its line number, and then nothing of the file is taken.
//
// # Frames
//
// A frame is a CBOR array whose first item is its type, and one binary message
// of the websocket, behind a byte that says how it travels: 0 as it is, 1
// compressed (RFC 1951). Times are ms. A frame that is not exactly of its form
// is refused whole and ends the connection. In the examples below a phone says
// hello to a new shop with one line in its outbox, then sends line 3 before
// line 2, and the shop refuses line 2. At last the shop has lost its disk, and
// the phone brings line 1 back.
//
// hello: the phone first: protocol (4), device, page life, wall and monotonic
// clock, cursors [log, epoch, order, hash], writers [log, writer, kept, hash
// of that, last, old].
//
//	frame hello 880104501ac1b60050d086b19023e339b00d5ef4071b000001
//	  9cb7317e001903e88080
//
// lines: the phone: clock [wall, mono, earliest, steady], entries; the
// outbox follows hello at once, and earliest and steady are 0 and far for a
// phone that never met the shop.
//
//	frame lines 8302841b0000019cb7317e001903e8001b001fffffffffffff815850a700516a
//	  dae96fc0046a8ae1864d9a66e6715da801501ac1b60050d086b19023e339b00d
//	  5ef4020103871b0000019cb7317e000019038407000000044005647469636b06
//	  a16573746167656477617368
//
// beat: the phone, every 20 s and when the page returns: wall, mono.
//
//	frame beat 83031b0000019cb7317e3219041a
//
// welcome: the shop answers hello: protocol, epoch, the hello's wall and
// mono, server time received and sent, logbooks of which the phone has another
// history, whether a new writer is needed, gaps [log, writer, from seq], the
// public key of the shop's signatures (Ed25519, RFC 8032; in the example that
// of a seed of zeros). A phone of protocol 1 or 2 gets no lines of others, and
// after its own are kept a bye that tells it to update; one of protocol 1 gets
// no key either. One of protocol 3 gets a bye where others are told later.
// With another epoch than that of its last welcome the phone puts own lines that
// were kept beyond its cursors back into its outbox, and connects anew: the shop
// may have lost them, and have other lines in their places.
//
//	frame welcome 8b1004011b0000019cb7317e001903e81b0000019cb7317e
//	  141b0000019cb7317e1580f48058203b6a27bcceb6a42d62a3a8d02a6f0d7365
//	  3215771de243a63ac048a18b59da29
//
// kept: on disk: of a run of lines [log, writer, how many, seqs, orders,
// epochs, arrived, earliest, latest], the last six as columns (below).
//
//	frame kept 82118189516adae96fc0046a8ae1864d9a66e6715da8501ac1b60050d086b190
//	  23e339b00d5ef401810181018101811b0000019cb7317e148100811b0000019c
//	  b7317db1
//
// aside: set aside: [hash of the entry, code, reason] each; codes: 1 form or
// rights, 2 fork, 3 writer closed, 4 stands under another name, 5 not proven.
//
//	frame aside 821281835820ca17d81b9dd7cc470b82910a6dbeac18b485a134cbf5079edfd6
//	  7fe18a83e98a01726e6f7420796f75727320746f207772697465
//
// from: send again from here: [log, writer, seq] each.
//
//	frame from 82138183516adae96fc0046a8ae1864d9a66e6715da8501ac1b60050d086b190
//	  23e339b00d5ef402
//
// later: of these nothing was stored, because there is no room for what would be
// set aside of this phone or none on the disk: [log, writer, seq] each, after how
// many ms to send again from there, and a sentence for the person. Until then the
// phone sends nothing of these logbooks; all else goes on.
//
//	frame later 84181b8183516adae96fc0046a8ae1864d9a66e6715da8501ac1b60050d086b1
//	  9023e339b00d5ef403197530726e6f20726f6f6d20666f72206974206e6f77
//
// batch: the next lines of a logbook: log, order they follow, hash to begin
// at or null, how many, their receipts as columns [epochs, arrived, earliest,
// latest], their entries, null for one that the phone has just sent, hash they
// lead to, signature of that head: of the CBOR array ["bayhold head", log, epoch
// and order of the last line, hash]. Columns are seven, also in kept, if a line
// among them was brought back: its first receipt's epoch, order and arrived, 0
// for the others.
//
//	frame batch 8914516adae96fc0046a8ae1864d9a66e6715da800f6018481
//	  01811b0000019cb7317e148100811b0000019cb7317db181f65820e346068860
//	  45ff9252e6f4a56b9c153dbe0bd0b966eb26da0671044d6801ab1f58404fd0c4
//	  ebf5ba6862c2cac426cae50c64d62e08ce31a7da355513cc48c02824876b91d6
//	  4a3548f51b9502b0d0bf3111cfa1862fc4c88d4cd8d33eb04a21b4bf01
//
// An entry that was erased travels as its hash and what is left of it, [hash,
// entry], in batches and in what a phone brings back; nobody may write one. In
// the chain counts the hash. Here the stage was erased from line 1. A line of
// the same logbook names it (package checklist, Forget): a copy that still has
// the bytes erases them when that line comes. A phone of protocol 2 would keep
// them, so it gets no lines.
//
//	frame erased 825820ab38c3e79318b21245dbfa7fcf49873fbd62f4cbdf1a2b68c71b
//	  25eb5e380200a700516adae96fc0046a8ae1864d9a66e6715da801501ac1b600
//	  50d086b19023e339b00d5ef4020103871b0000019cb7317e0000190384070000
//	  00044005647469636b06a165737461676566657261736564
//
// A column is an array with a number of each line, as the difference from the
// line before, the first from 0. The receiver makes the receipts' own encoding
// again, which is what is hashed and stored.
//
// proof: the phone, of a logbook that the welcome names: log, epoch, order, hash
// and signature of the last head that it was sent, the order and hash that its
// copy begins behind, and of each line from there on the SHA-256 of its receipt
// and of its entry. They prove each line, for the chain leads to the head.
//
//	frame proof 8804516adae96fc0046a8ae1864d9a66e6715da801015820e3
//	  4606886045ff9252e6f4a56b9c153dbe0bd0b966eb26da0671044d6801ab1f58
//	  404fd0c4ebf5ba6862c2cac426cae50c64d62e08ce31a7da355513cc48c02824
//	  876b91d64a3548f51b9502b0d0bf3111cfa1862fc4c88d4cd8d33eb04a21b4bf
//	  010058208e6d92cf38377d7bed9dd691a73a1f0c9eb9cc187dbc008e78d6e5ee
//	  7fb71f9e5840294b15adcaf49e02a889db04f332c8fb1fd3fc846442b21f611e
//	  52c928c96c17ab38c3e79318b21245dbfa7fcf49873fbd62f4cbdf1a2b68c71b
//	  25eb5e380200
//
// want: the shop lacks the lines from this order on: log, order.
//
//	frame want 831819516adae96fc0046a8ae1864d9a66e6715da801
//
// bring: the phone: log, order of the first, [receipt, entry] each. A line that
// the proof does not cover is set aside, and so are those behind it.
//
//	frame bring 8405516adae96fc0046a8ae1864d9a66e6715da80181825685
//	  01011b0000019cb7317e14001b0000019cb7317db15850a700516adae96fc004
//	  6a8ae1864d9a66e6715da801501ac1b60050d086b19023e339b00d5ef4020103
//	  871b0000019cb7317e000019038407000000044005647469636b06a165737461
//	  67656477617368
//
// taken: all of it is on the shop's disk: log. With the last one the phone puts
// its copies aside, and its next hello has no cursor for these logbooks.
//
//	frame taken 82181a516adae96fc0046a8ae1864d9a66e6715da8
//
// echo: answers beat: its wall and mono, server time received and sent.
//
//	frame echo 85151b0000019cb7317e3219041a1b0000019cb7317e141b0000019cb7317e15
//
// live: log and a value that is not stored.
//
//	frame live 8316516adae96fc0046a8ae1864d9a66e6715da805
//
// bye: why the connection ends, and not to come back before so many ms.
//
//	frame bye 831767636c6f73696e67191388
//
// caught: the phone has had all that was there.
//
//	frame caught 811818
package baysync
