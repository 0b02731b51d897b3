package checklist

// RuleRow is one number that the shop may change: its key in a rule set, its
// default, its unit, what it is and where the default comes from.
//
// Units: "mC" thousandths of a degree Celsius, "mK" of a kelvin, "m%" of a
// percent, "ms" milliseconds, "um" micrometres, "n" a count.
type RuleRow struct {
	Key     string
	Default int64
	Unit    string
	What    string
	Source  string
	field   func(*limits) *int64
}

// limits is a rule set unpacked, one field per row of RuleTable.
type limits struct {
	surfaceFloor, surfaceFloorFlat, surfaceCeiling int64
	airFloor, airCeiling, airApart, margin         int64
	dryFloor, dryRH                                int64
	dryHours, dryHoursRaw, dryHoursBus             int64
	sweatHours, waterHours, strips                 int64
	sillHours, dripHours                           int64
	silence, outside                               int64
	vouch, vouchShort, settle                      int64
	wipeShelf, wipeShelfHot, wipeHot               int64
	doorOpen                                       int64
	primerBase, primerAt, primerFloor, primerOpen  int64
	layLong                                        int64
	errContact, errInfrared, errLogger, errUnknown int64
	degas, laminateRest, filmInBay                 int64
	settleFilm, restHours, restFloor, restAdvised  int64
	recheckAfter, risenShare, callBack             int64
	trialStrips, pullFloor, pullNoHeat             int64
	paintBaked, paintAir, paintUnknown             int64
	paintFactory, paintThick, paintCold            int64
	patchStand, patchFloor, patchPlaces            int64
	patchWarm, patchWarmMost, patchWarmFor         int64
	patchAgain, keepDays                           int64
	recheckLate, heatFilm, heatPlastic, heatPaint  int64
	heatPaintMost, heatCalendered, heatReflective  int64
	heatDamage                                     int64
	checkAfter                                     int64
}

const (
	minute = int64(60_000)
	hour   = 60 * minute
	day    = 24 * hour
)

// Where a default comes from.
const (
	practice = "common practice, no source"
	memory   = "trade memory"
)

