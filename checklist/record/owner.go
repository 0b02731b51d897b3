package record

import (
	"encoding/hex"
	"slices"
	"strings"

	"bayhold/checklist"
)

// Owner is what a vehicle's owner is told and asked while it is in the shop, and
// what it leaves with: the owner's page, which a link opens. It has no
// temperatures: what owners ask is when it is ready, what waits on them, and what
// was found.
type Owner struct {
	Language string // of checklist.Languages
	Shop     string
	Vehicle  string // in a line, as every text that is signed begins
	Phase    string // "before", "here", "ready" or "gone"
	Title    string // the phase in words
	Says     []string
	Heading  string // over Tells
	Tells    []string
	Findings []OwnersFinding
	Papers   []OwnersPaper
	Signed   []string // who signed what, and when
	Care     []string
	Body     string           // what is drawn
	Panels   []OwnersPanel    // in hang order
	Whole    bool             // the record can be had
	Due      map[string]Shown // what may be answered now, by its key
}

// OwnersPanel is a panel of the drawing.
type OwnersPanel struct{ ID, Name string }

// OwnersFinding is one thing that was seen on the vehicle.
type OwnersFinding struct {
	Number   int
	ID       checklist.LineID
	Panel    string
	Place    string // as the pin was set, which the drawing reads
	Name     string
	Note     string
	Photo    string
	Answer   string // that stands, "" for none
	Answered string
	Key      string // of Due, "" if there is nothing to answer
}

// OwnersPaper is a paper that waits for the owner's signature.
type OwnersPaper struct {
	What  string
	Title string
	Key   string // of Due
}

// Shown is what an answer or a signature stands under, line by line, exactly as
// it is on the screen.
type Shown []string

// Text is the whole of it, whose hash is kept with the answer.
func (s Shown) Text() string { return strings.Join(s, "\n") }

// Ready is when the vehicle may be ready, as the shop server reckons: a range,
// Open if it has no end yet, zero if nobody can tell.
type Ready struct {
	From, To int64
	Open     bool
}

// OwnerOf writes the owner's page of a job; ok is false if there is no such job.
func OwnerOf(s *checklist.Shop, a Asked, ready Ready) (o *Owner, ok bool) {
	w, ok := begin(s, a)
	if !ok {
		return nil, false
	}
	o = &Owner{Language: checklist.Languages[w.language], Shop: w.shopName, Vehicle: w.owned(), Body: w.open.Vehicle,
		Whole: w.job.Closed != "", Due: map[string]Shown{}}
	pieces, _ := s.HangOrder(a.Job, a.Now)
	for _, h := range pieces {
		o.Panels = append(o.Panels, OwnersPanel{h.Panel, h.Name})
	}
	if len(o.Panels) == 0 {
		for _, p := range w.open.Panels {
			o.Panels = append(o.Panels, OwnersPanel{p.ID, p.Name})
		}
	}
	w.ownersFindings(o)
	w.ownersPapers(o)
	w.ownersPhase(o, ready)
	for _, g := range s.Signatures(a.Job) {
		if g.As == "installer" {
			continue
		}
		signed := w.say(sayOwnerSigned, w.paper(g.What), g.Name, w.span(g.At))
		if g.Link != "" {
			signed += ", " + w.say(sayViaLink)
		}
		o.Signed = append(o.Signed, signed)
	}
	return o, true
}

// owned is the vehicle as its owner knows it.
func (w *writer) owned() string {
	var out []string
	for _, s := range []string{w.open.Label, w.open.Customer, w.open.Vehicle, w.open.Plate} {
		if s != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, ", ")
}

