package server

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"sync"
	"time"

	"bayhold/checklist"
	leads "bayhold/checklist/lead"
	learnt "bayhold/checklist/learn"
	"bayhold/server/join"
	"bayhold/server/sealed"
	"bayhold/sync/logbook"
)

// past is what each job teaches (package learn), kept for the jobs that somebody
// asked about last. A job is told over again from its own lines and the air
// around it alone, which takes some milliseconds; one that is over never again.
// So a request tells jobs for a while only, and says how many it has told: the
// page asks again until it has them all.
type past struct {
	store *Store
	clock func() int64

	mu   sync.Mutex
	shop []checklist.Line // the shop's logbook as far as it was read
	fold *checklist.Shop  // the same, folded
	read uint64
	of   map[logbook.ID]told
}

// told is what a job teaches, as of a moment.
type told struct {
	order uint64 // of the job's last line
	at    int64
	one   learnt.One
	ok    bool
}

const (
	toldFor     = 10 * 60 * 1000           // ms that an open job is not told again
	settled     = 24 * 60 * 60 * 1000      // ms after its end in which air may still come in late
	airBefore   = 2 * 24 * 60 * 60 * 1000  // ms of air before a job began
	aMonth      = 30 * 24 * 60 * 60 * 1000 // ms
	usualMonths = 12
	mostMonths  = 36
)

// tellFor is how long one request tells jobs over again.
const tellFor = 2 * time.Second

func newPast(store *Store, clock func() int64) *past {
	return &past{store: store, clock: clock, fold: checklist.NewShop(), of: map[logbook.ID]told{}}
}

// learning is what is known of the jobs that began in some months.
type learning struct {
	from, at int64
	jobs     []learnt.One
	left     int // jobs that are not told yet
	fold     *checklist.Shop
	places   []checklist.PlaceAdd
	zone     *time.Location
}

// look tells the jobs that began in the last months, until it has told them all
// or is to stop. The newest come first.
func (p *past) look(months int, stop func() bool) (learning, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.clock()
	l := learning{at: now, from: now - int64(months)*aMonth}
	if err := p.readShop(); err != nil {
		return l, err
	}
	l.places, l.zone = p.fold.Places(), zoneOf(p.fold)
	heads := p.store.Heads()
	began := map[logbook.ID]bool{}
	if err := p.store.read(func(v view) error {
		if v.tx.Bucket(bucketFound) == nil {
			return errNoWords
		}
		v.between(l.from, now+1, began)
		return nil
	}); err != nil {
		return l, err
	}
	ids := make([]logbook.ID, 0, len(began))
	for id := range began {
		ids = append(ids, id)
	}
	slices.SortFunc(ids, func(a, b logbook.ID) int { return b.Compare(a) })
	for id := range p.of {
		if !began[id] {
			delete(p.of, id)
		}
	}
	for _, id := range ids {
		h := heads[logbook.Log{Class: checklist.JobLog, ID: id}]
		k, have := p.of[id]
		over := h.Closed != (logbook.Ref{}) && k.at > h.ClosedAt+settled
		if !have || k.order != h.Order || !over && now-k.at >= toldFor {
			if stop() {
				l.left++
				continue
			}
			one, ok, err := p.tell(id, h, now, heads, l.zone)
			if err != nil {
				return l, err
			}
			k = told{h.Order, now, one, ok}
			p.of[id] = k
		}
		if k.ok {
			l.jobs = append(l.jobs, k.one)
		}
	}
	return l, nil
}

// readShop reads what the shop's logbook has got since.
func (p *past) readShop() error {
	lines, err := p.lines(p.store.Shop(), p.read, nil)
	if err != nil {
		return err
	}
	for _, l := range lines {
		p.fold.Add(l)
		p.read = l.Order
	}
	p.shop = append(p.shop, lines...)
	return nil
}

// lines reads a logbook behind an order, up to the first line that arrived after
// it should, if that is asked.
func (p *past) lines(log logbook.Log, from uint64, late func(logbook.Receipt) bool) (out []checklist.Line, err error) {
	_, err = p.store.said(log, from, func(l checklist.Line, r logbook.Receipt) bool {
		if late != nil && late(r) {
			return false
		}
		out = append(out, l)
		return true
	})
	return out, err
}

