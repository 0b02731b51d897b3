// Package story tells the demo shop's two days as lines: who wrote what, when,
// in which logbook. The shop, its people and vehicles are invented, and air
// and surfaces are calculated with a small model (bays.go): nothing here was
// measured, and no vehicle like these was ever wrapped. The numbers that the
// story is judged against are common practice without a source.
//
// There are two runs. In run A an unvented gas heater in bay 4 burns until
// Wednesday 08:30, and the van that comes in from the frost at 06:00 gets
// soaking wet. In run B somebody looked ahead: the heater goes off at 05:15,
// the bay is flushed with outside air, and the same van stays dry.
package story

import (
	"crypto/sha256"
	"encoding/hex"
	"math"
	"sort"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/air"
	"bayhold/checklist/line"
	"bayhold/sync/logbook"
)

// Shop is the name of the invented shop; its logbook is called so too.
const Shop = "Tarnbrook Six"

// The story's days. Tuesday 06:00 is hour 0 of the model.
var (
	Saturday  = time.Date(2026, time.January, 10, 0, 0, 0, 0, time.UTC)
	Sunday    = Saturday.AddDate(0, 0, 1)
	Monday    = Saturday.AddDate(0, 0, 2)
	Tuesday   = Saturday.AddDate(0, 0, 3)
	Wednesday = Saturday.AddDate(0, 0, 4)
	Thursday  = Saturday.AddDate(0, 0, 5)
	Friday    = Saturday.AddDate(0, 0, 6)
)

// At is a time of one of the days, such as At(Wednesday, "06:10").
func At(day time.Time, clock string) time.Time {
	t, err := time.Parse("15:04", clock)
	if err != nil {
		panic(err)
	}
	return day.Add(time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute)
}

// Entry is a line with names for ids.
type Entry struct {
	Log    string // "shop:Tarnbrook Six", "place:bay 4", "job:V5"
	Writer string // "phone J", "server"
	Seq    uint64
	At     time.Time
	By     string // initials, "" for the server
	Body   checklist.Body
}

// ID is the id behind a name of the story.
func ID(name string) checklist.ID { return checklist.ID(logbook.Named(name)) }

// Line is the entry as the checklist reads it. Its times are taken as true.
func (e Entry) Line() checklist.Line {
	l := checklist.Line{
		Log:  LogOf(e.Log),
		ID:   checklist.LineID{Writer: ID(e.Writer), Seq: e.Seq},
		Span: checklist.Span{Earliest: e.At.UnixMilli(), Latest: e.At.UnixMilli()},
		Kind: e.Body.Kind(),
		Body: e.Body,
	}
	if e.By != "" {
		l.By = ID(e.By)
	}
	return l
}

// LogOf is the logbook behind its name.
func LogOf(name string) checklist.Log {
	for i := range name {
		if name[i] == ':' {
			return checklist.Log{Class: name[0], ID: ID(name[i+1:])}
		}
	}
	panic("no logbook: " + name)
}

// Rules is the shop's rule set and its hash. Against the defaults it asks for
// 16.0 C where the default is 60 F (15.56 C): the 0.44 K are for the error of
// its taped-on probes, which is then not taken off again.
func Rules() checklist.RulesSet {
	v := checklist.DefaultRules()
	v["surface_floor"] = 16_000
	v["surface_floor_flat"] = 16_000
	v["error_logger"] = 0
	sum := sha256.Sum256(line.AppendValues(nil, v))
	return checklist.RulesSet{Hash: hex.EncodeToString(sum[:]), Values: v}
}

// Run returns the lines of run 'A' or 'B' in the order of their times.
func Run(run byte) []Entry {
	b := &book{rules: Rules()}
	b.shop()
	b.before()
	b.vans()
	b.bus()
	b.hood()
	b.trap(run)
	b.instruments(run)
	sort.SliceStable(b.out, func(i, k int) bool { return b.out[i].At.Before(b.out[k].At) })
	seq := map[string]uint64{}
	for i := range b.out {
		e := &b.out[i]
		key := e.Log + "\x00" + e.Writer
		seq[key]++
		e.Seq = seq[key]
		if a, ok := e.Body.(checklist.FindingAnswer); ok {
			a.Finding.Seq = b.finding(e.Log, seqs(b.out[:i]))
			e.Body = a
		}
	}
	return b.out
}

