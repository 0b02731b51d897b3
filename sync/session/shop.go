package session

import (
	"errors"

	"bayhold/sync/cbor"
	"bayhold/sync/clock"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// silence is how long the shop waits for a frame, in ms: two heartbeats and
// some.
const silence = 45000

// Shop is the shop's end of one connection. It holds no lines, only how far
// the phone has come: what is to be sent stands in the store. One goroutine
// owns it, or a lock.
type Shop struct {
	store    Store
	tag      any
	forks    judge.Forks
	upgraded int64
	heardAt  int64

	met    bool // hello came
	old    bool // of a phone of an older protocol: it gets no lines
	first  bool // and of protocol 1
	defers bool // it can be told later
	device logbook.ID
	life   uint64
	closed map[logbook.ID]bool // writers of the phone that went on elsewhere

	lost     map[logbook.Log]bool // logbooks of which the phone has another history
	whole    map[logbook.Log]bool // and of these, the ones that have come back
	returned map[logbook.Log]*comeback
	flying   map[Name]logbook.Hash // submitted by this session, not settled
	asked    map[writer]uint64     // gaps that were asked for
	later    map[writer]uint64     // from which seq on lines were told to come later
	yours    map[place]bool        // lines the phone has by their receipt alone
	queue    []answer
	receipts []Receipt // kept, not yet in a frame
	ready    *Frame    // a batch that waits for receipts to go first

	pos    map[logbook.Log]*position
	due    []logbook.Log // may have lines behind the position
	caught bool          // said so
}

// position is how far one logbook was sent.
type position struct {
	order uint64
	base  bool // the phone has nothing yet: say the hash that it begins at
	due   bool
}

type writer struct {
	log logbook.Log
	id  logbook.ID
}

// answer makes a small frame at the moment it is sent.
type answer func(now int64) []byte

// NewShop is the end of a connection whose upgrade was answered at server
// time now. tag comes back in every Submission.
func NewShop(store Store, now int64, tag any) *Shop {
	return &Shop{store: store, tag: tag, forks: judge.Forks{}, upgraded: now, heardAt: now, flying: map[Name]logbook.Hash{},
		lost: map[logbook.Log]bool{}, whole: map[logbook.Log]bool{}, returned: map[logbook.Log]*comeback{}, asked: map[writer]uint64{}, later: map[writer]uint64{}, yours: map[place]bool{}, pos: map[logbook.Log]*position{}}
}

// Device is who said hello; zero before.
func (s *Shop) Device() logbook.ID { return s.device }

// Silent says whether nothing was heard for so long that the socket is dead.
func (s *Shop) Silent(now int64) bool { return now-s.heardAt > silence }

// Bye is the frame that ends a connection with a sentence, and with a wait in
// ms if the phone is to come back later.
func Bye(why string, retryMs int64) Frame {
	return Frame{Bytes: cbor.AppendInt(cbor.AppendText(head(bye, 2), why), max(0, retryMs))}
}

// Frame takes one frame of the phone that arrived at server time now, and
// answers the lines to hand to the one writer, in order. An error means that
// the frame was refused and changed nothing: send Bye with it and close.
func (s *Shop) Frame(frame []byte, now int64) ([]judge.Submission, error) {
	r := new(cbor.Reader)
	kind, n := open(r, frame)
	if r.Err() != nil {
		return nil, refused(r, "frame")
	}
	if len(s.queue) > maxQueued {
		return nil, errors.New("session: the phone does not read its answers")
	}
	if (kind == hello) == s.met {
		return nil, errors.New("session: a phone says hello first, and once")
	}
	var subs []judge.Submission
	var err error
	switch kind {
	case hello:
		err = s.hello(r, n, now)
	case lines:
		subs, err = s.lines(r, n, now)
	case beat:
		err = s.beat(r, n, now)
	case proof:
		err = s.proof(r, n)
	case bring:
		subs, err = s.bring(r, n, now)
	default:
		err = errors.New("session: a frame of a kind that this version does not know")
	}
	if err == nil {
		s.heardAt = now
	}
	return subs, err
}

func (s *Shop) hello(r *cbor.Reader, n int, now int64) error {
	version := r.Uint()
	if r.Err() == nil && (version < oldest || version > Protocol) {
		return errors.New("this phone's app and the shop do not speak the same version: " + update)
	}
	device, life := logbook.ReadID(r), r.Uint()
	wall, mono := logbook.ReadTime(r), logbook.ReadTime(r)
	var cursors []Moved
	for n := list(r, maxList, "cursors"); n > 0; n-- {
		array(r, 4, "a cursor")
		cursors = append(cursors, Moved{Log: logbook.ReadLog(r), Cursor: logbook.Cursor{Epoch: r.Uint(), Order: r.Uint(), Hash: readHash(r)}})
	}
	var written []Written
	for n := list(r, maxList, "writers"); n > 0; n-- {
		array(r, 6, "a writer")
		written = append(written, Written{logbook.ReadLog(r), logbook.ReadID(r), r.Uint(), readHash(r), r.Uint(), r.Bool()})
	}
	if r.Close() != nil || n != 7 {
		return refused(r, "hello")
	}
	var rewound []logbook.Log
	if version >= erases {
		var err error
		if rewound, err = s.place(cursors); err != nil {
			return err
		}
	}
	missing, closed, err := s.compare(written)
	if err != nil {
		return err
	}
	s.met, s.old, s.first, s.defers = true, version < erases, version == oldest, version >= defers
	s.device, s.life, s.closed = device, life, closed
	for _, l := range rewound {
		s.lost[l] = true
	}
	epoch := s.store.Epoch()
	s.queue = append(s.queue, func(t3 int64) []byte {
		n := 10
		if s.first {
			n = 9
		}
		b := cbor.AppendUint(cbor.AppendUint(head(welcome, n), version), epoch)
		b = appendExchange(b, wall, mono, now, t3)
		b = cbor.AppendArray(b, len(rewound))
		for _, l := range rewound {
			b = logbook.AppendLog(b, l)
		}
		b = appendMissing(cbor.AppendBool(b, len(closed) > 0), missing)
		if !s.first {
			b = cbor.AppendBytes(b, s.store.Key())
		}
		return b
	})
	return nil
}

// update tells a person what helps against an app that is too old.
const update = "close the app and open it again"

func appendExchange(b []byte, wall, mono, t2, t3 int64) []byte {
	b = cbor.AppendInt(cbor.AppendInt(b, wall), mono)
	return cbor.AppendInt(cbor.AppendInt(b, t2), t3)
}

func appendMissing(b []byte, missing []Missing) []byte {
	b = cbor.AppendArray(b, len(missing))
	for _, m := range missing {
		b = logbook.AppendLog(cbor.AppendArray(b, 3), m.Log)
		b = cbor.AppendUint(appendID(b, m.Writer), m.From)
	}
	return b
}

// place compares the phone's cursors with the store's chains and sets the
// positions. A cursor that the chain does not pass through belongs to another
// history: the store lost lines, or a backup came back. The phone brings back
// what it has of such a logbook, and begins it anew on the next connection.
func (s *Shop) place(cursors []Moved) (rewound []logbook.Log, err error) {
	carried, err := s.store.Carries()
	if err != nil {
		return nil, err
	}
	pos := map[logbook.Log]*position{}
	for _, c := range carried {
		pos[c.Log] = &position{order: c.From, base: c.From > 0, due: true}
	}
	for _, m := range cursors {
		epoch, chain, ok, err := s.store.Chain(m.Log, m.Cursor.Order)
		if err != nil {
			return nil, err
		}
		if !ok || chain != m.Cursor.Hash || epoch != m.Cursor.Epoch {
			rewound = append(rewound, m.Log)
		} else if p := pos[m.Log]; p != nil {
			p.order, p.base = m.Cursor.Order, false
		} else {
			// Not carried any more, but whoever has a copy is told what became of
			// it since: above all what was erased.
			pos[m.Log] = &position{order: m.Cursor.Order, due: true}
			s.due = append(s.due, m.Log)
		}
	}
	s.pos = pos
	for _, l := range rewound {
		delete(pos, l)
	}
	for _, c := range carried {
		if pos[c.Log] != nil {
			s.due = append(s.due, c.Log)
		}
	}
	return rewound, nil
}

// compare finds what the store lacks of the phone's writers, and which of
// them went on elsewhere: on a copy of this phone, or here before an old copy
// of its store came back.
func (s *Shop) compare(written []Written) (missing []Missing, closed map[logbook.ID]bool, err error) {
	closed = map[logbook.ID]bool{}
	for _, w := range written {
		settled, err := s.store.Settled(w.Log, w.Writer)
		if err != nil {
			return nil, nil, err
		}
		if settled < w.Kept {
			missing = append(missing, Missing{w.Log, w.Writer, settled + 1})
			continue
		}
		if w.Old {
			continue
		}
		if settled > w.Last {
			closed[w.Writer] = true
			continue
		}
		if w.Kept == 0 {
			continue
		}
		v, err := s.store.Find(w.Log, logbook.Ref{Writer: w.Writer, Seq: w.Kept})
		if err != nil {
			return nil, nil, err
		}
		if v.Sum != w.KeptSum {
			closed[w.Writer] = true
		}
	}
	return missing, closed, nil
}

func (s *Shop) beat(r *cbor.Reader, n int, now int64) error {
	wall, mono := logbook.ReadTime(r), logbook.ReadTime(r)
	if r.Close() != nil || n != 2 {
		return refused(r, "beat")
	}
	if s.old && len(s.flying) == 0 && len(s.receipts) == 0 {
		// It had time enough to give what it has.
		return errors.New("this phone's app is older than the shop, which has its lines now: " + update)
	}
	s.queue = append(s.queue, func(t3 int64) []byte { return appendExchange(head(echo, 4), wall, mono, now, t3) })
	return nil
}

func (s *Shop) lines(r *cbor.Reader, n int, now int64) ([]judge.Submission, error) {
	clk := readReading(r)
	count := list(r, maxLines, "lines")
	subs := make([]judge.Submission, 0, count)
	for ; count > 0 && r.Err() == nil; count-- {
		subs = append(subs, judge.Submission{Bytes: r.Bytes(), Arrived: now, Forks: s.forks, Tag: s.tag})
	}
	if r.Close() != nil || n != 2 {
		return nil, refused(r, "lines")
	}
	facts := clock.Facts{Life: s.life, Wall: clk.wall, Mono: clk.mono, Steady: clk.steady,
		Sent: max(clk.earliest, s.upgraded), Arrived: now}
	hand := subs[:0]
	for _, sub := range subs {
		e, err := logbook.Decode(sub.Bytes)
		if err != nil {
			sub.Refusal = err.Error()
			sub.Earliest, sub.Latest = 0, now
			hand = append(hand, sub)
			continue
		}
		sub.Entry = e
		if s.lost[e.Log] && !s.whole[e.Log] {
			continue // what comes back goes first; the phone sends this again behind it
		}
		w := writer{e.Log, e.Writer}
		if from := s.later[w]; from > 0 && e.Seq > from {
			continue // sent before it heard; it comes behind the one that it waits for
		} else if e.Seq == from {
			delete(s.later, w)
			delete(s.asked, w) // the phone did not send meanwhile what it was asked for
		}
		at := clock.Interval(e.At, facts)
		sub.Earliest, sub.Latest = at.Earliest, at.Latest
		if s.closed[e.Writer] {
			// What is new under a writer that went on elsewhere gets no place;
			// what the store has already is answered as ever.
			settled, err := s.store.Settled(e.Log, e.Writer)
			if err != nil {
				return nil, err
			}
			if e.Seq > settled {
				s.setAside(logbook.EntrySum(sub.Bytes), judge.Closed, "this writer went on elsewhere")
				continue
			}
		}
		name := Name{e.Log, e.Ref()}
		s.flying[name] = logbook.EntrySum(sub.Bytes)
		if s.asked[w] == e.Seq {
			delete(s.asked, w)
		}
		hand = append(hand, sub)
	}
	return hand, nil
}

// Settle takes the writer's verdict on a Submission of this session, after
// the fsync.
func (s *Shop) Settle(sub *judge.Submission, v *judge.Verdict) {
	if sub.Back != nil {
		s.settleBack(sub)
		return
	}
	if sub.Refusal != "" {
		s.setAside(v.Sum, v.Code, v.Reason)
		return
	}
	name := Name{sub.Entry.Log, sub.Entry.Ref()}
	_, waited := s.flying[name]
	delete(s.flying, name)
	switch v.What {
	case judge.Kept:
		if waited {
			s.keep(Receipt{name, v.Receipt.Order, v.Coded})
		}
	case judge.Aside:
		if v.Code == judge.Fork {
			s.closed[name.Ref.Writer] = true
		}
		s.setAside(v.Sum, v.Code, v.Reason)
	case judge.Gap:
		w := writer{name.Log, name.Ref.Writer}
		if from := s.later[w]; s.asked[w] == v.From || from > 0 && v.From >= from {
			return // asked before, or told to come later; the rest of the burst says the same
		}
		s.asked[w] = v.From
		missing := []Missing{{w.log, w.id, v.From}}
		s.queue = append(s.queue, func(int64) []byte { return appendMissing(head(from, 1), missing) })
	}
}

// Later is the answer to Submissions of which nothing was stored and which can
// be taken in so many ms, for a reason that a person reads. In these logbooks
// the phone waits with its lines; all else goes on. false says that this phone
// cannot be told so: then Bye.
func (s *Shop) Later(subs []judge.Submission, why string, retryMs int64) bool {
	for i := range subs {
		if !s.defers || subs[i].Back != nil || subs[i].Refusal != "" {
			return false
		}
	}
	var waits []Missing
	for i := range subs {
		e := &subs[i].Entry
		delete(s.flying, Name{e.Log, e.Ref()})
		w := writer{e.Log, e.Writer}
		if from := s.later[w]; from == 0 || e.Seq < from {
			s.later[w] = e.Seq
			waits = append(waits, Missing{e.Log, e.Writer, e.Seq})
		}
	}
	if len(waits) > 0 {
		s.queue = append(s.queue, func(int64) []byte {
			return cbor.AppendText(cbor.AppendInt(appendMissing(head(later, 3), waits), max(0, retryMs)), why)
		})
	}
	return true
}

func (s *Shop) setAside(sum logbook.Hash, code judge.Code, reason string) {
	s.queue = append(s.queue, func(int64) []byte {
		b := cbor.AppendArray(cbor.AppendArray(head(aside, 1), 1), 3)
		return cbor.AppendText(cbor.AppendUint(appendHash(b, sum), uint64(code)), reason)
	})
}

// keep queues a receipt. The line itself is not sent back: the phone has it.
func (s *Shop) keep(k Receipt) {
	s.receipts = append(s.receipts, k)
	if p := s.pos[k.Name.Log]; p == nil || k.Order > p.order {
		s.yours[place{k.Name.Log, k.Order}] = true
	}
}
