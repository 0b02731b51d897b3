package server

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"sync"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server/join"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// A lead's PIN opens a shared phone to the lead's acts for some minutes (package
// join). The hash of it and the wrong ones in a row are in a bucket of their
// own: no phone is ever sent them. That it was typed, by whom and where, is a
// line of the shop's logbook, and policy.go judges every later line by that.

// pinRounds is join.PINRounds, less in tests.
var pinRounds = join.PINRounds

// pins is the turn in which a PIN is looked at: one at a time, so that guesses
// are counted one after the other and cost one core at most.
type pins struct{ turn sync.Mutex }

// pinOf is a key of the bucket: of a person's PIN, or, with triesOf, of the wrong
// ones of a person or a phone.
func pinOf(id logbook.ID) []byte   { return append([]byte{'p'}, id[:]...) }
func triesOf(id logbook.ID) []byte { return append([]byte{'t'}, id[:]...) }

// pin is what is kept of a person's PIN; ok is false if there is none.
func (v view) pin(person logbook.ID) (pin join.PIN, set int64, ok bool) {
	r := cbor.NewReader(v.tx.Bucket(bucketPINs).Get(pinOf(person)))
	if r.Array() != 4 {
		return pin, 0, false
	}
	pin = join.PIN{Rounds: int(r.Uint()), Salt: slices.Clone(r.Bytes()), Hash: slices.Clone(r.Bytes())}
	set = r.Int()
	return pin, set, r.Close() == nil
}

func (v view) tries(id logbook.ID) (t join.Tries) {
	r := cbor.NewReader(v.tx.Bucket(bucketPINs).Get(triesOf(id)))
	if r.Array() != 2 {
		return t
	}
	t = join.Tries{Wrong: int(r.Uint()), Until: r.Int()}
	if r.Close() != nil {
		return join.Tries{Wrong: math.MaxInt32} // what cannot be read opens nothing
	}
	return t
}

func (p *pen) putTries(id logbook.ID, t join.Tries) error {
	if t == (join.Tries{}) {
		return p.tx.Bucket(bucketPINs).Delete(triesOf(id))
	}
	return p.tx.Bucket(bucketPINs).Put(triesOf(id), cbor.AppendInt(cbor.AppendUint(cbor.AppendArray(nil, 2), uint64(t.Wrong)), t.Until))
}

// aLead finds a lead of the shop.
func (s *Server) aLead(id logbook.ID) (checklist.PersonAdd, bool) {
	p, ok := s.person(id)
	return p, ok && line.RoleOf(p.Role) == line.Lead
}

// askedPIN reads whose PIN a request is about, and the digits; ok is false if it
// was refused.
func (s *Server) askedPIN(w http.ResponseWriter, r *http.Request) (id logbook.ID, who checklist.PersonAdd, digits string, ok bool) {
	var ask struct{ Person, PIN string }
	if !decode(w, r, &ask) {
		return id, who, "", false
	}
	id, _ = logbook.ParseID(ask.Person)
	if who, ok = s.aLead(id); !ok {
		http.Error(w, "Only a lead has a PIN.", http.StatusForbidden)
	}
	return id, who, ask.PIN, ok
}

// setPIN answers POST /pin {"person", "pin"} of a lead's own phone: the PIN of a
// lead is this from now on, or none if it is empty. It takes back what was
// guessed wrongly before.
func (s *Server) setPIN(w http.ResponseWriter, r *http.Request, by join.Device) {
	id, who, digits, ok := s.askedPIN(w, r)
	if !ok {
		return
	}
	var pin join.PIN
	if digits != "" {
		var err error
		if pin, err = join.NewPIN(digits, random[[16]byte](), pinRounds); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
	}
	s.pins.turn.Lock()
	defer s.pins.turn.Unlock()
	err := s.writer.do(r.Context(), func(p *pen) error {
		if err := p.putTries(id, join.Tries{}); err != nil {
			return err
		}
		if pin.Hash == nil {
			return p.tx.Bucket(bucketPINs).Delete(pinOf(id))
		}
		b := cbor.AppendUint(cbor.AppendArray(nil, 4), uint64(pin.Rounds))
		b = cbor.AppendInt(cbor.AppendBytes(cbor.AppendBytes(b, pin.Salt), pin.Hash), p.now)
		return p.tx.Bucket(bucketPINs).Put(pinOf(id), b)
	})
	if err != nil {
		s.noWrite("A PIN", err)
		http.Error(w, "The shop cannot write just now. The PIN is as it was.", http.StatusServiceUnavailable)
		return
	}
	s.log.Info(`The PIN of {lead} was set or taken away on phone "{phone}".`, "lead", who.Name, "phone", by.Name)
	w.WriteHeader(http.StatusNoContent)
}

