// Package backtest measures forecasts against what came: in the demo shop's two
// days, and in bays that it generates. It forecasts as of a moment, from what
// was known by then, and compares with the air that followed and with the
// simplest forecast there is: everything stays as it is.
package backtest

import (
	"fmt"
	"io"
	"math"
	"slices"
	"text/tabwriter"

	"bayhold/checklist/forecast"
)

// Horizons are the hours ahead that are judged.
var Horizons = []int{1, 3, 6, 12}

// Row is how forecasts of one quantity did, so many hours ahead.
type Row struct {
	Set, What    string // "Air" or "Dew point"
	Hours, N     int
	Mean, Median float64 // of the absolute errors, K
	Stays        float64 // mean absolute error of 'stays as it is', K
	StaysMedian  float64
	Inside       float64 // share of what came that lay in the interval
	Half         float64 // mean half-width, K
}

// score gathers the errors of one set.
type score struct {
	set  string
	miss map[[2]int][]miss // by quantity and hours
}

type miss struct {
	err, stays, half float64
	inside           bool
}

func newScore(set string) *score { return &score{set, map[[2]int][]miss{}} }

// judge compares a forecast with what came.
func (s *score) judge(points []forecast.Point, came func(at int64) (forecast.Sample, bool)) {
	now, ok := came(points[0].At)
	if !ok {
		return
	}
	for _, h := range Horizons {
		if 6*h >= len(points) {
			continue
		}
		p := points[6*h]
		then, ok := came(p.At)
		if !ok {
			continue
		}
		for q, v := range [2]struct {
			r         forecast.Range
			was, then float64
		}{{p.Air, now.AirC, then.AirC}, {p.Dew, now.DewC, then.DewC}} {
			k := [2]int{q, h}
			s.miss[k] = append(s.miss[k], miss{math.Abs(v.r.Mid - v.then), math.Abs(v.was - v.then),
				(v.r.High - v.r.Low) / 2, v.r.Low <= v.then && v.then <= v.r.High})
		}
	}
}

func (s *score) rows() (out []Row) {
	for q, what := range []string{"air", "dew point"} {
		for _, h := range Horizons {
			m := s.miss[[2]int{q, h}]
			if len(m) == 0 {
				continue
			}
			r := Row{Set: s.set, What: what, Hours: h, N: len(m)}
			var errs, stays []float64
			for _, x := range m {
				errs, stays = append(errs, x.err), append(stays, x.stays)
				r.Mean += x.err / float64(len(m))
				r.Stays += x.stays / float64(len(m))
				r.Half += x.half / float64(len(m))
				if x.inside {
					r.Inside += 1 / float64(len(m))
				}
			}
			r.Median, r.StaysMedian = median(errs), median(stays)
			out = append(out, r)
		}
	}
	return out
}

func median(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

// Generated forecasts bays of every habit, each from four days of history and
// again as the fifth day goes by, and once from a day's history.
func Generated(each int) (out []Row) {
	all := newScore("all generated")
	for i, h := range habits {
		one := newScore(h.name)
		for k := range each {
			m := generate(h, uint64(100*i+k+1), 6)
			came := func(at int64) (forecast.Sample, bool) {
				n := (at - startMS) / 600_000
				if n < 0 || n >= int64(len(m.bay)) {
					return forecast.Sample{}, false
				}
				return m.bay[n], true
			}
			for _, hour := range []int{30, 46, 96, 101, 106, 111, 118, 128} {
				n := hour*6 + 1
				w, err := forecast.FitWeather(m.outside[:n], 0)
				if err != nil {
					panic(err)
				}
				model, err := forecast.Fit(forecast.Bay{Samples: m.bay[:n], Weather: w})
				if err != nil {
					panic(err)
				}
				points := model.Ahead(12, nil)
				one.judge(points, came)
				all.judge(points, came)
			}
		}
		out = append(out, one.rows()...)
	}
	return append(out, all.rows()...)
}

// Print writes the table.
func Print(w io.Writer, rows []Row) error {
	fmt.Fprint(w, "Absolute errors in K, so many hours ahead; 'stays' is the forecast that everything\n"+
		"stays as it is; 'inside' is the share of what came that lay in the interval, which\n"+
		"is made to hold nine in ten. Demo and generated bays are invented and calculated.\n\n")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "bays\tof\thours\tn\tmean\tmedian\tstays mean\tstays median\tinside\thalf-width\t")
	last := ""
	for _, r := range rows {
		if last != "" && r.Set != last {
			fmt.Fprintln(t, "\t\t\t\t\t\t\t\t\t\t")
		}
		last = r.Set
		fmt.Fprintf(t, "%s\t%s\t%d\t%d\t%.2f\t%.2f\t%.2f\t%.2f\t%.0f %%\t%.2f\t\n", r.Set, r.What, r.Hours, r.N,
			r.Mean, r.Median, r.Stays, r.StaysMedian, 100*r.Inside, r.Half)
	}
	return t.Flush()
}
