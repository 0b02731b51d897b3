// Package removal is how old film comes off: how warm, at what angle and how
// fast, and how long it takes by what the trial strips took.
//
// # The angle
//
// Angle means that between the pulled tail and the panel already bared: tail
// straight up is 90, tail folded flat back over the film still stuck is 180.
// Installers mean opposite things by 'low angle', so the screen says [AngleIs]
// and [AngleEnds] wherever it asks for one.
//
// # Data
//
// [Methods] is the table of methods, by film, age and paint: common practice,
// no source. The right angle is argued over in the trade; what worked at a
// trial strip on this vehicle outweighs the table. Removable adhesive inside
// its time comes off without heat at 70 F (21.1 C). Brittle film is never
// snapped off cold.
//
// # Safety
//
// Paint stays under 80 C, plastic and lamps under 60, glass is warmed evenly
// (common practice, no source). Eye protection with wheel and scraper; old
// paint dust may carry lead or chromate. The product's sheet, local codes and
// licensed practice win. Nothing here says that paint will hold.
//
// # Who calls it
//
// The removal route's facts call [MethodOf] and [Hours].
package removal

// The two sentences that define the angle.
const (
	AngleIs   = "Angle between the pulled tail and the bared panel."
	AngleEnds = "90 is straight up, 180 folded flat back."
)

// Method is one row: what to warm the surface to, how to pull, what to expect.
type Method struct {
	Key, Film           string
	LowMilliC           int32 // surface, thousandths of a degree Celsius
	HighMilliC          int32
	AngleLow, AngleHigh int64 // degrees; 0: small strips, no angle stated
	SpeedLow, SpeedHigh int64 // mm a minute
	NoHeat              bool  // comes off without heat
	Expect              string
}

// Methods is the table. Common practice, no source.
var Methods = [...]Method{
	{"cast", "Cast, up to 5 years", 45_000, 60_000, 130, 160, 1000, 2000, false, "Comes in sheets, little adhesive."},
	{"cast-old", "Cast, sunburnt or older", 60_000, 70_000, 130, 160, 300, 600, false, "Snaps, adhesive stays. Short strips of 100 to 150 mm."},
	{"calendered", "Calendered, old", 55_000, 70_000, 90, 150, 300, 1000, false, "Adhesive stays, 30 to 100 %."},
	{"removable", "Removable, in its time", 20_000, 40_000, 150, 150, 2000, 3000, true, "Comes off clean."},
	{"reflective", "Reflective", 60_000, 75_000, 0, 0, 200, 500, false, "Small strips, hours, chips."},
	{"repaint", "Over repaint", 35_000, 45_000, 160, 170, 200, 300, false, "Paint risk: stop at the first flake."},
}

// MethodOf returns the row for a film kind ("cast", "calendered", "removable",
// "reflective") of an age in whole years, taken at its upper end; sunburnt is a
// roof or another face in the sun. Over repaint that row holds whatever the
// film. ok is false where nobody knows the kind or the age: the trial strips
// tell.
func MethodOf(kind string, years int, sunburnt, repaint bool) (m *Method, ok bool) {
	key := kind
	switch {
	case repaint:
		key = "repaint"
	case kind == "reflective":
	case years <= 0:
		return nil, false
	case kind == "removable" && years > 1:
		// Past its time it holds like any other.
		key = "cast"
		if years > 5 || sunburnt {
			key = "cast-old"
		}
	case kind == "cast" && (years > 5 || sunburnt):
		key = "cast-old"
	}
	for i := range Methods {
		if Methods[i].Key == key {
			return &Methods[i], true
		}
	}
	return nil, false
}

// Strip is what a trial strip took: ms, and its area in square millimetres.
type Strip struct{ TookMs, AreaMM2 int64 }

// M2 is a square metre in square millimetres.
const M2 = 1_000_000

// PerM2 returns the hand time of a square metre at that strip's pace.
func (s Strip) PerM2() int64 {
	if s.AreaMM2 <= 0 {
		return 0
	}
	return s.TookMs * M2 / s.AreaMM2
}

// Hours returns the hand time of an area at the pace of the quickest and of the
// slowest strip, both 0 without a strip. It does not allocate.
func Hours(areaMM2 int64, strips []Strip) (low, high int64) {
	for i, s := range strips {
		n := areaMM2 / 1000 * s.PerM2() / (M2 / 1000)
		if i == 0 || n < low {
			low = n
		}
		high = max(high, n)
	}
	return low, high
}
