package server

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server/join"
	"bayhold/sync/judge"
	"bayhold/sync/logbook"
)

// What was set aside stays on its shelf, in its own bytes, for ever. The lead
// may adopt a line from there by an entry that names its hash. Behind that
// entry, in the same transaction, the server writes the line once more: under
// its own writer's name, with the adopter as its author, and with the first
// name and hash as its origin (logbook.Rewrite). So it counts as the lead's, it
// stands once, and the bytes that its hash names tell who wrote it first. It
// happened no later than it came to the shop.

// shelved is what was set aside under a hash, and why it cannot be adopted.
func (v view) shelved(sum string) (a SetAside, e logbook.Entry, why string) {
	key, err := hex.DecodeString(sum)
	if err != nil || len(key) != len(logbook.Hash{}) || strings.ToLower(sum) != sum {
		return a, e, "What was set aside is named by 64 hex digits."
	}
	raw := v.tx.Bucket(bucketAside).Get(key)
	if raw == nil {
		return a, e, "Nothing with this hash was set aside."
	}
	if a, err = readAside(raw); err != nil {
		return a, e, "What was set aside cannot be read: " + err.Error()
	}
	if _, _, erased := logbook.Split(a.Bytes); erased || len(a.Bytes) == 0 {
		return a, e, "The shop has erased this."
	}
	if e, err = logbook.Decode(a.Bytes); err != nil {
		return a, e, "This was no line: " + err.Error()
	}
	if a.Code == judge.Twice || v.tx.Bucket(bucketAgain).Get(first(&e, a.Bytes)) != nil {
		return a, e, "This line stands in the logbook already."
	}
	return a, e, ""
}

// first is the hash of the bytes that a line had when it was written first.
func first(e *logbook.Entry, raw []byte) []byte {
	sum := e.Origin.Sum
	if e.Origin.Seq == 0 {
		sum = logbook.Sum(raw)
	}
	return sum[:]
}

// adopt judges an adoption: the line that it names has to be one that the lead
// could have written here.
func (p *policy) adopt(by *logbook.Entry, sum string) string {
	_, e, why := p.view.shelved(sum)
	if why == "" && p.adopted[sum] {
		why = "This line stands in the logbook already."
	}
	if why != "" {
		return why
	}
	if e.Log != by.Log {
		return "The line to adopt belongs in another logbook."
	}
	body, err := line.Decode(e.Kind, e.Body)
	if err != nil {
		return err.Error()
	}
	if why := line.Impossible(body); why != "" {
		return why
	}
	kind, known := line.Lookup(e.Kind)
	switch {
	case e.Kind == by.Kind:
		return "An adoption is not adopted: adopt the line itself."
	case known && kind.Writers&line.Lead == 0:
		return "Only " + kind.Writers.Names() + " may write this."
	}
	if join.Reserved(e.Kind) || serversAlone(body) {
		return "Only the shop server may write this."
	}
	if why := p.form(&e); why != "" {
		return why
	}
	p.adopted[sum] = true
	return ""
}

// withAdoptions adds to a round what its adoptions bring.
func withAdoptions(tasks []task) []task {
	var adoptions []logbook.Entry
	for _, t := range tasks {
		for i := range t.subs {
			if t.subs[i].Entry.Kind == (checklist.Adopt{}).Kind() {
				adoptions = append(adoptions, t.subs[i].Entry)
			}
		}
	}
	if adoptions == nil {
		return tasks
	}
	return append(tasks, task{own: func(p *pen) error {
		for i := range adoptions {
			// Whether it was kept, the store says: it is on its way in this
			// transaction or was there before.
			kept, ok, err := p.entry(adoptions[i].Log, adoptions[i].Ref())
			if err != nil {
				return err
			}
			if body, err := line.Decode(kept.Kind, kept.Body); ok && err == nil {
				if a, is := body.(checklist.Adopt); is {
					if err := p.writeAdopted(a.Sum, kept.By); err != nil {
						return err
					}
				}
			}
		}
		return nil
	}})
}

// writeAdopted writes a line from the shelf behind its adoption, once.
func (p *pen) writeAdopted(sum string, by logbook.ID) error {
	a, e, why := p.shelved(sum)
	if why != "" {
		return nil // it stands already
	}
	seq, err := p.Settled(e.Log, p.st.writer)
	if err != nil {
		return err
	}
	p.made[e.Log]++
	again, err := logbook.Rewrite([][]byte{a.Bytes}, p.st.writer, func(logbook.Log) uint64 { return seq + p.made[e.Log] })
	if err != nil {
		return err
	}
	if e, err = logbook.Decode(again[0]); err != nil {
		return err
	}
	e.By = by
	p.subs = append(p.subs, judge.Submission{Bytes: e.Append(nil), Entry: e,
		Arrived: p.now, Earliest: min(e.At.Earliest, a.At), Latest: a.At})
	return nil
}

// Adopt adopts what was set aside under a hash in the name of a lead, who is
// given by name, initials or id, whether or not a server runs on the data
// folder.
func Adopt(data, sum, as string) error {
	resp, err := askServer(data, "POST", "/adopt?"+url.Values{"sum": {sum}, "as": {as}}.Encode(), nil)
	if err != nil {
		return err
	}
	if resp != nil {
		defer resp.Body.Close()
		why, _ := io.ReadAll(io.LimitReader(resp.Body, 1<<10))
		if resp.StatusCode != http.StatusNoContent {
			return errors.New(strings.TrimSpace(string(why)))
		}
		return nil
	}
	s, err := Open(Config{Data: data})
	if err != nil {
		return err
	}
	return errors.Join(s.adopt(context.Background(), sum, as), s.Close())
}

func (s *Server) adoptFor(w http.ResponseWriter, r *http.Request) {
	if err := s.adopt(r.Context(), r.FormValue("sum"), r.FormValue("as")); err != nil {
		http.Error(w, err.Error(), http.StatusUnprocessableEntity)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}

func (s *Server) adopt(ctx context.Context, sum, as string) error {
	return s.writer.do(ctx, func(p *pen) error {
		lead, err := s.writer.lead(as)
		if err != nil {
			return err
		}
		_, e, _ := p.shelved(sum)
		// Judged here, before anything is written: what the server makes itself is
		// trusted, and the line would come whatever became of its adoption.
		adoption := logbook.Entry{Log: e.Log, Kind: (checklist.Adopt{}).Kind()}
		if why := newPolicy(p.view, s.writer.shop).adopt(&adoption, sum); why != "" {
			return errors.New(why)
		}
		if err := p.writeFor(logbook.ID(lead), e.Log, checklist.Adopt{Sum: sum}); err != nil {
			return err
		}
		return p.writeAdopted(sum, logbook.ID(lead))
	})
}

// lead finds a lead of the shop.
func (w *writer) lead(as string) (checklist.ID, error) {
	for _, p := range w.shop.People() { // this is the writer's goroutine
		if p.Role == "lead" && (p.Name == as || p.Initials == as || logbook.ID(p.Person).String() == as) {
			return p.Person, nil
		}
	}
	return checklist.ID{}, fmt.Errorf("the shop has no lead %q", as)
}
