package server

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/sync/cbor"
	"bayhold/sync/logbook"
)

// A shop keeps what it knows of people as long as it needs it and no longer.
// What is to go is asked for: one vehicle, all whose time is over by the shop's
// rule (checklist.RuleTable, keep_days), or one who left the crew. The server
// writes a line in the lead's name that names each line that goes (checklist.
// Forget); keeping that line is what erases, here and on every phone that it
// comes to (erase.go). So it happens again where a backup comes back that still
// has the bytes, as soon as a phone brings the line.
//
// The work stays: what was ticked, read, found and when, the waivers with their
// sentences, whose crew it was. Of a line that goes its hash stays too.

// personal is what a line says of people: the keys of its body, by its kind. A
// text becomes 'erased', anything else goes; with the salt nobody can try out
// which name had the hash. Notes are in it because nobody knows what is in them.
var personal = []struct {
	kind string
	keys []string
}{
	{"job.open", []string{"label", "customer", "plate", "vin", "fleet", "salt"}},
	{"sign", []string{"name", "strokes", "shown", "text", "salt"}}, // but for an installer's
	{"finding", []string{"note", "salt"}},
	{"finding.answer", []string{"note", "shown", "text", "salt"}},
	{"owner.link", []string{"to", "salt"}},
	{"note", []string{"text", "salt"}},
	{"tick", []string{"note", "salt"}},
	{"setback", []string{"note", "salt"}},
	{"evidence", []string{"note", "salt"}},
	{"person.add", []string{"name", "initials", "salt"}}, // of who left
}

// pictured are the kinds that name a picture or a spoken note. All of a job's
// go: a plate or a face may be on any.
var pictured = map[string]string{"photo": "sha", "voice": "sha", "finding": "photo", "evidence": "photo", "trial": "photo", "patch": "photo"}

// Ask is what is to be forgotten: a vehicle by what it is found by, a person of
// the crew by name, initials or id, or everything that is due.
type Ask struct {
	Job    string
	Person string
	Due    bool
}

// Forgetting is what goes of one logbook.
type Forgetting struct {
	Log    logbook.Log
	Name   string // of the vehicle or the person
	Closed int64  // of a vehicle: when it was handed over, ms
	Lines  []Forgotten
	Photos []string

	person checklist.ID
	why    string
}

// Forgotten is a line that goes: its name, kind and hash, the hash of what is
// left of it, and the keys whose values go.
type Forgotten struct {
	Ref             logbook.Ref
	Kind, Sum, Left string
	Gone            []string
}

// Count says how much that is.
func (f *Forgetting) Count() string {
	if f.Log.Class == checklist.ShopLog {
		return fmt.Sprintf("%d lines", len(f.Lines))
	}
	return fmt.Sprintf("%d lines, %d photos and voice notes", len(f.Lines), len(f.Photos))
}

// errNotClosed says why a vehicle's lines stay for now.
var errNotClosed = errors.New("this vehicle is not handed over yet: its lines are needed until then")

// Forgettings lists what would go, without what went before.
func (st *Store) Forgettings(ask Ask, now time.Time) (out []Forgetting, err error) {
	which, err := st.asked(ask, now)
	if err != nil {
		return nil, err
	}
	err = st.read(func(v view) error {
		for i := range which {
			if err := v.forgetting(&which[i]); err != nil {
				return err
			}
		}
		return nil
	})
	return slices.DeleteFunc(which, func(f Forgetting) bool { return len(f.Lines) == 0 && len(f.Photos) == 0 }), err
}

// asked finds the logbooks that are asked for.
func (st *Store) asked(ask Ask, now time.Time) (out []Forgetting, err error) {
	shop := checklist.NewShop()
	err = st.foldInto(shop, st.shop)
	if err != nil {
		return nil, err
	}
	job := func(id logbook.ID, why string) Forgetting {
		return Forgetting{Log: logbook.Log{Class: checklist.JobLog, ID: id}, why: why}
	}
	switch {
	case ask.Job != "" && ask.Person == "" && !ask.Due:
		if id, ok := logbook.ParseID(ask.Job); ok {
			return []Forgetting{job(id, "asked")}, nil
		}
		found, more, err := st.Jobs(ask.Job, zoneOf(shop))
		switch {
		case err != nil:
			return nil, err
		case len(found)+more == 0:
			return nil, fmt.Errorf("no vehicle is found by %q", ask.Job)
		case len(found)+more > 1:
			var names []string
			for _, f := range found {
				names = append(names, "\n  "+f.Job.String()+"  "+strings.Join(strings.Fields(f.Label+" "+f.Plate+" "+f.Customer), " "))
			}
			return nil, fmt.Errorf("%d vehicles are found by %q: say which by its id%s", len(found)+more, ask.Job, strings.Join(names, ""))
		}
		return []Forgetting{job(found[0].Job, "asked")}, nil
	case ask.Person != "" && ask.Job == "" && !ask.Due:
		for _, p := range shop.People() {
			if p.Name == ask.Person || p.Initials == ask.Person || logbook.ID(p.Person).String() == ask.Person {
				return []Forgetting{{Log: st.shop, person: p.Person, why: "left"}}, nil
			}
		}
		return nil, fmt.Errorf("nobody of the crew is called %q", ask.Person)
	case ask.Due && ask.Job == "" && ask.Person == "":
		_, rules, _ := shop.RulesInForce()
		days := rules["keep_days"]
		if days == 0 {
			return nil, errors.New("the shop has no rule for this: the lead sets how many days after the guarantee in the shop's numbers (keep_days)")
		}
		err := st.read(func(v view) error {
			for log, h := range st.Heads() {
				if log.Class != checklist.JobLog || h.Closed == (logbook.Ref{}) {
					continue
				}
				end, err := v.guaranteed(log, h.ClosedAt, zoneOf(shop))
				if err != nil {
					return err
				}
				if !end.AddDate(0, 0, int(days)).After(now) {
					out = append(out, job(log.ID, "rule"))
				}
			}
			return nil
		})
		slices.SortFunc(out, func(a, b Forgetting) int { return a.Log.Compare(b.Log) })
		return out, err
	}
	return nil, errors.New("ask for one vehicle, for one person, or for what is due")
}

