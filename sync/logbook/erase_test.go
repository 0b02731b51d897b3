package logbook_test

import (
	"bytes"
	"crypto/sha256"
	"testing"

	public "github.com/fxamacker/cbor/v2"
	"pgregory.net/rapid"

	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// A chain holds after any erasures: its hash is computed here by the formula of
// the package comment and the standard library, from the whole entries; the
// package computes it from what is left. What is left reads as an entry of the
// same name, and a public CBOR library reads both as [hash, map].
func TestChainHoldsAfterErasures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		log := logbook.Log{Class: 'j', ID: logbook.Named("V1")}
		want := sha256.Sum256(append([]byte{'j'}, log.ID[:]...))
		got := logbook.Genesis(log)
		for i := range rapid.IntRange(1, 20).Draw(t, "lines") {
			text := rapid.StringN(0, 40, 80).Draw(t, "text")
			e := logbook.Entry{Log: log, Writer: logbook.Named("A"), Seq: uint64(i + 1), Kind: "note",
				Body: cbor.AppendText(cbor.AppendText(cbor.AppendMap(nil, 1), "text"), text)}
			whole := e.Append(nil)
			receipt := logbook.Receipt{Epoch: 1, Order: uint64(i + 1), Arrived: 5, Latest: 5}.Append(nil)
			r, s := sha256.Sum256(receipt), sha256.Sum256(whole)
			link := append(append(append([]byte(nil), want[:]...), r[:]...), s[:]...)
			want = sha256.Sum256(link)

			stored := whole
			for range rapid.IntRange(0, 2).Draw(t, "times erased") {
				left, err := logbook.Decode(stored)
				if err != nil {
					t.Fatal(err)
				}
				left.Body = cbor.AppendText(cbor.AppendText(cbor.AppendMap(nil, 1), "text"), "erased")
				stored = logbook.Left(logbook.EntrySum(stored), &left)
				var public2 struct {
					_    struct{} `cbor:",toarray"`
					Sum  []byte
					Left map[int]any
				}
				if err := public.Unmarshal(stored, &public2); err != nil || !bytes.Equal(public2.Sum, s[:]) || public2.Left[5] != "note" {
					t.Fatalf("a public library reads %+v, %v", public2, err)
				}
			}
			got = logbook.Next(got, receipt, stored)
			back, err := logbook.Decode(stored)
			if err != nil || back.Ref() != e.Ref() || back.Log != log {
				t.Fatalf("what is left: %+v, %v", back, err)
			}
			if l, ref, ok := logbook.NameOf(stored); !ok || l != log || ref != e.Ref() {
				t.Fatalf("its name: %v %v %v", l, ref, ok)
			}
		}
		if got != want {
			t.Fatalf("the chain leads to %x, by the formula to %x", got, want)
		}
	})
}

// What is no entry is none with a mark in front either.
func TestErasedForm(t *testing.T) {
	e := logbook.Entry{Log: logbook.Log{Class: 'j', ID: logbook.Named("V1")}, Writer: logbook.Named("A"), Seq: 1, Kind: "note", Body: []byte{0xa0}}
	good := logbook.Left(logbook.Hash{1}, &e)
	for name, b := range map[string][]byte{
		"the mark alone": good[:3], "a short hash": good[:30], "nothing left": good[:35], "cut off": good[:len(good)-1],
		"something behind it": append(bytes.Clone(good), 0), "erased twice over": append(bytes.Clone(good[:35]), good...),
		"three items": append([]byte{0x83}, good[1:]...),
	} {
		if _, err := logbook.Decode(b); err == nil {
			t.Errorf("%s is read as an entry", name)
		}
	}
	if _, err := logbook.Decode(good); err != nil {
		t.Error(err)
	}
}