// ownersFindings are those that an owner answers; what was found at the edges of
// film is the shop's to do again.
func (w *writer) ownersFindings(o *Owner) {
	for i := range w.pins {
		f := &w.pins[i]
		if f.Walk == "edges" {
			continue
		}
		x := OwnersFinding{Number: len(o.Findings) + 1, ID: f.ID, Panel: f.Panel, Place: f.Place, Name: w.found1(f), Note: f.Note, Photo: f.Photo, Answer: f.Standing}
		if f.Standing != "" {
			x.Answered = w.word("answer", f.Standing)
			for _, a := range f.Answers {
				if a.Answer == f.Standing {
					x.Answered += ", " + w.span(a.At)
					if a.Link != "" {
						x.Answered += ", " + w.say(sayViaLink)
					}
					break
				}
			}
		} else if w.job.Closed == "" {
			x.Key = "finding/" + hex.EncodeToString(f.ID.Writer[:]) + "/" + number(int64(f.ID.Seq))
			shown := Shown{o.Vehicle, x.Name}
			if f.Note != "" {
				shown = append(shown, f.Note)
			}
			if risk, ok := risks[f.What]; ok {
				shown = append(shown, w.say(risk))
			}
			bare := w.say(sayBareVehicle)
			if f.Panel != "" {
				bare = w.say(sayBarePanel, w.panel(f.Panel))
			}
			o.Due[x.Key] = append(shown, w.say(sayAcceptMeans), bare)
		}
		o.Findings = append(o.Findings, x)
	}
}

// found1 is what a finding is, how large, and where.
func (w *writer) found1(f *checklist.FindingState) string {
	s := w.word("finding", f.What)
	if f.Size != 0 {
		s += " " + mm(f.Size) + " mm"
	}
	for _, part := range []string{w.panel(f.Panel), w.placed(f.Place)} {
		if part != "" {
			s += ", " + part
		}
	}
	return s
}

// placed puts the words that a pin is set by into the language; others stay.
func (w *writer) placed(place string) string {
	parts := strings.Split(place, ", ")
	for i, p := range parts {
		if t, ok := spots[p]; ok {
			parts[i] = w.say(t)
		}
	}
	return strings.Join(parts, ", ")
}

// ownersPapers are those that only the owner's signature closes, once what comes
// before it is done: the crew has looked, and every finding is answered.
func (w *writer) ownersPapers(o *Owner) {
	if w.job.Closed != "" {
		return
	}
	add := func(what, title string, lines Shown) {
		key := "sign/" + what
		if _, twice := o.Due[key]; twice {
			return
		}
		o.Due[key] = append(Shown{o.Vehicle}, lines...)
		o.Papers = append(o.Papers, OwnersPaper{what, title, key})
	}
	asks := slices.ContainsFunc(o.Findings, func(f OwnersFinding) bool { return f.Key != "" })
	for i := range w.gates {
		g := &w.gates[i]
		if g.State == checklist.Done || g.Waived {
			continue
		}
		for _, own := range []string{"film-risk", "early-release"} {
			if slices.ContainsFunc(g.Causes, func(c string) bool { return causeOf(c) == own }) {
				add(own, w.paper(own), w.paperLines(own))
			}
		}
		st := w.step(g.Stage)
		if st == nil || !slices.Contains(st.Signers, "owner") || w.signed(st.What, "owner") || asks && st.Proof == checklist.ByWalk {
			continue
		}
		// Before it nothing else is missing: the gate is open, or held by
		// signatures alone.
		if g.State != checklist.Open && slices.ContainsFunc(g.Causes, func(c string) bool {
			return !strings.HasPrefix(c, "sign-") && causeOf(c) != "early-release"
		}) {
			continue
		}
		switch {
		case st.Proof == checklist.BySigns && st.What == "hand-over":
			lines := w.foundLines()
			if care, ok := w.careLines(); ok {
				lines = append(lines, care...)
			}
			add(st.What, w.stage(st.Key), lines)
		case st.Proof == checklist.BySigns:
			add(st.What, w.paper(st.What), w.paperLines(st.What))
		case st.Proof == checklist.ByWalk && slices.Contains(st.Signers, "installer"):
			if w.signed(st.What, "installer") {
				add(st.What, w.stage(st.Key), w.foundLines())
			}
		case st.Proof == checklist.ByWalk && w.has("finding", "photo"): // somebody has walked round it
			add(st.What, w.stage(st.Key), w.foundLines())
		}
	}
}

func causeOf(c string) string { key, _, _ := strings.Cut(c, "="); return key }

func (w *writer) step(key string) *checklist.Stage {
	for i := range w.job.Route.Stages {
		if st := &w.job.Route.Stages[i]; st.Key == key {
			return st
		}
	}
	return nil
}

