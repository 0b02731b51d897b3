package session_test

import (
	"bytes"
	"maps"
	"slices"

	"bayhold/sync/cbor"
	"bayhold/sync/clock"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
	"bayhold/sync/session/memstore"
)

// schedule is one run of the world; draw answers a number below n.
type schedule struct {
	*world
	draw  func(n int) int
	wrote int
	phone []*phone
	tame  bool // no more faults
	bak   int

	// Which stores are lost in this schedule: none, the shop's (a backup comes
	// back), phones' (older copies come back), or both.
	shopLoses, phonesLose bool
}

func newSchedule(t failer, draw func(int) int, phones int, brk breakage) *schedule {
	w := &world{t: t, now: 1_772_600_000_000, store: memstore.New(), acts: map[uint64]*act{}, saw: map[string]int{}, named: map[session.Name]bool{}, brk: brk}
	s := &schedule{world: w, draw: draw}
	stores := s.draw(4)
	s.shopLoses, s.phonesLose = stores&1 != 0, stores&2 != 0
	for i := range phones {
		id := logbook.Named("phone " + string(rune('A'+i)))
		p := &phone{w: w, id: id, since: w.now, since2: w.now, disk: newDisk(id)}
		p.wallBase = w.now
		if off := s.draw(17) - 8; off != 0 {
			p.wallBase += int64(off) * 3600_000
			w.saw["clock hours off"]++
		}
		if p.wallPPM, p.monoPPM = int64(s.draw(401)-200), int64(s.draw(401)-200); p.wallPPM|p.monoPPM != 0 {
			w.saw["clock that drifts"]++
		}
		s.phone = append(s.phone, p)
		p.start()
	}
	return s
}

// run writes count entries on each phone among faults, comes to rest, and
// checks.
func (s *schedule) run(count int) {
	left := make([]int, len(s.phone))
	for i := range left {
		left[i] = count
	}
	for step := 0; slices.Max(left) > 0; step++ {
		if step > 100*count*len(s.phone) {
			s.t.Fatalf("the schedule does not end")
		}
		i := s.draw(len(s.phone))
		s.step(i, left)
		if step%16 == 0 {
			s.checkTime()
		}
	}
	s.checkTime()
	s.rest()
	s.checkTime()
	s.checkCopies()
}

func (s *schedule) step(i int, left []int) {
	p := s.phone[i]
	s.now += int64(s.draw(200))
	if p.dead {
		left[i] = 0
		return
	}
	switch k := s.draw(1000); {
	case k < 330:
		if p.open && !p.asleep && left[i] > 0 {
			left[i]--
			s.wrote++
			l := simLogs[s.draw(len(simLogs))]
			p.write(l, uint64(s.wrote), s.draw(50) == 0, s.strike(p, l)...)
		}
	case k < 800:
		s.move(p)
	case k < 840:
		s.connectIfAway(p)
	case k < 880:
		s.writer()
	case k < 900:
		s.cut(p)
	case k < 925:
		s.sleep(p)
	case k < 945:
		s.reopen(p)
	case k < 955:
		s.stepClock(p)
	case k < 965:
		s.now += int64(s.draw(20_000)) // a while
	case k < 968:
		s.now += int64(s.draw(4 * 3600_000)) // a night
	case k < 985:
		s.tick()
	case k < 990:
		s.crashShop()
	case k < 992:
		if s.bak > 0 || s.draw(2) == 0 {
			s.bak = s.store.Backup()
		}
	case k < 993:
		s.restore()
	case k < 995:
		s.remember(p)
	case k < 997:
		s.comeBack(p)
	case k < 998:
		s.forge(p)
	case k < 999:
		s.die(p)
	case s.draw(2) == 0:
		s.shelfFull = s.now + int64(s.draw(120_000))
	default:
		s.diskFull = s.now + int64(s.draw(5_000))
	}
}

// strike picks a line that the phone shows, to be taken back, now and then.
func (s *schedule) strike(p *phone, l logbook.Log) []*row {
	if s.draw(6) > 0 {
		return nil
	}
	var rows []*row
	for name, r := range p.disk.rows {
		if name.Log == l && !r.aside {
			rows = append(rows, r)
		}
	}
	if len(rows) == 0 {
		return nil
	}
	slices.SortFunc(rows, func(a, b *row) int { return a.name.Compare(b.name) })
	s.saw["line taken back"]++
	return rows[len(rows)-1-s.draw(min(len(rows), 20)):][:1]
}

