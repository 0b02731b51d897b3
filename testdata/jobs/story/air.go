package story

import (
	"math"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/air"
	demo "bayhold/testdata/demo/story"
)

// milli rounds to a tenth of a degree or of a percent, as instruments show it.
func milli(v float64) int32 { return int32(math.Round(v*10)) * 100 }

// weather is a bay's air from one moment to another: where it is, and how far
// day and night swing about it.
type weather struct {
	from, to     string
	airC, swingC float64
	rh           float64
}

// climate writes a block for every half hour: warmest at 15:00, and the
// humidity the other way, for the water in the air stays.
func (b *book) climate(bay string, spells ...weather) {
	for _, w := range spells {
		for t := clock(w.from); t.Before(clock(w.to)); t = t.Add(30 * time.Minute) {
			day := math.Cos(2 * math.Pi * (float64(t.Hour()) + float64(t.Minute())/60 - 15) / 24)
			a, h := milli(w.airC+w.swingC*day), milli(w.rh-3*w.swingC*day)
			dew, ok := air.DewPointMilli(a, h)
			if !ok {
				panic("no dew point")
			}
			end := t.Add(30 * time.Minute)
			b.put("", end, "place:"+bay, checklist.ClimateBlock{Instrument: "logger " + bay, From: t.UnixMilli(), To: end.UnixMilli(), N: 6,
				Air: checklist.Range{Least: a, Most: a, Last: a}, RH: checklist.Range{Least: h, Most: h, Last: h},
				Dew: checklist.Range{Least: dew, Most: dew, Last: dew}})
		}
	}
}

// moved says where the vehicle goes.
func (b *book) moved(at, place, wet string) {
	b.says(at, "P", checklist.JobMove{Place: demo.ID(place), Wet: wet})
}
