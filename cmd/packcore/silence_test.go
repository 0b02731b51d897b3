package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Every pattern stands for a function that this Go has, and none of those that
// are called all the same is silenced.
func TestPatternsAreOfThisGo(t *testing.T) {
	out := filepath.Join(t.TempDir(), "core.wasm")
	build := exec.Command("go", "build", "-buildmode=c-shared", "-trimpath", "-ldflags=-s -w", "-gcflags=all=-l", "-o", out, "../phonecore")
	build.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm")
	if msg, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, msg)
	}
	file, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	sections, err := split(file)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, s := range sections {
		if s.id == dataSection {
			segments, err := readData(s.body)
			if err != nil {
				t.Fatal(err)
			}
			for _, piece := range join(segments) {
				if found := stripTable(piece.bytes); found != nil {
					for _, f := range found {
						names = append(names, f.name)
					}
				}
			}
		}
	}
	has := map[string]bool{}
	for _, n := range names {
		has[n] = true
	}
	for _, s := range silent {
		for _, p := range s.patterns {
			whole, exact := strings.CutSuffix(p, "$")
			found := has[whole]
			for _, n := range names {
				found = found || !exact && strings.HasPrefix(n, p)
			}
			if !found {
				t.Errorf("no function is called %s (%s)", p, s.switchedBy)
			}
		}
	}
	for n := range spoken {
		if !has[n] {
			t.Errorf("no function is called %s, which is kept", n)
		}
	}
	for n := range idle {
		if !has[n] {
			t.Errorf("no function is called %s, which is to idle", n)
		}
	}
	count := 0
	for _, n := range names {
		if isSilent(n) {
			count++
		}
		if isSilent(n) && !strings.HasPrefix(n, "runtime.") && !strings.HasPrefix(n, "internal/strconv.") {
			t.Errorf("%s is not of Go's own", n)
		}
	}
	t.Logf("%d of %d functions are silent", count, len(names))
}
