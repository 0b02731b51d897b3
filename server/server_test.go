package server

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"bayhold/checklist"
)

func get(t *testing.T, url string) (int, string) {
	t.Helper()
	resp, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, _ := io.ReadAll(resp.Body)
	return resp.StatusCode, string(b)
}

// The server is a value: it runs until its context ends and comes back at the
// same folder.
func TestRunUntilStopped(t *testing.T) {
	dir := t.TempDir()
	for range 2 {
		s, err := Open(Config{Data: dir, Addr: "127.0.0.1:0", App: appFiles, Worker: []byte("//"), Bundle: "b1"})
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Listen(); err != nil {
			t.Fatal(err)
		}
		ctx, stop := context.WithCancel(context.Background())
		ended := make(chan error, 1)
		go func() { ended <- s.Run(ctx) }()
		url := "http://" + s.Addr()
		if code, body := get(t, url+"/healthz"); code != 200 || !strings.Contains(body, `"ok":true`) {
			t.Errorf("healthz: %d %s", code, body)
		}
		code, body := get(t, url+"/version")
		var v struct {
			Bundle   string
			Protocol int
		}
		if err := json.Unmarshal([]byte(body), &v); err != nil || code != 200 || v.Bundle != "b1" || v.Protocol != 4 { // as sync/doc.go says of hello
			t.Errorf("version: %d %s", code, body)
		}
		stop()
		if err := <-ended; err != nil {
			t.Errorf("stopped with %v", err)
		}
		if _, err := http.Get(url + "/healthz"); err == nil {
			t.Error("it still serves")
		}
	}
}

// A disk that takes nothing: phones are told to keep their lines and when to
// come back, and the server says that it is not well.
func TestDiskThatTakesNothing(t *testing.T) {
	s, err := Open(Config{Data: t.TempDir(), App: appFiles, Worker: []byte("//")})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	at := &shopAt{Server: s, http: httptest.NewServer(s.Handler())}
	defer at.http.Close()
	p := newPhone(t, "a")
	p.connect(at)
	p.untilCaught()
	s.store.db.Close() // every transaction fails from now on
	line := p.write(jobV5, crew, checklist.JobOpen{Label: "V5", Route: "panels"})
	p.until("the shop says that it cannot write", func() bool { return p.later != "" })
	if !strings.Contains(p.later, "Lines stay on this phone") || len(p.outbox) != 1 || p.rows[line].receipt != nil {
		t.Errorf("said %q, outbox %d", p.later, len(p.outbox))
	}
	if code, body := get(t, at.http.URL+"/healthz"); code != 503 {
		t.Errorf("healthz: %d %s", code, body)
	}
}

// The clock of receipts stands still while the machine's is set back.
func TestClockGoesForwards(t *testing.T) {
	wall := []int64{1000, 2000, 1500, 1999, 2001}
	i := -1
	clock := forwards(func() time.Time { i++; return time.UnixMilli(wall[i]) })
	for _, want := range []int64{1000, 2000, 2000, 2000, 2001} {
		if got := clock(); got != want {
			t.Errorf("%d, want %d", got, want)
		}
	}
}
