package cert

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// How long a certificate lasts. Clocks of phones are wrong by minutes, so all
// begin an hour before they are made.
const (
	rootYears = 10
	leafDays  = 397 // browsers refuse 398 and more
	renewDays = 30  // before its end
	early     = time.Hour
)

// private are the addresses that no public site has: the constraint's and so
// the only ones that a leaf names. RFC 1918, RFC 3927 and RFC 4193; loopback
// and link-local addresses of RFC 4291.
var private = []*net.IPNet{
	network("10.0.0.0/8"), network("172.16.0.0/12"), network("192.168.0.0/16"),
	network("169.254.0.0/16"), network("127.0.0.0/8"),
	network("fc00::/7"), network("fe80::/10"), network("::1/128"),
}

func network(cidr string) *net.IPNet {
	_, n, err := net.ParseCIDR(cidr)
	if err != nil {
		panic(err) // the table above is wrong
	}
	return n
}

// Private says whether a leaf may name the address.
func Private(ip net.IP) bool {
	for _, n := range private {
		if n.Contains(ip) {
			return true
		}
	}
	return false
}

// Authority is the shop's root and what signs in its name.
type Authority struct {
	Log *slog.Logger // hears when a leaf is made; nil: nobody does

	dir    string
	before string // of its files' names; "" for the first name that the shop had
	name   string // the shop's host name, "tarnbrook.local"
	root   *x509.Certificate
	signer *x509.Certificate
	key    *ecdsa.PrivateKey // the signer's
}

func (a *Authority) log() *slog.Logger {
	if a.Log == nil {
		return slog.New(slog.DiscardHandler)
	}
	return a.Log
}

// Open reads the authority of a shop's name from dir, or makes it there at the
// first start under that name. The name is the host name that phones reach the
// shop at; it is bound into the root for good, so a shop that takes another one
// gets another root beside it, which every phone has to trust anew.
func Open(dir, name string, now time.Time) (*Authority, error) {
	name = strings.ToLower(name)
	if err := hostName(name); err != nil {
		return nil, err
	}
	a := &Authority{dir: dir, name: name}
	if first, _, err := read(a.file("root")); err == nil && bound(first[0]) != name {
		a.before = name + "."
	}
	_, err := os.Stat(a.file("root"))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		err = a.make(now)
	case err == nil:
		err = a.read(now)
	}
	if err != nil {
		return nil, fmt.Errorf("the shop's certificates in %s: %w", dir, err)
	}
	return a, nil
}

// Earlier reads the authorities of the names that the shop had before, or has
// made and does not use. One that cannot be read is an error beside the others.
func Earlier(dir, name string, now time.Time) (all []*Authority, err error) {
	roots, _ := filepath.Glob(filepath.Join(dir, "*root.pem")) // the pattern is right
	for _, f := range roots {
		root, _, bad := read(f)
		if bad == nil && bound(root[0]) == strings.ToLower(name) {
			continue
		}
		var a *Authority
		if bad == nil {
			a, bad = Open(dir, bound(root[0]), now)
		}
		if bad != nil {
			err = errors.Join(err, bad)
			continue
		}
		all = append(all, a)
	}
	return all, err
}

// bound is the host name that a root is for.
func bound(root *x509.Certificate) string {
	if len(root.PermittedDNSDomains) == 0 {
		return ""
	}
	return root.PermittedDNSDomains[0]
}

func (a *Authority) file(what string) string { return filepath.Join(a.dir, a.before+what+".pem") }

// Name is the host name that the authority was made for.
func (a *Authority) Name() string { return a.name }

// Root is the certificate that phones are made to trust, in DER.
func (a *Authority) Root() []byte { return a.root.Raw }

// Fingerprint is the SHA-256 of the root as a person compares it: 32 pairs of
// hexadecimal digits with colons between them, as phones show it.
func (a *Authority) Fingerprint() string {
	sum := sha256.Sum256(a.root.Raw)
	return strings.ToUpper(strings.ReplaceAll(fmt.Sprintf("% x", sum), " ", ":"))
}

// Print is the fingerprint in four lines, for a screen or a terminal.
func (a *Authority) Print() []string {
	f := a.Fingerprint()
	return []string{f[:23], f[24:47], f[48:71], f[72:]}
}

// Began is when the root was made: no phone trusts it since before.
func (a *Authority) Began() time.Time { return a.root.NotBefore.Add(early) }

// Ends is when the root ends, and with it everything.
func (a *Authority) Ends() time.Time { return a.root.NotAfter }

