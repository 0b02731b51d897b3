package jsonl_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"bayhold/sync/jsonl"
	"bayhold/sync/logbook"

	public "github.com/fxamacker/cbor/v2"
	"pgregory.net/rapid"
)

func body(depth int) *rapid.Generator[any] {
	leaf := []*rapid.Generator[any]{
		rapid.Int64().AsAny(), rapid.Uint64().AsAny(), rapid.String().AsAny(), rapid.Bool().AsAny(),
		rapid.Just[any](nil), rapid.SliceOf(rapid.Byte()).AsAny(),
	}
	if depth == 0 {
		return rapid.OneOf(leaf...)
	}
	key := rapid.OneOf(rapid.String(), rapid.Just("base64url"))
	return rapid.OneOf(append(leaf, rapid.SliceOfN(body(depth-1), 0, 4).AsAny(), rapid.MapOfN(key, body(depth-1), 0, 4).AsAny())...)
}

func draw(t *rapid.T, i int) logbook.Entry {
	enc, _ := public.CoreDetEncOptions().EncMode()
	b, _ := enc.Marshal(rapid.MapOfN(rapid.OneOf(rapid.String(), rapid.Just("base64url")), body(2), 0, 5).Draw(t, "body"))
	id := func(what string) logbook.ID { return logbook.Named(rapid.String().Draw(t, what)) }
	e := logbook.Entry{
		Log:    logbook.Log{Class: rapid.SampledFrom([]byte("spjx")).Draw(t, "class"), ID: id("log")},
		Writer: id("writer"), Seq: uint64(i + 1), By: id("by"),
		At:   logbook.Stamp{Wall: rapid.Int64Range(0, logbook.MaxWall).Draw(t, "wall"), Life: rapid.Uint64().Draw(t, "life")},
		Kind: rapid.StringN(1, 10, 40).Draw(t, "kind"), Body: b,
	}
	if rapid.Bool().Draw(t, "strikes") {
		e.Strikes = []logbook.Ref{{Writer: id("struck"), Seq: 3}}
	}
	return e
}

// What is written is read back: the same bytes, the same receipts, and every
// line is JSON to the standard library.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var text []byte
		var want []logbook.Entry
		var receipts []*logbook.Receipt
		for i := range rapid.IntRange(0, 5).Draw(t, "lines") {
			e := draw(t, i)
			var c *logbook.Receipt
			if rapid.Bool().Draw(t, "kept") {
				c = &logbook.Receipt{Epoch: 1, Order: uint64(i + 1), Arrived: 9, Earliest: 3, Latest: 5}
				if rapid.Bool().Draw(t, "came back") {
					back := c.Back(2, c.Order, 20)
					c = &back
				}
			}
			var err error
			if text, err = jsonl.Append(text, e.Append(nil), c); err != nil {
				t.Fatal(err)
			}
			want, receipts = append(want, e), append(receipts, c)
		}
		for _, line := range bytes.Split(bytes.TrimSuffix(text, []byte("\n")), []byte("\n")) {
			if len(text) > 0 && !json.Valid(line) {
				t.Fatalf("not JSON: %s", line)
			}
		}
		got, err := jsonl.Read(bytes.NewReader(text))
		if err != nil || len(got) != len(want) {
			t.Fatalf("%v: %d lines of %d\n%s", err, len(got), len(want), text)
		}
		for i, line := range got {
			if !bytes.Equal(line.Bytes, want[i].Append(nil)) || line.Hand || line.Number != i+1 {
				t.Fatalf("line %d: %+v", i, line)
			}
			if (line.Receipt == nil) != (receipts[i] == nil) || line.Receipt != nil && *line.Receipt != *receipts[i] {
				t.Fatalf("line %d: receipt %v, want %v", i, line.Receipt, receipts[i])
			}
		}
	})
}

const byHand = `{"log":"job:V1","writer":"phone A","at":"2026-03-04T07:30:00Z","by":"Mo","kind":"tick","body":{"stage":"wash","n":-3}}
{"log":"job:V1","writer":"phone A","at":"2026-03-04T08:31:00.250+01:00","kind":"tick","body":{"raw":{"base64url":"AQID"}},"strikes":[["phone A",1]]}

{"log":"place:bay 1","writer":"phone A","seq":7,"at":"2026-03-04T07:32:00Z","kind":"note","body":{}}
`

