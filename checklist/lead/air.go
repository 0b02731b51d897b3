package lead

import (
	"bayhold/checklist"
	"bayhold/checklist/forecast"
)

const (
	minute = int64(60_000)
	hour   = 60 * minute
	week   = 7 * 24 * hour
)

// acting are the causes of the setback table that act on a bay's air while they
// last, in the order in which a forecast takes them.
var acting = []string{"flame-heater", "heater-off", "door-open", "wash-near"}

// WeatherOf learns the weather from the readings of the yard and of outside.
func WeatherOf(s *checklist.Shop, now checklist.Span, zone int64) (*forecast.Weather, error) {
	var samples []forecast.Sample
	for _, p := range s.Places() {
		if p.Sort == "yard" || p.Sort == "outside" {
			samples = append(samples, samplesOf(s, p.Place, now)...)
		}
	}
	return forecast.FitWeather(samples, now.Latest, zone)
}

// AirOf learns the air of a bay from its own readings and from what was said to
// have happened to it.
func AirOf(s *checklist.Shop, place checklist.ID, now checklist.Span, w *forecast.Weather, zone int64) (*forecast.Model, error) {
	b := forecast.Bay{Samples: samplesOf(s, place, now), Zone: zone, Weather: w}
	for _, cause := range acting {
		t := forecast.Thing{Key: cause}
		for _, h := range s.Happenings(place) {
			if h.Cause == cause && h.Place == place && h.From <= now.Latest && (h.To == 0 || h.To > h.From) {
				to := h.To
				if to > now.Latest {
					to = 0
				}
				t.Spans = append(t.Spans, forecast.Span{From: h.From, To: to})
			}
		}
		if len(t.Spans) > 0 {
			b.Things = append(b.Things, t)
		}
	}
	return forecast.Fit(b)
}

func samplesOf(s *checklist.Shop, place checklist.ID, now checklist.Span) []forecast.Sample {
	var out []forecast.Sample
	for _, a := range s.AirHistory(place, now.Latest-week) {
		if a.At <= now.Latest {
			out = append(out, forecast.Sample{At: a.At, AirC: float64(a.Air) / 1000, DewC: float64(a.Dew) / 1000})
		}
	}
	return out
}
