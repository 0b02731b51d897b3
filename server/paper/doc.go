// Package paper makes the vehicle record a document to print and to mail: a PDF
// on A4 or Letter with real text, the vehicle's plan, the climate's plot, photos
// and signatures, tagged so that a screen reader tells headings, tables and
// figures (ISO 32000-1 section 14.8; what ISO 14289-1, PDF/UA-1, asks for is
// kept in mind, and checked by the tests of this package).
//
// The PDF is written by the library folio: its objects, streams, fonts cut down
// to their used letters, and images. It was chosen because it is pure Go, under
// the Apache licence, and lets the caller write the structure tree; the other
// libraries that write PDF from Go know no tags. Its own layout engine is not
// used: its tables have no header cells, and its tags nest marked content in
// marked content. So pages (page.go), tags (tags.go) and tables (table.go) are
// laid out here. The letters are the Go fonts, which hold Latin, Greek and
// Cyrillic; a letter that they lack is shown as a box.
//
// # The same record is the same bytes
//
// Nothing here asks for the time or for chance: the document's date is the
// record's, its identifier the hash of its pages. So the seal can name its hash.
// The seal holds this document's hash, so the document cannot hold the seal's:
// its code for a camera is the head of the job's chain, which the seal signs.
//
// # Photos
//
// They are read one by one, scaled down, and share a budget, so that the whole
// can be mailed. The folder beside the document holds them as they were taken.
package paper