func TestByHand(t *testing.T) {
	got, err := jsonl.Read(strings.NewReader(byHand))
	if err != nil || len(got) != 3 {
		t.Fatal(got, err)
	}
	first := time.Date(2026, 3, 4, 7, 30, 0, 0, time.UTC).UnixMilli()
	job := logbook.Log{Class: 'j', ID: logbook.Named("V1")}
	for i, want := range []struct {
		log      logbook.Log
		seq      uint64
		at       int64
		order    uint64
		by       logbook.ID
		body     string
		number   int
		nStrikes int
	}{
		{job, 1, first, 1, logbook.Named("Mo"), "a2616e22657374616765647761" + "7368", 1, 0},
		{job, 2, first + 60250, 2, logbook.ID{}, "a16372617743010203", 2, 1},
		{logbook.Log{Class: 'p', ID: logbook.Named("bay 1")}, 7, first + 120000, 1, logbook.ID{}, "a0", 4, 0},
	} {
		l := got[i]
		e := l.Entry
		if e.Log != want.log || e.Seq != want.seq || e.At.Wall != want.at || e.By != want.by || e.Writer != logbook.Named("phone A") ||
			fmt.Sprintf("%x", e.Body) != want.body || l.Number != want.number || len(e.Strikes) != want.nStrikes || !l.Hand {
			t.Errorf("line %d: %+v", want.number, l)
		}
		if *l.Receipt != (logbook.Receipt{Epoch: 1, Order: want.order, Arrived: want.at, Earliest: want.at, Latest: want.at}) {
			t.Errorf("line %d: receipt %+v", want.number, l.Receipt)
		}
	}
}

// Every error names its line, and nothing before it is handed out.
func TestErrors(t *testing.T) {
	good := `{"log":"job:V1","writer":"A","seq":1,"at":"2026-03-04T07:30:00Z","kind":"tick","body":{}}`
	kept := string(stored(t, nil))
	for _, v := range []struct{ line, why string }{
		{`tick`, "not JSON"}, {`{}`, "log is missing"}, {`[]`, "not an object"}, {good + " x", "follows"}, {`{"log":`, "not JSON"},
		{strings.Replace(good, `"kind"`, `"Kind"`, 1), "kind is missing"},
		{strings.Replace(good, `"seq":1`, `"seq":1,"extra":2`, 1), `"extra" is no field`},
		{strings.Replace(good, `"seq":1`, `"seq":1,"seq":2`, 1), `"seq" stands twice`},
		{strings.Replace(good, `"body":{}`, `"body":{"a":1,"a":1}`, 1), `"a" stands twice`},
		{strings.Replace(good, `"body":{}`, `"body":[]`, 1), "body"},
		{strings.Replace(good, `"body":{}`, `"body":{"c":19.8}`, 1), "whole numbers"},
		{strings.Replace(good, `"body":{}`, `"body":{"c":1e3}`, 1), "whole numbers"},
		{strings.Replace(good, `"body":{}`, `"body":{"c":-0}`, 1), "whole numbers"},
		{strings.Replace(good, `"body":{}`, `"body":{"c":18446744073709551616}`, 1), "whole numbers"},
		{strings.Replace(good, `"seq":1`, `"seq":0`, 1), "seq"}, {strings.Replace(good, `"seq":1`, `"seq":-1`, 1), "seq"},
		{strings.Replace(good, `job:V1`, `V1`, 1), "job:NAME"}, {strings.Replace(good, `job:V1`, `van:V1`, 1), "none of shop"},
		{strings.Replace(good, `2026-03-04T07:30:00Z`, `2026-03-04 07:30`, 1), "at"},
		{strings.Replace(good, `07:30:00Z`, `07:30:00.0001Z`, 1), "millisecond"},
		{strings.Replace(good, `2026-03`, `1969-03`, 1), "1970"},
		{strings.Replace(good, `"kind":"tick"`, `"kind":""`, 1), "kind"},
		{strings.Replace(good, `"body":{}`, `"body":{},"strikes":["A",1]`, 1), "strikes"},
		{strings.Replace(good, `"body":{}`, `"body":{},"receipt":{"epoch":1,"order":1,"arrived":3,"earliest":1,"latest":2}`, 1), "receipt without bytes"},
		{good[:len(good)-3] + "\xff" + good[len(good)-3:], "UTF-8"},
		{good, "stands on line 1 already"},
		{strings.Repeat("x", 300<<10), "longer than"},
		// A view that disagrees with its bytes.
		{change(t, kept, "log", "job:other"), "log: the view"}, {change(t, kept, "writer", "other"), "writer: the view"},
		{change(t, kept, "seq", 2), "seq: the view"}, {change(t, kept, "seq", nil), "seq: the view"}, {change(t, kept, "at", "2026-03-04T07:30:00.001Z"), "at: the view"},
		{change(t, kept, "by", "other"), "by: the view"}, {change(t, kept, "by", nil), "by: the view"}, {change(t, kept, "kind", "other"), "kind: the view"},
		{change(t, kept, "body", map[string]any{"stage": "dry"}), "body: the view"}, {change(t, kept, "strikes", []any{[]any{"X", 1}}), "strikes: the view"},
		{change(t, kept, "bytes", "AAAA"), "entry"}, {change(t, kept, "bytes", "*"), "bytes"},
		{change(t, kept, "receipt", map[string]any{"epoch": 1, "order": 0, "arrived": 3, "earliest": 1, "latest": 2}), "receipt"},
		{change(t, kept, "receipt", map[string]any{"epoch": 1, "order": 1}), "receipt"},
		{change(t, kept, "receipt", map[string]any{"epoch": 1, "order": 1, "arrived": uint64(math.MaxUint64), "earliest": 1, "latest": 2}), "receipt"},
	} {
		got, err := jsonl.Read(strings.NewReader(good + "\n" + v.line + "\n"))
		if err == nil || !strings.HasPrefix(err.Error(), "line 2: ") || !strings.Contains(err.Error(), v.why) {
			t.Errorf("%.200s\nwant line 2 and %q, got %v", v.line, v.why, err)
		}
		if got != nil {
			t.Errorf("%.100s: half read", v.line)
		}
	}
}

