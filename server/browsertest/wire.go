package browsertest

import (
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"sync"
	"testing"
)

// given are the ports that this process's tests have.
var given sync.Map

// FreeAddr is an address for a server that a test stops and starts again. Its
// port is below those that the system hands out by itself (on Linux from 32768,
// ip(7)), and no other test of the process has it: it is still free then.
func FreeAddr(t testing.TB) string {
	t.Helper()
	for range 1000 {
		addr := fmt.Sprintf("127.0.0.1:%d", 20_000+rand.IntN(12_000))
		listen, err := net.Listen("tcp", addr)
		if err != nil {
			continue
		}
		listen.Close()
		if _, has := given.LoadOrStore(addr, true); !has {
			return addr
		}
	}
	t.Fatal("no free port between 20000 and 32000")
	return ""
}

// Wire is one phone's line to the server: a TCP relay that can be cut and
// restored. A cut line resets what is open and refuses what is new, as a phone
// out of reach of the wifi sees it.
type Wire struct {
	server string
	listen net.Listener

	mu   sync.Mutex
	cut  bool
	open map[net.Conn]bool // both ends of every relayed connection
}

// NewWire relays to the server at addr (host:port) until the test ends. The
// server need not be there yet.
func NewWire(t testing.TB, addr string) *Wire {
	t.Helper()
	listen, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatalf("wire: %v", err)
	}
	w := &Wire{server: addr, listen: listen, open: map[net.Conn]bool{}}
	go w.accept()
	t.Cleanup(func() {
		listen.Close()
		w.Cut()
	})
	return w
}

// Addr is the phone's end of the line.
func (w *Wire) Addr() string { return w.listen.Addr().String() }

// Cut resets every connection and refuses new ones.
func (w *Wire) Cut() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.cut = true
	for c := range w.open {
		reset(c)
	}
}

// Restore lets new connections through again.
func (w *Wire) Restore() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.cut = false
}

func (w *Wire) accept() {
	for {
		phone, err := w.listen.Accept()
		if err != nil {
			return
		}
		go w.relay(phone)
	}
}

func (w *Wire) relay(phone net.Conn) {
	if !w.hold(phone) {
		return
	}
	defer w.drop(phone)
	server, err := net.Dial("tcp", w.server)
	if err != nil {
		reset(phone) // as a stopped server does: refused, not hanging
		return
	}
	if !w.hold(server) {
		return
	}
	defer w.drop(server)

	done := make(chan struct{}, 2)
	pass := func(to, from net.Conn) {
		io.Copy(to, from)
		done <- struct{}{}
	}
	go pass(server, phone)
	go pass(phone, server)
	<-done // either end is gone: so is the other
}

// hold notes a connection so that Cut finds it; on a cut line it resets it.
func (w *Wire) hold(c net.Conn) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.cut {
		reset(c)
		return false
	}
	w.open[c] = true
	return true
}

func (w *Wire) drop(c net.Conn) {
	w.mu.Lock()
	defer w.mu.Unlock()
	delete(w.open, c)
	c.Close()
}

// reset closes at once and without a goodbye.
func reset(c net.Conn) {
	if tcp, ok := c.(*net.TCPConn); ok {
		tcp.SetLinger(0)
	}
	c.Close()
}
