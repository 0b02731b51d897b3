package cert

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"io/fs"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"bayhold/server/browsertest"
)

var noon = time.Date(2026, 1, 14, 12, 0, 0, 0, time.UTC)

func open(t *testing.T, dir string, now time.Time) *Authority {
	t.Helper()
	a, err := Open(dir, "Tarnbrook.local", now)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// chain verifies a leaf as a phone does that trusts the root alone.
func chain(a *Authority, c *tls.Certificate, name string, now time.Time) error {
	roots, between := x509.NewCertPool(), x509.NewCertPool()
	roots.AddCert(a.root)
	signer, err := x509.ParseCertificate(c.Certificate[1])
	if err != nil {
		return err
	}
	between.AddCert(signer)
	_, err = c.Leaf.Verify(x509.VerifyOptions{DNSName: name, Roots: roots, Intermediates: between, CurrentTime: now})
	return err
}

func TestLeafIsTrustedUnderTheRoot(t *testing.T) {
	a := open(t, t.TempDir(), noon)
	c, err := a.issueLeaf([]net.IP{net.IPv4(192, 168, 4, 20)}, noon)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"tarnbrook.local", "localhost", "192.168.4.20"} {
		if err := chain(a, c, name, noon); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := chain(a, c, "192.168.4.21", noon); err == nil {
		t.Error("an address that the leaf does not name was accepted")
	}
	// Apple's and the browsers' limit for leaves of public roots; both ends count.
	if life := c.Leaf.NotAfter.Sub(c.Leaf.NotBefore) + time.Second; life >= 398*24*time.Hour {
		t.Errorf("the leaf lasts %v", life)
	}
}

// Outside says which leaves a stolen signer key could make, and that nobody
// would believe them.
func TestConstraint(t *testing.T) {
	dir := t.TempDir()
	a := open(t, dir, noon)
	// RFC 5280 section 4.2.1.10: name constraints, 2.5.29.30, must be critical.
	if !slices.ContainsFunc(a.root.Extensions, func(e pkix.Extension) bool { return e.Id.String() == "2.5.29.30" && e.Critical }) {
		t.Error("whoever does not know name constraints would pass over them")
	}
	for _, c := range []struct {
		names   []string
		ips     []net.IP
		trusted bool
	}{
		{[]string{"tarnbrook.local"}, nil, true},
		{[]string{"www.tarnbrook.local"}, nil, true}, // RFC 5280: labels may be added on the left
		{[]string{"example.com"}, nil, false},
		{[]string{"tarnbrook.local.example.com"}, nil, false},
		{[]string{"other.local"}, nil, false},
		{[]string{"tarnbrook.local", "example.com"}, nil, false},
		{nil, []net.IP{net.IPv4(10, 1, 2, 3)}, true},
		{nil, []net.IP{net.IPv4(172, 31, 0, 1)}, true},
		{nil, []net.IP{net.IPv4(172, 32, 0, 1)}, false},
		{nil, []net.IP{net.IPv4(203, 0, 113, 7)}, false},
		{nil, []net.IP{net.ParseIP("fd12::1")}, true},
		{nil, []net.IP{net.ParseIP("2001:db8::1")}, false},
	} {
		leaf := forged(t, a, c.names, c.ips)
		name := strings.Join(c.names, "")
		if len(c.ips) > 0 {
			name = c.ips[0].String()
		} else {
			name = c.names[0]
		}
		if err := chain(a, leaf, name, noon); (err == nil) != c.trusted {
			t.Errorf("%v %v: %v", c.names, c.ips, err)
		}
		if said, ok := openssl(t, dir, leaf); ok != c.trusted {
			t.Errorf("openssl, %v %v: %s", c.names, c.ips, said)
		}
	}
}

// forged signs whatever it is told, as a thief of the signer's key would.
func forged(t *testing.T, a *Authority, names []string, ips []net.IP) *tls.Certificate {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	leaf, err := issue(&x509.Certificate{SerialNumber: serial(), NotBefore: noon.Add(-early), NotAfter: noon.AddDate(0, 1, 0),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		DNSNames: names, IPAddresses: ips}, a.signer, &key.PublicKey, a.key)
	if err != nil {
		t.Fatal(err)
	}
	return pair(leaf, a.signer, key)
}

// openssl verifies the leaf by another implementation.
func openssl(t *testing.T, dir string, c *tls.Certificate) (string, bool) {
	t.Helper()
	browsertest.Tools(t, "openssl")
	file := filepath.Join(t.TempDir(), "leaf.pem")
	if err := os.WriteFile(file, pem.EncodeToMemory(certBlock(c.Leaf)), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("openssl", "verify", "-purpose", "sslserver", "-x509_strict", "-attime", "1768392000", // noon
		"-CAfile", filepath.Join(dir, "root.pem"), "-untrusted", filepath.Join(dir, "signer.pem"), file).CombinedOutput()
	return string(out), err == nil
}

func TestRootKeyIsNowhere(t *testing.T) {
	dir := t.TempDir()
	a := open(t, dir, noon)
	if _, err := a.Leaf(func() time.Time { return noon }); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil || len(files) != 3 {
		t.Fatalf("the folder holds %v (%v), want root, signer and leaf", files, err)
	}
	for _, f := range files {
		_, key, err := read(f)
		if err != nil {
			t.Fatal(err)
		}
		if key != nil && key.PublicKey.Equal(a.root.PublicKey) {
			t.Errorf("%s holds the root's key", f)
		}
		if info, _ := os.Stat(f); info.Mode().Perm() != 0o600 {
			t.Errorf("%s can be read by others: %v", f, info.Mode())
		}
	}
	if again := open(t, dir, noon.AddDate(1, 0, 0)); again.Fingerprint() != a.Fingerprint() || len(a.Fingerprint()) != 95 {
		t.Errorf("fingerprint %s, after a restart %s", a.Fingerprint(), again.Fingerprint())
	}
}

func TestRefused(t *testing.T) {
	dir := t.TempDir()
	open(t, dir, noon)
	broken := func(file string, text []byte) string {
		d := t.TempDir()
		if err := os.CopyFS(d, os.DirFS(dir)); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(d, file), text, 0o600); err != nil {
			t.Fatal(err)
		}
		return d
	}
	other := t.TempDir()
	open(t, other, noon)
	signer, err := fs.ReadFile(os.DirFS(other), "signer.pem")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what, dir, name string
		now             time.Time
		want            string
	}{
		{"a name of one part", t.TempDir(), "local", noon, "needs two parts"},
		{"a name with a space", t.TempDir(), "our shop.local", noon, "letters, digits and hyphens"},
		{"a clock of 1970", t.TempDir(), "a.local", time.Unix(0, 0), "set it first"},
		{"a clock before the root", dir, "tarnbrook.local", noon.AddDate(-1, 0, 0), "set the clock"},
		{"after the root's end", dir, "tarnbrook.local", noon.AddDate(11, 0, 0), "ended on 2036-01-14"},
		{"another shop's signer", broken("signer.pem", signer), "tarnbrook.local", noon, "not signed by root.pem"},
		{"a damaged root", broken("root.pem", []byte("-----")), "tarnbrook.local", noon, "root.pem holds no certificate"},
	} {
		if _, err := Open(c.dir, c.name, c.now); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.what, err, c.want)
		}
	}
}