// tell tells a job over again with the air of the places where it stood and of
// those that ever shared it, from two days before it came until a day after it
// left. What began in that air earlier and still went on is not seen.
func (p *past) tell(id logbook.ID, h Head, now int64, heads map[logbook.Log]Head, zone *time.Location) (learnt.One, bool, error) {
	in := learnt.Past{Shop: p.shop, Now: now, Month: func(at int64) string { return time.UnixMilli(at).In(zone).Format("2006-01") }}
	var err error
	if in.Job, err = p.lines(logbook.Log{Class: checklist.JobLog, ID: id}, 0, nil); err != nil || len(in.Job) == 0 {
		return learnt.One{}, false, err
	}
	from, to := in.Job[0].Span.Earliest-airBefore, now
	if h.Closed != (logbook.Ref{}) {
		to = h.ClosedAt + settled
	}
	for _, place := range p.stoodIn(in.Job) {
		log := logbook.Log{Class: checklist.PlaceLog, ID: logbook.ID(place)}
		first, err := firstSince(p.store, log, heads[log].Order, from)
		if err != nil {
			return learnt.One{}, false, err
		}
		air, err := p.lines(log, first, func(r logbook.Receipt) bool { return r.Arrived > to })
		if err != nil {
			return learnt.One{}, false, err
		}
		in.Air = append(in.Air, air...)
	}
	for _, o := range leads.OpenHours(leads.HoursOf(p.fold), zone, from, to) {
		in.Open = append(in.Open, [2]int64{o.From, o.To})
	}
	one, ok := in.Of(checklist.ID(id))
	return one, ok, nil
}

// stoodIn are the places of a job, and those that ever shared their air.
func (p *past) stoodIn(job []checklist.Line) (out []checklist.ID) {
	add := func(ids ...checklist.ID) {
		for _, id := range ids {
			if id != (checklist.ID{}) && !slices.Contains(out, id) {
				out = append(out, id)
			}
		}
	}
	for _, l := range job {
		switch b := l.Body.(type) {
		case checklist.JobOpen:
			add(b.Place)
		case checklist.JobMove:
			add(b.Place)
		}
	}
	for n := 0; n < len(out); {
		n = len(out)
		for _, l := range p.shop {
			if b, ok := l.Body.(checklist.AirShared); ok && slices.ContainsFunc(b.Places, func(id checklist.ID) bool { return slices.Contains(out, id) }) {
				add(b.Places...)
			}
		}
	}
	return out
}

// tell sums up what is told; of a month the bays stand as along the building.
func (l *learning) tell() learnt.Report {
	t := learnt.Tell(l.jobs)
	order := map[checklist.ID]int{}
	for i, p := range l.places {
		order[p.Place] = i - len(l.places)
	}
	slices.SortStableFunc(t.Air, func(a, b learnt.Air) int {
		return cmp.Or(cmp.Compare(b.Month, a.Month), cmp.Compare(order[a.Place], order[b.Place]))
	})
	return t
}

func (l *learning) place(id checklist.ID) string {
	for _, p := range l.places {
		if p.Place == id {
			return p.Name
		}
	}
	return "elsewhere"
}

// months reads how far back is asked for.
func monthsOf(r *http.Request) (int, error) {
	v := r.FormValue("months")
	if v == "" {
		return usualMonths, nil
	}
	n, err := strconv.Atoi(v)
	if err != nil || n < 1 || n > mostMonths {
		return 0, fmt.Errorf("say months from 1 to %d", mostMonths)
	}
	return n, nil
}

// looking answers from what was learnt, or says why not.
func (s *Server) looking(w http.ResponseWriter, r *http.Request, long time.Duration) (learning, bool) {
	months, err := monthsOf(r)
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return learning{}, false
	}
	began := time.Now()
	l, err := s.past.look(months, func() bool { return time.Since(began) > long || r.Context().Err() != nil })
	if err != nil {
		s.log.Error("The shop's past cannot be read: {err}. Run 'bayhold verify'.", "err", err)
		http.Error(w, "the shop's past cannot be read just now; 'bayhold verify' says what does not fit", http.StatusInternalServerError)
		return learning{}, false
	}
	w.Header().Set("Cache-Control", "no-store")
	return l, true
}

// learn answers GET /learn?months=12: where vehicles stand and for what, what
// the air cost, what did not hold, and records to ask about. Times are ms,
// shares between 0 and 1; sentences hold the marks of a gate's.
func (s *Server) learn(w http.ResponseWriter, r *http.Request, _ join.Device) {
	if l, ok := s.looking(w, r, tellFor); ok {
		writeJSON(w, http.StatusOK, learnJSON(l, l.tell()))
	}
}

