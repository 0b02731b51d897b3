package server

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"bayhold/checklist"
	leads "bayhold/checklist/lead"
	"bayhold/checklist/line"
	vehicle "bayhold/checklist/record"
	"bayhold/server/join"
	"bayhold/sync/logbook"
)

// The owner of a vehicle comes by a link to a page of its own, for one job. The
// page is the app's owner.html at /owner/JOB; the link's token stands in the
// fragment behind it, where no log and no Referer sees it, and is given once for
// a pass in a cookie (package join, link.go). That links were given is in the
// job's logbook and nowhere else: whoever asks is looked up there each time, so
// a link ends with its time and with its strike, for this server and the next.
//
// What the owner answers is a line by the server's own writer. It holds what was
// shown, whole: the server makes that text itself (package record) and takes the
// answer only to exactly the text that stands now. Gates treat it as the owner's
// word; the record says 'by link'. Who gave the link stands beside it.

// owners is what the server keeps of them beside the logbook.
type owners struct {
	mu      sync.Mutex // held while one of them writes, so that nobody answers twice
	wrong   sync.Mutex
	guesses join.Guesses
	ready   map[logbook.ID]reckoned // guarded by the overview's lock
}

// reckoned is when a vehicle was said to be ready, and when that was reckoned: a
// plan of the whole shop is not made for each look that an owner takes.
type reckoned struct {
	vehicle.Ready
	at int64
}

const readyLasts = 5 * 60_000 // ms

const (
	linkMost   = 62 * 24 * 60 * 60 * 1000 // ms: the call back lies inside
	linksOpen  = 12                       // of one job
	maxStrokes = 8000                     // bytes, as the crew's screen keeps
	maxAnswer  = 24 << 10                 // a request with that many, in base64
)

// serversAlone says whether only the server may write a body: that a link was
// given, that something came by one, and what was erased.
func serversAlone(b checklist.Body) bool {
	switch b := b.(type) {
	case checklist.OwnerLink, checklist.Forget:
		return true
	case checklist.Sign:
		return b.Link != "" || b.Text != ""
	case checklist.FindingAnswer:
		return b.Link != "" || b.Text != ""
	}
	return false
}

func (s *Server) ownerRoutes(mux *http.ServeMux) {
	mux.HandleFunc("GET /owner/{job}", s.ownerPage)
	mux.HandleFunc("POST /owner/{job}/open", s.ownerOpens)
	mux.HandleFunc("GET /owner/{job}/page", s.owned(s.ownerReads))
	mux.HandleFunc("POST /owner/{job}/answer", s.owned(s.ownerAnswers))
	mux.HandleFunc("POST /owner/{job}/sign", s.owned(s.ownerSigns))
	mux.HandleFunc("GET /owner/{job}/photos/{sha}", s.owned(s.ownerPhoto))
	mux.HandleFunc("GET /owner/{job}/record.pdf", s.owned(s.ownerRecord))
	mux.Handle("GET /links/{job}", s.phones(s.links))
	mux.Handle("POST /links/{job}", s.phones(s.giveLink))
	mux.Handle("POST /links/{job}/off", s.phones(s.takeLinkBack))
}

// given is a link as the job's logbook tells.
type given struct {
	checklist.OwnerLink
	ref   logbook.Ref
	by    checklist.ID
	at    int64
	taken bool
	old   bool // of before a restore: it may have been taken back in what was lost
}

func (g *given) over(now int64) bool { return g.taken || g.old || now >= g.Until }

func (s *Server) linksOf(shop *checklist.Shop, job logbook.ID) (out []given) {
	for _, l := range shop.Lines(checklist.ID(job), 0) {
		if b, ok := l.Body.(checklist.OwnerLink); ok {
			by := logbook.ID(l.ID.Writer)
			out = append(out, given{b, logbook.Ref{Writer: by, Seq: l.ID.Seq}, l.By, l.Span.Latest, l.Struck, by != s.store.writer})
		}
	}
	return out
}

var errNoJob = errors.New("no vehicle has this id")

