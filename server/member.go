package server

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/google/uuid"
	"github.com/gorilla/websocket"

	"bayhold/checklist"
	"bayhold/server/join"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
	"bayhold/sync/session"
)

// Who may reach a shop that other machines reach: package join over the socket
// and over HTTP. Which phones joined is in the shop's logbook (writer.roll);
// what is open or was proven just now is in memory, and when a phone was last
// heard is in a bucket of its own, for it changes every hour and proves nothing.

// passCookie carries a phone's pass. The prefix makes the browser refuse it
// without Secure, from another host, or for a part of the paths (RFC 6265bis
// section 4.1.3).
const passCookie = "__Host-bayhold"

// members is what the server knows of phones beside the logbook.
type members struct {
	mu          sync.Mutex
	invitations *join.Invitations
	passes      *join.Passes
	contacts    map[logbook.ID]contact
	moving      map[logbook.ID]int64 // phones that were invited to the shop's new address, until when (origin.go)
}

// contact is when a phone was last heard and where it lives, and what it said
// was only on it.
type contact struct {
	at     int64  // ms
	holds  int    // lines and photos
	origin string // "" of a phone that was not heard since this is kept
	moved  bool   // it joined anew at the shop's new address
}

func (c contact) encode() []byte {
	b := cbor.AppendUint(cbor.AppendInt(cbor.AppendArray(nil, 4), c.at), uint64(c.holds))
	return cbor.AppendBool(cbor.AppendText(b, c.origin), c.moved)
}

func readContact(raw []byte) (c contact, err error) {
	r := cbor.NewReader(raw)
	n := r.Array()
	c.at, c.holds = r.Int(), int(r.Uint())
	if n == 4 {
		c.origin, c.moved = r.Text(), r.Bool()
	} else if n != 2 {
		r.Fail("a contact has 4 fields")
	}
	return c, r.Close()
}

func newMembers(store *Store) (*members, error) {
	m := &members{invitations: join.NewInvitations(), passes: join.NewPasses(), contacts: map[logbook.ID]contact{}, moving: map[logbook.ID]int64{}}
	return m, store.read(func(v view) error {
		return v.tx.Bucket(bucketContacts).ForEach(func(k, raw []byte) error {
			if c, err := readContact(raw); err == nil && len(k) == 16 {
				m.contacts[logbook.ID(k)] = c
			}
			return nil // what cannot be read is said anew on the next contact
		})
	})
}

// noteContact keeps that a phone was heard now, at an origin; holds below zero:
// as it said before.
func (s *Server) noteContact(device logbook.ID, holds int, origin string) {
	s.members.mu.Lock()
	c := s.members.contacts[device]
	c.at, c.origin = s.clock(), origin
	if holds >= 0 {
		c.holds = holds
	}
	s.members.contacts[device] = c
	s.members.mu.Unlock()
	s.keepContact(device, c)
}

// keepContact does not wait for the disk.
func (s *Server) keepContact(device logbook.ID, c contact) {
	s.writer.submit(task{own: func(p *pen) error { return p.tx.Bucket(bucketContacts).Put(device[:], c.encode()) }})
}

// device finds a phone that joined.
func (w *writer) device(id logbook.ID) (join.Device, bool) {
	w.mu.RLock()
	defer w.mu.RUnlock()
	return w.roll.Device(id)
}

// withNames adds to a round the lines that say under which names phones began to
// write in it.
func (w *writer) withNames(tasks []task) []task {
	if !w.must {
		return tasks
	}
	for _, t := range tasks {
		for i := range t.subs {
			if _, known := w.roll.Writer(t.subs[i].Entry.Writer); known || t.subs[i].Refusal != "" {
				continue
			}
			return append(tasks, task{own: func(p *pen) error {
				names := make([]logbook.ID, 0, len(p.bound))
				for name := range p.bound {
					names = append(names, name)
				}
				slices.SortFunc(names, logbook.ID.Compare)
				for _, name := range names {
					kind, body := join.Writes(p.bound[name], name)
					if err := p.line(p.st.shop, kind, body); err != nil {
						return err
					}
				}
				return nil
			}})
		}
	}
	return tasks
}

// muted is the store for a phone that was taken off the shop. It learns what
// became of its own lines, and nothing else; and no copy of it proves anything.
type muted struct{ session.Store }

func (muted) Carries() ([]session.Carried, error) { return nil, nil }