// --- the wire ---

// move delivers some frames, now and then one twice or out of turn.
func (s *schedule) move(p *phone) {
	c := p.conn
	if c == nil || p.asleep {
		return
	}
	for n := s.draw(6); n >= 0; n-- {
		if s.draw(2) == 0 {
			s.deliverUp(c)
		} else {
			s.deliverDown(c)
		}
	}
}

// take takes the next frame of a wire, tampering with it on occasion: a
// websocket would not, but a session must refuse or survive it.
func (s *schedule) take(wire *[]session.Frame) (session.Frame, bool) {
	q := *wire
	if len(q) == 0 {
		return session.Frame{}, false
	}
	f := q[0]
	switch k := s.draw(300); {
	case s.tame:
		*wire = q[1:]
	case k == 0:
		s.saw["frame twice"]++ // stays in front
	case k == 1 && len(q) > 1:
		s.saw["frames out of order"]++
		f = q[1]
		*wire = slices.Delete(slices.Clone(q), 1, 2)
	default:
		*wire = q[1:]
	}
	return f, true
}

func (s *schedule) deliverUp(c *conn) {
	f, ok := s.take(&c.up)
	if !ok || !c.shopEnd {
		return
	}
	subs, err := c.shop.Frame(f.Bytes, s.now)
	if err != nil {
		s.saw["frame refused by the shop"]++
		c.down = append(c.down, session.Bye(err.Error(), 0))
		c.shopEnd = false
		return
	}
	for _, sub := range subs {
		if s.brk.trustWall {
			at := min(max(0, sub.Entry.At.Wall+sub.Entry.At.Offset), sub.Arrived)
			sub.Earliest, sub.Latest = at, at
		}
		s.queue = append(s.queue, queued{sub, c})
	}
	s.pump(c)
}

func (s *schedule) deliverDown(c *conn) {
	s.pump(c)
	f, ok := s.take(&c.down)
	p := c.phone
	if !ok || !c.phoneSide || !p.open {
		return
	}
	out, err := p.sess.Frame(f.Bytes, p.wall(), p.mono())
	if err != nil {
		s.saw["frame refused by the phone"]++
		p.drop()
		return
	}
	if !s.tame && s.draw(200) == 0 {
		s.saw["phone crash before its store"]++
		p.crash()
		return
	}
	p.apply(out)
	if !s.tame && s.draw(200) == 0 {
		s.saw["phone crash after its store"]++
		p.crash()
	}
}

// cut ends a connection: each way a suffix of what is under way is lost, the
// phone learns of it now, the shop at its own pace.
func (s *schedule) cut(p *phone) {
	c := p.conn
	if c == nil {
		return
	}
	lose := func(q []session.Frame, what string) []session.Frame {
		n := s.draw(len(q) + 1)
		if n < len(q) {
			s.saw[what]++
		}
		return q[:n]
	}
	c.up, c.down = lose(c.up, "frames to the shop lost"), lose(c.down, "frames to the phone lost")
	c.cut = true
	for len(c.down) > 0 && c.phoneSide && !p.asleep {
		s.deliverDown(c)
	}
	c.down = nil
	p.drop()
	for len(c.up) > 0 && c.shopEnd {
		s.deliverUp(c)
	}
	if s.draw(2) == 0 {
		c.shopEnd = false
	} else {
		s.saw["half-open socket"]++
	}
}

func (s *schedule) connectIfAway(p *phone) {
	if p.open && !p.asleep && p.conn == nil {
		s.conns = slices.DeleteFunc(s.conns, func(c *conn) bool { return !c.shopEnd && !c.phoneSide })
		p.connect()
	}
}

// tick is the timers of both ends.
func (s *schedule) tick() {
	for _, p := range s.phone {
		if p.open && !p.asleep {
			if p.sess != nil {
				out := p.sess.Tick(p.wall(), p.mono())
				if len(out.Resend) > 0 {
					s.saw["sent again later"]++
					p.later = false
				}
				p.apply(out)
			}
			p.keepClock()
		}
	}
	for _, c := range s.conns {
		if c.shopEnd && c.shop.Silent(s.now) {
			s.saw["silent socket closed"]++
			c.shopEnd = false
		}
	}
}