// listPINs answers GET /pin: which leads have a PIN, and since when.
func (s *Server) listPINs(w http.ResponseWriter, _ *http.Request, _ join.Device) {
	s.writer.mu.RLock()
	people := s.writer.shop.People()
	s.writer.mu.RUnlock()
	out := []object{}
	err := s.store.read(func(v view) error {
		for _, p := range people {
			if id := logbook.ID(p.Person); line.RoleOf(p.Role) == line.Lead {
				_, set, ok := v.pin(id)
				out = append(out, object{"person": id.String(), "name": p.Name, "has": ok, "set": set, "over": v.tries(id).Over()})
			}
		}
		return nil
	})
	if err != nil {
		http.Error(w, "The shop cannot read its store.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Cache-Control", "no-store")
	writeJSON(w, http.StatusOK, out)
}

// usePIN answers POST /pin/use {"person", "pin"} of a phone that joined: with the
// right PIN that lead's acts count from this phone for a while, and the answer
// says how long, ms.
func (s *Server) usePIN(w http.ResponseWriter, r *http.Request, d join.Device) {
	w.Header().Set("Cache-Control", "no-store")
	id, who, digits, ok := s.askedPIN(w, r)
	if !ok {
		return
	}
	// A phone that hangs up gives no guess away: it is counted all the same.
	code, why := s.tryPIN(context.WithoutCancel(r.Context()), d, id, who.Name, digits)
	if why != "" {
		s.log.Warn(`A PIN of {lead} was refused on phone "{phone}": {why}`, "phone", d.Name, "lead", who.Name, "why", why)
		http.Error(w, why, code)
		return
	}
	s.log.Info(`The PIN of {lead} was typed on phone "{phone}".`, "phone", d.Name, "lead", who.Name)
	writeJSON(w, http.StatusOK, object{"lasts": join.AllowanceLasts})
}

// tryPIN counts a guess on disk, then looks at it. why is a sentence for the
// person who typed.
func (s *Server) tryPIN(ctx context.Context, d join.Device, id logbook.ID, name, typed string) (code int, why string) {
	s.pins.turn.Lock()
	defer s.pins.turn.Unlock()
	const broken = "The shop cannot look at the PIN just now. Try again."
	var pin join.PIN
	var has bool
	var of, from join.Tries
	if err := s.store.read(func(v view) error {
		pin, _, has = v.pin(id)
		of, from = v.tries(id), v.tries(d.ID)
		return nil
	}); err != nil {
		return http.StatusServiceUnavailable, broken
	}
	now := s.clock()
	wait := max(of.Until, from.Until) - now
	switch {
	case d.Role == join.Lead:
		return http.StatusConflict, "This is a lead's own phone: no PIN is needed."
	case !has:
		return http.StatusForbidden, fmt.Sprintf("%s has no PIN yet. A lead's own phone sets one, under Phones.", name)
	case of.Over():
		return http.StatusForbidden, "Too many wrong PINs: it is off. Set another on a lead's own phone."
	case wait > 0:
		return http.StatusTooManyRequests, fmt.Sprintf("Too many wrong PINs. Wait %s, or use the lead's own phone.", minutes(wait))
	}
	err := s.writer.do(ctx, func(p *pen) error {
		if err := p.putTries(id, of.Next(now)); err != nil {
			return err
		}
		return p.putTries(d.ID, from.Next(now))
	})
	if err != nil {
		s.noWrite("A try at a PIN", err)
		return http.StatusServiceUnavailable, broken
	}
	if !pin.Is(typed) {
		return http.StatusForbidden, "This PIN is wrong."
	}
	err = s.writer.do(ctx, func(p *pen) error {
		if err := p.putTries(id, join.Tries{}); err != nil {
			return err
		}
		if err := p.putTries(d.ID, join.Tries{}); err != nil {
			return err
		}
		kind, body := join.Opened(d.ID, id, p.now+join.AllowanceLasts)
		return p.line(p.st.shop, kind, body)
	})
	if err != nil {
		s.noWrite("That a PIN was typed", err)
		return http.StatusServiceUnavailable, broken
	}
	return http.StatusOK, ""
}

// minutes says a wait in words, rounded up.
func minutes(ms int64) string {
	if n := (ms + 59_999) / 60_000; n < 120 {
		return strconv.FormatInt(n, 10) + " min"
	}
	return strconv.FormatInt((ms+3_599_999)/3_600_000, 10) + " h"
}
