package jsonl

import (
	"bufio"
	"bytes"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"bayhold/sync/logbook"
)

// maxLine is the length of a line in bytes: the longest entry as a view whose
// every character is escaped, and as base64.
const maxLine = 256 << 10

// Line is one line of a file: an entry, and its receipt if it was kept.
type Line struct {
	Number  int // in the file, from 1
	Entry   logbook.Entry
	Bytes   []byte           // the entry's encoding; of a line written by hand, made from its view
	Receipt *logbook.Receipt // nil for one that only its phone has
	Hand    bool             // written by hand: its times are taken as true, its order is the file's
}

// Read reads a whole file or nothing. An error names the line.
func Read(r io.Reader) ([]Line, error) {
	f := file{seqs: map[writer]uint64{}, orders: map[logbook.Log]uint64{}, seen: map[name]int{}}
	in := bufio.NewScanner(r)
	in.Buffer(make([]byte, 0, 16<<10), maxLine)
	n := 0
	for in.Scan() {
		n++
		if len(bytes.TrimSpace(in.Bytes())) == 0 {
			continue
		}
		if err := f.line(n, in.Bytes()); err != nil {
			return nil, fmt.Errorf("line %d: %w", n, err)
		}
	}
	if err := in.Err(); errors.Is(err, bufio.ErrTooLong) {
		return nil, fmt.Errorf("line %d: longer than %d KiB", n+1, maxLine>>10)
	} else if err != nil {
		return nil, fmt.Errorf("line %d: %w", n+1, err)
	}
	return f.lines, nil
}

// file is what was read so far.
type file struct {
	lines  []Line
	seqs   map[writer]uint64      // last seq, for lines that leave it out
	orders map[logbook.Log]uint64 // last order, for lines written by hand
	seen   map[name]int           // line number
}

type writer struct {
	log logbook.Log
	id  logbook.ID
}

type name struct {
	log logbook.Log
	ref logbook.Ref
}

func (f *file) line(n int, text []byte) error {
	if !utf8.Valid(text) {
		return errors.New("not UTF-8")
	}
	v, err := parse(text)
	if err != nil {
		return err
	}
	e, err := v.entry()
	if err != nil {
		return err
	}
	w := writer{e.Log, e.Writer}
	if v.Seq == nil {
		e.Seq = f.seqs[w] + 1
	}
	line := Line{Number: n, Entry: e, Hand: v.Bytes == nil}
	if line.Hand {
		err = line.byHand(v, f.orders[e.Log]+1)
	} else {
		err = line.stored(v)
	}
	if err != nil {
		return err
	}
	if first, ok := f.seen[name{e.Log, e.Ref()}]; ok {
		return fmt.Errorf("the entry %d of this writer stands on line %d already", e.Seq, first)
	}
	f.seen[name{e.Log, e.Ref()}] = n
	f.seqs[w] = max(f.seqs[w], e.Seq)
	if line.Receipt != nil {
		f.orders[e.Log] = max(f.orders[e.Log], line.Receipt.Order)
	}
	f.lines = append(f.lines, line)
	return nil
}

// byHand makes the bytes of a line that has its view alone.
func (l *Line) byHand(v *view, order uint64) error {
	if v.Receipt != nil {
		return errors.New("a receipt without bytes")
	}
	l.Bytes = l.Entry.Append(nil)
	e, err := logbook.Decode(l.Bytes)
	if err != nil {
		return err
	}
	at := e.At.Wall
	l.Entry = e
	l.Receipt = &logbook.Receipt{Epoch: 1, Order: order, Arrived: at, Earliest: at, Latest: at}
	return nil
}

// stored takes the bytes of a line that came from a store and compares its
// view with them.
func (l *Line) stored(v *view) error {
	b, err := base64.RawURLEncoding.Strict().DecodeString(*v.Bytes)
	if err != nil {
		return fmt.Errorf("bytes: %w", err)
	}
	e, err := logbook.Decode(b)
	if err != nil {
		return err
	}
	said := l.Entry
	switch {
	case said.Log != e.Log:
		return disagree("log")
	case said.Writer != e.Writer:
		return disagree("writer")
	case v.Seq == nil || said.Seq != e.Seq:
		return disagree("seq")
	case said.At.Wall != e.At.Wall:
		return disagree("at")
	case said.By != e.By:
		return disagree("by")
	case said.Kind != e.Kind:
		return disagree("kind")
	case !bytes.Equal(said.Body, e.Body):
		return disagree("body")
	case !slices.Equal(said.Strikes, e.Strikes):
		return disagree("strikes")
	}
	l.Entry, l.Bytes = e, b
	if v.Receipt != nil {
		c := logbook.Receipt(*v.Receipt)
		if _, err := logbook.DecodeReceipt(c.Append(nil)); err != nil {
			return err
		}
		l.Receipt = &c
	}
	return nil
}

