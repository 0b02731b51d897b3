package baysync_test

import (
	"encoding/hex"
	"os"
	"strings"
	"testing"

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

// exchange runs both ends through every type of frame but live, by name.
func exchange(t *testing.T) map[string]string {
	out := map[string]string{}
	store := memstore.New()
	shop := session.NewShop(store, at, nil)
	phone := session.NewPhone(logbook.Named("phone A"), clock.NewPhone(7, at, 1000))
	refuse := func(*logbook.Entry) string { return "" }

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
	down := func(names ...string) {
		for _, name := range names {
			f, ok, err := shop.Next(at + 21)
			if !ok || err != nil {
				t.Fatalf("no %s: %v", name, err)
			}
			out[name] = hex.EncodeToString(f.Bytes)
			if _, err := phone.Frame(f.Bytes, at+40, 1040); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
		if _, more, _ := shop.Next(at + 21); more {
			t.Fatalf("more than %v", names)
		}
	}
	up(phone.Open(at, 1000, nil, nil, [][]byte{tick(1)}).Frames, "hello", "lines")
	down("welcome", "kept", "batch", "caught")
	up(phone.Probe(at+50, 1050).Frames, "beat")
	down("echo")
	up(phone.Send(at+60, 1060, tick(3)).Frames, "lines")
	down("from")
	refuse = func(*logbook.Entry) string { return "not yours to write" }
	up(phone.Send(at+70, 1070, tick(2)).Frames, "lines")
	down("aside")
	shop.Live(job, cbor.AppendUint(nil, 5))
	down("live")
	out["bye"] = hex.EncodeToString(session.Bye("closing", 5000).Bytes)
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
