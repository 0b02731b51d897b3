package main

import (
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// forbidden are the packages that must not reach the phone's core, each with
// its reason. Sizes are brotli at its best level, measured with Go 1.26 for
// wasip1: an empty core is 421 KB and the limit is 512 KB (the size test
// of package pwa). A name that ends in / stands for everything below it.
//
// What an empty program depends on (runtime, internal/..., math/bits, unsafe)
// is of course allowed, and so are strconv, errors, slices, bytes, strings,
// unicode/utf8, math and sort. sort.SliceStable is compiled once; slices.SortFunc
// brings fourteen functions for each type it sorts.
var forbidden = []struct{ name, reason string }{
	{"fmt", "pulls in reflect, os and time; write with strconv and append"},
	{"reflect", "keeps every method of every type alive; the codec in sync/cbor is written by hand"},
	{"encoding/json", "reflection, over 200 KB; views are appended by hand"},
	{"encoding/binary", "pulls in reflect; shift bytes by hand"},
	{"os", "the core has no files, no environment and no standard streams of its own"},
	{"io/fs", "the core has no files"},
	{"syscall", "the core calls nothing; a function that needs the outside world takes its answer as an argument"},
	{"time", "the caller passes time in, as milliseconds; a core that asks for the time decides by a phone's wrong clock"},
	{"context", "pulls in time; every call into the core is synchronous"},
	{"net", "the core sees frames, never sockets"},
	{"net/", "the core sees frames, never sockets; net/http alone is over a megabyte"},
	{"log", "pulls in fmt; the core returns its errors"},
	{"log/", "pulls in reflect and time; the core returns its errors"},
	{"regexp", "pulls in sort and much code; forms are checked by hand"},
	{"text/", "templates and scanners work by reflection"},
	{"html/", "templates work by reflection"},
	{"compress/", "the browser's CompressionStream packs frames"},
	{"crypto/", "self-tests and entropy, 111 KB for crypto/sha256 alone; sync/sha256 is ours and tested against it"},
	{"hash/", "the chain's hash is sync/sha256"},
	{"math/big", "times and quantities fit in int64"},
	{"math/rand", "chance comes in as bytes from the browser"},
	{"math/rand/", "chance comes in as bytes from the browser"},
	{"unicode/utf16", "text is UTF-8 on the wire and in the store"},
}

// ownModule is all of the core's code that is not Go's own.
const ownModule = "bayhold/"

// The core's dependencies, test files left out, hold nothing forbidden and no
// other module.
func TestCoreImports(t *testing.T) {
	deps := dependencies(t, ".")
	for _, want := range []string{"bayhold/cmd/phonecore", "bayhold/checklist", "runtime"} {
		if !slices.Contains(deps, want) {
			t.Fatalf("go list -deps does not name %s, so it did not list the core: %v", want, deps)
		}
	}
	for _, dep := range deps {
		if reason := why(dep); reason != "" {
			t.Errorf("the core imports %s: %s\n%s", dep, reason, path(dep))
		}
	}
}

// The table says no where it should: the test above cannot pass because the
// table matches nothing.
func TestForbiddenImportsAreFound(t *testing.T) {
	for dep, bad := range map[string]bool{
		"fmt": true, "crypto/sha256": true, "net": true, "net/http": true, "encoding/json": true, "log/slog": true,
		"github.com/google/uuid": true, "github.com/gorilla/websocket": true, "go.etcd.io/bbolt": true, "bayhold/server": true,
		"runtime": false, "internal/runtime/sys": false, "math/bits": false, "math": false, "strconv": false,
		"bayhold/checklist": false, "bayhold/sync/sha256": false, "bayhold/cmd/phonecore": false,
	} {
		if got := why(dep) != ""; got != bad {
			t.Errorf("forbidden(%s) = %v, want %v", dep, got, bad)
		}
	}
}

// Nothing that an empty Go program brings along is forbidden; if a new Go
// makes it so, this says it plainly instead of blaming the core.
func TestEmptyProgramIsAllowed(t *testing.T) {
	dir := t.TempDir()
	for name, content := range map[string]string{"go.mod": "module empty\n", "main.go": "package main\n\nfunc main() {}\n"} {
		if err := os.WriteFile(dir+"/"+name, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, dep := range dependencies(t, dir) {
		if reason := why(dep); reason != "" && dep != "empty" {
			t.Errorf("an empty program already has %s, which the table forbids (%s): change the table", dep, reason)
		}
	}
}

// why gives the reason against an import, "" if there is none.
func why(dep string) string {
	for _, f := range forbidden {
		if dep == f.name || strings.HasSuffix(f.name, "/") && strings.HasPrefix(dep, f.name) {
			return f.reason
		}
	}
	switch first, _, _ := strings.Cut(dep, "/"); {
	case strings.HasPrefix(dep, ownModule+"server"), strings.HasPrefix(dep, ownModule+"cmd/bayhold"):
		return "the server's code does not run on a phone"
	case strings.Contains(first, "."):
		return "a module of others: the core is Go's own packages and ours, because each kilobyte is loaded by a phone"
	}
	return ""
}

// dependencies lists what the main package in dir is linked from, as built for
// the phone.
func dependencies(t *testing.T, dir string) []string {
	t.Helper()
	cmd := exec.Command("go", "list", "-deps", ".")
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "PWD="+dir)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list -deps: %v\n%s", err, stderr.String())
	}
	return strings.Fields(string(out))
}

// path names the packages of ours that import dep themselves.
func path(dep string) string {
	cmd := exec.Command("go", "list", "-deps", "-f", `{{$p := .ImportPath}}{{range .Imports}}{{if eq . "`+dep+`"}}  imported by {{$p}}{{"\n"}}{{end}}{{end}}`, ".")
	cmd.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm")
	out, _ := cmd.Output()
	return strings.TrimRight(string(out), "\n")
}
