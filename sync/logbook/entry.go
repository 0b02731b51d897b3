package logbook

import (
	"errors"

	"bayhold/sync/cbor"
)

// Stamp is what a phone's clocks said when the entry was written. Only what
// the shop makes of it (Receipt.Earliest and Latest) is a time; see package
// clock.
type Stamp struct {
	Wall      int64  // the phone's wall clock, ms since the Unix epoch, 0 to MaxWall
	Earliest  int64  // least server time the phone could vouch for; 0 = never met the shop
	Mono      int64  // monotonic clock, ms since the page life began
	Life      uint64 // page life, random: monotonic clocks compare only within one
	Offset    int64  // server minus wall at the last contact, ms
	OffsetErr int64  // half the delay of that contact, ms; clock.Unbounded after a step seen since
	OffsetAt  int64  // server time of that contact; 0 = none
}

// Entry is one line of a logbook, encoded once by its writer and never
// changed. Kind and body are opaque to this package, but for their form.
type Entry struct {
	Log     Log
	Writer  ID
	Seq     uint64 // from 1, without gaps per writer and logbook
	At      Stamp
	By      ID // the person who was tapped; zero for the server and loggers
	Kind    string
	Body    []byte // one CBOR map; its keys are text, at every depth
	Strikes []Ref  // entries of the same logbook that this one takes back
	Origin  Origin // where the line was written first, if it was written again; see Rewrite
}

// Origin is what a line was before it was written again under another writer:
// its first name, and the Sum of its first bytes. The zero Origin is that of a
// line that was written once.
type Origin struct {
	Ref
	Sum Hash
}

// Ref is the entry's name within its logbook.
func (e *Entry) Ref() Ref { return Ref{e.Writer, e.Seq} }

// The keys of an entry's map.
const (
	keyLog = iota
	keyWriter
	keySeq
	keyAt
	keyBy
	keyKind
	keyBody
	keyStrikes
	keyOrigin
)

// Append appends the encoding of e, which must pass Check.
func (e *Entry) Append(b []byte) []byte {
	n := keyStrikes
	if len(e.Strikes) > 0 {
		n++
	}
	if e.Origin.Seq > 0 {
		n++
	}
	b = cbor.AppendMap(b, n)
	b = append(b, keyLog)
	b = AppendLog(b, e.Log)
	b = append(b, keyWriter)
	b = cbor.AppendBytes(b, e.Writer[:])
	b = append(b, keySeq)
	b = cbor.AppendUint(b, e.Seq)
	b = append(b, keyAt)
	b = e.At.append(b)
	b = append(b, keyBy)
	if e.By.IsZero() {
		b = cbor.AppendBytes(b, nil)
	} else {
		b = cbor.AppendBytes(b, e.By[:])
	}
	b = append(b, keyKind)
	b = cbor.AppendText(b, e.Kind)
	b = append(b, keyBody)
	b = append(b, e.Body...)
	if len(e.Strikes) > 0 {
		b = append(b, keyStrikes)
		b = cbor.AppendArray(b, len(e.Strikes))
		for _, s := range e.Strikes {
			b = s.append(cbor.AppendArray(b, 2))
		}
	}
	if e.Origin.Seq > 0 {
		b = append(b, keyOrigin)
		b = e.Origin.append(cbor.AppendArray(b, 3))
		b = cbor.AppendBytes(b, e.Origin.Sum[:])
	}
	return b
}

func (r Ref) append(b []byte) []byte {
	return cbor.AppendUint(cbor.AppendBytes(b, r.Writer[:]), r.Seq)
}

// Check says whether e may be written: nil, or an error that names the field.
// It is Decode's judgement of the bytes that Append makes.
func (e *Entry) Check() error {
	_, err := Decode(e.Append(nil))
	return err
}

// Decode reads one whole entry and checks its form: the deterministic
// encoding, every field, and the limits. Of an erased one it reads what is left.
// The entry shares b's memory.
func Decode(b []byte) (Entry, error) {
	var e Entry
	_, b, _ = Split(b)
	if len(b) > MaxEntry {
		return e, errors.New("entry: longer than 16 KiB")
	}
	var reader cbor.Reader // on the stack: a phone reads all it has at each start
	r := &reader
	r.Reset(b)
	n := r.Map()
	if r.Err() == nil && (n < keyStrikes || n > keyOrigin+1) {
		r.Fail("an entry has 7 to 9 fields")
	}
	for i := range n {
		key := int(min(r.Uint(), keyOrigin+1))
		if key != i && !(i == keyStrikes && key == keyOrigin) {
			r.Fail("an entry's fields are 0 to 6, 7 where it strikes, and 8 where it was written again")
		}
		if r.Err() != nil {
			break
		}
		switch key {
		case keyLog:
			e.Log = ReadLog(r)
		case keyWriter:
			e.Writer = ReadID(r)
			if e.Writer.IsZero() {
				r.Fail("an entry has a writer")
			}
		case keySeq:
			e.Seq = readSeq(r)
		case keyAt:
			e.At = readStamp(r)
		case keyBy:
			if by := r.Bytes(); len(by) == 16 {
				e.By = ID(by)
				if e.By.IsZero() {
					r.Fail("nobody is written as no bytes")
				}
			} else if len(by) != 0 {
				r.Fail("a person is 16 bytes or none")
			}
		case keyKind:
			kind := r.TextBytes()
			if len(kind) == 0 || len(kind) > MaxKind {
				r.Fail("a kind has 1 to 40 bytes")
			}
			e.Kind = string(kind)
		case keyBody:
			e.Body = readBody(r)
		case keyStrikes:
			e.Strikes = readStrikes(r)
		case keyOrigin:
			e.Origin = readOrigin(r)
		}
	}
	if err := r.Close(); err != nil {
		return Entry{}, errors.New("entry: " + err.Error())
	}
	return e, nil
}

