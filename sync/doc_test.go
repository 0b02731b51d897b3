package baysync_test

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"os"
	"slices"
	"strings"
	"testing"

	public "github.com/fxamacker/cbor/v2"

	"bayhold/sync/cbor"
	"bayhold/sync/clock"
	"bayhold/sync/jsonl"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
	"bayhold/sync/session/memstore"
)

// doc is the text of the package comment, without its slashes.
func doc(t *testing.T) string {
	b, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	for line := range strings.Lines(string(b)) {
		out.WriteString(strings.TrimPrefix(line, "//"))
	}
	return out.String()
}

// examples reads the indented frames: a name, and hex that goes on in the
// lines below it.
func examples(text string) map[string]string {
	out := map[string]string{}
	name := ""
	for line := range strings.Lines(text) {
		f := strings.Fields(line)
		if !strings.HasPrefix(line, "\t") || len(f) == 0 {
			name = ""
			continue
		}
		if f[0] == "frame" && len(f) > 1 {
			name, f = f[1], f[2:]
		}
		if name != "" {
			out[name] += strings.Join(f, "")
		}
	}
	return out
}

const at = 1_772_600_000_000

var job = logbook.Log{Class: 'j', ID: logbook.Named("V1")}

func tick(seq uint64) []byte {
	e := logbook.Entry{Log: job, Writer: logbook.Named("phone A"), Seq: seq, At: logbook.Stamp{Wall: at, Mono: 900, Life: 7}, Kind: "tick",
		Body: cbor.AppendText(cbor.AppendText(cbor.AppendMap(nil, 1), "stage"), "wash")}
	return e.Append(nil)
}

// exchange runs both ends through every type of frame, by name.
func exchange(t *testing.T) map[string]string {
	out := map[string]string{}
	store := memstore.New()
	shop := session.NewShop(store, at, nil)
	phone := session.NewPhone(logbook.Named("phone A"), clock.NewPhone(7, at, 1000))
	refuse := func(*judge.Submission) string { return "" }

	up := func(frames []session.Frame, names ...string) {
		if len(frames) != len(names) {
			t.Fatalf("the phone sends %d frames, not %v", len(frames), names)
		}
		for i, f := range frames {
			if _, seen := out[names[i]]; !seen {
				out[names[i]] = hex.EncodeToString(f.Bytes)
			}
			subs, err := shop.Frame(f.Bytes, at+20)
			if err != nil {
				t.Fatal(err)
			}
			verdicts, err := store.Write(subs, refuse)
			if err != nil {
				t.Fatal(err)
			}
			store.Sync()
			for i := range verdicts {
				shop.Settle(&subs[i], &verdicts[i])
				if verdicts[i].What == judge.Kept {
					shop.Poke(job)
				}
			}
		}
	}
	var said session.Out
	var copied []session.Moved
	var has session.Line // the phone's copy of the job
	down := func(names ...string) {
		for _, name := range names {
			f, ok, err := shop.Next(at + 21)
			if !ok || err != nil {
				t.Fatalf("no %s: %v", name, err)
			}
			if _, seen := out[name]; !seen {
				out[name] = hex.EncodeToString(f.Bytes)
			}
			if said, err = phone.Frame(f.Bytes, at+40, 1040); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if len(said.Moved) > 0 {
				copied = said.Moved
			}
			for _, k := range said.Kept {
				has = session.Line{Order: k.Order, Entry: tick(k.Name.Ref.Seq), Receipt: k.Receipt}
			}
		}
		if _, more, _ := shop.Next(at + 21); more {
			t.Fatalf("more than %v", names)
		}
	}
	up(phone.Open(at, 1000, nil, nil, nil, [][]byte{tick(1)}).Frames, "hello", "lines")
	down("welcome", "kept", "batch", "caught")
	up(phone.Probe(at+50, 1050).Frames, "beat")
	down("echo")
	up(phone.Send(at+60, 1060, tick(3)).Frames, "lines")
	down("from")
	refuse = func(*judge.Submission) string { return "not yours to write" }
	up(phone.Send(at+70, 1070, tick(2)).Frames, "lines")
	down("aside")
	for _, f := range phone.Send(at+80, 1080, tick(3)).Frames {
		subs, err := shop.Frame(f.Bytes, at+80)
		if err != nil || !shop.Later(subs, "no room for it now", 30_000) {
			t.Fatal("it cannot be told later", err)
		}
	}
	down("later")
	shop.Live(job, cbor.AppendUint(nil, 5))
	down("live")

	// The shop loses its disk, and goes on from a backup without a line.
	store.Restore(0)
	shop = session.NewShop(store, at+100, nil)
	phone = session.NewPhone(logbook.Named("phone A"), clock.NewPhone(7, at, 1000))
	up(phone.Open(at, 1000, copied, nil, nil, nil).Frames, "hello")
	down("welcome")
	up(phone.Bring([]session.Line{has}).Frames, "proof")
	down("want")
	up(phone.Bring([]session.Line{has}).Frames, "bring")
	down("taken")
	out["bye"] = hex.EncodeToString(session.Bye("closing", 5000).Bytes)
	left, err := logbook.Decode(tick(1))
	if err != nil {
		t.Fatal(err)
	}
	left.Body = cbor.AppendText(cbor.AppendText(cbor.AppendMap(nil, 1), "stage"), "erased")
	out["erased"] = hex.EncodeToString(logbook.Left(logbook.Sum(tick(1)), &left))
	return out
}