// --- the shop ---

func (s *schedule) writer() {
	if len(s.queue) == 0 {
		return
	}
	answer := s.gather()
	if s.brk.ackBeforeSync {
		answer()
		for _, c := range s.conns {
			s.pump(c)
		}
	}
	for _, c := range s.conns { // a poke too early must show nothing
		for _, l := range simLogs {
			c.shop.Poke(l)
		}
		s.pump(c)
	}
	if !s.tame && s.draw(15) == 0 {
		s.crashShop()
		return
	}
	s.store.Sync()
	if !s.tame && s.draw(15) == 0 {
		s.saw["shop crash between fsync and answer"]++
		s.crashShop()
		return
	}
	if !s.brk.ackBeforeSync {
		answer()
	}
	for _, c := range s.conns {
		s.pump(c)
	}
}

// restore brings an old backup back, under a new epoch.
func (s *schedule) restore() {
	if !s.shopLoses {
		return
	}
	if s.bak == 0 || s.bak > s.store.Backup() {
		return
	}
	s.crashShop()
	if s.bak < s.store.Backup() {
		s.saw["backup restored"]++
	}
	s.store.Restore(s.bak)
	s.bak = 0
	s.checkGone()
}

// --- phones ---

// A step backwards that the phone cannot see is out of scope: it is the wall
// clock set back by less than the time it was not looked at, while the page
// was closed or the monotonic clock stood still. The margin is the slack that
// coarse clocks need.
const margin = 1000

// stepClock sets the clock of a phone that is awake; one that sleeps or is
// closed is set when it wakes, in sleep and reopen.
func (s *schedule) stepClock(p *phone) {
	if !p.open || p.asleep {
		return
	}
	s.stepBy(p, 0)
}

// stepBy sets the clock forwards, or backwards by more than unseen ms.
func (s *schedule) stepBy(p *phone, unseen int64) {
	by := int64(1+s.draw(3600)) * []int64{10, 1000, 3000}[s.draw(3)]
	if s.draw(2) == 0 {
		s.saw["clock set forwards"]++
	} else {
		s.saw["clock set back"]++
		by = -by - unseen - unseen/1000 - margin
	}
	p.setWall(by)
	if p.clk != nil {
		p.keepClock() // the page looks at least once before the clock is set again
	}
}

func (s *schedule) sleep(p *phone) {
	if !p.open {
		return
	}
	if !p.asleep {
		p.keepClock()
		p.awake += s.now - p.since2
		p.asleep, p.sleptAt = true, s.now
		return
	}
	s.wake(p)
}

func (s *schedule) wake(p *phone) {
	s.saw["monotonic clock stood still"]++
	p.asleep, p.since2 = false, s.now
	if !s.tame && s.draw(4) == 0 {
		s.stepBy(p, s.now-p.sleptAt)
	}
	p.keepClock() // a page that comes back looks at the clocks first
	if p.sess != nil {
		p.apply(p.sess.Probe(p.wall(), p.mono()))
	}
}

// reopen closes the page without a word, or opens it again.
func (s *schedule) reopen(p *phone) {
	if p.open {
		if p.asleep && s.draw(2) == 0 {
			return
		}
		if !p.asleep {
			p.keepClock() // at most a moment of the clock's state is lost, see margin
		}
		s.saw["page closed"]++
		p.crash()
		return
	}
	s.open(p)
}

func (s *schedule) open(p *phone) {
	if !s.tame && s.draw(4) == 0 {
		s.stepBy(p, s.now-p.keptAt)
	}
	p.start()
}

// remember copies a phone's store; comeBack puts the copy in place, as a
// restored or cloned phone has it. Lines that only the newer store had are
// gone with it.
func (s *schedule) remember(p *phone) { p.old, p.oldSteps = p.disk.clone(), p.steps }

func (s *schedule) comeBack(p *phone) {
	if !s.phonesLose || p.old == nil || p.steps != p.oldSteps {
		return // what it knew of its clock would be forgotten: out of scope
	}
	p.crash()
	had := map[uint64]session.Name{}
	for name, r := range p.old.rows {
		had[r.n] = name
	}
	for name, r := range p.disk.rows {
		if before, has := had[r.n]; r.mine && has && before != name {
			s.acts[r.n].twice = true
		}
	}
	s.saw["old store came back"]++
	p.disk, p.old = p.old, nil
	s.checkGone()
	p.start()
}

