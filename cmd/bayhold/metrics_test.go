package main

import (
	"bytes"
	"io"
	"net/http"
	"strings"
	"testing"
)

// What Prometheus reads is for this machine alone.
func TestMetricsStayHere(t *testing.T) {
	counted := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "bayhold_lines_kept 3\n") })
	for _, addr := range []string{":9100", "0.0.0.0:9100", "192.168.4.20:9100", "[::]:9100", "shop.local:9100", "9100"} {
		if stop, err := serveMetrics(addr, counted, io.Discard); err == nil {
			stop()
			t.Errorf("%s is served", addr)
		}
	}
	var said bytes.Buffer
	stop, err := serveMetrics("127.0.0.1:0", counted, &said)
	if err != nil {
		t.Fatal(err)
	}
	defer stop()
	url := strings.TrimSpace(strings.TrimPrefix(said.String(), "Prometheus reads "))
	r, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	if b, err := io.ReadAll(r.Body); string(b) != "bayhold_lines_kept 3\n" || err != nil {
		t.Errorf("%s answers %q, %v", url, b, err)
	}
}
