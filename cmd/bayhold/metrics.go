package main

import (
	"fmt"
	"io"
	"net"
	"net/http"
	"time"
)

// serveMetrics listens for Prometheus on this machine. Whoever reaches the
// address reads it, so it may be one that no other machine reaches.
func serveMetrics(addr string, counted http.Handler, stdout io.Writer) (stop func() error, err error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, fmt.Errorf("--metrics %q is not HOST:PORT: %w", addr, err)
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, fmt.Errorf("other machines can reach --metrics %s, and it asks nobody for a key: say localhost:PORT", addr)
	}
	ln, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, fmt.Errorf("what Prometheus reads cannot be served at %s: %w", addr, err)
	}
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", counted)
	s := &http.Server{Handler: mux, ReadTimeout: 10 * time.Second, WriteTimeout: 30 * time.Second, MaxHeaderBytes: 8 << 10}
	go s.Serve(ln)
	fmt.Fprintf(stdout, "Prometheus reads http://%s/metrics\n", ln.Addr())
	return s.Close, nil
}
