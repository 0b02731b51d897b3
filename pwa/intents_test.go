package pwa_test

import (
	"context"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestBrowserMarks turns the core's marks into text. The sentences are those of
// the design; 45.7 °F is 7.611 °C and 60 °F is 15.556 °C by C = (F - 32) * 5/9,
// a difference of 3 K is 5.4 °F; 08:00 in Berlin in winter is 07:00 UTC.
func TestBrowserMarks(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := chromedp.Do(ctx, chromedp.Navigate(base+"/")); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ text, units, want string }{
		{"Drying: ⟨h:23400000⟩ of ⟨h:43200000⟩.", "C", "Drying: 6.5 h of 12 h."},
		{"Wipe good ⟨h:899999⟩", "C", "Wipe good 14 min"},
		{"⟨h:43199999⟩ counted", "C", "11.9 h counted"}, // cut, never rounded up to the goal
		{"sill ⟨c:7600⟩, dew point ⟨c:15400⟩", "C", "sill 7.6\u00a0°C, dew point 15.4\u00a0°C"},
		{"sill ⟨c:7611⟩, floor ⟨c:15556⟩", "F", "sill 45.7\u00a0°F, floor 60.0\u00a0°F"},
		{"frost ⟨c:-3600⟩", "C", "frost −3.6\u00a0°C"},
		{"⟨c:-40⟩", "C", "0.0\u00a0°C"},
		{"⟨k:3000⟩ above", "C", "3.0\u00a0K above"},
		{"⟨k:3000⟩ above", "F", "5.4\u00a0°F above"},
		{"from ⟨t:1768375200000⟩", "C", "from 08:20"},
		{"lay ⟨t:1768458600000⟩", "C", "lay Thu 07:30"},
		{"in ⟨t:1769063400000⟩", "C", "in 22 Jan 07:30"},
		{"a ⟨z:1⟩ from a newer core", "C", "a ⟨z:1⟩ from a newer core"},
	} {
		args, err := json.Marshal([]any{c.text, map[string]string{"units": c.units, "zone": "Europe/Berlin"}, 1768374000000})
		if err != nil {
			t.Fatal(err)
		}
		got := eval[string](t, ctx, "import('/app/marks.js').then((m) => m.marks(..."+string(args)+"))")
		if got != c.want {
			t.Errorf("%s in %s: %q, want %q", c.text, c.units, got, c.want)
		}
	}
}

// TestBrowserDateField reads a date field by the shop's wall clock, wherever the
// phone is. Berlin is UTC+1, from 29 March 2026 01:00 UTC on UTC+2; New York is
// UTC-5 in winter (the IANA time zone database, 2025).
func TestBrowserDateField(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := chromedp.Do(ctx, chromedp.Navigate(base+"/")); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ field, zone, want string }{
		{"2026-01-14T08:00", "Europe/Berlin", "2026-01-14T07:00:00.000Z"},
		{"2026-03-29T01:59", "Europe/Berlin", "2026-03-29T00:59:00.000Z"},
		{"2026-03-29T03:00", "Europe/Berlin", "2026-03-29T01:00:00.000Z"},
		{"2026-01-14T08:00", "America/New_York", "2026-01-14T13:00:00.000Z"},
	} {
		got := eval[string](t, ctx, "import('/app/marks.js').then((m) => new Date(m.fromField('"+c.field+"', { zone: '"+c.zone+"' })).toISOString())")
		if got != c.want {
			t.Errorf("%s in %s is %s, want %s", c.field, c.zone, got, c.want)
		}
	}
}

type intent struct {
	Log  struct{ Class, ID string }
	Kind string
	Body map[string]any
}

// written is what the page asked the worker to write, in order.
func written(t *testing.T, ctx context.Context) []intent {
	t.Helper()
	return eval[[]intent](t, ctx, "globalThis.asked.filter((a) => a.type === 'write').map((a) => a.args)")
}

var none = []any{}

