package server

import (
	"bayhold/server/browsertest"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"math/big"
	"net"
	"os"
	"testing"
	"time"
)

// tlsServerIn, set in the environment to a data folder, makes the test program
// a server over TLS, whose memory a benchmark measures from outside.
const tlsServerIn = "BAYHOLD_TEST_TLS_SERVER"

// serverIn is the same without TLS.
const serverIn = "BAYHOLD_TEST_SERVER"

func TestMain(m *testing.M) {
	for _, env := range []string{tlsServerIn, serverIn} {
		if dir := os.Getenv(env); dir != "" {
			if err := serve(dir, env == tlsServerIn); err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(1)
			}
			return
		}
	}
	pinRounds = 1000 // a guess is not to cost a second under the race detector
	code := m.Run()
	browsertest.Clear()
	os.Exit(code)
}

func serve(dir string, overTLS bool) error {
	conf := Config{Data: dir, Addr: "127.0.0.1:0"}
	scheme := "http"
	if overTLS {
		cert, err := selfSigned()
		if err != nil {
			return err
		}
		conf.TLS, scheme = &tls.Config{Certificates: []tls.Certificate{cert}}, "https"
	}
	s, err := Open(conf)
	if err != nil {
		return err
	}
	if err := s.Listen(); err != nil {
		return err
	}
	<-s.app.ready // the app is packed: what is measured is a server at rest
	fmt.Println("Serving at " + scheme + "://" + s.Addr())
	return s.Run(context.Background())
}

func selfSigned() (tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return tls.Certificate{}, err
	}
	tmpl := &x509.Certificate{SerialNumber: big.NewInt(1), NotBefore: time.Now().Add(-time.Hour),
		NotAfter: time.Now().Add(time.Hour), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}}
	der, err := x509.CreateCertificate(rand.Reader, tmpl, tmpl, &key.PublicKey, key)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, err
}
