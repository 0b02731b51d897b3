package session_test

import (
	"testing"

	"bayhold/sync/cbor"
	"bayhold/sync/clock"
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
