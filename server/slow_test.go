package server

import (
	"bufio"
	"context"
	"errors"
	"io"
	"maps"
	"net"
	"net/http"
	"os"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// oneConn is a listener that has one connection to give.
type oneConn struct {
	conn chan net.Conn
	done chan struct{}
}

func (l oneConn) Accept() (net.Conn, error) {
	select {
	case c := <-l.conn:
		return c, nil
	case <-l.done:
		return nil, net.ErrClosed
	}
}

func (l oneConn) Close() error   { return nil }
func (l oneConn) Addr() net.Addr { return &net.TCPAddr{} }

// A request that never ends, and a socket that never says who it is, hold a
// connection for a bounded time. The clock is the test's; no other limit than
// those of the server itself ends the wait.
func TestSlowRequests(t *testing.T) {
	s := startClosed(t, t.TempDir())
	host := "Host: " + shopName + "\r\n"
	before := s.store.Heads()
	for _, c := range []struct {
		name, sends string
		most        time.Duration
		says        string
	}{
		{"headers that never end", "GET / HTTP/1.1\r\n" + host + "X: ", 5 * time.Second, ""},
		{"a body that never ends", "POST /join HTTP/1.1\r\n" + host + "Content-Length: 100\r\n\r\n{", 2 * time.Minute, ""},
		{"a socket that proves nothing", request(shopName, "Origin", "Origin: https://HOST", "Sec-WebSocket-Protocol", "Sec-WebSocket-Protocol: "+proving),
			proofWait, "101"},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				client, server := net.Pipe()
				l := oneConn{make(chan net.Conn, 1), make(chan struct{})}
				l.conn <- server
				// The server's own limits around its own handler.
				own := s.Server.http
				h := http.Server{Handler: own.Handler, ReadHeaderTimeout: own.ReadHeaderTimeout, ReadTimeout: own.ReadTimeout,
					WriteTimeout: own.WriteTimeout, IdleTimeout: own.IdleTimeout, ErrorLog: own.ErrorLog}
				go h.Serve(l)
				began := time.Now()
				go io.WriteString(client, c.sends)
				answer, _ := io.ReadAll(client)
				if took := time.Since(began); took < time.Second || took > c.most+time.Second {
					t.Errorf("it was held for %v, %v is the most", took, c.most)
				}
				if !strings.Contains(string(answer), c.says) {
					t.Errorf("answered %q", answer)
				}
				client.Close()
				close(l.done)
				h.Close()
			})
		})
	}
	if after := s.store.Heads(); !maps.Equal(before, after) {
		t.Errorf("a logbook grew: %v, before %v", after, before)
	}
}

// Whoever opens connections without end holds as many as the server has, and no
// more of its files: the next one waits until one ends.
func TestConnectionsAtOnce(t *testing.T) {
	s, err := Open(Config{Data: t.TempDir(), Addr: "localhost:0", App: appFiles, Worker: []byte("//"), Bundle: "test", Log: testLog(t)})
	if err != nil {
		t.Fatal(err)
	}
	s.most = 2
	if err := s.Listen(); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	defer func() { stop(); <-ended }()
	dial := func() (c net.Conn, asks func() (*http.Response, error)) {
		c, err := net.Dial("tcp", s.Addr())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Close() })
		io.WriteString(c, "GET /version HTTP/1.1\r\nHost: "+s.Addr()+"\r\n\r\n")
		return c, func() (*http.Response, error) { return http.ReadResponse(bufio.NewReader(c), nil) }
	}
	first, answer := dial()
	_, second := dial()
	for _, answer := range []func() (*http.Response, error){answer, second} {
		if r, err := answer(); err != nil || r.StatusCode != http.StatusOK {
			t.Fatalf("%v, %v", r, err)
		}
	}
	third, answer := dial()
	third.SetReadDeadline(time.Now().Add(100 * time.Millisecond))
	if r, err := answer(); !errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("the third of two is answered: %v, %v", r, err)
	}
	third.SetReadDeadline(time.Now().Add(time.Minute))
	first.Close()
	if r, err := answer(); err != nil || r.StatusCode != http.StatusOK {
		t.Errorf("after one has ended: %v, %v", r, err)
	}
}
