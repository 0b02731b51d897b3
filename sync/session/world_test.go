package session_test

import (
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"slices"

	"bayhold/sync/cbor"
	"bayhold/sync/clock"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
	"bayhold/sync/session/memstore"
)

// The world of the simulation: one shop, some phones, and the true time, which
// is the shop's own. Nothing here draws; schedule_test.go does.

// world is everything there is. now is the true time in ms.
type world struct {
	t     failer
	now   int64
	store *memstore.Store
	queue []queued // lines that wait for the shop's writer
	conns []*conn
	phone []*phone
	acts  map[uint64]*act       // by the number in the entry's body
	saw   map[string]int        // faults, counted
	named map[session.Name]bool // set aside under its name, in any epoch
	brk   breakage

	shelfFull, diskFull int64 // until when, ms
}

type failer interface {
	Fatalf(format string, args ...any)
}

// breakage is what a test breaks on purpose, to see the invariants notice.
type breakage struct {
	ackBeforeSync bool // answer what is written and not synced
	staleCursor   bool // take any cursor that the store has an order for
	trustWall     bool // let the wall stamp say when
	anySignature  bool // believe every head
	keepRuns      bool // phones bring nothing back
	anyFork       bool // forget which writers are forked
	loseLater     bool // drop what was to come later
}

// act is an entry as the world knows it: when it truly was.
type act struct {
	n       uint64
	at      int64
	bad     bool           // the policy refuses it
	kept    bool           // a phone was told that it is kept
	gone    bool           // it was on no disk any more
	twice   bool           // its phone's store was set back to before it was written again under a new writer
	strikes uint64         // the act that it takes back
	sums    []logbook.Hash // of its entry, and as it was written again
}

type queued struct {
	sub  judge.Submission
	conn *conn
}

// conn is one socket and what is under way in it. Each side learns of its end
// on its own.
type conn struct {
	phone              *phone
	shop               *session.Shop
	up, down           []session.Frame
	phoneSide, shopEnd bool // alive for the phone, for the shop
	cut                bool // the shop speaks into a cut wire
	epoch              uint64
}

// row is a line on a phone's disk.
type row struct {
	name    session.Name
	n       uint64
	entry   []byte
	receipt []byte
	order   uint64
	mine    bool
	aside   bool
	forked  bool // has a receipt, and waits in the outbox for the new writer
	written int  // order of writing, for the outbox

	stamp logbook.Stamp // decoded once, for checkTime
	span  clock.Moment  // of the receipt
}

// disk is what a phone's store holds; every change to it is strict.
type disk struct {
	rows    map[session.Name]*row // never changed in place: copies share them
	last    map[seqOf]uint64      // the highest seq of each own writer
	cursors map[logbook.Log]session.Moved
	shelves []shelf
	clock   []byte
	epoch   uint64 // the shop's
	writer  logbook.ID
	writers []logbook.ID
	count   int
}

// shelf is a copy of a logbook that was put aside, with its lines in order.
type shelf struct {
	run   session.Run
	lines []session.Line
}

type seqOf struct {
	writer logbook.ID
	log    logbook.Log
}

func (d *disk) at(name session.Name) row {
	if r := d.rows[name]; r != nil {
		return *r
	}
	return row{}
}

func (d *disk) set(name session.Name, r row) {
	d.rows[name] = &r
	if k := (seqOf{name.Ref.Writer, name.Log}); r.mine {
		d.last[k] = max(d.last[k], name.Ref.Seq)
	}
}

func newDisk(id logbook.ID) *disk {
	return &disk{rows: map[session.Name]*row{}, last: map[seqOf]uint64{}, cursors: map[logbook.Log]session.Moved{}, writer: id, writers: []logbook.ID{id}}
}

func (d *disk) clone() *disk {
	c := *d
	c.rows, c.last, c.cursors = maps.Clone(d.rows), maps.Clone(d.last), maps.Clone(d.cursors)
	c.shelves = slices.Clone(d.shelves)
	c.writers = slices.Clone(d.writers)
	return &c
}

// phone is a phone: its true clocks, its disk, and the page while it is open.
type phone struct {
	w    *world
	id   logbook.ID
	disk *disk

	// The wall clock shows wallBase + (now-since)*(1+wallPPM); the monotonic
	// one counts awake ms of this page at monoPPM.
	wallBase, since  int64
	wallPPM, monoPPM int64
	awake            int64 // true ms awake since the page opened, up to since2
	since2           int64
	asleep           bool
	sleptAt          int64

	open   bool
	dead   bool // lost for good
	clk    *clock.Phone
	conn   *conn
	sess   *session.Phone
	keptAt int64 // when the clock's state was last kept
	later  bool  // the shop has no room for some of its lines for a while

	old      *disk // an earlier state that may come back
	oldSteps int   // steps of the clock when it was taken
	steps    int
	lives    uint64
	writers  int
}

