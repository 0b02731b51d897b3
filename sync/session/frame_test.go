package session_test

import (
	"bytes"
	"testing"

	"bayhold/sync/cbor"
	"bayhold/sync/clock"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
	"bayhold/sync/session/memstore"
)

// pair is both ends after the hello, a line kept and a line on its way.
func pair(t testing.TB) (p *session.Phone, clk *clock.Phone, s *session.Shop, seeds [][]byte) {
	store := memstore.New()
	s, clk = session.NewShop(store, 5000, nil), clock.NewPhone(7, 9000, 100)
	p = session.NewPhone(logbook.Named("A"), clk)
	tick := func(seq uint64) []byte {
		e := logbook.Entry{Log: simLogs[0], Writer: logbook.Named("A"), Seq: seq, At: clk.Stamp(9000, 100), Kind: "tick", Body: cbor.AppendMap(nil, 0)}
		return e.Append(nil)
	}
	up := func(out session.Out) {
		for _, f := range out.Frames {
			seeds = append(seeds, f.Bytes)
			subs, err := s.Frame(f.Bytes, 6000)
			if err != nil {
				t.Fatal(err)
			}
			v, err := store.Write(subs, policy)
			if err != nil {
				t.Fatal(err)
			}
			store.Sync()
			for i := range v {
				s.Settle(&subs[i], &v[i])
				s.Poke(subs[i].Entry.Log)
			}
		}
		for f, ok, _ := s.Next(6001); ok; f, ok, _ = s.Next(6001) {
			seeds = append(seeds, f.Bytes)
			if _, err := p.Frame(f.Bytes, 9100, 200); err != nil {
				t.Fatal(err)
			}
		}
	}
	up(p.Open(9000, 100, nil, nil, nil, [][]byte{tick(1)}))
	up(p.Probe(9200, 300))
	p.Send(9300, 400, tick(2)) // lost
	return p, clk, s, append(seeds, session.Bye("closing", 10).Bytes)
}

// An entry of a form that only a younger shop knows reaches an older phone's
// store as it is, with its place in the chain; what is no entry of the logbook
// is refused.
func TestEntryOfALaterForm(t *testing.T) {
	e := logbook.Entry{Log: simLogs[0], Writer: logbook.Named("B"), Seq: 1, Kind: "tick", Body: cbor.AppendMap(nil, 0)}
	later := e.Append(nil)
	later[0]++ // one field more than an entry has today
	later = cbor.AppendText(cbor.AppendUint(later, 9), "of next year")
	if _, err := logbook.Decode(later); err == nil {
		t.Fatal("this is an entry of today")
	}
	other := e
	other.Log = simLogs[1]
	for _, c := range []struct {
		name  string
		bytes []byte
		taken bool
	}{{"later", later, true}, {"other logbook", other.Append(nil), false}, {"no entry", []byte{0xa0}, false}} {
		t.Run(c.name, func(t *testing.T) {
			store := memstore.New()
			if _, err := store.Write([]judge.Submission{{Bytes: c.bytes, Entry: e}}, policy); err != nil {
				t.Fatal(err)
			}
			store.Sync()
			s := session.NewShop(store, 1, nil)
			p := session.NewPhone(logbook.Named("A"), clock.NewPhone(1, 1, 0))
			if _, err := s.Frame(p.Open(1, 0, nil, nil, nil, nil).Frames[0].Bytes, 1); err != nil {
				t.Fatal(err)
			}
			var got []session.Line
			var refused error
			for f, ok, _ := s.Next(1); ok && refused == nil; f, ok, _ = s.Next(1) {
				out, err := p.Frame(f.Bytes, 2, 1)
				got, refused = append(got, out.Lines...), err
			}
			switch {
			case c.taken && (refused != nil || len(got) != 1 || !bytes.Equal(got[0].Entry, c.bytes) || got[0].Name.Ref != e.Ref()):
				t.Errorf("the phone has %+v (%v)", got, refused)
			case !c.taken && (refused == nil || len(got) > 0):
				t.Errorf("the phone took %+v", got)
			}
		})
	}
}

// FuzzFrame gives any bytes to both ends. A refused frame must change nothing:
// the phone's clock state stays, no row is asked for, the shop hands nothing
// on and has nothing more to say.
func FuzzFrame(f *testing.F) {
	_, _, _, seeds := pair(f)
	for _, b := range seeds {
		f.Add(b)
		f.Add(b[:len(b)-1])
		f.Add(append(b[:len(b):len(b)], 0))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		p, clk, s, _ := pair(t)
		before := string(clk.Append(nil, 9400, 500))
		out, err := p.Frame(b, 9400, 500)
		if err != nil {
			if string(clk.Append(nil, 9400, 500)) != before || !p.Caught() ||
				len(out.Lines)+len(out.Kept)+len(out.Aside)+len(out.Forked)+len(out.Moved)+len(out.Rewound)+len(out.Frames)+len(out.Resend) > 0 {
				t.Fatalf("refused (%v) and taken: %+v", err, out)
			}
		}
		subs, err := s.Frame(b, 6100)
		if err != nil {
			if _, more, _ := s.Next(6101); more || len(subs) > 0 {
				t.Fatalf("refused (%v) and taken: %d lines", err, len(subs))
			}
		}
	})
}
