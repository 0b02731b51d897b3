package session

import (
	"errors"
	"slices"

	"bayhold/sync/cbor"
	"bayhold/sync/clock"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// How a phone tells a dead socket, in ms.
const (
	beatEvery    = 20000 // between heartbeats
	answerWithin = 10000 // of silence after a heartbeat: the socket is dead
	probeWithin  = 5000  // the same after Probe
)

// Phone is the phone's end of one connection; a new socket gets a new one.
type Phone struct {
	device logbook.ID
	clk    *clock.Phone

	welcomed bool
	caught   bool
	closed   bool
	cursors  map[logbook.Log]logbook.Cursor
	copies   []Moved // as they were at the start, and those begun since
	epoch    uint64  // the shop's

	shelves []Run         // at the start
	runs    []Run         // to be brought back, one after the other
	proving bool          // the shop has not said yet what it wants of the first
	waiting bool          // the outbox goes after them
	missed  []Missing     // and what else the shop lacks
	lost    []logbook.Log // the shop has another history of these

	later   []Missing // of these logbooks nothing is sent for a while
	laterAt int64     // mono: and then from here on

	mine    ByName[own]          // lines without receipt
	flying  int                  // of them, sent and not answered
	ahead   ByName[own]          // with receipt, and their place still to come in a batch; by log and order
	held    map[logbook.Log]bool // a fork is in the way of its lines
	closing bool                 // a new writer is needed: send no more lines
	renewed bool                 // and was asked for

	asked               bool // a hello or a beat is not answered
	askedWall, askedAt  int64
	patience            int64 // how long silence may last after it
	heardAt             int64 // mono of the last frame
	lookedWall, lookedM int64 // clocks at the last Tick
}

// own is a line of this phone that has no receipt yet.
type own struct {
	entry  []byte
	hash   logbook.Hash
	summed bool // hash is set: few lines are ever asked for it
	flying bool
}

func (o *own) sum() logbook.Hash {
	if !o.summed {
		o.hash, o.summed = logbook.EntrySum(o.entry), true
	}
	return o.hash
}

// place is an order number in a logbook.
type place struct {
	log   logbook.Log
	order uint64
}

// name is a key for ByName.
func (p place) name() Name { return Name{p.log, logbook.Ref{Seq: p.order}} }

// NewPhone is the end of a connection whose socket just opened. device is
// what the shop enrolled; the session feeds clk.
func NewPhone(device logbook.ID, clk *clock.Phone) *Phone {
	return &Phone{device: device, clk: clk, cursors: map[logbook.Log]logbook.Cursor{}, held: map[logbook.Log]bool{}}
}

// Open says hello: the cursors, what the phone's writers have written, and
// behind it the outbox, entries without receipt in the order written, all
// before the shop answers. Of what stands on shelves it says nothing before it
// knows the shop's epoch. wall and mono are read after the socket opened.
func (p *Phone) Open(wall, mono int64, cursors []Moved, shelves []Run, written []Written, outbox [][]byte) Out {
	cursors = slices.DeleteFunc(slices.Clone(cursors), func(m Moved) bool { return m.Cursor.Order == 0 })
	p.copies, p.shelves, p.waiting = cursors, shelves, len(shelves) > 0
	for _, m := range cursors {
		p.cursors[m.Log] = m.Cursor
	}
	p.lookedWall, p.lookedM = wall, mono
	p.ask(wall, mono, answerWithin)
	out := Out{Frames: []Frame{{Bytes: p.hello(wall, mono, cursors, written)}}}
	p.send(&out, wall, mono, outbox)
	return out
}

func (p *Phone) hello(wall, mono int64, cursors []Moved, written []Written) []byte {
	b := cbor.AppendUint(head(hello, 7), Protocol)
	b = appendID(b, p.device)
	b = cbor.AppendUint(b, p.clk.Life())
	b = cbor.AppendInt(b, wall)
	b = cbor.AppendInt(b, mono)
	b = cbor.AppendArray(b, len(cursors))
	for _, m := range cursors {
		b = cbor.AppendArray(b, 4)
		b = logbook.AppendLog(b, m.Log)
		b = cbor.AppendUint(b, m.Cursor.Epoch)
		b = cbor.AppendUint(b, m.Cursor.Order)
		b = appendHash(b, m.Cursor.Hash)
	}
	b = cbor.AppendArray(b, len(written))
	for _, w := range written {
		b = cbor.AppendArray(b, 6)
		b = logbook.AppendLog(b, w.Log)
		b = appendID(b, w.Writer)
		b = cbor.AppendUint(b, w.Kept)
		b = appendHash(b, w.KeptSum)
		b = cbor.AppendUint(b, w.Last)
		b = cbor.AppendBool(b, w.Old)
	}
	return b
}

// Send sends lines that the phone's store holds: new ones, and what Resend
// asked for. The session keeps the bytes, as those of Open's outbox, until the
// shop has answered.
func (p *Phone) Send(wall, mono int64, entries ...[]byte) Out {
	var out Out
	p.send(&out, wall, mono, entries)
	return out
}

func (p *Phone) send(out *Out, wall, mono int64, entries [][]byte) {
	var fit [][]byte
	size := 0
	flush := func() {
		if len(fit) == 0 {
			return
		}
		now := p.clk.Now(wall, mono)
		b := appendType(make([]byte, 0, 64+3*len(fit)+size), lines, 2)
		b = reading{wall, mono, now.Earliest, p.clk.Steady(wall, mono)}.append(b)
		b = cbor.AppendArray(b, len(fit))
		for _, e := range fit {
			b = cbor.AppendBytes(b, e)
		}
		out.Frames = append(out.Frames, Frame{Bytes: b, Batch: len(fit) > 1})
		fit, size = fit[:0], 0
	}
	for _, entry := range entries {
		log, ref, ok := logbook.NameOf(entry)
		if !ok {
			continue // not an entry of ours: the store's caller checked before writing
		}
		name := Name{log, ref}
		line := p.mine.Get(name)
		if line == nil {
			line = &own{entry: entry}
			p.mine.Put(name, line)
		}
		if p.closing || p.closed || p.waiting || p.comesLater(Missing{log, ref.Writer, ref.Seq}) {
			continue // in the outbox
		}
		if !line.flying {
			line.flying = true
			p.flying++
		}
		if len(fit) == maxLines || size+len(entry) > maxBytes {
			flush()
		}
		fit, size = append(fit, entry), size+len(entry)
	}
	flush()
}

// comesLater says whether nothing of the logbook is sent for a while, and then
// sees to it that this line is.
func (p *Phone) comesLater(line Missing) bool {
	wait := false
	for i := range p.later {
		if m := &p.later[i]; m.Log == line.Log {
			if wait = true; m.Writer == line.Writer {
				m.From = min(m.From, line.From)
				return true
			}
		}
	}
	if wait {
		p.later = append(p.later, line)
	}
	return wait
}

// answered takes a line off those that wait for the shop.
func (p *Phone) answered(name Name) {
	if line := p.mine.Get(name); line != nil && line.flying {
		line.flying = false
		p.flying--
	}
}

// settled forgets a line that has its receipt or was set aside.
func (p *Phone) settled(name Name) {
	p.answered(name)
	p.mine.Delete(name)
}

// renew asks for a new writer once nothing of the old one is under way.
func (p *Phone) renew(out *Out) {
	if p.closing && p.flying == 0 && !p.renewed {
		p.renewed, out.NewWriter = true, true
	}
}

// Frame takes one frame of the shop. An error means that it was refused and
// changed nothing: close the socket and open anew.
func (p *Phone) Frame(frame []byte, wall, mono int64) (Out, error) {
	var out Out
	if p.closed {
		return out, nil
	}
	r := new(cbor.Reader)
	kind, n := open(r, frame)
	var err error
	switch {
	case r.Err() != nil:
		err = refused(r, "frame")
	case kind == welcome:
		err = p.welcome(&out, r, n, wall, mono)
	case kind == bye:
		err = p.bye(&out, r, n)
	case !p.welcomed:
		err = errors.New("session: the shop speaks before its welcome")
	case kind == kept:
		err = p.kept(&out, r, n)
	case kind == aside:
		err = p.aside(&out, r, n)
	case kind == from || kind == later:
		err = p.from(&out, r, n, mono, kind == from)
	case kind == batch:
		err = p.batch(&out, r, n)
	case kind == echo:
		err = p.echo(&out, r, n, wall, mono)
	case kind == live:
		err = p.live(&out, r, n)
	case kind == caught:
		if r.Close() != nil || n != 0 {
			return Out{}, refused(r, "caught")
		}
		p.caught = true
		out.Unshelve = len(p.shelves) > 0 && !slices.ContainsFunc(p.shelves, func(s Run) bool { return s.Taken != p.epoch })
	case kind == want:
		err = p.want(&out, r, n)
	case kind == taken:
		err = p.taken(&out, r, n, wall, mono)
	default:
		err = errors.New("session: a frame of a kind that this version does not know")
	}
	if err != nil {
		return Out{}, err
	}
	p.heardAt = mono
	p.renew(&out)
	p.rewind(&out)
	if out.Closed != "" {
		p.closed = true
	}
	return out, nil
}

func (p *Phone) welcome(out *Out, r *cbor.Reader, n int, wall, mono int64) error {
	if n != 10 || p.welcomed {
		r.Fail("a welcome has 10 items and comes once")
	}
	if v := r.Uint(); v != Protocol {
		r.Fail("a protocol of another number")
	}
	epoch := r.Uint()
	w1, m1, t2, t3 := readExchange(r)
	var rewound []logbook.Log
	for n := list(r, maxList, "logbooks"); n > 0; n-- {
		rewound = append(rewound, logbook.ReadLog(r))
	}
	closed := r.Bool()
	missing := readMissing(r)
	r.Bytes() // the key that proves its heads: the shop alone asks for proofs
	if r.Close() != nil {
		return refused(r, "welcome")
	}
	p.welcomed, p.epoch, out.Epoch = true, epoch, epoch
	p.contact(out, w1, m1, t2, t3, wall, mono)
	for _, m := range p.copies {
		if slices.Contains(rewound, m.Log) {
			p.runs = append(p.runs, Run{Moved: m})
		}
	}
	for _, s := range p.shelves {
		if s.Taken != epoch {
			p.runs = append(p.runs, s)
		}
	}
	p.closing = p.closing || closed
	p.lost, p.missed = rewound, missing
	for name := range p.mine.All {
		if slices.Contains(rewound, name.Log) {
			p.answered(name) // the shop takes none of them before what comes back
		}
	}
	if p.waiting = p.waiting || len(rewound) > 0; !p.waiting {
		p.missing(out, missing)
	}
	p.nextRun(out, wall, mono)
	return nil
}

// missing asks for lines again; what was sent of them without the ones before
// is not under way any more.
func (p *Phone) missing(out *Out, missing []Missing) {
	for _, m := range missing {
		for name := range p.mine.All {
			if name.Log == m.Log && name.Ref.Writer == m.Writer && name.Ref.Seq >= m.From {
				p.answered(name)
			}
		}
	}
	out.Resend = missing
}

// readExchange reads the phone's own clocks, as it sent them, and the shop's.
func readExchange(r *cbor.Reader) (wall, mono, t2, t3 int64) {
	return logbook.ReadTime(r), logbook.ReadTime(r), logbook.ReadTime(r), logbook.ReadTime(r)
}

func readMissing(r *cbor.Reader) (missing []Missing) {
	for n := list(r, maxList, "gaps"); n > 0; n-- {
		array(r, 3, "a gap")
		missing = append(missing, Missing{logbook.ReadLog(r), logbook.ReadID(r), r.Uint()})
	}
	return missing
}

// contact gives an exchange to the clock, once: a doubled answer is none.
func (p *Phone) contact(out *Out, w1, m1, t2, t3, wall, mono int64) {
	if !p.asked || w1 != p.askedWall || m1 != p.askedAt {
		return
	}
	p.asked = false
	p.clk.Contact(w1, m1, t2, t3, wall, mono)
	out.Contact = true
}

func (p *Phone) echo(out *Out, r *cbor.Reader, n int, wall, mono int64) error {
	w1, m1, t2, t3 := readExchange(r)
	if r.Close() != nil || n != 4 {
		return refused(r, "echo")
	}
	p.contact(out, w1, m1, t2, t3, wall, mono)
	return nil
}

func (p *Phone) kept(out *Out, r *cbor.Reader, n int) error {
	var got []Receipt
	for n := list(r, maxLines, "runs"); n > 0; n-- {
		width := readWidth(r, 5, "a run of kept lines")
		run := Receipt{Name: Name{logbook.ReadLog(r), logbook.Ref{Writer: logbook.ReadID(r)}}}
		receipts := make([]logbook.Receipt, count(r))
		from := len(got)
		readNumbers(r, len(receipts), func(_ int, v int64) {
			run.Name.Ref.Seq = uint64(v)
			got = append(got, run)
		})
		readNumbers(r, len(receipts), func(i int, v int64) { receipts[i].Order, got[from+i].Order = uint64(v), uint64(v) })
		for i, c := range readReceipts(r, receipts, width) {
			got[from+i].Receipt = c
		}
	}
	if r.Close() != nil || n != 1 {
		return refused(r, "kept")
	}
	out.Kept = got[:0]
	var log logbook.Log
	var at uint64 // where the copy of it is
	for _, k := range got {
		line := p.mine.Get(k.Name)
		if line == nil {
			continue // said twice
		}
		if k.Name.Log != log {
			log = k.Name.Log
			at = p.cursors[log].Order
		}
		if k.Order > at {
			p.ahead.Put(place{k.Name.Log, k.Order}.name(), line)
		}
		p.settled(k.Name)
		if !slices.Contains(p.lost, k.Name.Log) { // of those the copy is not the shop's: it says so again on the next connection
			out.Kept = append(out.Kept, k)
		}
	}
	return nil
}

func (p *Phone) aside(out *Out, r *cbor.Reader, n int) error {
	type answer struct {
		sum    logbook.Hash
		code   judge.Code
		reason string
	}
	var got []answer
	for n := list(r, maxLines, "lines set aside"); n > 0; n-- {
		array(r, 3, "a line set aside")
		got = append(got, answer{readHash(r), judge.Code(r.Uint()), r.Text()})
	}
	if r.Close() != nil || n != 1 {
		return refused(r, "aside")
	}
	for _, a := range got {
		name, ok := p.bySum(a.sum)
		if !ok {
			continue
		}
		if a.code.Named() {
			p.settled(name)
			out.Aside = append(out.Aside, Refused{name, a.reason})
			continue
		}
		p.answered(name) // and stays in the outbox, for the new writer
		p.closing = true
		out.Forked = append(out.Forked, name)
	}
	return nil
}

// bySum finds an own line by its hash; rare, so it looks through all.
func (p *Phone) bySum(sum logbook.Hash) (Name, bool) {
	for name, line := range p.mine.All {
		if line.sum() == sum {
			return name, true
		}
	}
	return Name{}, false
}

// from takes what is to be sent again, at once or later.
func (p *Phone) from(out *Out, r *cbor.Reader, n int, mono int64, soon bool) error {
	missing := readMissing(r)
	if !soon {
		n -= 2
		out.RetryIn, out.Later = logbook.ReadTime(r), r.Text()
	}
	if r.Close() != nil || n != 1 {
		return refused(r, "from")
	}
	p.missing(out, missing)
	if !soon {
		if mono += out.RetryIn; p.later == nil || mono < p.laterAt {
			p.laterAt = mono
		}
		p.later, out.Resend = append(p.later, missing...), nil
	}
	return nil
}

func (p *Phone) live(out *Out, r *cbor.Reader, n int) error {
	s := Sample{logbook.ReadLog(r), r.Raw()}
	if r.Close() != nil || n != 2 {
		return refused(r, "live")
	}
	out.Live = append(out.Live, s)
	return nil
}

func (p *Phone) bye(out *Out, r *cbor.Reader, n int) error {
	why, retry := r.Text(), logbook.ReadTime(r)
	if r.Close() != nil || n != 2 {
		return refused(r, "bye")
	}
	out.Closed, out.RetryIn = "the shop says: "+why, max(0, retry)
	return nil
}

// Caught says whether this phone has had all that the shop had when it caught
// up; from then on lines come as they are kept.
func (p *Phone) Caught() bool { return p.caught && !p.closed }

// Tick is called every few seconds: it beats, closes a silent socket, and sends
// again what was to come later.
func (p *Phone) Tick(wall, mono int64) Out {
	var out Out
	if p.closed {
		return out
	}
	// A wall clock far ahead of the monotonic one means that the phone slept,
	// and its socket may be dead since.
	slept := (wall-p.lookedWall)-(mono-p.lookedM) > beatEvery
	p.lookedWall, p.lookedM = wall, mono
	switch {
	case p.asked && mono-max(p.askedAt, p.heardAt) > p.patience:
		p.closed = true
		out.Closed = "the shop is silent"
	case slept:
		out = p.Probe(wall, mono)
	case !p.asked && mono-p.askedAt >= beatEvery:
		out.Frames = append(out.Frames, p.beat(wall, mono, answerWithin))
	}
	if mono >= p.laterAt {
		out.Resend, p.later = p.later, nil
	}
	return out
}

// Probe is called when the page returns (visible, online, after sleep): it
// beats at once, and Tick closes a socket that does not answer soon.
func (p *Phone) Probe(wall, mono int64) Out {
	if p.closed || !p.welcomed {
		return Out{}
	}
	return Out{Frames: []Frame{p.beat(wall, mono, probeWithin)}}
}

func (p *Phone) beat(wall, mono, patience int64) Frame {
	p.ask(wall, mono, patience)
	return Frame{Bytes: cbor.AppendInt(cbor.AppendInt(head(beat, 2), wall), mono)}
}

func (p *Phone) ask(wall, mono, patience int64) {
	p.asked, p.askedWall, p.askedAt, p.patience, p.heardAt = true, wall, mono, patience, mono
}