func (p *phone) wall() int64 {
	d := p.w.now - p.since
	return p.wallBase + d + d*p.wallPPM/1e6
}

func (p *phone) mono() int64 {
	a := p.awake
	if !p.asleep {
		a += p.w.now - p.since2
	}
	return a + a*p.monoPPM/1e6
}

// setWall moves the wall clock by ms.
func (p *phone) setWall(by int64) {
	p.wallBase, p.since = p.wall()+by, p.w.now
	p.steps++
}

var simLogs = []logbook.Log{
	{Class: 's', ID: logbook.Named("shop")}, {Class: 'p', ID: logbook.Named("bay 1")}, {Class: 'j', ID: logbook.Named("V1")},
}

// --- the page ---

// start opens the page from what the disk has.
func (p *phone) start() {
	w := p.w
	p.lives++
	p.open, p.asleep, p.awake, p.since2 = true, false, 0, w.now
	if p.disk.clock == nil {
		p.clk = clock.NewPhone(p.lives, p.wall(), p.mono())
	} else {
		var err error
		if p.clk, err = clock.Load(p.disk.clock, p.lives, p.wall(), p.mono()); err != nil {
			w.t.Fatalf("clock state: %v", err)
		}
	}
	p.keepClock()
}

func (p *phone) keepClock() {
	p.disk.clock, p.keptAt = p.clk.Append(nil, p.wall(), p.mono()), p.w.now
}

// crash ends the page without a word.
func (p *phone) crash() {
	p.drop()
	p.open, p.clk = false, nil
}

// drop forgets the socket on the phone's side.
func (p *phone) drop() {
	if p.conn != nil {
		p.conn.phoneSide = false
	}
	p.conn, p.sess = nil, nil
}

func (p *phone) outbox() [][]byte {
	var rows []*row
	for _, r := range p.disk.rows {
		if r.mine && (r.receipt == nil || r.forked) && !r.aside {
			rows = append(rows, r)
		}
	}
	slices.SortFunc(rows, func(a, b *row) int { return a.written - b.written })
	var out [][]byte
	for _, r := range rows {
		out = append(out, r.entry)
	}
	return out
}

// connect opens a socket: the shop answers the upgrade, the phone says hello.
func (p *phone) connect() {
	w := p.w
	p.drop()
	c := &conn{phone: p, phoneSide: true, shopEnd: true, epoch: w.store.Epoch()}
	c.shop = session.NewShop(w.view(p), w.now, c)
	w.conns = append(w.conns, c)
	p.conn, p.sess, p.later = c, session.NewPhone(p.id, p.clk), false
	p.apply(p.sess.Open(p.wall(), p.mono(), p.disk.heads(), p.disk.runs(), p.written(), p.outbox()))
}

func (d *disk) heads() []session.Moved {
	return slices.SortedFunc(maps.Values(d.cursors), func(a, b session.Moved) int { return a.Log.Compare(b.Log) })
}

func (d *disk) runs() (out []session.Run) {
	for _, s := range d.shelves {
		out = append(out, s.run)
	}
	return out
}

// lines are those of a run from an order on.
func (d *disk) lines(run session.Run, from uint64) (out []session.Line) {
	if run.Shelf == "" {
		for name, r := range d.rows {
			if name.Log == run.Log && r.receipt != nil {
				out = append(out, session.Line{Name: name, Order: r.order, Entry: r.entry, Receipt: r.receipt})
			}
		}
		slices.SortFunc(out, func(a, b session.Line) int { return cmp.Compare(a.Order, b.Order) })
	}
	for _, s := range d.shelves {
		if s.run.Shelf == run.Shelf {
			out = s.lines
		}
	}
	return slices.DeleteFunc(slices.Clone(out), func(l session.Line) bool { return l.Order < from })
}

// written lists what each of the phone's writers wrote in each logbook.
func (p *phone) written() []session.Written {
	var out []session.Written
	for _, id := range p.disk.writers {
		for _, l := range simLogs {
			w := session.Written{Log: l, Writer: id, Old: id != p.disk.writer}
			for name, r := range p.disk.rows {
				if name.Log != l || name.Ref.Writer != id || !r.mine {
					continue
				}
				w.Last = max(w.Last, name.Ref.Seq)
				if r.receipt != nil && name.Ref.Seq > w.Kept {
					w.Kept, w.KeptSum = name.Ref.Seq, logbook.Sum(r.entry)
				}
			}
			if w.Last > 0 {
				out = append(out, w)
			}
		}
	}
	return out
}

