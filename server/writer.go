package server

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	bolt "go.etcd.io/bbolt"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server/join"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// maxRound is how many entries one round of the writer takes at most: it
// bounds the memory of a transaction and how long a lone tick waits behind
// somebody's backlog.
const maxRound = 10_000

// errStopped answers work that came after the writer was stopped.
var errStopped = errors.New("the server is stopping")

// task is what waits for the writer.
type task struct {
	subs []judge.Submission // entries that came in

	// own writes entries of the server's own inside the transaction, and may
	// change the store by itself. With its error the round begins again without
	// it, so it may run more than once.
	own func(*pen) error

	// done is told what became of the entries, after the fsync; err says that
	// nothing of it is on disk. It runs on the writer's goroutine and must not
	// wait.
	done func(subs []judge.Submission, verdicts []judge.Verdict, err error)
}

// writer is the one goroutine that changes the store: it gathers what waits,
// judges, orders and stores it in one transaction with one fsync, then answers
// and pokes.
type writer struct {
	store *Store
	hub   *hub
	log   *slog.Logger
	clock func() int64 // ms, never going back

	work    chan task
	quit    chan struct{}
	stopped chan struct{}

	forgot chan struct{} // holds one where the disk is to be cleaned after an erasure

	quota  quota                // what was set aside of each phone lately
	onDisk prometheus.Histogram // how long rounds took to come to the disk

	refusing string // what the log said of a disk that takes nothing (taking.go)

	mu   sync.RWMutex    // guards shop for readers beside the writer
	shop *checklist.Shop // the shop's logbook alone, for rights and names
	roll *join.Roll      // the phones that joined, from the same
	must bool            // join: a phone that did not is not heard
}

func startWriter(store *Store, hub *hub, log *slog.Logger, clock func() int64, must bool) (*writer, error) {
	w := &writer{store: store, hub: hub, log: log, clock: clock, must: must, roll: join.NewRoll(),
		work: make(chan task, 256), quit: make(chan struct{}), forgot: make(chan struct{}, 1), stopped: make(chan struct{}),
		quota: quota{}, onDisk: newOnDisk(), shop: checklist.NewShop()}
	lately, err := store.Aside()
	if err != nil {
		return nil, err
	}
	slices.SortFunc(lately, func(a, b SetAside) int { return cmp.Compare(a.At, b.At) })
	for _, a := range lately {
		w.quota.add(a.Device, a.At, len(a.Bytes))
	}
	for from := uint64(0); ; {
		lines, err := store.After(store.shop, from, 1000, 1<<20)
		if err != nil {
			return nil, err
		}
		if len(lines) == 0 {
			break
		}
		for _, l := range lines {
			w.fold(l.Entry, l.Receipt)
			from = l.Order
		}
	}
	go w.run()
	return w, nil
}

