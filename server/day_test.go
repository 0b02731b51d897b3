package server

import (
	"bytes"
	"context"
	"crypto/tls"
	"fmt"
	"log/slog"
	"net"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"bayhold/server/cert"
	"bayhold/server/daylog"
	"bayhold/server/join"
	"bayhold/sync/logbook"
	"bayhold/testdata/demo"
	"bayhold/testdata/demo/story"
)

// dayBook is the log of a shop whose clock the test sets.
type dayBook struct {
	slog.Handler
	now *atomic.Int64
}

func (d dayBook) Handle(ctx context.Context, r slog.Record) error {
	r.Time = time.UnixMilli(d.now.Load())
	return d.Handler.Handle(ctx, r)
}

func (d dayBook) WithAttrs(a []slog.Attr) slog.Handler { return dayBook{d.Handler.WithAttrs(a), d.now} }

// lockedText is what a server said, for a reader beside it.
type lockedText struct {
	mu   sync.Mutex
	said bytes.Buffer
}

func (l *lockedText) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.said.Write(b)
}

func (l *lockedText) text() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.said.String()
}

// A shop's day as its owner reads it on the terminal: testdata/day.txt, which a
// person wrote. It has what happened and what to do, each once, whatever phones
// and strangers repeat, and nothing that opens the shop.
func TestTheLogOfADay(t *testing.T) {
	now, said := new(atomic.Int64), new(lockedText)
	clock := func(hhmm string) { now.Store(story.At(story.Wednesday, hhmm).UnixMilli()) }
	log := slog.New(dayBook{daylog.New(said, slog.LevelInfo, time.UTC), now})
	quiet := slog.New(slog.DiscardHandler)
	clock("07:30")
	var seed []Dated
	for _, e := range story.Run('A') {
		if e.At.UnixMilli() <= now.Load() {
			seed = append(seed, datedOf(e))
		}
	}
	dir, disk := filepath.Join(t.TempDir(), "shop"), filepath.Join(t.TempDir(), "backup")
	open := func(log *slog.Logger) *shopAt {
		s, err := Open(Config{Data: dir, Name: shopName, App: appFiles, Worker: []byte("//"), Bundle: "test", Log: log,
			Shop: logbook.Named(demo.Shop), Seed: seed, Now: func() time.Time { return time.UnixMilli(now.Load()) }})
		if err != nil {
			t.Fatal(err)
		}
		at := &shopAt{Server: s, http: httptest.NewTLSServer(s.Handler()), dir: dir}
		t.Cleanup(func() { at.stop(t) })
		return at
	}
	s := open(log)
	var secrets []string

	clock("07:31")
	desk := newKey(t)
	first, _ := s.FirstLead()
	secrets = append(secrets, tokenOf(first), first.Code)
	desk.joins(t, s, object{"token": tokenOf(first), "name": "Desk"})
	desk.connects(t, s, newPhone(t, "desk"))
	secrets = append(secrets, desk.pass)

	clock("07:34")
	bay := newKey(t)
	i := s.Invite(s.http.URL, join.Crew, desk.device)
	secrets = append(secrets, tokenOf(i), i.Code)
	bay.joins(t, s, object{"code": i.Code, "name": "Bay 2\x1b[2J\n07:35  Needs you: ring 0900"})

	clock("07:40") // somebody guesses, and somebody's phone that is none of the shop's comes back and back
	for range 3 {
		newKey(t).joins(t, s, object{"code": "0000 0000", "name": "x"})
		stranger := newKey(t)
		ws, nonce := s.open(t)
		proves(t, ws, stranger.device, stranger.sign(t, s.http.URL, stranger.device, nonce))
	}

	clock("07:52")
	watch := newWatch(nil, s.over, log)
	look := func() {
		if err := watch.look(); err != nil {
			t.Fatal(err)
		}
	}
	look()
	look()

	clock("09:14")
	full := &os.PathError{Op: "write", Path: filepath.Join(dir, StoreFile), Err: errNoRoom}
	for range 4 {
		s.writer.refuses(full)
	}
	clock("09:31")
	s.writer.takes()
	s.writer.takes()

	clock("16:30")
	if code, why := s.ask(t, "POST", "/devices/"+bay.device.String()+"/off", desk.pass, nil); code != 204 {
		t.Fatal(code, why)
	}
	for range 2 { // and then it is heard of no more
		bay.connects(t, s, newPhone(t, "bay"))
	}

	clock("18:00")
	if _, err := Backup(dir, disk); err != nil {
		t.Fatal(err)
	}
	clock("18:01")
	if _, err := Backup(dir, dir); err == nil {
		t.Fatal("a backup into the folder itself")
	}

	clock("18:10") // a certificate of 368 days ago: 397 less the last 30 are over
	made := time.UnixMilli(now.Load()).AddDate(0, 0, -368)
	a, err := cert.Open(t.TempDir(), shopName, made)
	if err != nil {
		t.Fatal(err)
	}
	at := made
	leaf, err := a.Leaf(func() time.Time { return at })
	if err != nil {
		t.Fatal(err)
	}
	a.Log, at = log, time.UnixMilli(now.Load())
	pipe, other := net.Pipe()
	defer pipe.Close()
	defer other.Close()
	for range 2 {
		if _, err := leaf.Config().GetCertificate(&tls.ClientHelloInfo{ServerName: shopName, Conn: pipe}); err != nil {
			t.Fatal(err)
		}
	}

	// The power goes: what a server that is stopped takes along stays lying there.
	clock("19:00")
	s.log, s.writer.log = quiet, quiet
	s.stop(t)
	ln, err := net.Listen("unix", filepath.Join(dir, operateSocket))
	if err != nil {
		t.Skip("no sockets in the file system: ", err)
	}
	ln.(*net.UnixListener).SetUnlinkOnClose(false)
	ln.Close()
	clock("19:05")
	s = open(log)
	clock("19:10")
	s.stop(t)

	want, err := os.ReadFile(filepath.Join("testdata", "day.txt"))
	if err != nil {
		t.Fatal(err)
	}
	// How many lines the story has by half past seven may change; three came.
	got := strings.NewReplacer(dir, "/srv/bayhold", disk, "/mnt/other-disk/bayhold",
		fmt.Sprintf("holds %d lines", len(seed)), "holds 2000 lines",
		fmt.Sprintf("holds %d lines", len(seed)+3), "holds 2003 lines").Replace(said.text())
	if got != string(want) {
		t.Errorf("the day reads:\n%s\nand testdata/day.txt:\n%s", got, want)
	}
	for _, secret := range secrets {
		if secret == "" || strings.Contains(got, secret) {
			t.Errorf("%q is in the log, or is none", secret)
		}
	}
}