// ofJob looks at one job: an open one in the shop as its lead sees it, one that
// left by its own lines.
func (s *Server) ofJob(job logbook.ID, look func(shop *checklist.Shop, l *leads.Look) error) error {
	h := s.store.Heads()[jobLog(job)]
	switch {
	case h.Order == 0:
		return errNoJob
	case h.Closed == (logbook.Ref{}):
		s.over.mu.Lock()
		defer s.over.mu.Unlock()
		l, err := s.over.now()
		if err != nil {
			return err
		}
		return look(l.Shop, l)
	}
	shop := checklist.NewShop()
	for _, of := range []logbook.Log{s.store.shop, jobLog(job)} {
		if err := s.store.foldInto(shop, of); err != nil {
			return err
		}
	}
	return look(shop, nil)
}

// --- the shop's side: links are given and taken back ---

// mayLink is who of the shop gives links: the lead from a phone of the lead's,
// or the desk.
func (s *Server) mayLink(by logbook.ID, from join.Device) (why string) {
	person, _ := s.person(by)
	switch role := line.RoleOf(person.Role); {
	case role == line.Desk, role == line.Lead && (!s.closed || from.Role == join.Lead):
		return ""
	case role == line.Lead:
		return "A lead gives links on the lead's own phone."
	}
	return "Only the lead or the desk gives links."
}

func (s *Server) jobOf(w http.ResponseWriter, r *http.Request) (job logbook.ID, ok bool) {
	if job, ok = logbook.ParseID(r.PathValue("job")); !ok {
		http.Error(w, "a vehicle is asked for by its job's id", http.StatusBadRequest)
	}
	return job, ok
}

// failed answers what kept a job from being looked at.
func (s *Server) failed(w http.ResponseWriter, err error) {
	if errors.Is(err, errNoJob) {
		http.Error(w, err.Error(), http.StatusNotFound)
		return
	}
	s.log.Error("A vehicle cannot be read for its owner: {err}. Run 'bayhold verify'.", "err", err)
	http.Error(w, "The shop cannot answer just now. Try again.", http.StatusServiceUnavailable)
}

// links lists those of a job, newest first, without anything that opens it.
func (s *Server) links(w http.ResponseWriter, r *http.Request, _ join.Device) {
	job, ok := s.jobOf(w, r)
	if !ok {
		return
	}
	out, now := []object{}, s.clock()
	err := s.ofJob(job, func(shop *checklist.Shop, _ *leads.Look) error {
		for _, g := range s.linksOf(shop, job) {
			by, _ := shop.Person(g.by)
			out = append(out, object{"to": g.To, "until": g.Until, "at": g.at, "by": by.Name, "sum": g.Sum, "taken": g.taken, "over": g.over(now)})
		}
		return nil
	})
	if err != nil {
		s.failed(w, err)
		return
	}
	w.Header().Set("Cache-Control", "no-store")
	writeJSON(w, http.StatusOK, out)
}

// giveLink opens a job to its owner: a line that it was given, and the one
// answer that ever holds the link itself.
func (s *Server) giveLink(w http.ResponseWriter, r *http.Request, from join.Device) {
	w.Header().Set("Cache-Control", "no-store")
	job, ok := s.jobOf(w, r)
	var ask struct {
		By, To string
		Lasts  int64 // ms
	}
	if !ok || !decode(w, r, &ask) {
		return
	}
	by, _ := logbook.ParseID(ask.By)
	to := plainName(ask.To, 60)
	switch why := s.mayLink(by, from); {
	case why != "":
		http.Error(w, why, http.StatusForbidden)
		return
	case to == "":
		http.Error(w, "Say who is given the link.", http.StatusBadRequest)
		return
	case ask.Lasts < 60_000 || ask.Lasts > linkMost:
		http.Error(w, "A link lasts two months at most.", http.StatusBadRequest)
		return
	}
	now := s.clock()
	err := s.ofJob(job, func(shop *checklist.Shop, _ *leads.Look) error {
		open := 0
		for _, g := range s.linksOf(shop, job) {
			if !g.over(now) {
				open++
			}
		}
		if open >= linksOpen {
			return errManyLinks
		}
		return nil
	})
	if errors.Is(err, errManyLinks) {
		http.Error(w, err.Error(), http.StatusConflict)
		return
	}
	if err != nil {
		s.failed(w, err)
		return
	}
	token := join.LinkToken(random[[16]byte]())
	salt := random[[16]byte]()
	body := checklist.OwnerLink{To: to, Until: now + ask.Lasts, Sum: join.LinkSum(join.LinkPass(token)), Salt: salt[:]}
	if !from.ID.IsZero() {
		body.Phone = from.ID.String()
	}
	if err := s.writer.do(r.Context(), func(p *pen) error { return p.writeFor(by, jobLog(job), body) }); err != nil {
		s.noWrite("An owner's link", err)
		http.Error(w, "The shop cannot write just now. No link was given.", http.StatusServiceUnavailable)
		return
	}
	s.log.Info("A link to a vehicle was given to its owner.", "job", job.String())
	host, near := ownersHost(r.Host, s.cfg.Name)
	address := "http://" + host + "/owner/" + job.String() + "#" + token
	if s.closed {
		address = "https" + strings.TrimPrefix(address, "http")
	}
	writeJSON(w, http.StatusOK, object{"url": address, "until": body.Until, "svg": svgQR(address), "near": near})
}