// foundLines is what stands under the signature of a walk: every finding with its
// answer and its risk.
func (w *writer) foundLines() Shown {
	var out Shown
	for i := range w.pins {
		f := &w.pins[i]
		if f.Walk == "edges" {
			continue
		}
		s := w.found1(f) + ": " + w.word("answer", f.Standing) + "."
		if risk, ok := risks[f.What]; ok && f.Standing != "repaired" {
			s += " " + w.say(risk)
		}
		out = append(out, s)
	}
	if len(out) == 0 {
		out = Shown{w.say(sayNothingFound)}
	}
	return out
}

func (w *writer) paperLines(what string) (out Shown) {
	for _, t := range papers[what] {
		out = append(out, w.say(t))
	}
	return out
}

func (w *writer) careLines() (out Shown, ok bool) {
	lines, ok := w.shop.CareSheet(w.Job, checklist.Languages[w.language], w.Now)
	for _, l := range lines {
		out = append(out, w.marks(l.Text))
	}
	return out, ok
}

// ownersPhase is where the vehicle stands for its owner: before it came, in work,
// to be fetched, gone.
func (w *writer) ownersPhase(o *Owner, ready Ready) {
	open := func(stage string) bool {
		return slices.ContainsFunc(w.gates, func(g checklist.Gate) bool {
			return g.Stage == stage && g.State != checklist.Done && !g.Waived
		})
	}
	tell := func(of ...text) {
		for _, t := range of {
			o.Tells = append(o.Tells, w.say(t))
		}
	}
	switch {
	case w.job.Closed != "":
		o.Phase, o.Title = "gone", w.say(sayGone)
		o.Says = append(o.Says, w.say(sayLeftAt, w.full(w.job.ClosedAt.Latest)))
		if g := w.guarantee(); w.job.Closed == "handed-over" && g != w.say(sayNotWritten) {
			o.Says = append(o.Says, w.say(sayGuarantee)+": "+g)
		}
		if care, ok := w.careLines(); ok && w.job.Closed == "handed-over" {
			o.Care = care
		}
		return
	case open("check-in"):
		o.Phase, o.Title, o.Heading = "before", w.say(sayComes), w.say(sayBringTitle)
		tell(bring[:]...)
	case slices.ContainsFunc(w.gates, func(g checklist.Gate) bool {
		return g.Stage == "hand-over" && (g.State == checklist.Open || g.State == checklist.Held && !slices.ContainsFunc(g.Causes, func(c string) bool { return !strings.HasPrefix(c, "sign-") }))
	}):
		o.Phase, o.Title = "ready", w.say(sayIsReady)
		o.Says = append(o.Says, w.say(sayFetchIt))
		if care, ok := w.careLines(); ok {
			o.Care = care
		}
		return
	default:
		o.Phase, o.Title, o.Heading = "here", w.say(sayIsHere), w.say(sayNextTitle)
		tell(next[:]...)
	}
	o.Says = append(o.Says, w.ownersReady(ready)...)
}

// ownersReady says when it is ready: as promised while that holds with the
// shop's buffer, otherwise as a range.
func (w *writer) ownersReady(r Ready) []string {
	promise := w.open.Promise
	switch {
	case r.Open:
		return []string{w.say(sayOpenEnded, w.owners(r.From))}
	case r.To == 0 && promise == 0:
		return []string{w.say(sayNoPromise)}
	case promise == 0:
		return []string{w.say(sayReadyBetween, w.owners(r.From), w.owners(r.To))}
	case r.To == 0, r.To <= promise:
		return []string{w.say(sayReadyBy, w.owners(promise))}
	case r.From <= promise:
		return []string{w.say(sayPromisedFor, w.owners(promise)), w.say(sayReadyBetween, w.owners(r.From), w.owners(r.To))}
	}
	return []string{w.say(sayLater, w.owners(promise)), w.say(sayReadyBetween, w.owners(r.From), w.owners(r.To))}
}

// owners is a moment as one says it to a customer: Thu 3 Mar 14:00.
func (w *writer) owners(ms int64) string {
	return w.say(weekdays[w.local(ms).Weekday()]) + " " + w.clock(ms)
}

// byLink says by which link an owner's line came: to whom it was given.
func (w *writer) byLink(sum string) string {
	to := ""
	for i := range w.lines { // those that were taken back later as well: they were good then
		if b, ok := w.lines[i].Body.(checklist.OwnerLink); ok && b.Sum == sum {
			to = b.To
		}
	}
	if to == "" {
		return w.say(sayViaLink)
	}
	return w.say(sayLinkGivenTo, to)
}