// conn is one end of a handshake at an address of the machine.
type conn struct {
	net.Conn
	at net.IP
}

func (c conn) LocalAddr() net.Addr { return &net.TCPAddr{IP: c.at} }

func TestLeafRenews(t *testing.T) {
	dir, now := t.TempDir(), noon
	a := open(t, dir, noon)
	clock := func() time.Time { return now }
	l, err := a.Leaf(clock)
	if err != nil {
		t.Fatal(err)
	}
	shown := func(ip string) *tls.Certificate {
		t.Helper()
		c, err := l.get(&tls.ClientHelloInfo{Conn: conn{at: net.ParseIP(ip)}})
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	names := func(c *tls.Certificate, ip string) {
		t.Helper()
		if err := chain(a, c, ip, now); err != nil {
			t.Errorf("at %s: %v", ip, err)
		}
	}
	first := shown("192.168.4.20")
	names(first, "192.168.4.20")
	if shown("192.168.4.20") != first {
		t.Error("a second handshake made another leaf")
	}
	moved := shown("10.0.0.7") // the router gave another address
	names(moved, "10.0.0.7")
	names(moved, "192.168.4.20")
	if c := shown("203.0.113.7"); c != moved {
		t.Error("a public address, which the constraint forbids, made another leaf")
	}

	// A restart shows the same leaf.
	if l, err = a.Leaf(clock); err != nil {
		t.Fatal(err)
	}
	if c := shown("10.0.0.7"); !c.Leaf.Equal(moved.Leaf) {
		t.Error("a restart made another leaf")
	}

	now = moved.Leaf.NotAfter.AddDate(0, 0, -renewDays).Add(-time.Second)
	if c := shown("10.0.0.7"); !c.Leaf.Equal(moved.Leaf) {
		t.Error("renewed before its time")
	}
	now = now.Add(time.Second)
	renewed := shown("10.0.0.7")
	if renewed.Leaf.Equal(moved.Leaf) {
		t.Error("not renewed 30 days before its end")
	}
	names(renewed, "192.168.4.20")

	// Addresses do not gather without end.
	for i := range 40 {
		shown(net.IPv4(10, 9, 0, byte(i)).String())
	}
	if got := shown("10.9.0.39"); len(got.Leaf.IPAddresses) != addresses {
		t.Errorf("the leaf names %d addresses", len(got.Leaf.IPAddresses))
	}
}

// A leaf that was cut off or is of another authority is made anew: it is the
// one file that costs nothing.
func TestDamagedLeafIsMadeAnew(t *testing.T) {
	dir := t.TempDir()
	a := open(t, dir, noon)
	if err := os.WriteFile(filepath.Join(dir, "leaf.pem"), []byte("-----BEGIN CERT"), 0o600); err != nil {
		t.Fatal(err)
	}
	l, err := a.Leaf(func() time.Time { return noon })
	if err != nil {
		t.Fatal(err)
	}
	if err := chain(a, l.cert, "localhost", noon); err != nil {
		t.Error(err)
	}
}

// A shop takes another name. The old root goes on proving the old name and
// nothing else, the new one the new name; neither is remade, and a phone that
// asks for a name is shown the leaf that proves it.
func TestAnotherName(t *testing.T) {
	dir := t.TempDir()
	clock := func() time.Time { return noon }
	old := open(t, dir, noon)
	other, err := Open(dir, "elsewhere.local", noon)
	if err != nil {
		t.Fatal(err)
	}
	if old.Fingerprint() == other.Fingerprint() {
		t.Fatal("one root for two names")
	}
	for _, name := range []string{"Tarnbrook.local", "elsewhere.local"} { // and again after a restart
		a, err := Open(dir, name, noon)
		if want := map[bool]*Authority{true: old, false: other}[name != "elsewhere.local"]; err != nil || a.Fingerprint() != want.Fingerprint() {
			t.Fatalf("%s was made anew: %v", name, err)
		}
	}
	earlier, err := Earlier(dir, "elsewhere.local", noon)
	if err != nil || len(earlier) != 1 || earlier[0].Fingerprint() != old.Fingerprint() {
		t.Fatalf("earlier names: %v %v", earlier, err)
	}
	was, err := earlier[0].Leaf(clock)
	if err != nil {
		t.Fatal(err)
	}
	is, err := other.Leaf(clock)
	if err != nil {
		t.Fatal(err)
	}
	var atAddress *Leaf
	c := With(is.Config(), []*Leaf{was}, func() *Leaf { return atAddress })
	for _, q := range []struct {
		asks, proves string
		by           *Authority
		address      *Leaf
	}{
		{"tarnbrook.local", "tarnbrook.local", old, nil},
		{"TARNBROOK.local", "tarnbrook.local", old, nil}, // RFC 6066: names compare as in DNS
		{"elsewhere.local", "elsewhere.local", other, nil},
		{"localhost", "localhost", other, nil},
		{"", "192.168.4.20", other, nil},
		{"", "192.168.4.20", old, was},
	} {
		atAddress = q.address
		leaf, err := c.GetCertificate(&tls.ClientHelloInfo{ServerName: q.asks, Conn: conn{at: net.IPv4(192, 168, 4, 20)}})
		if err != nil {
			t.Fatal(err)
		}
		if err := chain(q.by, leaf, q.proves, noon); err != nil {
			t.Errorf("who asks for %q: %v", q.asks, err)
		}
		if q.by == old && chain(old, leaf, "elsewhere.local", noon) == nil {
			t.Error("the old root proves the new name")
		}
	}
	// A damaged one is said, and the others serve.
	if err := os.WriteFile(filepath.Join(dir, "elsewhere.local.signer.pem"), []byte("-----"), 0o600); err != nil {
		t.Fatal(err)
	}
	if all, err := Earlier(dir, "third.local", noon); len(all) != 1 || err == nil || !strings.Contains(err.Error(), "elsewhere.local.signer.pem") {
		t.Errorf("%d earlier names, %v", len(all), err)
	}
}
