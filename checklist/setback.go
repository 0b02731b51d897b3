package checklist

// DryEffect is what a setback does to counted hours.
type DryEffect uint8

// What a setback does to the hours that count.
const (
	DryKeeps  DryEffect = iota // nothing by itself; readings may show more
	DryPauses                  // hours stand still while it lasts
	DryMore                    // what was counted stays, but hours must follow: More
	DryResets                  // the affected zones start from zero
)

// Where says how far a setback reaches.
type Where uint8

// A setback reaches a spot or a panel that is named, the whole vehicle, or
// everything that stands in a place.
const (
	WhereSpot Where = iota
	WherePanel
	WhereVehicle
	WherePlace
)

func (w Where) String() string {
	return [...]string{"spot", "panel", "vehicle", "place"}[w]
}

// SetbackRow is one event that undoes finished work.
type SetbackRow struct {
	Cause    string    // in lines and gates
	Name     string    // on its button
	Said     string    // in a sentence: what happened, two or three words
	Kills    []string  // stages whose claims it spoils
	Dry      DryEffect // what it does to counted hours
	More     string    // rule: counted hours that must follow it
	Zone     string    // the zone it reaches if the line names none
	Where    Where
	Spreads  bool   // through shared air
	Lasts    bool   // goes on until somebody ends it; the others happen at once
	Least    string // rule: shorter than this it spoils nothing
	Disturbs bool   // readings around it vouch for the short time only
	Redo     string // what must be done again
	Seen     string // who can see it happen
}

