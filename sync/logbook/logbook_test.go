package logbook_test

import (
	"bytes"
	standard "crypto/sha256"
	"encoding/hex"
	"strings"
	"testing"
	"time"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"

	public "github.com/fxamacker/cbor/v2"
	"github.com/google/uuid"
	"pgregory.net/rapid"
)

func TestIDText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "id")
		id, theirs := logbook.ID(b), uuid.UUID(b)
		if id.String() != theirs.String() {
			t.Fatalf("%s, google/uuid writes %s", id, theirs)
		}
		for _, text := range []string{id.String(), strings.ToUpper(id.String())} {
			if back, ok := logbook.ParseID(text); !ok || back != id {
				t.Fatalf("%s is read as %s, %v", text, back, ok)
			}
		}
	})
	for _, text := range []string{"", "017f22e2-79b0-7cc3-98c4-dc0c0c07398", "017f22e2-79b0-7cc3-98c4-dc0c0c07398ff",
		"017f22e279b0-7cc3-98c4-dc0c0c07398f1", "017f22e2-79b0-7cc3-98c4-dc0c0c07398g", "{017f22e2-79b0-7cc3-98c4-dc0c0c07398}"} {
		if id, ok := logbook.ParseID(text); ok {
			t.Errorf("%q is read as %s", text, id)
		}
	}
}

// RFC 9562 appendix A.6: the UUIDv7 of 2022-02-22T19:22:22Z with rand_a CC3
// and rand_b 18C4DC0C0C07398F.
func TestTimed(t *testing.T) {
	at := time.Date(2022, 2, 22, 19, 22, 22, 0, time.UTC).UnixMilli()
	id := logbook.Timed(at, [10]byte{0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f})
	if want := "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"; id.String() != want {
		t.Errorf("%s, want %s", id, want)
	}
	if u := uuid.UUID(id); u.Version() != 7 || u.Variant() != uuid.RFC4122 {
		t.Errorf("google/uuid sees version %d", u.Version())
	}
}

// RFC 9562 appendix B.2 makes a UUIDv8 of SHA-256(namespace DNS || name); the
// value is from memory. Named hashes what it gets, so the namespace goes in
// front.
func TestNamed(t *testing.T) {
	id := logbook.Named(string(uuid.NameSpaceDNS[:]) + "www.example.com")
	if want := "5c146b14-3c52-8afd-938a-375d0df1fbf6"; id.String() != want {
		t.Errorf("%s, want %s", id, want)
	}
	if u := uuid.UUID(id); u.Version() != 8 || u.Variant() != uuid.RFC4122 {
		t.Errorf("google/uuid sees version %d, variant %v", u.Version(), u.Variant())
	}
}

// draw makes an entry that Check takes.
func draw(t *rapid.T) logbook.Entry {
	id := rapid.Custom(func(t *rapid.T) logbook.ID {
		return logbook.ID(rapid.SliceOfN(rapid.ByteRange(1, 255), 16, 16).Draw(t, "id"))
	})
	ms := rapid.Int64Range(0, logbook.MaxWall)
	e := logbook.Entry{
		Log:    logbook.Log{Class: rapid.SampledFrom([]byte("spj")).Draw(t, "class"), ID: id.Draw(t, "log")},
		Writer: id.Draw(t, "writer"),
		Seq:    rapid.Uint64Range(1, logbook.MaxSeq).Draw(t, "seq"),
		At: logbook.Stamp{Wall: ms.Draw(t, "wall"), Earliest: ms.Draw(t, "earliest"), Mono: ms.Draw(t, "mono"), Life: rapid.Uint64().Draw(t, "life"),
			Offset: rapid.Int64Range(-logbook.MaxTime, logbook.MaxTime).Draw(t, "offset"), OffsetErr: ms.Draw(t, "error"), OffsetAt: ms.Draw(t, "offset at")},
		Kind: rapid.StringN(1, 10, 40).Draw(t, "kind"),
	}
	if rapid.Bool().Draw(t, "by somebody") {
		e.By = id.Draw(t, "by")
	}
	body := rapid.MapOfN(rapid.String(), rapid.OneOf(rapid.Int64().AsAny(), rapid.String().AsAny(), rapid.Bool().AsAny()), 0, 20).Draw(t, "body")
	enc, _ := public.CoreDetEncOptions().EncMode()
	e.Body, _ = enc.Marshal(body)
	for range rapid.IntRange(0, 3).Draw(t, "strikes") {
		e.Strikes = append(e.Strikes, logbook.Ref{Writer: id.Draw(t, "struck"), Seq: 1})
	}
	return e
}

