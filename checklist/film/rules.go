package film

import "errors"

var errUnknown = errors.New("surface, adhesive or laminate is not known; valid are the keys of the tables")

// set is a set of surfaces, families, adhesives or laminates, by bit. The tables
// are constants, so that they cost no code when the program starts.
type set uint32

func (s set) has(v uint8) bool { return s>>v&1 != 0 }

// Rule rates families on surfaces. The first row that fits counts.
type Rule struct {
	On     set // of Surface
	Film   set // of Family
	Rating Rating
	Why    string
}

const (
	anyFilm    set = 1<<Cast | 1<<CastPrint | 1<<CastStructured | 1<<CalenderedLong | 1<<CalenderedShort | 1<<Reflective | 1<<Perforated
	anyCast    set = 1<<Cast | 1<<CastPrint | 1<<CastStructured
	calendered set = 1<<CalenderedLong | 1<<CalenderedShort
	painted    set = 1<<Flat | 1<<SimpleCurve | 1<<Compound | 1<<Corrugated | 1<<Rivets | 1<<LowEnergy
)

// Rules is the table of surface and family: common practice, no source.
var Rules = []Rule{
	{1 << Coated, anyFilm, Refused, "strip the coating first"},
	{1 << MovingSeam, anyFilm, Refused, "a moving seam is always cut"},
	{1 << Rust, anyFilm, Refused, "rust and blisters go on under film: repair first"},
	{1 << Peeling, anyFilm, Refused, "the film takes the clear coat along"},
	{1 << PatchFailed, anyFilm, Refused, "the paint still gasses or comes off"},
	{1 << Weeping, anyFilm, Refused, "silicone creeps under the film"},
	{1 << Textured, anyFilm, Refused, "no adhesive grips raw textured plastic"},
	{1 << NotDry, anyFilm, Refused, "not dry in the time given"},
	{1 << Kept, anyFilm, Refused, "exits, sensors, lamps, plates and view stay free"},

	{1 << Flat, 1<<CalenderedLong | 1<<Cast | 1<<CastPrint | 1<<CastStructured, First, ""},
	{1 << Flat, 1 << CalenderedShort, Acceptable, "for promotions only"},
	{1 << Flat, 1 << Reflective, Acceptable, "for marking, cut at every seam, edges sealed"},

	{1 << SimpleCurve, anyCast, First, ""},
	{1 << SimpleCurve, 1 << CalenderedLong, First, "radius over 100 mm"},
	{1 << SimpleCurve, 1 << CalenderedShort, Refused, "short-life film springs back from a curve"},
	{1 << SimpleCurve, 1 << Reflective, Acceptable, "for marking, cut at every seam, edges sealed"},

	{1 << Compound, anyCast, First, "thin, with air channels"},
	{1 << Compound, calendered, Refused, "calendered film pulls out of a two-way curve"},
	{1 << Compound, 1 << Reflective, Refused, "reflective film does not follow deep recesses"},

	{1 << Corrugated, anyCast, First, "thin, follow each wave"},
	{1 << Corrugated, calendered, Refused, "calendered film lifts off the waves"},
	{1 << Corrugated, 1 << Reflective, Refused, "reflective film lifts off the waves"},

	{1 << Rivets, anyCast, First, "strong adhesive, air channels"},
	{1 << Rivets, calendered, Refused, "calendered film rises round the heads"},
	{1 << Rivets, 1 << Reflective, Refused, "reflective film cracks round the heads"},

	{1 << Glass, 1 << Perforated, First, "3 to 6 mm clear of the edge, never overlapped"},
	{1 << Glass, anyFilm, Refused, "full film on glass: view, and glass cracks in the sun"},

	{1 << LowEnergy, anyCast, First, "after a 24 h test strip; promise no life"},
	{1 << LowEnergy, anyFilm, Refused, "only cast film holds here, and leaving it bare is better"},

	{painted, 1 << Perforated, Refused, "for glass only"},
}