var errManyLinks = errors.New("This vehicle has many links already. Take one back first.")

// ownersHost is where an owner finds the shop: where the phone is that asks,
// unless the shop has a name that the world knows and the phone came by another.
// near says that it is known on the shop's own network alone.
func ownersHost(asked, name string) (hostport string, near bool) {
	host, port, err := net.SplitHostPort(asked)
	if err != nil {
		host, port = asked, ""
	}
	if !nearBy(host) || name == "" || nearBy(name) {
		return asked, nearBy(host)
	}
	if port == "" {
		return name, false
	}
	return net.JoinHostPort(name, port), false
}

// nearBy says that an address is known on the shop's own network alone: no
// dots, a name that machines there give themselves (RFC 6762 section 3, RFC 8375),
// or an address, which host.go lets be a private one only.
func nearBy(host string) bool {
	host = strings.ToLower(strings.Trim(host, "[]"))
	return net.ParseIP(host) != nil || !strings.Contains(host, ".") ||
		slices.ContainsFunc([]string{".local", ".localhost", ".home.arpa", ".internal", ".lan"}, func(end string) bool { return strings.HasSuffix(host, end) })
}

func jobLog(job logbook.ID) logbook.Log { return logbook.Log{Class: checklist.JobLog, ID: job} }

// writeFor is write in somebody's name who asked for it.
func (p *pen) writeFor(by logbook.ID, log logbook.Log, body checklist.Body, strikes ...logbook.Ref) error {
	kind := "strike"
	if body != nil {
		kind = body.Kind()
	}
	if err := p.line(log, kind, line.Encode(body)); err != nil {
		return err
	}
	sub := &p.subs[len(p.subs)-1]
	sub.Entry.By, sub.Entry.Strikes = by, strikes
	sub.Bytes = sub.Entry.Append(nil)
	return nil
}

// takeLinkBack strikes the line that gave a link. A strike that a phone writes
// does the same.
func (s *Server) takeLinkBack(w http.ResponseWriter, r *http.Request, from join.Device) {
	job, ok := s.jobOf(w, r)
	var ask struct{ By, Sum string }
	if !ok || !decode(w, r, &ask) {
		return
	}
	by, _ := logbook.ParseID(ask.By)
	if why := s.mayLink(by, from); why != "" {
		http.Error(w, why, http.StatusForbidden)
		return
	}
	s.owners.mu.Lock()
	defer s.owners.mu.Unlock()
	var found *given
	err := s.ofJob(job, func(shop *checklist.Shop, _ *leads.Look) error {
		for _, g := range s.linksOf(shop, job) {
			if g.Sum == ask.Sum {
				found = &g
			}
		}
		return nil
	})
	switch {
	case err != nil:
		s.failed(w, err)
		return
	case found == nil:
		http.Error(w, "this vehicle has no such link", http.StatusNotFound)
		return
	case !found.taken:
		if err := s.writer.do(r.Context(), func(p *pen) error { return p.writeFor(by, jobLog(job), nil, found.ref) }); err != nil {
			s.noWrite("That a link was taken back", err)
			http.Error(w, "The shop cannot write just now. The link still opens the job.", http.StatusServiceUnavailable)
			return
		}
	}
	w.WriteHeader(http.StatusNoContent)
}