// guaranteed is when a vehicle's longest guarantee ends, or when it was handed
// over if there is none.
func (v view) guaranteed(log logbook.Log, closed int64, in *time.Location) (time.Time, error) {
	months, struck, of := int64(0), map[logbook.Ref]bool{}, map[logbook.Ref]int64{}
	err := v.eachOf(log, func(_ record, e *logbook.Entry) error {
		for _, s := range e.Strikes {
			struck[s] = true
		}
		if body, err := line.Decode(e.Kind, e.Body); err == nil {
			if f, ok := body.(checklist.FilmRoll); ok {
				of[e.Ref()] = f.Months
			}
		}
		return nil
	})
	for ref, n := range of {
		if !struck[ref] {
			months = max(months, n)
		}
	}
	return time.UnixMilli(closed).In(in).AddDate(0, int(min(months, 1200)), 0), err
}

// forgetting fills in what goes of a logbook.
func (v view) forgetting(f *Forgetting) error {
	if f.Log.Class == checklist.JobLog {
		h, err := v.head(f.Log)
		switch {
		case err != nil:
			return err
		case h.Order == 0:
			return fmt.Errorf("no vehicle has the id %s", f.Log.ID)
		case h.Closed == (logbook.Ref{}):
			return errNotClosed
		}
		f.Closed = h.ClosedAt
	}
	photos := map[string]bool{}
	err := v.eachOf(f.Log, func(l record, e *logbook.Entry) error {
		switch body, _ := line.Decode(e.Kind, e.Body); b := body.(type) {
		case checklist.JobOpen:
			f.Name = strings.Join(strings.Fields(b.Label+" "+b.Plate+" "+b.Customer), " ")
		case checklist.PersonAdd:
			if f.person == (checklist.ID{}) || b.Person != f.person {
				return nil
			}
			f.Name = b.Name
		case checklist.Sign:
			if b.As == "installer" {
				return nil
			}
		}
		if sha := textOf(e.Body, pictured[e.Kind]); sha != "" && f.person == (checklist.ID{}) && !v.erased(sha) && !photos[sha] {
			photos[sha] = true
			f.Photos = append(f.Photos, sha)
		}
		keys := has(e)
		if len(keys) == 0 {
			return nil
		}
		sum, left, _ := logbook.Split(line.Erase(l.Entry, strings.Join(keys, " ")))
		f.Lines = append(f.Lines, Forgotten{e.Ref(), e.Kind, hexOf(sum), hexOf(logbook.Sum(left)), keys})
		return nil
	})
	if err != nil || len(photos) == 0 {
		return err
	}
	return v.elsewhere(f, photos)
}

// elsewhere leaves out the photos that another job names too.
func (v view) elsewhere(f *Forgetting, photos map[string]bool) error {
	all := v.tx.Bucket(bucketLines)
	err := all.ForEachBucket(func(k []byte) error {
		if logOf(k) == f.Log || k[0] != checklist.JobLog {
			return nil
		}
		return v.eachOf(logOf(k), func(_ record, e *logbook.Entry) error {
			delete(photos, textOf(e.Body, pictured[e.Kind]))
			return nil
		})
	})
	f.Photos = slices.DeleteFunc(f.Photos, func(sha string) bool { return !photos[sha] })
	return err
}

func hexOf(h logbook.Hash) string { return hex.EncodeToString(h[:]) }

// has is which of its kind's keys an entry says something by; the salt alone
// says nothing.
func has(e *logbook.Entry) (keys []string) {
	i := slices.IndexFunc(personal, func(p struct {
		kind string
		keys []string
	}) bool {
		return p.kind == e.Kind
	})
	if i < 0 {
		return nil
	}
	says := false
	r := cbor.NewReader(e.Body)
	for range r.Map() {
		key := r.Text()
		value := r.Raw()
		if r.Err() != nil || !slices.Contains(personal[i].keys, key) || bytes.Equal(value, cbor.AppendText(nil, line.Erased)) {
			continue
		}
		keys = append(keys, key)
		says = says || key != "salt"
	}
	if !says {
		return nil
	}
	return keys
}

