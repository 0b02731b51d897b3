package checklist

// ID is a UUID (RFC 9562) as its 16 bytes. The zero ID stands for nobody and
// nowhere.
type ID [16]byte

// Log names one logbook: the shop's, a place's or a job's.
type Log struct {
	Class byte // 's' shop, 'p' place, 'j' job
	ID    ID
}

// The three kinds of logbook.
const (
	ShopLog  = 's'
	PlaceLog = 'p'
	JobLog   = 'j'
)

// LineID is the identity of a line within its logbook: seq counts up by one
// for each writer.
type LineID struct {
	Writer ID
	Seq    uint64
}

// Span is an interval of the shop server's time in milliseconds since the
// Unix epoch: the moment lies somewhere in [Earliest, Latest]. An act typed
// in by hand into a test log has Earliest == Latest.
type Span struct{ Earliest, Latest int64 }

// Line is one entry of a logbook as the domain reads it: already decoded, its
// receipt reduced to what a gate may depend on.
//
// Order is the receipt's order number within the logbook, 0 while the line is
// only on the phone that wrote it. Span bounds the moment of writing; a time
// that a person typed in ("it happened at") stands in the body and can only
// delay a gate or age a claim.
type Line struct {
	Log     Log
	ID      LineID
	Order   uint64
	Span    Span
	By      ID // the person who was tapped; zero for the server and loggers
	Kind    string
	Body    Body // nil when this version does not know the kind
	Strikes []LineID
}

// Body is the content of a line; its concrete types are the structs in
// body.go, one per kind.
type Body interface{ Kind() string }