// write is a tap: one entry, on disk before anything is sent.
func (p *phone) write(l logbook.Log, n uint64, bad bool, strikes ...*row) {
	w := p.w
	a := &act{n: n, at: w.now, bad: bad}
	w.acts[n] = a
	kind := "tick"
	if bad {
		kind = "bad"
	}
	e := logbook.Entry{Log: l, Writer: p.disk.writer, Seq: p.nextSeq(p.disk.writer, l), At: p.clk.Stamp(p.wall(), p.mono()), Kind: kind,
		Body: cbor.AppendUint(cbor.AppendText(cbor.AppendMap(nil, 1), "n"), n)}
	for _, struck := range strikes {
		a.strikes = struck.n
		e.Strikes = append(e.Strikes, struck.name.Ref)
	}
	b := e.Append(nil)
	a.sums = append(a.sums, logbook.Sum(b))
	p.put(row{name: session.Name{Log: l, Ref: e.Ref()}, n: n, entry: b, mine: true, stamp: e.At})
	p.keepClock()
	if p.sess != nil {
		p.apply(p.sess.Send(p.wall(), p.mono(), b))
	}
}

func span(receipt []byte) clock.Moment {
	c, _ := logbook.DecodeReceipt(receipt)
	return clock.Moment{Earliest: c.Earliest, Latest: c.Latest}
}

func (p *phone) put(r row) {
	p.disk.count++
	r.written = p.disk.count
	p.disk.set(r.name, r)
}

func (p *phone) nextSeq(id logbook.ID, l logbook.Log) uint64 { return p.disk.last[seqOf{id, l}] + 1 }

// apply does what the session asks: the strict transaction, then the rest.
func (p *phone) apply(out session.Out) {
	w, d := p.w, p.disk
	if out.Epoch > 0 && out.Epoch != d.epoch && p.unkeep(out.Epoch) {
		p.drop() // the hello did not say so
		return
	}
	for _, l := range out.Lines {
		e, err := logbook.Decode(l.Entry)
		if err != nil {
			w.t.Fatalf("the session let %x through: %v", l.Entry, err)
		}
		if was, ok := d.rows[l.Name]; ok && !bytes.Equal(was.entry, l.Entry) {
			w.t.Fatalf("phone %s: a line of the shop overwrites another of the same name: mine %v, aside %v, receipt %x, order %d, new receipt %x %v", p.id, was.mine, was.aside, was.receipt, was.order, l.Receipt, w.saw)
		}
		n := cbor.NewReader(e.Body)
		n.Map()
		n.Text()
		r := row{name: l.Name, n: n.Uint(), entry: bytes.Clone(l.Entry), receipt: bytes.Clone(l.Receipt), order: l.Order, mine: slices.Contains(d.writers, l.Name.Ref.Writer)}
		w.onDisk(p.conn.epoch, l.Name, l.Entry)
		r.written = d.at(l.Name).written
		r.stamp, r.span = e.At, span(r.receipt)
		d.set(l.Name, r)
		if r.mine {
			w.acts[r.n].kept = true
		}
	}
	for _, k := range out.Kept {
		r := d.at(k.Name)
		if !r.mine {
			w.t.Fatalf("kept: phone %s has no line %v", p.id, k.Name)
		}
		r.receipt, r.order, r.aside, r.forked = bytes.Clone(k.Receipt), k.Order, false, false
		r.span = span(r.receipt)
		d.set(k.Name, r)
		w.acts[r.n].kept = true
		w.onDisk(p.conn.epoch, k.Name, r.entry)
	}
	for _, a := range out.Aside {
		r := d.at(a.Name)
		r.aside = true
		d.set(a.Name, r)
		w.saw["line set aside"]++
	}
	for _, f := range out.Forked {
		r := d.at(f)
		r.forked = r.receipt != nil
		d.set(f, r)
		w.saw["fork"]++
	}
	for _, m := range out.Moved {
		m.Signature = bytes.Clone(m.Signature)
		d.cursors[m.Log] = m
	}
	for _, l := range out.Rewound {
		w.saw["logbook rewound"]++
		d.count++
		run := session.Run{Moved: d.cursors[l]}
		lines := d.lines(run, 1)
		if n := int(run.Cursor.Order); n < len(lines) {
			lines = lines[:n] // what lies beyond is this phone's own, and goes to the outbox
		}
		run.Shelf, run.Taken = fmt.Sprint(d.count), out.Epoch
		d.shelves = append(d.shelves, shelf{run, lines})
		delete(d.cursors, l)
		for name, r := range d.rows {
			switch {
			case name.Log != l || r.receipt == nil:
			case r.mine:
				own := *r
				own.receipt, own.order, own.forked = nil, 0, false
				d.set(name, own)
			default:
				delete(d.rows, name)
			}
		}
	}
	for _, taken := range out.Taken {
		w.saw["shelf brought back"]++
		for i := range d.shelves {
			if d.shelves[i].run.Shelf == taken.Shelf {
				d.shelves[i].run.Taken = out.Epoch
			}
		}
	}
	if out.Unshelve {
		w.saw["shelves cleared"]++
		d.shelves = nil
	}
	if out.Contact {
		p.keepClock()
	}
	if out.Later != "" {
		w.saw["told to come later"]++
		p.later = true
	}
	if p.conn != nil {
		p.conn.up = append(p.conn.up, out.Frames...)
	}
	if out.Bring != nil {
		var lines []session.Line
		if !w.brk.keepRuns {
			lines = d.lines(*out.Bring, out.From)
		}
		p.apply(p.sess.Bring(lines))
	}
	for _, m := range out.Resend {
		w.saw["gap filled"]++
		var rows []*row
		for name, r := range d.rows {
			if r.mine && name.Log == m.Log && name.Ref.Writer == m.Writer && name.Ref.Seq >= m.From {
				rows = append(rows, r)
			}
		}
		slices.SortFunc(rows, func(a, b *row) int { return int(a.name.Ref.Seq) - int(b.name.Ref.Seq) })
		if len(rows) == 0 || rows[0].name.Ref.Seq != m.From {
			w.saw["gap that cannot be filled"]++
			if m.Writer != d.writer {
				continue // given up before: what is left of it was set aside
			}
			p.renew()
			return
		}
		var again [][]byte
		for _, r := range rows {
			again = append(again, r.entry)
		}
		if p.sess != nil {
			p.apply(p.sess.Send(p.wall(), p.mono(), again...))
		}
	}
	if out.NewWriter {
		w.saw["new writer"]++
		p.renew()
	}
	if out.Closed != "" {
		p.drop()
	}
}

