package warmup

import (
	"errors"
	"math"

	"bayhold/checklist/limit"
	"bayhold/checklist/say"
)

// ReadingInputs are the fields of a [Reading].
var ReadingInputs = []limit.Input{
	{Key: "minutes", Name: "minute of the reading", Low: -10_080, High: 10_080, Unit: "min"},
	{Key: "temp", Name: "temperature read", Low: -40, High: 120, Unit: "C"},
}

// ForecastInputs are the arguments of [Forecast], [One] and [Two] after the
// readings.
var ForecastInputs = []limit.Input{
	{Key: "air", Name: "air temperature as measured", Low: -40, High: 120, Unit: "C"},
	{Key: "threshold", Name: "threshold", Low: -40, High: 120, Unit: "C"},
	{Key: "read-error", Name: "scatter of the instrument", Low: 0, High: 5, Unit: "K", Free: true, Usual: 0.5},
	{Key: "air-error", Name: "error of the air temperature", Low: 0, High: 5, Unit: "K", Free: true, Usual: 0.5},
}

// Reading is one reading of the spot, at a minute on any clock that runs on.
type Reading struct {
	Minutes, TempC float64
}

// Limits of a forecast: common practice, no source.
const (
	mostReadings = 500
	horizon      = 96 * 60.0 // min
	widest       = 0.5       // half-width of the interval over the time left
	narrow       = 5.0       // min; a half-width under this is told however little is left
	moved        = 3.0       // times the instrument's scatter
	stillAir     = 0.25      // exponent of h in still air
	finest       = 0.1       // K; least scatter of a fit of two masses
)

// Why a forecast is not told.
const (
	WhyFew    = "few"    // fewer than three readings, or five for two masses
	WhyStill  = "still"  // hardly moved yet
	WhyAway   = "away"   // the spot moves away from the air
	WhyPast   = "past"   // a reading lies past the air
	WhyBend   = "bend"   // one mass does not explain the readings
	WhyWide   = "wide"   // the interval is too wide, or has no end
	WhyNever  = "never"  // the air does not reach the threshold
	WhyNearly = "nearly" // the air may or may not reach it
)

// Answer is when a spot reaches the threshold.
type Answer struct {
	Readings                                    int     // how many
	LastMin, LastC                              float64 // the last of them
	AmbientC, ThresholdC, ReadErrorK, AirErrorK float64 // as given

	There    bool    // the last reading is there already
	Known    bool    // the numbers below are a forecast
	Why      string  // if neither: one of the constants
	Masses   int     // 1 or 2
	TauMin   float64 // time constant; the slower one of two masses
	SkinMin  float64 // the faster one of two masses
	HitMin   float64 // on the readings' clock
	LeftMin  float64 // from the last reading
	LowMin   float64 // left at least, at 95 %
	HighMin  float64 // left at most
	Sentence string
}

// Forecast returns when the spot of the readings reaches thresholdC in C in air at
// ambientC in C. readErrorK is the half-width of the instrument's scatter,
// airErrorK what the air may be off, measurement and drift together. It takes one
// mass, and two where one does not explain the readings.
//
// The error is for numbers that cannot be; a forecast that the readings do not
// carry is an answer with the reason in Why and the way out in Sentence.
func Forecast(readings []Reading, ambientC, thresholdC, readErrorK, airErrorK float64) (Answer, error) {
	a, err := One(readings, ambientC, thresholdC, readErrorK, airErrorK)
	if err == nil && a.Why == WhyBend {
		return Two(readings, ambientC, thresholdC, readErrorK, airErrorK)
	}
	return a, err
}

// One is Forecast with one mass.
func One(readings []Reading, ambientC, thresholdC, readErrorK, airErrorK float64) (Answer, error) {
	return answer(readings, ambientC, thresholdC, readErrorK, airErrorK, 3, oneMass)
}

// Two is Forecast with a skin and a body.
func Two(readings []Reading, ambientC, thresholdC, readErrorK, airErrorK float64) (Answer, error) {
	return answer(readings, ambientC, thresholdC, readErrorK, airErrorK, 5, twoMasses)
}

// forecast is what one model says for one air temperature, in minutes after the
// first reading.
type forecast struct {
	masses         int
	tau, skin      float64
	hit, low, high float64
	why            string
}

// model fits the series and forecasts when it falls to u.
type model func(s series, u, readError float64) forecast

func oneMass(s series, u, readError float64) forecast {
	e, ok := fitOne(s)
	if !ok {
		return forecast{why: WhyWide}
	}
	if e.b >= 0 {
		return forecast{why: WhyAway}
	}
	if e.bends(s, readError) {
		return forecast{why: WhyBend}
	}
	f := forecast{masses: 1, tau: -1 / e.b, hit: (math.Log(u) - e.a) / e.b}
	f.low, f.high, ok = e.fieller(math.Log(u), halfWidth(e.sse, len(s.t)-2, readError))
	if !ok || f.high > horizon {
		return forecast{why: WhyWide}
	}
	return f
}

func twoMasses(s series, u, readError float64) forecast {
	g := planeOf(s)
	d := g.best()
	f := forecast{masses: 2, tau: d.tau2, skin: d.tau1}
	var ok bool
	if f.hit, ok = d.hits(u, horizon); !ok {
		return forecast{why: WhyWide}
	}
	// No instrument of the shop repeats better than finest, and the grid of time
	// constants is no finer than that either.
	half := halfWidth(d.sse, len(s.t)-4, max(readError, finest))
	if f.low, f.high, ok = g.window(f.hit, u, d.sse+half*half, horizon); !ok {
		return forecast{why: WhyWide}
	}
	return f
}

