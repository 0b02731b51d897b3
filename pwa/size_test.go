package pwa_test

import (
	"bytes"
	"io/fs"
	"testing"

	"bayhold/pwa"

	"github.com/andybalholm/brotli"
)

// What the first visit may weigh, in bytes after brotli at its best level. The
// two add up to 652 KB; a shop's guest wifi or one bar of mobile signal brings
// that in some four seconds (1.44 Mbit/s, the 'slow 4G' of browser tools).
// KB is 1000 bytes.
const (
	coreLimit = 512_000
	restLimit = 140_000
)

// The core that this checkout builds stays within its share, and so does
// everything else that a phone loads. A miss prints the file that weighs most,
// for that is where to look.
func TestFirstVisitIsLight(t *testing.T) {
	core, err := fs.ReadFile(pwa.Files, "core.wasm")
	if err != nil {
		t.Fatal("pwa/app/core.wasm is not built: run make core")
	}
	n := squeezed(t, core)
	t.Logf("core: %.1f KB of %.0f KB", float64(n)/1000, coreLimit/1000.)
	if n > coreLimit {
		t.Errorf("the core is %d bytes compressed, more than %d; `go list -deps` with GOOS=wasip1 shows what it pulls in", n, coreLimit)
	}

	total, most, mostName := 0, 0, ""
	for _, name := range append([]string{"sw.js"}, pwa.List...) {
		if name == "core.wasm" {
			continue
		}
		content, err := fs.ReadFile(pwa.Files, name)
		if err != nil {
			t.Fatal(err)
		}
		n := squeezed(t, content)
		total += n
		if n > most {
			most, mostName = n, name
		}
	}
	t.Logf("everything else: %.1f KB of %.0f KB, the most of it %s with %.1f KB",
		float64(total)/1000, restLimit/1000., mostName, float64(most)/1000)
	if total > restLimit {
		t.Errorf("everything beside the core is %d bytes compressed, more than %d; %s alone is %d", total, restLimit, mostName, most)
	}
}

// squeezed is the length of b as it travels: compressed, or as it is where
// compression gains nothing (pictures, fonts).
func squeezed(t *testing.T, b []byte) int {
	t.Helper()
	var out bytes.Buffer
	w := brotli.NewWriterLevel(&out, brotli.BestCompression)
	if _, err := w.Write(b); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return min(out.Len(), len(b))
}
