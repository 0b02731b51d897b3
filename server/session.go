package server

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"sync"
	"time"

	"github.com/gorilla/websocket"

	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// Deadlines and sizes of a socket. A phone beats well within readWait; one
// that cannot take a frame within writeWait loses its socket and goes on from
// its cursor.
const (
	subprotocol   = "bayhold.1"
	handshakeWait = 5 * time.Second
	readWait      = 60 * time.Second
	writeWait     = 10 * time.Second
	maxMessage    = session.MaxFrame + 1 // the flag, and a frame that nobody compressed
	maxInHand     = 4                    // frames of one phone that wait for the writer; then its socket waits

	proving   = "bayhold.1.proof" // the same, behind a proof of who the phone is (member.go)
	proofWait = 10 * time.Second
	maxProof  = 1 << 10
	maxProofs = 256 // sockets that have proven nothing yet
)

var upgrader = websocket.Upgrader{
	HandshakeTimeout: handshakeWait,
	Subprotocols:     []string{subprotocol},
	// An idle phone holds one small read buffer; the write buffers are shared,
	// because few sockets write at a time.
	ReadBufferSize:  1 << 10,
	WriteBufferSize: 4 << 10,
	WriteBufferPool: new(sync.Pool),
	CheckOrigin:     sameOrigin,
}

// provingUpgrader is upgrader for a shop whose phones have to join.
var provingUpgrader = func() websocket.Upgrader {
	u := upgrader
	u.Subprotocols = []string{proving}
	return u
}()

// sameOrigin wants the page's origin to be the host that it asked (RFC 6455
// section 10.2): another site's page, opened in a browser that reaches the
// shop, gets no socket.
func sameOrigin(r *http.Request) bool {
	u, err := url.Parse(r.Header.Get("Origin"))
	return err == nil && u.Host != "" && u.Host == r.Host
}

// wsSession is a phone's socket: a goroutine that reads it, and one that writes it
// as long as there is something to write. Between frames an idle phone costs a
// goroutine and a read buffer. It has no queue: what there is to say is read
// from the store behind the session's cursors when the socket has room.
type wsSession struct {
	ws     *websocket.Conn
	hub    *hub
	writer *writer
	clock  func() int64
	log    *slog.Logger

	member logbook.ID    // the phone that proved itself; zero where none has to
	deaf   bool          // it was taken off the shop: it brings, and is told nothing
	inHand chan struct{} // frames that the writer has not answered yet

	mu      sync.Mutex // guards shop and writing
	shop    *session.Shop
	writing bool           // a goroutine is writing, or nothing is written any more
	final   *session.Frame // the last one

	once sync.Once
}

func (s *Server) ws(w http.ResponseWriter, r *http.Request) {
	if !websocket.IsWebSocketUpgrade(r) {
		http.Error(w, "this address speaks websocket only", http.StatusUpgradeRequired)
		return
	}
	protocol, up, own := subprotocol, &upgrader, sameOrigin(r)
	if s.closed {
		protocol, up, own = proving, &provingUpgrader, r.Header.Get("Origin") == "https://"+r.Host
	}
	if !own {
		http.Error(w, "a page of another site may not speak to this shop", http.StatusForbidden)
		return
	}
	if !offers(r, protocol) {
		http.Error(w, "this shop speaks "+protocol+": close and open the app again", http.StatusBadRequest)
		return
	}
	if s.hub.count() >= maxSessions || s.proofs.Load() >= maxProofs {
		w.Header().Set("Retry-After", "30")
		http.Error(w, "too many phones are connected; this one tries again by itself", http.StatusServiceUnavailable)
		return
	}
	upgraded := s.clock()
	conn, err := up.Upgrade(bundler{w}, r, nil)
	if err != nil {
		s.log.Debug("No websocket: {err}", "remote", r.RemoteAddr, "err", err)
		return
	}
	p := &wsSession{ws: conn, hub: s.hub, writer: s.writer, clock: s.clock, log: s.log.With("remote", r.RemoteAddr),
		inHand: make(chan struct{}, maxInHand)}
	origin := r.Header.Get("Origin")
	go s.talk(p, origin, upgraded) // of its own, so that what the HTTP request held is let go
}

