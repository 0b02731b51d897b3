// Package story tells four whole jobs of an invented shop, one for each route,
// from check-in to the call back: who did what, when, with what evidence, and
// what went wrong on the way. Steps, order and times follow the common practice
// of the trade (no source); people, vehicles, films and owners are invented.
// Air and surfaces come out of a small model (air.go): nothing was measured.
package story

import (
	"crypto/sha256"
	"encoding/hex"
	"sort"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/line"
	demo "bayhold/testdata/demo/story"
)

// Jobs is the four jobs by the name of their file.
var Jobs = map[string]func() []demo.Entry{
	"van":      van,
	"bus-side": busSide,
	"hood":     hood,
	"removal":  removal,
}

// clock is a time of March 2026 such as "03 08:30"; "F27 09:00" is of February.
func clock(s string) time.Time {
	month := "2026-03-"
	if s[0] == 'F' {
		month, s = "2026-02-", s[1:]
	}
	t, err := time.Parse("2006-01-02 15:04", month+s)
	if err != nil {
		panic(err)
	}
	return t
}

// book is one job as it is written down.
type book struct {
	out    []demo.Entry
	job    string
	open   checklist.JobOpen
	photos int
}

// newBook begins with the shop's own lines: the building, the crew, the rules.
func newBook(at, label string) *book {
	b := &book{job: "job:" + label}
	when := clock(at)
	shop := "shop:Four Jobs"
	b.put("M", when, shop, checklist.ShopSet{Name: "Four Jobs", Units: "C", Zone: "UTC"})
	for i, name := range []string{"Bay 1 wash", "Bay 2", "Bay 3"} {
		b.put("M", when, shop, checklist.PlaceAdd{Place: demo.ID("bay " + string(rune('1'+i))), Name: name, Sort: "bay", Order: int64(i + 1)})
	}
	b.put("M", when, shop, checklist.PlaceAdd{Place: demo.ID("yard"), Name: "Yard", Sort: "yard", Order: 4})
	for _, p := range [][2]string{{"M", "lead"}, {"J", "crew"}, {"R", "crew"}, {"S", "crew"}, {"T", "prep"}, {"P", "porter"}, {"D", "desk"}} {
		b.put("M", when, shop, checklist.PersonAdd{Person: demo.ID(p[0]), Name: p[0], Initials: p[0], Role: p[1]})
	}
	rules := checklist.DefaultRules()
	sum := sha256.Sum256(line.AppendValues(nil, rules))
	b.open = checklist.JobOpen{Label: label, Rules: hex.EncodeToString(sum[:])}
	b.put("M", when, shop, checklist.RulesSet{Hash: b.open.Rules, Values: rules})
	return b
}

// put writes a line into any logbook.
func (b *book) put(by string, at time.Time, log string, body checklist.Body) {
	writer := "phone " + by
	if by == "" {
		writer = "server"
	}
	b.out = append(b.out, demo.Entry{Log: log, Writer: writer, At: at, By: by, Body: body})
}

// says writes lines into the job's logbook, one after the other within the
// minute.
func (b *book) says(at, by string, bodies ...checklist.Body) {
	for i, body := range bodies {
		b.put(by, clock(at).Add(time.Duration(i)*time.Second), b.job, body)
	}
}

// done ticks a stage on panels, or on the vehicle if none is named.
func (b *book) done(at, by, stage string, panels ...string) { b.tick(at, by, stage, "done", panels) }

// cut ticks that panels are trimmed, and how.
func (b *book) cut(at, by, how string, panels ...string) {
	for i, p := range panels {
		b.put(by, clock(at).Add(time.Duration(i)*time.Second), b.job, checklist.Tick{Stage: "trim", Panel: p, Answer: "done", How: how})
	}
}

// begun ticks that a stage is in hand.
func (b *book) begun(at, by, stage string, panels ...string) {
	b.tick(at, by, stage, "started", panels)
}

// laid is a panel wiped, laid and photographed by one hand.
func (b *book) laid(by, wipe, start, end, panel string) {
	b.done(wipe, by, "wipe", panel)
	b.begun(start, by, "lay", panel)
	b.done(end, by, "lay", panel)
	b.photo(end, by, panel, "laid")
}

func (b *book) tick(at, by, stage, answer string, panels []string) {
	if len(panels) == 0 {
		panels = []string{""}
	}
	for i, p := range panels {
		b.put(by, clock(at).Add(time.Duration(i)*time.Second), b.job, checklist.Tick{Stage: stage, Panel: p, Answer: answer})
	}
}

// signs puts names under a paper: "installer J", "owner".
func (b *book) signs(at, by, what string, as ...string) {
	for i, who := range as {
		b.put(by, clock(at).Add(time.Duration(i)*time.Second), b.job, checklist.Sign{What: what, As: who, Name: "the " + who, Salt: salt(b.job + what + who)})
	}
}

// photo names a picture of a panel.
func (b *book) photo(at, by, panel, name string) {
	b.photos++
	sum := sha256.Sum256([]byte(b.job + panel + name + at))
	b.says(at, by, checklist.Photo{SHA: hex.EncodeToString(sum[:]), Bytes: 180_000, Panel: panel, Name: name})
}

// read is a reading by contact probe at the tape dots 1, 2, ...
func (b *book) read(at, by string, surfaces ...float64) {
	r := checklist.Reading{Instrument: "contact"}
	for i, c := range surfaces {
		if c != 0 {
			r.Values = append(r.Values, checklist.SpotValue{Spot: b.open.Spots[i].ID, Surface: milli(c)})
		}
	}
	b.says(at, by, r)
}

// finding is a pin, and what the owner says to it if that is not empty.
func (b *book) finding(at, by string, f checklist.Finding, answered, answer string) {
	f.Salt = salt(b.job + f.What + f.Panel + at)
	b.says(at, by, f)
	if answer != "" {
		// The seq of the finding is known once the lines are numbered.
		b.says(answered, "D", checklist.FindingAnswer{Finding: checklist.LineID{Writer: demo.ID("phone " + by)}, Answer: answer, Note: "owner by message"})
	}
}

// place is what happened to a bay's air.
func (b *book) place(at, by, bay, cause, from, to, note string) {
	e := checklist.PlaceEvent{Cause: cause, From: clock(from).UnixMilli(), Note: note}
	if to != "" {
		e.To = clock(to).UnixMilli()
	}
	b.put(by, clock(at), "place:"+bay, e)
}

// panels is some panels' ids, all of the job's without an argument.
func (b *book) panels() (ids []string) {
	for _, p := range b.open.Panels {
		ids = append(ids, p.ID)
	}
	return ids
}

func salt(of string) []byte {
	sum := sha256.Sum256([]byte("salt of " + of))
	return sum[:16]
}

// close puts the lines in the order of their times and numbers them.
func (b *book) close() []demo.Entry {
	sort.SliceStable(b.out, func(i, k int) bool { return b.out[i].At.Before(b.out[k].At) })
	seq := map[string]uint64{}
	last := map[string]uint64{} // of each writer's findings
	for i := range b.out {
		e := &b.out[i]
		key := e.Log + "\x00" + e.Writer
		seq[key]++
		e.Seq = seq[key]
		switch body := e.Body.(type) {
		case checklist.Finding:
			last[string(idBytes(demo.ID(e.Writer)))] = e.Seq
		case checklist.FindingAnswer:
			body.Finding.Seq = last[string(idBytes(body.Finding.Writer))]
			e.Body = body
		}
	}
	return b.out
}

func idBytes(id checklist.ID) []byte { return id[:] }
