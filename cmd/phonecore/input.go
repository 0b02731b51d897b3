package main

import (
	"errors"
	"strings"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// input is what a call brings; each op uses its own few fields.
type input struct {
	wall, mono int64 // the phone's clocks, ms

	writer logbook.ID // start, pick, unkeep: this phone's writer
	device logbook.ID // start: what the shop enrolled
	life   uint64     // start: this page life
	clock  []byte     // start, clock: kept state

	rows    [][]byte    // batches as kept
	lines   [][]byte    // entries that the shop has not kept yet
	cursors [][2][]byte // open: logbook's name and cursor as kept
	shelves []shelf     // open: copies that were put aside
	from    uint64      // pick: the first seq
	seqs    []namedSeq  // rewrite: the next seq of each logbook

	log     logbook.Log // write
	kind    string
	body    []byte
	by      logbook.ID // write, view: the person who was tapped
	shared  bool       // write, view: a lead's rights do not count on this phone now
	strikes []logbook.Ref
	seq     uint64
	salt    []byte // 16 random bytes
	sure    bool   // the person insists

	name string // view; settle: "lists" if lists of jobs are looked at
	id   logbook.ID

	bytes []byte // frame, hash
	wait  int64  // backoff: what the shop asked for, ms
}

type shelf struct {
	log, cursor []byte // as in cursors
	name        string
	taken       uint64 // the epoch in which the shop has it all
}

type namedSeq struct {
	log logbook.Log
	seq uint64
}

// parse reads a call's argument: one CBOR map with the keys below. What it
// holds shares b's memory, which is the page's until the call returns.
func parse(b []byte) (in input, err error) {
	r := new(cbor.Reader)
	r.Reset(b)
	for n := r.Map(); n > 0 && r.Err() == nil; n-- {
		switch key := string(r.TextBytes()); key {
		case "wall":
			in.wall = r.Int()
		case "mono":
			in.mono = r.Int()
		case "writer":
			in.writer = readID(r)
		case "device":
			in.device = readID(r)
		case "life":
			in.life = r.Uint()
		case "clock":
			in.clock = r.Bytes()
		case "rows":
			in.rows = readStrings(r)
		case "lines":
			in.lines = readStrings(r)
		case "cursors":
			for n := r.Array(); n > 0 && r.Err() == nil; n-- {
				if r.Array() != 2 {
					r.Fail("a cursor is [log, bytes]")
				}
				in.cursors = append(in.cursors, [2][]byte{r.TextBytes(), r.Bytes()})
			}
		case "shelves":
			for n := r.Array(); n > 0 && r.Err() == nil; n-- {
				if r.Array() != 4 {
					r.Fail("a shelf is [log, cursor, name, epoch]")
				}
				in.shelves = append(in.shelves, shelf{r.TextBytes(), r.Bytes(), r.Text(), r.Uint()})
			}
		case "from":
			in.from = r.Uint()
		case "seqs":
			for n := r.Array(); n > 0 && r.Err() == nil; n-- {
				if r.Array() != 2 {
					r.Fail("a next seq is [log, seq]")
				}
				in.seqs = append(in.seqs, namedSeq{readLog(r), r.Uint()})
			}
		case "log":
			in.log = readLog(r)
		case "kind":
			in.kind = r.Text()
		case "body":
			in.body = r.Raw()
		case "by":
			in.by = readID(r)
		case "shared":
			in.shared = r.Bool()
		case "strikes":
			for n := r.Array(); n > 0 && r.Err() == nil; n-- {
				if r.Array() != 2 {
					r.Fail("a strike is [writer, seq]")
				}
				in.strikes = append(in.strikes, logbook.Ref{Writer: readID(r), Seq: r.Uint()})
			}
		case "seq":
			in.seq = r.Uint()
		case "salt":
			in.salt = r.Bytes()
		case "sure":
			in.sure = r.Bool()
		case "name":
			in.name = r.Text()
		case "id":
			in.id = readID(r)
		case "bytes":
			in.bytes = r.Bytes()
		case "wait":
			in.wait = r.Int()
		default:
			r.Fail("no such argument: " + key)
		}
	}
	if err := r.Close(); err != nil {
		return input{}, errors.New("phonecore: " + err.Error())
	}
	return in, nil
}

func readStrings(r *cbor.Reader) (list [][]byte) {
	for n := r.Array(); n > 0 && r.Err() == nil; n-- {
		list = append(list, r.Bytes())
	}
	return list
}

// readID reads a UUID's text, "" for the zero ID.
func readID(r *cbor.Reader) logbook.ID {
	s := r.Text()
	if s == "" {
		return logbook.ID{}
	}
	id, ok := logbook.ParseID(s)
	if !ok {
		r.Fail("not a UUID: " + s)
	}
	return id
}

func readLog(r *cbor.Reader) logbook.Log {
	l, ok := parseLog(r.Text())
	if !ok {
		r.Fail("not a logbook's name")
	}
	return l
}

// parseLog reads a logbook's name: its class, a colon, its UUID; the shop's
// own logbook has none and is "s:".
func parseLog(name string) (logbook.Log, bool) {
	class, uuid, ok := strings.Cut(name, ":")
	if !ok || len(class) != 1 {
		return logbook.Log{}, false
	}
	l := logbook.Log{Class: class[0]}
	if uuid != "" {
		l.ID, ok = logbook.ParseID(uuid)
	}
	return l, ok
}

// logName writes what parseLog reads.
func logName(l logbook.Log) string {
	if l.ID.IsZero() {
		return string(rune(l.Class)) + ":"
	}
	return string(rune(l.Class)) + ":" + l.ID.String()
}