func learnJSON(l learning, t learnt.Report) object {
	waits, air, looks, quick := []object{}, []object{}, []object{}, []object{}
	for _, x := range t.Waits {
		waits = append(waits, object{"stage": x.Stage, "name": x.Name, "n": x.Spread.N, "running": x.Spread.Running, "first": x.Spread.First, "half": x.Spread.Half,
			"third": x.Spread.Third, "low": x.Spread.Low, "high": x.Spread.High, "say": x.Say, "parts": partsJSON(x.Parts)})
	}
	for _, x := range t.Air {
		air = append(air, object{"place": l.place(x.Place), "month": x.Month, "asked": x.Asked, "lost": x.Lost, "say": x.Say, "parts": partsJSON(x.Parts)})
	}
	for _, x := range t.Looks {
		by := []object{}
		for _, b := range x.By {
			levels := []object{}
			for _, v := range b.Levels {
				o := object{"name": v.Name, "k": v.Share.K, "n": v.Share.N, "low": v.Share.Low, "high": v.Share.High, "say": v.Say}
				if v.Than != nil {
					o["told"], o["tells"] = v.Than.Told(), v.Tells
				}
				levels = append(levels, o)
			}
			by = append(by, object{"key": b.Key, "name": b.Name, "levels": levels})
		}
		looks = append(looks, object{"key": x.Key, "name": x.Name, "what": x.What, "k": x.All.K, "n": x.All.N, "low": x.All.Low, "high": x.All.High, "say": x.Say, "by": by})
	}
	for _, x := range t.Quick {
		quick = append(quick, object{"job": logbook.ID(x.Job).String(), "label": x.Label, "steps": x.Steps, "at": x.At, "say": x.Say})
	}
	return object{"at": l.at, "from": l.from, "jobs": t.Jobs, "running": t.Running, "left": l.left, "compared": t.Compared,
		"waits": waits, "air": air, "looks": looks, "quick": quick}
}

func partsJSON(parts []learnt.Part) []object {
	out := []object{}
	for _, p := range parts {
		out = append(out, object{"cause": p.Cause, "name": learnt.CauseName(p.Cause), "ms": p.Ms})
	}
	return out
}

// tellAllFor is how long a table may take that is asked for whole.
const tellAllFor = time.Minute

var learnHead = []string{"what", "which", "by", "level", "n", "failed_or_running", "value", "low", "high", "unit", "less_others", "less_others_low", "less_others_high"}

// learnCSV answers GET /learn.csv?months=12, the same as a table: one number a
// row, with its range where it has one.
func (s *Server) learnCSV(w http.ResponseWriter, r *http.Request, _ join.Device) {
	l, ok := s.looking(w, r, tellAllFor)
	if !ok {
		return
	}
	if l.left > 0 {
		http.Error(w, fmt.Sprintf("%d vehicles are not read yet; ask again in a minute", l.left), http.StatusServiceUnavailable)
		return
	}
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8; header=present")
	h.Set("Content-Disposition", `attachment; filename="learn.csv"`)
	w.Write(sealed.CSV(learnRows(l, l.tell())))
}

func learnRows(l learning, t learnt.Report) [][]string {
	hours := func(ms int64) string {
		if ms == 0 {
			return ""
		}
		return strconv.FormatFloat(float64(ms)/3_600_000, 'f', 2, 64)
	}
	share := func(v float64) string { return strconv.FormatFloat(v, 'f', 4, 64) }
	rows := [][]string{learnHead}
	for _, x := range t.Waits {
		n, running := strconv.Itoa(x.Spread.N), strconv.Itoa(x.Spread.Running)
		rows = append(rows, []string{"stands at", x.Name, "quarter", "", n, running, hours(x.Spread.First), "", "", "h"},
			[]string{"stands at", x.Name, "half", "", n, running, hours(x.Spread.Half), hours(x.Spread.Low), hours(x.Spread.High), "h"},
			[]string{"stands at", x.Name, "three quarters", "", n, running, hours(x.Spread.Third), "", "", "h"})
		for _, p := range x.Parts {
			rows = append(rows, []string{"stands at", x.Name, "cause", learnt.CauseName(p.Cause), n, running, hours(p.Ms), "", "", "h"})
		}
	}
	for _, x := range t.Air {
		rows = append(rows, []string{"hours asked for", l.place(x.Place), x.Month, "", "", "", hours(x.Asked), "", "", "h"})
		for _, p := range x.Parts {
			rows = append(rows, []string{"hours that did not count", l.place(x.Place), x.Month, learnt.CauseName(p.Cause), "", "", hours(p.Ms), "", "", "h"})
		}
	}
	for _, x := range t.Looks {
		row := func(by, level string, v learnt.Share, than *learnt.Difference) {
			value, less := "", []string{"", "", ""}
			if v.N > 0 {
				value = share(float64(v.K) / float64(v.N))
			}
			if than != nil {
				less = []string{share(than.Value), share(than.Low), share(than.High)}
			}
			rows = append(rows, append([]string{x.Name, x.What, by, level, strconv.Itoa(v.N), strconv.Itoa(v.K), value, share(v.Low), share(v.High), "share"}, less...))
		}
		row("", "", x.All, nil)
		for _, b := range x.By {
			for _, v := range b.Levels {
				row(b.Name, v.Name, v.Share, v.Than)
			}
		}
	}
	for _, x := range t.Quick {
		rows = append(rows, []string{"ticked within one minute", x.Label, time.UnixMilli(x.At).UTC().Format(time.RFC3339), "", strconv.Itoa(x.Steps), "", "", "", "", "steps"})
	}
	for i := range rows {
		rows[i] = append(rows[i], make([]string, len(learnHead)-len(rows[i]))...)
	}
	return rows
}
