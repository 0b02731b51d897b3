package main

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"golang.org/x/net/netutil"
	"rsc.io/qr"

	"bayhold/server"
	"bayhold/server/cert"
	"bayhold/server/mdns"
)

// identity is how the server proves to phones that it is the shop's.
type identity struct {
	page      string // where the page that brings the certificate listens
	cert, key string // files of the shop's own; "" for certificates made here
}

// prove sets up TLS, for the names that the shop had before too. There is no
// page for a certificate of the shop's own: whoever made it has made phones
// trust it.
func (how identity) prove(cfg *server.Config) (*certPage, error) {
	keys, now := filepath.Join(cfg.Data, "keys"), time.Now()
	var page *certPage
	var err error
	if how.cert != "" {
		cfg.TLS, err = cert.Own(how.cert, how.key)
	} else {
		_, cfg.PagePort, _ = net.SplitHostPort(how.page)
		var a *cert.Authority
		var leaf *cert.Leaf
		if a, err = cert.Open(keys, cfg.Name, now); err == nil {
			a.Log = cfg.Log
			leaf, err = a.Leaf(time.Now)
		}
		if err == nil {
			cfg.TLS, cfg.Began, page = leaf.Config(), a.Began(), &certPage{addr: how.page, authority: a}
		}
	}
	if err != nil {
		return nil, err
	}
	// A name of before that cannot be proven any more is said, and its phones
	// are told of by the server; the others are served.
	authorities, err := cert.Earlier(keys, cfg.Name, now)
	if err != nil {
		cfg.Log.Error("A certificate of an earlier name cannot be read, so its phones are not served: {why}", "why", err)
	}
	var earlier []*cert.Leaf
	for _, a := range authorities {
		a.Log = cfg.Log
		leaf, err := a.Leaf(time.Now)
		if err != nil {
			cfg.Log.Error("The certificate of {name} cannot be shown, so its phones are not served: {why}", "name", a.Name(), "why", err)
			continue
		}
		earlier = append(earlier, leaf)
	}
	cfg.TLS = cert.With(cfg.TLS, earlier, func() *cert.Leaf {
		if page != nil && page.elder.Load() && len(earlier) > 0 {
			return earlier[len(earlier)-1] // the first name's, as a rule
		}
		return nil
	})
	cfg.Proves = func(name string) bool {
		return slices.ContainsFunc(earlier, func(l *cert.Leaf) bool { return l.Name() == name })
	}
	return page, nil
}

// answerByName makes .local names lead here, until ctx ends, where other
// machines can reach the server.
func answerByName(ctx context.Context, cfg server.Config, names []string, addr string) {
	host, _, _ := net.SplitHostPort(addr)
	ip := net.ParseIP(host)
	names = slices.DeleteFunc(names, func(name string) bool { return !mdns.Answers(name) })
	if len(names) == 0 || ip.IsLoopback() {
		return
	}
	if ip.IsUnspecified() {
		ip = nil
	}
	go mdns.Serve(ctx, names, ip, cfg.Log)
}

// certPage is the page over plain HTTP that brings the certificate.
type certPage struct {
	addr      string
	authority *cert.Authority
	elder     atomic.Bool // addresses are proven by the root of an earlier name
}

// serve listens, and says on the terminal where, with the certificate's print.
func (p *certPage) serve(httpsPort string, stdout io.Writer) (stop func() error, err error) {
	ln, err := net.Listen("tcp", p.addr)
	if err != nil {
		return nil, fmt.Errorf("the page that brings the certificate cannot listen at %s: %w", p.addr, err)
	}
	s := &http.Server{Handler: p.authority.Page(httpsPort), ReadTimeout: 10 * time.Second, WriteTimeout: 10 * time.Second, MaxHeaderBytes: 8 << 10}
	go s.Serve(netutil.LimitListener(ln, 256)) // a shop's new phones, not all strangers
	host, _, _ := net.SplitHostPort(p.addr)
	_, port, _ := net.SplitHostPort(ln.Addr().String())
	addresses := reached(host)
	if len(addresses) == 0 {
		fmt.Fprintf(stdout, "\nThis machine has no address on a private network: join the shop's wifi and start again, so that phones can reach port %s\n\n", port)
	}
	for i, at := range addresses {
		url := "http://" + net.JoinHostPort(at, port)
		if i > 0 {
			fmt.Fprintf(stdout, "  or %s\n", url)
			continue
		}
		fmt.Fprintf(stdout, "\n1. Each phone first trusts this shop, once: scan this, or open %s\n\n%s\n", url, terminalQR(url))
	}
	fmt.Fprintln(stdout, "The certificate's print (SHA-256), to compare on the phone:")
	for _, l := range p.authority.Print() {
		fmt.Fprintln(stdout, "  "+l)
	}
	fmt.Fprintln(stdout)
	return s.Close, nil
}

// reached are the private addresses that other machines may reach a listener
// at; an address that was asked for is the only one.
func reached(host string) (at []string) {
	if host != "" && host != "0.0.0.0" && host != "::" {
		return []string{host}
	}
	addrs, _ := net.InterfaceAddrs() // none is said below
	for _, a := range addrs {
		n, ok := a.(*net.IPNet)
		if ok && n.IP.To4() != nil && cert.Private(n.IP) && !n.IP.IsLoopback() && !n.IP.IsLinkLocalUnicast() {
			at = append(at, n.IP.String())
		}
	}
	return at
}

// terminalQR draws the text as a QR code (ISO/IEC 18004) of half blocks, dark
// on light whatever the terminal's colours are, with the quiet zone of four
// modules that the standard asks for.
func terminalQR(text string) string {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "" // the address beside it says the same
	}
	var b strings.Builder
	const quiet = 4
	for y := -quiet; y < code.Size+quiet; y += 2 {
		b.WriteString("\x1b[30;107m")
		for x := -quiet; x < code.Size+quiet; x++ {
			switch up, down := code.Black(x, y), code.Black(x, y+1); {
			case up && down:
				b.WriteString("█")
			case up:
				b.WriteString("▀")
			case down:
				b.WriteString("▄")
			default:
				b.WriteString(" ")
			}
		}
		b.WriteString("\x1b[0m\n")
	}
	return b.String()
}

// sayLeft says which phones still live at an address that the shop has left.
func sayLeft(stdout io.Writer, left []server.Left, here string) {
	for _, l := range left {
		names := make([]string, len(l.Phones))
		for i, p := range l.Phones {
			if names[i] = p.Name; p.Holds > 0 {
				names[i] += fmt.Sprintf(" (with %d lines and photos when it was last heard)", p.Holds)
			}
		}
		fmt.Fprintf(stdout, "\nPhones that still go by %s: %s.\n", l.Origin, strings.Join(names, ", "))
		if l.Why != "" {
			fmt.Fprintln(stdout, "They cannot be served there. "+l.Why)
		} else {
			fmt.Fprintf(stdout, "They are served there too, and each is shown the way to %s once all it has is here.\n", here)
		}
	}
}
