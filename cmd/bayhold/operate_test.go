package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"bayhold/server"
)

// The operator's commands on the demo shop, beside its running server and after
// it: what they print, and their exit codes.
func TestOperateAShop(t *testing.T) {
	shop, seed, err := demoShop()
	if err != nil {
		t.Fatal(err)
	}
	data, backup, fresh := t.TempDir(), filepath.Join(t.TempDir(), "backup"), filepath.Join(t.TempDir(), "new")
	app := fstest.MapFS{"index.html": {Data: []byte("<!doctype html>")}} // nothing to pack
	s, err := server.Open(server.Config{Data: data, Shop: shop, Seed: seed, App: app, Worker: []byte("//")})
	if err != nil {
		t.Fatal(err)
	}
	good := func(args ...string) string {
		t.Helper()
		code, out, errs := call(args...)
		if code != 0 {
			t.Fatalf("%v: exit %d: %s", args, code, errs)
		}
		return out
	}
	bad := func(want int, says string, args ...string) {
		t.Helper()
		code, _, errs := call(args...)
		if code != want || !strings.Contains(errs, says) {
			t.Errorf("%v: exit %d, want %d, and %q: %s", args, code, want, says, errs)
		}
	}
	lines := good("export", "--data", data)
	if n := strings.Count(lines, "\n"); n != len(seed) {
		t.Errorf("%d lines exported beside the server, %d were written", n, len(seed))
	}
	if out := good("verify", "--data", data); !strings.Contains(out, "all fits") {
		t.Errorf("verify says %q", out)
	}
	good("backup", "--data", data, "--to", backup)
	if out := good("aside", "--data", data); out != "" {
		t.Errorf("set aside in a good shop: %q", out)
	}
	bad(1, "Nothing with this hash", "aside", "--data", data, "--adopt", strings.Repeat("0", 64), "--as", "M")
	bad(1, "no lead", "aside", "--data", data, "--adopt", strings.Repeat("0", 64), "--as", "J")
	bad(2, "go together", "aside", "--data", data, "--as", "M")
	bad(1, "in use", "compact", "--data", data)
	bad(1, "in use", "restore", "--from", backup, "--data", data)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	good("verify", "--data", backup)
	good("compact", "--data", data)
	good("restore", "--from", backup, "--data", fresh)
	for _, dir := range []string{data, backup, fresh} {
		if good("export", "--data", dir) != lines {
			t.Errorf("%s exports another shop", dir)
		}
	}

	store := filepath.Join(fresh, server.StoreFile)
	raw, err := os.ReadFile(store)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(store, bytes.ReplaceAll(raw, []byte("Tarnbrook"), []byte("Tarnbroek")), 0o600); err != nil {
		t.Fatal(err)
	}
	bad(1, "shop:", "verify", "--data", fresh)
	bad(1, "stays as it was", "backup", "--data", fresh, "--to", backup)
	bad(1, "no store", "verify", "--data", t.TempDir())
	bad(2, "--to is needed", "backup", "--data", data)
	bad(2, "--data is needed", "export")
}
