package drying

import (
	"errors"
	"math"

	"bayhold/checklist/air"
	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// The doubts that make the range of a seam's answer: hygrometer, panel
// thermometer (common practice, no source), and the diffusivity between
// published sources.
const (
	doubtRH    = 3.0  // %
	doubtPanel = 1.0  // K
	doubtD     = 0.03 // of itself
)

// DepthInput is the depth of a seam from its mouth to its dry end.
var DepthInput = limit.Input{Key: "depth", Name: "depth of the seam", Low: 0.1, High: 100, Unit: "mm"}

var dryInput = limit.Input{Key: "dry", Name: "depth that is dry already", Low: 0, High: 100, Unit: "mm", Free: true}

// SpellInputs are the fields of a [Spell].
var SpellInputs = []limit.Input{
	{Key: "hours", Name: "length of the spell", Low: 0, High: Longest, Unit: "h"},
	air.AirInput, air.RHInput, panelInput,
}

// SeamInputs are the arguments of [SeamOf].
var SeamInputs = []limit.Input{DepthInput, dryInput, air.AirInput, air.RHInput, panelInput}

// Seam is how long a wet seam still takes in constant air.
type Seam struct {
	DepthMM, DryMM, AirC, RHPct, PanelC float64 // as given

	Hours     float64 // 0 when Never
	LowHours  float64 // the kind end of instruments and diffusivity; 0 when Never even there
	HighHours float64 // the unkind end; 0 when HighNever
	Never     bool
	HighNever bool
	Sentence  string
}

// SeamOf returns how long a seam depthMM mm deep, of which dryMM mm are dry,
// takes in air at airC in C with rhPct in percent while its metal is at panelC
// in C.
func SeamOf(depthMM, dryMM, airC, rhPct, panelC float64) (Seam, error) {
	if err := limit.Check(SeamInputs, depthMM, dryMM, airC, rhPct, panelC); err != nil {
		return Seam{}, err
	}
	if err := checkDry(depthMM, dryMM); err != nil {
		return Seam{}, err
	}
	s := Seam{DepthMM: depthMM, DryMM: dryMM, AirC: airC, RHPct: rhPct, PanelC: panelC}
	now, low, high := rates(airC, rhPct, panelC)
	var ok bool
	s.Hours, ok = hours(depthMM, dryMM, now)
	s.Never = !ok
	s.LowHours, _ = hours(depthMM, dryMM, high)
	s.HighHours, ok = hours(depthMM, dryMM, low)
	s.HighNever = !ok
	switch {
	case dryMM >= depthMM:
		s.Sentence = "Seam dry by the model. Draw a card strip."
	case s.Never:
		s.Sentence = "Seam never dries in this air. Heat or vent."
	default:
		s.Sentence = "Seam needs " + say.Hours(s.Hours) + " more in this air."
	}
	return s, nil
}

// rates returns the growth of the dry depth's square in m2/s, and its low and
// high end for the doubts.
func rates(airC, rhPct, panelC float64) (now, low, high float64) {
	e := air.VapourPressure(airC, rhPct)
	eHigh := air.VapourPressure(airC, min(100, rhPct+doubtRH))
	eLow := air.VapourPressure(airC, max(air.RHInput.Low, rhPct-doubtRH))
	now = Growth(e, panelC)
	low = scaled(Growth(eHigh, panelC-doubtPanel), -doubtD)
	high = scaled(Growth(eLow, panelC+doubtPanel), doubtD)
	return now, low, high
}

// scaled moves a rate by a share of its size: down for a share below zero.
func scaled(rate, share float64) float64 { return rate + share*math.Abs(rate) }

// hours returns how long depth takes at that growth; ok is false for never.
func hours(depthMM, dryMM, growth float64) (h float64, ok bool) {
	left := (depthMM*depthMM - dryMM*dryMM) * 1e-6
	if left <= 0 {
		return 0, true
	}
	if !(growth > 0) || left/growth > Longest*3600 {
		return 0, false
	}
	return left / growth / 3600, true
}

func checkDry(depthMM, dryMM float64) error {
	if dryMM > depthMM {
		return errors.New("depth that is dry already is more than the seam is deep; valid is 0 to " + say.Number(depthMM, 1) + " mm")
	}
	return nil
}

// Spell is a stretch of time with one climate at the seam.
type Spell struct {
	Hours, AirC, RHPct, PanelC float64
}

// Dried is how far a seam is dry.
type Dried struct {
	DepthMM float64 // as given
	Past    []Spell // as given

	Hours    float64 // length of the past
	DryMM    float64 // from the mouth
	LowMM    float64 // the unkind end of instruments and diffusivity
	HighMM   float64 // the kind end
	Share    float64 // DryMM of DepthMM, 0 to 1
	Dry      bool    // all of it, by the model
	Sentence string
}

// mostSpells is a year of ten-minute readings.
const mostSpells = 53_000

// SeamAfter returns how much of a seam depthMM mm deep, wet all through at the
// start, is dry after the past spells, in their order. The sum is exact for a
// climate that is constant within each spell.
func SeamAfter(depthMM float64, past []Spell) (Dried, error) {
	if err := DepthInput.Check(depthMM); err != nil {
		return Dried{}, err
	}
	if len(past) > mostSpells {
		return Dried{}, errors.New("more than a year of ten-minute readings; valid is 0 to 53000 spells")
	}
	d := Dried{DepthMM: depthMM, Past: past}
	depth := depthMM / 1000
	var mid, low, high float64
	for _, s := range past {
		if err := limit.Check(SpellInputs, s.Hours, s.AirC, s.RHPct, s.PanelC); err != nil {
			return Dried{}, err
		}
		now, slow, fast := rates(s.AirC, s.RHPct, s.PanelC)
		mid = Advance(mid, depth, now, s.Hours*3600)
		low = Advance(low, depth, slow, s.Hours*3600)
		high = Advance(high, depth, fast, s.Hours*3600)
		d.Hours += s.Hours
	}
	d.DryMM, d.LowMM, d.HighMM = 1000*mid, 1000*low, 1000*high
	d.Share = mid / depth
	d.Dry = mid >= depth
	if d.Dry {
		d.Sentence = "Seam dry by the model. Draw a card strip."
	} else {
		d.Sentence = "Seam dry " + say.Number(d.DryMM, 1) + " of " + say.Number(depthMM, 1) + " mm by the model."
	}
	return d, nil
}