// --- the owner's side ---

func (s *Server) ownerPage(w http.ResponseWriter, r *http.Request) {
	if _, ok := s.jobOf(w, r); !ok {
		return
	}
	w.Header().Set("X-Robots-Tag", "noindex, nofollow")
	page := r.Clone(r.Context())
	page.URL.Path = "/app/owner.html"
	s.app.ServeHTTP(w, page)
}

// ownerCookie is the cookie of a job's pass: one for each, so that who has a
// fleet reads all of theirs. At localhost, over plain HTTP, it cannot be Secure.
func (s *Server) ownerCookie(job logbook.ID, pass string, lasts int64) *http.Cookie {
	name := "bayhold-owner-" + job.String()
	if s.closed {
		name = "__Host-" + name
	}
	return &http.Cookie{Name: name, Value: pass, Path: "/", Secure: s.closed, HttpOnly: true, SameSite: http.SameSiteStrictMode, MaxAge: int(lasts / 1000)}
}

// The two answers to who may not read, told apart for the page by their code.
var (
	errNoLink = errors.New("This link does not open anything. Ask the shop for another.")
	errOver   = errors.New("This link is over or was taken back. Ask the shop for another.")
	errSlow   = errors.New("Too many wrong links from here. Wait ten minutes.")
)

// opened finds the link that a pass opens a job by, for a request from an
// address. Only what fits none is a guess.
func (s *Server) opened(job logbook.ID, pass, from string) (g given, err error) {
	now := s.clock()
	s.owners.wrong.Lock()
	slow := s.owners.guesses.Slow(from, now)
	s.owners.wrong.Unlock()
	if slow {
		return g, errSlow
	}
	err = s.ofJob(job, func(shop *checklist.Shop, _ *leads.Look) error {
		for _, l := range s.linksOf(shop, job) {
			if join.LinkOpens(pass, l.Sum) {
				if g = l; l.over(now) {
					return errOver
				}
				return nil
			}
		}
		return errNoLink
	})
	if errors.Is(err, errNoJob) {
		err = errNoLink // which jobs there are is nobody's to learn
	}
	if errors.Is(err, errNoLink) {
		s.owners.wrong.Lock()
		s.owners.guesses.Wrong(from, now)
		s.owners.wrong.Unlock()
	}
	return g, err
}

func (s *Server) turnOwnerAway(w http.ResponseWriter, err error) {
	switch {
	case errors.Is(err, errSlow):
		http.Error(w, err.Error(), http.StatusTooManyRequests)
	case errors.Is(err, errOver):
		http.Error(w, err.Error(), http.StatusGone)
	case errors.Is(err, errNoLink):
		http.Error(w, err.Error(), http.StatusForbidden)
	default:
		s.failed(w, err)
	}
}

// ownerOpens gives the pass for a token.
func (s *Server) ownerOpens(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-store")
	job, ok := s.jobOf(w, r)
	var ask struct{ Token string }
	if !ok || !decode(w, r, &ask) {
		return
	}
	from, _, _ := net.SplitHostPort(r.RemoteAddr)
	pass := join.LinkPass(ask.Token)
	g, err := s.opened(job, pass, from)
	if err != nil {
		s.log.Warn("Somebody came with an owner's link that does not open: {why}", "remote", r.RemoteAddr, "why", err)
		s.turnOwnerAway(w, err)
		return
	}
	http.SetCookie(w, s.ownerCookie(job, pass, g.Until-s.clock()))
	w.WriteHeader(http.StatusNoContent)
}

// visit is a request of an owner's who has a pass.
type visit struct {
	job  logbook.ID
	link given
}

// owned lets through who has the pass of the job that the path names.
func (s *Server) owned(next func(http.ResponseWriter, *http.Request, visit)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "no-store")
		job, ok := s.jobOf(w, r)
		if !ok {
			return
		}
		c, err := r.Cookie(s.ownerCookie(job, "", 0).Name)
		if err != nil {
			http.Error(w, "Open the link that the shop gave you.", http.StatusUnauthorized)
			return
		}
		from, _, _ := net.SplitHostPort(r.RemoteAddr)
		g, err := s.opened(job, c.Value, from)
		if err != nil {
			s.turnOwnerAway(w, err)
			return
		}
		next(w, r, visit{job, g})
	}
}