// NameOf reads the name of an entry without looking at the rest: its form was
// checked before, or may be one that only a younger program knows.
func NameOf(b []byte) (log Log, ref Ref, ok bool) {
	_, b, _ = Split(b)
	r := cbor.NewReader(b)
	r.Map()
	if r.Uint() != keyLog {
		return Log{}, Ref{}, false
	}
	log = ReadLog(r)
	r.Uint()
	ref.Writer = ReadID(r)
	r.Uint()
	ref.Seq = readSeq(r)
	return log, ref, r.Err() == nil
}

// readBody reads a map of at most MaxKeys keys, all text at every depth.
func readBody(r *cbor.Reader) []byte {
	if r.Major() != cbor.Map {
		r.Fail("a body is a map")
		return nil
	}
	r.TextKeys(true)
	body := r.Raw()
	r.TextKeys(false)
	if cbor.NewReader(body).Map() > MaxKeys {
		r.Fail("a body has at most 64 keys")
	}
	return body
}

func readStrikes(r *cbor.Reader) []Ref {
	n := r.Array()
	if r.Err() == nil && (n == 0 || n > MaxStrikes) {
		r.Fail("an entry strikes 1 to 16 others, or has no field 7")
		return nil
	}
	strikes := make([]Ref, 0, n)
	for ; n > 0; n-- {
		if r.Array() != 2 {
			r.Fail("a strike is a writer and a seq")
			return nil
		}
		strikes = append(strikes, Ref{ReadID(r), readSeq(r)})
	}
	return strikes
}

func readOrigin(r *cbor.Reader) (o Origin) {
	if r.Array() != 3 {
		r.Fail("an origin is a writer, a seq and a hash")
		return o
	}
	o.Ref = Ref{ReadID(r), readSeq(r)}
	sum := r.Bytes()
	if len(sum) != len(o.Sum) {
		r.Fail("a hash has 32 bytes")
		return Origin{}
	}
	copy(o.Sum[:], sum)
	return o
}

func (s Stamp) append(b []byte) []byte {
	b = cbor.AppendArray(b, 7)
	b = cbor.AppendInt(b, s.Wall)
	b = cbor.AppendInt(b, s.Earliest)
	b = cbor.AppendInt(b, s.Mono)
	b = cbor.AppendUint(b, s.Life)
	b = cbor.AppendInt(b, s.Offset)
	b = cbor.AppendInt(b, s.OffsetErr)
	return cbor.AppendInt(b, s.OffsetAt)
}

func readStamp(r *cbor.Reader) Stamp {
	if r.Array() != 7 {
		r.Fail("a stamp has 7 numbers")
		return Stamp{}
	}
	s := Stamp{Wall: ReadTime(r), Earliest: ReadTime(r), Mono: ReadTime(r), Life: r.Uint(),
		Offset: ReadTime(r), OffsetErr: ReadTime(r), OffsetAt: ReadTime(r)}
	if s.Wall < 0 || s.Wall > MaxWall {
		r.Fail("a wall clock outside the years 1970 to 9999")
	}
	if s.Earliest < 0 || s.Mono < 0 || s.OffsetErr < 0 || s.OffsetAt < 0 {
		r.Fail("only the offset of a stamp may be negative")
	}
	return s
}

// AppendLog appends a logbook's name: a byte string of class and id.
func AppendLog(b []byte, l Log) []byte {
	b = append(b, cbor.Bytes<<5|17, l.Class)
	return append(b, l.ID[:]...)
}

// ReadLog reads what AppendLog wrote.
func ReadLog(r *cbor.Reader) Log {
	b := r.Bytes()
	if len(b) != 17 || b[0] < 'a' || b[0] > 'z' {
		r.Fail("a logbook is a small letter and 16 bytes")
		return Log{}
	}
	return Log{b[0], ID(b[1:])}
}

// ReadID reads an id: a byte string of 16.
func ReadID(r *cbor.Reader) ID {
	b := r.Bytes()
	if len(b) != 16 {
		r.Fail("an id is 16 bytes")
		return ID{}
	}
	return ID(b)
}

// ReadTime reads a number of milliseconds that JavaScript holds exactly.
func ReadTime(r *cbor.Reader) int64 {
	v := r.Int()
	if v > MaxTime || v < -MaxTime {
		r.Fail("a time beyond 53 bits")
		return 0
	}
	return v
}

func readSeq(r *cbor.Reader) uint64 {
	v := r.Uint()
	if v == 0 || v > MaxSeq {
		r.Fail("a seq counts from 1, in 53 bits")
		return 0
	}
	return v
}
