package server

import (
	"crypto/sha256"
	"encoding/binary"
	"math"
	"net/http"
	"slices"
	"strings"
	"sync"

	"bayhold/checklist"
	"bayhold/checklist/line"
	vehicle "bayhold/checklist/record"
	"bayhold/sync/logbook"
)

// Spot checks. Of what hands say that they have done, one in ten is drawn, and
// another hand is asked to look at it. Nobody draws: whether a line is drawn
// follows from the hash that the logbook's chain has behind it. That hash takes
// in the receipt, so it is not known before the line is kept, to the one who
// ticks as little as to the lead; and everyone who has the lines and their
// receipts (chain.csv of a record has the hash in its last column) draws the
// same again. A draw holds nothing up. What was seen is a line of evidence,
// 'spot-check', about the stage and the place that was drawn.

// spotOneIn is how many lines there are to one that is drawn.
const spotOneIn = 10

// spotFor is how long somebody is asked to look: later there is mostly nothing
// left to see.
const spotFor = 24 * 60 * 60 * 1000 // ms

// spotWords stand before the hash, so that it draws nothing else.
const spotWords = "bayhold spot check\n"

// drawn says whether the line is drawn that left the chain at this hash: the
// first eight bytes of SHA-256 over the words and the hash are one of the
// lowest tenth of all numbers of that length.
func drawn(after logbook.Hash) bool {
	sum := sha256.Sum256(append([]byte(spotWords), after[:]...))
	return binary.BigEndian.Uint64(sum[:8]) < math.MaxUint64/spotOneIn
}

// spotCheck is a line that was drawn, or one that somebody looked at unasked.
type spotCheck struct {
	stage, panel, zone string
	by                 checklist.ID // who said that it is done
	at                 int64
	line               checklist.LineID
	struck             bool
	seen               *spotSeen
}

// spotSeen is what came of looking.
type spotSeen struct {
	by     checklist.ID
	at     int64
	looked bool // or nobody could
	right  bool
	note   string
}

const spotEvidence = "spot-check"

// spotAt is a stage and a place; a panel says where it is.
func spotAt(stage, panel, zone string) spotCheck {
	if panel != "" {
		zone = ""
	}
	return spotCheck{stage: stage, panel: panel, zone: zone}
}

// claimed is the stage and place that a line says is done.
func claimed(b checklist.Body) (c spotCheck, ok bool) {
	switch b := b.(type) {
	case checklist.Tick:
		return spotAt(b.Stage, b.Panel, b.Zone), b.Answer == "done" || b.Answer == "from-memory"
	case checklist.Heat:
		return spotAt("post-heat", b.Panel, ""), b.Answer == "done" || b.Answer == "from-memory"
	}
	return c, false
}

// spotted are the draws of a job, and what it is called.
type spotted struct {
	order  uint64
	open   checklist.JobOpen
	checks []spotCheck
}

// spots reads the draws of a job from its lines.
func (st *Store) spots(log logbook.Log) (out spotted, err error) {
	struck := map[checklist.LineID]bool{}
	err = st.read(func(v view) error {
		return v.eachOf(log, func(l record, e *logbook.Entry) error {
			r, err := logbook.DecodeReceipt(l.Receipt)
			if err != nil {
				return err
			}
			out.order = r.Order
			said, err := line.Of(*e, r.Order, checklist.Span{Earliest: r.Earliest, Latest: r.Latest})
			if err != nil {
				return nil // nobody can read it, as on phones
			}
			for _, id := range said.Strikes {
				struck[id] = true
			}
			out.take(said, l.Chain)
			return nil
		})
	})
	kept := out.checks[:0]
	for _, c := range out.checks {
		if c.struck = struck[c.line]; !c.struck || c.seen != nil {
			kept = append(kept, c)
		}
	}
	out.checks = kept
	return out, err
}

// take reads one line.
func (s *spotted) take(l checklist.Line, after logbook.Hash) {
	switch b := l.Body.(type) {
	case checklist.JobOpen:
		s.open = b
	case checklist.Evidence:
		if b.What != spotEvidence {
			return
		}
		of := spotAt(b.Feature, b.Panel, b.Zone)
		seen := &spotSeen{by: l.By, at: l.Span.Latest, looked: b.Of > 0, right: b.Passed, note: b.Note}
		for i := len(s.checks) - 1; i >= 0; i-- {
			if c := &s.checks[i]; c.stage == of.stage && c.panel == of.panel && c.zone == of.zone {
				c.seen = seen
				return
			}
		}
		of.at, of.seen = l.Span.Latest, seen
		s.checks = append(s.checks, of)
	default:
		if c, ok := claimed(l.Body); ok && drawn(after) {
			c.by, c.at, c.line = l.By, l.Span.Latest, l.ID
			s.checks = append(s.checks, c)
		}
	}
}

