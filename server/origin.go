package server

import (
	"net"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"bayhold/server/join"
	"bayhold/sync/logbook"
)

// A browser gives each origin (scheme, host and port; RFC 6454) a store and
// keys of its own, and no page reaches those of another. So a shop that takes
// another name, or whose machine gets another address, leaves on every phone a
// store behind that only the old origin opens, with lines in it that the shop
// may not have.
//
// The server keeps for each phone the origin that it last came from. While a
// phone lives at one that is not the shop's any more, the old name is proven
// and answered too, and an old port listened at, from the next start on. The
// phone is told of the new address; once nothing is only on it, it is given an
// invitation there in one tap, for it has just proven who it is, and it is
// done with the old origin when it has joined by that. A phone that merely
// said that it held nothing may write more, so that is not enough; one that is
// lost, or joined anew by another way, the lead takes off.
//
// An address that the machine no longer has cannot be served. The lead is told
// so, and what to do.

// home is an origin that phones live at.
type home struct {
	host string
	port string
}

func homeOf(origin string) (h home, ok bool) {
	u, err := url.Parse(origin)
	if err != nil || u.Scheme != "https" || u.Hostname() == "" {
		return h, false
	}
	h = home{strings.ToLower(strings.TrimSuffix(u.Hostname(), ".")), u.Port()}
	if h.port == "" {
		h.port = "443"
	}
	return h, true
}

// originOf is the origin of a page that asks this server over HTTPS.
func originOf(r *http.Request) string { return "https://" + r.Host }

// port is where phones find the shop.
func (s *Server) port() string {
	_, port, _ := net.SplitHostPort(s.cfg.Addr)
	if s.ln != nil {
		_, port, _ = net.SplitHostPort(s.Addr())
	}
	return port
}

// stands says whether a phone may stay at an origin: it is the shop's name, or
// an address that this machine has, at the shop's port. An address that an
// earlier name's root has to prove does not stand: no new phone trusts that.
func (s *Server) stands(h home) bool {
	ip := net.ParseIP(h.host)
	if h.host == "localhost" || ip.IsLoopback() {
		return true // the machine itself
	}
	return h.port == s.port() && (h.host == s.cfg.Name || ip != nil && s.has(ip) && !s.elder)
}

// trustElder says whether a phone that lives at an address joined under an
// earlier root. Who asks for an address names nothing, so only one root can
// prove it: until that phone has moved it is the earlier one.
func (s *Server) trustElder() bool {
	for _, d := range s.writer.roll.Devices() {
		c := s.members.contacts[d.ID]
		if h, ok := homeOf(c.origin); ok && net.ParseIP(h.host) != nil && d.Revoked == 0 && !c.moved && d.Joined < s.cfg.Began.UnixMilli() {
			return true
		}
	}
	return false
}

// AddressesByElder says whether addresses are to be proven by the root of an
// earlier name.
func (s *Server) AddressesByElder() bool { return s.elder }

// has says whether this machine has an address.
func (s *Server) has(ip net.IP) bool {
	addrs, _ := s.cfg.Addresses() // none: the network is down
	return slices.ContainsFunc(addrs, func(a net.Addr) bool { n, ok := a.(*net.IPNet); return ok && n.IP.Equal(ip) })
}

// unserved is why an origin cannot be served, and what to do; "" if it is.
func (s *Server) unserved(h home) string {
	ip := net.ParseIP(h.host)
	switch {
	case ip != nil && !s.has(ip):
		return "This machine no longer has " + h.host + ". Let the router give it back until these phones have come."
	case ip == nil && h.host != s.cfg.Name && (s.cfg.Proves == nil || !s.cfg.Proves(h.host)):
		return "No certificate here proves " + h.host + ". Put back its files in the keys folder, from a backup."
	case h.port != s.port() && !slices.Contains(s.ports, h.port):
		return "Nothing listens at port " + h.port + ". Free it and start the server again, or serve there as before."
	}
	return ""
}

// Left is an origin that is not the shop's any more, and the phones that still
// live there.
type Left struct {
	Origin string      `json:"origin"`
	Why    string      `json:"why"` // it cannot be served, with what to do; "" if it is
	Phones []LeftPhone `json:"phones"`
}

// LeftPhone is a phone that has not moved yet.
type LeftPhone struct {
	Name  string `json:"name"`
	At    int64  `json:"at"`    // ms: when it was last heard
	Holds int    `json:"holds"` // lines and photos that were only on it then
}

// Left lists the origins that phones have not left yet, by name.
func (s *Server) Left() []Left {
	s.writer.mu.RLock()
	list := s.writer.roll.Devices()
	s.writer.mu.RUnlock()
	s.members.mu.Lock()
	defer s.members.mu.Unlock()
	at := map[string]*Left{}
	for _, d := range list {
		c := s.members.contacts[d.ID]
		h, ok := homeOf(c.origin)
		if !ok || d.Revoked != 0 || c.moved || s.stands(h) {
			continue
		}
		if at[c.origin] == nil {
			at[c.origin] = &Left{Origin: c.origin, Why: s.unserved(h)}
		}
		at[c.origin].Phones = append(at[c.origin].Phones, LeftPhone{d.Name, c.at, c.holds})
	}
	out := make([]Left, 0, len(at))
	for _, l := range at {
		out = append(out, *l)
	}
	slices.SortFunc(out, func(a, b Left) int { return strings.Compare(a.Origin, b.Origin) })
	return out
}

