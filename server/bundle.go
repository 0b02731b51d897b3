package server

import (
	"bufio"
	"net"
	"net/http"
	"sync"
	"time"
)

// bundle is a connection that sends what is written to it between hold and let
// as one: to a phone that hears of many logbooks at once it is one packet or a
// few, and one record of TLS, in the place of one for each.
type bundle struct {
	net.Conn
	mu   sync.Mutex // a pong is written from another goroutine
	held *[]byte    // nil: nothing is held
}

// maxHeld is how much is held at most, in bytes.
const maxHeld = 32 << 10

var bundles = sync.Pool{New: func() any { b := make([]byte, 0, maxHeld); return &b }}

func (b *bundle) hold() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.held = bundles.Get().(*[]byte)
}

// let sends what is held, by a deadline.
func (b *bundle) let(by time.Time) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	held := b.held
	b.held = nil
	defer bundles.Put(held)
	b.SetWriteDeadline(by)
	return b.send(held)
}

func (b *bundle) send(held *[]byte) (err error) {
	if len(*held) > 0 {
		_, err = b.Conn.Write(*held)
		*held = (*held)[:0]
	}
	return err
}

// Write implements net.Conn.
func (b *bundle) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.held != nil {
		if len(*b.held)+len(p) <= maxHeld {
			*b.held = append(*b.held, p...)
			return len(p), nil
		}
		if err := b.send(b.held); err != nil {
			return 0, err
		}
	}
	return b.Conn.Write(p)
}

// bundler makes the connection that is taken over for a websocket a bundle.
type bundler struct{ http.ResponseWriter }

// Hijack implements http.Hijacker.
func (b bundler) Hijack() (net.Conn, *bufio.ReadWriter, error) {
	conn, rw, err := http.NewResponseController(b.ResponseWriter).Hijack()
	if err == nil {
		conn = &bundle{Conn: conn}
	}
	return conn, rw, err
}