func answer(readings []Reading, ambientC, thresholdC, readErrorK, airErrorK float64, least int, fit model) (Answer, error) {
	if err := check(readings, ambientC, thresholdC, readErrorK, airErrorK); err != nil {
		return Answer{}, err
	}
	a := Answer{
		Readings: len(readings), AmbientC: ambientC, ThresholdC: thresholdC,
		ReadErrorK: readErrorK, AirErrorK: airErrorK,
	}
	if len(readings) == 0 {
		return a.not(WhyFew), nil
	}
	first, last := readings[0], readings[len(readings)-1]
	a.LastMin, a.LastC = last.Minutes, last.TempC
	side := 1.0 // warming
	if ambientC < first.TempC {
		side = -1
	}
	u := side * (ambientC - thresholdC)
	switch {
	case side*(last.TempC-thresholdC) >= 0:
		a.There = true
		a.Sentence = "Last reading " + say.C(last.TempC) + " is there. Read again to start."
		return a, nil
	case u <= -airErrorK:
		return a.not(WhyNever), nil
	case u <= airErrorK:
		return a.not(WhyNearly), nil
	case len(readings) < least:
		return a.not(WhyFew), nil
	case side*(last.TempC-first.TempC) < -moved*readErrorK:
		return a.not(WhyAway), nil
	case side*(last.TempC-first.TempC) < moved*readErrorK || last.TempC == first.TempC:
		return a.not(WhyStill), nil
	}
	s := series{}
	for _, r := range readings {
		d := side * (ambientC - r.TempC)
		if d < -(readErrorK + airErrorK) {
			return a.not(WhyPast), nil
		}
		s.t = append(s.t, r.Minutes-first.Minutes)
		s.u = append(s.u, d)
	}
	f := fit(s, u, readErrorK)
	if f.why != "" {
		return a.not(f.why), nil
	}
	if airErrorK > 0 {
		for _, off := range [2]float64{-airErrorK, airErrorK} {
			end := fit(s.shifted(off), u+off, readErrorK)
			if end.why != "" {
				return a.not(WhyWide), nil
			}
			f.low, f.high = min(f.low, end.low), max(f.high, end.high)
		}
	}
	return a.told(f, first.Minutes, math.Abs(ambientC-last.TempC)/u), nil
}

// told fills in a forecast, or refuses one that is too wide. ratio is the last
// reading's distance to the air over the threshold's.
func (a Answer) told(f forecast, start, ratio float64) Answer {
	hit := start + f.hit
	left := max(0, hit-a.LastMin)
	low := max(0, start+f.low-a.LastMin)
	high := max(left, start+f.high-a.LastMin)
	if ratio > 1 {
		// In still air the same way takes longer by this factor.
		high *= (math.Pow(ratio, stillAir) - 1) / stillAir / math.Log(ratio)
	}
	if half := (high - low) / 2; half > narrow && half > widest*left {
		return a.not(WhyWide)
	}
	a.Known, a.Masses, a.TauMin, a.SkinMin = true, f.masses, f.tau, f.skin
	a.HitMin, a.LeftMin, a.LowMin, a.HighMin = a.LastMin+left, left, min(low, left), high
	a.Sentence = "Estimate: " + say.Minutes(a.LowMin) + " to " + say.Minutes(a.HighMin) + " more. Then read again."
	return a
}

func (a Answer) not(why string) Answer {
	a.Why = why
	switch why {
	case WhyFew:
		a.Sentence = "Too few readings. Read this spot again in 15 min."
	case WhyStill:
		a.Sentence = "Hardly moved yet. Read again in 15 min."
	case WhyAway:
		a.Sentence = "Spot moves away from the air. Check heater and door."
	case WhyPast:
		a.Sentence = "Spot is past the air temperature. Measure the air again."
	case WhyBend:
		a.Sentence = "Skin leads the body. Read the hidden spot on."
	case WhyNever:
		a.Sentence = "Never at air " + say.C(a.AmbientC) + ": needs " + say.C(a.ThresholdC) + ". Heat the bay."
	case WhyNearly:
		a.Sentence = "Air too close to " + say.C(a.ThresholdC) + ". Heat the bay."
	default:
		a.Sentence = "No honest estimate yet. Read again in 15 min."
	}
	return a
}

// shifted is the series as it looks from air that is off K farther away.
func (s series) shifted(off float64) series {
	u := make([]float64, len(s.u))
	for i := range u {
		u[i] = s.u[i] + off
	}
	return series{t: s.t, u: u}
}

func check(readings []Reading, ambientC, thresholdC, readErrorK, airErrorK float64) error {
	if err := limit.Check(ForecastInputs, ambientC, thresholdC, readErrorK, airErrorK); err != nil {
		return err
	}
	if len(readings) > mostReadings {
		return errors.New("more than 500 readings; valid is 3 to 500: leave out the oldest")
	}
	for i, r := range readings {
		if err := limit.Check(ReadingInputs, r.Minutes, r.TempC); err != nil {
			return err
		}
		if i > 0 && r.Minutes <= readings[i-1].Minutes {
			return errors.New("minutes of the readings do not rise; sort them by time, one reading a moment")
		}
	}
	return nil
}
