package cert

import (
	"bytes"
	"crypto/x509"
	"encoding/pem"
	"net/http/httptest"
	"strings"
	"testing"
)

func TestPage(t *testing.T) {
	a := open(t, t.TempDir(), noon)
	h := a.Page("8443")
	get := func(method, host, path string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, "http://"+host+path, nil)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	w := get("GET", "192.168.4.20:8080", "/")
	for _, want := range append(a.Print(), `href="https://tarnbrook.local:8443"`, `href="https://192.168.4.20:8443"`, "until 2036-01-14") {
		if !strings.Contains(w.Body.String(), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if got := strings.Join(a.Print(), ":"); got != a.Fingerprint() {
		t.Errorf("in lines the fingerprint reads %s", got)
	}
	// A name that somebody else gave this address is not repeated.
	if w := get("GET", "evil.example:8080", "/"); strings.Contains(w.Body.String(), "evil") {
		t.Error("the page repeats a stranger's name")
	}
	w = get("GET", "192.168.4.20:8080", "/root.crt")
	if c, err := x509.ParseCertificate(w.Body.Bytes()); err != nil || !bytes.Equal(c.Raw, a.Root()) {
		t.Errorf("root.crt: %v", err)
	}
	if got := w.Header().Get("Content-Type"); got != "application/x-x509-ca-cert" {
		t.Errorf("root.crt is %s, and phones know it by application/x-x509-ca-cert", got)
	}
	if block, _ := pem.Decode(get("GET", "h", "/root.pem").Body.Bytes()); block == nil || !bytes.Equal(block.Bytes, a.Root()) {
		t.Error("root.pem is not the root")
	}
	for _, c := range []struct {
		method, path string
		want         int
	}{
		{"GET", "/ws", 404}, {"GET", "/app/core.wasm", 404}, {"GET", "/signer.pem", 404}, {"GET", "/../signer.pem", 404},
		{"POST", "/", 405}, {"GET", "/healthz", 404}, {"HEAD", "/", 200},
	} {
		if got := get(c.method, "h", c.path).Code; got != c.want {
			t.Errorf("%s %s: %d, want %d", c.method, c.path, got, c.want)
		}
	}
}
