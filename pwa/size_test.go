package pwa_test

import (
	"bytes"
	"io"
	"io/fs"
	"os"
	"path"
	"testing"

	"bayhold/pwa"

	"github.com/andybalholm/brotli"
)

// What the first visit may weigh, in bytes as they travel, after brotli. The
// two add up to 652 KB; a shop's guest wifi or one bar of mobile signal brings
// that in some four seconds (1.44 Mbit/s, the 'slow 4G' of browser tools).
// KB is 1000 bytes.
const (
	coreLimit = 512_000
	restLimit = 140_000
)

// visit is what a first visit brings, in compressed bytes.
type visit struct {
	core, rest int
	most       int // the heaviest file of the rest
	mostName   string
}

func firstVisit(t testing.TB) (v visit) {
	t.Helper()
	for _, name := range append([]string{"sw.js"}, pwa.List...) {
		content, err := fs.ReadFile(pwa.Files, name)
		if err != nil {
			t.Fatal(err)
		}
		if name == "core.wasm" {
			v.core = travels(t, name, content)
			continue
		}
		if written, err := os.ReadFile("app/" + name); err == nil && packs(name) && bytes.Equal(written, content) {
			t.Errorf("%s is served as it is written: run make core", name)
		}
		n := squeezed(t, content)
		if packs(name) && name != "sw.js" {
			n = travels(t, name, content)
		}
		v.rest += n
		if n > v.most {
			v.most, v.mostName = n, name
		}
	}
	if v.core == 0 {
		t.Fatal("pwa/app/core.wasm is not built: run make core")
	}
	return v
}

// The core that this checkout builds stays within its share, and so does
// everything else that a phone loads. A miss prints the file that weighs most,
// for that is where to look.
func TestFirstVisitIsLight(t *testing.T) {
	v := firstVisit(t)
	t.Logf("core: %.1f KB of %.0f KB", float64(v.core)/1000, coreLimit/1000.)
	if v.core > coreLimit {
		t.Errorf("the core is %d bytes compressed, more than %d; `go list -deps` with GOOS=wasip1 shows what it pulls in", v.core, coreLimit)
	}
	t.Logf("everything else: %.1f KB of %.0f KB, the most of it %s with %.1f KB",
		float64(v.rest)/1000, restLimit/1000., v.mostName, float64(v.most)/1000)
	if v.rest > restLimit {
		t.Errorf("everything beside the core is %d bytes compressed, more than %d; %s alone is %d", v.rest, restLimit, v.mostName, v.most)
	}
}

// BenchmarkBudgetFirstVisit prints the same two figures for the budget table.
func BenchmarkBudgetFirstVisit(b *testing.B) {
	v := firstVisit(b)
	b.ReportMetric(float64(v.core)/1000, "core-KB")
	b.ReportMetric(float64(v.rest)/1000, "rest-KB")
	b.ReportMetric(0, "ns/op")
}

// travels is the length of a file's compressed form as the build made it, which
// must be that file.
func travels(t testing.TB, name string, content []byte) int {
	t.Helper()
	br, err := fs.ReadFile(pwa.Files, name+".br")
	if err != nil {
		t.Fatal(err)
	}
	plain, err := io.ReadAll(brotli.NewReader(bytes.NewReader(br)))
	if err != nil || !bytes.Equal(plain, content) {
		t.Fatalf("%s.br is not %s compressed (%v): run make core", name, name, err)
	}
	return len(br)
}

// packs tells whether make packs a file (cmd/packapp).
func packs(name string) bool {
	return name == "index.html" || (path.Ext(name) == ".js" || path.Ext(name) == ".css") && path.Dir(name) != "vendor"
}

// squeezed is the length of b as the server makes it travel (server/app.go):
// compressed at a quick level, or as it is where that gains nothing (pictures,
// fonts).
func squeezed(t testing.TB, b []byte) int {
	t.Helper()
	var out bytes.Buffer
	w := brotli.NewWriterOptions(&out, brotli.WriterOptions{Quality: 6, LGWin: 17})
	if _, err := w.Write(b); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return min(out.Len(), len(b))
}