type book struct {
	out   []Entry
	rules checklist.RulesSet
}

// seqs passes entries that are numbered already.
func seqs(e []Entry) []Entry { return e }

// finding is the seq of the last finding of a job.
func (b *book) finding(log string, told []Entry) uint64 {
	for i := len(told) - 1; i >= 0; i-- {
		if _, ok := told[i].Body.(checklist.Finding); ok && told[i].Log == log {
			return told[i].Seq
		}
	}
	panic("no finding in " + log)
}

// by writes a line of a person, on the person's phone.
func (b *book) by(who string, at time.Time, log string, body checklist.Body) {
	b.out = append(b.out, Entry{Log: log, Writer: "phone " + who, At: at, By: who, Body: body})
}

// server writes a line of the server, which speaks for the loggers.
func (b *book) server(at time.Time, log string, body checklist.Body) {
	b.out = append(b.out, Entry{Log: log, Writer: "server", At: at, Body: body})
}

func bayName(n int) string { return "bay " + string(rune('0'+n)) }

// shop is the set-up: the building, the crew, the numbers.
func (b *book) shop() {
	at := At(Saturday, "07:00")
	log := "shop:" + Shop
	b.by("M", at, log, checklist.ShopSet{Name: Shop, Units: "C", Zone: "UTC"})
	for i, note := range []string{"wash", "", "", "", "", ""} {
		name := "Bay " + string(rune('1'+i))
		if note != "" {
			name += " " + note
		}
		b.by("M", at, log, checklist.PlaceAdd{Place: ID(bayName(i + 1)), Name: name, Sort: "bay", Order: int64(i + 1)})
	}
	b.by("M", at, log, checklist.PlaceAdd{Place: ID("yard"), Name: "Yard", Sort: "yard", Order: 7})
	for _, p := range []struct{ initials, role string }{
		{"M", "lead"}, {"J", "crew"}, {"R", "crew"}, {"S", "crew"}, {"T", "prep"}, {"P", "porter"}, {"D", "desk"},
	} {
		b.by("M", at, log, checklist.PersonAdd{Person: ID(p.initials), Name: p.initials, Initials: p.initials, Role: p.role})
	}
	b.by("M", at, log, b.rules)
	b.by("M", at, log, checklist.AirShared{Places: []checklist.ID{ID("bay 2"), ID("bay 3")}, From: at.UnixMilli()})
	// P closes up, and rolls the vehicles in before the others come.
	hours := checklist.ShopHours{Porter: 6 * time.Hour.Milliseconds()}
	for range 6 {
		hours.Week = append(hours.Week, At(Saturday, "07:30").Sub(Saturday).Milliseconds(), At(Saturday, "17:00").Sub(Saturday).Milliseconds())
	}
	hours.Week = append(hours.Week, 0, 0)
	b.by("M", at, log, hours)
}

// look is the walk round on clean paint: signed by both, with one finding if
// what is not empty.
func (b *book) look(who string, at time.Time, log, panel, where, what string) {
	if what != "" {
		b.by(who, at, log, checklist.Finding{Panel: panel, Place: where, What: what, Salt: salt(log + what)})
		b.by("D", at.Add(10*time.Minute), log, checklist.FindingAnswer{
			Finding: checklist.LineID{Writer: ID("phone " + who)}, Answer: "accepted", Note: "owner by message"})
	}
	b.by(who, at.Add(2*time.Minute), log, checklist.Sign{What: "inspection", As: "installer", Name: who, Salt: salt(log + who)})
	b.by("D", at.Add(12*time.Minute), log, checklist.Sign{What: "inspection", As: "owner", Name: "for the owner", Salt: salt(log + "owner")})
}

func salt(of string) []byte {
	sum := sha256.Sum256([]byte("salt of " + of))
	return sum[:16]
}

func tick(stage, panel string) checklist.Tick {
	return checklist.Tick{Stage: stage, Panel: panel, Answer: "done"}
}

