package session

import (
	"bayhold/sync/clock"
	"bayhold/sync/logbook"
)

// Phone is the phone's end of one connection; a new socket gets a new one.
type Phone struct{}

// NewPhone is the end of a connection whose socket just opened. The device is
// what the shop enrolled; clk is the phone's clock, which the session feeds.
func NewPhone(device logbook.ID, clk *clock.Phone) *Phone { panic("not yet") }

// Open says hello: cursors and what each writer has written, and behind it
// the outbox (lines without receipt, entry bytes, in the order written), all
// before the shop answers. wall and mono are read after the socket opened.
func (p *Phone) Open(wall, mono int64, cursors []Moved, written []Written, outbox [][]byte) Out {
	panic("not yet")
}

// Send sends lines that are stored: new ones, and what Out.Resend asked for.
func (p *Phone) Send(wall, mono int64, entries ...[]byte) Out { panic("not yet") }

// Frame takes one frame of the shop. An error means that the frame was
// refused and nothing changed: close the socket and open anew.
func (p *Phone) Frame(frame []byte, wall, mono int64) (Out, error) { panic("not yet") }

// Tick is called every few seconds: it beats, and closes a silent socket.
func (p *Phone) Tick(wall, mono int64) Out { panic("not yet") }

// Probe is called when the page returns (visible, online, after sleep): it
// beats at once, and a socket that does not answer soon is closed by Tick.
func (p *Phone) Probe(wall, mono int64) Out { panic("not yet") }

// Caught says whether this phone had everything of the shop at its last word.
func (p *Phone) Caught() bool { panic("not yet") }

// Backoff is the wait in ms before connection attempt n (from 0) with full
// jitter from 64 random bits; serverRetry is Out.RetryIn.
func Backoff(n int, random uint64, serverRetry int64) int64 { panic("not yet") }
