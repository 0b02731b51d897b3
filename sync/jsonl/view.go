package jsonl

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"time"

	"bayhold/sync/logbook"
)

// view is a line's JSON, its fields seen to be there and of their types.
type view struct {
	Log, Writer, At, By, Kind string
	Seq                       *uint64
	Body                      map[string]any
	Strikes                   []any
	Receipt                   *receipt
	Bytes                     *string
}

type receipt logbook.Receipt

// parse reads the one object of a line. A field that stands twice or that no
// line has is an error: whoever wrote it meant something.
func parse(text []byte) (*view, error) {
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.UseNumber()
	root, err := value(dec, 0)
	if err != nil {
		return nil, fmt.Errorf("not JSON: %w", err)
	}
	if _, err := dec.Token(); err != io.EOF {
		return nil, errors.New("not JSON: something follows the object")
	}
	fields, ok := root.(map[string]any)
	if !ok {
		return nil, errors.New("not an object")
	}
	var v view
	for _, f := range []struct {
		name string
		must bool
		take func(any) bool
	}{
		{"log", true, text1(&v.Log)},
		{"writer", true, text1(&v.Writer)},
		{"seq", false, func(x any) bool { v.Seq = new(uint64); return number(x, v.Seq) }},
		{"at", true, text1(&v.At)},
		{"by", false, text1(&v.By)},
		{"kind", true, text1(&v.Kind)},
		{"body", true, func(x any) bool { v.Body, ok = x.(map[string]any); return ok }},
		{"strikes", false, func(x any) bool { v.Strikes, ok = x.([]any); return ok }},
		{"receipt", false, func(x any) bool { v.Receipt = new(receipt); return v.Receipt.take(x) }},
		{"bytes", false, func(x any) bool { v.Bytes = new(string); return text1(v.Bytes)(x) }},
	} {
		x, ok := fields[f.name]
		delete(fields, f.name)
		if !ok && f.must {
			return nil, fmt.Errorf("%s is missing", f.name)
		}
		if ok && !f.take(x) {
			return nil, fmt.Errorf("%s: %v is not what stands there", f.name, x)
		}
	}
	for name := range fields {
		return nil, fmt.Errorf("%q is no field of a line", name)
	}
	return &v, nil
}

// value reads one JSON value: a map, a slice, a json.Number, a string, a bool
// or nil.
func value(dec *json.Decoder, depth int) (any, error) {
	t, err := dec.Token()
	if err != nil {
		return nil, err
	}
	open, ok := t.(json.Delim)
	if !ok {
		return t, nil
	}
	if depth == 32 {
		return nil, errors.New("too deep")
	}
	object := map[string]any{}
	list := []any{}
	for dec.More() {
		key := ""
		if open == '{' {
			k, err := dec.Token()
			if err != nil {
				return nil, err
			}
			key = k.(string)
			if _, twice := object[key]; twice {
				return nil, fmt.Errorf("%q stands twice", key)
			}
		}
		x, err := value(dec, depth+1)
		if err != nil {
			return nil, err
		}
		if open == '{' {
			object[key] = x
		} else {
			list = append(list, x)
		}
	}
	if _, err := dec.Token(); err != nil {
		return nil, err
	}
	if open == '{' {
		return object, nil
	}
	return list, nil
}

// text1 takes a string that is not empty.
func text1(to *string) func(any) bool {
	return func(x any) bool {
		s, ok := x.(string)
		*to = s
		return ok && s != ""
	}
}

func number(x any, to *uint64) bool {
	n, ok := x.(json.Number)
	if !ok {
		return false
	}
	v, err := strconv.ParseUint(string(n), 10, 64)
	*to = v
	return err == nil
}

func (c *receipt) take(x any) bool {
	fields, ok := x.(map[string]any)
	was, back := fields["was"].(map[string]any)
	if !ok || back && (len(fields) != 6 || len(was) != 3) || !back && len(fields) != 5 {
		return false
	}
	var arrived, earliest, latest uint64
	ok = number(fields["epoch"], &c.Epoch) && number(fields["order"], &c.Order) &&
		number(fields["arrived"], &arrived) && number(fields["earliest"], &earliest) && number(fields["latest"], &latest)
	c.Arrived, c.Earliest, c.Latest = int64(arrived), int64(earliest), int64(latest)
	if back {
		ok = ok && number(was["epoch"], &c.Was.Epoch) && number(was["order"], &c.Was.Order) && number(was["arrived"], &arrived)
		c.Was.Arrived = int64(arrived)
	}
	return ok
}

// entry is what the view says, seq as far as it says it.
func (v *view) entry() (logbook.Entry, error) {
	var e logbook.Entry
	var err error
	if e.Log, err = parseLog(v.Log); err != nil {
		return e, err
	}
	e.Writer = parseID(v.Writer)
	if v.Seq != nil {
		e.Seq = *v.Seq
	}
	if e.At.Wall, err = parseTime(v.At); err != nil {
		return e, err
	}
	if v.By != "" {
		e.By = parseID(v.By)
	}
	e.Kind = v.Kind
	if e.Body, err = encode(nil, v.Body); err != nil {
		return e, fmt.Errorf("body: %w", err)
	}
	for _, x := range v.Strikes {
		pair, _ := x.([]any)
		var s logbook.Ref
		if len(pair) != 2 || !number(pair[1], &s.Seq) {
			return e, errors.New(`strikes: want [["WRITER",SEQ],...]`)
		}
		id, ok := pair[0].(string)
		if !ok || id == "" {
			return e, errors.New(`strikes: want [["WRITER",SEQ],...]`)
		}
		s.Writer = parseID(id)
		e.Strikes = append(e.Strikes, s)
	}
	return e, nil
}

// parseTime reads RFC 3339 down to the millisecond, and no finer.
func parseTime(text string) (int64, error) {
	t, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		return 0, fmt.Errorf("at: %q is not like 2026-03-04T07:30:00Z", text)
	}
	if t.Nanosecond()%1e6 != 0 {
		return 0, fmt.Errorf("at: %q is finer than a millisecond", text)
	}
	return t.UnixMilli(), nil
}
