// Package sealed makes the record of a finished job: one folder, packed as a
// zip, that says how the work was done without Bayhold, and that nobody can
// change unseen. Verify reads one again and names what does not fit.
//
// # What is in it
//
//	README.txt    what this is, and how to check it with and without Bayhold
//	record.pdf    the record for people, where the shop made one
//	lines.jsonl   the lines, as `bayhold export` writes them (package jsonl)
//	chain.csv     where each of these lines stands in its logbook's chain
//	readings.csv  every measured value
//	lines.csv     every line as a row, its body as JSON
//	dates.ics     the dates (RFC 5545)
//	shop.pem      the shop's public key (RFC 8410)
//	photos/...    <sha256>.jpg, .png or .webp, exactly as they came
//	voice/...     <sha256>.webm or .m4a
//	SHA256SUMS    the hash of every file above, as sha256sum reads it
//	seal.json     the seal for reading
//	seal.cbor     the seal as the bytes that are signed
//	seal.sig      their Ed25519 signature (RFC 8032), 64 bytes
//
// The tables are RFC 4180 with a header row. Times are RFC 3339 in UTC,
// temperatures degrees Celsius, humidities percent, both with three decimals.
// 'earliest' and 'latest' bound when a line was written, in the server's time;
// 'arrived' is when the shop had it. A cell that a spreadsheet would compute
// begins with an apostrophe.
//
//	lines.csv     log, order, epoch, earliest, latest, arrived, first_arrived,
//	              phone_clock, by, writer, seq, kind, body, strikes, struck
//	readings.csv  what (surface, air, film), place, spot, from, to, least_C,
//	              most_C, rh_least, rh_most, dew_most_C, instrument, answer,
//	              typed, by, log, order, struck
//	chain.csv     log, order, epoch, line_sha256, receipt_sha256, entry_sha256,
//	              before, after
//
// A row of chain.csv is the line of lines.jsonl with the same number: the hash
// of that line's text, of its receipt and its entry, and the chain's hash before
// and after it, after = SHA-256(before || receipt_sha256 || entry_sha256).
//
// What a line said of people may have been erased later: its bytes are then its
// hash and what is left of it (logbook.Split), and a line 'forget' of the same
// logbook names both. The chain is as before, the hand-over's seal too.
//
// # Which lines
//
// All of the job's, later ones too. Of the shop's logbook its name, its places
// and what shares air, the rule set and steps that the job pins, and the people
// and phones that wrote in the record: no other is named. Of the places the climate while
// the vehicle stood there, from a day before, and what happened to any air that
// reached it. From these the job's gates give the same answers as from the whole
// store. Lines of the shop and the places that are left out leave a gap in the
// order numbers; 'before' bridges it.
//
// # The seal
//
// seal.cbor is one CBOR array in core deterministic encoding (RFC 8949 section
// 4.2.1). A cursor is [epoch, order, hash]: how far a logbook had come.
//
//	 0  "bayhold record"
//	 1  1, the version of this form
//	 2  the job's id, 16 bytes
//	 3  the cursor at the line that handed the vehicle over
//	 4  the shop's signature of that head (logbook.Cursor.Head)
//	 5  the cursor at the job's last line here
//	 6  "handed-over" or "no-film"
//	 7  when the shop had the line that opened the job, ms
//	 8  and the one that handed it over
//	 9  hashes of the rule sets and steps that the job pinned
//	10  people: [id, name, role] each, who wrote a line here
//	11  writers: [id, how many lines of the job are from it]; a phone has one or
//	    more, the server one in each epoch of its store
//	12  logbooks that are quoted: [class and id, cursor of the last line here]
//	13  SHA-256 of photos and voice notes that lines name and that the shop did
//	    not have, or had damaged, as hex
//	14  files: [name, bytes, SHA-256] each, all but the seal's own three
//	15  the shop's public key, 32 bytes
//
// Where is the seal kept? Nowhere: it is computed. Lines are only ever appended,
// so the chain's hash at the line that handed the vehicle over stands for ever,
// and an Ed25519 signature of it is the same whenever it is made. Field 4 is a
// head as the shop signs it for phones with every batch (package session): one
// that was sent the line when it was the last has the same bytes, and can prove
// the hand-over against the shop itself. A second thing to store would prove no
// more and could be lost. Lines that come later move field 5 and leave fields 3
// and 4 alone, so all records of one hand-over agree on it. Should the lead
// strike the hand-over and hand over again, the later one is sealed, and the
// struck one stands among the lines.
//
// A record has no time of its own and nothing random in it: the same lines,
// photos and key make the same bytes.
//
// # What it proves
//
// That the shop whose key it is had these lines in this order with these times,
// and that no byte was changed since. Whose key it is people see by comparing
// its fingerprint; anybody can seal with a key of their own.
package sealed