// pageOf is a job's page as it stands now.
func (s *Server) pageOf(job logbook.ID, language string) (o *vehicle.Owner, err error) {
	if !slices.Contains(checklist.Languages, language) {
		language = checklist.Languages[0]
	}
	err = s.ofJob(job, func(shop *checklist.Shop, l *leads.Look) error {
		now := s.clock()
		var ready vehicle.Ready
		if l != nil {
			ready = s.readyAt(l, job, now)
		}
		var ok bool
		o, ok = vehicle.OwnerOf(shop, vehicle.Asked{Job: checklist.ID(job), Now: checklist.Span{Earliest: now, Latest: now}, Zone: zoneOf(shop), Language: language}, ready)
		if !ok {
			return errNoJob
		}
		return nil
	})
	return o, err
}

// readyAt is when an open job's vehicle may be ready, as it was reckoned lately.
// The caller holds the overview's lock.
func (s *Server) readyAt(l *leads.Look, job logbook.ID, now int64) vehicle.Ready {
	r, ok := s.owners.ready[job]
	if !ok || now-r.at >= readyLasts {
		early, late, open := s.over.schedule().Ready(l, checklist.ID(job))
		r = reckoned{vehicle.Ready{From: early, To: late, Open: open}, now}
		if s.owners.ready == nil {
			s.owners.ready = map[logbook.ID]reckoned{}
		}
		s.owners.ready[job] = r
	}
	return r.Ready
}

func hashOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])
}

func (s *Server) ownerReads(w http.ResponseWriter, r *http.Request, v visit) {
	o, err := s.pageOf(v.job, r.FormValue("language"))
	if err != nil {
		s.failed(w, err)
		return
	}
	due := func(key string) any {
		if key == "" {
			return nil
		}
		return object{"key": key, "lines": o.Due[key], "shown": hashOf(o.Due[key].Text())}
	}
	findings, papers, panels := []object{}, []object{}, []object{}
	for _, f := range o.Findings {
		findings = append(findings, object{"n": f.Number, "panel": f.Panel, "place": f.Place, "name": f.Name, "note": f.Note, "photo": f.Photo,
			"answer": f.Answer, "answered": f.Answered, "due": due(f.Key)})
	}
	for _, p := range o.Papers {
		papers = append(papers, object{"what": p.What, "title": p.Title, "due": due(p.Key)})
	}
	for _, p := range o.Panels {
		panels = append(panels, object{"id": p.ID, "name": p.Name})
	}
	list := func(l []string) []string { return append([]string{}, l...) }
	writeJSON(w, http.StatusOK, object{"language": o.Language, "shop": o.Shop, "vehicle": o.Vehicle, "phase": o.Phase, "title": o.Title,
		"says": list(o.Says), "heading": o.Heading, "tells": list(o.Tells), "findings": findings, "papers": papers, "signed": list(o.Signed),
		"care": list(o.Care), "body": o.Body, "panels": panels, "whole": o.Whole, "to": v.link.To, "until": v.link.Until})
}

// dueOf reads what an owner sends, and finds what it answers as it stands now.
func (s *Server) dueOf(w http.ResponseWriter, r *http.Request, v visit, into any, key, shown, language *string) (o *vehicle.Owner, text string, ok bool) {
	if err := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxAnswer)).Decode(into); err != nil {
		http.Error(w, "this request cannot be read: "+err.Error(), http.StatusBadRequest)
		return nil, "", false
	}
	o, err := s.pageOf(v.job, *language)
	if err != nil {
		s.failed(w, err)
		return nil, "", false
	}
	due, ok := o.Due[*key]
	if !ok || hashOf(due.Text()) != *shown {
		http.Error(w, "This changed while you read it. Read it again.", http.StatusConflict)
		return nil, "", false
	}
	return o, due.Text(), true
}