// OldNames are the host names of the shop that phones still go by.
func (s *Server) OldNames() (names []string) {
	for _, l := range s.Left() {
		h, _ := homeOf(l.Origin)
		if net.ParseIP(h.host) == nil && h.host != s.cfg.Name && !slices.Contains(names, h.host) {
			names = append(names, h.host)
		}
	}
	return names
}

// listenAgain listens at the ports that phones still go to, as well as it can:
// what fails is among what the lead is told.
func (s *Server) listenAgain() {
	host, _, _ := net.SplitHostPort(s.cfg.Addr)
	for _, l := range s.Left() {
		h, _ := homeOf(l.Origin)
		if h.port == s.port() || slices.Contains(s.ports, h.port) {
			continue
		}
		ln, err := net.Listen("tcp", net.JoinHostPort(host, h.port))
		if err != nil {
			s.log.Error("Phones still go to port {port}, and it cannot be listened at: {err}. Stop what uses it, and start again.", "port", h.port, "err", err)
			continue
		}
		s.ports = append(s.ports, h.port)
		s.again = append(s.again, ln)
	}
}

// movedTo is where a phone at an origin is to go: "" if it may stay.
func (s *Server) movedTo(origin string) string {
	if h, ok := homeOf(origin); !ok || s.stands(h) {
		return ""
	}
	return s.Origin()
}

// invitesAt is the origin that a phone at this one invites others to.
func (s *Server) invitesAt(origin string) string {
	if to := s.movedTo(origin); to != "" {
		return to
	}
	return origin
}

// origins tells the lead where the shop is, and who has not moved there yet.
func (s *Server) origins(w http.ResponseWriter, r *http.Request, _ join.Device) {
	w.Header().Set("Cache-Control", "no-store")
	writeJSON(w, http.StatusOK, object{"here": s.Origin(), "left": s.Left()})
}

// move gives a phone at an old origin an invitation to the shop's, in its own
// role, once it holds nothing that the shop does not.
func (s *Server) move(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-store")
	c, err := r.Cookie(passCookie)
	if err != nil {
		http.Error(w, "only a phone that joined may move", http.StatusUnauthorized)
		return
	}
	d, ok := s.holder(c.Value)
	var ask struct{ Holds *int }
	if !decode(w, r, &ask) {
		return
	}
	to := s.movedTo(originOf(r))
	switch {
	case !ok:
		http.Error(w, "only a phone that joined may move", http.StatusUnauthorized)
		return
	case to == "":
		http.Error(w, "This is the shop's address. There is nowhere to move.", http.StatusConflict)
		return
	case ask.Holds == nil || *ask.Holds < 0:
		http.Error(w, "say how many lines and photos are only on this phone", http.StatusBadRequest)
		return
	}
	s.noteContact(d.ID, min(*ask.Holds, 1e6), originOf(r))
	if *ask.Holds > 0 {
		http.Error(w, strconv.Itoa(*ask.Holds)+" lines and photos are only on this phone. They go first.", http.StatusConflict)
		return
	}
	i := s.Invite(to, d.Role, d.ID)
	s.members.mu.Lock()
	s.members.moving[d.ID] = i.Until
	s.members.mu.Unlock()
	writeJSON(w, http.StatusOK, struct {
		Invitation
		SVG  string `json:"svg"`
		To   string `json:"to"`
		Page string `json:"page"` // brings the certificate, for phones that do not trust the new name yet
	}{i, svgQR(i.URL), to, s.pageAt(r)})
}

// pageAt is the page that brings the certificate to phones that do not trust the
// shop yet, at the address by which this request came; "" if there is none.
func (s *Server) pageAt(r *http.Request) string {
	if at, ok := r.Context().Value(http.LocalAddrContextKey).(*net.TCPAddr); ok && s.cfg.PagePort != "" {
		return "http://" + net.JoinHostPort(at.IP.String(), s.cfg.PagePort)
	}
	return ""
}

// hasMoved notes that a phone joined anew by the invitation that it was given
// to move.
func (s *Server) hasMoved(device logbook.ID) {
	s.members.mu.Lock()
	until, moving := s.members.moving[device]
	moving = moving && s.clock() < until
	delete(s.members.moving, device)
	c := s.members.contacts[device]
	if moving {
		c.moved = true
		s.members.contacts[device] = c
	}
	s.members.mu.Unlock()
	if moving {
		s.keepContact(device, c)
		s.log.Info(`Phone "{phone}" moved to the shop's new address.`, "phone", s.nameOf(device))
	}
}

// nameOf is what a phone is called.
func (s *Server) nameOf(device logbook.ID) string {
	d, _ := s.writer.device(device)
	return d.Name
}