// Limit makes a rating worse. Zero fields ask nothing; all the others must hold.
type Limit struct {
	On        set     // of Surface, 0 any
	Film      set     // of Family, 0 any
	Glue      set     // of Adhesive, 0 any
	Coat      set     // of Laminate, 0 any
	Fresh     bool    // applies to fresh paint only
	OverStay  float64 // months: applies over this
	UnderStay float64 // applies under this
	OverThick float64 // micrometres of face film
	UnderRad  float64 // mm, a known radius under this
	Rating    Rating
	Why       string
}

// Limits is the table of what makes a choice worse: common practice, no source.
// 2 mil is 50.8 um and 4 mil 101.6 um; the limits leave what films of that name
// measure.
var Limits = []Limit{
	// Adhesive.
	{On: 1 << Rivets, Glue: 1 << Removable, Rating: Refused, Why: "removable adhesive rises off rivets"},
	{On: 1<<Compound | 1<<Corrugated, Glue: 1 << Removable, Rating: Refused, Why: "removable adhesive lifts out of channels"},
	{Fresh: true, Glue: 1 << Removable, Rating: Refused, Why: "removable adhesive takes fresh paint along"},
	{On: 1 << LowEnergy, Glue: 1<<Removable | 1<<Permanent, Rating: Refused, Why: "low-energy surface: needs a strong adhesive"},
	{On: 1 << Rivets, Glue: 1 << Permanent, Rating: Acceptable, Why: "rivets want a strong adhesive"},
	{Glue: 1 << Removable, OverStay: 24, Rating: Refused, Why: "removable adhesive stays two years at the most"},
	{Glue: 1 << Removable, OverStay: 12, Rating: Acceptable, Why: "over a year: comes off with heat only"},
	{On: 1<<Flat | 1<<SimpleCurve, Glue: 1<<Permanent | 1<<Strong, UnderStay: 12, Rating: Acceptable, Why: "a stay under a year wants removable adhesive"},

	// Stay.
	{Film: 1 << CalenderedShort, OverStay: 24, Rating: Refused, Why: "short-life film stays two years at the most"},

	// Laminate.
	{Film: 1 << CastPrint, Coat: 1 << NoLaminate, Rating: Acceptable, Why: "unlaminated print lasts a third as long"},
	{On: 1<<Compound | 1<<Rivets, Film: 1<<Cast | 1<<CastStructured, Coat: 1 << NoLaminate, Rating: Acceptable, Why: "without laminate: thick colour film only"},
	{Film: calendered, Coat: 1 << CastLaminate, Rating: Refused, Why: "laminate must be of the film's family"},
	{On: 1 << Glass, Film: 1 << Perforated, Coat: 1 << NoLaminate, Rating: Acceptable, Why: "perforated film wants a laminate"},

	// Shape.
	{On: 1 << SimpleCurve, Film: calendered, UnderRad: 100, Rating: Refused, Why: "radius under 100 mm: calendered film springs back"},
	{On: 1<<Compound | 1<<Corrugated | 1<<Rivets, Film: anyCast, Coat: 1 << CastLaminate, OverThick: 65, Rating: Refused, Why: "contours take thin film, 2 mil under a laminate"},
	{On: 1<<Compound | 1<<Corrugated | 1<<Rivets, Film: anyCast, OverThick: 110, Rating: Refused, Why: "contours take thin film, 4 mil at the most"},
	{OverThick: 110, Rating: Acceptable, Why: "over 4 mil: lifts at lips, bends worse"},
}

func (l *Limit) applies(f Family, j Job) bool {
	switch {
	case l.On != 0 && !l.On.has(uint8(j.Surface)),
		l.Film != 0 && !l.Film.has(uint8(f)),
		l.Glue != 0 && !l.Glue.has(uint8(j.Adhesive)),
		l.Coat != 0 && !l.Coat.has(uint8(j.Laminate)),
		l.Fresh && !j.FreshPaint,
		l.OverStay != 0 && j.StayMonths <= l.OverStay,
		l.UnderStay != 0 && j.StayMonths >= l.UnderStay,
		l.OverThick != 0 && j.ThicknessUM <= l.OverThick,
		l.UnderRad != 0 && (j.RadiusMM == 0 || j.RadiusMM >= l.UnderRad):
		return false
	}
	return true
}