// An entry survives its encoding, and a public library agrees that the bytes
// are the deterministic ones of that map.
func TestEntryRoundTrip(t *testing.T) {
	enc, _ := public.CoreDetEncOptions().EncMode()
	rapid.Check(t, func(t *rapid.T) {
		e := draw(t)
		b := e.Append(nil)
		got, err := logbook.Decode(b)
		if err != nil {
			t.Fatalf("%+v: %v", e, err)
		}
		if again := got.Append(nil); !bytes.Equal(again, b) || !bytes.Equal(got.Body, e.Body) || got.At != e.At || got.By != e.By {
			t.Fatalf("%+v came back as %+v", e, got)
		}
		var pub any
		if err := public.Unmarshal(b, &pub); err != nil {
			t.Fatal(err)
		}
		if theirs, err := enc.Marshal(pub); err != nil || !bytes.Equal(theirs, b) {
			t.Fatalf("ours   %x\ntheirs %x (%v)", b, theirs, err)
		}
	})
}

func sample() logbook.Entry {
	return logbook.Entry{
		Log: logbook.Log{Class: 'j', ID: logbook.Named("V1")}, Writer: logbook.Named("phone A"), Seq: 1,
		At:   logbook.Stamp{Wall: 1772609400000, Earliest: 1772609399000, Mono: 5000, Life: 7},
		By:   logbook.Named("Mo"),
		Kind: "tick", Body: []byte{0xa0},
	}
}

func TestRefused(t *testing.T) {
	for name, change := range map[string]func(*logbook.Entry){
		"a writer":           func(e *logbook.Entry) { e.Writer = logbook.ID{} },
		"seq counts from 1":  func(e *logbook.Entry) { e.Seq = 0 },
		"in 53 bits":         func(e *logbook.Entry) { e.Seq = logbook.MaxSeq + 1 },
		"a small letter":     func(e *logbook.Entry) { e.Log.Class = 'J' },
		"1 to 40 bytes":      func(e *logbook.Entry) { e.Kind = strings.Repeat("k", 41) },
		"kind has 1":         func(e *logbook.Entry) { e.Kind = "" },
		"a body is a map":    func(e *logbook.Entry) { e.Body = []byte{0x80} },
		"a key must be text": func(e *logbook.Entry) { e.Body = []byte{0xa1, 1, 1} },
		"1970 to 9999":       func(e *logbook.Entry) { e.At.Wall = -1 },
		"may be negative":    func(e *logbook.Entry) { e.At.Earliest = -1 },
		"strikes 1 to 16":    func(e *logbook.Entry) { e.Strikes = make([]logbook.Ref, 17) },
		"longer than 16 KiB": func(e *logbook.Entry) {
			e.Body = cbor.AppendText(cbor.AppendText(cbor.AppendMap(nil, 1), "text"), strings.Repeat("x", logbook.MaxEntry))
		},
		"at most 64 keys": func(e *logbook.Entry) {
			e.Body = cbor.AppendMap(nil, 65)
			for i := range 65 {
				e.Body = cbor.AppendNull(cbor.AppendText(e.Body, string([]byte{'a', byte('0' + i/10), byte('0' + i%10)})))
			}
		},
	} {
		e := sample()
		change(&e)
		if err := e.Check(); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("want an error with %q, got %v", name, err)
		}
	}
	e := sample()
	b := e.Append(nil)
	for n := range b {
		if _, err := logbook.Decode(b[:n]); err == nil {
			t.Errorf("the first %d of %d bytes were taken", n, len(b))
		}
	}
	if _, err := logbook.Decode(append(b, 0)); err == nil {
		t.Error("a byte too many was taken")
	}
	for _, c := range []logbook.Receipt{{}, {Epoch: 1}, {Order: 1}, {Epoch: 1, Order: 1, Latest: 1}, {Epoch: 1, Order: 1, Arrived: 2, Earliest: 2, Latest: 1},
		{Epoch: 2, Order: 1, Was: logbook.Was{Epoch: 1}}, {Epoch: 2, Order: 1, Was: logbook.Was{Order: 1}}, {Epoch: 2, Order: 1, Arrived: 9, Latest: 4, Was: logbook.Was{Epoch: 1, Order: 1, Arrived: 3}}} {
		if _, err := logbook.DecodeReceipt(c.Append(nil)); err == nil {
			t.Errorf("receipt %+v was taken", c)
		}
	}
}

// The chain against the standard library, written as the formula says.
func TestChain(t *testing.T) {
	l := logbook.Log{Class: 'j', ID: logbook.Named("V1")}
	name := append([]byte{'j'}, l.ID[:]...)
	if logbook.Genesis(l) != standard.Sum256(name) {
		t.Error("h(0) is not SHA-256(log)")
	}
	h := logbook.Genesis(l)
	e := sample()
	entry := e.Append(nil)
	receipt := logbook.Receipt{Epoch: 1, Order: 1, Arrived: 3, Earliest: 1, Latest: 2}.Append(nil)
	if hex.EncodeToString(receipt) != "850101030102" {
		t.Errorf("receipt %x", receipt)
	}
	r, s := standard.Sum256(receipt), standard.Sum256(entry)
	want := standard.Sum256(append(append(append([]byte{}, h[:]...), r[:]...), s[:]...))
	if logbook.Next(h, receipt, entry) != want || logbook.NextSum(h, receipt, s) != want {
		t.Error("h(1) is not SHA-256(h(0) || SHA-256(receipt) || SHA-256(entry))")
	}
}

