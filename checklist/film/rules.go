package film

import "errors"

var errUnknown = errors.New("surface, adhesive or laminate is not known; valid are the keys of the tables")

// set is a set of surfaces, families, adhesives or laminates, by bit.
type set uint32

func of[T ~uint8](of ...T) set {
	var s set
	for _, v := range of {
		s |= 1 << v
	}
	return s
}

func (s set) has(v uint8) bool { return s>>v&1 != 0 }

// Rule rates families on surfaces. The first row that fits counts.
type Rule struct {
	On     set // of Surface
	Film   set // of Family
	Rating Rating
	Why    string
}

var (
	anyFilm    = of(Cast, CastPrint, CastStructured, CalenderedLong, CalenderedShort, Reflective, Perforated)
	anyCast    = of(Cast, CastPrint, CastStructured)
	calendered = of(CalenderedLong, CalenderedShort)
	painted    = of(Flat, SimpleCurve, Compound, Corrugated, Rivets, LowEnergy)
)

// Rules is the table of surface and family: common practice, no source.
var Rules = []Rule{
	{of(Coated), anyFilm, Refused, "strip the coating first"},
	{of(MovingSeam), anyFilm, Refused, "a moving seam is always cut"},
	{of(Rust), anyFilm, Refused, "rust and blisters go on under film: repair first"},
	{of(Peeling), anyFilm, Refused, "the film takes the clear coat along"},
	{of(PatchFailed), anyFilm, Refused, "the paint still gasses or comes off"},
	{of(Weeping), anyFilm, Refused, "silicone creeps under the film"},
	{of(Textured), anyFilm, Refused, "no adhesive grips raw textured plastic"},
	{of(NotDry), anyFilm, Refused, "not dry in the time given"},
	{of(Kept), anyFilm, Refused, "exits, sensors, lamps, plates and view stay free"},

	{of(Flat), of(CalenderedLong, Cast, CastPrint, CastStructured), First, ""},
	{of(Flat), of(CalenderedShort), Acceptable, "for promotions only"},
	{of(Flat), of(Reflective), Acceptable, "for marking, cut at every seam, edges sealed"},

	{of(SimpleCurve), anyCast, First, ""},
	{of(SimpleCurve), of(CalenderedLong), First, "radius over 100 mm"},
	{of(SimpleCurve), of(CalenderedShort), Refused, "short-life film springs back from a curve"},
	{of(SimpleCurve), of(Reflective), Acceptable, "for marking, cut at every seam, edges sealed"},

	{of(Compound), anyCast, First, "thin, with air channels"},
	{of(Compound), calendered, Refused, "calendered film pulls out of a two-way curve"},
	{of(Compound), of(Reflective), Refused, "reflective film does not follow deep recesses"},

	{of(Corrugated), anyCast, First, "thin, follow each wave"},
	{of(Corrugated), calendered, Refused, "calendered film lifts off the waves"},
	{of(Corrugated), of(Reflective), Refused, "reflective film lifts off the waves"},

	{of(Rivets), anyCast, First, "strong adhesive, air channels"},
	{of(Rivets), calendered, Refused, "calendered film rises round the heads"},
	{of(Rivets), of(Reflective), Refused, "reflective film cracks round the heads"},

	{of(Glass), of(Perforated), First, "3 to 6 mm clear of the edge, never overlapped"},
	{of(Glass), anyFilm, Refused, "full film on glass: view, and glass cracks in the sun"},

	{of(LowEnergy), anyCast, First, "after a 24 h test strip; promise no life"},
	{of(LowEnergy), anyFilm, Refused, "only cast film holds here, and leaving it bare is better"},

	{painted, of(Perforated), Refused, "for glass only"},
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
	{On: of(Rivets), Glue: of(Removable), Rating: Refused, Why: "removable adhesive rises off rivets"},
	{On: of(Compound, Corrugated), Glue: of(Removable), Rating: Refused, Why: "removable adhesive lifts out of channels"},
	{Fresh: true, Glue: of(Removable), Rating: Refused, Why: "removable adhesive takes fresh paint along"},
	{On: of(LowEnergy), Glue: of(Removable, Permanent), Rating: Refused, Why: "low-energy surface: needs a strong adhesive"},
	{On: of(Rivets), Glue: of(Permanent), Rating: Acceptable, Why: "rivets want a strong adhesive"},
	{Glue: of(Removable), OverStay: 24, Rating: Refused, Why: "removable adhesive stays two years at the most"},
	{Glue: of(Removable), OverStay: 12, Rating: Acceptable, Why: "over a year: comes off with heat only"},
	{On: of(Flat, SimpleCurve), Glue: of(Permanent, Strong), UnderStay: 12, Rating: Acceptable, Why: "a stay under a year wants removable adhesive"},

	// Stay.
	{Film: of(CalenderedShort), OverStay: 24, Rating: Refused, Why: "short-life film stays two years at the most"},

	// Laminate.
	{Film: of(CastPrint), Coat: of(NoLaminate), Rating: Acceptable, Why: "unlaminated print lasts a third as long"},
	{On: of(Compound, Rivets), Film: of(Cast, CastStructured), Coat: of(NoLaminate), Rating: Acceptable, Why: "without laminate: thick colour film only"},
	{Film: calendered, Coat: of(CastLaminate), Rating: Refused, Why: "laminate must be of the film's family"},
	{On: of(Glass), Film: of(Perforated), Coat: of(NoLaminate), Rating: Acceptable, Why: "perforated film wants a laminate"},

	// Shape.
	{On: of(SimpleCurve), Film: calendered, UnderRad: 100, Rating: Refused, Why: "radius under 100 mm: calendered film springs back"},
	{On: of(Compound, Corrugated, Rivets), Film: anyCast, Coat: of(CastLaminate), OverThick: 65, Rating: Refused, Why: "contours take thin film, 2 mil under a laminate"},
	{On: of(Compound, Corrugated, Rivets), Film: anyCast, OverThick: 110, Rating: Refused, Why: "contours take thin film, 4 mil at the most"},
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
