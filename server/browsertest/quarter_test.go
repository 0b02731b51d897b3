package browsertest

import (
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
)

// loops is a page with a loop of known work, in it, in its worker and in both at
// once, and with a wait.
const loops = `
const spin = () => { const from = performance.now(); let x = 1; for (let i = 0; i < 3e7; i++) x = (x * 1103515245 + 12345) | 0; return [performance.now() - from, x]; };
if (!globalThis.document) onmessage = () => postMessage(spin());
else {
	const worker = new Worker('/loops.js');
	const ask = () => new Promise((done) => { worker.onmessage = (e) => done(e.data[0]); worker.postMessage(0); });
	globalThis.loops = {
		page: () => spin()[0],
		worker: ask,
		both: () => { const other = ask(); const own = spin()[0]; return other.then((ms) => Math.max(ms, own)); },
		wait: () => { const from = performance.now(); return new Promise((done) => setTimeout(() => done(performance.now() - from), 300)); },
	};
}`

// BenchmarkQuarter measures the measure: how many times as long a loop takes at a
// quarter of the browser's time, on the page's thread, in a worker, and in both at
// once. It should be four; a wait for a clock takes as long as ever, once.
func BenchmarkQuarter(b *testing.B) {
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/loops.js" {
			w.Header().Set("Content-Type", "text/javascript")
			io.WriteString(w, loops)
			return
		}
		w.Header().Set("Content-Type", "text/html")
		io.WriteString(w, `<!doctype html><script src="/loops.js"></script>`)
	}))
	defer s.Close()
	p := New(b, "A", strings.TrimPrefix(s.URL, "http://"))
	p.Open("/")
	for _, of := range []string{"page", "worker", "both", "wait"} {
		var times []float64
		for range 9 {
			plain := JS[float64](p, "loops."+of+"()")
			p.Quarter(func() { times = append(times, JS[float64](p, "loops."+of+"()")/plain) })
		}
		slices.Sort(times)
		b.ReportMetric(times[len(times)/2], of+"-x")
	}
	b.ReportMetric(0, "ns/op")
}
