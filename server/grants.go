package server

import (
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"

	"github.com/google/uuid"

	"bayhold/checklist"
	"bayhold/server/join"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// A grant (a word of RFC 6749) is a way to the shop for what is no phone: a
// logger, which writes one bay's climate, or a calendar program, which reads the
// plan. Neither can sign a nonce, so each has a secret of 128 bits. A lead makes it
// on a phone of their own, sees the secret once, and takes it away there. The shop
// keeps the secret's hash, in a bucket beside the logbooks.
type grant struct {
	id    logbook.ID
	sort  string     // "logger" or "calendar"
	about logbook.ID // a logger's bay; a calendar's job, zero for all of them
	made  int64      // ms
	used  int64      // ms, to an hour; 0: never
}

const (
	grantsMost = 64       // of a shop: more are a mistake
	usedEvery  = 3600_000 // ms between two notes that a grant was used
)

// grants are those of a shop, by the SHA-256 of their secrets: how long it takes
// to find one tells nothing of a secret.
type grants struct {
	mu  sync.Mutex
	all map[[32]byte]grant
}

func newGrants(store *Store) (*grants, error) {
	d := &grants{all: map[[32]byte]grant{}}
	return d, store.read(func(v view) error {
		return v.tx.Bucket(bucketGrants).ForEach(func(k, raw []byte) error {
			r := cbor.NewReader(raw)
			if len(k) != 32 || r.Array() != 5 {
				return nil // what cannot be read opens nothing
			}
			one := grant{id: logbook.ID(r.Bytes()), sort: r.Text(), about: logbook.ID(r.Bytes()), made: r.Int(), used: r.Int()}
			if r.Close() == nil {
				d.all[[32]byte(k)] = one
			}
			return nil
		})
	})
}

func (d grant) append(b []byte) []byte {
	b = cbor.AppendText(cbor.AppendBytes(cbor.AppendArray(b, 5), d.id[:]), d.sort)
	return cbor.AppendInt(cbor.AppendInt(cbor.AppendBytes(b, d.about[:]), d.made), d.used)
}

// grant finds what a secret opens, and notes that it was used.
func (s *Server) grant(sort, secret string) (grant, bool) {
	sum := sha256.Sum256([]byte(secret))
	s.grants.mu.Lock()
	d, ok := s.grants.all[sum]
	if !ok || d.sort != sort {
		s.grants.mu.Unlock()
		return grant{}, false
	}
	now := s.clock()
	noted := now-d.used < usedEvery
	if !noted {
		d.used = now
		s.grants.all[sum] = d
	}
	s.grants.mu.Unlock()
	if !noted {
		s.writer.submit(task{own: func(p *pen) error { // nobody waits for the disk
			if p.tx.Bucket(bucketGrants).Get(sum[:]) == nil {
				return nil // taken away meanwhile
			}
			return p.tx.Bucket(bucketGrants).Put(sum[:], d.append(nil))
		}})
	}
	return d, true
}

// makeGrant answers POST /grants {"sort", "about"} of a lead's own phone with the
// secret, once: a logger's key, or a calendar's address.
func (s *Server) makeGrant(w http.ResponseWriter, r *http.Request, by join.Device) {
	w.Header().Set("Cache-Control", "no-store")
	var ask struct{ Sort, About string }
	if !decode(w, r, &ask) {
		return
	}
	about, _ := logbook.ParseID(ask.About)
	name, ok := s.grantName(ask.Sort, about)
	switch {
	case ask.Sort != "logger" && ask.Sort != "calendar":
		http.Error(w, "ask for a logger's key or a calendar's address", http.StatusBadRequest)
		return
	case !ok || ask.About != "" && about.IsZero():
		http.Error(w, "There is no such bay or vehicle.", http.StatusNotFound)
		return
	}
	random16 := random[[16]byte]()
	secret := base64.RawURLEncoding.EncodeToString(random16[:])
	sum := sha256.Sum256([]byte(secret))
	d := grant{id: logbook.ID(uuid.Must(uuid.NewV7())), sort: ask.Sort, about: about, made: s.clock()}
	s.grants.mu.Lock()
	full := len(s.grants.all) >= grantsMost
	s.grants.mu.Unlock()
	if full {
		http.Error(w, "There are too many keys and addresses. Take old ones away first.", http.StatusConflict)
		return
	}
	err := s.writer.do(r.Context(), func(p *pen) error { return p.tx.Bucket(bucketGrants).Put(sum[:], d.append(nil)) })
	if err != nil {
		s.noWrite("A key or an address", err)
		http.Error(w, "The shop cannot write just now. Try again.", http.StatusServiceUnavailable)
		return
	}
	s.grants.mu.Lock()
	s.grants.all[sum] = d
	s.grants.mu.Unlock()
	s.log.Info(`Phone "{phone}" let a {sort} in: {about}.`, "sort", d.sort, "about", name, "phone", by.Name)
	origin := "https://" + r.Host
	out := object{"id": d.id.String(), "sort": d.sort, "name": name}
	if d.sort == "calendar" {
		out["url"] = origin + calendarPath + secret + "/plan.ics"
	} else {
		out["key"] = secret
		out["curl"] = "curl --cacert root.pem '" + origin + "/climate/" + url.PathEscape(plain(name)) + "?instrument=" + url.QueryEscape(plain(name)) + "' \\\n" +
			"  -H 'Authorization: Bearer " + secret + "' \\\n" +
			`  -d "{\"at\":\"$(date -u +%FT%TZ)\",\"air_c\":20.0,\"rh_pct\":55}"`
	}
	writeJSON(w, http.StatusOK, out)
}

// grantName is what a grant is about, in a person's words; ok is false if there is
// no such bay or vehicle.
func (s *Server) grantName(sort string, about logbook.ID) (name string, ok bool) {
	if sort == "logger" {
		s.writer.mu.RLock()
		defer s.writer.mu.RUnlock()
		p, ok := s.writer.shop.Place(checklist.ID(about))
		return p.Name, ok
	}
	if about.IsZero() {
		return "", true
	}
	s.over.mu.Lock()
	defer s.over.mu.Unlock()
	l, err := s.over.now()
	if err != nil {
		return "", false
	}
	j, ok := l.Shop.Job(checklist.ID(about))
	return j.Open.Label, ok
}

// listGrants answers GET /grants with every grant, the last made first; no secret is
// in it, for the shop has none.
func (s *Server) listGrants(w http.ResponseWriter, _ *http.Request, _ join.Device) {
	s.grants.mu.Lock()
	all := make([]grant, 0, len(s.grants.all))
	for _, d := range s.grants.all {
		all = append(all, d)
	}
	s.grants.mu.Unlock()
	slices.SortFunc(all, func(a, b grant) int { return b.id.Compare(a.id) })
	out := []object{}
	for _, d := range all {
		name, _ := s.grantName(d.sort, d.about)
		out = append(out, object{"id": d.id.String(), "sort": d.sort, "name": name, "all": d.sort == "calendar" && d.about.IsZero(), "made": d.made, "used": d.used})
	}
	w.Header().Set("Cache-Control", "no-store")
	writeJSON(w, http.StatusOK, out)
}

// endGrant answers POST /grants/{id}/off: its secret opens nothing any more, as
// soon as this is answered.
func (s *Server) endGrant(w http.ResponseWriter, r *http.Request, by join.Device) {
	id, _ := logbook.ParseID(r.PathValue("id"))
	s.grants.mu.Lock()
	sum, found := [32]byte{}, false
	for k, d := range s.grants.all {
		if d.id == id {
			sum, found = k, true
		}
	}
	s.grants.mu.Unlock()
	if !found {
		http.Error(w, "this shop has no such key or address", http.StatusNotFound)
		return
	}
	err := s.writer.do(r.Context(), func(p *pen) error { return p.tx.Bucket(bucketGrants).Delete(sum[:]) })
	if err != nil {
		s.noWrite("That a key or an address was taken away", err)
		http.Error(w, "The shop cannot write just now. It still opens.", http.StatusServiceUnavailable)
		return
	}
	s.grants.mu.Lock()
	delete(s.grants.all, sum)
	s.grants.mu.Unlock()
	s.log.Info(`Phone "{phone}" took the key of a logger or the address of a calendar away.`, "phone", by.Name)
	w.WriteHeader(http.StatusNoContent)
}

// loggerGrant says whether a request brings the key of a logger's grant to a bay.
func (s *Server) loggerGrant(r *http.Request, place checklist.PlaceAdd) bool {
	key, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if !ok {
		return false
	}
	d, ok := s.grant("logger", strings.TrimSpace(key))
	return ok && d.about == logbook.ID(place.Place)
}

// calendarPath is where a calendar's secret address begins. What follows is in no
// log of this server's.
const calendarPath = "/calendar/"

// calendar answers GET /calendar/{secret}/plan.ics. A calendar program signs
// nothing and keeps no cookie: whoever has the address reads the plan, or the
// dates of the one vehicle that it is about, and nothing else.
func (s *Server) calendar(w http.ResponseWriter, r *http.Request) {
	d, ok := s.grant("calendar", r.PathValue("secret"))
	if !ok {
		http.NotFound(w, r)
		return
	}
	s.writePlan(w, checklist.ID(d.about))
}