// intents are taps of the main job and what the page then asks the worker to write.
var intents = []struct {
	name, hash string
	taps       []string
	log        string
	kind       string
	body       map[string]any
}{
	{"done", "#/job/job-V1", []string{"tick:wipe:left-front"}, "j:job-V1", "tick",
		map[string]any{"stage": "wipe", "panel": "left-front", "zone": "", "answer": "done"}},
	{"from memory", "#/job/job-V1", []string{"tick:wipe:left-front:from-memory"}, "j:job-V1", "tick",
		map[string]any{"stage": "wipe", "panel": "left-front", "zone": "", "answer": "from-memory"}},
	{"a reading in the unit that was touched", "#/job/job-V2", []string{"read:1", "pad-unit-F", "pad-4", "pad-5", "pad-dot", "pad-7", "pad-ok"}, "j:job-V2", "reading",
		map[string]any{"values": []any{map[string]any{"spot": "1", "surface": 7611.0}}, "instrument": "", "answer": "", "typed": "45.7 F"}},
	{"below zero", "#/job/job-V2", []string{"read:1", "pad-3", "pad-dot", "pad-6", "pad-minus", "pad-ok"}, "j:job-V2", "reading",
		map[string]any{"values": []any{map[string]any{"spot": "1", "surface": -3600.0}}, "instrument": "", "answer": "", "typed": "-3.6 C"}},
	{"infrared says what it is set to", "#/job/job-V2", []string{"read:1", "by-infrared", "emissivity-0.92", "pad-9", "pad-ok"}, "j:job-V2", "reading",
		map[string]any{"values": []any{map[string]any{"spot": "1", "surface": 9000.0}}, "instrument": "infrared", "answer": "", "typed": "9 C, emissivity 0.92"}},
	{"a reading names its instrument of the register", "#/job/job-V2", []string{"read:1", "by-probe 2", "pad-9", "pad-ok"}, "j:job-V2", "reading",
		map[string]any{"values": []any{map[string]any{"spot": "1", "surface": 9000.0}}, "instrument": "contact", "with": "probe 2", "answer": "", "typed": "9 C"}},
	{"an instrument out of use", "#/instruments", []string{"look:IR 1", "gone:IR 1"}, "s:", "instrument",
		map[string]any{"name": "IR 1", "sort": "infrared", "error": 1500.0, "rh_error": 0.0, "checked": 1764930000000.0, "against": "ice water", "serial": "A 1179", "gone": true}},
	{"Saturday is shut", "#/hours", []string{"shut:Saturday", "week-save"}, "s:", "shop.hours",
		map[string]any{"week": []any{27e6, 612e5, 27e6, 612e5, 27e6, 612e5, 27e6, 612e5, 27e6, 612e5, 0.0, 0.0, 0.0, 0.0}, "shut": []any{"2026-12-24"}, "porter": 216e5}},
	{"a bay keeps its size", "#/hours", []string{"measures:Bay 4"}, "s:", "place.add",
		map[string]any{"place": "place-4", "name": "Bay 4", "sort": "bay", "order": 4.0, "length": 85e5, "height": 32e5, "door": 29e5}},
	{"air by hand", "#/job/job-V2", []string{"climate", "pad-2", "pad-0", "pad-ok", "pad-7", "pad-5", "pad-ok"}, "p:place-3", "climate.reading",
		map[string]any{"air": 20000.0, "rh": 75000.0, "instrument": "by hand", "typed": "20 C, 75 %"}},
	{"door open is the place's", "#/job/job-V1", []string{"setback:door-open"}, "p:place-2", "place.event",
		map[string]any{"cause": "door-open", "from": 0.0, "to": 0.0, "note": ""}},
	{"touched, where two are wiped: both", "#/job/job-V1", []string{"setback:touched", "which:hood", "which:left-front", "which-save"}, "j:job-V1", "setback",
		map[string]any{"cause": "touched", "panels": []any{"hood", "left-front"}, "zones": none, "from": 0.0, "to": 0.0, "note": ""}},
	{"moved over a road that nobody saw", "#/job/job-V5", []string{"move", "move:Bay 2:unknown"}, "j:job-V5", "job.move",
		map[string]any{"place": "place-2", "at": 0.0, "wet": "unknown"}},
	{"a channel in micrometres, a length in metres", "#/job/job-survey", []string{"form:feature", "pick:sort:channel", "pick:shape:V", "pad-8", "pad-0", "pad-ok", "pad-1", "pad-5", "pad-ok", "pad-2", "pad-dot", "pad-4", "pad-ok", "pick:laid:floor-first", "skip:plan"}, "j:job-survey", "feature",
		map[string]any{"panel": "left-rear", "id": "channel-2", "sort": "channel", "shape": "V", "width": 80000.0, "depth": 15000.0, "length": 2400000.0, "laid": "floor-first"}},
	// An inch is 25.4 mm exactly (international yard and pound agreement, 1959).
	{"a channel in inches", "#/job/job-survey", []string{"form:feature", "pick:sort:gap", "unit-in", "pad-2", "pad-ok", "pick:moving:true"}, "j:job-survey", "feature",
		map[string]any{"panel": "left-rear", "id": "gap-1", "sort": "gap", "width": 50800.0, "moving": true}},
	{"half a dome's foot", "#/job/job-survey", []string{"form:feature", "pick:sort:dome", "pad-1", "pad-8", "pad-0", "pad-ok", "pad-3", "pad-5", "pad-ok", "skip:length", "skip:laid", "skip:plan"}, "j:job-survey", "feature",
		map[string]any{"panel": "left-rear", "id": "dome-1", "sort": "dome", "half_width": 90000.0, "height": 35000.0}},
	{"a seam, and what lies under it", "#/job/job-survey", []string{"form:feature", "pick:sort:seam", "skip:length", "pick:moving:false", "pick:under:hood", "pick:force:airflow"}, "j:job-survey", "feature",
		map[string]any{"panel": "left-rear", "id": "seam-1", "sort": "seam", "moving": false, "under": "hood", "force": "airflow"}},
	{"flat is an answer", "#/job/job-survey", []string{"flat"}, "j:job-survey", "feature", map[string]any{"panel": "left-rear", "id": "flat-1", "sort": "flat"}},
	{"unknown is an answer", "#/job/job-asks", []string{"asked:film-age:unknown"}, "j:job-asks", "asked", map[string]any{"what": "film-age", "answer": "unknown"}},
	// 2 mil is 50.8 micrometres, kept as whole ones.
	{"a film with what nobody knows left out", "#/job/job-film", []string{"form:film", "pick:panels:left-rear", "pick:family:cast-print", "pick:laminate:cast", "skip:adhesive", "unit-mil", "pad-2", "pad-ok", "pick:printed:true", "skip:months", "skip:batch", "skip:roll", "skip:sheet"}, "j:job-film", "film",
		map[string]any{"panels": []any{"left-rear"}, "family": "cast-print", "laminate": "cast", "thickness": 51.0, "printed": true}},
	{"laying has a beginning", "#/job/job-lay", []string{"begin:lay:left-rear"}, "j:job-lay", "tick", map[string]any{"stage": "lay", "panel": "left-rear", "zone": "", "answer": "started"}},
	{"heat that nobody measured", "#/job/job-heat", []string{"heat-not-measured"}, "j:job-heat", "heat", map[string]any{"panel": "left-rear", "answer": "not-measured"}},
	{"rivets by count", "#/job/job-heat", []string{"pace", "pace:all", "guns-2", "rivet-10", "rivet-1", "rivet-1", "gun-film", "by-contact", "pad-9", "pad-5", "pad-ok", "gun-part"}, "j:job-heat", "heat",
		map[string]any{"panel": "left-rear", "length": 0.0, "took": 0.0, "guns": 2.0, "rivets": 12.0, "films": []any{95000.0}, "answer": "part", "instrument": "contact", "emissivity": 0.0}},
	{"a pin at the edges, done again", "#/job/job-pin", []string{"pin-redone"}, "j:job-pin", "finding.answer", map[string]any{"writer": "w", "seq": 40.0, "answer": "redone", "note": ""}},
	{"risen of all", "#/job/job-count", []string{"form:risen", "pad-4", "pad-0", "pad-ok", "pad-1", "pad-ok"}, "j:job-count", "evidence", map[string]any{"what": "risen", "of": 40.0, "count": 1.0, "passed": true}},
	{"a number of the shop", "#/rules", []string{"rule-change:dry_rh", "pad-6", "pad-5", "pad-ok"}, "s:", "rules.set",
		map[string]any{"values": map[string]any{"surface_floor": 15556.0, "margin": 3000.0, "dry_rh": 65000.0, "dry_hours": 43200000.0, "card_strips": 8.0}}},
	{"a pin on the drawing says panel and walk", "#/job/job-V5", []string{"pin-w:hood", "finding-rust", "size-20", "finding-save"}, "j:job-V5", "finding",
		map[string]any{"panel": "hood", "place": "", "what": "rust", "photo": "", "note": "", "walk": "clean", "size": 20000.0}},
	{"an owner who will not sign", "#/job/job-V5", []string{"owner-absent", "absent-will-not"}, "j:job-V5", "note",
		map[string]any{"text": "Owner will not sign, on clean paint."}},
	{"six dry strips", "#/job/job-V5", []string{"evidence:card-strips", "strips-6", "evidence-passed"}, "j:job-V5", "evidence",
		map[string]any{"what": "card-strips", "zone": "", "passed": true, "count": 6.0, "note": ""}},
}