func started(stage, panel string) checklist.Tick {
	return checklist.Tick{Stage: stage, Panel: panel, Answer: "started"}
}

// opened is what the desk and the lead write when a vehicle comes: the walk
// round with the owner, a channel measured on every contour, the film. The
// channel is a V of 80 by 15 mm: 7 % of stretch, which either cast film stands.
func (b *book) opened(at time.Time, log string, panels []checklist.Panel, film checklist.FilmRoll) {
	b.by("D", at, log, checklist.Sign{What: "check-in", As: "owner", Name: "for the owner", Salt: salt(log + "check-in")})
	for i, p := range panels {
		if p.Contour {
			b.by("M", at.Add(time.Duration(i+1)*time.Minute), log, checklist.Feature{Panel: p.ID, ID: "1", Sort: "channel", Name: "body line",
				Shape: "V", Width: 80_000, Depth: 15_000, Length: 1_200_000, Laid: "floor-first", Plan: "stretch"})
		}
	}
	b.by("M", at.Add(20*time.Minute), log, film)
}

// printed is the print hand's chain for a film.
func (b *book) printed(log string, print, laminate, in time.Time) {
	b.by("S", print, log, tick("print", ""))
	b.by("S", laminate, log, tick("laminate", ""))
	b.by("P", in, log, tick("film-in", ""))
}

// fitted is the dry fit of every panel, a minute apart.
func (b *book) fitted(who string, at time.Time, log string, panels []checklist.Panel) {
	for i, p := range panels {
		b.by(who, at.Add(time.Duration(i)*time.Minute), log, tick("dry-fit", p.ID))
	}
}

// The films on the shelf; their batches are invented.
var (
	castPrint = checklist.FilmRoll{Family: "cast-print", Laminate: "cast", Adhesive: "permanent", Thickness: 50, Batch: "C-2231", Roll: "4", Sheet: "cast print film, 2 mil", Printed: true, Months: 60}
	castColor = checklist.FilmRoll{Family: "cast", Laminate: "none", Adhesive: "permanent", Thickness: 80, Batch: "K-118", Roll: "9", Sheet: "cast colour film", Months: 60}
)

// bought is a film that came printed and laminated from outside.
func bought(f checklist.FilmRoll) checklist.FilmRoll {
	f.Printed = false
	return f
}

// The panels of the five vehicles, in hang order.
var (
	panelsV1 = []checklist.Panel{
		{ID: "roof", Name: "roof", Zone: "upper"},
		{ID: "rear-doors", Name: "rear doors", Zone: "upper", Contour: true},
		{ID: "left-side", Name: "left side", Zone: "lower", Contour: true},
		{ID: "bonnet", Name: "bonnet", Zone: "upper", Contour: true},
		{ID: "left-wing", Name: "left front wing", Zone: "upper", Contour: true},
	}
	panelsV2 = []checklist.Panel{
		{ID: "left-side", Name: "left side", Zone: "upper", Contour: true},
		{ID: "right-side", Name: "right side", Zone: "upper", Contour: true},
		{ID: "rear-doors", Name: "rear doors", Zone: "upper", Contour: true},
		{ID: "sills", Name: "sills", Zone: "lower", Contour: true},
	}
	panelsV3 = []checklist.Panel{
		{ID: "drop-1", Name: "drop 1, rear", Zone: "left side", Contour: true},
		{ID: "drop-2", Name: "drop 2", Zone: "left side", Contour: true},
		{ID: "drop-3", Name: "drop 3", Zone: "left side", Contour: true},
		{ID: "drop-4", Name: "drop 4, front", Zone: "left side", Contour: true},
	}
	panelsV4 = []checklist.Panel{{ID: "hood", Name: "hood", Zone: "upper", Contour: true}}
	panelsV5 = []checklist.Panel{
		{ID: "left-shoulder", Name: "left shoulder", Zone: "upper", Contour: true},
		{ID: "right-shoulder", Name: "right shoulder", Zone: "upper", Contour: true},
		{ID: "left-lower", Name: "left lower side", Zone: "lower", Contour: true, Primer: true},
		{ID: "right-lower", Name: "right lower side", Zone: "lower", Contour: true, Primer: true},
	}
)