func stored(t *testing.T, c *logbook.Receipt) []byte {
	e := logbook.Entry{Log: logbook.Log{Class: 'j', ID: logbook.Named("V2")}, Writer: logbook.Named("A"), Seq: 1, By: logbook.Named("Mo"),
		At: logbook.Stamp{Wall: time.Date(2026, 3, 4, 7, 30, 0, 0, time.UTC).UnixMilli()}, Kind: "tick", Body: []byte("\xa1\x65stage\x64wash")}
	b, err := jsonl.Append(nil, e.Append(nil), c)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// change sets one field of a line, or takes it away.
func change(t *testing.T, line, field string, value any) string {
	var m map[string]any
	if err := json.Unmarshal([]byte(line), &m); err != nil {
		t.Fatal(err)
	}
	if m[field] = value; value == nil {
		delete(m, field)
	}
	b, _ := json.Marshal(m)
	return string(b)
}

// The order of fields, spaces and a name in place of its id are no
// disagreement.
func TestAgrees(t *testing.T) {
	line := change(t, string(stored(t, &logbook.Receipt{Epoch: 1, Order: 4, Arrived: 3, Earliest: 1, Latest: 2})), "writer", "A")
	got, err := jsonl.Read(strings.NewReader("  " + line + " \r\n" + byHand))
	if err != nil || len(got) != 4 || got[0].Receipt.Order != 4 {
		t.Fatal(got, err)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(byHand))
	e := logbook.Entry{Log: logbook.Log{Class: 'j', ID: logbook.Named("V2")}, Writer: logbook.Named("A"), Seq: 1, Kind: "k", Body: []byte{0xa0}}
	b, _ := jsonl.Append(nil, e.Append(nil), nil)
	f.Add(b)
	f.Fuzz(func(t *testing.T, b []byte) {
		got, err := jsonl.Read(bytes.NewReader(b))
		if err != nil {
			if got != nil || !strings.HasPrefix(err.Error(), "line ") {
				t.Fatalf("%v, %v", got, err)
			}
			return
		}
		var again []byte
		for _, l := range got {
			if again, err = jsonl.Append(again, l.Bytes, nil); err != nil {
				t.Fatal(err)
			}
		}
		back, err := jsonl.Read(bytes.NewReader(again))
		if err != nil || len(back) != len(got) {
			t.Fatalf("%v: %d of %d lines\n%s", err, len(back), len(got), again)
		}
		for i := range got {
			if !bytes.Equal(got[i].Bytes, back[i].Bytes) {
				t.Fatalf("%s\ncame back as\n%s", base64.StdEncoding.EncodeToString(got[i].Bytes), base64.StdEncoding.EncodeToString(back[i].Bytes))
			}
		}
	})
}
