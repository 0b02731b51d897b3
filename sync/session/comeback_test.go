package session_test

import (
	"fmt"
	"slices"
	"testing"

	"bayhold/sync/cbor"
	"bayhold/sync/clock"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
	"bayhold/sync/session/memstore"
)

// lossy is a shop with ten lines of a place's logbook, of which phones carry
// the last six, and what a phone has of them.
func lossy(t testing.TB) (store *memstore.Store, copied []session.Moved, lines []session.Line) {
	store = memstore.New()
	for seq := uint64(1); seq <= 10; seq++ {
		e := logbook.Entry{Log: simLogs[1], Writer: logbook.Named("logger"), Seq: seq, Kind: "block", Body: cbor.AppendMap(nil, 0)}
		if _, err := store.Write([]judge.Submission{{Bytes: e.Append(nil), Entry: e, Arrived: int64(seq), Latest: int64(seq)}}, policy); err != nil {
			t.Fatal(err)
		}
		store.Sync()
	}
	store.CarryFrom(simLogs[1], 4)
	shop, phone := session.NewShop(store, 20, nil), session.NewPhone(logbook.Named("A"), clock.NewPhone(7, 20, 0))
	for _, out := range talk(t, store, shop, phone, phone.Open(20, 0, nil, nil, nil, nil), nil) {
		copied, lines = append(copied, out.Moved...), append(lines, out.Lines...)
	}
	return store, copied, lines
}

// talk goes on until nobody has anything to say, and answers what the phone was
// to do. What the phone is asked for it takes from lines. New lines named in
// noRoom are to come later.
func talk(t testing.TB, store *memstore.Store, shop *session.Shop, phone *session.Phone, out session.Out, lines []session.Line, noRoom ...string) (all []session.Out) {
	for {
		all = append(all, out)
		for _, f := range out.Frames {
			subs, err := shop.Frame(f.Bytes, 30)
			if err != nil {
				t.Fatal(err)
			}
			if len(subs) == 1 && slices.Contains(noRoom, subs[0].Entry.Kind) {
				if !shop.Later(subs, "no room", 20_000) {
					t.Fatal("the phone cannot be told to come later")
				}
				continue
			}
			verdicts, err := store.Write(subs, policy)
			if err != nil {
				t.Fatal(err)
			}
			store.Sync()
			for i := range verdicts {
				shop.Settle(&subs[i], &verdicts[i])
			}
		}
		if out.Bring != nil {
			for len(lines) > 0 && lines[0].Order < out.From {
				lines = lines[1:]
			}
			out = phone.Bring(lines)
			continue
		}
		f, ok, err := shop.Next(30)
		if err != nil {
			t.Fatal(err)
		}
		if !ok {
			return all
		}
		if out, err = phone.Frame(f.Bytes, 30, 10); err != nil {
			t.Fatal(err)
		}
	}
}

// A copy that begins in the middle of a logbook, behind lines that the shop has
// lost too, proves itself by the hash that it begins at.
func TestBroughtBackFromTheMiddle(t *testing.T) {
	store, copied, lines := lossy(t)
	if len(lines) != 6 || len(copied) != 1 || copied[0].Base == nil || copied[0].Base.Order != 4 {
		t.Fatalf("%d lines, %+v", len(lines), copied)
	}
	store.Restore(2)
	shop, phone := session.NewShop(store, 20, nil), session.NewPhone(logbook.Named("A"), clock.NewPhone(8, 20, 0))
	all := talk(t, store, shop, phone, phone.Open(20, 0, copied, nil, nil, nil), lines)
	if last := all[len(all)-1]; len(last.Rewound) != 1 || last.Closed == "" {
		t.Errorf("at last %+v", last)
	}
	got, _ := store.After(simLogs[1], 0, 100, 1<<20)
	if len(got) != 8 {
		t.Fatalf("the shop has %d lines, not the 2 of the backup and 6 more", len(got))
	}
	for i, l := range got[2:] {
		c, _ := logbook.DecodeReceipt(l.Receipt)
		if n := uint64(i + 5); string(l.Entry) != string(lines[i].Entry) || c.Was != (logbook.Was{Epoch: 1, Order: n, Arrived: int64(n)}) {
			t.Errorf("line %d is %+v", i+3, c)
		}
	}
}

