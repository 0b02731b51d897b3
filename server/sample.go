package server

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"time"
)

// Limits of what a logger may say. The ranges are those of instruments that
// hang in a workshop, wide enough for a yard in winter and a roof in the sun.
const (
	airLeast, airMost         = -40.0, 50.0  // C
	surfaceLeast, surfaceMost = -50.0, 120.0 // C; a panel under a lamp reaches 80
	maxSampleAge              = 30 * 24 * time.Hour
	maxSampleAhead            = 2 * time.Minute // a logger's clock may run ahead by so much
	maxSurfaces               = 64
	maxSamples                = 5000 // of one request: a week at two minutes
)

// sample is one moment of one instrument, in the units of package checklist.
type sample struct {
	at       int64
	air, rh  int32 // milli-degrees C, milli-percent
	climate  bool  // air and rh were given
	surfaces []surface
}

// surface is a vehicle's temperature at a spot, as the logger names them.
type surface struct {
	job, spot string
	c         int32 // milli-degrees C
}

// sampleJSON is a sample as a logger posts it.
type sampleJSON struct {
	At       string   `json:"at"` // RFC 3339
	AirC     *float64 `json:"air_c"`
	RHPct    *float64 `json:"rh_pct"`
	Surfaces []struct {
		Job  string   `json:"job"` // label or id
		Spot string   `json:"spot"`
		C    *float64 `json:"c"`
	} `json:"surfaces"`
}

// readSample reads one sample or returns the sentence that refuses it.
func readSample(raw []byte, now time.Time) (s sample, why string) {
	var j sampleJSON
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields() // air_f would otherwise be a sample without air
	if err := d.Decode(&j); err != nil {
		return s, "this is no sample: " + err.Error()
	}
	at, err := time.Parse(time.RFC3339, j.At)
	if err != nil {
		return s, fmt.Sprintf("at %q is no RFC 3339 time such as 2026-01-14T07:50:00+01:00", j.At)
	}
	switch {
	case at.Sub(now) > maxSampleAhead:
		return s, fmt.Sprintf("at %s lies in the future; it is %s here. Check the logger's clock and zone",
			j.At, now.UTC().Format(time.RFC3339))
	case now.Sub(at) > maxSampleAge:
		return s, fmt.Sprintf("at %s is more than 30 days ago. Check the logger's clock", j.At)
	}
	s.at = at.UnixMilli()

	switch {
	case j.AirC == nil && j.RHPct == nil && len(j.Surfaces) == 0:
		return s, "the sample holds no value"
	case len(j.Surfaces) > maxSurfaces:
		return s, fmt.Sprintf("at most %d surfaces in a sample", maxSurfaces)
	case (j.AirC == nil) != (j.RHPct == nil):
		return s, "air_c and rh_pct belong together: a dew point takes both"
	case j.AirC != nil:
		if why := refuseAir(*j.AirC, *j.RHPct); why != "" {
			return s, why
		}
		s.air, s.rh, s.climate = milli(*j.AirC), milli(*j.RHPct), true
	}
	for _, f := range j.Surfaces {
		switch {
		case f.Job == "" || f.Spot == "":
			return s, "a surface needs its job and its spot"
		case f.C == nil:
			return s, fmt.Sprintf("the surface at spot %s has no c", f.Spot)
		case *f.C < surfaceLeast || *f.C > surfaceMost:
			return s, fmt.Sprintf("surface %g C at spot %s is outside %g to %g C", *f.C, f.Spot, surfaceLeast, surfaceMost)
		}
		s.surfaces = append(s.surfaces, surface{f.Job, f.Spot, milli(*f.C)})
	}
	return s, ""
}

// refuseAir questions what cannot be the air of a bay. A humidity of exactly 0
// comes from a dead sensor and has no dew point.
func refuseAir(air, rh float64) string {
	switch {
	case rh < 0 || rh > 100:
		return fmt.Sprintf("rh_pct %g is no relative humidity: 0 to 100 percent", rh)
	case rh == 0:
		return "rh_pct 0: the humidity sensor gives nothing"
	case rh <= 1:
		return fmt.Sprintf("rh_pct %g looks like a fraction; send percent", rh)
	case air > airMost && air <= airMost*9/5+32:
		return fmt.Sprintf("air_c %g is no bay; Fahrenheit? %g F would be %.1f C", air, air, (air-32)/1.8)
	case air > 230 && air < 330:
		return fmt.Sprintf("air_c %g looks like kelvin; send degrees Celsius", air)
	case air < airLeast || air > airMost:
		return fmt.Sprintf("air_c %g is outside %g to %g C", air, airLeast, airMost)
	}
	return ""
}

// milli is a value in thousandths. JSON knows no infinity, so none arrives.
func milli(v float64) int32 { return int32(math.Round(v * 1000)) }