// RuleTable is every number that a gate uses. 60 F is 15.5556 C and 90 F is
// 32.2222 C; they stand here rounded once to the thousandth in which readings
// are kept, and nothing is rounded again before it is compared.
var RuleTable = []RuleRow{
	{"surface_floor", 15_556, "mC", "coldest surface to lay on contours (60 F)", practice, func(l *limits) *int64 { return &l.surfaceFloor }},
	{"surface_floor_flat", 15_556, "mC", "coldest surface to lay where there are only flats; lower if the film's sheet says so", practice, func(l *limits) *int64 { return &l.surfaceFloorFlat }},
	{"surface_ceiling", 32_000, "mC", "warmest surface to lay: over it film grabs and over-stretches", memory, func(l *limits) *int64 { return &l.surfaceCeiling }},
	{"air_floor", 15_556, "mC", "coldest air to lay in (60 F)", practice, func(l *limits) *int64 { return &l.airFloor }},
	{"air_ceiling", 32_222, "mC", "warmest air to lay in (90 F)", practice, func(l *limits) *int64 { return &l.airCeiling }},
	{"air_apart", 5_000, "mK", "air and surface at most this far apart", memory, func(l *limits) *int64 { return &l.airApart }},
	{"margin", 3_000, "mK", "coldest surface above the dew point, to lay and to count", "ISO 8502-4 asks 3 K before paint on steel; by analogy here", func(l *limits) *int64 { return &l.margin }},
	{"dry_floor", 10_000, "mC", "coldest surface at which drying hours count", memory, func(l *limits) *int64 { return &l.dryFloor }},
	{"dry_rh", 70_000, "m%", "dampest air in which drying hours count", memory, func(l *limits) *int64 { return &l.dryRH }},
	{"dry_hours", 12 * hour, "ms", "counted hours to dry, blown out (overnight indoors)", practice, func(l *limits) *int64 { return &l.dryHours }},
	{"dry_hours_raw", 24 * hour, "ms", "counted hours to dry, not blown out", memory, func(l *limits) *int64 { return &l.dryHoursRaw }},
	{"dry_hours_bus", 24 * hour, "ms", "counted hours to dry rivets and laps, before the sweat test", memory, func(l *limits) *int64 { return &l.dryHoursBus }},
	{"sweat_hours", 12 * hour, "ms", "counted hours after the vehicle sweated", practice, func(l *limits) *int64 { return &l.sweatHours }},
	{"water_hours", 4 * hour, "ms", "counted hours after the last visible water, with card strips dry and a sill reading", practice, func(l *limits) *int64 { return &l.waterHours }},
	{"card_strips", 6, "n", "card strips drawn dry that count as a test", memory, func(l *limits) *int64 { return &l.strips }},
	{"sill_hours", 4 * hour, "ms", "counted hours more for sills after water was tracked in", memory, func(l *limits) *int64 { return &l.sillHours }},
	{"drip_hours", 4 * hour, "ms", "counted hours more below a drip", memory, func(l *limits) *int64 { return &l.dripHours }},
	{"silence", 20 * minute, "ms", "after this long without a sample the air is not known", memory, func(l *limits) *int64 { return &l.silence }},
	{"outside", 24 * hour, "ms", "after this long outside old dry hours need card strips", practice, func(l *limits) *int64 { return &l.outside }},
	{"vouch", 60 * minute, "ms", "a reading by hand vouches for this long", practice, func(l *limits) *int64 { return &l.vouch }},
	{"vouch_short", 15 * minute, "ms", "and for this long after a door, a heater or a wash in the same air", practice, func(l *limits) *int64 { return &l.vouchShort }},
	{"settle", 30 * minute, "ms", "a reading this soon after a door, a heater or a wash vouches for the short time", memory, func(l *limits) *int64 { return &l.settle }},
	{"wipe_shelf", 30 * minute, "ms", "a final wipe is good for this long", practice, func(l *limits) *int64 { return &l.wipeShelf }},
	{"wipe_shelf_hot", 15 * minute, "ms", "and for this long in hot air or dust", practice, func(l *limits) *int64 { return &l.wipeShelfHot }},
	{"wipe_hot", 28_000, "mC", "air over this is hot for a wipe", practice, func(l *limits) *int64 { return &l.wipeHot }},
	{"door_open", 5 * minute, "ms", "a bay door open longer than this spoils open panels", memory, func(l *limits) *int64 { return &l.doorOpen }},
	{"primer_base", 6 * minute, "ms", "primer to tack-dry at the tin's temperature; the tin wins", memory, func(l *limits) *int64 { return &l.primerBase }},
	{"primer_at", 21_000, "mC", "temperature that the tack-dry time is said for", memory, func(l *limits) *int64 { return &l.primerAt }},
	{"primer_floor", 10_000, "mC", "no primer on a colder surface", memory, func(l *limits) *int64 { return &l.primerFloor }},
	{"primer_open", 60 * minute, "ms", "primer's open time; the tin wins", memory, func(l *limits) *int64 { return &l.primerOpen }},
	{"error_contact", 500, "mK", "error of a contact probe, taken off a surface once", memory, func(l *limits) *int64 { return &l.errContact }},
	{"error_infrared", 1_000, "mK", "error of an infrared thermometer on paint or tape, taken off once", memory, func(l *limits) *int64 { return &l.errInfrared }},
	{"error_logger", 500, "mK", "error of a taped-on logger probe, taken off once", memory, func(l *limits) *int64 { return &l.errLogger }},
	{"degas", 24 * hour, "ms", "print to laminate, so that the solvent is out", memory, func(l *limits) *int64 { return &l.degas }},
	{"laminate_rest", 12 * hour, "ms", "laminate to its way into the bay", memory, func(l *limits) *int64 { return &l.laminateRest }},
	{"film_in_bay", 12 * hour, "ms", "film in the bay before it is used, from a cold store", memory, func(l *limits) *int64 { return &l.filmInBay }},
	{"lay_long", 6 * hour, "ms", "laying begun this long ago and not ended is told as half laid", practice, func(l *limits) *int64 { return &l.layLong }},
	{"settle_film", 30 * minute, "ms", "film in recesses left alone before it is looked at for spring-back", memory, func(l *limits) *int64 { return &l.settleFilm }},
	{"rest_hours", 12 * hour, "ms", "counted hours of rest before hand-over; 24 are preferred", practice, func(l *limits) *int64 { return &l.restHours }},
	{"rest_floor", 15_000, "mC", "coldest surface at which rest counts", practice, func(l *limits) *int64 { return &l.restFloor }},
	{"rest_advised", 18_000, "mC", "surface advised for rest", practice, func(l *limits) *int64 { return &l.restAdvised }},
	{"recheck_after", 24 * hour, "ms", "laying to the second look at recesses, corners and rivets", memory, func(l *limits) *int64 { return &l.recheckAfter }},
	{"risen_share", 5_000, "m%", "risen recesses or rivets accepted at the second look", memory, func(l *limits) *int64 { return &l.risenShare }},
	{"call_back", 7 * 24 * hour, "ms", "hand-over to the call back", memory, func(l *limits) *int64 { return &l.callBack }},
	{"recheck_late", 48 * hour, "ms", "laying to the second look: after this it is late", memory, func(l *limits) *int64 { return &l.recheckLate }},
	{"heat_film", 90_000, "mC", "coldest reading of cast film at post-heat", memory, func(l *limits) *int64 { return &l.heatFilm }},
	{"heat_plastic", 75_000, "mC", "coldest reading over plastic and near lamps; heat twice", memory, func(l *limits) *int64 { return &l.heatPlastic }},
	{"heat_paint", 60_000, "mC", "coldest reading over fresh paint; heat twice", memory, func(l *limits) *int64 { return &l.heatPaint }},
	{"heat_paint_most", 80_000, "mC", "over fresh paint film takes harm from here", memory, func(l *limits) *int64 { return &l.heatPaintMost }},
	{"heat_calendered", 60_000, "mC", "coldest reading of calendered film at post-heat", memory, func(l *limits) *int64 { return &l.heatCalendered }},
	{"heat_reflective", 50_000, "mC", "coldest reading of reflective film at post-heat", memory, func(l *limits) *int64 { return &l.heatReflective }},
	{"heat_damage", 120_000, "mC", "film takes harm from here: gloss, shrinking back, scorch", memory, func(l *limits) *int64 { return &l.heatDamage }},
	{"error_unknown", 1_000, "mK", "error of an instrument that nobody named", memory, func(l *limits) *int64 { return &l.errUnknown }},
	{"trial_strips", 3, "n", "trial strips before old film comes off: a sunny edge, a side, every repaired panel", memory, func(l *limits) *int64 { return &l.trialStrips }},
	{"pull_floor", 18_000, "mC", "coldest surface to begin heating and pulling old film", memory, func(l *limits) *int64 { return &l.pullFloor }},
	{"pull_no_heat", 21_111, "mC", "coldest surface to pull removable film without heat (70 F)", practice, func(l *limits) *int64 { return &l.pullNoHeat }},
	{"paint_baked", 7 * day, "ms", "wait of body-shop baked paint, at 20 C; the paint maker's sheet wins", memory, func(l *limits) *int64 { return &l.paintBaked }},
	{"paint_air", 21 * day, "ms", "wait of air-dried paint, at 20 C; 30 days are preferred", memory, func(l *limits) *int64 { return &l.paintAir }},
	{"paint_unknown", 30 * day, "ms", "wait of paint over filler, too thick, or of a history that nobody knows", memory, func(l *limits) *int64 { return &l.paintUnknown }},
	{"paint_factory", 150, "um", "thickest that factory paint can be; more is a repaint", memory, func(l *limits) *int64 { return &l.paintFactory }},
	{"paint_thick", 300, "um", "paint thicker than this waits longest", memory, func(l *limits) *int64 { return &l.paintThick }},
	{"paint_cold", 5_000, "mC", "what paint is taken to have stood at where nobody knows", memory, func(l *limits) *int64 { return &l.paintCold }},
	{"patch_stand", 24 * hour, "ms", "gas patch left on the paint", memory, func(l *limits) *int64 { return &l.patchStand }},
	{"patch_floor", 20_000, "mC", "coldest surface under a gas patch: colder it passes falsely", memory, func(l *limits) *int64 { return &l.patchFloor }},
	{"patch_places", 3, "n", "places of the gas patch, the thickest paint among them", memory, func(l *limits) *int64 { return &l.patchPlaces }},
	{"patch_warm", 50_000, "mC", "warm cycle of the gas patch, at least", memory, func(l *limits) *int64 { return &l.patchWarm }},
	{"patch_warm_most", 60_000, "mC", "warm cycle of the gas patch, at most", memory, func(l *limits) *int64 { return &l.patchWarmMost }},
	{"patch_warm_for", hour, "ms", "how long the warm cycle lasts", memory, func(l *limits) *int64 { return &l.patchWarmFor }},
	{"patch_again", 7 * day, "ms", "gas seen to the next patch", memory, func(l *limits) *int64 { return &l.patchAgain }},
	{"keep_days", 0, "n", "days that names, plates and photos stay after the guarantee; 0 for good. The law of the place comes first", practice, func(l *limits) *int64 { return &l.keepDays }},
	{"check_after", 31 * day, "ms", "an instrument is checked this often; hygrometers over wet salt", practice, func(l *limits) *int64 { return &l.checkAfter }},
}