// before is what happened until Tuesday 06:00.
func (b *book) before() {
	// V5: washed on Saturday, 20 hours counted in bay 4, then out in the frost.
	v5 := "job:V5"
	b.by("D", At(Saturday, "08:30"), v5, checklist.JobOpen{
		Label: "V5", Customer: "Dunmarrow Plumbing", Vehicle: "van with loaded racks", Route: "van",
		Film: "cast-print", Place: ID("bay 4"), Promise: At(Friday, "12:00").UnixMilli(), Rules: b.rules.Hash,
		Panels: panelsV5,
		Spots:  []checklist.Spot{{ID: "1", Name: "left shoulder", Zone: "upper"}, {ID: "2", Name: "rear left sill", Zone: "lower"}},
	})
	b.opened(At(Saturday, "08:35"), v5, panelsV5, castPrint)
	b.by("T", At(Saturday, "08:50"), v5, tick("strip", ""))
	b.printed(v5, At(Saturday, "16:00"), At(Sunday, "17:00"), At(Monday, "09:00"))
	b.by("T", At(Saturday, "09:00"), v5, started("wash", ""))
	b.by("T", At(Saturday, "10:30"), v5, tick("wash", ""))
	b.by("T", At(Saturday, "10:50"), v5, checklist.Evidence{What: "blown-out", Passed: true})
	b.look("J", At(Saturday, "11:00"), v5, "", "", "")
	b.by("P", At(Sunday, "08:00"), v5, checklist.JobMove{Place: ID("yard"), Wet: "no"})

	// V1: washed on Sunday, dry on Monday, roof and rear laid that day.
	v1 := "job:V1"
	b.by("D", At(Saturday, "07:05"), v1, checklist.JobOpen{
		Label: "V1", Customer: "Oddvale Parcels", Vehicle: "long high-roof van", Route: "van",
		Film: "cast-print", Place: ID("yard"), Promise: At(Thursday, "14:00").UnixMilli(), Rules: b.rules.Hash,
		Panels: panelsV1,
		Spots:  []checklist.Spot{{ID: "1", Name: "left shoulder", Zone: "upper"}, {ID: "2", Name: "left sill", Zone: "lower"}},
	})
	b.opened(At(Saturday, "07:15"), v1, panelsV1, castPrint)
	b.printed(v1, At(Saturday, "07:40"), At(Sunday, "07:40"), At(Sunday, "19:40"))
	b.by("P", At(Sunday, "13:00"), v1, checklist.JobMove{Place: ID("bay 1"), Wet: "no"})
	b.by("T", At(Sunday, "13:20"), v1, tick("strip", ""))
	b.fitted("J", At(Monday, "07:45"), v1, panelsV1)
	b.by("T", At(Sunday, "13:30"), v1, started("wash", ""))
	b.by("T", At(Sunday, "15:00"), v1, tick("wash", ""))
	b.by("P", At(Sunday, "15:10"), v1, checklist.JobMove{Place: ID("bay 2"), Wet: "no"})
	b.by("T", At(Sunday, "15:30"), v1, checklist.Evidence{What: "blown-out", Passed: true})
	b.look("J", At(Sunday, "15:40"), v1, "rear-doors", "below the handle", "chip")
	b.by("J", At(Monday, "08:00"), v1, tick("wipe", "rear-doors"))
	b.by("J", At(Monday, "08:15"), v1, started("lay", "rear-doors"))
	b.by("J", At(Monday, "10:20"), v1, tick("lay", "rear-doors"))
	b.by("J", At(Monday, "12:55"), v1, tick("wipe", "roof"))
	b.by("J", At(Monday, "13:05"), v1, started("lay", "roof"))
	b.by("J", At(Monday, "15:40"), v1, tick("lay", "roof"))

	// V2: the old film comes off on Monday.
	v2 := "job:V2"
	b.by("D", At(Monday, "07:30"), v2, checklist.JobOpen{
		Label: "V2", Customer: "Brindlecote Laundry", Vehicle: "medium van", Route: "removal",
		Film: "cast", Place: ID("bay 3"), Promise: At(Friday.AddDate(0, 0, 1), "10:00").UnixMilli(), Rules: b.rules.Hash,
		Panels: panelsV2,
		Spots:  []checklist.Spot{{ID: "1", Name: "left shoulder", Zone: "upper"}, {ID: "2", Name: "rear left sill", Zone: "lower"}},
	})
	b.opened(At(Monday, "07:40"), v2, panelsV2, castColor)
	for _, a := range []checklist.Asked{{What: "film-age", Answer: "5 to 7 years"}, {What: "film-kind", Answer: "cast"}, {What: "paint-history", Answer: "unknown"}, {What: "fitted-by", Answer: "another shop"}} {
		b.by("D", At(Monday, "07:55"), v2, a)
	}
	for i, t := range []checklist.Trial{
		{Place: "sunny roof edge", Surface: 62_000, Angle: 150, Speed: 500, Took: 14 * 60_000, Area: 90_000, Residue: 40_000, Paint: "sound"},
		{Place: "left side", Panel: "left-side", Surface: 54_000, Angle: 150, Speed: 1500, Took: 6 * 60_000, Area: 90_000, Residue: 10_000, Paint: "sound"},
		{Place: "rear door, repaired", Panel: "rear-doors", Surface: 42_000, Angle: 165, Speed: 250, Took: 17 * 60_000, Area: 90_000, Residue: 20_000, Paint: "sound"},
	} {
		b.by("S", At(Monday, "08:10").Add(time.Duration(i)*10*time.Minute), v2, t)
	}
	b.by("D", At(Monday, "08:50"), v2, checklist.Sign{What: "removal-risk", As: "owner", Name: "for the owner", Salt: salt(v2 + "risk")})
	b.by("P", At(Monday, "12:00"), v2, tick("film-in", ""))
	for i, p := range []string{"rear-doors", "left-side", "right-side", "sills"} {
		b.by("S", At(Monday, "11:00").Add(time.Duration(i)*2*time.Hour), v2, tick("pull", p))
	}
}