// A line that comes back has a new place, and the times of its first receipt
// however often it comes back; the encoding is written out by hand (RFC 8949).
func TestReceiptOfWhatCameBack(t *testing.T) {
	first := logbook.Receipt{Epoch: 1, Order: 7, Arrived: 5, Earliest: 2, Latest: 4}
	again := first.Back(2, 3, 20).Back(4, 2, 9)
	if got := hex.EncodeToString(again.Append(nil)); got != "88"+"04"+"02"+"09"+"02"+"04"+"01"+"07"+"05" {
		t.Errorf("receipt %s", got)
	}
	if c, err := logbook.DecodeReceipt(again.Append(nil)); err != nil || c != again || c.First() != 5 || first.First() != 5 {
		t.Errorf("%+v %v", c, err)
	}
	for _, b := range []string{"880402090204010700", "880402090204000705", "8704020902040107", "8604020902040107"} {
		raw, _ := hex.DecodeString(b)
		if c, err := logbook.DecodeReceipt(raw); err == nil {
			t.Errorf("%s was taken as %+v", b, c)
		}
	}
}

// Lines written again keep their order, their times and what they strike of
// each other.
func TestRewrite(t *testing.T) {
	job, shop := logbook.Log{Class: 'j', ID: logbook.Named("V1")}, logbook.Log{Class: 's', ID: logbook.Named("shop")}
	old, now, other := logbook.Named("old"), logbook.Named("new"), logbook.Named("other")
	var in [][]byte
	for _, v := range []struct {
		log     logbook.Log
		seq     uint64
		strikes []logbook.Ref
	}{{job, 11, nil}, {shop, 4, nil}, {job, 12, []logbook.Ref{{Writer: old, Seq: 11}, {Writer: old, Seq: 10}, {Writer: other, Seq: 11}}}} {
		e := sample()
		e.Log, e.Writer, e.Seq, e.Strikes = v.log, old, v.seq, v.strikes
		in = append(in, e.Append(nil))
	}
	out, err := logbook.Rewrite(in, now, func(l logbook.Log) uint64 { return 1 })
	if err != nil || len(out) != 3 {
		t.Fatal(out, err)
	}
	var got []logbook.Entry
	for _, b := range out {
		e, err := logbook.Decode(b)
		if err != nil {
			t.Fatal(err)
		}
		if e.Writer != now || e.At != sample().At || e.By != sample().By {
			t.Errorf("%+v", e)
		}
		got = append(got, e)
	}
	if got[0].Seq != 1 || got[1].Seq != 1 || got[2].Seq != 2 {
		t.Error("seqs", got[0].Seq, got[1].Seq, got[2].Seq)
	}
	want := []logbook.Ref{{Writer: now, Seq: 1}, {Writer: old, Seq: 10}, {Writer: other, Seq: 11}}
	for i, s := range got[2].Strikes {
		if s != want[i] {
			t.Errorf("strike %d: %v, want %v", i, s, want[i])
		}
	}
}

func FuzzDecode(f *testing.F) {
	e := sample()
	f.Add(e.Append(nil))
	e.Strikes = []logbook.Ref{{Writer: e.Writer, Seq: 1}}
	f.Add(e.Append(nil))
	f.Add(logbook.Receipt{Epoch: 1, Order: 1}.Append(nil))
	f.Add(logbook.Receipt{Epoch: 1, Order: 1}.Back(2, 1, 3).Append(nil))
	f.Fuzz(func(t *testing.T, b []byte) {
		if e, err := logbook.Decode(b); err == nil && !bytes.Equal(e.Append(nil), b) {
			t.Errorf("%x was taken, and is written %x", b, e.Append(nil))
		}
		if e, err := logbook.Decode(b); err == nil {
			if log, ref, ok := logbook.NameOf(b); !ok || log != e.Log || ref != e.Ref() {
				t.Errorf("%x: named %v %v %v, want %v %v", b, log, ref, ok, e.Log, e.Ref())
			}
		}
		if c, err := logbook.DecodeReceipt(b); err == nil && !bytes.Equal(c.Append(nil), b) {
			t.Errorf("receipt %x was taken, and is written %x", b, c.Append(nil))
		}
	})
}

func BenchmarkDecode(b *testing.B) {
	e := sample()
	in := e.Append(nil)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := logbook.Decode(in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAppend(b *testing.B) {
	e := sample()
	var out []byte
	b.ReportAllocs()
	for b.Loop() {
		out = e.Append(out[:0])
	}
}

func BenchmarkChain(b *testing.B) {
	e := sample()
	entry := e.Append(nil)
	receipt := logbook.Receipt{Epoch: 1, Order: 1, Arrived: 3, Earliest: 1, Latest: 2}.Append(nil)
	var h logbook.Hash
	b.ReportAllocs()
	for b.Loop() {
		h = logbook.Next(h, receipt, entry)
	}
}
