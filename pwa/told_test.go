package pwa_test

import (
	"context"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// A hand on film is told by a buzz only while the page is seen, and the screen
// stays awake only while a clock runs that may ring. A caution line is there
// until its step has its first line.
func TestBrowserTold(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{hash: "#/job/job-heat", want: "caution"}, "day"); err != nil {
		t.Fatal(err)
	}
	for _, wrong := range eval[[]string](t, ctx, `(async () => {
		const [signals, steps, lit, { app }] = await Promise.all(['views/signals.js', 'views/steps.js', 'vendor/lit-html.js', 'views/app.js'].map((m) => import('/app/' + m)));
		const bad = [], buzz = [], is = (what, got, want) => { if (JSON.stringify(got) !== JSON.stringify(want)) bad.push(what + ': ' + JSON.stringify(got) + ', want ' + JSON.stringify(want)); };
		Object.defineProperty(Navigator.prototype, 'vibrate', { configurable: true, value: (p) => { buzz.push(p); return true; } });
		const job = (state, wipe, until = 0) => ({ now: 1000, gate: { state, until }, panels: [{ id: 'hood', gate: { state }, wipe: { state: wipe, until: 5000 } }] });
		signals.ring('up');
		signals.ring('');
		is('buzzes while it is seen', buzz.length, 1);
		Object.defineProperty(document, 'hidden', { configurable: true, get: () => true });
		signals.ring('down');
		is('buzzes while it is hidden', buzz.length, 1);
		delete document.hidden;

		let locks = 0, released = 0;
		Object.defineProperty(Navigator.prototype, 'wakeLock', { configurable: true, value: { request: async () => { locks++; return { release: async () => { released++; } }; } } });
		await signals.keepAwake({ ...job('held', 'none'), came: performance.now() });
		is('awake for nothing', locks, 0);
		await signals.keepAwake({ ...job('waits', 'none', 1000 + 6 * 60_000), came: performance.now() });
		is('awake while a wait ends soon', [locks, released], [1, 0]);
		await signals.keepAwake(null);
		is('awake after it', [locks, released], [1, 1]);

		const view = app.views['job:job-heat'], begun = { ...view, stages: view.stages.map((s) => s.key === view.gate.stage ? { ...s, gates: [...s.gates, { state: 'done' }] } : s) };
		is('a caution before the first line', steps.caution(view) !== lit.nothing, true);
		is('a caution after the first line', steps.caution(begun) !== lit.nothing, false);
		return bad;
	})()`) {
		t.Error(wrong)
	}
}

// Beside the dot that a gate asks for, the lot draws one: the same on every phone
// for a day, whatever else comes to be asked for, never one that is asked for
// anyway, and in half a year each of the others about as often. With nothing asked
// for, none.
func TestBrowserAnotherDotByLot(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{hash: "#/job/job-V2", want: "read:1"}, "day"); err != nil {
		t.Fatal(err)
	}
	for _, wrong := range eval[[]string](t, ctx, `import('/app/views/readings.js').then(({ drawn }) => {
		const spots = [1, 2, 3, 4, 5].map((id) => ({ id, ask: id === 2 })), bad = [], days = { 1: 0, 3: 0, 4: 0, 5: 0 };
		for (let day = 20_000; day < 20_180; day++) {
			const one = drawn(spots, 'job' + day);
			if (one !== drawn(spots, 'job' + day)) bad.push('two draws of one day differ');
			days[one.id]++;
			for (const other of spots.filter((s) => !s.ask && s !== one)) if (drawn(spots.map((s) => s === other ? { ...s, ask: true } : s), 'job' + day)?.id !== one.id) bad.push('the lot moved because dot ' + other.id + ' was asked for');
		}
		// Four dots in 180 days: 45 each, give or take four standard deviations of the
		// binomial, 4 x 5.8; one that is asked for anyway would be no number.
		for (const [id, n] of Object.entries(days)) if (!(Math.abs(n - 45) <= 23)) bad.push('dot ' + id + ' on ' + n + ' of 180 days');
		if (drawn(spots.map((s) => ({ ...s, ask: false })), 'job') || drawn([], 'job')) bad.push('a dot was drawn that no gate asks beside');
		return bad;
	})`) {
		t.Error(wrong)
	}
}

// Whoever asks the phone for more contrast gets the 7 to 1 of WCAG 2.2, 1.4.6;
// in the system's own colours every text can still be read; whoever asks for
// less motion sees none.
func TestBrowserContrastAndMotion(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	media := func(name, value string) {
		t.Helper()
		if err := chromedp.Do(ctx, chromedp.Func(func(ctx context.Context, tab *chromedp.Target) error {
			return tab.Call(ctx, "Emulation.setEmulatedMedia", emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: name, Value: value}}}, nil)
		})); err != nil {
			t.Fatal(err)
		}
	}
	for _, s := range []screen{{hash: "#/job/job-V1", want: "tick:wipe:left-front"}, {hash: "#/job/job-V2", taps: []string{"read:1"}, want: "pad"}, {hash: "#/job/job-V5", want: "waive"}} {
		for _, light := range []string{"day", "night"} {
			media("prefers-contrast", "no-preference")
			if err := open(ctx, base, s, light); err != nil {
				t.Fatal(err)
			}
			eval[bool](t, ctx, `import('/axe.js').then(() => true)`)
			for _, asked := range []struct{ name, value, rule string }{{"prefers-contrast", "more", "color-contrast-enhanced"}, {"forced-colors", "active", "color-contrast"}} {
				media(asked.name, asked.value)
				for _, f := range eval[[]string](t, ctx, judge("runOnly: ['"+asked.rule+"'], rules: { '"+asked.rule+"': { enabled: true } }")) {
					t.Errorf("%s, %s, %s: %s", s.hash, light, asked.name, f)
				}
			}
			media("prefers-reduced-motion", "reduce")
			if moves := eval[[]string](t, ctx, `[...document.querySelectorAll('*')].filter((e) => !/^0s(, 0s)*$/.test(getComputedStyle(e).transitionDuration) || getComputedStyle(e).animationName !== 'none').map((e) => e.className).slice(0, 3)`); len(moves) > 0 {
				t.Errorf("%s, %s: with less motion asked for these move: %q", s.hash, light, moves)
			}
		}
	}
}
