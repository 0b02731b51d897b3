package main

import (
	"bytes"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/checklist/view"
	"bayhold/sync/clock"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
	"bayhold/sync/sha256"
)

// core is one instance: the fold of everything that this phone carries, its
// clock, and its end of the connection if there is one. Lines stand in line for
// the fold until somebody asks what they mean.
type core struct {
	shop    *checklist.Shop
	clock   *clock.Phone
	session *session.Phone
	writer  logbook.ID
	device  logbook.ID

	unkept session.ByName[unkept]           // own lines without a receipt
	wrote  map[logbook.Log]*session.Written // what the store has of this phone's writer

	lines  line.Reader
	rows   [][]byte  // of the store, in line for the fold, each of a few lines
	until  int64     // until when what was folded since hangs tells of the air, if of nothing else
	fresh  []*unkept // own lines in line for the fold
	met    bool      // a contact changed what is known of the unkept lines' moments
	tapped struct {  // the last line written, to know a double tap
		log  logbook.Log
		by   logbook.ID
		kind string
		body []byte
		seq  uint64
		mono int64
	}
	in  []byte
	out output
}

// unkept is an own line that is only on this phone. What is known of its
// moment changes with every contact, so it is folded again then.
type unkept struct {
	stamp  logbook.Stamp
	line   checklist.Line
	folded bool
	entry  []byte
}

// never is until when a row tells of the air that tells of something else, too.
const never = 1 << 53

// doubleTap is how soon the same line again is a finger that trembled, ms.
const doubleTap = 2000

// call runs one op and answers bytes that are good until the next call.
func (c *core) call(op int32, arg []byte) (answer []byte) {
	c.out.reset()
	defer func() {
		if r := recover(); r != nil {
			answer = c.out.say(broken, "The core broke: "+panicText(r))
		}
	}()
	parsed, err := parse(arg)
	if err != nil {
		return c.out.say(refused, err.Error())
	}
	in := &parsed
	if op != opStart && op != opHash && op != opBackoff && c.shop == nil {
		return c.out.say(refused, "phonecore: not started")
	}
	switch op {
	case opStart:
		return c.start(in)
	case opLoad:
		return c.load(in)
	case opWrite:
		return c.write(in)
	case opSend:
		return c.send(in)
	case opView:
		return c.view(in)
	case opOpen:
		return c.open(in)
	case opFrame:
		return c.frame(in)
	case opTick:
		return c.sessionOp(func() session.Out { return c.session.Tick(in.wall, in.mono) })
	case opProbe:
		return c.sessionOp(func() session.Out { return c.session.Probe(in.wall, in.mono) })
	case opShut:
		return c.shut(in)
	case opClock:
		return c.keepClock(in)
	case opHash:
		return c.hash(in)
	case opBackoff:
		return c.backoff(in)
	case opPick:
		return c.pick(in)
	case opUnkeep:
		return c.unkeep(in)
	case opRewrite:
		return c.rewrite(in)
	case opForget:
		return c.forget(in)
	case opHangs:
		return c.hangs(in)
	case opSettle:
		return c.settle(in)
	case opBring:
		return c.sessionOp(func() session.Out { return c.session.Bring(c.run(in)) })
	}
	return c.out.say(refused, "phonecore: no such op")
}

func panicText(r any) string {
	switch r := r.(type) {
	case error:
		return r.Error()
	case string:
		return r
	}
	return "unknown reason"
}

func (c *core) start(in *input) []byte {
	clk := clock.NewPhone(in.life, in.wall, in.mono)
	if len(in.clock) > 0 {
		// State that cannot be read is as good as none: the phone knows
		// nothing of the shop's time until the next contact.
		if kept, err := clock.Load(in.clock, in.life, in.wall, in.mono); err == nil {
			clk = kept
		}
	}
	*c = core{
		shop: checklist.NewShop(), clock: clk, writer: in.writer, device: in.device,
		wrote: map[logbook.Log]*session.Written{},
		in:    c.in, out: c.out,
	}
	c.offline(in)
	return c.empty()
}

func (c *core) empty() []byte {
	c.out.Object()
	c.out.End()
	return c.out.done()
}

// offline tells the fold since when this phone has heard nothing.
func (c *core) offline(in *input) {
	c.shop.Offline(max(1, c.clock.Stamp(in.wall, in.mono).OffsetAt))
}

// load puts rows of the store and unkept lines in line for the fold. A backlog
// costs no more than keeping its bytes until someone looks.
func (c *core) load(in *input) []byte {
	for _, row := range in.rows {
		c.rows = appendPieces(c.rows, bytes.Clone(row)) // the argument's memory is the next call's
	}
	for _, entry := range in.lines {
		c.addUnkept(bytes.Clone(entry))
	}
	return c.empty()
}