// TestFrames compares every frame in the package comment with what both ends
// make of the same exchange.
func TestFrames(t *testing.T) {
	want := examples(doc(t))
	got := exchange(t)
	if len(want) != len(got) {
		t.Errorf("%d frames are documented, %d made", len(want), len(got))
	}
	for name, frame := range got {
		if want[name] != frame {
			t.Errorf("frame %s\n\tis      %s\n\tdoc has %s", name, frame, want[name])
		}
	}
}

// TestOlderProtocols says hello as a phone of protocol 1 and one of protocol 2
// did, with the frames that the package comment had then: its line is kept and
// answered in the old form, it gets no lines, and its first beat is answered by
// what to do.
func TestOlderProtocols(t *testing.T) {
	const key = "58203b6a27bcceb6a42d62a3a8d02a6f0d73653215771de243a63ac048a18b59da29"
	for version, welcome := range map[string]string{
		"01": "8a1001011b0000019cb7317e001903e81b0000019cb7317e141b0000019cb7317e1580f480",
		"02": "8b1002011b0000019cb7317e001903e81b0000019cb7317e141b0000019cb7317e1580f480" + key,
	} {
		t.Run(version, func(t *testing.T) { olderProtocol(t, version, welcome) })
	}
}

func olderProtocol(t *testing.T, version, welcome string) {
	frame := func(text string) []byte {
		b, err := hex.DecodeString(text)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	store := memstore.New()
	other := logbook.Entry{Log: job, Writer: logbook.Named("phone B"), Seq: 1, Kind: "tick", Body: cbor.AppendMap(nil, 0)}
	if _, err := store.Write([]judge.Submission{{Bytes: other.Append(nil), Entry: other}}, func(*judge.Submission) string { return "" }); err != nil {
		t.Fatal(err)
	}
	store.Sync()
	shop := session.NewShop(store, at, nil)
	if _, err := shop.Frame(frame("8801"+version+"501ac1b60050d086b19023e339b00d5ef4071b0000019cb7317e001903e88080"), at+20); err != nil {
		t.Fatal(err)
	}
	subs, err := shop.Frame(frame(examples(doc(t))["lines"]), at+20)
	if err != nil {
		t.Fatal(err)
	}
	verdicts, err := store.Write(subs, func(*judge.Submission) string { return "" })
	if err != nil {
		t.Fatal(err)
	}
	if verdicts[0].Receipt.Order != 2 {
		t.Fatalf("%+v", verdicts)
	}
	store.Sync()
	shop.Settle(&subs[0], &verdicts[0])
	shop.Poke(job)
	want := []string{
		welcome,
		// kept: as in the package comment, but for order 2 behind the other's line
		strings.Replace(examples(doc(t))["kept"], "018101"+"8101"+"8101", "018101"+"8102"+"8101", 1),
	}
	for {
		f, ok, err := shop.Next(at + 21)
		if err != nil {
			t.Fatal(err)
		}
		if !ok {
			break
		}
		if len(want) == 0 || hex.EncodeToString(f.Bytes) != want[0] {
			t.Fatalf("%x, want %v", f.Bytes, want)
		}
		want = want[1:]
	}
	if len(want) > 0 {
		t.Errorf("never said: %v", want)
	}
	if _, err := shop.Frame(frame("83031b0000019cb7317e3219041a"), at+20020); err == nil || !strings.Contains(err.Error(), "close the app and open it again") {
		t.Errorf("the beat is answered: %v", err)
	}
	for _, version := range []string{"00", "05"} {
		_, err := session.NewShop(store, at, nil).Frame(frame("8801"+version+"501ac1b60050d086b19023e339b00d5ef4071b0000019cb7317e001903e88080"), at+20)
		if err == nil || !strings.Contains(err.Error(), "close the app and open it again") {
			t.Errorf("protocol %s: %v", version, err)
		}
	}
}

// TestProtocol3 says hello as a phone of protocol 3 did: it gets lines as ever,
// and cannot be told that one of its own is to come later.
func TestProtocol3(t *testing.T) {
	hello := strings.Replace(examples(doc(t))["hello"], "880104", "880103", 1)
	welcome := strings.Replace(examples(doc(t))["welcome"], "8b1004", "8b1003", 1)
	store := memstore.New()
	first, err := logbook.Decode(tick(1))
	if err != nil {
		t.Fatal(err)
	}
	sub := judge.Submission{Bytes: tick(1), Entry: first, Arrived: at + 20, Latest: at + 20}
	if _, err := store.Write([]judge.Submission{sub}, func(*judge.Submission) string { return "" }); err != nil {
		t.Fatal(err)
	}
	store.Sync()
	shop := session.NewShop(store, at, nil)
	send := func(text string) []judge.Submission {
		t.Helper()
		b, err := hex.DecodeString(text)
		if err != nil {
			t.Fatal(err)
		}
		subs, err := shop.Frame(b, at+20)
		if err != nil {
			t.Fatal(err)
		}
		return subs
	}
	send(hello)
	for _, want := range []string{welcome, "8914", "811818"} { // a batch begins so
		f, ok, err := shop.Next(at + 21)
		if err != nil || !ok || !strings.HasPrefix(hex.EncodeToString(f.Bytes), want) {
			t.Errorf("%x, want %s (%v)", f.Bytes, want, err)
		}
	}
	subs := send(examples(doc(t))["lines"])
	if shop.Later(subs, "no room for it now", 30_000) {
		t.Error("it is told what it does not know")
	}
	if f, ok, _ := shop.Next(at + 21); ok {
		t.Errorf("it hears %x", f.Bytes)
	}
}

// TestHeadIsSigned reads the key of the documented welcome and the head of the
// documented batch with public libraries, and checks the signature by RFC 8032
// with the standard library: what a stranger needs to prove a line.
func TestHeadIsSigned(t *testing.T) {
	frame := func(name string) (items []any) {
		b, err := hex.DecodeString(examples(doc(t))[name])
		if err != nil {
			t.Fatal(err)
		}
		if err := public.Unmarshal(b, &items); err != nil {
			t.Fatal(name, err)
		}
		return items
	}
	key, batch := frame("welcome")[10].([]byte), frame("batch")
	receipt := exchangeReceipt(t)
	genesis := sha256.Sum256(batch[1].([]byte))
	r, e := sha256.Sum256(receipt), sha256.Sum256(tick(1))
	hash := sha256.Sum256(slices.Concat(genesis[:], r[:], e[:]))
	if !slices.Equal(batch[7].([]byte), hash[:]) {
		t.Errorf("the batch leads to %x, the formula to %x", batch[7], hash)
	}
	enc, _ := public.CoreDetEncOptions().EncMode()
	head, err := enc.Marshal([]any{"bayhold head", batch[1], 1, 1, hash[:]})
	if err != nil {
		t.Fatal(err)
	}
	if signature := batch[8].([]byte); !ed25519.Verify(key, head, signature) {
		t.Errorf("%x is no signature of %x", signature, head)
	}
	// The key of a seed of zeros, as every Ed25519 library has it (from memory).
	if got := hex.EncodeToString(key); got != "3b6a27bcceb6a42d62a3a8d02a6f0d73653215771de243a63ac048a18b59da29" {
		t.Errorf("the key is %s", got)
	}
}

// exchangeReceipt is line 1's receipt as the frame kept says it, in columns.
func exchangeReceipt(t *testing.T) []byte {
	b, _ := hex.DecodeString(examples(doc(t))["kept"])
	var items [2]any
	if err := public.Unmarshal(b, &items); err != nil {
		t.Fatal(err)
	}
	run := items[1].([]any)[0].([]any)
	enc, _ := public.CoreDetEncOptions().EncMode()
	first := func(i int) any { return run[i].([]any)[0] }
	out, err := enc.Marshal([]any{first(5), first(4), first(6), first(7), first(8)})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestLines reads the lines of JSON in the package comment: one written by
// hand, and the one that an export prints of the frames' entry.
func TestLines(t *testing.T) {
	var lines []string
	for line := range strings.Lines(doc(t)) {
		if strings.HasPrefix(line, "\t{") {
			lines = append(lines, strings.TrimSpace(line))
		}
	}
	if len(lines) != 2 {
		t.Fatalf("%d lines", len(lines))
	}
	byHand, err := jsonl.Read(strings.NewReader(lines[0]))
	if err != nil || !byHand[0].Hand || byHand[0].Entry.Seq != 1 || byHand[0].Receipt.Earliest != byHand[0].Entry.At.Wall {
		t.Errorf("by hand: %+v, %v", byHand, err)
	}
	exported, err := jsonl.Append(nil, tick(1), &logbook.Receipt{Epoch: 1, Order: 1, Arrived: at + 20, Earliest: 0, Latest: at})
	if err != nil || lines[1]+"\n" != string(exported) {
		t.Errorf("exported: %s, %v", exported, err)
	}
	for _, must := range []string{"log", "writer", "at", "kind", "body"} {
		if _, err := jsonl.Read(strings.NewReader(strings.Replace(lines[0], `"`+must+`"`, `"x"`, 1))); err == nil || !strings.Contains(err.Error(), "line 1") {
			t.Errorf("a line without %s: %v", must, err)
		}
	}
}
