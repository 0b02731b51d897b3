package server

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server/browsertest"
	"bayhold/sync/clock"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// shopAt is a server under test with its address.
type shopAt struct {
	*Server
	http *httptest.Server
	dir  string
}

// startShop serves a data folder; what a test does to the store is checked
// when it ends.
func startShop(t testing.TB, dir string) *shopAt {
	t.Helper()
	s, err := Open(Config{Data: dir, App: appFiles, Worker: []byte("//"), Bundle: "test", Log: testLog(t)})
	if err != nil {
		t.Fatal(err)
	}
	at := &shopAt{Server: s, http: httptest.NewServer(s.Handler()), dir: dir}
	t.Cleanup(func() { at.stop(t) })
	return at
}

// stop closes the server and checks the whole store. It may be called twice.
func (s *shopAt) stop(t testing.TB) {
	t.Helper()
	if s.http == nil {
		return
	}
	s.Close()
	s.http.Close()
	s.http = nil
	st, err := ReadStore(filepath.Join(s.dir, StoreFile)) // at rest: nothing writes while its pages are walked
	if err == nil {
		err = errors.Join(st.Verify(), st.Close())
	}
	if err != nil {
		t.Errorf("the store after the test: %v", err)
	}
}

func testLog(t testing.TB) *slog.Logger {
	if testing.Verbose() {
		return slog.New(slog.NewTextHandler(t.Output(), &slog.HandlerOptions{Level: slog.LevelDebug}))
	}
	return slog.New(slog.DiscardHandler)
}

// phone is a phone under test: the session's own phone end over gorilla's
// websocket, with maps for a store.
type phone struct {
	t      testing.TB
	device logbook.ID
	writer logbook.ID
	clk    *clock.Phone
	began  time.Time

	rows    map[session.Name]row
	outbox  []session.Name // in the order written
	seqs    map[logbook.Log]uint64
	cursors map[logbook.Log]logbook.Cursor
	heads   map[logbook.Log]session.Moved // the same, with the shop's signature
	shelves []shelf
	altered []session.Line // of a forger: what it proves by
	aside   []session.Refused
	live    []session.Sample
	closed  string
	later   string // why the shop takes lines later

	came           int          // entries whose bytes came over the socket
	received, sent atomic.Int64 // bytes of messages
	end            *session.Phone
	ws             *websocket.Conn
	frames         chan []byte
}

// shelf is a copy of a logbook that was put aside, with its lines in order.
type shelf struct {
	run   session.Run
	lines []session.Line
}

type row struct {
	entry   []byte
	receipt []byte
	order   uint64
}

func newPhone(t testing.TB, name string) *phone {
	p := &phone{t: t, device: logbook.Named("device " + name), writer: logbook.Named("writer " + name), began: time.Now(),
		rows: map[session.Name]row{}, seqs: map[logbook.Log]uint64{}, cursors: map[logbook.Log]logbook.Cursor{}, heads: map[logbook.Log]session.Moved{}}
	wall, mono := p.clocks()
	p.clk = clock.NewPhone(rand.Uint64()>>11, wall, mono)
	return p
}

func (p *phone) clocks() (wall, mono int64) {
	return time.Now().UnixMilli(), time.Since(p.began).Milliseconds()
}

// dial opens a socket as a page of the shop's own would.
func dial(url string) (*websocket.Conn, *http.Response, error) {
	d := websocket.Dialer{Subprotocols: []string{subprotocol}, HandshakeTimeout: 10 * time.Second}
	return d.Dial("ws"+strings.TrimPrefix(url, "http")+"/ws", http.Header{"Origin": {url}})
}

// connect opens a socket and says hello with the outbox behind it.
func (p *phone) connect(s *shopAt) {
	p.t.Helper()
	p.dial(s.http.URL)
}

func (p *phone) dial(url string) {
	p.t.Helper()
	ws, _, err := dial(url)
	if err != nil {
		p.t.Fatal(err)
	}
	p.attach(ws)
}

func (p *phone) attach(ws *websocket.Conn) {
	p.ws, p.frames, p.closed, p.later = ws, make(chan []byte, 1024), "", ""
	frames := p.frames
	go func() {
		defer close(frames)
		for {
			_, r, err := ws.NextReader()
			if err != nil {
				return
			}
			counted := &counter{r: r}
			f, err := unpack(counted)
			if err != nil {
				return
			}
			p.received.Add(int64(counted.n))
			frames <- f
		}
	}()
	p.end = session.NewPhone(p.device, p.clk)
	wall, mono := p.clocks()
	cursors := slices.Collect(maps.Values(p.heads))
	var shelves []session.Run
	for _, s := range p.shelves {
		shelves = append(shelves, s.run)
	}
	var outbox [][]byte
	for _, n := range p.outbox {
		outbox = append(outbox, p.rows[n].entry)
	}
	p.do(p.end.Open(wall, mono, cursors, shelves, p.written(), outbox))
}