// talk is the whole of a socket: the proof, where there has to be one, and the
// session.
func (s *Server) talk(p *wsSession, origin string, upgraded int64) {
	var store session.Store = s.store
	if s.closed {
		if err := s.prove(p, origin); err != nil {
			p.log.Debug("No phone of the shop's: {why}", "why", err) // turnAway tells the owner
			p.ws.Close()
			return
		}
		if p.deaf {
			store = muted{s.store}
		}
		defer s.noteContact(p.member, -1, origin)
	}
	p.ws.SetReadLimit(maxMessage)
	p.shop = session.NewShop(store, upgraded, p)
	if !s.hub.add(p) {
		p.ws.Close()
		return
	}
	p.read()
}

func offers(r *http.Request, protocol string) bool {
	for _, p := range websocket.Subprotocols(r) {
		if p == protocol {
			return true
		}
	}
	return false
}

// read takes frames until the socket ends. A frame that is refused ends it
// with the reason.
func (p *wsSession) read() {
	defer p.end("read to its end")
	for !p.leaving() {
		p.ws.SetReadDeadline(time.Now().Add(readWait))
		kind, r, err := p.ws.NextReader()
		if err != nil {
			p.log.Debug("A socket ended: {err}", "err", err)
			return
		}
		var frame []byte
		if kind != websocket.BinaryMessage {
			err = errors.New("a frame is a binary message")
		} else {
			frame, err = unpack(r)
		}
		if err == nil {
			err = p.take(frame)
		}
		if err != nil {
			p.log.Warn(`Phone "{phone}" sent what cannot be read: {err}. It is disconnected and comes again.`, "err", err)
			p.bye(err.Error(), 0)
		}
	}
	// What the phone still sends is read and dropped for a moment: a socket
	// that is closed over unread bytes is reset, and the reason never arrives.
	p.ws.NetConn().SetReadDeadline(time.Now().Add(time.Second))
	io.Copy(io.Discard, io.LimitReader(p.ws.NetConn(), 2*maxMessage))
}

// take gives a frame to the session and its entries to the writer. A phone that
// brings more than the writer can take waits here, and so does its socket.
func (p *wsSession) take(frame []byte) error {
	var subs []judge.Submission
	err := p.locked(func() (err error) {
		subs, err = p.shop.Frame(frame, p.clock())
		return err
	})
	if err != nil {
		return err
	}
	if len(subs) > 0 {
		p.inHand <- struct{}{}
		var once sync.Once // the writer may answer in parts
		done := func(subs []judge.Submission, verdicts []judge.Verdict, err error) {
			once.Do(func() { <-p.inHand })
			p.settle(subs, verdicts, err)
		}
		if err := p.writer.submit(task{subs: subs, done: done}); err != nil {
			return err
		}
	}
	p.wake()
	return nil
}

// settle is the writer's answer, or a part of it.
func (p *wsSession) settle(subs []judge.Submission, verdicts []judge.Verdict, err error) {
	if fault := (*stumble)(nil); errors.As(err, &fault) {
		p.bye("The shop stumbled over a line of this phone. The phone keeps it: tell the lead.", 60_000)
		return
	}
	if errors.Is(err, errQuota) {
		p.later(subs, err.Error(), quotaOf.again)
		return
	}
	if err != nil {
		// The phone keeps its lines and sends them again when the disk may be well.
		p.later(subs, noRoom, 30_000)
		return
	}
	p.tell(func() {
		for i := range subs {
			p.shop.Settle(&subs[i], &verdicts[i])
		}
	})
}

// later tells the phone when to send lines again that cannot be taken now. It
// reads on, and writes in other logbooks; one that cannot be told so leaves.
func (p *wsSession) later(subs []judge.Submission, why string, retryMs int64) {
	told := true
	p.tell(func() { told = p.shop.Later(subs, why, retryMs) })
	if !told {
		p.bye(why, retryMs)
	}
}

func (p *wsSession) poke(grown []logbook.Log) {
	p.tell(func() {
		for _, log := range grown {
			p.shop.Poke(log)
		}
	})
}

func (p *wsSession) live(log logbook.Log, body []byte) {
	if p.deaf {
		return
	}
	p.tell(func() { p.shop.Live(log, body) })
}