// alone says that who looked is who had said that it is done.
func (c *spotCheck) alone() bool {
	return c.seen != nil && c.seen.by == c.by && c.by != (checklist.ID{})
}

// forRecord is what was drawn as the record tells it.
func (s *spotted) forRecord() []vehicle.Drawn {
	var out []vehicle.Drawn
	for _, c := range s.checks {
		x := vehicle.Drawn{Stage: c.stage, Panel: c.panel, Zone: c.zone, By: c.by, At: c.at}
		if n := c.seen; n != nil {
			x.Seen, x.Looked, x.Right, x.SeenBy, x.SeenAt, x.Note = true, n.looked, n.right, n.by, n.at, n.note
		}
		out = append(out, x)
	}
	return out
}

// draws keeps what was drawn in each job until it grows.
type draws struct {
	store *Store

	mu sync.Mutex
	of map[logbook.Log]spotted
}

func newDraws(store *Store) *draws { return &draws{store: store, of: map[logbook.Log]spotted{}} }

func (d *draws) job(log logbook.Log, order uint64) (spotted, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if s, ok := d.of[log]; ok && s.order == order {
		return s, nil
	}
	s, err := d.store.spots(log)
	if err == nil {
		d.of[log] = s
	}
	return s, err
}

// keep drops the jobs that are not asked about any more.
func (d *draws) keep(logs []logbook.Log) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for log := range d.of {
		if !slices.Contains(logs, log) {
			delete(d.of, log)
		}
	}
}

// spots answers GET /spots: what was drawn within a day on the vehicles that are
// here, and nobody has looked at yet; and GET /spots?job=ID: all that was drawn on one.
func (s *Server) spots(w http.ResponseWriter, r *http.Request) {
	heads := s.store.Heads()
	var logs []logbook.Log
	one := r.FormValue("job")
	if one != "" {
		id, ok := logbook.ParseID(strings.ToLower(one))
		log := jobLog(id)
		if _, there := heads[log]; !ok || !there {
			http.Error(w, "no vehicle has this id", http.StatusNotFound)
			return
		}
		logs = append(logs, log)
	} else {
		for log, h := range heads {
			if log.Class == checklist.JobLog && h.Closed == (logbook.Ref{}) {
				logs = append(logs, log)
			}
		}
		slices.SortFunc(logs, logbook.Log.Compare)
		s.draws.keep(logs)
	}
	out := []object{}
	for _, log := range logs {
		job, err := s.draws.job(log, heads[log].Order)
		if err != nil {
			s.log.Error("What is to be looked at again cannot be read: {err}. Run 'bayhold verify'.", "job", log.ID.String(), "err", err)
			http.Error(w, "the vehicle's lines cannot be read just now; 'bayhold verify' says what does not fit", http.StatusInternalServerError)
			return
		}
		for _, c := range job.checks {
			asked := c.seen == nil && s.clock()-c.at < spotFor
			if one != "" || asked {
				out = append(out, s.spotJSON(log.ID, &job, &c, asked))
			}
		}
	}
	w.Header().Set("Cache-Control", "no-store")
	writeJSON(w, http.StatusOK, object{"spots": out})
}

func (s *Server) spotJSON(id logbook.ID, job *spotted, c *spotCheck, asked bool) object {
	o := object{"job": id.String(), "label": job.open.Label, "stage": c.stage, "name": s.stageName(job.open, c.stage), "panel": c.panel, "zone": c.zone,
		"at": c.at, "by": logbook.ID(c.by).String(), "asked": asked}
	for _, p := range job.open.Panels {
		if p.ID == c.panel {
			o["panel_name"] = p.Name
		}
	}
	if n := c.seen; n != nil {
		who, _ := s.person(logbook.ID(n.by))
		o["seen"] = object{"by": who.Name, "at": n.at, "looked": n.looked, "right": n.right, "note": n.note, "alone": c.alone()}
	}
	return o
}

// stageName is a stage in the words of the job's route.
func (s *Server) stageName(o checklist.JobOpen, key string) string {
	s.writer.mu.RLock()
	defer s.writer.mu.RUnlock()
	r, ok := s.writer.shop.Steps(o.Steps)
	if !ok {
		r, _ = checklist.RouteOf(o.Route)
	}
	for i := range r.Stages {
		if r.Stages[i].Key == key {
			return r.Stages[i].Name
		}
	}
	return key
}