// vans is Tuesday and Wednesday of V1 and V2.
func (b *book) vans() {
	v1, v2 := "job:V1", "job:V2"
	b.by("J", At(Tuesday, "08:35"), v1, tick("wipe", "left-side"))
	b.by("J", At(Tuesday, "08:45"), v1, started("lay", "left-side"))
	b.by("J", At(Tuesday, "13:40"), v1, tick("lay", "left-side"))
	// Both are wiped when the bay door goes up for a delivery of film.
	b.by("J", At(Tuesday, "14:12"), v1, tick("wipe", "bonnet"))
	b.by("R", At(Tuesday, "14:12"), v1, tick("wipe", "left-wing"))
	b.by("P", At(Tuesday, "14:20"), "place:bay 2", checklist.PlaceEvent{Cause: "door-open", From: At(Tuesday, "14:20").UnixMilli(), Note: "delivery of film"})
	b.by("P", At(Tuesday, "14:50"), "place:bay 2", checklist.PlaceEvent{Cause: "door-open", From: At(Tuesday, "14:20").UnixMilli(), To: At(Tuesday, "14:50").UnixMilli(), Note: "delivery of film"})
	b.by("J", At(Tuesday, "15:20"), v1, tick("wipe", "bonnet"))
	b.by("J", At(Tuesday, "15:25"), v1, started("lay", "bonnet"))
	b.by("J", At(Tuesday, "16:35"), v1, tick("lay", "bonnet"))
	b.by("R", At(Tuesday, "16:40"), v1, tick("wipe", "left-wing"))
	b.by("R", At(Tuesday, "16:45"), v1, started("lay", "left-wing"))
	b.by("R", At(Tuesday, "17:15"), v1, tick("lay", "left-wing"))
	b.note("J", At(Wednesday, "10:30"), v1, "Post-heat done, 78 m since 07:30.")

	for i, p := range panelsV2 {
		b.by("T", At(Tuesday, "08:00").Add(time.Duration(i)*100*time.Minute), v2, started("adhesive-off", p.ID))
		b.by("T", At(Tuesday, "09:35").Add(time.Duration(i)*100*time.Minute), v2, tick("adhesive-off", p.ID))
	}
	b.by("M", At(Tuesday, "14:50"), v2, checklist.Sign{What: "bare-paint", As: "installer", Name: "M", Salt: salt(v2 + "bare")})
	b.by("D", At(Tuesday, "14:55"), v2, checklist.Sign{What: "bare-paint", As: "owner", Name: "for the owner", Salt: salt(v2 + "bare owner")})
	b.by("T", At(Tuesday, "15:00"), "shop:"+Shop, checklist.AirShared{
		Places: []checklist.ID{ID("bay 1"), ID("bay 4")}, From: At(Tuesday, "15:00").UnixMilli()})
	b.by("T", At(Tuesday, "15:00"), v2, checklist.JobMove{Place: ID("bay 1"), Wet: "no"})
	b.by("T", At(Tuesday, "15:00"), v2, started("wash", ""))
	b.by("T", At(Tuesday, "15:00"), "place:bay 1", checklist.PlaceEvent{Cause: "wash-near", From: At(Tuesday, "15:00").UnixMilli()})
	b.by("T", At(Tuesday, "16:30"), "place:bay 1", checklist.PlaceEvent{Cause: "wash-near", From: At(Tuesday, "15:00").UnixMilli(), To: At(Tuesday, "16:30").UnixMilli()})
	b.by("T", At(Tuesday, "16:30"), v2, checklist.JobMove{Place: ID("bay 3"), Wet: "no"})
	b.by("T", At(Tuesday, "16:30"), v2, tick("wash", ""))
	b.by("T", At(Tuesday, "16:55"), v2, checklist.Evidence{What: "blown-out", Passed: true})
	b.look("J", At(Tuesday, "17:00"), v2, "sills", "behind the left front wheel", "scratch")
	b.fitted("J", At(Tuesday, "17:15"), v2, panelsV2)
}