type counter struct {
	r interface{ Read([]byte) (int, error) }
	n int
}

func (c *counter) Read(b []byte) (int, error) {
	n, err := c.r.Read(b)
	c.n += n
	return n, err
}

func (p *phone) written() (out []session.Written) {
	for log, last := range p.seqs {
		w := session.Written{Log: log, Writer: p.writer, Last: last}
		for seq := last; seq > 0; seq-- {
			if r := p.rows[session.Name{Log: log, Ref: logbook.Ref{Writer: p.writer, Seq: seq}}]; r.receipt != nil {
				w.Kept, w.KeptSum = seq, logbook.Sum(r.entry)
				break
			}
		}
		out = append(out, w)
	}
	return out
}

// entry makes the phone's next line of a logbook and puts it into its store.
func (p *phone) entry(log logbook.Log, by logbook.ID, body checklist.Body, strikes ...logbook.Ref) session.Name {
	kind := "strike"
	if body != nil {
		kind = body.Kind()
	}
	return p.raw(log, by, kind, line.Encode(body), strikes...)
}

func (p *phone) raw(log logbook.Log, by logbook.ID, kind string, body []byte, strikes ...logbook.Ref) session.Name {
	p.t.Helper()
	wall, mono := p.clocks()
	p.seqs[log]++
	e := logbook.Entry{Log: log, Writer: p.writer, Seq: p.seqs[log], At: p.clk.Stamp(wall, mono), By: by,
		Kind: kind, Body: body, Strikes: strikes}
	if err := e.Check(); err != nil {
		p.t.Fatal(err)
	}
	n := session.Name{Log: log, Ref: e.Ref()}
	p.rows[n] = row{entry: e.Append(nil)}
	p.outbox = append(p.outbox, n)
	return n
}

// say sends lines that the phone's store holds.
func (p *phone) say(names ...session.Name) {
	p.t.Helper()
	var entries [][]byte
	for _, n := range names {
		entries = append(entries, p.rows[n].entry)
	}
	wall, mono := p.clocks()
	p.do(p.end.Send(wall, mono, entries...))
}

// write is entry and say.
func (p *phone) write(log logbook.Log, by logbook.ID, body checklist.Body, strikes ...logbook.Ref) session.Name {
	p.t.Helper()
	n := p.entry(log, by, body, strikes...)
	p.say(n)
	return n
}

// do stores, then sends, what the phone's end wants.
func (p *phone) do(out session.Out) {
	p.t.Helper()
	for _, l := range out.Lines {
		p.came++
		p.rows[l.Name] = row{bytes.Clone(l.Entry), bytes.Clone(l.Receipt), l.Order}
		p.unsent(l.Name)
	}
	for _, k := range out.Kept {
		r := p.rows[k.Name]
		r.receipt, r.order = bytes.Clone(k.Receipt), k.Order
		p.rows[k.Name] = r
		p.unsent(k.Name)
	}
	for _, a := range out.Aside {
		p.aside = append(p.aside, a)
		p.unsent(a.Name)
	}
	for _, m := range out.Moved {
		m.Signature = bytes.Clone(m.Signature)
		p.heads[m.Log], p.cursors[m.Log] = m, m.Cursor
	}
	for _, log := range out.Rewound {
		run := session.Run{Moved: p.heads[log]}
		lines := p.lines(run, 1)
		run.Shelf, run.Taken = fmt.Sprint(len(p.shelves)), out.Epoch
		p.shelves = append(p.shelves, shelf{run, lines})
		delete(p.cursors, log)
		delete(p.heads, log)
		var own []session.Name
		for n, r := range p.rows {
			switch {
			case n.Log != log:
			case n.Ref.Writer != p.writer:
				delete(p.rows, n)
			case r.receipt != nil:
				r.receipt, r.order = nil, 0
				p.rows[n] = r
				own = append(own, n)
			}
		}
		slices.SortFunc(own, session.Name.Compare)
		p.outbox = append(own, p.outbox...)
	}
	for _, taken := range out.Taken {
		for i := range p.shelves {
			if p.shelves[i].run.Shelf == taken.Shelf {
				p.shelves[i].run.Taken = out.Epoch
			}
		}
	}
	if out.Unshelve {
		p.shelves = nil
	}
	p.live = append(p.live, out.Live...)
	if out.Later != "" {
		p.later = out.Later
	}
	for _, f := range out.Frames {
		msg := pack(f)
		p.sent.Add(int64(len(msg)))
		if err := p.ws.WriteMessage(websocket.BinaryMessage, msg); err != nil {
			return // the reader ends too, and the test sees it
		}
	}
	if out.Bring != nil {
		lines := p.lines(*out.Bring, out.From)
		if p.altered != nil {
			lines, p.altered = p.altered, nil
		}
		p.do(p.end.Bring(lines))
	}
	for _, m := range out.Resend {
		var entries [][]byte
		for seq := m.From; seq <= p.seqs[m.Log]; seq++ {
			entries = append(entries, p.rows[session.Name{Log: m.Log, Ref: logbook.Ref{Writer: m.Writer, Seq: seq}}].entry)
		}
		wall, mono := p.clocks()
		p.do(p.end.Send(wall, mono, entries...))
	}
	if out.Closed != "" {
		p.closed = out.Closed
		p.ws.Close()
	}
}

