package server_test

import (
	"bytes"
	"compress/flate"
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"fmt"
	"io"
	"net/http"
	"testing"
	"testing/fstest"
	"time"

	"github.com/fxamacker/cbor/v2"
	"github.com/gorilla/websocket"

	"bayhold/server"
)

// A stranger is a client that shares no code with this project: it was written
// from 'go doc ./sync' and 'go doc ./sync/logbook', over a public CBOR library
// (github.com/fxamacker/cbor), Go's own SHA-256, Ed25519 and DEFLATE. What it
// can do shows that those pages are enough.
type stranger struct {
	t      *testing.T
	ws     *websocket.Conn
	device [16]byte
	writer [16]byte
	seq    uint64
	sent   map[string][]byte // own lines by log and seq
	key    ed25519.PublicKey // the shop's
	books  map[string]*book
	kept   map[string]receipt
	caught bool
}

// book is a copy of one logbook.
type book struct {
	order uint64
	chain [32]byte
	lines [][]byte
}

// receipt is [epoch, order, arrived, earliest, latest].
type receipt [5]int64

var det = func() cbor.EncMode {
	m, err := cbor.CoreDetEncOptions().EncMode() // RFC 8949, 4.2
	if err != nil {
		panic(err)
	}
	return m
}()

func encoded(v any) []byte {
	b, err := det.Marshal(v)
	if err != nil {
		panic(err)
	}
	return b
}

const far = 1<<53 - 1

func join(t *testing.T, addr string) *stranger {
	t.Helper()
	d := websocket.Dialer{Subprotocols: []string{"bayhold.1"}}
	ws, _, err := d.Dial("ws://"+addr+"/ws", http.Header{"Origin": {"http://" + addr}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ws.Close() })
	s := &stranger{t: t, ws: ws, sent: map[string][]byte{}, books: map[string]*book{}, kept: map[string]receipt{}}
	rand.Read(s.device[:])
	rand.Read(s.writer[:])
	s.say([]any{1, 3, s.device[:], 7, time.Now().UnixMilli(), 1000, []any{}, []any{}}) // hello
	return s
}

// say sends a frame as it is.
func (s *stranger) say(frame []any) {
	s.t.Helper()
	if err := s.ws.WriteMessage(websocket.BinaryMessage, append([]byte{0}, encoded(frame)...)); err != nil {
		s.t.Fatal(err)
	}
}

// write makes the next line of a logbook and sends it.
func (s *stranger) write(log []byte, kind string, body map[string]any) []byte {
	s.t.Helper()
	s.seq++
	now := time.Now().UnixMilli()
	entry := encoded(map[int]any{
		0: log, 1: s.writer[:], 2: s.seq,
		3: []int64{now, 0, 2000, 7, 0, 0, 0}, // never met the shop
		4: []byte{}, 5: kind, 6: body})
	s.sent[fmt.Sprintf("%x/%d", log, s.seq)] = entry
	s.say([]any{2, []int64{now, 2000, 0, far}, []any{entry}}) // lines
	return entry
}

// frame takes the shop's next frame.
func (s *stranger) frame() {
	s.t.Helper()
	s.ws.SetReadDeadline(time.Now().Add(time.Minute))
	_, msg, err := s.ws.ReadMessage()
	if err != nil {
		s.t.Fatal(err)
	}
	raw := msg[1:]
	if msg[0] == 1 {
		if raw, err = io.ReadAll(flate.NewReader(bytes.NewReader(raw))); err != nil {
			s.t.Fatal(err)
		}
	}
	var f []cbor.RawMessage
	s.into(raw, &f)
	var kind int
	s.into(f[0], &kind)
	switch kind {
	case 0x10: // welcome
		s.into(f[10], &s.key)
	case 0x11: // kept
		s.receipts(f[1])
	case 0x14:
		s.batch(f)
	case 0x18:
		s.caught = true
	case 0x12, 0x17: // aside, bye
		s.t.Fatalf("the shop refuses: %x", raw)
	}
}

func (s *stranger) into(raw []byte, v any) {
	s.t.Helper()
	if err := cbor.Unmarshal(raw, v); err != nil {
		s.t.Fatalf("%x: %v", raw, err)
	}
}

// column gives the numbers that an array of differences stands for.
func (s *stranger) column(raw []byte) []int64 {
	s.t.Helper()
	var c []int64
	s.into(raw, &c)
	for i := 1; i < len(c); i++ {
		c[i] += c[i-1]
	}
	return c
}