func (b *book) note(who string, at time.Time, log, text string) {
	b.by(who, at, log, checklist.Note{Text: text, Salt: salt(log + text)})
}

// bus is V3: a bay whose heater and extractor hang on one timer.
func (b *book) bus() {
	v3 := "job:V3"
	b.by("D", At(Tuesday, "06:30"), v3, checklist.JobOpen{
		Label: "V3", Customer: "Hexmoor Transit", Vehicle: "12 m city bus", Route: "bus-side",
		Film: "cast-print", Place: ID("yard"), Promise: At(Friday, "05:00").UnixMilli(), Rules: b.rules.Hash,
		Panels: panelsV3,
		Spots:  []checklist.Spot{{ID: "1", Name: "middle of the side", Zone: "left side"}, {ID: "2", Name: "rivet rail", Zone: "left side"}},
	})
	b.by("P", At(Tuesday, "07:15"), v3, checklist.JobMove{Place: ID("bay 5"), Wet: "no"})
	b.by("P", At(Tuesday, "07:15"), "place:bay 5", checklist.PlaceEvent{Cause: "door-open", From: At(Tuesday, "07:15").UnixMilli()})
	b.by("P", At(Tuesday, "07:24"), "place:bay 5", checklist.PlaceEvent{Cause: "door-open", From: At(Tuesday, "07:15").UnixMilli(), To: At(Tuesday, "07:24").UnixMilli()})
	b.opened(At(Tuesday, "06:35"), v3, panelsV3, bought(castPrint))
	b.by("D", At(Tuesday, "07:00"), v3, checklist.Asked{What: "last-wash", Answer: "this week"})
	b.by("D", At(Tuesday, "07:00"), v3, checklist.Asked{What: "wash-product", Answer: "shampoo with wax"})
	b.by("P", At(Tuesday, "07:40"), v3, tick("film-in", ""))
	b.by("T", At(Tuesday, "09:40"), v3, tick("sealant", ""))
	b.fitted("S", At(Wednesday, "08:00"), v3, panelsV3)
	b.by("T", At(Tuesday, "07:30"), v3, started("wash", ""))
	b.by("T", At(Tuesday, "09:30"), v3, tick("wash", ""))
	b.by("T", At(Tuesday, "09:30"), v3, checklist.Evidence{What: "blown-out", Passed: true})
	b.look("S", At(Tuesday, "09:45"), v3, "drop-4", "over the front wheel", "dent")
	b.by("S", At(Wednesday, "12:35"), v3, checklist.Evidence{What: "sweat-test", Passed: true, Note: "one lap warmed, no weep line"})
}

