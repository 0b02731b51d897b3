package drying

import (
	"math"

	"bayhold/checklist/air"
	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// HeaterInputs are the arguments of [HeaterHour].
var HeaterInputs = []limit.Input{
	DepthInput, dryInput, air.AirInput, air.RHInput, panelInput,
	{Key: "heated", Name: "temperature of the panel under the heater", Low: -20, High: 80, Unit: "C"},
}

// ExtractorInputs are the arguments of [ExtractorHour].
var ExtractorInputs = []limit.Input{
	DepthInput, dryInput, air.AirInput, air.RHInput, panelInput,
	{Key: "outside", Name: "temperature outside", Low: -40, High: 50, Unit: "C"},
	{Key: "outside-rh", Name: "relative humidity outside", Low: 0.001, High: 100, Unit: "%"},
	{Key: "changes", Name: "air changes in the hour", Low: 0.1, High: 30, Unit: "1/h", Free: true, Usual: 5},
}

// Saved is what one hour of help does to a wet seam, after which the air is as
// it was.
type Saved struct {
	DepthMM, DryMM, AirC, RHPct, PanelC float64 // as given
	HelpPanelC, HelpVapourPa            float64 // the panel and the mean vapour of that hour

	WithoutHours float64 // as it is now; 0 when WithoutNever
	WithHours    float64 // the hour of help included; 0 when WithNever
	SavedHours   float64 // below 0 when the help does harm; 0 when either never ends
	WithoutNever bool
	WithNever    bool
	GainMM       float64 // how much more is dry after the hour than without the help
	Sentence     string
}

// HeaterHour returns what one hour of heat at a seam saves: its metal at heatedC
// in C for that hour, the vapour of the bay as it is. That holds for a vented
// heater, an electric one and a hot-air gun; a flame in the bay brings water and
// is another sum.
func HeaterHour(depthMM, dryMM, airC, rhPct, panelC, heatedC float64) (Saved, error) {
	if err := limit.Check(HeaterInputs, depthMM, dryMM, airC, rhPct, panelC, heatedC); err != nil {
		return Saved{}, err
	}
	return hourOf("heat", depthMM, dryMM, airC, rhPct, panelC, heatedC, air.VapourPressure(airC, rhPct))
}

// ExtractorHour returns what one hour of extraction saves: changes air changes of
// outside air at outsideC in C with outsideRHPct in percent, well mixed, the bay
// and the panel held at their temperature.
func ExtractorHour(depthMM, dryMM, airC, rhPct, panelC, outsideC, outsideRHPct, changes float64) (Saved, error) {
	if err := limit.Check(ExtractorInputs, depthMM, dryMM, airC, rhPct, panelC, outsideC, outsideRHPct, changes); err != nil {
		return Saved{}, err
	}
	in, out := air.VapourPressure(airC, rhPct), air.VapourPressure(outsideC, outsideRHPct)
	// The vapour falls as out + (in-out) exp(-n t); this is its mean over 1 h.
	mean := out + (in-out)*(1-math.Exp(-changes))/changes
	return hourOf("extraction", depthMM, dryMM, airC, rhPct, panelC, panelC, min(mean, air.SaturationPressure(airC)))
}

func hourOf(help string, depthMM, dryMM, airC, rhPct, panelC, helpPanelC, helpVapour float64) (Saved, error) {
	if err := checkDry(depthMM, dryMM); err != nil {
		return Saved{}, err
	}
	s := Saved{
		DepthMM: depthMM, DryMM: dryMM, AirC: airC, RHPct: rhPct, PanelC: panelC,
		HelpPanelC: helpPanelC, HelpVapourPa: helpVapour,
	}
	now := Growth(air.VapourPressure(airC, rhPct), panelC)
	then := Growth(helpVapour, helpPanelC)
	depth, dry := depthMM/1000, dryMM/1000
	helped := 1000 * Advance(dry, depth, then, 3600)
	s.GainMM = helped - 1000*Advance(dry, depth, now, 3600)

	var ok, okRest bool
	s.WithoutHours, ok = hours(depthMM, dryMM, now)
	s.WithoutNever = !ok
	var rest float64
	if within, done := hours(depthMM, dryMM, then); done && within <= 1 {
		s.WithHours, okRest = within, true
	} else if rest, okRest = hours(depthMM, helped, now); okRest {
		s.WithHours = 1 + rest
	}
	s.WithNever = !okRest
	if ok && okRest {
		s.SavedHours = s.WithoutHours - s.WithHours
	}
	s.Sentence = s.sentence(help)
	return s, nil
}

func (s Saved) sentence(help string) string {
	hour := "One hour of " + help
	switch {
	case s.DryMM >= s.DepthMM:
		return "Seam dry by the model. Draw a card strip."
	case !s.WithNever && s.WithHours <= 1:
		return hour + " finishes the seam in " + say.Hours(s.WithHours) + "."
	case s.WithNever && s.GainMM < 0.05:
		return hour + " does not help. Warm the panel, drier air."
	case s.WithNever || s.WithoutNever:
		return hour + " dries " + say.Number(s.GainMM, 1) + " mm; without it, never."
	case s.SavedHours < 0:
		return hour + " costs " + say.Hours(-s.SavedHours) + ". Leave it."
	}
	return hour + " saves " + say.Hours(s.SavedHours) + " of " + say.Hours(s.WithoutHours) + "."
}