// ownerAnswers writes the answer to a finding.
func (s *Server) ownerAnswers(w http.ResponseWriter, r *http.Request, v visit) {
	s.owners.mu.Lock()
	defer s.owners.mu.Unlock()
	var ask struct{ Key, Answer, Shown, Language string }
	o, text, ok := s.dueOf(w, r, v, &ask, &ask.Key, &ask.Shown, &ask.Language)
	if !ok {
		return
	}
	i := slices.IndexFunc(o.Findings, func(f vehicle.OwnersFinding) bool { return f.Key == ask.Key })
	if i < 0 || ask.Answer != "accepted" && ask.Answer != "declined" {
		http.Error(w, "a finding is accepted or declined", http.StatusBadRequest)
		return
	}
	s.ownerWrites(w, r, v, checklist.FindingAnswer{Finding: o.Findings[i].ID, Answer: ask.Answer,
		Shown: ask.Shown, Text: text, Language: o.Language, Link: v.link.Sum})
}

// ownerSigns writes a signature.
func (s *Server) ownerSigns(w http.ResponseWriter, r *http.Request, v visit) {
	s.owners.mu.Lock()
	defer s.owners.mu.Unlock()
	var ask struct {
		Key, Name, Shown, Language string
		Strokes                    []byte
	}
	o, text, ok := s.dueOf(w, r, v, &ask, &ask.Key, &ask.Shown, &ask.Language)
	if !ok {
		return
	}
	i := slices.IndexFunc(o.Papers, func(p vehicle.OwnersPaper) bool { return p.Key == ask.Key })
	name := plainName(ask.Name, 80)
	switch {
	case i < 0:
		http.Error(w, "only a paper is signed", http.StatusBadRequest)
		return
	case name == "":
		http.Error(w, "Type your name.", http.StatusBadRequest)
		return
	case len(ask.Strokes) > maxStrokes || len(ask.Strokes)%4 != 0:
		http.Error(w, "The signature is too long. Draw it again.", http.StatusBadRequest)
		return
	}
	s.ownerWrites(w, r, v, checklist.Sign{What: o.Papers[i].What, As: "owner", Name: name, Strokes: ask.Strokes, Shown: ask.Shown,
		Text: text, Language: o.Language, Link: v.link.Sum})
}

func (s *Server) ownerWrites(w http.ResponseWriter, r *http.Request, v visit, body checklist.Body) {
	salt := random[[16]byte]()
	said := line.Salted(body, salt[:])
	if err := s.writer.do(r.Context(), func(p *pen) error { return p.line(jobLog(v.job), body.Kind(), said) }); err != nil {
		s.noWrite("An owner's answer", err)
		http.Error(w, "The shop cannot write just now. Try again.", http.StatusServiceUnavailable)
		return
	}
	s.log.Info("The owner of a vehicle answered by link.", "job", v.job.String(), "kind", body.Kind())
	w.WriteHeader(http.StatusNoContent)
}

// ownerPhoto hands out the photos of this job's findings, and no other.
func (s *Server) ownerPhoto(w http.ResponseWriter, r *http.Request, v visit) {
	sha := r.PathValue("sha")
	o, err := s.pageOf(v.job, "")
	if err != nil {
		s.failed(w, err)
		return
	}
	if !isSHA256(sha) || !slices.ContainsFunc(o.Findings, func(f vehicle.OwnersFinding) bool { return f.Photo == sha }) {
		http.Error(w, "this vehicle has no such photo", http.StatusNotFound)
		return
	}
	s.photos.get(w, r, sha)
}

// ownerRecord hands out the record of a vehicle that left, on paper.
func (s *Server) ownerRecord(w http.ResponseWriter, r *http.Request, v visit) {
	r.SetPathValue("job", v.job.String()+".pdf")
	s.record(w, r)
}

// plainName is a name as somebody typed it, on one line, in signs that are seen.
func plainName(typed string, most int) string {
	name := strings.Join(strings.Fields(strings.Map(func(c rune) rune {
		if c == utf8.RuneError || !unicode.IsPrint(c) {
			return ' '
		}
		return c
	}, typed)), " ")
	if r := []rune(name); len(r) > most {
		name = strings.TrimSpace(string(r[:most]))
	}
	return name
}
