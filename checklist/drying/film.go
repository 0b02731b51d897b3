package drying

import (
	"bayhold/checklist/air"
	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// Longest is the time in hours past which an answer is never: fourteen months.
const Longest = 10_000

// panelInput is the metal of a seam or under a film. Over 80 C paint suffers
// (common practice, no source).
var panelInput = limit.Input{Key: "panel", Name: "panel temperature", Low: -20, High: 80, Unit: "C"}

// FilmInputs are the arguments of [FilmOf].
var FilmInputs = []limit.Input{
	air.AirInput, air.RHInput, panelInput,
	{Key: "h", Name: "heat-transfer coefficient", Low: 1, High: 100, Unit: "W/m2K", Free: true, Usual: 5},
	{Key: "film", Name: "thickness of the water film", Low: 0.001, High: 2, Unit: "mm", Free: true, Usual: 0.1},
}

// Film is how long an open film of water lasts.
type Film struct {
	AirC, RHPct, PanelC, H, FilmMM float64 // as given

	LowMin, HighMin float64 // the faster and the slower bound
	AirBoundMin     float64 // the film gets heat from the air alone; 0 when never
	PanelBoundMin   float64 // the panel holds the film at its temperature; 0 when never
	Never           bool    // neither bound has an end
	HighNever       bool    // the slower bound has none; HighMin is 0
	Sentence        string
}

// FilmOf returns how long a film of filmMM mm of water lasts on an open panel at
// panelC in C, in air at airC in C with rhPct in percent, with the heat-transfer
// coefficient h in W/(m2 K).
func FilmOf(airC, rhPct, panelC, h, filmMM float64) (Film, error) {
	if err := limit.Check(FilmInputs, airC, rhPct, panelC, h, filmMM); err != nil {
		return Film{}, err
	}
	f := Film{AirC: airC, RHPct: rhPct, PanelC: panelC, H: h, FilmMM: filmMM}
	kg := filmMM / 1000 * liquid
	var byAir, byPanel bool
	f.AirBoundMin, byAir = minutes(kg, AirFlux(h, airC, air.WetBulb(airC, rhPct)))
	f.PanelBoundMin, byPanel = minutes(kg, PanelFlux(h, airC, rhPct, panelC))
	switch {
	case byAir && byPanel:
		f.LowMin, f.HighMin = min(f.AirBoundMin, f.PanelBoundMin), max(f.AirBoundMin, f.PanelBoundMin)
	case byAir || byPanel:
		f.LowMin, f.HighNever = max(f.AirBoundMin, f.PanelBoundMin), true
	default:
		f.Never, f.HighNever = true, true
	}
	switch {
	case f.Never:
		f.Sentence = "This film never dries here. Heat or vent."
	case f.HighNever:
		f.Sentence = "Open film: " + say.Minutes(f.LowMin) + " at best. Warm panel or vent."
	default:
		f.Sentence = "Open film gone in " + say.Minutes(f.LowMin) + " to " + say.Minutes(f.HighMin) + "."
	}
	return f, nil
}

// minutes returns how long kg per m2 last at that flux; ok is false for never.
func minutes(kg, flux float64) (min float64, ok bool) {
	if !(flux > 0) || kg/flux > Longest*3600 {
		return 0, false
	}
	return kg / flux / 60, true
}