// TestBrowserIntents taps and looks at what the page asks the worker to write.
func TestBrowserIntents(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	for _, c := range intents {
		t.Run(c.name, func(t *testing.T) {
			if err := open(ctx, base, screen{hash: c.hash, taps: c.taps, want: "undo"}, "day"); err != nil {
				t.Fatal(err)
			}
			got := written(t, ctx)
			if len(got) != 1 || got[0].Log.Class+":"+got[0].Log.ID != c.log || got[0].Kind != c.kind || !reflect.DeepEqual(got[0].Body, c.body) {
				t.Errorf("wrote %v, want one %s to %s: %v", got, c.kind, c.log, c.body)
			}
		})
	}
	t.Run("undo strikes that line", func(t *testing.T) {
		if err := open(ctx, base, screen{hash: "#/job/job-V1", taps: []string{"tick:wipe:left-front", "undo"}, want: "gate-now"}, "day"); err != nil {
			t.Fatal(err)
		}
		if err := until(ctx, "globalThis.asked.some((a) => a.type === 'undo' && a.args.seq === 31 && a.args.log.id === 'job-V1')"); err != nil {
			t.Error(err)
		}
	})
	t.Run("several are flat: a line for each, taken back at once", func(t *testing.T) {
		if err := open(ctx, base, screen{hash: "#/job/job-survey", taps: []string{"flats", "flats-all", "flat:left-front", "flat:left-front", "flats-save", "undo"}, want: "flats"}, "day"); err != nil {
			t.Fatal(err)
		}
		if err := until(ctx, `((all) => JSON.stringify(all[0]?.args.lines?.map((l) => [l.log.id, l.kind, l.body.panel, l.body.id, l.body.sort]).sort()) === '[["job-survey","feature","left-front","flat-1","flat"],["job-survey","feature","left-rear","flat-1","flat"]]'
			&& all[1]?.args.kind === 'strike' && all[1].args.log.id === 'job-survey' && all[1].args.strikes.map((s) => s.seq).join() === '31,32')(globalThis.asked.filter((a) => a.type === 'write'))`); err != nil {
			t.Error(err, eval[string](t, ctx, "JSON.stringify(globalThis.asked)"))
		}
	})
	t.Run("who somebody is, corrected: the same person again", func(t *testing.T) {
		if err := open(ctx, base, screen{hash: "#/setup", taps: []string{"person-correct:Mirre", "role-crew", "person-save"}, want: "refusal"}, "day"); err != nil {
			t.Fatal(err)
		}
		if words := eval[string](t, ctx, id("refusal")+".innerText"); !strings.Contains(words, "needs a lead") {
			t.Errorf("the last lead is told %q", words)
		}
		if err := open(ctx, base, screen{hash: "#/setup", taps: []string{"person-correct:Jolan", "role-lead", "person-save"}, want: "undo"}, "day"); err != nil {
			t.Fatal(err)
		}
		if got, want := written(t, ctx), (map[string]any{"person": "person-0", "name": "Jolan", "initials": "J", "role": "lead"}); len(got) != 1 || got[0].Kind != "person.add" || !reflect.DeepEqual(got[0].Body, want) {
			t.Errorf("wrote %v, want %v", got, want)
		}
	})
	// The sample shop is in Berlin, in winter an hour before UTC: 07:10 there is
	// 1768371000 s after the epoch (date -u -d @1768371000).
	t.Run("a job card is entered with its own times", func(t *testing.T) {
		if err := open(ctx, base, screen{hash: "#/late/job-V1", want: "late-at"}, "day"); err != nil {
			t.Fatal(err)
		}
		eval[bool](t, ctx, "((e) => { e.value = '2026-01-14T07:10'; e.dispatchEvent(new Event('input')); return true; })("+id("late-at")+")")
		for _, tap := range []string{"late-by:P", "late:wipe:left-front:done", "late-on:15", "late-read:1", "pad-7", "pad-ok"} {
			if err := until(ctx, fmt.Sprintf("((e) => e && (e.click(), true))(%s)", id(tap))); err != nil {
				t.Fatal(err)
			}
		}
		if err := until(ctx, "globalThis.asked.filter((a) => a.type === 'write').length === 2"); err != nil {
			t.Fatal(err)
		}
		got := written(t, ctx)
		if want := map[string]any{"stage": "wipe", "panel": "left-front", "zone": "", "answer": "done", "at": 1768371000000.0}; got[0].Kind != "tick" || !reflect.DeepEqual(got[0].Body, want) {
			t.Errorf("wrote %v, want %v", got[0], want)
		}
		if got[1].Kind != "reading" || got[1].Body["at"] != 1768371900000.0 {
			t.Errorf("wrote %v, want a reading of a quarter of an hour later", got[1])
		}
		const named = "globalThis.asked.filter((a) => a.type === 'me').map((a) => a.args.person).join()"
		if got := eval[string](t, ctx, named); got != "person-2" {
			t.Errorf("the lines are in the name of %q, not of whose initials stand there", got)
		}
		// Whichever way the card is put away, who was tapped before (the samples: the first of the crew) is tapped again.
		eval[bool](t, ctx, "(location.hash = '#/board', true)")
		if err := until(ctx, named+" === 'person-2,person-0'"); err != nil {
			t.Errorf("afterwards %q is tapped", eval[string](t, ctx, named))
		}
	})
	t.Run("the lead adopts a typed time with one touch", func(t *testing.T) {
		if err := open(ctx, base, screen{hash: "#/late/job-V5", taps: []string{"adopt"}, want: "undo"}, "day"); err != nil {
			t.Fatal(err)
		}
		got := written(t, ctx)
		if want := map[string]any{"writer": "w", "seq": 17.0}; len(got) != 1 || got[0].Kind != "time.adopt" || !reflect.DeepEqual(got[0].Body, want) {
			t.Errorf("wrote %v, want one time.adopt of %v", got, want)
		}
	})
	t.Run("no number, nothing written", func(t *testing.T) {
		if err := open(ctx, base, screen{hash: "#/job/job-V2", taps: []string{"read:1", "pad-dot", "pad-ok"}, want: "refusal"}, "day"); err != nil {
			t.Fatal(err)
		}
		if got := written(t, ctx); len(got) != 0 {
			t.Errorf("wrote %v", got)
		}
	})
	t.Run("a line without a name asks for one, then is written", func(t *testing.T) {
		if err := open(ctx, base, screen{query: "me=none", hash: "#/job/job-V1", taps: []string{"tick:wipe:left-front", "person:J"}, want: "undo"}, "day"); err != nil {
			t.Fatal(err)
		}
		if got := written(t, ctx); len(got) != 1 {
			t.Errorf("wrote %v, want the one tick", got)
		}
	})
}

