package backtest

import (
	"bayhold/checklist"
	"bayhold/checklist/forecast"
	"bayhold/checklist/lead"
)

// Demo forecasts every bay of a told story from its lines: as of each moment a
// shop that holds what was written by then, and no line more. lines are in the
// order of their times.
func Demo(name string, lines []checklist.Line, from, to int64) []Row {
	whole := checklist.NewShop()
	for _, l := range lines {
		whole.Add(l)
	}
	sc := newScore(name)
	s, next := checklist.NewShop(), 0
	for at := from; at <= to; at += 3_600_000 {
		for ; next < len(lines) && lines[next].Span.Latest <= at; next++ {
			s.Add(lines[next])
		}
		now := checklist.Span{Earliest: at, Latest: at}
		w, err := lead.WeatherOf(s, now, 0)
		if err != nil {
			continue
		}
		for _, p := range whole.Places() {
			if p.Sort != "bay" {
				continue
			}
			m, err := lead.AirOf(s, p.Place, now, w, 0)
			if err != nil {
				continue
			}
			byTime := map[int64]forecast.Sample{}
			for _, a := range whole.AirHistory(p.Place, at-3_600_000) {
				byTime[a.At] = forecast.Sample{At: a.At, AirC: float64(a.Air) / 1000, DewC: float64(a.Dew) / 1000}
			}
			sc.judge(m.Ahead(24, nil), func(at int64) (forecast.Sample, bool) { x, ok := byTime[at]; return x, ok })
		}
	}
	return sc.rows()
}