// settle does a little of what the next question would have to do: it folds some
// of what stands in line, and then, if lists are looked at, answers one of their
// jobs. A phone that catches up asks for it between two frames, until nothing is
// left, so that a tap waits for no more than this.
func (c *core) settle(in *input) []byte {
	left := len(c.rows) > 0
	if left {
		c.foldRow(c.rows[0])
		c.rows = c.rows[1:]
	} else {
		c.fold()
		left = in.name == "lists" && c.shop.Foresee(c.now(in))
	}
	c.out.Object()
	c.flag("left", left)
	c.out.End()
	return c.out.done()
}

// fold takes in what stands in line. Whatever answers from the fold calls it first. A line that cannot be read
// stays in the store.
func (c *core) fold() {
	c.foldRows()
	for _, u := range c.fresh {
		c.foldUnkept(u)
	}
	c.fresh = c.fresh[:0]
	if c.met {
		c.met = false
		c.respan()
	}
}

func (c *core) foldRows() {
	for _, row := range c.rows {
		c.foldRow(row)
	}
	c.rows = nil
}

func (c *core) foldRow(row []byte) {
	var newest *session.Written // of this phone's writer in this row
	var itsBytes []byte
	for r := openRow(row); r.next(); {
		e, err := logbook.Decode(r.entry)
		receipt, err2 := logbook.DecodeReceipt(r.receipt)
		if err != nil || err2 != nil {
			c.until = never
			continue
		}
		if e.Writer == c.writer {
			c.unkept.Delete(session.Name{Log: e.Log, Ref: e.Ref()})
			if w := c.note(e.Log, e.Seq); e.Seq >= w.Kept {
				w.Kept = e.Seq
				newest, itsBytes = w, r.entry
			}
		}
		l, _ := c.add(&e, receipt.Order, checklist.Span{Earliest: receipt.Earliest, Latest: receipt.Latest})
		until := int64(never)
		if b, ok := l.Body.(checklist.ClimateBlock); ok {
			until = b.To
		}
		c.until = max(c.until, until)
	}
	if newest != nil { // a row is of one logbook, so one hash is enough
		newest.KeptSum = logbook.EntrySum(itsBytes)
	}
}

// addUnkept takes an own line that the store holds; it keeps the bytes.
func (c *core) addUnkept(entry []byte) {
	e, err := logbook.Decode(entry)
	if err != nil {
		return
	}
	if e.Writer == c.writer {
		c.note(e.Log, e.Seq)
	}
	u := &unkept{stamp: e.At, entry: entry}
	c.unkept.Put(session.Name{Log: e.Log, Ref: e.Ref()}, u)
	c.fresh = append(c.fresh, u)
}

func (c *core) foldUnkept(u *unkept) {
	e, _ := logbook.Decode(u.entry) // it was read before
	if c.unkept.Get(session.Name{Log: e.Log, Ref: e.Ref()}) == u {
		u.line, u.folded = c.add(&e, 0, checklist.Span(c.clock.Span(e.At)))
	}
}

// note counts what this phone's writer has written, for the hello.
func (c *core) note(log logbook.Log, seq uint64) *session.Written {
	w := c.wrote[log]
	if w == nil {
		w = &session.Written{Log: log, Writer: c.writer}
		c.wrote[log] = w
	}
	w.Last = max(w.Last, seq)
	return w
}

// add folds one entry, unless it has a body that its kind does not have.
func (c *core) add(e *logbook.Entry, order uint64, span checklist.Span) (checklist.Line, bool) {
	l, err := c.lines.Of(*e, order, span)
	if err != nil {
		return l, false
	}
	c.shop.Add(l)
	return l, true
}

// respan folds the unkept lines again after a contact.
func (c *core) respan() {
	for _, u := range c.unkept.All {
		if span := checklist.Span(c.clock.Span(u.stamp)); u.folded && span != u.line.Span {
			u.line.Span = span
			c.shop.Add(u.line)
		}
	}
}

func (c *core) now(in *input) checklist.Span { return checklist.Span(c.clock.Now(in.wall, in.mono)) }

