package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/sync/logbook"

	public "github.com/fxamacker/cbor/v2"
	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

// host is a core from outside: the op, the argument's bytes, the answer's.
type host func(op int32, arg []byte) []byte

// native is the core as a Go value.
func native() host {
	var c core
	return c.call
}

// compiled is the same core as a phone runs it, in a WebAssembly runtime.
func compiled(t *testing.T) host {
	t.Helper()
	if testing.Short() {
		t.Skip("compiles the core")
	}
	file := filepath.Join(t.TempDir(), "core.wasm")
	build := exec.Command("go", "build", "-buildmode=c-shared", "-gcflags=all=-l", "-ldflags=-s -w", "-o", file, ".")
	build.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm")
	for _, cmd := range []*exec.Cmd{build, exec.Command("go", "run", "../packcore", file)} {
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
	}
	code, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	rt := wazero.NewRuntime(ctx)
	t.Cleanup(func() { rt.Close(ctx) })
	wasi_snapshot_preview1.MustInstantiate(ctx, rt)
	mod, err := rt.InstantiateWithConfig(ctx, code, wazero.NewModuleConfig().WithStartFunctions("_initialize"))
	if err != nil {
		t.Fatal(err)
	}
	return func(op int32, arg []byte) []byte {
		at, err := mod.ExportedFunction("buffer").Call(ctx, api.EncodeI32(int32(len(arg))))
		if err != nil {
			t.Fatal(err)
		}
		if !mod.Memory().Write(uint32(at[0]), arg) {
			t.Fatal("the buffer lies outside the memory")
		}
		out, err := mod.ExportedFunction("call").Call(ctx, api.EncodeI32(op), api.EncodeI32(int32(len(arg))))
		if err != nil {
			t.Fatal(err)
		}
		b, ok := mod.Memory().Read(uint32(out[0]>>32), uint32(out[0]))
		if !ok {
			t.Fatal("the answer lies outside the memory")
		}
		return bytes.Clone(b)
	}
}

type m = map[string]any

// ask calls an op as the worker does and splits the answer.
func (h host) ask(t *testing.T, op int32, arg m) (code byte, text string, blobs [][]byte) {
	t.Helper()
	mode, _ := public.CoreDetEncOptions().EncMode()
	b, err := mode.Marshal(arg)
	if err != nil {
		t.Fatal(err)
	}
	out := h(op, b)
	if out[0] != answered {
		return out[0], string(out[1:]), nil
	}
	n := binary.LittleEndian.Uint32(out[1:])
	text, rest := string(out[5:5+n]), out[5+n:]
	for len(rest) > 0 {
		n := binary.LittleEndian.Uint32(rest)
		blobs = append(blobs, bytes.Clone(rest[4:4+n]))
		rest = rest[4+n:]
	}
	return answered, text, blobs
}

const (
	writer = "01945f00-0000-7000-8000-0000000000a1"
	shopID = "01945f00-0000-7000-8000-0000000000b2"
	bayID  = "01945f00-0000-7000-8000-0000000000c3"
	jobID  = "01945f00-0000-7000-8000-0000000000d4"
	leadID = "01945f00-0000-7000-8000-0000000000e5"
	wall   = int64(1_768_377_600_000)
)

// story writes a small shop and answers what each step said.
func story(t *testing.T, h host) []string {
	var said []string
	seqs := map[string]int{}
	mono := int64(1000)
	note := func(code byte, text string) { said = append(said, string('0'+rune(code))+" "+text) }
	write := func(log, kind string, body, more m) {
		mono += 10_000
		arg := m{"log": log, "kind": kind, "body": body, "by": "", "strikes": []any{}, "seq": seqs[log] + 1,
			"salt": make([]byte, 16), "sure": false, "wall": wall + mono, "mono": mono}
		for k, v := range more {
			arg[k] = v
		}
		code, text, blobs := h.ask(t, opWrite, arg)
		if code == answered {
			if len(blobs) != 1 {
				t.Fatalf("%s: %d blobs, want the entry", kind, len(blobs))
			}
			seqs[log]++
			e, err := logbook.Decode(blobs[0])
			if err != nil || e.Kind != kind || e.Seq != uint64(seqs[log]) {
				t.Fatalf("%+v %v", e, err)
			}
			h.ask(t, opSend, m{"lines": [][]byte{blobs[0]}, "wall": wall + mono, "mono": mono})
		}
		note(code, kind+" "+text)
	}
	view := func(name, id string) m {
		code, text, _ := h.ask(t, opView, m{"name": name, "id": id, "by": leadID, "wall": wall + mono, "mono": mono})
		var v m
		if err := json.Unmarshal([]byte(text), &v); code != answered || err != nil || v["v"] != name {
			t.Fatalf("view %s: %d %v %.200s", name, code, err, text)
		}
		note(code, text)
		return v
	}

	code, text, _ := h.ask(t, opView, m{"name": "home"})
	note(code, text)
	h.ask(t, opStart, m{"writer": writer, "device": writer, "life": 7, "wall": wall, "mono": 0})
	shop, bay, job := "s:"+shopID, "p:"+bayID, "j:"+jobID
	write(shop, "shop.set", m{"name": "Hall", "units": "C", "zone": "Europe/Berlin"}, nil)
	write(shop, "place.add", m{"place": bayID, "name": "bay 4", "sort": "bay", "order": 4}, nil)
	write(shop, "person.add", m{"person": leadID, "name": "A. Lead", "initials": "AL", "role": "lead"}, nil)
	write(job, "job.open", m{"label": "V5", "route": "van"}, nil) // nobody was tapped
	by := m{"by": leadID}
	write(job, "job.open", m{"label": "V5", "route": "van", "place": bayID,
		"panels": []m{{"id": "rear", "name": "Rear doors", "zone": "upper"}}, "spots": []m{{"id": "1", "name": "sill", "zone": "lower"}}}, by)
	write(bay, "climate.reading", m{"air": 20000, "rh": 130000}, by)
	write(bay, "climate.reading", m{"air": 20000, "rh": 55000}, by)
	write(job, "reading", m{"values": []m{{"spot": "1", "surface": 68000}}}, by)
	write(job, "reading", m{"values": []m{{"spot": "1", "surface": 68000}}}, m{"by": leadID, "sure": true})
	write(job, "reading", m{"values": []m{{"spot": "2", "surface": 18000}}}, by)
	write(job, "tick", m{"stage": "wash", "answer": "done"}, by)
	mono -= 9_000 // one second later
	write(job, "tick", m{"stage": "wash", "answer": "done"}, by)
	write(job, "strike", m{}, m{"by": leadID, "strikes": []any{[]any{writer, 3}}})
	write(job, "heat.pass", m{}, by)

	v := view("job", jobID)
	lines := v["lines"].([]any)
	if got := lines[0].(m)["text"]; got != "Taken back" {
		t.Errorf("the latest line says %v", got)
	}
	if l := lines[1].(m); l["text"] != "Wash done" || l["struck"] != true || l["where"] != "here" {
		t.Errorf("the struck tick is shown as %v", l)
	}
	view("home", "")
	view("board", "")
	view("setup", "")
	view("rules", "")
	code, text, _ = h.ask(t, opView, m{"name": "job", "id": bayID, "wall": wall + mono, "mono": mono})
	note(code, text)
	_, text, _ = h.ask(t, opHash, m{"bytes": []byte("abc")})
	note(0, text)
	code, text, _ = h.ask(t, opWrite, m{"colour": "red"})
	note(code, text)
	return said
}