// DefaultRules returns the complete rule set of this version, for
// RulesSet.Values of a shop's first start.
func DefaultRules() map[string]int64 {
	m := make(map[string]int64, len(RuleTable))
	for _, r := range RuleTable {
		m[r.Key] = r.Default
	}
	return m
}

// RulesFault says which number of a set cannot be, or "".
func RulesFault(values map[string]int64) string {
	for i := range RuleTable {
		r := &RuleTable[i]
		n, ok := values[r.Key]
		switch {
		case !ok: // its default holds
		case r.Unit != "mC" && n < 0:
			return r.Key + " cannot be below zero."
		case r.Unit == "mC" && (n < -40_000 || n > 120_000), r.Unit == "m%" && n > 100_000:
			return r.Key + " cannot be that. Check the unit."
		}
	}
	return ""
}

// unpack reads a rule set. A key that an older set lacks has its default.
func unpack(values map[string]int64) *limits {
	l := new(limits)
	for i := range RuleTable {
		r := &RuleTable[i]
		v, ok := values[r.Key]
		if !ok {
			v = r.Default
		}
		*r.field(l) = v
	}
	return l
}

// rule returns one number of the set by its key, 0 for an unknown key.
func (l *limits) rule(key string) int64 {
	if r := ruleRow(key); r != nil {
		return *r.field(l)
	}
	return 0
}

func ruleRow(key string) *RuleRow {
	for i := range RuleTable {
		if RuleTable[i].Key == key {
			return &RuleTable[i]
		}
	}
	return nil
}

// errorOf returns the error of an instrument, in mK.
func (l *limits) errorOf(instrument string) int64 {
	switch instrument {
	case "contact":
		return l.errContact
	case "infrared":
		return l.errInfrared
	case "logger":
		return l.errLogger
	}
	return l.errUnknown
}
