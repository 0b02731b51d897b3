package main

import (
	"bytes"
	"time"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server"
	"bayhold/sync/logbook"
	"bayhold/testdata/demo"
)

// demoShop is the invented shop with every time moved so that its Wednesday
// 08:00 is the minute that began just now; what it did later is left out.
func demoShop() (logbook.ID, []server.Dated, error) {
	lines, err := readLog(bytes.NewReader(demo.RunA))
	if err != nil {
		return logbook.ID{}, nil, err
	}
	by := time.Now().Truncate(time.Minute).Sub(demo.Moment).Milliseconds()
	var out []server.Dated
	for _, l := range lines {
		if l.at > demo.Moment.UnixMilli() {
			continue
		}
		e := l.Entry
		e.At.Wall += by
		e.At.Earliest = e.At.Wall
		if l.said.Body != nil {
			e.Body = line.Encode(moved(l.said.Body, by))
		}
		out = append(out, server.Dated{Entry: e, At: l.at + by})
	}
	return logbook.Named(demo.Shop), out, nil
}

// moved is a body with every moment in it moved by ms. A moment of 0 is none
// and stays so.
func moved(body checklist.Body, ms int64) checklist.Body {
	move := func(times ...*int64) {
		for _, t := range times {
			if *t != 0 {
				*t += ms
			}
		}
	}
	switch b := body.(type) {
	case checklist.AirShared:
		move(&b.From, &b.To)
		return b
	case checklist.ClimateBlock:
		move(&b.From, &b.To)
		return b
	case checklist.ClimateReading:
		move(&b.At)
		return b
	case checklist.ClimateSpan:
		move(&b.From, &b.To)
		return b
	case checklist.PlaceEvent:
		move(&b.From, &b.To)
		return b
	case checklist.JobOpen:
		move(&b.Promise)
		return b
	case checklist.JobMove:
		move(&b.At)
		return b
	case checklist.Tick:
		move(&b.At)
		return b
	case checklist.Reading:
		move(&b.At)
		return b
	case checklist.Setback:
		move(&b.From, &b.To)
		return b
	case checklist.Evidence:
		move(&b.At)
		return b
	case checklist.Heat:
		move(&b.At)
		return b
	case checklist.Trial:
		move(&b.At)
		return b
	case checklist.Paint:
		move(&b.Painted, &b.At)
		return b
	case checklist.Patch:
		move(&b.From, &b.To)
		return b
	}
	return body
}
