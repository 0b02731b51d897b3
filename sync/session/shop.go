package session

import (
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// Shop is the shop's end of one connection. It is not safe for concurrent
// use: one goroutine owns it, or a lock.
type Shop struct{}

// NewShop is the end of a connection that was upgraded (101 sent) at server
// time now. tag comes back in every Submission.
func NewShop(store Store, now int64, tag any) *Shop { panic("not yet") }

// Frame takes one frame of the phone that arrived at server time now, and
// answers the lines to hand to the one writer, in order. An error means that
// the frame was refused and nothing changed: send Bye(err) and close.
func (s *Shop) Frame(frame []byte, now int64) ([]judge.Submission, error) { panic("not yet") }

// Settle takes the writer's verdict on a Submission of this session, after
// the fsync.
func (s *Shop) Settle(sub *judge.Submission, v *judge.Verdict) { panic("not yet") }

// Poke says that a logbook has new lines on disk.
func (s *Shop) Poke(log logbook.Log) { panic("not yet") }

// Live queues a value that is not stored, unless the session is behind.
func (s *Shop) Live(log logbook.Log, body []byte) { panic("not yet") }

// Next is the next frame to write, false if there is none: answers first,
// then batches read from the store after the session's own cursors. Call it
// when the socket has room, after every Frame, Settle, Poke, Live and write.
func (s *Shop) Next(now int64) (Frame, bool, error) { panic("not yet") }

// Silent says whether nothing was heard for so long that the socket is to be
// closed.
func (s *Shop) Silent(now int64) bool { panic("not yet") }

// Device is who said hello; zero before.
func (s *Shop) Device() logbook.ID { panic("not yet") }

// Bye is the frame that ends a connection with a sentence, and with a wait in
// ms if the phone is to come back later.
func Bye(why string, retryMs int64) Frame { panic("not yet") }