// die loses a phone for good, with all that it has.
func (s *schedule) die(p *phone) {
	living := 0
	for _, q := range s.phone {
		if !q.dead {
			living++
		}
	}
	if !s.shopLoses || living < 3 {
		return
	}
	s.saw["phone lost for good"]++
	p.crash()
	p.dead, p.disk = true, newDisk(p.id)
	s.checkGone()
}

// checkGone marks the acts that no disk holds any more: those may be missing in
// the end. A phone holds what it wrote, and what others wrote as far as its
// cursors and shelves prove it.
func (s *schedule) checkGone() {
	held := map[uint64]bool{}
	for _, l := range simLogs {
		lines, _ := s.store.After(l, 0, 1<<30, 1<<30)
		for _, line := range lines {
			e, _ := logbook.Decode(line.Entry)
			held[number(e)] = true
		}
	}
	for _, p := range s.phone {
		for _, r := range p.disk.rows {
			held[r.n] = true
		}
		for _, shelf := range p.disk.shelves {
			for _, l := range shelf.lines {
				e, _ := logbook.Decode(l.Entry)
				held[number(e)] = true
			}
		}
	}
	for n, a := range s.acts {
		if !held[n] && !a.gone {
			a.gone = true
			s.saw["act lost with every disk that had it"]++
		}
	}
}

// isAside says whether the act stands outside every logbook: at the shop or, where
// the shop lost that with its store, on a phone that was told so and keeps it.
func (s *schedule) isAside(a *act) bool {
	for _, sum := range a.sums {
		if s.store.IsAside(sum) {
			return true
		}
	}
	for _, p := range s.phone {
		for _, r := range p.disk.rows {
			if s.shopLoses && r.n == a.n && r.aside {
				s.saw["set aside on a phone alone"]++
				return true
			}
		}
	}
	return false
}

// forge brings the shop a run that a phone has, with a line altered behind an
// honest proof, or behind a proof with the altered line's hash in it, or with a
// line of the forger's at its end, the chain made anew over it and the signature
// kept.
func (s *schedule) forge(p *phone) {
	l := simLogs[s.draw(len(simLogs))]
	run := session.Run{Moved: p.disk.cursors[l]}
	lines := p.disk.lines(run, 1)[:run.Cursor.Order]
	if len(lines) == 0 || !s.shopLoses {
		return
	}
	last := lines[len(lines)-1]
	at := s.draw(len(lines))
	body := cbor.AppendUint(cbor.AppendText(cbor.AppendMap(nil, 1), "n"), forged)
	altered := slices.Clone(lines)
	var was, is logbook.Hash // to be changed in the proof
	if kind := s.draw(3); kind > 0 {
		e, _ := logbook.Decode(lines[at].Entry)
		e.Body = body
		altered[at].Entry = e.Append(nil)
		if kind == 2 {
			was, is = logbook.Sum(lines[at].Entry), logbook.Sum(altered[at].Entry)
		}
	} else {
		c, _ := logbook.DecodeReceipt(last.Receipt)
		c.Order++
		e, _ := logbook.Decode(last.Entry)
		e.Writer, e.Seq, e.Strikes, e.Origin, e.Body = logbook.Named("stranger"), 1, nil, logbook.Origin{}, body
		altered = append(altered, session.Line{Order: c.Order, Entry: e.Append(nil), Receipt: c.Append(nil)})
		run.Cursor.Order, run.Cursor.Hash = c.Order, logbook.Next(run.Cursor.Hash, c.Append(nil), e.Append(nil))
		lines = altered
	}
	conn := &conn{phone: p, shopEnd: true}
	conn.shop = session.NewShop(s.view(p), s.now, conn)
	stranger := session.NewPhone(logbook.Named("stranger"), clock.NewPhone(1, s.now, 0))
	out := stranger.Open(s.now, 0, []session.Moved{run.Moved}, nil, nil, nil)
	for {
		for _, f := range out.Frames {
			subs, err := conn.shop.Frame(bytes.Replace(f.Bytes, was[:], is[:], 1), s.now)
			if err != nil {
				s.t.Fatalf("a forged run is refused as a frame: %v", err)
			}
			for _, sub := range subs {
				s.queue = append(s.queue, queued{sub, conn})
			}
		}
		if len(s.queue) > 0 {
			answer := s.gather()
			s.store.Sync()
			answer()
		}
		if out.Bring != nil {
			out = stranger.Bring(lines[out.From-1:])
			lines = altered // behind the proof
			continue
		}
		f, ok, err := conn.shop.Next(s.now)
		if err != nil {
			s.t.Fatalf("next: %v", err)
		}
		if !ok {
			break
		}
		if out, err = stranger.Frame(f.Bytes, s.now, 1); err != nil {
			s.t.Fatalf("a forger: %v", err)
		}
	}
	s.saw["forged run"]++
}