// write judges and encodes a line and counts nothing: it is not on disk yet.
func (c *core) write(in *input) []byte {
	c.fold()
	body, err := line.Decode(in.kind, in.body)
	if err != nil {
		return c.out.say(refused, err.Error())
	}
	plain := line.Encode(body)
	t := &c.tapped
	// The same seq again is no double tap: the store did not take the first.
	if t.mono != 0 && t.seq != in.seq && in.mono-t.mono < doubleTap && t.log == in.log && t.by == in.by && t.kind == in.kind && bytes.Equal(t.body, plain) && in.kind != "strike" {
		return c.out.say(refused, "Written already, a moment ago.")
	}
	e := logbook.Entry{Log: in.log, Writer: c.writer, Seq: in.seq, At: c.clock.Stamp(in.wall, in.mono), By: in.by, Kind: in.kind, Strikes: in.strikes}
	l := checklist.Line{
		Log:  checklist.Log{Class: in.log.Class, ID: checklist.ID(in.log.ID)},
		ID:   checklist.LineID{Writer: checklist.ID(c.writer), Seq: in.seq},
		By:   checklist.ID(in.by),
		Kind: in.kind, Body: body,
	}
	for _, s := range in.strikes {
		l.Strikes = append(l.Strikes, checklist.LineID{Writer: checklist.ID(s.Writer), Seq: s.Seq})
	}
	check := line.Check
	if in.shared {
		check = line.CheckShared
	}
	if no := check(l, c.shop, c.now(in)); no.Ask && !in.sure {
		return c.out.say(asked, no.Text)
	} else if no.Refused() && !no.Ask {
		return c.out.say(refused, no.Text)
	}
	e.Body = line.Salted(c.complete(body), in.salt)
	if err := e.Check(); err != nil {
		return c.out.say(refused, "This line is too long to keep: "+err.Error())
	}
	t.log, t.by, t.kind, t.body, t.seq, t.mono = in.log, in.by, in.kind, plain, in.seq, in.mono
	c.out.Object()
	c.out.End()
	c.out.blob(e.Append(nil))
	return c.out.done()
}

// complete fills in what a page does not know: the numbers and steps that a new
// job pins, and the name of a set.
func (c *core) complete(body checklist.Body) checklist.Body {
	switch b := body.(type) {
	case checklist.JobOpen:
		if hash, _, ok := c.shop.RulesInForce(); ok && b.Rules == "" {
			b.Rules = hash
		}
		if b.Steps == "" {
			b.Steps, _ = c.shop.StepsInForce(b.Route)
		}
		return b
	case checklist.RulesSet:
		for key, n := range checklist.DefaultRules() {
			if _, ok := b.Values[key]; !ok {
				b.Values[key] = n // a set is whole
			}
		}
	}
	return line.Pin(body)
}

// view writes a screen's JSON as the whole answer; empty if there is no such
// thing.
func (c *core) view(in *input) []byte {
	c.fold()
	stamp := c.clock.Stamp(in.wall, in.mono)
	r := view.Reader{Person: checklist.ID(in.by), Writer: checklist.ID(c.writer), Shared: in.shared, Now: c.now(in), Clock: in.wall + stamp.Offset}
	view.Write(&c.out.Writer, c.shop, in.name, checklist.ID(in.id), r)
	return c.out.done()
}

// hangs folds what stands in line and names the places that a job hangs on, and
// from when on their air counts: a phone that starts reads these first, and the rest
// row by row. It also tells until when what was folded since it was asked last
// tells of the air, if of nothing else: a row, so that the next start can leave it
// for later.
func (c *core) hangs(in *input) []byte {
	c.fold()
	places, since := c.shop.HangsOn(checklist.ID(in.id))
	c.out.Array()
	c.out.Int(since)
	c.out.Int(c.until)
	c.until = 0
	for _, place := range places {
		c.out.String(logName(logbook.Log{Class: checklist.PlaceLog, ID: logbook.ID(place)}))
	}
	c.out.End()
	return c.out.done()
}

func (c *core) keepClock(in *input) []byte {
	if len(in.clock) > 0 {
		// Another tab met the shop: take over what it knows.
		if kept, err := clock.Load(in.clock, c.clock.Life(), in.wall, in.mono); err == nil {
			c.clock = kept
			c.met = true
		}
	}
	c.out.Object()
	c.out.Key("contact").Int(c.clock.Stamp(in.wall, in.mono).OffsetAt)
	c.out.End()
	c.out.blob(c.clock.Append(nil, in.wall, in.mono))
	return c.out.done()
}

func (c *core) hash(in *input) []byte {
	sum := sha256.Sum(in.bytes)
	const hex = "0123456789abcdef"
	text := make([]byte, 0, 64)
	for _, b := range sum {
		text = append(text, hex[b>>4], hex[b&15])
	}
	c.out.Object()
	c.out.Key("sha").String(string(text))
	c.out.End()
	return c.out.done()
}