// lines are those of a run from an order on.
func (p *phone) lines(run session.Run, from uint64) (out []session.Line) {
	if run.Shelf == "" {
		for n, r := range p.rows {
			if n.Log == run.Log && r.receipt != nil {
				out = append(out, session.Line{Name: n, Order: r.order, Entry: r.entry, Receipt: r.receipt})
			}
		}
		slices.SortFunc(out, func(a, b session.Line) int { return int(a.Order) - int(b.Order) })
	}
	for _, s := range p.shelves {
		if s.run.Shelf == run.Shelf {
			out = slices.Clone(s.lines)
		}
	}
	return slices.DeleteFunc(out, func(l session.Line) bool { return l.Order < from })
}

func (p *phone) unsent(n session.Name) {
	if i := slices.Index(p.outbox, n); i >= 0 {
		p.outbox = slices.Delete(p.outbox, i, i+1)
	}
}

// until takes frames until the condition holds.
func (p *phone) until(what string, holds func() bool) {
	p.t.Helper()
	late := time.NewTimer(browsertest.Patience)
	defer late.Stop()
	for !holds() {
		select {
		case f, ok := <-p.frames:
			if !ok {
				p.t.Fatalf("the socket ended before %s (%s)", what, p.closed)
			}
			p.take(f)
		case <-late.C:
			p.t.Fatalf("not in %v: %s", browsertest.Patience, what)
		}
	}
}

// take is what a phone does with a frame.
func (p *phone) take(f []byte) {
	p.t.Helper()
	wall, mono := p.clocks()
	out, err := p.end.Frame(f, wall, mono)
	if err != nil {
		p.t.Fatal(err)
	}
	p.do(out)
}

func (p *phone) untilKept() {
	p.t.Helper()
	p.until("every line is kept", func() bool { return len(p.outbox) == 0 })
}

func (p *phone) untilCaught() {
	p.t.Helper()
	p.until("caught up", p.end.Caught)
}

func (p *phone) hangUp() {
	p.ws.Close()
	for range p.frames {
	}
}

// copyOf is a logbook as the phone has it: entries and receipts by order.
func (p *phone) copyOf(log logbook.Log) []byte {
	var lines []row
	for n, r := range p.rows {
		if n.Log == log && r.receipt != nil {
			lines = append(lines, r)
		}
	}
	slices.SortFunc(lines, func(a, b row) int { return int(a.order) - int(b.order) })
	var out []byte
	for _, l := range lines {
		out = binary.AppendUvarint(out, uint64(len(l.entry)))
		out = append(append(append(out, l.entry...), l.receipt...), '\n')
	}
	return out
}

// copyOf is the same of the store.
func (s *shopAt) copyOf(t testing.TB, log logbook.Log) (out []byte) {
	t.Helper()
	lines, err := s.store.After(log, 0, 1<<30, 1<<30)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines {
		out = binary.AppendUvarint(out, uint64(len(l.Entry)))
		out = append(append(append(out, l.Entry...), l.Receipt...), '\n')
	}
	return out
}

// The people of the tests; a shop in which the lead is known and a job is open.
var (
	lead, crew = logbook.Named("M"), logbook.Named("J")
	jobV5      = logbook.Log{Class: checklist.JobLog, ID: logbook.Named("V5")}
	bay4       = logbook.Named("Bay 4")
)

// crewed writes the crew, a bay and a job into a shop.
func crewed(t testing.TB, s *shopAt) {
	t.Helper()
	err := s.writer.do(context.Background(), func(p *pen) error {
		for _, b := range []checklist.Body{
			checklist.PersonAdd{Person: checklist.ID(lead), Name: "Mara", Initials: "M", Role: "lead"},
			checklist.PersonAdd{Person: checklist.ID(crew), Name: "Jon", Initials: "J", Role: "crew"},
			checklist.PlaceAdd{Place: checklist.ID(bay4), Name: "Bay 4", Sort: "bay", Order: 4},
		} {
			if err := p.write(p.st.shop, b); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	p := newPhone(t, "of the desk")
	p.connect(s)
	p.write(jobV5, crew, checklist.JobOpen{Label: "V5", Route: "panels", Place: checklist.ID(bay4),
		Panels: []checklist.Panel{{ID: "left", Name: "left side", Zone: "upper"}},
		Spots:  []checklist.Spot{{ID: "1", Name: "rear left sill", Zone: "lower"}}})
	p.untilKept()
	p.hangUp()
}