// Setbacks says what undoes what: one row per event. Every number behind it is
// common practice from memory, without a source, and stands in RuleTable.
var Setbacks = []SetbackRow{
	{Cause: "rain", Name: "Driven in rain", Said: "driven in rain",
		Kills: []string{"wash", "wipe", "primer", "rest"}, Dry: DryResets, Where: WhereVehicle,
		Redo: "Wash again, then dry from zero.", Seen: "porter"},
	{Cause: "wet-again", Name: "Got wet again", Said: "wet again",
		Kills: []string{"wipe", "primer", "rest"}, Dry: DryResets, Where: WherePanel,
		Redo: "Blow out, then dry from zero.", Seen: "anyone"},
	{Cause: "cold-outside", Name: "Stood out in the cold", Said: "stood in the cold",
		Kills: []string{"wipe"}, Where: WhereVehicle,
		Redo: "Warm it up, read the coldest spot, wipe again.", Seen: "porter"},
	{Cause: "sweat", Name: "Sweating", Said: "it sweated",
		Kills: []string{"wipe", "primer"}, Dry: DryResets, Where: WherePanel,
		Redo: "Dry from zero once 3 K above the dew point.", Seen: "logger and the coldest spot"},
	{Cause: "door-open", Name: "Bay door open", Said: "bay door open",
		Kills: []string{"wipe"}, Where: WherePlace, Spreads: true, Lasts: true, Least: "door_open", Disturbs: true,
		Redo: "Wipe again, read the surface after 30 min.", Seen: "door switch, anyone"},
	{Cause: "wash-near", Name: "Wash in this air", Said: "wash in this air",
		Where: WherePlace, Spreads: true, Lasts: true, Disturbs: true,
		Redo: "Read again within 15 min.", Seen: "lead"},
	{Cause: "water-tracked-in", Name: "Water or snow tracked in", Said: "water tracked in",
		Kills: []string{"wipe", "primer"}, Dry: DryMore, More: "sill_hours", Zone: "lower", Where: WhereVehicle,
		Redo: "Squeegee the floor, dry the sills, wipe them again.", Seen: "anyone"},
	{Cause: "heater-off", Name: "Heater off", Said: "heater off",
		Dry: DryPauses, Where: WherePlace, Lasts: true, Disturbs: true,
		Redo: "Light it again; hours go on, they do not restart.", Seen: "logger"},
	{Cause: "heater-lit", Name: "Heater lit", Said: "heater lit",
		Where: WherePlace, Spreads: true, Disturbs: true,
		Redo: "Read again within 15 min.", Seen: "porter"},
	{Cause: "flame-heater", Name: "Flame heater without flue", Said: "flame heater",
		Where: WherePlace, Spreads: true, Lasts: true, Disturbs: true,
		Redo: "It makes water: vent it or change to electric. Read again.", Seen: "lead, porter"},
	{Cause: "lunch", Name: "Break", Said: "break",
		Kills: []string{"wipe"}, Where: WhereVehicle,
		Redo: "Wipe again.", Seen: "clock"},
	{Cause: "touched", Name: "I touched it", Said: "touched",
		Kills: []string{"wipe", "primer"}, Where: WhereSpot,
		Redo: "Wipe that spot again.", Seen: "only who did it"},
	{Cause: "silicone", Name: "Silicone or aerosol in the air", Said: "silicone in the air",
		Kills: []string{"wipe", "primer"}, Where: WherePlace, Spreads: true, Disturbs: false,
		Redo: "Wipe twice, then repeat the tape test.", Seen: "anyone who smells it"},
	{Cause: "dust", Name: "Sanding, polishing, sweeping", Said: "dust in the air",
		Kills: []string{"wipe", "primer"}, Where: WherePlace, Spreads: true, Lasts: true,
		Redo: "Wait 20 to 30 min, wipe again.", Seen: "anyone"},
	{Cause: "oily-air", Name: "Oily compressed air", Said: "oily compressed air",
		Kills: []string{"wipe"}, Dry: DryResets, Where: WherePanel,
		Redo: "Degrease the seam, its hours start over.", Seen: "prep hand"},
	{Cause: "wrong-rag", Name: "Wrong rag or bottle", Said: "wrong rag or bottle",
		Kills: []string{"wipe"}, Where: WherePanel,
		Redo: "Wipe with a fresh cloth and known solvent.", Seen: "installer"},
	{Cause: "drip", Name: "Drips from a seal or handle", Said: "drips",
		Kills: []string{"wipe", "primer"}, Dry: DryMore, More: "drip_hours", Where: WherePanel,
		Redo: "Chase it with cloth and air, 1 to 4 h more.", Seen: "installer"},
	{Cause: "engine-run", Name: "Engine or air-con run in the bay", Said: "engine run",
		Kills: []string{"wipe"}, Zone: "lower", Where: WhereVehicle, Disturbs: true,
		Redo: "Read again, wipe low panels again.", Seen: "porter"},
	{Cause: "primer-spoiled", Name: "Primer dusted or touched", Said: "primer touched",
		Kills: []string{"primer"}, Where: WherePanel,
		Redo: "Clean it off, let it dry, prime again.", Seen: "installer"},
	{Cause: "film-cold", Name: "Film came from the cold", Said: "film came cold",
		Kills: []string{"film-in"}, Where: WherePanel,
		Redo: "12 to 24 h in the bay before use.", Seen: "print hand"},
	{Cause: "film-wet", Name: "Laminated before it gassed out", Said: "laminated wet",
		Kills: []string{"print", "laminate", "film-in", "dry-fit"}, Where: WherePanel,
		Redo: "Print it again: it cannot be saved on the vehicle.", Seen: "print hand"},
	{Cause: "panel-spoiled", Name: "Panel spoiled, print it again", Said: "panel spoiled",
		Kills: []string{"print", "laminate", "film-in", "dry-fit", "wipe", "primer", "lay", "settle", "trim", "post-heat", "edge-check"}, Where: WherePanel,
		Redo: "Print that panel again; the others go on.", Seen: "installer"},
	{Cause: "film-lifted", Name: "Film lifted after heating", Said: "film lifted",
		Kills: []string{"post-heat"}, Where: WherePanel,
		Redo: "Heat there again.", Seen: "installer"},
	{Cause: "moved-at-rest", Name: "Moved out while resting", Said: "moved out",
		Kills: []string{"rest"}, Dry: DryPauses, Where: WhereVehicle,
		Redo: "Rest pauses under 15 C; after rain or frost it restarts.", Seen: "porter"},
	{Cause: "trim-refitted", Name: "Trim refitted after the edge check", Said: "trim refitted",
		Kills: []string{"edge-check"}, Where: WherePanel,
		Redo: "Look at the edges there again.", Seen: "installer"},
}

// SetbackOf returns the row of a cause.
func SetbackOf(cause string) (SetbackRow, bool) {
	if r := setbackRow(cause); r != nil {
		return *r, true
	}
	return SetbackRow{}, false
}

func setbackRow(cause string) *SetbackRow {
	for i := range Setbacks {
		if Setbacks[i].Cause == cause {
			return &Setbacks[i]
		}
	}
	return nil
}

func (r *SetbackRow) kills(stage string) bool {
	for _, k := range r.Kills {
		if k == stage {
			return true
		}
	}
	return false
}