// unkeep takes the receipts off own lines that lie beyond the copies, since the
// shop's store is another one now, and says whether there were any.
func (p *phone) unkeep(epoch uint64) (any bool) {
	d := p.disk
	d.epoch = epoch
	for name, r := range d.rows {
		if r.mine && r.receipt != nil && r.order > d.cursors[name.Log].Cursor.Order {
			own := *r
			own.receipt, own.order, own.forked = nil, 0, false
			d.set(name, own)
			p.w.saw["line ahead of a copy unkept"]++
			any = true
		}
	}
	return any
}

// renew writes the outbox again under a new writer and drops the socket.
func (p *phone) renew() {
	d := p.disk
	p.writers++
	id := logbook.Named(p.id.String() + " writer " + string(rune('0'+p.writers)))
	old := p.outbox()
	again, err := logbook.Rewrite(old, id, func(l logbook.Log) uint64 { return p.nextSeq(id, l) })
	if err != nil {
		p.w.t.Fatalf("rewrite: %v", err)
	}
	for i, b := range old {
		was, _ := logbook.Decode(b)
		is, _ := logbook.Decode(again[i])
		name := session.Name{Log: was.Log, Ref: was.Ref()}
		r := d.at(name)
		if delete(d.rows, name); r.forked {
			left := r // of a copy that may go back to the shop; its act goes on under the new name
			left.forked, left.mine = false, false
			d.set(name, left)
			r.forked, r.receipt, r.order = false, nil, 0
		}
		r.name, r.entry = session.Name{Log: is.Log, Ref: is.Ref()}, again[i]
		p.w.acts[r.n].sums = append(p.w.acts[r.n].sums, logbook.Sum(again[i]))
		p.put(r)
	}
	d.writer, d.writers = id, append(d.writers, id)
	p.drop()
}

// --- the shop ---

// view is the store as a session reads it, broken if a test asks for it.
func (w *world) view(p *phone) session.Store {
	switch {
	case w.brk.staleCursor:
		return staleStore{w.store, p}
	case w.brk.anySignature:
		return credulousStore{w.store}
	}
	return w.store
}

// credulousStore takes any head for one that it signed.
type credulousStore struct{ *memstore.Store }

func (credulousStore) Signed(logbook.Log, logbook.Cursor, []byte) bool { return true }

// staleStore believes every cursor of the phone that asks.
type staleStore struct {
	*memstore.Store
	p *phone
}