// hood is V4: a patch test on a hood that was painted nine days ago.
func (b *book) hood() {
	v4 := "job:V4"
	b.by("D", At(Monday, "13:30"), v4, checklist.JobOpen{
		Label: "V4", Customer: "Pellwick Bakery", Vehicle: "small car", Route: "hood",
		Film: "cast-color", Place: ID("bay 6"), Promise: At(Wednesday, "17:00").UnixMilli(), Rules: b.rules.Hash,
		Panels: panelsV4,
		Spots:  []checklist.Spot{{ID: "1", Name: "middle of the hood", Zone: "upper"}, {ID: "2", Name: "over the brace", Zone: "upper"}},
	})
	b.opened(At(Monday, "13:40"), v4, panelsV4, castColor)
	b.by("D", At(Monday, "14:05"), v4, checklist.Paint{Cure: "baked", Painted: At(Monday, "14:00").AddDate(0, 0, -9).UnixMilli(), Thickness: []int64{180, 240, 345, 210, 190}, Source: "owner"})
	b.by("T", At(Monday, "14:20"), v4, tick("strip", ""))
	b.by("T", At(Monday, "14:30"), v4, tick("wash", ""))
	b.note("R", At(Monday, "15:00"), v4, "Patch test begun, three patches. Owner says painted nine days ago and baked.")
	b.by("R", At(Monday, "15:00"), v4, checklist.Patch{Panel: "hood", From: At(Monday, "15:00").UnixMilli(), Places: 3})
	// A day later nothing is to be seen, and it says nothing: the hood stood at
	// 15 to 16 C. So a lamp goes on it.
	b.by("R", At(Tuesday, "15:00"), v4, checklist.Patch{Panel: "hood", From: At(Monday, "15:00").UnixMilli(), To: At(Tuesday, "15:00").UnixMilli(), Places: 3, Coldest: 15_300, Seen: "nothing"})
	b.by("R", At(Tuesday, "16:30"), v4, checklist.Patch{Panel: "hood", From: At(Monday, "15:00").UnixMilli(), To: At(Tuesday, "16:30").UnixMilli(), Places: 3, Coldest: 15_300, Warm: 55_000, WarmFor: 60 * 60_000, Seen: "bubbles"})
}

// trap is V5 on Wednesday: what the porter meant well.
func (b *book) trap(run byte) {
	v5, bay4 := "job:V5", "place:bay 4"
	lit := At(Tuesday, "20:00").UnixMilli()
	b.by("P", At(Tuesday, "20:00"), bay4, checklist.PlaceEvent{Cause: "flame-heater", From: lit, Note: "so that it is nice for the plumber's van"})
	if run == 'A' {
		b.by("M", At(Wednesday, "08:30"), bay4, checklist.PlaceEvent{Cause: "flame-heater", From: lit, To: At(Wednesday, "08:30").UnixMilli(), Note: "changed for vented heat"})
	} else {
		b.by("P", At(Wednesday, "05:15"), bay4, checklist.PlaceEvent{Cause: "flame-heater", From: lit, To: At(Wednesday, "05:15").UnixMilli()})
		b.by("P", At(Wednesday, "05:15"), bay4, checklist.PlaceEvent{Cause: "door-open", From: At(Wednesday, "05:15").UnixMilli(), Note: "flushing with outside air"})
		b.by("P", At(Wednesday, "06:00"), bay4, checklist.PlaceEvent{Cause: "door-open", From: At(Wednesday, "05:15").UnixMilli(), To: At(Wednesday, "06:00").UnixMilli()})
		b.by("P", At(Wednesday, "06:00"), bay4, checklist.PlaceEvent{Cause: "heater-lit", Note: "vented"})
		// It stood outside for three days, so the old hours need a test.
		b.fitted("J", At(Wednesday, "08:00"), v5, panelsV5)
		b.by("J", At(Wednesday, "09:10"), v5, checklist.Evidence{What: "card-strips", Zone: "upper", Passed: true, Count: 6})
		b.by("J", At(Wednesday, "09:20"), v5, checklist.Evidence{What: "card-strips", Zone: "lower", Passed: true, Count: 6})
	}
	b.by("P", At(Wednesday, "06:00"), "shop:"+Shop, checklist.AirShared{
		Places: []checklist.ID{ID("bay 1"), ID("bay 4")}, From: At(Tuesday, "15:00").UnixMilli(), To: At(Wednesday, "06:00").UnixMilli()})
	b.by("P", At(Wednesday, "06:00"), v5, checklist.JobMove{Place: ID("bay 4"), Wet: "no"})
}