// A phone undid a line that its copy has. Meanwhile the shop lost that line, and
// another one has its name. While the undo is to come later the copy stays in
// use, for only this connection, or the next that brings the copy back, tells
// the shop that the undo means another line than the shop has.
func TestUndoGoesBeforeItsCopy(t *testing.T) {
	store, copied, lines := lossy(t)
	store.Restore(2)
	for seq := uint64(3); seq <= 8; seq++ {
		e := logbook.Entry{Log: simLogs[1], Writer: logbook.Named("logger"), Seq: seq, Kind: "door", Body: cbor.AppendMap(nil, 0)}
		if _, err := store.Write([]judge.Submission{{Bytes: e.Append(nil), Entry: e, Arrived: 15, Latest: 15}}, policy); err != nil {
			t.Fatal(err)
		}
		store.Sync()
	}
	for _, undo := range []struct {
		strikes []logbook.Ref
		waits   bool
	}{{[]logbook.Ref{{Writer: logbook.Named("logger"), Seq: 8}}, true}, {nil, false}} {
		e := logbook.Entry{Log: simLogs[1], Writer: logbook.Named("A's"), Seq: 1, Kind: "undo", Body: cbor.AppendMap(nil, 0), Strikes: undo.strikes}
		shop, phone := session.NewShop(store, 20, nil), session.NewPhone(logbook.Named("A"), clock.NewPhone(8, 20, 0))
		all := talk(t, store, shop, phone, phone.Open(20, 0, copied, nil, nil, [][]byte{e.Append(nil)}), lines, "undo")
		if last := all[len(all)-1]; (len(last.Rewound) == 0) != undo.waits {
			t.Fatalf("strikes %v: at last %+v", undo.strikes, last)
		}
		if !undo.waits {
			continue
		}
		if out := phone.Tick(20+20_010, 20_010); len(out.Resend) != 1 {
			t.Fatalf("not sent again: %+v", out)
		}
		all = talk(t, store, shop, phone, phone.Send(20+20_010, 20_010, e.Append(nil)), lines)
		if last := all[len(all)-1]; len(last.Aside) != 1 || len(last.Rewound) != 1 {
			t.Errorf("in the end %+v", last)
		}
	}
}

// While lines of a logbook are to come later, what is sent of another of the
// phone's writers waits too, or of the same from before, and is asked for with them.
func TestLaterAsksForAllThatWaited(t *testing.T) {
	line := func(writer string, seq uint64) (b []byte, sub judge.Submission) {
		e := logbook.Entry{Log: simLogs[1], Writer: logbook.Named(writer), Seq: seq, Kind: "tick", Body: cbor.AppendMap(nil, 0)}
		b = e.Append(nil)
		return b, judge.Submission{Bytes: b, Entry: e, Arrived: 10, Latest: 10}
	}
	first, there := line("new", 1)
	second, _ := line("new", 2)
	old, _ := line("old", 1)
	store := memstore.New()
	if _, err := store.Write([]judge.Submission{there}, policy); err != nil {
		t.Fatal(err)
	}
	store.Sync()
	shop, phone := session.NewShop(store, 20, nil), session.NewPhone(logbook.Named("A"), clock.NewPhone(8, 20, 0))
	talk(t, store, shop, phone, phone.Open(20, 0, nil, nil, nil, [][]byte{second}), nil, "tick")
	if out := phone.Send(30, 10, old, old, first); len(out.Frames) > 0 {
		t.Fatalf("sent although it is to come later: %+v", out)
	}
	var asked []string
	for _, m := range phone.Tick(20+20_010, 20_010).Resend {
		asked = append(asked, fmt.Sprint(m.Writer, " from ", m.From))
	}
	want := []string{logbook.Named("new").String() + " from 1", logbook.Named("old").String() + " from 1"}
	if !slices.Equal(asked, want) {
		t.Errorf("asked for %v, want %v", asked, want)
	}
}

// FuzzComeback gives any bytes to both ends while a run comes back. A frame that
// is refused hands nothing on and is answered by nothing.
func FuzzComeback(f *testing.F) {
	store, copied, lines := lossy(f)
	store.Restore(2)
	ends := func() (*session.Shop, *session.Phone, [][]byte) {
		shop, phone := session.NewShop(store, 20, nil), session.NewPhone(logbook.Named("A"), clock.NewPhone(8, 20, 0))
		var seeds [][]byte
		out := phone.Open(20, 0, copied, nil, nil, nil)
		for range 2 {
			for _, frame := range out.Frames {
				seeds = append(seeds, frame.Bytes)
				if _, err := shop.Frame(frame.Bytes, 30); err != nil {
					f.Fatal(err)
				}
			}
			down, ok, err := shop.Next(30)
			if !ok || err != nil {
				f.Fatal("the shop says nothing", err)
			}
			seeds = append(seeds, down.Bytes)
			if out, err = phone.Frame(down.Bytes, 30, 10); err != nil {
				f.Fatal(err)
			}
			if out.Bring != nil && out.From == 1 {
				out = phone.Bring(lines)
			}
		}
		seeds = append(seeds, phone.Bring(lines).Frames[0].Bytes)
		return shop, phone, seeds
	}
	_, _, seeds := ends()
	for _, b := range seeds {
		f.Add(b)
		f.Add(b[:len(b)-1])
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		shop, phone, _ := ends()
		subs, err := shop.Frame(b, 31)
		if _, more, _ := shop.Next(31); err != nil && (more || len(subs) > 0) {
			t.Fatalf("refused (%v) and taken: %d lines", err, len(subs))
		}
		out, err := phone.Frame(b, 31, 11)
		if err != nil && (out.Bring != nil || len(out.Frames)+len(out.Taken)+len(out.Rewound) > 0) {
			t.Fatalf("refused (%v) and taken: %+v", err, out)
		}
	})
}
