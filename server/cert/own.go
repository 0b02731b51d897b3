package cert

import (
	"crypto/tls"
	"fmt"
	"os"
	"sync"
	"time"
)

// Own serves a certificate of the shop's own, from files that something else
// renews: they are read again when they change. A pair that cannot be read
// while the server runs, because it is being written, leaves the old one in
// use.
func Own(certFile, keyFile string) (*tls.Config, error) {
	o := &own{certFile: certFile, keyFile: keyFile}
	if err := o.read(); err != nil {
		return nil, fmt.Errorf("the certificate in %s with the key in %s: %w", certFile, keyFile, err)
	}
	return &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"http/1.1"}, GetCertificate: o.get}, nil
}

type own struct {
	certFile, keyFile string

	mu      sync.Mutex
	cert    *tls.Certificate
	changed time.Time // the later change of the two files
}

func (o *own) get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.lastChange().After(o.changed) {
		o.read()
	}
	return o.cert, nil
}

func (o *own) lastChange() (latest time.Time) {
	for _, f := range []string{o.certFile, o.keyFile} {
		if st, err := os.Stat(f); err == nil && st.ModTime().After(latest) {
			latest = st.ModTime()
		}
	}
	return latest
}

func (o *own) read() error {
	changed := o.lastChange()
	c, err := tls.LoadX509KeyPair(o.certFile, o.keyFile)
	if err == nil {
		o.cert, o.changed = &c, changed
	}
	return err
}
