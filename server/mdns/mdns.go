// Package mdns makes a shop's .local name lead to its server on the shop's
// wifi, without a name server and without an administrator.
//
// A phone that is told to open shop.local asks everybody on its network at
// once (Multicast DNS, RFC 6762), and who has that name answers with its
// address. The machine's own responder, where there is one, answers for the
// machine's name and knows nothing of the shop's; so the shop server answers
// for its own. Phones of every kind ask so: those that take part in Multicast
// DNS from its port, others once from any port and wait there for the answer
// (section 6.7).
//
// A name is used by one machine. Before the first answer the network is asked
// whether somebody else has it already (in the spirit of section 8.1): an old
// machine of the shop that still runs, for instance. Then this one stays
// silent and says so, for phones would find now the one and now the other.
//
// Routers hand out another address now and then, and a laptop changes its
// network: the answers follow.
package mdns

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/netip"
	"slices"
	"strings"
	"time"

	pion "github.com/pion/mdns/v2"
	"golang.org/x/net/ipv4"
)

// Of the network's last label (RFC 6762 section 3): only such names are asked
// for by multicast.
const suffix = ".local"

// Answers says whether phones look for the name by multicast.
func Answers(name string) bool { return strings.HasSuffix(strings.ToLower(name), suffix) }

const (
	look   = 3 * time.Second // between looks at the machine's addresses
	listen = 2 * time.Second // for somebody else who has the name
	again  = time.Minute     // after which what did not work is tried again
)

// Serve answers for the names until ctx ends. The address is the only one that
// the server listens at, or nil: then each network hears the machine's address
// there.
func Serve(ctx context.Context, names []string, only net.IP, log *slog.Logger) {
	r := responder{names: names, only: only, log: log}
	tick := time.NewTicker(look)
	defer tick.Stop()
	for ctx.Err() == nil {
		r.follow(ctx, addresses(), time.Now())
		select {
		case <-tick.C:
		case <-ctx.Done():
		}
	}
	r.close()
}

// responder answers at the addresses that the machine had when it began.
type responder struct {
	names []string
	only  net.IP
	log   *slog.Logger

	conn  *pion.Conn // nil: it does not answer
	at    []netip.Addr
	began time.Time
	told  string // why it does not answer, said once
}

// follow begins anew if the machine has other addresses now, or if it is time
// to try again.
func (r *responder) follow(ctx context.Context, at []netip.Addr, now time.Time) {
	if slices.Equal(at, r.at) && (r.conn != nil || now.Sub(r.began) < again) {
		return
	}
	r.close()
	r.at, r.began = at, now
	err := taken(ctx, r.names, at)
	if err == nil {
		r.conn, err = open(r.names, r.only)
	}
	switch {
	case ctx.Err() != nil:
	case err == nil:
		r.told = ""
		r.log.Info("Phones on this network find the shop as {name}.", "name", strings.Join(r.names, ", "))
	case err.Error() != r.told:
		r.told = err.Error()
		r.log.Warn("Phones do not find the shop by its name, only by this machine's address: {why}", "why", err)
	}
}

func (r *responder) close() {
	if r.conn != nil {
		r.conn.Close()
		r.conn = nil
	}
}

// taken asks the network who has the names, and is an error if somebody else
// does.
func taken(ctx context.Context, names []string, own []netip.Addr) error {
	conn, err := open(nil, nil)
	if err != nil {
		return err
	}
	defer conn.Close()
	ctx, stop := context.WithTimeout(ctx, listen)
	defer stop()
	for _, name := range names {
		if _, at, err := conn.QueryAddr(ctx, name); err == nil && !slices.Contains(own, at.WithZone("")) {
			return errors.New("another machine on this network, at " + at.String() + ", answers to " + name + ": switch it off, or serve under another name")
		}
	}
	return nil
}

// open listens for questions about the names. The port is shared with the
// machine's own responder: Go asks for that where an address is a multicast
// one.
func open(names []string, only net.IP) (*pion.Conn, error) {
	socket, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(224, 0, 0, 0), Port: 5353})
	if err != nil {
		return nil, err
	}
	options := []pion.ServerOption{pion.WithLocalNames(names...)}
	if only != nil {
		options = append(options, pion.WithLocalAddress(only))
	}
	conn, err := pion.NewServer(ipv4.NewPacketConn(socket), nil, options...)
	if err != nil {
		return nil, errors.Join(err, socket.Close())
	}
	return conn, nil
}

// addresses are the machine's, in order.
func addresses() (out []netip.Addr) {
	list, _ := net.InterfaceAddrs() // none is a network that is down: it comes again
	for _, a := range list {
		if n, ok := a.(*net.IPNet); ok {
			if ip, ok := netip.AddrFromSlice(n.IP); ok {
				out = append(out, ip.Unmap())
			}
		}
	}
	slices.SortFunc(out, netip.Addr.Compare)
	return out
}