// locked runs f with the session's lock. A fault in f is this session's alone:
// it ends with a goodbye, and whoever called goes on.
func (p *wsSession) locked(f func() error) error {
	err := caught(func() error {
		p.mu.Lock()
		defer p.mu.Unlock()
		return f()
	})
	if fault := (*stumble)(nil); errors.As(err, &fault) {
		p.log.Error(`Phone "{phone}" met a fault of this program: {err}. Nothing is lost. Please report it.`, "err", fault, "stack", string(fault.stack))
		p.bye("The shop stumbled. Nothing is lost, and this phone comes again by itself.", 60_000)
	}
	return err
}

// tell is news for the session; it is written when the socket has room.
func (p *wsSession) tell(f func()) {
	if p.locked(func() error { f(); return nil }) == nil {
		p.wake()
	}
}

func (p *wsSession) device() logbook.ID {
	if !p.member.IsZero() {
		return p.member
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.shop.Device()
}

func (p *wsSession) silent(now int64) (silent bool) {
	p.locked(func() error { silent = p.shop.Silent(now); return nil })
	return silent
}

// wake makes sure that someone writes what there is to say.
func (p *wsSession) wake() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.writing {
		p.writing = true
		go p.write()
	}
}

// write writes frames until there are none, or the last one. What there is to
// say at a time goes out as one.
func (p *wsSession) write() {
	var frames []session.Frame
	for {
		var last bool
		if frames, last = p.next(frames[:0]); len(frames) == 0 {
			return
		}
		if err := p.send(frames); err != nil {
			p.end("cannot be written")
			return // writing stays set: nothing is written any more
		}
		if last {
			p.ws.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(websocket.CloseServiceRestart, ""), time.Now().Add(time.Second))
			p.ws.SetReadDeadline(time.Now().Add(time.Second)) // wakes the reader, if the phone does not
			return
		}
	}
}

func (p *wsSession) send(frames []session.Frame) (err error) {
	by := time.Now().Add(writeWait)
	p.ws.SetWriteDeadline(by)
	if line := p.ws.NetConn().(*bundle); len(frames) > 1 {
		line.hold()
		defer func() { err = errors.Join(err, line.let(by)) }()
	}
	for _, f := range frames {
		msg := f.Wire
		if msg == nil {
			msg = pack(f)
		}
		if err = p.ws.WriteMessage(websocket.BinaryMessage, msg); err != nil {
			return err
		}
	}
	return nil
}

// next adds the frames to write now, up to about what is sent as one; last says
// that the socket ends with them.
func (p *wsSession) next(frames []session.Frame) (_ []session.Frame, last bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for size := 0; p.final == nil && size < maxHeld; {
		var f session.Frame
		var ok bool
		err := caught(func() (err error) {
			f, ok, err = p.shop.Next(p.clock())
			return err
		})
		if err != nil {
			p.log.Error("The store cannot be read for a phone: {err}. Run 'bayhold verify'.", "err", err)
			bye := session.Bye("The shop cannot read its store.", 30_000)
			p.final = &bye
		} else if ok {
			frames = append(frames, f)
			size += len(f.Bytes)
		} else {
			p.writing = len(frames) > 0
			return frames, false
		}
	}
	if p.final != nil {
		return append(frames, *p.final), true
	}
	return frames, false
}

// bye ends the session with a sentence for the phone, after the frame that is
// being written.
func (p *wsSession) bye(why string, retryMs int64) {
	f := session.Bye(why, retryMs)
	p.mu.Lock()
	if p.final == nil {
		p.final = &f
	}
	p.mu.Unlock()
	p.wake()
}

func (p *wsSession) leaving() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.final != nil
}

// end closes the socket; what is not said yet is said to the next one.
func (p *wsSession) end(why string) {
	p.once.Do(func() {
		p.log.Debug("A socket is closed: {why}", "why", why)
		p.ws.Close()
		p.hub.remove(p)
	})
}

var errTooLong = errors.New("a frame has at most 4 MiB")

// readAtMost reads r to its end, or to one byte past n.
func readAtMost(r io.Reader, n int) ([]byte, error) {
	b, err := io.ReadAll(io.LimitReader(r, int64(n)+1))
	if err == nil && len(b) > n {
		err = errTooLong
	}
	if err != nil {
		return nil, fmt.Errorf("the message cannot be read: %w", err)
	}
	return b, nil
}