// make makes root and signer. The signer is written first: a start that is cut
// off between the two begins again, and no phone has seen a root without one.
func (a *Authority) make(now time.Time) error {
	if now.Year() < 2024 {
		return fmt.Errorf("this machine's clock says %s: set it first, certificates that begin then are refused later", now.Format(time.DateOnly))
	}
	if err := os.MkdirAll(a.dir, 0o700); err != nil {
		return err
	}
	rootKey, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return err
	}
	if a.key, err = ecdsa.GenerateKey(elliptic.P256(), rand.Reader); err != nil {
		return err
	}
	root, signer := a.template("root", now), a.template("signer", now)
	root.MaxPathLen, signer.MaxPathLenZero = 1, true
	if a.root, err = issue(root, root, &rootKey.PublicKey, rootKey); err != nil {
		return err
	}
	if a.signer, err = issue(signer, a.root, &a.key.PublicKey, rootKey); err != nil {
		return err
	}
	key, err := keyBlock(a.key)
	if err != nil {
		return err
	}
	if err := write(a.file("signer"), certBlock(a.signer), key); err != nil {
		return err
	}
	return write(a.file("root"), certBlock(a.root))
}

// template is a certificate that may sign others, for the shop alone.
func (a *Authority) template(what string, now time.Time) *x509.Certificate {
	return &x509.Certificate{
		SerialNumber:                serial(),
		Subject:                     pkix.Name{CommonName: "Bayhold " + what + " of " + a.name},
		NotBefore:                   now.Add(-early).UTC(),
		NotAfter:                    now.AddDate(rootYears, 0, 0).UTC(),
		IsCA:                        true,
		BasicConstraintsValid:       true,
		KeyUsage:                    x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         []string{a.name, "localhost"},
		PermittedIPRanges:           private,
	}
}

func issue(template, parent *x509.Certificate, pub *ecdsa.PublicKey, key *ecdsa.PrivateKey) (*x509.Certificate, error) {
	der, err := x509.CreateCertificate(rand.Reader, template, parent, pub, key)
	if err != nil {
		return nil, err
	}
	return x509.ParseCertificate(der)
}

// serial is 127 random bits: positive, and never twice.
func serial() *big.Int {
	n, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 127))
	if err != nil {
		panic(err) // the machine has no randomness left
	}
	return n
}

func (a *Authority) read(now time.Time) error {
	roots, _, err := read(a.file("root"))
	if err != nil {
		return err
	}
	signers, key, err := read(a.file("signer"))
	if err != nil {
		return err
	}
	a.root, a.signer, a.key = roots[0], signers[0], key
	switch {
	case key == nil || !key.PublicKey.Equal(a.signer.PublicKey):
		return errors.New("signer.pem has a key that is not its certificate's: put back the folder's backup")
	case a.signer.CheckSignatureFrom(a.root) != nil:
		return errors.New("signer.pem was not signed by root.pem: put back the folder's backup")
	case now.Before(a.root.NotBefore):
		return fmt.Errorf("they begin on %s and this machine's clock says %s: set the clock", a.root.NotBefore.Format(time.DateOnly), now.Format(time.DateOnly))
	case now.After(a.root.NotAfter):
		return fmt.Errorf("they ended on %s: move the folder away and make every phone trust the new root", a.root.NotAfter.Format(time.DateOnly))
	}
	return nil
}

// hostName refuses what is no host name of its own: RFC 1123 section 2.1, at
// least two labels, so that a constraint never covers a whole top-level domain.
func hostName(name string) error {
	labels := strings.Split(name, ".")
	if len(labels) < 2 || len(name) > 253 {
		return fmt.Errorf("the shop's name in the network, %q, needs two parts, such as shop.local", name)
	}
	for _, l := range labels {
		if l == "" || len(l) > 63 || l[0] == '-' || l[len(l)-1] == '-' || strings.Trim(l, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
			return fmt.Errorf("the shop's name in the network, %q, may hold letters, digits and hyphens between its dots, such as shop.local", name)
		}
	}
	return nil
}

func certBlock(c *x509.Certificate) *pem.Block {
	return &pem.Block{Type: "CERTIFICATE", Bytes: c.Raw}
}

func keyBlock(key *ecdsa.PrivateKey) (*pem.Block, error) {
	der, err := x509.MarshalPKCS8PrivateKey(key)
	return &pem.Block{Type: "PRIVATE KEY", Bytes: der}, err
}