func (s staleStore) Chain(l logbook.Log, order uint64) (uint64, logbook.Hash, bool, error) {
	if c := s.p.disk.cursors[l].Cursor; c.Order == order && order > 0 {
		return c.Epoch, c.Hash, true, nil
	}
	return s.Store.Chain(l, order)
}

func policy(s *judge.Submission) string {
	if s.Entry.Kind == "bad" {
		return "a bad line"
	}
	return ""
}

// room parts the lines for which there is room from those that are to come
// later: while the disk is full all, while a shelf is full those that would be
// set aside, with what the phone wrote behind them.
func (w *world) room(queue []queued) (fit, waits []queued) {
	behind := map[*conn]map[seqOf]bool{}
	for _, q := range queue {
		e := &q.sub.Entry
		of := seqOf{e.Writer, e.Log}
		switch {
		case w.now < w.diskFull:
			w.saw["no room on the disk"]++
		case w.now < w.shelfFull && q.sub.Back == nil && (e.Kind == "bad" || behind[q.conn][of]):
			w.saw["no room on the shelf"]++
			if behind[q.conn] == nil {
				behind[q.conn] = map[seqOf]bool{}
			}
			behind[q.conn][of] = true
		default:
			fit = append(fit, q)
			continue
		}
		waits = append(waits, q)
	}
	return fit, waits
}

// gather writes what waits; the answers go out with settle, after the sync.
func (w *world) gather() func() {
	from, waits := w.room(w.queue)
	batch := make([]judge.Submission, len(from))
	w.queue = nil
	for i, q := range from {
		batch[i] = q.sub
		if w.brk.anyFork {
			batch[i].Forks = nil
		}
	}
	verdicts, err := w.store.Write(batch, policy)
	if err != nil {
		w.t.Fatalf("judge: %v", err)
	}
	for i := range verdicts {
		if v, e := &verdicts[i], &batch[i].Entry; v.What == judge.Aside && v.Code.Named() && e.Seq > 0 {
			w.named[session.Name{Log: e.Log, Ref: e.Ref()}] = true
		}
	}
	return func() {
		for _, q := range waits {
			if c := q.conn; !c.shopEnd || w.brk.loseLater {
				continue
			} else if !c.shop.Later([]judge.Submission{q.sub}, "no room", 20_000) {
				w.saw["goodbye for want of room"]++
				c.down = append(c.down, session.Bye("no room", 20_000))
				c.shopEnd = false
			}
		}
		poked := map[logbook.Log]bool{}
		for i := range verdicts {
			if c := from[i].conn; c.shopEnd {
				c.shop.Settle(&batch[i], &verdicts[i])
			}
			e := &batch[i].Entry
			switch v := &verdicts[i]; {
			case v.Fresh && v.What == judge.Kept:
				poked[e.Log] = true
				if batch[i].Back != nil {
					w.saw["line brought back"]++
				}
			case batch[i].Back != nil && v.What == judge.Kept:
				w.saw["line brought back that was there"]++
			case v.Code == judge.Proof:
				w.saw["line without proof set aside"]++
			case batch[i].Back != nil:
				w.saw["line brought back to a name that is taken"]++
			}
		}
		for _, l := range simLogs {
			if poked[l] {
				for _, c := range w.conns {
					if c.shopEnd {
						c.shop.Poke(l)
					}
				}
			}
		}
	}
}

// crashShop loses power: the sessions, the queue, and what was not synced.
func (w *world) crashShop() {
	for _, c := range w.conns {
		c.shopEnd = false
		c.cut = true
	}
	w.queue = nil
	if w.store.Crash() > 0 {
		w.saw["shop crash before fsync"]++
	} else {
		w.saw["shop crash after fsync"]++
	}
}

// pump moves frames out of the shop's sessions.
func (w *world) pump(c *conn) {
	for c.shopEnd {
		f, ok, err := c.shop.Next(w.now)
		if err != nil {
			w.t.Fatalf("next: %v", err)
		}
		if !ok {
			return
		}
		if !c.cut {
			c.down = append(c.down, f)
		}
	}
}

// onDisk checks that a line that was kept or passed on is synced at the shop at this moment.
func (w *world) onDisk(epoch uint64, name session.Name, entry []byte) {
	if w.store.Epoch() != epoch {
		return // a backup came back meanwhile; the line returns with its phone
	}
	v, _ := w.store.Find(name.Log, name.Ref)
	if v.What != judge.Kept || v.Sum != logbook.Sum(entry) {
		w.t.Fatalf("a phone has word of %v, which is not on the shop's disk", name)
	}
}
