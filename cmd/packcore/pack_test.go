package main

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

// A packed program answers exactly what it answered before, with the garbage
// collector at work and through a panic that is recovered.
func TestPackedRunsTheSame(t *testing.T) {
	out := filepath.Join(t.TempDir(), "probe.wasm")
	build := exec.Command("go", "build", "-buildmode=c-shared", "-trimpath", "-ldflags=-s -w", "-gcflags=all=-l", "-o", out, "./testdata/probe")
	build.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm")
	if msg, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, msg)
	}
	plain, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	packed, stripped, err := pack(plain)
	if err != nil {
		t.Fatal(err)
	}
	if !stripped {
		t.Fatal("the table of functions was not recognised: has this Go a new layout?")
	}
	for _, n := range []int32{0, 1000, 1001, 20000} {
		was, is := run(t, plain, n), run(t, packed, n)
		if was != is {
			t.Errorf("probe(%d) = %d packed, %d before", n, is, was)
		}
		if want := n%2 == 1; want != (is < 0) {
			t.Errorf("probe(%d) = %d: the panic was not recovered as it should be", n, is)
		}
	}
	again, _, err := pack(packed)
	if err != nil || string(again) != string(packed) {
		t.Errorf("packing twice is not packing once: %v", err)
	}
}

func TestRefusesOtherFiles(t *testing.T) {
	for _, file := range []string{"", "\x00asm", "MZ\x90\x00........", "\x00asm\x01\x00\x00\x00\x0b\xff"} {
		if _, _, err := pack([]byte(file)); err == nil {
			t.Errorf("pack(%q) took a file that is none", file)
		}
	}
}

func run(t *testing.T, file []byte, n int32) int64 {
	t.Helper()
	ctx := context.Background()
	r := wazero.NewRuntime(ctx)
	defer r.Close(ctx)
	wasi_snapshot_preview1.MustInstantiate(ctx, r)
	m, err := r.InstantiateWithConfig(ctx, file, wazero.NewModuleConfig().WithStartFunctions("_initialize"))
	if err != nil {
		t.Fatal(err)
	}
	got, err := m.ExportedFunction("probe").Call(ctx, uint64(n))
	if err != nil {
		t.Fatal(err)
	}
	return int64(got[0])
}
