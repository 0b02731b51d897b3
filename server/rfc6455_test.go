package server

import (
	"bufio"
	"bytes"
	"compress/flate"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"runtime"
	"strings"
	"testing"
	"time"

	"bayhold/sync/session"
)

// The websocket protocol at its edges, by raw TCP: RFC 6455, with the section
// beside each case. Whatever is sent, the store stays as it was, the session
// goes, and the next phone is served.

// Frame opcodes, RFC 6455 section 5.2.
const (
	opContinue = 0x0
	opText     = 0x1
	opBinary   = 0x2
	opClose    = 0x8
	opPing     = 0x9
	opPong     = 0xA
	fin        = 0x80
)

// rawSocket is a socket without a library's help.
type rawSocket struct {
	t *testing.T
	net.Conn
	in *bufio.Reader
}

// request is a good handshake; change replaces or, with an empty value, leaves
// out its lines.
func request(host string, change ...string) string {
	lines := []string{"GET /ws HTTP/1.1", "Host: " + host, "Upgrade: websocket", "Connection: Upgrade",
		"Origin: http://" + host, "Sec-WebSocket-Version: 13", "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==", // section 1.3
		"Sec-WebSocket-Protocol: " + subprotocol}
	for i := 0; i < len(change); i += 2 {
		for j, l := range lines {
			if strings.HasPrefix(l, change[i]) {
				lines[j] = strings.ReplaceAll(change[i+1], "HOST", host)
			}
		}
	}
	var b strings.Builder
	for _, l := range lines {
		if l != "" {
			b.WriteString(l + "\r\n")
		}
	}
	return b.String() + "\r\n"
}