func (s *stranger) receipts(raw []byte) {
	s.t.Helper()
	var runs [][]cbor.RawMessage
	s.into(raw, &runs)
	for _, run := range runs {
		var log []byte
		s.into(run[0], &log)
		var c [6][]int64 // seqs, orders, epochs, arrived, earliest, latest
		for i := range c {
			c[i] = s.column(run[3+i])
		}
		for i, seq := range c[0] {
			s.kept[fmt.Sprintf("%x/%d", log, seq)] = receipt{c[2][i], c[1][i], c[3][i], c[4][i], c[5][i]}
		}
	}
}

func (s *stranger) batch(f []cbor.RawMessage) {
	s.t.Helper()
	var log, chain, signature []byte
	var after uint64
	var columns []cbor.RawMessage
	var entries [][]byte
	s.into(f[1], &log)
	s.into(f[2], &after)
	s.into(f[5], &columns)
	s.into(f[6], &entries)
	s.into(f[7], &chain)
	s.into(f[8], &signature)
	b := s.books[string(log)]
	if b == nil {
		b = &book{chain: sha256.Sum256(log)}
		s.books[string(log)] = b
	}
	if after != b.order {
		s.t.Fatalf("a batch behind line %d, the copy ends at %d", after, b.order)
	}
	epochs, arrived, earliest, latest := s.column(columns[0]), s.column(columns[1]), s.column(columns[2]), s.column(columns[3])
	for i, e := range entries {
		b.order++
		r := receipt{epochs[i], int64(b.order), arrived[i], earliest[i], latest[i]}
		if e == nil { // one of this client's own
			for name, k := range s.kept {
				if k == r && bytes.HasPrefix([]byte(name), fmt.Appendf(nil, "%x/", log)) {
					e = s.sent[name]
				}
			}
		}
		of := sha256.Sum256(encoded(r))
		line := sha256.Sum256(e)
		b.chain = sha256.Sum256(append(append(b.chain[:], of[:]...), line[:]...))
		b.lines = append(b.lines, e)
	}
	if !bytes.Equal(b.chain[:], chain) {
		s.t.Fatalf("the copy's chain is %x at line %d, the shop's %x", b.chain, b.order, chain)
	}
	head := encoded([]any{"bayhold head", log, epochs[len(epochs)-1], b.order, chain})
	if !ed25519.Verify(s.key, head, signature) {
		s.t.Fatal("the head is not signed by the shop")
	}
}

func (s *stranger) until(what string, holds func() bool) {
	s.t.Helper()
	for !holds() {
		s.frame()
	}
}

// Two strangers join a shop; one opens a job and works on it, the other follows
// and writes a line of its own. Both end with the same lines, each proven by the
// chain and by the shop's signature.
func TestStranger(t *testing.T) {
	app := fstest.MapFS{"index.html": {Data: []byte("<!doctype html>")}}
	shop, err := server.Open(server.Config{Data: t.TempDir(), Addr: "127.0.0.1:0", App: app, Worker: []byte("//")})
	if err != nil {
		t.Fatal(err)
	}
	if err := shop.Listen(); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	over := make(chan error, 1)
	go func() { over <- shop.Run(ctx) }()
	defer func() { stop(); <-over }()

	job := append([]byte{'j'}, make([]byte, 16)...)
	rand.Read(job[1:])
	a := join(t, shop.Addr())
	want := [][]byte{a.write(job, "job.open", map[string]any{"label": "V1", "route": "van"})}
	for i := range 20 { // enough for a packed batch to a second client
		want = append(want, a.write(job, "tick", map[string]any{"stage": "wash", "answer": "done", "note": fmt.Sprint("pass ", i)}))
	}
	a.until("all is kept", func() bool { return len(a.kept) == len(want) })

	b := join(t, shop.Addr())
	of := func(s *stranger) *book {
		if s.books[string(job)] == nil {
			return new(book)
		}
		return s.books[string(job)]
	}
	b.until("b has caught up", func() bool { return b.caught })
	want = append(want, b.write(job, "tick", map[string]any{"stage": "dry", "answer": "done"}))
	for _, s := range []*stranger{a, b} {
		s.until("every line", func() bool { return of(s).order == uint64(len(want)) })
		for i, e := range of(s).lines {
			if !bytes.Equal(e, want[i]) {
				t.Errorf("line %d is %x, want %x", i+1, e, want[i])
			}
		}
	}
	if of(a).chain != of(b).chain {
		t.Error("the copies differ")
	}
}