// What the phone runs answers byte for byte as the Go value does, and both
// as a person expects.
func TestCompiledAnswersAsNative(t *testing.T) {
	said := story(t, native())
	for i, want := range []string{
		"1 phonecore: not started",
		"0 shop.set {}", "0 place.add {}", "0 person.add {}",
		"1 job.open Tap your name first.",
		"0 job.open {}",
		"1 climate.reading Humidity 130 % cannot be. It goes from 1 % to 100 %.",
		"0 climate.reading {}",
		"2 reading 68 °C? 68 °F would be 20 °C. Check the unit.",
		"0 reading {}",
		"1 reading This job has no spot '2'.",
		"0 tick {}",
		"1 tick Written already, a moment ago.",
		"0 strike {}",
		"1 heat.pass This phone does not know this kind of line: heat.pass",
	} {
		if said[i] != want {
			t.Errorf("step %d: %q, want %q", i, said[i], want)
		}
	}
	n := len(said)
	// The SHA-256 of "abc" is FIPS 180-4's first example.
	if said[n-3] != "0 " || said[n-2] != `0 {"sha":"ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"}` ||
		!strings.HasPrefix(said[n-1], "1 phonecore: cbor") {
		t.Errorf("%q", said[n-3:])
	}
	other := story(t, compiled(t))
	for i := range said {
		if said[i] != other[i] {
			t.Errorf("step %d\nnative   %.500s\ncompiled %.500s", i, said[i], other[i])
		}
	}
}

// A panic inside becomes an answer that says so.
func TestBroken(t *testing.T) {
	c := core{shop: checklist.NewShop()} // no clock
	mode, _ := public.CoreDetEncOptions().EncMode()
	arg, _ := mode.Marshal(m{"name": "home"})
	if out := c.call(opView, arg); out[0] != broken {
		t.Errorf("%q", out)
	}
}

// Lines stand in line for the fold until somebody looks; whoever looks sees
// them all.
func TestViewSeesWhatStandsInLine(t *testing.T) {
	h := native()
	h.ask(t, opStart, m{"writer": writer, "device": writer, "life": 7, "wall": wall, "mono": 0})
	_, _, blobs := h.ask(t, opWrite, m{"log": "s:" + shopID, "kind": "shop.set", "body": m{"name": "Hall", "units": "C", "zone": "UTC"}, "by": "",
		"strikes": []any{}, "seq": 1, "salt": make([]byte, 16), "sure": false, "wall": wall, "mono": 1000})
	home := func() string {
		_, text, _ := h.ask(t, opView, m{"name": "home", "by": leadID, "wall": wall + 5000, "mono": 5000})
		return text
	}
	if strings.Contains(home(), "Hall") {
		t.Error("a line counts before it is on disk")
	}
	h.ask(t, opSend, m{"lines": blobs, "wall": wall + 2000, "mono": 2000})
	if !strings.Contains(home(), "Hall") {
		t.Errorf("the line sent is not seen: %s", home())
	}
	receipt := logbook.Receipt{Epoch: 1, Order: 1, Arrived: wall, Latest: wall}.Append(nil)
	h.ask(t, opStart, m{"writer": writer, "device": writer, "life": 8, "wall": wall, "mono": 0})
	h.ask(t, opLoad, m{"rows": [][]byte{appendRow(nil, receipt, blobs[0])}})
	if !strings.Contains(home(), "Hall") {
		t.Errorf("the line loaded is not seen: %s", home())
	}
}