// textOf is a text of a body, "" if it has none of that key.
func textOf(body []byte, key string) string {
	if key == "" {
		return ""
	}
	r := cbor.NewReader(body)
	for range r.Map() {
		if r.Text() == key && r.Major() == cbor.Text {
			return r.Text()
		}
		if r.Skip(); r.Err() != nil {
			break
		}
	}
	return ""
}

// What one line names at most, so that it fits into an entry.
const (
	mostLines  = 40
	mostPhotos = 150
)

// bodies are the lines that say it.
func (f *Forgetting) bodies() (out []checklist.Forget) {
	lines, photos := f.Lines, f.Photos
	for len(lines)+len(photos) > 0 {
		b := checklist.Forget{Why: f.why}
		if len(lines) > 0 {
			n := min(len(lines), mostLines)
			for _, l := range lines[:n] {
				b.Writers, b.Seqs = append(b.Writers, checklist.ID(l.Ref.Writer)), append(b.Seqs, int64(l.Ref.Seq))
				b.Kinds, b.Sums, b.Left = append(b.Kinds, l.Kind), append(b.Sums, l.Sum), append(b.Left, l.Left)
				b.Gone = append(b.Gone, strings.Join(l.Gone, " "))
			}
			lines = lines[n:]
		} else {
			n := min(len(photos), mostPhotos)
			b.Photos, photos = photos[:n], photos[n:]
		}
		out = append(out, b)
	}
	return out
}

// forget writes the lines that erase what is asked for, in the name of a lead,
// and tells what went.
func (s *Server) forget(ctx context.Context, ask Ask, as string) ([]Forgetting, error) {
	which, err := s.store.asked(ask, time.UnixMilli(s.clock()))
	if err != nil {
		return nil, err
	}
	var gone []Forgetting
	for i := range which {
		err := s.writer.do(ctx, func(p *pen) error {
			lead, err := s.writer.lead(as)
			if err != nil {
				return err
			}
			f := which[i]
			if err := p.forgetting(&f); err != nil {
				return err
			}
			for _, b := range f.bodies() {
				if err := p.writeFor(logbook.ID(lead), f.Log, b); err != nil {
					return err
				}
			}
			which[i] = f
			return nil
		})
		if err != nil {
			return gone, err
		}
		if f := which[i]; len(f.Lines)+len(f.Photos) > 0 {
			gone = append(gone, f)
		}
	}
	if len(gone) == 0 {
		return nil, nil
	}
	return gone, s.clean(ctx)
}

// Told lists what goes or went, for people.
func Told(list []Forgetting, in *time.Location) string {
	var b strings.Builder
	for i := range list {
		f := &list[i]
		fmt.Fprintf(&b, "%s  %s\n", f.Log.ID, f.Name)
		if f.Closed > 0 {
			fmt.Fprintf(&b, "  handed over %s\n", time.UnixMilli(f.Closed).In(in).Format(time.DateOnly))
		}
		for _, l := range f.Lines {
			fmt.Fprintf(&b, "  %-14s %s  %s\n", l.Kind, l.Sum, strings.Join(slices.DeleteFunc(slices.Clone(l.Gone), func(k string) bool { return k == "salt" }), ", "))
		}
		for _, sha := range f.Photos {
			fmt.Fprintf(&b, "  %-14s %s\n", "photo or voice", sha)
		}
		fmt.Fprintf(&b, "  %s\n", f.Count())
	}
	return b.String()
}

// Forget erases what is asked for in the name of a lead, whether or not a server
// runs on the data folder, and tells what went.
func Forget(data string, ask Ask, as string) (string, error) {
	query := url.Values{"job": {ask.Job}, "person": {ask.Person}, "as": {as}}
	if ask.Due {
		query.Set("due", "1")
	}
	resp, err := askServer(data, "POST", "/forget?"+query.Encode(), nil)
	if err != nil {
		return "", err
	}
	if resp != nil {
		defer resp.Body.Close()
		said, err := io.ReadAll(resp.Body)
		if err == nil && resp.StatusCode != http.StatusOK {
			return "", errors.New(strings.TrimSpace(string(said)))
		}
		return string(said), err
	}
	s, err := Open(Config{Data: data})
	if err != nil {
		return "", err
	}
	gone, err := s.forget(context.Background(), ask, as)
	return Told(gone, time.UTC), errors.Join(err, s.Close())
}

// forgetFor answers POST /forget at the operator's socket.
func (s *Server) forgetFor(w http.ResponseWriter, r *http.Request) {
	gone, err := s.forget(r.Context(), Ask{Job: r.FormValue("job"), Person: r.FormValue("person"), Due: r.FormValue("due") != ""}, r.FormValue("as"))
	if err != nil {
		http.Error(w, err.Error(), http.StatusUnprocessableEntity)
		return
	}
	io.WriteString(w, Told(gone, time.UTC))
}