// TestBrowserMarkupIsText shows names that hold markup as what they are.
func TestBrowserMarkupIsText(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{hash: "#/job/job-V1", want: "finding-add"}, "day"); err != nil {
		t.Fatal(err)
	}
	if !eval[bool](t, ctx, "document.querySelector('.found').textContent.includes('lower edge <left>') && !document.querySelector('left')") {
		t.Error("a finding's place with angle brackets is not shown as it was typed")
	}
}

// TestBrowserCameraDraft stores what a photo is for before the camera opens,
// and comes back to it when the phone threw the page away meanwhile.
func TestBrowserCameraDraft(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{hash: "#/job/job-V5", want: "photo-input"}, "day"); err != nil {
		t.Fatal(err)
	}
	eval[bool](t, ctx, id("photo-input")+".dispatchEvent(new Event('click'))")
	if err := until(ctx, "globalThis.asked.some((a) => a.type === 'draft' && a.args.set?.job === 'job-V5')"); err != nil {
		t.Fatal(err)
	}
	if err := open(ctx, base, screen{query: "camera", hash: "#/", want: "job"}, "day"); err != nil {
		t.Fatal(err)
	}
	if got := eval[string](t, ctx, "location.hash"); got != "#/job/job-V5" {
		t.Errorf("came back to %s", got)
	}
}

