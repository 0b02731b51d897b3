package pwa_test

import (
	"bytes"
	"compress/flate"
	"io"
	"net/http"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"bayhold/server/browsertest"
	"bayhold/sync/clock"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// brings is a phone without a screen that brings lines to the shop and stays
// until each has its answer.
func brings(t *testing.T, addr string, device logbook.ID, entries ...logbook.Entry) {
	t.Helper()
	ws, _, err := (&websocket.Dialer{Subprotocols: []string{"bayhold.1"}}).Dial("ws://"+addr+"/ws", http.Header{"Origin": {"http://" + addr}})
	if err != nil {
		t.Fatal(err)
	}
	defer ws.Close()
	began := time.Now().Add(-time.Second)
	now := func() (wall, mono int64) { return time.Now().UnixMilli(), time.Since(began).Milliseconds() }
	wall, mono := now()
	clk := clock.NewPhone(1, wall, mono)
	var outbox [][]byte
	for _, e := range entries {
		e.At = clk.Stamp(wall, mono)
		outbox = append(outbox, e.Append(nil))
	}
	end := session.NewPhone(device, clk)
	out := end.Open(wall, mono, nil, nil, nil, outbox)
	for answered := 0; ; {
		for _, f := range out.Frames {
			if err := ws.WriteMessage(websocket.BinaryMessage, append([]byte{0}, f.Bytes...)); err != nil {
				t.Fatal(err)
			}
		}
		if answered += len(out.Kept) + len(out.Aside); answered == len(entries) {
			return
		}
		ws.SetReadDeadline(time.Now().Add(browsertest.Patience))
		_, msg, err := ws.ReadMessage()
		if err != nil || out.Closed != "" {
			t.Fatalf("%d of %d lines are answered: %s %v", answered, len(entries), out.Closed, err)
		}
		frame := msg[1:]
		if msg[0] == 1 {
			if frame, err = io.ReadAll(flate.NewReader(bytes.NewReader(frame))); err != nil {
				t.Fatal(err)
			}
		}
		wall, mono := now()
		if out, err = end.Frame(frame, wall, mono); err != nil {
			t.Fatal(err)
		}
	}
}