// fold takes a line of the shop's logbook into the writer's knowledge of it.
func (w *writer) fold(entry, receipt []byte) {
	e, err := logbook.Decode(entry)
	if err != nil {
		w.log.Error("A line of the shop's logbook cannot be read: {err}. Run 'bayhold verify'.", "err", err)
		return
	}
	r, err := logbook.DecodeReceipt(receipt)
	if err != nil {
		w.log.Error("A receipt of the shop's logbook cannot be read: {err}. Run 'bayhold verify'.", "err", err)
		return
	}
	l, err := line.Of(e, r.Order, checklist.Span{Earliest: r.Earliest, Latest: r.Latest})
	if err != nil {
		w.log.Error("A line {kind} of the shop's logbook cannot be read: {err}. Run 'bayhold verify'.", "kind", e.Kind, "err", err)
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.shop.Add(l)
	if err := w.roll.Add(e.Kind, e.Body, r.First(), e.Writer == w.store.writer); err != nil {
		w.log.Error("A line about a phone cannot be read: {err}. Run 'bayhold verify'.", "err", err)
	}
}

// foldAgain reads the shop's logbook anew: who left is not to be named.
func (w *writer) foldAgain() {
	shop := checklist.NewShop()
	err := w.store.foldInto(shop, w.store.shop)
	if err != nil {
		w.log.Error("The shop's logbook cannot be read: {err}. Run 'bayhold verify'.", "err", err)
		return
	}
	w.mu.Lock()
	w.shop = shop
	w.mu.Unlock()
}

// submit hands work to the writer; it waits while the writer is far behind,
// which in the end slows the sockets that bring too much.
func (w *writer) submit(t task) error {
	select {
	case <-w.quit:
		return errStopped
	default:
	}
	select {
	case w.work <- t:
		return nil
	case <-w.quit:
		return errStopped
	}
}

// do is submit for callers who wait for the disk.
func (w *writer) do(ctx context.Context, own func(*pen) error) error {
	answer := make(chan error, 1)
	err := w.submit(task{own: own, done: func(subs []judge.Submission, vs []judge.Verdict, err error) {
		for i, v := range vs {
			if err == nil && v.What != judge.Kept {
				err = fmt.Errorf("a line %s of the server's own was not kept: %s", subs[i].Entry.Kind, v.Reason)
			}
		}
		answer <- err
	}})
	if err != nil {
		return err
	}
	select {
	case err := <-answer:
		return err
	case <-ctx.Done():
		return ctx.Err()
	case <-w.stopped:
		return errStopped
	}
}

// alive says whether the writer does a round, on disk, before ctx ends.
func (w *writer) alive(ctx context.Context) error {
	return w.do(ctx, func(*pen) error { return nil })
}

// stop lets the round in hand end and takes what waits with it.
func (w *writer) stop() {
	close(w.quit)
	<-w.stopped
}

func (w *writer) run() {
	defer close(w.stopped)
	for {
		select {
		case t := <-w.work:
			w.round(w.withNames(withAdoptions(w.gather(t))))
		case <-w.quit:
			for {
				select {
				case t := <-w.work:
					w.round(w.withNames(withAdoptions(w.gather(t))))
				default:
					return
				}
			}
		}
	}
}

// gather takes what waits, without waiting.
func (w *writer) gather(first task) []task {
	tasks, n := []task{first}, len(first.subs)
	for n < maxRound {
		select {
		case t := <-w.work:
			tasks = append(tasks, t)
			n += len(t.subs)
		default:
			return tasks
		}
	}
	return tasks
}

// round is one transaction and its answers. If the transaction fails nothing
// of it is on disk; everyone is told so and keeps what they have.
func (w *writer) round(tasks []task) {
	var b *batch
	verdicts := make([][]judge.Verdict, len(tasks))
	began := time.Now()
	decided := began
	err := w.store.db.Update(func(tx *bolt.Tx) error {
		b = newBatch(tx, w.store, w.clock())
		err := caught(func() error { return w.decide(b, tasks, verdicts) })
		decided = time.Now()
		return err
	})
	var own *ownError
	if errors.As(err, &own) {
		tasks[own.task].answer(nil, own.err)
		if rest := slices.Delete(tasks, own.task, own.task+1); len(rest) > 0 {
			w.round(rest)
		}
		return
	}
	var over *overQuota
	if errors.As(err, &over) {
		for _, t := range over.over {
			t.answer(nil, errQuota)
		}
		if len(over.fit) > 0 {
			w.round(over.fit)
		}
		return
	}
	if fault := (*stumble)(nil); errors.As(err, &fault) && len(tasks) > 1 {
		// One of them did it: the others are not to suffer for it.
		for i := range tasks {
			w.round(tasks[i : i+1])
		}
		return
	} else if fault != nil {
		w.log.Error("A line met a fault of this program: {err}. Its phone keeps it. Please report it.", "err", fault, "stack", string(fault.stack))
	}
	if err != nil {
		w.refuses(err)
		for _, t := range tasks {
			t.answer(nil, err)
		}
		return
	}
	w.onDisk.Observe(time.Since(decided).Seconds())
	n := 0
	for i, t := range tasks {
		n += len(verdicts[i])
		for j := range verdicts[i] {
			if v, sub := &verdicts[i][j], &t.subs[j]; v.Fresh {
				w.learn(sub, v)
			}
		}
	}
	grown := w.store.adopt(b)
	if b.forgot {
		w.foldAgain()
		select {
		case w.forgot <- struct{}{}:
		default:
		}
	}
	for i, t := range tasks {
		t.answer(verdicts[i], nil)
	}
	w.hub.poke(grown)
	if n > 0 {
		w.takes()
		w.log.Debug("A round of the writer.", "tasks", len(tasks), "entries", n, "us", time.Since(began).Microseconds())
	}
}

func (t task) answer(v []judge.Verdict, err error) {
	if t.done != nil {
		t.done(t.subs, v, err)
	}
}

// ownError is why a task's lines could not be written. Nobody else's lines
// suffer for it.
type ownError struct {
	task int
	err  error
}

func (e *ownError) Error() string { return e.err.Error() }

// decide judges and stores every task's entries in the order they came. Those
// that the server makes itself follow, because their seqs count on from what
// is stored.
func (w *writer) decide(b *batch, tasks []task, verdicts [][]judge.Verdict) error {
	p := newPolicy(b.view, w.shop)
	if w.must {
		p.roll, b.bound = w.roll, p.bound
	}
	var all []judge.Submission
	for _, t := range tasks {
		if t.own == nil { // what those wrote in a round that failed is written anew
			all = append(all, t.subs...)
		}
	}
	vs, err := judge.Judge(b, all, p.refuse)
	if err != nil {
		return err
	}
	if over := w.quota.part(tasks, vs, b.now); over != nil {
		return over
	}
	for i := range all {
		if err := b.store(&all[i], &vs[i]); err != nil {
			return err
		}
	}
	for i := range tasks {
		if tasks[i].own == nil {
			n := len(tasks[i].subs)
			verdicts[i], vs = vs[:n:n], vs[n:]
		}
	}
	if err := b.finish(); err != nil {
		return err
	}
	p.trusted = true
	for i := range tasks {
		if tasks[i].own == nil {
			continue
		}
		pen := pen{batch: b, made: map[logbook.Log]uint64{}}
		if err := tasks[i].own(&pen); err != nil {
			return &ownError{i, err}
		}
		subs := pen.subs
		if verdicts[i], err = judge.Judge(b, subs, p.refuse); err != nil {
			return err
		}
		for j := range subs {
			if err := b.store(&subs[j], &verdicts[i][j]); err != nil {
				return err
			}
		}
		tasks[i].subs = subs
		if err := b.finish(); err != nil {
			return err
		}
	}
	return nil
}

// learn notes what is on disk now: the shop's facts, and in the log what was
// set aside.
func (w *writer) learn(sub *judge.Submission, v *judge.Verdict) {
	switch {
	case v.What == judge.Kept && sub.Entry.Log == w.store.shop:
		if err := caught(func() error { w.fold(sub.Bytes, v.Coded); return nil }); err != nil {
			w.log.Error("A line {kind} of the shop is kept and met a fault of this program: {err}. Please report it.", "kind", sub.Entry.Kind, "err", err)
		}
	case v.What == judge.Aside:
		w.quota.add(deviceOf(sub), w.clock(), len(sub.Bytes))
		w.log.Warn("A line was set aside, and 'bayhold aside' shows it: {why}", "kind", sub.Entry.Kind, "writer", sub.Entry.Writer.String(), "seq", sub.Entry.Seq, "why", v.Reason)
	}
}

// pen writes lines of the server's own into a batch.
type pen struct {
	*batch
	subs []judge.Submission
	made map[logbook.Log]uint64 // how many of them are in subs
}

// write adds a line as the server's next in the logbook.
func (p *pen) write(log logbook.Log, body checklist.Body) error {
	return p.line(log, body.Kind(), line.Encode(body))
}

// line is write for a kind that the checklist does not know.
func (p *pen) line(log logbook.Log, kind string, body []byte) error {
	seq, err := p.Settled(log, p.st.writer)
	if err != nil {
		return err
	}
	p.made[log]++
	e := logbook.Entry{Log: log, Writer: p.st.writer, Seq: seq + p.made[log],
		At: logbook.Stamp{Wall: p.now, Earliest: p.now}, Kind: kind, Body: body}
	if err := e.Check(); err != nil {
		return err
	}
	p.subs = append(p.subs, judge.Submission{Bytes: e.Append(nil), Entry: e,
		Arrived: p.now, Earliest: p.now, Latest: p.now})
	return nil
}

// Dated is an entry with the moment that it was written and arrived, ms.
type Dated struct {
	Entry logbook.Entry
	At    int64
}

// firstStart writes into a new store what it begins with: the seed, or the
// shop's rules as the binary has them.
func (w *writer) firstStart(seed []Dated) error {
	return w.do(context.Background(), func(p *pen) error {
		if h, err := p.head(p.st.shop); err != nil || h.Order > 0 {
			return err
		}
		if len(seed) == 0 {
			return p.write(p.st.shop, line.Pin(checklist.RulesSet{Values: checklist.DefaultRules()}))
		}
		for _, d := range seed {
			p.subs = append(p.subs, judge.Submission{Bytes: d.Entry.Append(nil), Entry: d.Entry,
				Arrived: d.At, Earliest: d.At, Latest: d.At})
		}
		return nil
	})
}