// TestBrowserKeyboard takes a reading without a pointer: the pad opens from its
// button, keys type wherever the focus is, Enter writes it down, Escape closes
// and gives the focus back.
func TestBrowserKeyboard(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{hash: "#/job/job-V2", want: "read:1"}, "day"); err != nil {
		t.Fatal(err)
	}
	keys := func(s string) {
		t.Helper()
		if err := chromedp.Do(ctx, chromedp.KeyEvent(s)); err != nil {
			t.Fatal(err)
		}
	}
	focused := func(testid string) {
		t.Helper()
		if err := until(ctx, "document.activeElement?.dataset.testid === '"+testid+"'"); err != nil {
			t.Fatal(err)
		}
	}
	eval[bool](t, ctx, "("+id("read:1")+".focus(), true)")
	keys(kb.Enter)
	if err := until(ctx, id("pad")); err != nil {
		t.Fatal(err)
	}
	keys("7.9")
	keys(kb.Backspace)
	keys("6")
	keys(kb.Enter)
	if err := until(ctx, "!document.querySelector('dialog[open]')"); err != nil {
		t.Fatal(err)
	}
	focused("read:1")
	if got := written(t, ctx); len(got) != 1 || got[0].Body["typed"] != "7.6 C" {
		t.Errorf("wrote %v, want one reading of 7.6 C", got)
	}
	// The pad is gone while Enter is still down and the button has the focus
	// again: neither the rest of the press nor a held key opens it once more.
	held := input.DispatchKeyEventParams{Type: kb.KeyDown, Key: "Enter", Code: "Enter", WindowsVirtualKeyCode: 13, Text: "\r", AutoRepeat: new(true)}
	if err := chromedp.Do(ctx, chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, input.DispatchKeyEvent, held)
		return err
	})); err != nil {
		t.Fatal(err)
	}
	if eval[bool](t, ctx, "!!document.querySelector('dialog[open]')") {
		t.Error("a held Enter opened the pad again")
	}
	keys(kb.Enter)
	if err := until(ctx, id("pad")); err != nil {
		t.Fatal(err)
	}
	keys(kb.Escape)
	if err := until(ctx, "!document.querySelector('dialog[open]')"); err != nil {
		t.Fatal(err)
	}
	focused("read:1")
}

