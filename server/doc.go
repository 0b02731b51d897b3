// Package server is the shop server: one process that serves the phone's app,
// keeps the shop's logbooks and photos, and brings every phone's lines to the
// others. All rules of the trade are in package checklist and all rules of
// agreement in package sync; here are files, sockets and goroutines.
//
// # What it promises
//
// A line that a phone is told is kept is on disk: fsync, then 'kept', then the
// others. A line is in the store once, however often it is sent. What the
// server cannot take into a logbook is set aside with its reason and lost
// neither. A phone that cannot keep up loses its socket and goes on from its
// cursor later.
//
// # Who may reach it
//
// At localhost, where only this machine reaches it and everything is tried out,
// nobody has to prove who they are. A shop that has a name, or an address that
// other machines reach, is served over TLS and answers only phones that joined:
// package join says how, member.go does it, policy.go judges every line by what
// the phone may do. The owner of a vehicle comes by a link to one job (owner.go).
// Package cert makes the certificate that phones on the shop's
// wifi are made to trust. A request for a name that is not the shop's is refused
// (host.go), so that a stranger's page cannot be of the shop's origin. What is
// defended, and what is not, is a table in DEVELOPERS.md.
//
// # The way of a line
//
// A session (session.go) has a goroutine that reads its socket and one that
// writes it. Entries that arrive go to the one writer (writer.go), which
// gathers all that waits and in one transaction judges each entry (policy.go),
// gives it its order and receipt, and stores it. After the fsync it answers
// the sessions that brought the entries and pokes the rest. A poked session
// reads the store after its own cursor (store.go): the logbook is the queue,
// there is no other, and catching up after a week and following live are the
// same few lines.
//
// # On disk
//
// The data folder holds
//
//	store.db             the logbooks, in bbolt
//	photos/<sha256>      a photo, exactly as it came
//	photos/partial/...   photos still on their way
//	keys/...             the shop's certificates (package cert)
//	operate.sock         where backup, verify and export reach a running server
//	                     (operate.go)
//
// and store.db these buckets; integers in keys and values are big-endian, a
// logbook is 17 bytes (its class and id), ids are 16:
//
//	meta      "format" -> 1; "epoch" -> the store's epoch; "shop" -> the id of
//	          the shop's logbook; "writer" -> the server's own writer in this
//	          epoch; "seal" -> the Ed25519 key that signs heads,
//	          its seed (32) and its public half (32); "scrub" -> 1 while the file
//	          still has unused pages to be cleared after an erasure
//	lines     a bucket for each logbook: order (8) -> a line: the chain's hash
//	          after it (32), the length of the receipt as a varint, the receipt,
//	          the entry, both exactly as they travel
//	heads     logbook -> last order (8), chain hash (32), and for a job that was
//	          handed over the writer (16) and seq (8) of the line that closed it
//	          and its arrival (8)
//	settled   logbook, writer -> highest seq that was kept or set aside (8)
//	names     logbook, writer, seq (8) -> order (8), or the SHA-256 (32) of an
//	          entry that was set aside
//	aside     SHA-256 -> what was set aside: a CBOR array of its arrival, code,
//	          reason and bytes (none once they are erased), and of the phone
//	          that brought it (adopt.go)
//	again     SHA-256 of a line's first bytes -> its order (8): the line was
//	          written again under another name, and stands once
//	found     a word that a job is found by: what it is (1), the word, 0, the
//	          job's id -> order (8) of the first line that says it; or 'd', when
//	          the job began (8), the job's id -> 1; or 'o', the job's id ->
//	          order of the newest line that opens it (find.go)
//	contacts  phone -> when and where it was last heard, and how much it said was only on
//	          it, as a CBOR array (member.go)
//	erased    SHA-256 of a photo or spoken note that was erased -> the logbook
//	          that says so (erase.go)
//	pins      'p', person -> the hash of a lead's PIN: a CBOR array of rounds, salt,
//	          hash and when it was set; 't', person or phone -> how many wrong PINs
//	          in a row, and until when none is looked at (pin.go)
//	grants    SHA-256 of a secret -> what it opens, a logger's bay or a calendar: a
//	          CBOR array of its id, sort, bay or job, when it was made and used
//	          (grants.go)
//	climate   window's start (8), place, instrument -> the samples of ten
//	          minutes (climate.go)
//
// A backup is a folder of the same form (backup.go).
//
// Lines are only ever appended; of one that was erased what is left takes the
// place of its entry (erase.go). Nothing but the writer goroutine opens a
// transaction that writes.
package server
