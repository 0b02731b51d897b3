package server

import (
	"net/http/httptest"
	"strconv"
	"testing"
	"time"

	"bayhold/server/browsertest"
	"bayhold/sync/logbook"
	"bayhold/testdata/demo"
	"bayhold/testdata/demo/story"
)

// The board at every moment for which the story names a right answer, as a phone
// shows it that knows the lines up to then and no later one. What a vehicle's
// card says is the phone's own core's; what stands below the bays (when it may
// open) and over the foot (the alarms) is the shop server's. The story's 22:10 of
// Wednesday and its 12:20 in run B lie in the ranges told hours before; its 21.2
// counted hours are 21.17, which a phone, that knows a moment as an interval, tells
// by what is sure.
func TestBrowserBoardAsTheClockMoves(t *testing.T) {
	t.Parallel()
	var p *browsertest.Phone
	for _, c := range []struct {
		run        byte
		day        time.Time
		clock, job string
		card       []string // in the vehicle's card
		board      []string // anywhere on the board
	}{
		{'A', story.Tuesday, "09:00", "V3", []string{"Not dry. Hours count after the wash."}, nil},
		{'A', story.Tuesday, "14:30", "V1", []string{"Final wipe, bonnet, left front wing: stopped by Spoiled: bay door open since 14:20."}, []string{"Door open"}},
		{'A', story.Tuesday, "15:00", "V4", []string{"Patch test not valid: hood stayed under 20.0 °C"}, nil},
		{'A', story.Tuesday, "16:30", "V4", []string{"Gas under the patch: wait 168 h", ", or leave without film."}, nil},
		{'A', story.Tuesday, "22:00", "V5", nil, []string{"V5 will sweat: about −", "Flame heater off, flush from Wed 05:15, then vented heat."}},
		{'A', story.Wednesday, "04:30", "V2", []string{"Final wipe", "start now"}, nil},
		{'A', story.Wednesday, "06:10", "V5", []string{"Wet: ", "Drying starts over"}, []string{"V5 Dry, lower: About 23:20, from 20:10, open-ended."}},
		{'A', story.Wednesday, "08:00", "V5", []string{"Wet: left shoulder 15.0 °C, dew point 15.2 °C"}, nil},
		{'A', story.Wednesday, "09:30", "V3", []string{"from 12:20", "Drying: 21.1 h of 24 h counted."}, nil},
		{'B', story.Wednesday, "09:30", "V5", []string{"start now", "Too cold: rear left sill 10.6 °C"}, []string{"V5 Window, lower: About 12:00, 11:40 to 20:40."}},
		{'A', story.Wednesday, "12:20", "V3", []string{"start now", "Sweat test"}, nil},
	} {
		at := story.At(c.day, c.clock)
		var seed []Dated
		for _, e := range story.Run(c.run) {
			if !e.At.After(at) {
				seed = append(seed, datedOf(e))
			}
		}
		dir := t.TempDir()
		s, err := Open(Config{Data: dir, Log: testLog(t), Shop: logbook.Named(demo.Shop), Seed: seed, Now: func() time.Time { return at }})
		if err != nil {
			t.Fatal(err)
		}
		shop := &shopAt{Server: s, http: httptest.NewServer(s.Handler()), dir: dir}
		t.Cleanup(func() { shop.stop(t) })
		if p == nil {
			p = browsertest.New(t, "lead", shop.http.Listener.Addr().String())
		}
		name := string(c.run) + " " + at.Format("Mon 15:04") + " " + c.job
		if err := p.Browse(shop.http.URL + "/#/board"); err != nil {
			t.Fatal(name, err)
		}
		p.Sees("board-job:" + c.job)
		until := func(of string, all []string) {
			for _, words := range all {
				p.Until(name+": "+words, `(document.querySelector('`+of+`')?.textContent ?? '').replace(/\s+/g, ' ').includes(`+strconv.Quote(words)+`)`)
			}
		}
		until(`[data-testid="board-job:`+c.job+`"]`, c.card)
		until("body", c.board)
	}
}