// TestBrowserSignals says what rings: a wait that ended, work that was stopped,
// a wipe that ran out; not a count that goes on, nor a panel that was laid.
func TestBrowserSignals(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := chromedp.Do(ctx, chromedp.Navigate(base+"/")); err != nil {
		t.Fatal(err)
	}
	const far = "99999999999999"
	for _, c := range []struct{ name, before, after, want string }{
		{"wait ended", `{gate: {state: 'waits'}}`, `{gate: {state: 'open'}}`, "up"},
		{"count goes on", `{gate: {state: 'waits'}}`, `{gate: {state: 'waits'}}`, ""},
		{"stopped", `{gate: {state: 'open'}}`, `{gate: {state: 'held'}}`, "down"},
		{"reading too old", `{gate: {state: 'open'}}`, `{gate: {state: 'unknown'}}`, "down"},
		{"wipe ran out", `{panels: [{id: 'a', gate: {}, wipe: {state: 'good', until: ` + far + `}}]}`, `{panels: [{id: 'a', gate: {}, wipe: {state: 'stale'}}]}`, "down"},
		{"wipe ran out between two views", `{came: -1e9, panels: [{id: 'a', gate: {}, wipe: {state: 'good', until: 5}}]}`, `{panels: [{id: 'a', gate: {}, wipe: {state: 'stale', until: 5}}]}`, "down"},
		{"laid meanwhile", `{panels: [{id: 'a', gate: {}, wipe: {state: 'good', until: ` + far + `}}]}`, `{panels: [{id: 'a', gate: null, wipe: {state: 'stale'}}]}`, ""},
	} {
		got := eval[string](t, ctx, "import('/app/views/signals.js').then((m) => m.change({now: 1, ..."+c.before+"}, {now: 2, ..."+c.after+"}))")
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestBrowserGunAfterReload finds a run of the gun that a page before this one
// left: 60 s at 1 inch in 2.5 s are 24 inches, 609.6 mm. It is written as the
// part that it is.
func TestBrowserGunAfterReload(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{query: "gun", hash: "#/job/job-heat", taps: []string{"gun-on", "gun-part"}, want: "undo"}, "day"); err != nil {
		t.Fatal(err)
	}
	got := written(t, ctx)
	if len(got) != 1 || got[0].Kind != "heat" || got[0].Body["answer"] != "part" || got[0].Body["length"] != 609600.0 || got[0].Body["took"] != 60000.0 {
		t.Errorf("wrote %v, want a part of 609600 micrometres in 60000 ms", got)
	}
	if !eval[bool](t, ctx, "globalThis.asked.some((a) => a.type === 'draft' && a.args.name === 'pace:job-heat' && !a.args.get && !a.args.set)") {
		t.Error("the draft is not forgotten once it is a line")
	}
}

// TestBrowserGunStopsWhenHidden starts the gun and hides the page, as a call
// does: the run is paused, and kept.
func TestBrowserGunStopsWhenHidden(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{hash: "#/job/job-heat", taps: []string{"pace", "pace:all", "gun-go"}, want: "gun-pause"}, "day"); err != nil {
		t.Fatal(err)
	}
	eval[bool](t, ctx, `(Object.defineProperty(document, 'hidden', {get: () => true, configurable: true}), document.dispatchEvent(new Event('visibilitychange')))`)
	if err := until(ctx, id("gun-go")); err != nil {
		t.Fatal("the gun goes on behind a page that nobody sees")
	}
	if !eval[bool](t, ctx, "globalThis.asked.some((a) => a.type === 'draft' && a.args.set?.panel === 'left-rear' && a.args.set.since === 0)") {
		t.Error("how far it came is not kept")
	}
}