// instruments writes what the loggers saw: a climate sample every ten minutes
// in each bay and in the yard, and taped-on probes on the vehicles.
func (b *book) instruments(run byte) {
	// Weekend nights that the drying of V5 and V1 was counted in.
	for t := At(Saturday, "10:30"); !t.After(At(Sunday, "08:00")); t = t.Add(10 * time.Minute) {
		h := t.Sub(At(Saturday, "10:30")).Hours()
		b.climate(4, t, sample{20, 45 + 33*math.Exp(-h/5.35)})
		b.probes("V5", t, 18.8, 18.0+math.Min(1, h/10))
	}
	for t := At(Sunday, "15:10"); !t.After(At(Monday, "16:00")); t = t.Add(10 * time.Minute) {
		h := t.Sub(At(Sunday, "15:10")).Hours()
		b.climate(2, t, sample{20, 40 + 8*math.Exp(-h/3)})
		b.probes("V1", t, 19.6, 18.5+math.Min(1, h/8))
	}
	for _, m := range simulate(run) {
		t := At(Tuesday, "06:00").Add(time.Duration(math.Round(m.hour*60)) * time.Minute)
		for n := 1; n <= 6; n++ {
			b.climate(n, t, m.air[n])
		}
		b.sample("yard", t, m.air[0])
		for i, v := range []struct {
			name string
			from time.Time
		}{{"V1", Tuesday}, {"V2", Tuesday}, {"V3", At(Tuesday, "07:20")}, {"V4", Tuesday}, {"V5", At(Wednesday, "06:00")}} {
			if !t.Before(v.from) {
				b.probes(v.name, t, m.skin[i+1], m.sill[i+1])
			}
		}
	}
}

// climate writes the block of one sample. The server closes it ten minutes
// later, when the next sample begins another.
func (b *book) climate(bay int, t time.Time, s sample) { b.sample(bayName(bay), t, s) }

func (b *book) sample(place string, t time.Time, s sample) {
	airC, rh := milli(s.t, 10), milli(s.rh, 100)
	dew, ok := air.DewPointMilli(airC, rh)
	if !ok {
		panic("no dew point")
	}
	end := t.Add(10 * time.Minute)
	b.server(end, "place:"+place, checklist.ClimateBlock{
		Instrument: "logger " + place, From: t.UnixMilli(), To: end.UnixMilli(), N: 1,
		Air: checklist.Range{Least: airC, Most: airC, Last: airC},
		RH:  checklist.Range{Least: rh, Most: rh, Last: rh},
		Dew: checklist.Range{Least: dew, Most: dew, Last: dew},
	})
}

// probes writes the surfaces of a vehicle, to the hundredth of a degree.
func (b *book) probes(vehicle string, t time.Time, skin, sill float64) {
	b.server(t, "job:"+vehicle, checklist.Reading{Instrument: "logger", Values: []checklist.SpotValue{
		{Spot: "1", Surface: milli(skin, 10)}, {Spot: "2", Surface: milli(sill, 10)}}})
}

// milli rounds to a multiple of step thousandths, so that the last bits of a
// processor's exp do not show.
func milli(v float64, step int32) int32 {
	return int32(math.Round(v*1000/float64(step))) * step
}
