package stretch

import (
	"math"

	"bayhold/checklist/say"
)

// Family is what one family of film stands: strain as a fraction of its length
// before.
type Family struct {
	Key, Name string
	Free      float64 // worked freely up to here
	Heat      float64 // with post-heat and a look next day up to here
	Stop      float64 // relief cut or inlay advised up to here, needed beyond
	Compound  bool    // may follow a two-way curve at all
	Sets      bool    // post-heat sets it; if not, past Heat there is no cure but another film
	Shift     float64 // colour or print shows a shift from here; obvious from ShiftObvious
}

// ShiftObvious is the strain from which a shift of colour or print is obvious.
const ShiftObvious = 0.25

// Families is the table of the film families: common practice, no source; the
// maker's sheet wins. "Print" is printed and laminated.
var Families = []Family{
	{"cast", "cast plain colour", 0.10, 0.25, 0.30, true, true, 0.15},
	{"cast-print", "cast print and cast laminate", 0.08, 0.15, 0.20, true, true, 0.15},
	{"cast-structured", "cast metallic or structured", 0.08, 0.15, 0.20, true, true, 0.15},
	{"calendered-long", "calendered long-life", 0.03, 0.05, 0.05, false, false, 0.15},
	{"calendered-short", "calendered short-life", 0, 0, 0, false, false, 0.15},
	{"reflective", "reflective cast", 0.03, 0.08, 0.10, false, true, 0.15},
	{"perforated", "perforated glass film", 0.01, 0.01, 0.01, false, false, 0.15},
}

// FamilyOf returns the row of [Families] with that key.
func FamilyOf(key string) (Family, bool) {
	for _, f := range Families {
		if f.Key == key {
			return f, true
		}
	}
	return Family{}, false
}

// Verdict is what to do with a feature.
type Verdict uint8

// The verdicts, from easy to no.
const (
	Lay        Verdict = iota // lay it
	LayLook                   // lay it, look next day: the film does not set with heat
	FloorFirst                // floor first, shape with heat, post-heat, look next day
	Limit                     // as FloorFirst, but an inlay or a relief cut is advised
	Inlay                     // a strip in the floor first, the film trimmed over it
	ReliefCut                 // cut where trim hides it, so that the edges slide
	Refuse                    // not with this film
)

// VerdictNames are the words of the verdicts.
var VerdictNames = [...]string{
	"lay", "lay, look next day", "floor first, post-heat, look next day",
	"limit: inlay or relief cut advised", "inlay", "relief cut", "refuse",
}

// Primer is where primer helps.
type Primer uint8

// The places of primer. It never cures over-stretch.
const (
	NoPrimer Primer = iota
	AtEnds          // the last 10 to 20 mm of the channel's ends
	AtLips          // lips that pull back
	AtBoth          // ends and lips
)

// PrimerNames are the words for the places of primer.
var PrimerNames = [...]string{"none", "last 10 to 20 mm of the ends", "lips that pull back", "ends and lips"}

// Plan is what the shop wants of the feature.
type Plan struct {
	Hidden    bool // trim or a lamp hides the place: a relief cut does not show
	ShortStay bool // the film must come off within a year: no primer
}

// Advice is the verdict with all that it rests on.
type Advice struct {
	Strain   Strain
	Family   Family
	Plan     Plan
	Verdict  Verdict
	Ends     Verdict // for the ends of a channel, by the first guess
	PostHeat bool
	Look     bool // look next day
	Primer   Primer
	Shift    bool   // a shift of colour shows
	Near     bool   // the measures' error crosses a limit: measure again
	Why      string // the reason, in a few words
	Sentence string // the strain first, the way out second
}

// Judge returns what to do with a feature of that strain in that family, by
// the one-line strain. It compares before anything is rounded.
func Judge(s Strain, f Family, p Plan) Advice {
	a := Weigh(s, f, p)
	a.Sentence = a.sentence()
	return a
}

// Weigh is Judge without the sentence: a gate asks so.
func Weigh(s Strain, f Family, p Plan) Advice {
	a := Advice{Strain: s, Family: f, Plan: p}
	a.Verdict, a.Why = verdict(s.Line, s.Dome, f, p)
	a.Ends, _ = verdict(s.End, s.Dome, f, p)
	low, _ := verdict(s.Low, s.Dome, f, p)
	high, _ := verdict(s.High, s.Dome, f, p)
	a.Near = low != high
	a.PostHeat = a.Verdict < Refuse && s.Line > 0 && f.Sets
	a.Look = a.Verdict > Lay && a.Verdict < Refuse
	a.Shift = s.Line >= f.Shift && a.Verdict < Refuse
	if f.Sets && !p.ShortStay && (a.Verdict == FloorFirst || a.Verdict == Limit) {
		a.Primer = AtLips
		if !s.Dome {
			a.Primer = AtBoth
		}
	} else if f.Sets && !p.ShortStay && a.Verdict == Lay && a.Ends >= FloorFirst {
		a.Primer = AtEnds
	}
	return a
}

// verdict compares the strain to a millionth: 110 mm over 100 mm is 10 %, on
// every processor, and not 10.000000000000009 %. It does not allocate.
func verdict(line float64, dome bool, f Family, p Plan) (Verdict, string) {
	line = math.Round(line*1e6) / 1e6
	switch {
	case dome && !f.Compound && line > 0:
		return Refuse, "this film does not follow a two-way curve"
	case line <= f.Free:
		return Lay, "within what the film takes freely"
	case line <= f.Heat && !f.Sets:
		return LayLook, "heat does not set this film: look next day"
	case line <= f.Heat:
		return FloorFirst, "more than it takes freely: only post-heat sets it"
	case !f.Sets:
		return Refuse, "more than this film takes, and heat is no cure"
	case line <= f.Stop:
		return Limit, "between what post-heat sets and where it fails"
	case p.Hidden:
		return ReliefCut, "more than the film takes; trim hides a cut"
	}
	return Inlay, "more than the film takes; a cut would show"
}

// ways are the ways out, by Verdict.
var ways = [...]string{
	"lay, then post-heat.", "lay, look next day.", "floor first, post-heat, look next day.",
	"relief cut or inlay advised.", "inlay, then film over it.", "relief cut under the trim.", "refuse, another film.",
}

func (a Advice) sentence() string {
	if a.Strain.Line == 0 {
		return "No stretch: lay."
	}
	way := ways[a.Verdict]
	if a.Verdict == Lay && !a.PostHeat {
		way = "lay."
	}
	return Percent(a.Strain.Line) + " stretch if bridged: " + way
}

// Percent writes a strain as a whole percentage, one decimal under 10 %.
func Percent(strain float64) string {
	decimals := 0
	if strain < 0.0995 {
		decimals = 1
	}
	return say.Number(strain*100, decimals) + " %"
}
