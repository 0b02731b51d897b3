package cert

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"fmt"
	"net"
	"slices"
	"strings"
	"sync"
	"time"
)

// addresses is how many a leaf names at most; the one that was not used for
// longest goes.
const addresses = 16

// Leaf is what the server shows in each handshake. It is made anew when it is
// about to end, and when the machine is reached at an address that it does not
// name: routers hand out another one now and then.
type Leaf struct {
	authority *Authority
	now       func() time.Time

	mu   sync.Mutex
	cert *tls.Certificate
	ips  []net.IP // the latest first
}

// Leaf reads the leaf from the authority's folder, if there is one that still
// serves, and makes it otherwise.
func (a *Authority) Leaf(now func() time.Time) (*Leaf, error) {
	l := &Leaf{authority: a, now: now, ips: []net.IP{net.IPv4(127, 0, 0, 1).To4(), net.IPv6loopback}}
	if chain, key, err := read(l.file()); err == nil && key != nil && key.PublicKey.Equal(chain[0].PublicKey) && chain[0].CheckSignatureFrom(a.signer) == nil {
		l.ips = chain[0].IPAddresses
		l.cert = pair(chain[0], a.signer, key)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	return l, l.renew(nil)
}

func (l *Leaf) file() string { return l.authority.file("leaf") }

// Config serves TLS 1.2 and later by the leaf.
func (l *Leaf) Config() *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"http/1.1"}, GetCertificate: l.get}
}

// With serves the names of earlier leaves beside what the configuration serves:
// who asks for one of them (RFC 6066 section 3) is shown its leaf. Who asks for
// an address names nothing, and is shown what address answers, if that is not
// nil.
func With(c *tls.Config, earlier []*Leaf, address func() *Leaf) *tls.Config {
	c = c.Clone()
	now := c.GetCertificate
	c.GetCertificate = func(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
		for _, l := range earlier {
			if strings.EqualFold(hello.ServerName, l.authority.name) {
				return l.get(hello)
			}
		}
		if hello.ServerName == "" {
			if l := address(); l != nil {
				return l.get(hello)
			}
		}
		return now(hello)
	}
	return c
}

// Name is the host name that the leaf proves.
func (l *Leaf) Name() string { return l.authority.name }

// get answers one handshake. If the leaf cannot be made anew the old one goes
// on: a phone that is refused for a full disk helps nobody.
func (l *Leaf) get(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
	var at net.IP
	if tcp, ok := hello.Conn.LocalAddr().(*net.TCPAddr); ok && Private(tcp.IP) {
		at = tcp.IP
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.renew(at); err != nil {
		if l.cert == nil {
			return nil, err
		}
		l.authority.log().Error("{err}. The present one ends on {until}; phones cannot come after that.", "err", err, "until", l.cert.Leaf.NotAfter)
	}
	return l.cert, nil
}

// renew makes a new leaf if the present one ends soon or does not name at.
func (l *Leaf) renew(at net.IP) error {
	now := l.now()
	named := at == nil || slices.ContainsFunc(l.ips, at.Equal)
	if l.cert != nil && named && now.Before(l.cert.Leaf.NotAfter.AddDate(0, 0, -renewDays)) && !now.Before(l.cert.Leaf.NotBefore) {
		return nil
	}
	ips := l.ips
	if !named {
		ips = append([]net.IP{at}, ips[:min(len(ips), addresses-1)]...)
	}
	cert, err := l.authority.issueLeaf(ips, now)
	if err != nil {
		return fmt.Errorf("the shop's certificate cannot be renewed: %w", err)
	}
	key, err := keyBlock(cert.PrivateKey.(*ecdsa.PrivateKey))
	if err == nil {
		err = write(l.file(), certBlock(cert.Leaf), certBlock(l.authority.signer), key)
	}
	if err != nil {
		return fmt.Errorf("the shop's new certificate cannot be kept: %w", err)
	}
	switch {
	case l.cert == nil:
		l.authority.log().Info("The shop's certificate is made. It is renewed by itself before {until}.", "until", cert.Leaf.NotAfter)
	case named:
		l.authority.log().Info("The shop's certificate is renewed. It is good until {until}; phones need nothing.", "until", cert.Leaf.NotAfter)
	default:
		l.authority.log().Info("Phones may come by this machine's address {address} too.", "address", at)
	}
	l.cert, l.ips = cert, ips
	return nil
}

func (a *Authority) issueLeaf(ips []net.IP, now time.Time) (*tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	from := now.Add(-early).UTC()
	until := from.AddDate(0, 0, leafDays).Add(-time.Second) // both ends are included: RFC 5280 section 4.1.2.5
	if until.After(a.signer.NotAfter) {
		until = a.signer.NotAfter
	}
	leaf, err := issue(&x509.Certificate{
		SerialNumber: serial(),
		Subject:      pkix.Name{CommonName: a.name},
		NotBefore:    from,
		NotAfter:     until,
		KeyUsage:     x509.KeyUsageDigitalSignature,
		ExtKeyUsage:  []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		DNSNames:     []string{a.name, "localhost"},
		IPAddresses:  ips,
	}, a.signer, &key.PublicKey, a.key)
	if err != nil {
		return nil, err
	}
	return pair(leaf, a.signer, key), nil
}

func pair(leaf, signer *x509.Certificate, key *ecdsa.PrivateKey) *tls.Certificate {
	return &tls.Certificate{Certificate: [][]byte{leaf.Raw, signer.Raw}, PrivateKey: key, Leaf: leaf}
}