// forged is the number of an act that nobody did.
const forged = 1 << 40

// rest lets everything arrive, and gives time to what was to come later. Now and
// then there is room again only while it lasts.
func (s *schedule) rest() {
	s.tame = true
	s.shelfFull, s.diskFull = s.now+int64(s.draw(2)*60_000), s.now+int64(s.draw(2)*200)
	for round := 0; ; round++ {
		if round > 2000 {
			s.t.Fatalf("no rest: %d lines wait at the writer", len(s.queue))
		}
		busy := len(s.queue) > 0
		for _, p := range s.phone {
			switch {
			case p.dead:
			case !p.open:
				s.open(p)
				busy = true
			case p.asleep:
				s.wake(p)
				busy = true
			case p.conn == nil:
				s.connectIfAway(p)
				busy = true
			default:
				for c := p.conn; p.conn == c && len(c.up) > 0; busy = true {
					s.deliverUp(c)
				}
				s.pump(p.conn)
				for c := p.conn; p.conn == c && len(c.down) > 0; busy = true {
					s.deliverDown(c)
				}
				if p.conn != nil && !p.conn.shopEnd && len(p.conn.down) == 0 {
					p.drop() // the phone would find out by silence
					busy = true
				}
			}
		}
		s.writer()
		s.now += 10
		if busy {
			continue
		}
		if !slices.ContainsFunc(s.phone, func(p *phone) bool { return !p.dead && (p.later || len(p.outbox()) > 0) }) {
			return
		}
		s.now += 5000
		s.tick()
	}
}

// --- invariants ---

// checkTime asserts both time properties on every copy for every duration and
// shelf life at once: what Now.Earliest adds to an act's latest is never more
// than the time that truly passed, and what Now.Latest adds to its earliest
// never less.
func (s *schedule) checkTime() {
	check := func(who logbook.ID, n uint64, now, at clock.Moment) {
		a := s.acts[n]
		if a == nil {
			s.t.Fatalf("phone %s has a line that nobody wrote", who)
		}
		passed := s.now - a.at
		counted, age := now.Earliest-at.Latest, now.Latest-at.Earliest
		if counted > passed && counted > 0 {
			s.t.Fatalf("phone %s: a gate with %d ms opens after %d ms: now %v, act %v, truly %d and %d", who, counted, passed, now, at, s.now, a.at)
		}
		if age < passed {
			s.t.Fatalf("phone %s: a claim of %d ms is taken for %d ms old: now %v, act %v, truly %d and %d", who, passed, age, now, at, s.now, a.at)
		}
		if counted >= 10*60_000 {
			s.saw["gate of ten minutes open"]++
		}
		if age < 15*60_000 {
			s.saw["claim of 15 minutes fresh"]++
		}
	}
	for _, p := range s.phone {
		if !p.open || p.asleep {
			continue
		}
		now := p.clk.Now(p.wall(), p.mono())
		p.keepClock()
		for _, r := range p.disk.rows {
			if r.aside {
				continue
			}
			at := r.span
			if r.receipt == nil {
				at = p.clk.Span(r.stamp)
			}
			check(p.id, r.n, now, at)
		}
	}
}