func (muted) After(logbook.Log, uint64, int, int) ([]session.Stored, error) { return nil, nil }

func (muted) Shared(logbook.Log, uint64, func() (*session.Batch, error)) (*session.Batch, error) {
	return nil, nil
}

func (muted) Signed(logbook.Log, logbook.Cursor, []byte) bool { return false }

func random[T [16]byte | [24]byte | [32]byte]() (b T) {
	switch p := any(&b).(type) {
	case *[16]byte:
		rand.Read(p[:])
	case *[24]byte:
		rand.Read(p[:])
	case *[32]byte:
		rand.Read(p[:])
	}
	return b
}

// prove asks the phone at the other end of a socket who it is. Messages are
// text and hold JSON; frames come behind them and are binary:
//
//	shop   {"nonce": "..."}
//	phone  {"device": "...", "proof": "...", "holds": 3}
//	shop   {"role": "crew", "pass": "..."}, {"role": "off"} or {"refused": "..."}
//
// A phone that lives at an address that the shop has left is told the new one
// beside its role, as "moved" (origin.go).
//
// The phone need not wait for the last one before it says hello.
func (s *Server) prove(p *wsSession, origin string) error {
	s.proofs.Add(1)
	defer s.proofs.Add(-1)
	p.ws.SetReadLimit(maxProof)
	p.ws.SetReadDeadline(time.Now().Add(proofWait))
	bytes32 := random[[32]byte]()
	nonce := base64.RawURLEncoding.EncodeToString(bytes32[:])
	if err := p.text(map[string]any{"nonce": nonce}); err != nil {
		return err
	}
	kind, raw, err := p.ws.ReadMessage()
	if err != nil {
		return err
	}
	var said struct {
		Device string `json:"device"`
		Proof  []byte `json:"proof"`
		Holds  int    `json:"holds"`
	}
	if kind != websocket.TextMessage || json.Unmarshal(raw, &said) != nil {
		return p.turnAway("A phone proves who it is before it says anything.")
	}
	id, _ := logbook.ParseID(said.Device)
	d, known := s.writer.device(id)
	if !known || !d.Proves(join.Said(origin, id, nonce), said.Proof) {
		return p.turnAway("This phone has not joined this shop. Ask the lead for an invitation.")
	}
	if d.Again && d.Revoked == 0 {
		return p.turnAway("The shop came back from a backup: this phone joins again. Its lines stay on it.")
	}
	p.member, p.deaf = d.ID, d.Revoked != 0
	p.log = p.log.With("phone", d.Name)
	s.noteContact(d.ID, min(max(0, said.Holds), 1e6), origin)
	if p.deaf {
		return p.text(map[string]any{"role": "off"})
	}
	s.members.mu.Lock()
	pass := s.members.passes.Give(random[[16]byte](), d.ID, s.clock())
	s.members.mu.Unlock()
	answer := map[string]any{"role": d.Role, "pass": pass}
	if to := s.movedTo(origin); to != "" {
		answer["moved"] = to
	}
	return p.text(answer)
}

func (p *wsSession) text(v any) error {
	p.ws.SetWriteDeadline(time.Now().Add(writeWait))
	return p.ws.WriteJSON(v)
}

// turnAway ends a socket that proved nothing, with a sentence. What the phone
// sent behind its proof is read and dropped for a moment, so that the sentence
// arrives (see read).
func (p *wsSession) turnAway(why string) error {
	p.log.Warn("A device that is none of this shop's phones was turned away: {why}", "why", why)
	p.text(map[string]any{"refused": why})
	p.ws.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(websocket.ClosePolicyViolation, ""), time.Now().Add(time.Second))
	p.ws.NetConn().SetReadDeadline(time.Now().Add(time.Second))
	io.Copy(io.Discard, io.LimitReader(p.ws.NetConn(), 2*maxMessage))
	return errors.New(why)
}

// holder is the phone that a request's pass was given to, if it still belongs to
// the shop.
func (s *Server) holder(word string) (join.Device, bool) {
	s.members.mu.Lock()
	id, ok := s.members.passes.Holder(word, s.clock())
	s.members.mu.Unlock()
	if !ok {
		return join.Device{}, false
	}
	d, ok := s.writer.device(id)
	return d, ok && d.Revoked == 0 && !d.Again
}

// joined lets phones of the shop's through; at localhost everyone.
func (s *Server) joined(next http.HandlerFunc) http.Handler {
	return s.phones(func(w http.ResponseWriter, r *http.Request, _ join.Device) { next(w, r) })
}

