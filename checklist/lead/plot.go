package lead

import (
	"bayhold/checklist"
)

// Plot is what the picture of a bay's climate is drawn from: the last day as it
// was read, the window that laying asks for, and the next hours as a range.
// Temperatures are milli-degrees Celsius.
type Plot struct {
	Low, High int64 // the window
	Air       []checklist.AirAt
	Outside   []checklist.AirAt
	Spots     []Spotted
	Ahead     []Ahead
}

// Spotted is one vehicle in the bay: its lowest reading by time, and the times
// that counted towards its drying.
type Spotted struct {
	Label   string
	At      []int64
	Coldest []int32
	Counted []spanOf
}

// Ahead is a moment to come.
type Ahead struct {
	At       int64
	Air, Dew [3]int64 // least, about, most
}

const (
	plotBack  = 24 * hour
	plotAhead = 12 * hour
)

// Plot draws up a place's climate.
func (l *Look) Plot(place checklist.ID) Plot {
	since := l.Now.Latest - plotBack
	p := Plot{Low: l.rules["surface_floor"], High: l.rules["surface_ceiling"], Air: l.until(place, since)}
	for _, o := range l.Shop.Places() {
		if (o.Sort == "yard" || o.Sort == "outside") && len(p.Outside) == 0 {
			p.Outside = l.until(o.Place, since)
		}
	}
	for i := range l.vehicles {
		v := &l.vehicles[i]
		if v.Place != place {
			continue
		}
		s := Spotted{Label: v.Open.Label}
		lines := l.Shop.Lines(v.ID, 0)
		for k := len(lines) - 1; k >= 0; k-- { // the oldest first
			r, ok := lines[k].Body.(checklist.Reading)
			if at := lines[k].Span.Latest; !ok || lines[k].Struck || len(r.Values) == 0 || at < since || at > l.Now.Latest {
				continue
			}
			least := r.Values[0].Surface
			for _, x := range r.Values {
				least = min(least, x.Surface)
			}
			s.At, s.Coldest = append(s.At, lines[k].Span.Latest), append(s.Coldest, least)
		}
		s.Counted = l.counted(v, since)
		p.Spots = append(p.Spots, s)
	}
	if b := l.bays[place]; b != nil && b.err == nil {
		kinds, _ := l.airAhead(place, kind, nil)
		mids, _ := l.airAhead(place, mid, nil)
		bads, _ := l.airAhead(place, unkind, nil)
		for i := range mids {
			if i%3 == 0 && mids[i].at <= l.Now.Latest+plotAhead && mids[i].at >= l.Now.Latest-step {
				p.Ahead = append(p.Ahead, Ahead{mids[i].at,
					[3]int64{milli(bads[i].air), milli(mids[i].air), milli(max(kinds[i].air, mids[i].air))},
					[3]int64{milli(kinds[i].dew), milli(mids[i].dew), milli(max(bads[i].dew, mids[i].dew))}})
			}
		}
	}
	return p
}

// counted returns the times that counted since a moment, of the zone in which
// the fewest did.
func (l *Look) counted(v *vehicle, since int64) (out []spanOf) {
	fewest := int64(0)
	for i, z := range v.Zones {
		var spans []spanOf
		sum := int64(0)
		for _, c := range l.Shop.Counted(v.ID, z, l.Now) {
			if s := (spanOf{From: max(c[0], since), To: min(c[1], l.Now.Latest)}); s.From < s.To {
				spans = append(spans, s)
				sum += s.To - s.From
			}
		}
		if i == 0 || sum < fewest {
			out, fewest = spans, sum
		}
	}
	return out
}

func (l *Look) until(place checklist.ID, since int64) (out []checklist.AirAt) {
	for _, a := range l.Shop.AirHistory(place, since) {
		if a.At <= l.Now.Latest {
			out = append(out, a)
		}
	}
	return out
}

func milli(c float64) int64 { return int64(c * 1000) }
