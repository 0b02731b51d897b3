package cert

import (
	"net"
	"os"
	"path/filepath"
	"testing"
	"time"
)

func TestOwnFilesAreReadAgain(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "own.pem")
	a := open(t, t.TempDir(), noon)
	put := func(text []byte, age time.Duration) {
		t.Helper()
		if err := os.WriteFile(file, text, 0o600); err != nil {
			t.Fatal(err)
		}
		at := time.Now().Add(-age)
		if err := os.Chtimes(file, at, at); err != nil {
			t.Fatal(err)
		}
	}
	pem := func() []byte {
		t.Helper()
		l, err := a.Leaf(func() time.Time { return noon })
		if err == nil {
			l.mu.Lock()
			l.cert = nil // another one
			err = l.renew(net.IPv4(10, 0, 0, 1))
			l.mu.Unlock()
		}
		if err != nil {
			t.Fatal(err)
		}
		text, err := os.ReadFile(filepath.Join(a.dir, "leaf.pem"))
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	if _, err := Own(file, file); err == nil {
		t.Error("files that are not there were accepted")
	}
	put(pem(), 3*time.Hour)
	cfg, err := Own(file, file)
	if err != nil {
		t.Fatal(err)
	}
	serial := func() string {
		t.Helper()
		c, err := cfg.GetCertificate(nil)
		if err != nil {
			t.Fatal(err)
		}
		return c.Leaf.SerialNumber.String()
	}
	first := serial()
	put([]byte("half writ"), 2*time.Hour)
	if serial() != first {
		t.Error("a pair that cannot be read replaced the old one")
	}
	put(pem(), time.Hour)
	if serial() == first {
		t.Error("the renewed pair is not shown")
	}
}