// phones is joined for those who ask which phone it is.
func (s *Server) phones(next func(http.ResponseWriter, *http.Request, join.Device)) http.Handler {
	return s.admit(func(join.Device) bool { return true }, next)
}

// leads lets the lead's own phones through.
func (s *Server) leads(next func(http.ResponseWriter, *http.Request, join.Device)) http.Handler {
	return s.admit(func(d join.Device) bool { return d.Role == join.Lead }, next)
}

func (s *Server) admit(may func(join.Device) bool, next func(http.ResponseWriter, *http.Request, join.Device)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var d join.Device
		if s.closed {
			ok := false
			if c, err := r.Cookie(passCookie); err == nil {
				d, ok = s.holder(c.Value)
			}
			if !ok {
				http.Error(w, "only phones that joined this shop are answered: open the app, and look whether it joined", http.StatusUnauthorized)
				return
			}
			if !may(d) {
				http.Error(w, "only the lead's own phone may do this", http.StatusForbidden)
				return
			}
		}
		next(w, r, d)
	})
}

// pass turns the pass that a phone was given over its socket into a cookie. A
// page cannot read it, no other site's page sends it, and no address holds it.
func (s *Server) pass(w http.ResponseWriter, r *http.Request) {
	word, _ := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if _, ok := s.holder(word); !ok {
		http.Error(w, "this pass is over: connect again", http.StatusUnauthorized)
		return
	}
	http.SetCookie(w, &http.Cookie{Name: passCookie, Value: word, Path: "/", Secure: true, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	w.WriteHeader(http.StatusNoContent)
}

// decode reads the small JSON body of a request.
func decode(w http.ResponseWriter, r *http.Request, into any) bool {
	err := json.NewDecoder(http.MaxBytesReader(w, r.Body, 4<<10)).Decode(into)
	if err != nil {
		http.Error(w, "this request cannot be read: "+err.Error(), http.StatusBadRequest)
	}
	return err == nil
}

// join makes the phone that brings an invitation one of the shop's. A phone that
// asks again with the same key, because it never heard the answer, is the same.
func (s *Server) join(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-store")
	var ask struct {
		Token, Code, Name string
		Key               []byte
	}
	if !decode(w, r, &ask) {
		return
	}
	d := join.Device{ID: logbook.ID(uuid.Must(uuid.NewV7())), Key: ask.Key, Name: phoneName(ask.Name)}
	salt := random[[16]byte]()
	d.Salt = salt[:]
	kind, body := join.Added(d)
	if err := join.NewRoll().Add(kind, body, 0, true); err != nil {
		http.Error(w, "This phone's key cannot be read: "+err.Error()+".", http.StatusBadRequest)
		return
	}
	s.writer.mu.RLock()
	was, again := s.writer.roll.Holder(ask.Key)
	s.writer.mu.RUnlock()
	if again && was.Revoked != 0 {
		http.Error(w, "This phone was taken off the shop: join anew.", http.StatusGone)
		return
	}
	if again && !was.Again {
		writeJSON(w, http.StatusOK, map[string]any{"device": was.ID.String(), "role": was.Role})
		return
	}
	from, _, _ := net.SplitHostPort(r.RemoteAddr)
	s.members.mu.Lock()
	ticket, err := s.members.invitations.Find(ask.Token, ask.Code, from, s.clock())
	if err == nil && again && ticket.Role != was.Role {
		err = errOtherRole
	}
	if err == nil && !s.members.invitations.Use(ticket) {
		err = join.ErrNoInvitation
	}
	s.members.mu.Unlock()
	if err != nil {
		s.log.Warn("A phone did not get in: {why}", "remote", r.RemoteAddr, "why", err)
		code := http.StatusForbidden
		if errors.Is(err, join.ErrSlow) {
			code = http.StatusTooManyRequests
		}
		http.Error(w, err.Error(), code)
		return
	}
	d.Role, d.Invited = ticket.Role, ticket.By
	whose, _ := s.person(ticket.Person)
	if d.Name == "" {
		d.Name = s.unnamed(phoneName(whose.Name))
	}
	if kind, body = join.Added(d); again {
		d = was
		kind, body = join.Joined(d.ID, ticket.By)
	}
	if err := s.writeLine(r.Context(), kind, body); err != nil {
		s.noWrite("A phone's joining", err)
		http.Error(w, "The shop cannot write just now. Ask the lead for another invitation.", http.StatusServiceUnavailable)
		return
	}
	s.log.Info(`Phone "{phone}" joined as {role}.`, "phone", d.Name, "role", d.Role)
	s.noteContact(d.ID, 0, originOf(r))
	s.hasMoved(ticket.By)
	answer := object{"device": d.ID.String(), "role": d.Role}
	if whose.Name != "" {
		answer["person"] = ticket.Person.String()
	}
	writeJSON(w, http.StatusOK, answer)
}

// errOtherRole keeps a phone that joins again what it was.
var errOtherRole = errors.New("This phone joined in another role: ask for an invitation in that one.")

// returning is how many phones have to join again, because the store came from a
// backup.
func (s *Server) returning() (n int) {
	s.writer.mu.RLock()
	defer s.writer.mu.RUnlock()
	for _, d := range s.writer.roll.Devices() {
		if d.Again && d.Revoked == 0 {
			n++
		}
	}
	return n
}

// person finds somebody of the crew.
func (s *Server) person(id logbook.ID) (checklist.PersonAdd, bool) {
	s.writer.mu.RLock()
	defer s.writer.mu.RUnlock()
	return s.writer.shop.Person(checklist.ID(id))
}

// unnamed is what a phone is called that nobody gave a name: by whom it is for, or
// 'Phone 3', and unlike those that joined before it.
func (s *Server) unnamed(name string) string {
	s.writer.mu.RLock()
	list := s.writer.roll.Devices()
	s.writer.mu.RUnlock()
	for n := 1; ; n++ {
		own := name
		switch {
		case name == "":
			own = fmt.Sprintf("Phone %d", n)
		case n > 1:
			own = fmt.Sprintf("%s %d", name, n)
		}
		if !slices.ContainsFunc(list, func(d join.Device) bool { return d.Name == own }) {
			return own
		}
	}
}

// phoneName is a typed name as the lead's screen has room for it.
func phoneName(typed string) string {
	name := strings.Join(strings.Fields(strings.Map(func(c rune) rune {
		if c == utf8.RuneError || !unicode.IsPrint(c) {
			return ' '
		}
		return c
	}, typed)), " ")
	if r := []rune(name); len(r) > 40 {
		name = string(r[:40])
	}
	return name
}

// writeLine writes a line about a phone into the shop's logbook.
func (s *Server) writeLine(ctx context.Context, kind string, body []byte) error {
	return s.writer.do(ctx, func(p *pen) error { return p.line(p.st.shop, kind, body) })
}

// Invitation is what a phone is shown to join by.
type Invitation struct {
	URL   string `json:"url"`  // opens the app with the token in the fragment
	Code  string `json:"code"` // for the app on the home screen
	Until int64  `json:"until"`
}

// Invite opens an invitation at an origin.
func (s *Server) Invite(origin string, role join.Role, by logbook.ID) Invitation {
	return s.inviteFor(origin, role, by, logbook.ID{})
}

func (s *Server) inviteFor(origin string, role join.Role, by, person logbook.ID) Invitation {
	s.members.mu.Lock()
	defer s.members.mu.Unlock()
	i := s.members.invitations.InviteFor(random[[24]byte](), role, by, person, s.clock())
	return Invitation{URL: origin + "/#/join/" + i.Token, Code: i.Code, Until: i.Until}
}

// FirstLead opens an invitation for the lead of a shop that no lead's phone has
// joined; ok is false if one has, or if nobody needs to.
func (s *Server) FirstLead() (i Invitation, ok bool) {
	s.writer.mu.RLock()
	led := s.writer.roll.Led()
	s.writer.mu.RUnlock()
	if !s.closed || led {
		return i, false
	}
	return s.Invite(s.Origin(), join.Lead, logbook.ID{}), true
}

// Origin is where phones find a shop with a name.
func (s *Server) Origin() string {
	host := s.cfg.Name
	if host == "" {
		host, _, _ = net.SplitHostPort(s.cfg.Addr)
	}
	return "https://" + net.JoinHostPort(host, s.port())
}

func (s *Server) invite(w http.ResponseWriter, r *http.Request, by join.Device) {
	w.Header().Set("Cache-Control", "no-store")
	var ask struct {
		Role   join.Role
		Person string
	}
	if !decode(w, r, &ask) {
		return
	}
	if !ask.Role.Known() {
		http.Error(w, "a phone joins as lead or crew", http.StatusBadRequest)
		return
	}
	person, _ := logbook.ParseID(ask.Person)
	if _, known := s.person(person); ask.Person != "" && !known {
		http.Error(w, "There is no such person in the crew.", http.StatusNotFound)
		return
	}
	i := s.inviteFor(s.invitesAt(originOf(r)), ask.Role, by.ID, person)
	page, picture := s.pageAt(r), ""
	if page != "" {
		picture = svgQR(page)
	}
	writeJSON(w, http.StatusOK, struct {
		Invitation
		SVG     string `json:"svg"`
		Page    string `json:"page"` // where a phone that is new here begins
		PageSVG string `json:"page_svg"`
	}{i, svgQR(i.URL), page, picture})
}

// ownerInvites is invite for the machine's owner (operate.go).
func (s *Server) ownerInvites(w http.ResponseWriter, r *http.Request) {
	role := join.Role(r.FormValue("role"))
	switch {
	case !s.closed:
		http.Error(w, "at localhost nobody has to join: serve with --name", http.StatusConflict)
	case !role.Known():
		http.Error(w, "a phone joins as lead or crew", http.StatusBadRequest)
	default:
		writeJSON(w, http.StatusOK, s.Invite(s.Origin(), role, logbook.ID{}))
	}
}

// AskInvitation asks the server that runs on a data folder for an invitation.
func AskInvitation(data, role string) (i Invitation, err error) {
	resp, err := askServer(data, "POST", "/invite?role="+role, nil)
	if err != nil {
		return i, err
	}
	if resp == nil {
		return i, fmt.Errorf("no server runs on %s: an invitation is of a running server", data)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(io.LimitReader(resp.Body, 4<<10))
	if err == nil && resp.StatusCode != http.StatusOK {
		err = errors.New(string(bytes.TrimSpace(body)))
	}
	if err == nil {
		err = json.Unmarshal(body, &i)
	}
	return i, err
}

// devices lists the phones that ever joined, with what the lead asks of one that
// was lost: when it was last heard, and what it said was only on it.
func (s *Server) devices(w http.ResponseWriter, r *http.Request, me join.Device) {
	online := map[logbook.ID]bool{}
	for _, p := range s.hub.all() {
		online[p.device()] = true
	}
	s.writer.mu.RLock()
	list := s.writer.roll.Devices()
	out := make([]object, len(list))
	opens := make([][]object, len(list)) // when leads' PINs were typed there
	for i, d := range list {
		opens[i] = []object{}
		for _, a := range s.writer.roll.Opens(d.ID) {
			who, _ := s.writer.shop.Person(checklist.ID(a.Person))
			opens[i] = append(opens[i], object{"name": who.Name, "from": a.From, "until": a.Until})
		}
	}
	s.writer.mu.RUnlock()
	s.members.mu.Lock()
	for i, d := range list {
		c := s.members.contacts[d.ID]
		out[i] = object{"id": d.ID.String(), "name": d.Name, "role": d.Role, "joined": d.Joined, "off": d.Revoked, "again": d.Again,
			"at": c.at, "holds": c.holds, "online": online[d.ID], "me": d.ID == me.ID, "opens": opens[i]}
	}
	s.members.mu.Unlock()
	w.Header().Set("Cache-Control", "no-store")
	writeJSON(w, http.StatusOK, out)
}

// takeOff takes a phone off the shop: on disk first, then its passes go and its
// sockets end.
func (s *Server) takeOff(w http.ResponseWriter, r *http.Request, by join.Device) {
	id, _ := logbook.ParseID(r.PathValue("id"))
	d, ok := s.writer.device(id)
	if !ok {
		http.Error(w, "this shop has no such phone", http.StatusNotFound)
		return
	}
	if d.Revoked == 0 {
		kind, body := join.Taken(id, by.ID)
		if err := s.writeLine(r.Context(), kind, body); err != nil {
			s.noWrite("That a phone was taken off", err)
			http.Error(w, "The shop cannot write just now. The phone still belongs to it.", http.StatusServiceUnavailable)
			return
		}
		s.log.Info(`Phone "{phone}" was taken off the shop by "{by}". It reads nothing more.`, "phone", d.Name, "by", by.Name)
	}
	s.members.mu.Lock()
	s.members.passes.Forget(id)
	s.members.mu.Unlock()
	for _, p := range s.hub.all() {
		if p.device() == id {
			p.end("taken off the shop")
		}
	}
	w.WriteHeader(http.StatusNoContent)
}
