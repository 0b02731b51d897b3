package sealed

import (
	"bytes"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/csv"
	"encoding/hex"
	"encoding/pem"
	"fmt"
	"strconv"
	"strings"

	"bayhold/checklist"
	"bayhold/sync/jsonl"
	"bayhold/sync/logbook"
)

// The names of the files.
const (
	nameReadme   = "README.txt"
	namePDF      = "record.pdf"
	nameLines    = "lines.jsonl"
	nameChain    = "chain.csv"
	nameReadings = "readings.csv"
	nameCSV      = "lines.csv"
	nameDates    = "dates.ics"
	nameSums     = "SHA256SUMS"
	nameKey      = "shop.pem"
	nameView     = "seal.json"
	nameSeal     = "seal.cbor"
	nameSig      = "seal.sig"
)

// ownFiles are the seal's: what they say is not hashed in them.
var ownFiles = []string{nameView, nameSeal, nameSig}

// texts makes the files that the lines alone decide, in the order of the
// record. What was sealed and what is read back are made by the same code, so
// that a difference has a line.
func (l *Lines) texts(key ed25519.PublicKey) ([]content, error) {
	written, sums, err := l.jsonl()
	if err != nil {
		return nil, err
	}
	return []content{
		{nameReadme, l.readme(key)},
		{nameLines, written},
		{nameChain, l.chain(sums)},
		{nameReadings, l.readings()},
		{nameCSV, l.table(written)},
		{nameDates, l.dates()},
		{nameKey, publicPEM(key)},
	}, nil
}

// content is a file in memory.
type content struct {
	name  string
	bytes []byte
}

// jsonl writes the lines as an export does, and the hash of each.
func (l *Lines) jsonl() (out []byte, sums []logbook.Hash, err error) {
	for i := range l.All {
		from := len(out)
		if out, err = jsonl.Append(out, l.All[i].Entry, &l.All[i].receipt); err != nil {
			return nil, nil, err
		}
		sums = append(sums, logbook.Sum(out[from:]))
	}
	return out, sums, nil
}

var chainHead = []string{"log", "order", "epoch", "line_sha256", "receipt_sha256", "entry_sha256", "before", "after"}

// chain writes one row for each line of lines.jsonl.
func (l *Lines) chain(sums []logbook.Hash) []byte {
	rows := [][]string{chainHead}
	for i := range l.All {
		x := &l.All[i]
		rows = append(rows, []string{logName(x.Log), number(x.receipt.Order), number(x.receipt.Epoch), hexOf(sums[i]),
			hexOf(logbook.Sum(x.Receipt)), hexOf(logbook.EntrySum(x.Entry)), hexOf(x.Before), hexOf(x.After)})
	}
	return CSV(rows)
}

func number(n uint64) string { return strconv.FormatUint(n, 10) }

func hexOf(h logbook.Hash) string { return hex.EncodeToString(h[:]) }

// CSV writes RFC 4180: every row ends with CR LF, and a cell that a
// spreadsheet would take for a formula is made text by an apostrophe.
func CSV(rows [][]string) []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.UseCRLF = true
	for _, row := range rows {
		for i := range row {
			row[i] = harmless(row[i])
		}
		w.Write(row) // a Buffer does not fail
	}
	w.Flush()
	return out.Bytes()
}

// harmless puts an apostrophe before what a spreadsheet would compute: the
// first characters of OWASP's page 'CSV Injection' (=, +, -, @, tab, CR, LF
// and the full-width forms of the first four). A plain number stays one.
func harmless(cell string) string {
	if cell == "" || plainNumber(cell) {
		return cell
	}
	for _, begins := range []string{"=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"} {
		if strings.HasPrefix(cell, begins) {
			return "'" + cell
		}
	}
	return cell
}

func plainNumber(s string) bool {
	s = strings.TrimPrefix(s, "-")
	whole, part, point := strings.Cut(s, ".")
	digits := func(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
	return digits(whole) && (!point || digits(part))
}

// publicPEM is the key as openssl reads it (RFC 8410).
func publicPEM(key ed25519.PublicKey) []byte {
	der, err := x509.MarshalPKIXPublicKey(key)
	if err != nil {
		panic("sealed: " + err.Error()) // an Ed25519 key is one that it knows
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der})
}

// sums is what sha256sum -c reads.
func sums(files []Sum) []byte {
	var b []byte
	for _, f := range files {
		b = fmt.Appendf(b, "%x  %s\n", f.SHA, f.Name)
	}
	return b
}

// readme says what the folder is and how to check it.
func (l *Lines) readme(key ed25519.PublicKey) []byte {
	facts, _ := l.Shop.Job(checklist.ID(l.Job))
	o := facts.Open
	name := strings.Join(strings.Fields(strings.Join([]string{o.Label, o.Vehicle, o.Plate}, " ")), " ")
	return []byte(strings.ReplaceAll(fmt.Sprintf(readme, name, Fingerprint(key)), "\n", "\r\n"))
}

const readme = `The vehicle record of %s

What this is
  All that was written and measured on this vehicle, from check-in to hand-over
  and after, sealed by the shop that did the work. Lines can have been added
  after hand-over; none can be changed. Read it without any program of the
  shop's: record.pdf is for people, the tables are for any spreadsheet.

  record.pdf     the record on paper, where the shop made one
  lines.csv      every line: who, when, what
  readings.csv   every temperature and humidity, with place and instrument
  dates.ics      the dates, for a calendar
  photos, voice  pictures and spoken notes, named by the SHA-256 of their bytes
  lines.jsonl    the lines as they were written, with their exact bytes
  chain.csv      the hash of every line and of the chain that they form
  seal.json      what is sealed: hand-over, people, files; for reading
  seal.cbor      the same, as the bytes that are signed
  seal.sig       the shop's signature of those bytes (Ed25519)
  shop.pem       the shop's public key
  SHA256SUMS     the hash of every file above the seal

Check it without Bayhold
  Every file:    sha256sum -c SHA256SUMS
  The seal:      openssl pkeyutl -verify -pubin -inkey shop.pem -rawin \
                   -in seal.cbor -sigfile seal.sig
  Both belong together if seal.json names the SHA-256 of SHA256SUMS.

Check it with Bayhold
  bayhold verify FILE      the zip, or the folder that came out of it
  It names every file, photo and line that does not fit.

Whose seal it is
  A seal is worth as much as the key. The fingerprint of this one is
    %s
  Compare it with the one that the shop tells you.

What it does not say
  What nobody reported or measured is not in it. It says when something was
  written and what was read; it never says that anything is safe. The product's
  sheet, local codes and licensed practice come first.
`
