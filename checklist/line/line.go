// Package line is the one place where entries of a logbook become lines of
// the checklist: it gives each kind its home logbook, its body's form and who
// may write it.
//
// # Form
//
// A body is one CBOR map in core deterministic encoding (RFC 8949 section
// 4.2.1). Keys are text, as in the comments of package checklist: the JSON
// view of a line reads like its body. A field that is zero is left out; ids
// are lower-case UUID text; numbers are integers in the units of package
// checklist; bytes are byte strings.
//
//	tick {"stage": "wash", "answer": "done"}
//	a2                          map of 2
//	   65 7374616765            "stage"
//	   64 77617368              "wash"
//	   66 616e73776572          "answer"
//	   64 646f6e65              "done"
//
// # Versions
//
// A kind that this version does not know decodes to a nil body and no error:
// the line is kept and shown as made by a newer version. A key that this
// version does not know is passed over; the entry's bytes are never made
// again, so nothing is lost. If a field is missing that this version requires,
// and the body has a key that it does not know, the line is taken as a newer
// version's too. Without such a key it is an error: a line that says nothing.
// A known key with a value of another type is always an error.
package line

import (
	"bayhold/checklist"
	"bayhold/sync/logbook"
)

// Malformed says why bytes are no body of their kind.
type Malformed struct {
	Kind, Field, Why string
}

func (e *Malformed) Error() string {
	if e.Field == "" {
		return e.Kind + ": " + e.Why
	}
	return e.Kind + "." + e.Field + ": " + e.Why
}

// Decode reads a body of the kind. It is nil, without an error, if the line
// was made by a newer version (see the package comment). The body does not
// alias the input. An error is a *Malformed or a *Missing.
func Decode(kind string, body []byte) (checklist.Body, error) { return new(Reader).decode(kind, body) }

// Reader reads lines one after the other as Decode and Of do, in room that it
// keeps: a phone reads all it has at each start.
type Reader struct{ f fields }

func (r *Reader) decode(kind string, body []byte) (checklist.Body, error) {
	k, ok := Lookup(kind)
	if !ok {
		return nil, nil
	}
	f := &r.f
	f.kind, f.missing, f.err = kind, "", nil
	b := f.decode(k, body)
	switch {
	case f.err != nil:
		return nil, f.err
	case f.missing != "" && f.unknown() != "":
		return nil, nil
	case f.missing != "":
		return nil, &Missing{kind, f.missing}
	}
	return b, nil
}

func (f *fields) decode(k Kind, body []byte) checklist.Body {
	f.open(body)
	if f.err != nil {
		return nil
	}
	b := k.walk(f, nil)
	if k.Personal != "" {
		f.take(salt)
	}
	return b
}

// salt is the key of the 16 random bytes that a body carries where it tells of
// people: without them its hash, which stays when it is erased, could be found
// by trying out names.
const salt = "salt"

// Salted is Encode, with these random bytes where the body tells of people.
func Salted(b checklist.Body, random []byte) []byte { return encode(b, random) }

// Nothing is the body of a line that only strikes: an empty map.
var Nothing = []byte{0xa0}

// Encode writes a body: the same body always gives the same bytes. It panics
// on a type that is not in Kinds. A nil body is Nothing.
func Encode(b checklist.Body) []byte { return encode(b, nil) }

func encode(b checklist.Body, random []byte) []byte {
	if b == nil {
		return Nothing
	}
	k, ok := Lookup(b.Kind())
	if !ok {
		panic("line: no kind " + b.Kind())
	}
	f := fields{kind: k.Name, writing: true}
	k.walk(&f, b)
	// What an owner was shown by link tells of people too.
	if random != nil && k.Personal != "" && (f.take(k.Personal) != nil || f.take("text") != nil) && f.take(salt) == nil {
		f.bytes(salt, &random)
	}
	return f.close(nil)
}

// ResolveNames turns the body of a hand-written line into a proper one: ids
// may be names, which named maps, and bytes may be base64url text. Here a
// field that the kind does not have is an error, because a person mistyped
// it. A kind that is not in Kinds is returned as it came.
func ResolveNames(kind string, body []byte, named func(name string) checklist.ID) ([]byte, error) {
	k, ok := Lookup(kind)
	if !ok {
		return body, nil
	}
	f := fields{kind: kind, named: named}
	b := f.decode(k, body)
	if f.err == nil && f.unknown() != "" {
		f.fail(f.unknown(), "no such field")
	}
	if f.err != nil {
		return nil, f.err
	}
	if f.missing != "" {
		return nil, &Missing{kind, f.missing}
	}
	return Encode(nameless(b)), nil
}

// Of makes the checklist's line of an entry and what is known of its place in
// the order. The span is the receipt's if there is one; for an entry that is
// only on this phone the caller gives order 0 and the span that the phone's
// clock vouches for.
func Of(e logbook.Entry, order uint64, span checklist.Span) (checklist.Line, error) {
	return new(Reader).Of(e, order, span)
}

// Of is the function of that name.
func (r *Reader) Of(e logbook.Entry, order uint64, span checklist.Span) (checklist.Line, error) {
	body, err := r.decode(e.Kind, e.Body)
	if err != nil {
		return checklist.Line{}, err
	}
	l := checklist.Line{
		Log:   checklist.Log{Class: e.Log.Class, ID: checklist.ID(e.Log.ID)},
		ID:    checklist.LineID{Writer: checklist.ID(e.Writer), Seq: e.Seq},
		Order: order,
		Span:  span,
		By:    checklist.ID(e.By),
		Kind:  e.Kind,
		Body:  named(body),
	}
	for _, s := range e.Strikes {
		l.Strikes = append(l.Strikes, checklist.LineID{Writer: checklist.ID(s.Writer), Seq: s.Seq})
	}
	return l, nil
}