func tcp(t *testing.T, at *httptest.Server) *rawSocket {
	t.Helper()
	c, err := net.Dial("tcp", strings.TrimPrefix(at.URL, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	c.SetDeadline(time.Now().Add(20 * time.Second))
	return &rawSocket{t, c, bufio.NewReader(c)}
}

func (s *rawSocket) put(b ...[]byte) {
	s.t.Helper()
	if _, err := s.Write(bytes.Join(b, nil)); err != nil {
		s.t.Fatal(err)
	}
}

// upgraded is a socket after a good handshake.
func upgraded(t *testing.T, at *httptest.Server) *rawSocket {
	t.Helper()
	s := tcp(t, at)
	s.put([]byte(request(strings.TrimPrefix(at.URL, "http://"))))
	r, err := http.ReadResponse(s.in, nil)
	if err != nil || r.StatusCode != http.StatusSwitchingProtocols {
		t.Fatalf("the handshake: %v %v", r, err)
	}
	// Section 1.3: the accept value of the sample key.
	if got := r.Header.Get("Sec-WebSocket-Accept"); got != "s3pPLMBiTxaQ9kYGzzhZRbK+xOo=" {
		t.Errorf("accept value %q", got)
	}
	return s
}

// masked is a frame as a client sends it: first byte, masked payload.
func masked(first byte, payload []byte) []byte {
	b := append([]byte{first}, length(0x80, len(payload))...)
	key := [4]byte{0x37, 0xfa, 0x21, 0x3d} // section 5.7's
	b = append(b, key[:]...)
	for i, c := range payload {
		b = append(b, c^key[i%4])
	}
	return b
}

func length(mask byte, n int) []byte {
	switch {
	case n < 126:
		return []byte{mask | byte(n)}
	case n < 1<<16:
		return binary.BigEndian.AppendUint16([]byte{mask | 126}, uint16(n))
	}
	return binary.BigEndian.AppendUint64([]byte{mask | 127}, uint64(n))
}

// next reads one frame of the server; it fails on one that breaks the
// protocol itself.
func (s *rawSocket) next() (op byte, payload []byte, err error) {
	head := make([]byte, 2)
	if _, err := io.ReadFull(s.in, head); err != nil {
		return 0, nil, err
	}
	if head[1]&0x80 != 0 || head[0]&0x70 != 0 {
		s.t.Errorf("the server masks, or sets reserved bits: %x", head)
	}
	n := uint64(head[1] & 0x7f)
	switch n {
	case 126:
		b := make([]byte, 2)
		io.ReadFull(s.in, b)
		n = uint64(binary.BigEndian.Uint16(b))
	case 127:
		b := make([]byte, 8)
		io.ReadFull(s.in, b)
		n = binary.BigEndian.Uint64(b)
	}
	payload = make([]byte, n)
	_, err = io.ReadFull(s.in, payload)
	return head[0] & 0x0f, payload, err
}

// ending reads to the end of the socket and says how it ended: the close code,
// "bye CODE" if a goodbye frame came before it, "gone" without a close frame.
func (s *rawSocket) ending() string {
	said := ""
	for {
		op, payload, err := s.next()
		switch {
		case err != nil:
			if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) || strings.Contains(err.Error(), "reset") {
				return said + "gone"
			}
			return "still there: " + err.Error()
		case op == opClose && len(payload) >= 2:
			return said + fmt.Sprint(binary.BigEndian.Uint16(payload))
		case op == opClose:
			return said + "no code"
		case op == opBinary && len(payload) > 2 && bytes.Contains(payload, []byte(" ")):
			said = "bye " // a goodbye carries a sentence
		}
	}
}

// alive says whether the session still answers.
func (s *rawSocket) alive() string {
	s.put(masked(fin|opPing, []byte("still there?")))
	for {
		op, payload, err := s.next()
		if err != nil {
			return err.Error()
		}
		if op == opPong && string(payload) == "still there?" {
			return "alive"
		}
		if op == opClose {
			return "closed"
		}
	}
}

// hello is a phone's first message.
func hello(t *testing.T) []byte {
	t.Helper()
	p := newPhone(t, "raw")
	p.end = session.NewPhone(p.device, p.clk)
	wall, mono := p.clocks()
	out := p.end.Open(wall, mono, nil, nil, nil, nil)
	if len(out.Frames) == 0 {
		t.Fatal("a phone says nothing at first")
	}
	return pack(out.Frames[0])
}

func deflated(b []byte) []byte {
	var out bytes.Buffer
	out.WriteByte(deflateFrame)
	w, _ := flate.NewWriter(&out, 9)
	w.Write(b)
	w.Close()
	return out.Bytes()
}

func TestHandshake(t *testing.T) {
	shop := startShop(t, t.TempDir())
	host := strings.TrimPrefix(shop.http.URL, "http://")
	_, port, _ := net.SplitHostPort(host)
	for _, c := range []struct {
		section, what string
		change        []string
		status        int
	}{
		{"4.2.2", "a good one", nil, 101},
		{"4.2.1", "names in any case", []string{"Upgrade:", "uPgRaDe: WebSocket", "Connection:", "CONNECTION: keep-alive, upgrade"}, 101},
		{"4.2.1", "POST", []string{"GET /ws", "POST /ws HTTP/1.1"}, 404},
		{"4.2.1", "HTTP/1.0 and no upgrade", []string{"GET /ws", "GET /ws HTTP/1.0", "Upgrade:", ""}, 426},
		{"4.2.1", "no Upgrade", []string{"Upgrade:", ""}, 426},
		{"4.2.1", "no Connection", []string{"Connection:", ""}, 426},
		{"4.2.1", "no key", []string{"Sec-WebSocket-Key:", ""}, 400},
		{"4.2.1", "a key of 15 bytes", []string{"Sec-WebSocket-Key:", "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25j"}, 400},
		{"4.2.1", "a key that is no base64", []string{"Sec-WebSocket-Key:", "Sec-WebSocket-Key: ***"}, 400},
		{"4.4", "no version", []string{"Sec-WebSocket-Version:", ""}, 400},
		{"4.4", "version 8", []string{"Sec-WebSocket-Version:", "Sec-WebSocket-Version: 8"}, 400},
		{"10.2", "no origin", []string{"Origin:", ""}, 403},
		{"10.2", "another site", []string{"Origin:", "Origin: http://elsewhere.example"}, 403},
		{"10.2", "another port", []string{"Origin:", "Origin: http://127.0.0.1:1"}, 403},
		{"10.2", "origin null", []string{"Origin:", "Origin: null"}, 403},
		{"10.2", "the host inside another name", []string{"Origin:", "Origin: http://elsewhere.example/HOST"}, 403},
		{"10.2", "the host as a user", []string{"Origin:", "Origin: http://HOST@elsewhere.example:" + port}, 403},
		{"4.2.1", "no subprotocol", []string{"Sec-WebSocket-Protocol:", ""}, 400},
		{"4.2.1", "another subprotocol", []string{"Sec-WebSocket-Protocol:", "Sec-WebSocket-Protocol: chat"}, 400},
		{"4.2.2", "ours among others", []string{"Sec-WebSocket-Protocol:", "Sec-WebSocket-Protocol: chat, " + subprotocol}, 101},
	} {
		s := tcp(t, shop.http)
		s.put([]byte(request(host, c.change...)))
		r, err := http.ReadResponse(s.in, nil)
		if err != nil {
			t.Errorf("%s %s: %v", c.section, c.what, err)
			continue
		}
		if r.StatusCode != c.status {
			t.Errorf("%s %s: %s, want %d", c.section, c.what, r.Status, c.status)
		}
		if r.StatusCode == 101 && r.Header.Get("Sec-WebSocket-Protocol") != subprotocol {
			t.Errorf("%s %s: subprotocol %q", c.section, c.what, r.Header.Get("Sec-WebSocket-Protocol"))
		}
		s.Close()
	}
}

func TestFrames(t *testing.T) {
	shop := startShop(t, t.TempDir())
	good := hello(t)
	cut := func(b []byte, n int) [][]byte { return [][]byte{b[:n], b[n:]} }
	h := cut(good, 3)
	long := make([]byte, maxMessage+1)
	bomb := deflated(make([]byte, session.MaxFrame+1))
	code := func(n uint16, reason string) []byte {
		return masked(fin|opClose, append(binary.BigEndian.AppendUint16(nil, n), reason...))
	}
	for _, c := range []struct {
		section, what string
		sent          [][]byte
		want          string // "alive", or how the socket ends
	}{
		{"5.6", "a hello", [][]byte{masked(fin|opBinary, good)}, "alive"},
		{"5.4", "a hello in two fragments", [][]byte{masked(opBinary, h[0]), masked(fin|opContinue, h[1])}, "alive"},
		{"5.4", "empty fragments around a hello", [][]byte{masked(opBinary, nil), masked(opContinue, good), masked(fin|opContinue, nil)}, "alive"},
		{"5.4", "a ping between fragments", [][]byte{masked(opBinary, h[0]), masked(fin|opPing, []byte("x")), masked(fin|opContinue, h[1])}, "alive"},
		{"5.5.2", "a ping of 125 bytes", [][]byte{masked(fin|opPing, make([]byte, 125))}, "alive"},
		{"5.5.3", "a pong that nobody asked for", [][]byte{masked(fin|opPong, []byte("x"))}, "alive"},

		{"5.1", "a frame without a mask", [][]byte{append([]byte{fin | opBinary, 5}, "hello"...)}, "1002"},
		{"5.2", "RSV1 without an extension", [][]byte{masked(fin|0x40|opBinary, good)}, "1002"},
		{"5.2", "RSV2", [][]byte{masked(fin|0x20|opBinary, good)}, "1002"},
		{"5.2", "RSV3", [][]byte{masked(fin|0x10|opBinary, good)}, "1002"},
		{"5.2", "opcode 3", [][]byte{masked(fin|0x3, good)}, "1002"},
		{"5.2", "opcode 7", [][]byte{masked(fin|0x7, good)}, "1002"},
		{"5.2", "opcode 11", [][]byte{masked(fin|0xB, nil)}, "1002"},
		{"5.2", "opcode 15", [][]byte{masked(fin|0xF, nil)}, "1002"},
		{"5.2", "a length with its highest bit set", [][]byte{{fin | opBinary, 0x80 | 127, 0x80, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0}}, "gone"},
		{"5.4", "a fragment of nothing", [][]byte{masked(fin|opContinue, good)}, "1002"},
		{"5.4", "a message inside a message", [][]byte{masked(opBinary, h[0]), masked(fin|opBinary, good)}, "1002"},
		{"5.5", "a ping in fragments", [][]byte{masked(opPing, []byte("x"))}, "1002"},
		{"5.5", "a ping of 126 bytes", [][]byte{masked(fin|opPing, make([]byte, 126))}, "1002"},
		{"5.5", "a close of 126 bytes", [][]byte{masked(fin|opClose, make([]byte, 126))}, "1002"},

		{"5.5.1", "a close", [][]byte{code(1000, "done")}, "1000"},
		{"5.5.1", "a close without a code", [][]byte{masked(fin|opClose, nil)}, "no code"},
		{"5.5.1", "a close and a line after it", [][]byte{code(1000, ""), masked(fin|opBinary, good)}, "1000"},
		// The library takes half a code for none; the socket ends all the same.
		{"5.5.1", "a close of one byte", [][]byte{masked(fin|opClose, []byte{3})}, "no code"},
		{"7.4.1", "close code 1005", [][]byte{code(1005, "")}, "1002"},
		{"7.4.1", "close code 1006", [][]byte{code(1006, "")}, "1002"},
		{"7.4.1", "close code 1015", [][]byte{code(1015, "")}, "1002"},
		{"7.4.2", "close code 999", [][]byte{code(999, "")}, "1002"},
		{"7.4.2", "close code 2999", [][]byte{code(2999, "")}, "1002"},
		{"7.4.2", "close code 4001, which is free", [][]byte{code(4001, "")}, "4001"},
		{"8.1", "a reason that is no UTF-8", [][]byte{code(1000, "\xff\xfe")}, "1002"},

		{"10.4", "a length of 2^40", [][]byte{append([]byte{fin | opBinary, 0x80 | 127}, binary.BigEndian.AppendUint64(nil, 1<<40)...), {0, 0, 0, 0}}, "1009"},
		{"10.4", "a message that is too long", [][]byte{masked(fin|opBinary, long)}, "1009"},
		{"10.4", "a message too long in fragments", [][]byte{masked(opBinary, long[:maxMessage/2]), masked(opContinue, long[:maxMessage/2]), masked(fin|opContinue, long[:8])}, "1009"},

		// What is well-formed for the RFC and is none of our frames.
		{"7.4.1", "text", [][]byte{masked(fin|opText, []byte("hello"))}, "bye 1012"},
		{"8.1", "text that is no UTF-8", [][]byte{masked(fin|opText, []byte("\xff\xfe"))}, "bye 1012"},
		{"5.6", "an empty message", [][]byte{masked(fin|opBinary, nil)}, "bye 1012"},
		{"5.6", "an unknown packing", [][]byte{masked(fin|opBinary, []byte{7, 1, 2})}, "bye 1012"},
		{"5.6", "no frame", [][]byte{masked(fin|opBinary, []byte{rawFrame, 0xff, 0xff})}, "bye 1012"},
		{"5.6", "packed garbage", [][]byte{masked(fin|opBinary, []byte{deflateFrame, 0xff, 0x00, 0x13})}, "bye 1012"},
		{"10.4", "4 MiB and a byte packed into " + fmt.Sprint(len(bomb)), [][]byte{masked(fin|opBinary, bomb)}, "bye 1012"},
		{"5.6", "a second hello", [][]byte{masked(fin|opBinary, good), masked(fin|opBinary, good)}, "bye 1012"},
	} {
		t.Run(c.section+" "+c.what, func(t *testing.T) {
			before := shop.store.Entries()
			s := upgraded(t, shop.http)
			// The server may end the socket while we still write.
			go s.Write(bytes.Join(c.sent, nil))
			if c.want == "alive" {
				if got := s.alive(); got != "alive" {
					t.Errorf("%s", got)
				}
			} else if got := s.ending(); got != c.want {
				t.Errorf("ended with %q, want %q", got, c.want)
			}
			s.Close()
			if got := shop.store.Entries(); got != before {
				t.Errorf("the store grew from %d to %d entries", before, got)
			}
		})
	}
	quiet(t, shop)
}

// Ends that are no close frame: each leaves nothing behind.
func TestSocketsThatJustEnd(t *testing.T) {
	shop := startShop(t, t.TempDir())
	good := masked(fin|opBinary, hello(t))
	for _, c := range []struct {
		what string
		end  func(s *rawSocket)
	}{
		{"half closed", func(s *rawSocket) { s.Conn.(*net.TCPConn).CloseWrite(); s.ending() }},
		{"half closed in a header", func(s *rawSocket) { s.put(good[:1]); s.Conn.(*net.TCPConn).CloseWrite(); s.ending() }},
		{"half closed in a payload", func(s *rawSocket) { s.put(good[:len(good)-1]); s.Conn.(*net.TCPConn).CloseWrite(); s.ending() }},
		{"reset", func(s *rawSocket) { s.put(good); s.Conn.(*net.TCPConn).SetLinger(0) }},
		{"a byte at a time, then gone", func(s *rawSocket) {
			for _, b := range good {
				s.put([]byte{b})
			}
			if got := s.alive(); got != "alive" {
				t.Errorf("a hello byte by byte: %s", got)
			}
		}},
		{"a flood of pings", func(s *rawSocket) {
			const n = 20_000
			go s.Write(bytes.Repeat(masked(fin|opPing, []byte("x")), n))
			for i := range n {
				if op, _, err := s.next(); err != nil || op != opPong {
					t.Fatalf("pong %d: %x %v", i, op, err)
				}
			}
		}},
		{"a flood of pings that reads no pong", func(s *rawSocket) {
			s.SetWriteDeadline(time.Now().Add(time.Second))
			s.Write(bytes.Repeat(masked(fin|opPing, make([]byte, 125)), 200_000))
		}},
	} {
		s := upgraded(t, shop.http)
		c.end(s)
		s.Close()
	}
	quiet(t, shop)

	p := newPhone(t, "after all that") // is served as ever
	p.connect(shop)
	p.untilCaught()
	p.hangUp()
	quiet(t, shop)
}

// quiet waits until no session and no goroutine of one is left.
func quiet(t *testing.T, shop *shopAt) {
	t.Helper()
	began, stacks := time.Now(), make([]byte, 1<<20)
	for {
		text := string(stacks[:runtime.Stack(stacks, true)])
		if shop.hub.count() == 0 && !strings.Contains(text, "wsSession") {
			return
		}
		if time.Since(began) > writeWait+5*time.Second {
			t.Fatalf("%d sessions are left, and goroutines:\n%s", shop.hub.count(), text)
		}
		time.Sleep(5 * time.Millisecond)
	}
}