// checkCopies asserts at rest that nothing was lost, nothing is there twice,
// and all copies are the same bytes.
func (s *schedule) checkCopies() {
	inStore := map[uint64]int{}
	for _, l := range simLogs {
		lines, _ := s.store.After(l, 0, 1<<30, 1<<30)
		chain := logbook.Genesis(l)
		seqs := map[logbook.ID]uint64{}
		byName := map[logbook.Ref]logbook.Entry{}
		for _, line := range lines {
			e, _ := logbook.Decode(line.Entry)
			byName[e.Ref()] = e
		}
		var epoch uint64
		for i, line := range lines {
			e, err := logbook.Decode(line.Entry)
			if err != nil || e.Log != l {
				s.t.Fatalf("the store has %x: %v", line.Entry, err)
			}
			c, err := logbook.DecodeReceipt(line.Receipt)
			if err != nil || c.Order != uint64(i+1) || c.Epoch < epoch {
				s.t.Fatalf("receipt %d of the store: %+v, %v", i+1, c, err)
			}
			epoch = c.Epoch
			if e.Seq <= seqs[e.Writer] {
				s.t.Fatalf("seq %d of a writer stands behind its %d", e.Seq, seqs[e.Writer])
			}
			for seq := seqs[e.Writer] + 1; seq < e.Seq; seq++ {
				if !s.named[session.Name{Log: l, Ref: logbook.Ref{Writer: e.Writer, Seq: seq}}] {
					s.t.Fatalf("seq %d of a writer is missing before %d: %+v, act %d, shop loses %v, phones lose %v", seq, e.Seq, c, number(e), s.shopLoses, s.phonesLose)
				}
			}
			seqs[e.Writer] = e.Seq
			chain = logbook.Next(chain, line.Receipt, line.Entry)
			if _, want, ok, _ := s.store.Chain(l, c.Order); !ok || want != chain {
				s.t.Fatalf("the store's chain breaks at %d", c.Order)
			}
			n := number(e)
			inStore[n]++
			if n == forged {
				s.t.Fatalf("a line that nobody wrote is in the store")
			}
			for _, ref := range e.Strikes {
				struck, ok := byName[ref]
				if ok && number(struck) != s.acts[n].strikes {
					s.t.Fatalf("act %d takes back act %d, not %d as it was meant to", n, number(struck), s.acts[n].strikes)
				}
			}
		}
		for _, p := range s.phone {
			if !p.dead {
				s.checkCopy(p, l, lines, chain)
			}
		}
	}
	for _, n := range slices.Sorted(maps.Keys(s.acts)) {
		a := s.acts[n]
		switch count := inStore[n]; {
		case count > 1 && a.twice:
			// The phone no longer knows that it wrote the line again, and does
			// so a second time. Both stand in the logbook; see the package
			// comment.
			s.saw["line written again twice"]++
		case count > 1:
			s.t.Fatalf("act %d is in the store %d times", n, count)
		case a.bad && count > 0:
			s.t.Fatalf("act %d was refused and is in the store", n)
		case !a.bad && count == 0 && !a.gone:
			if !s.phonesLose || !s.isAside(a) {
				s.t.Fatalf("act %d is not in the store (kept was said: %v, shop loses %v, phones lose %v)", n, a.kept, s.shopLoses, s.phonesLose)
			}
			s.saw["act set aside by a fork"]++
		case count == 0 && a.gone && a.kept && !s.shopLoses:
			s.t.Fatalf("act %d was kept and is gone", n)
		}
	}
	for _, p := range s.phone {
		if p.dead {
			continue
		}
		if n := len(p.outbox()); n > 0 {
			s.t.Fatalf("phone %s: %d lines wait at rest", p.id, n)
		}
		if p.sess == nil || !p.sess.Caught() {
			s.t.Fatalf("phone %s does not know that it has everything", p.id)
		}
	}
}

func (s *schedule) checkCopy(p *phone, l logbook.Log, lines []session.Stored, chain logbook.Hash) {
	have := map[uint64]*row{}
	for name, r := range p.disk.rows {
		if name.Log != l || r.receipt == nil {
			continue
		}
		if have[r.order] != nil {
			s.t.Fatalf("phone %s has two lines %d", p.id, r.order)
		}
		have[r.order] = r
	}
	if len(have) != len(lines) {
		s.t.Fatalf("phone %s has %d lines of %c, the store %d", p.id, len(have), l.Class, len(lines))
	}
	for _, line := range lines {
		r := have[line.Order]
		if r == nil || string(r.entry) != string(line.Entry) || string(r.receipt) != string(line.Receipt) {
			s.t.Fatalf("phone %s: line %d of %c differs from the store's", p.id, line.Order, l.Class)
		}
	}
	if len(lines) > 0 && p.disk.cursors[l].Cursor.Hash != chain {
		s.t.Fatalf("phone %s: the chain of %c does not end as the store's", p.id, l.Class)
	}
}