func disagree(field string) error {
	return errors.New(field + ": the view says another thing than the bytes")
}

// Append appends one entry as a line: its view, its receipt (nil if there is
// none) and its bytes.
func Append(b []byte, entry []byte, receipt *logbook.Receipt) ([]byte, error) {
	e, err := logbook.Decode(entry)
	if err != nil {
		return nil, err
	}
	b = append(b, `{"log":`...)
	b = appendString(b, logName(e.Log))
	b = append(b, `,"writer":`...)
	b = appendString(b, e.Writer.String())
	b = fmt.Appendf(b, `,"seq":%d,"at":`, e.Seq)
	b = appendString(b, rfc3339(e.At.Wall))
	if !e.By.IsZero() {
		b = append(b, `,"by":`...)
		b = appendString(b, e.By.String())
	}
	b = append(b, `,"kind":`...)
	b = appendString(b, e.Kind)
	b = append(b, `,"body":`...)
	b = appendBody(b, e.Body)
	if len(e.Strikes) > 0 {
		b = append(b, `,"strikes":[`...)
		for i, s := range e.Strikes {
			if i > 0 {
				b = append(b, ',')
			}
			b = fmt.Appendf(b, `["%s",%d]`, s.Writer, s.Seq)
		}
		b = append(b, ']')
	}
	if c := receipt; c != nil {
		b = fmt.Appendf(b, `,"receipt":{"epoch":%d,"order":%d,"arrived":%d,"earliest":%d,"latest":%d`,
			c.Epoch, c.Order, c.Arrived, c.Earliest, c.Latest)
		if c.Was != (logbook.Was{}) {
			b = fmt.Appendf(b, `,"was":{"epoch":%d,"order":%d,"arrived":%d}`, c.Was.Epoch, c.Was.Order, c.Was.Arrived)
		}
		b = append(b, '}')
	}
	b = append(b, `,"bytes":"`...)
	b = base64.RawURLEncoding.AppendEncode(b, entry)
	return append(b, "\"}\n"...), nil
}

// appendString appends s as JSON text, without the escapes for HTML.
func appendString(b []byte, s string) []byte {
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.Encode(s) // a string does not fail, and a Buffer neither
	return append(b, bytes.TrimSuffix(out.Bytes(), []byte("\n"))...)
}

// classes are the logbooks' names in a view.
var classes = map[byte]string{'s': "shop", 'p': "place", 'j': "job"}

func logName(l logbook.Log) string {
	class := classes[l.Class]
	if class == "" {
		class = string(rune(l.Class))
	}
	return class + ":" + l.ID.String()
}

func parseLog(text string) (logbook.Log, error) {
	class, id, ok := strings.Cut(text, ":")
	if !ok || id == "" {
		return logbook.Log{}, fmt.Errorf("log: %q is not like job:NAME", text)
	}
	for letter, word := range classes {
		if class == word {
			return logbook.Log{Class: letter, ID: parseID(id)}, nil
		}
	}
	if len(class) == 1 && 'a' <= class[0] && class[0] <= 'z' && classes[class[0]] == "" {
		return logbook.Log{Class: class[0], ID: parseID(id)}, nil
	}
	return logbook.Log{}, fmt.Errorf("log: %q is none of shop, place and job", class)
}

// parseID takes a UUID as it is, and a name for the id that is made of it.
func parseID(text string) logbook.ID {
	if id, ok := logbook.ParseID(text); ok {
		return id
	}
	return logbook.Named(text)
}

// rfc3339 writes a moment with its milliseconds, always in UTC.
func rfc3339(ms int64) string {
	return time.UnixMilli(ms).UTC().Format("2006-01-02T15:04:05.000Z07:00")
}
