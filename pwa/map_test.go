package pwa_test

import (
	"testing"

	"github.com/chromedp/chromedp"
)

// TestBrowserEveryPanelIsDrawn goes through the vehicles that a shop can bring
// in: each has a drawing, each of its panels a place on it, no two panels the
// same place, and none outside the body. So do the panels of the demo shop.
func TestBrowserEveryPanelIsDrawn(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := chromedp.Do(ctx, chromedp.Navigate(base+"/")); err != nil {
		t.Fatal(err)
	}
	for _, fault := range eval[[]string](t, ctx, `(async () => {
		const { bodyOf, regionsOf, box, sizeOf, bodies } = await import('/app/views/bodies.js');
		const { sorts } = await import('/app/views/vehicles.js');
		const demo = [
			['van with loaded racks', ['left-shoulder', 'right-shoulder', 'left-lower', 'right-lower']],
			['long high-roof van', ['roof', 'rear-doors', 'left-side', 'bonnet', 'left-wing']],
			['medium van', ['left-side', 'right-side', 'rear-doors', 'sills']],
			['small car', ['hood']],
			['12 m city bus', ['drop-1', 'drop-2', 'drop-3', 'drop-4']],
		];
		const bad = [], used = new Set();
		for (const [vehicle, ids] of [...sorts.map((s) => [s.name.toLowerCase(), s.panels.map((p) => p.id)]), ...demo]) {
			const body = bodyOf(vehicle, ids), [w, h] = sizeOf(body), taken = [];
			used.add(body);
			for (const id of ids) {
				const regions = regionsOf(body, id, ids);
				if (!regions.length) bad.push(vehicle + ': no place for ' + id);
				for (const r of regions) {
					const b = box(body, r), key = JSON.stringify(b);
					if (b.x < -0.5 || b.y < -0.5 || b.x + b.w > w + 0.5 || b.y + b.h > h + 0.5) bad.push(vehicle + ': ' + id + ' is outside the body: ' + key);
					if (b.w < 54 || b.h < 54) bad.push(vehicle + ': ' + id + ' is too small for a glove: ' + key);
					for (const [other, o] of taken) {
						if (Math.min(b.x + b.w, o.x + o.w) - Math.max(b.x, o.x) > 1 && Math.min(b.y + b.h, o.y + o.h) - Math.max(b.y, o.y) > 1) bad.push(vehicle + ': ' + id + ' lies on ' + other);
					}
					taken.push([id, b]);
				}
			}
		}
		for (const [name, body] of Object.entries(bodies)) if (!used.has(body)) bad.push('no vehicle is drawn as ' + name);
		return bad;
	})()`) {
		t.Error(fault)
	}
}

// TestBrowserPinsGoBackToTheirPlace points at every ninth of a panel of each
// face: the words of the place put the pin back into the same ninth. Front is
// up; on the left side low is outside, left, as on a body cut open and laid flat.
func TestBrowserPinsGoBackToTheirPlace(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := chromedp.Do(ctx, chromedp.Navigate(base+"/")); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		face string
		x, y float64
		want string
	}{
		{"L", 0.1, 0.1, "low, front"}, {"L", 0.9, 0.9, "high, rear"}, {"L", 0.5, 0.5, "mid-height, middle"},
		{"R", 0.9, 0.1, "low, front"}, {"R", 0.1, 0.9, "high, rear"},
		{"T", 0.1, 0.1, "front, left"}, {"T", 0.9, 0.5, "middle, right"},
	} {
		got := eval[[]any](t, ctx, `(async () => {
			const { placeAt, spotOf } = await import('/app/views/pins.js');
			const on = { getBoundingClientRect: () => ({ left: 100, top: 50, width: 200, height: 400 }) };
			const r = { face: `+js(c.face)+`, x: 0, y: 0, w: 90, h: 140 }, b = { high: 140, strip: 80 };
			const words = placeAt({ detail: 1, clientX: 100 + 200 * `+js(c.x)+`, clientY: 50 + 400 * `+js(c.y)+`, currentTarget: on }, r, b);
			const s = spotOf(words, r, b, 0);
			return [words, Math.floor(s.x * 3) === Math.floor(`+js(c.x)+` * 3) && Math.floor(s.y * 3) === Math.floor(`+js(c.y)+` * 3)];
		})()`)
		if got[0] != c.want || got[1] != true {
			t.Errorf("%s at %v, %v: %v, want %s and back", c.face, c.x, c.y, got, c.want)
		}
	}
	if got := eval[string](t, ctx, `import('/app/views/pins.js').then((m) => m.placeAt({ detail: 0 }, {}, {}))`); got != "" {
		t.Errorf("a keyboard points nowhere, not at %q", got)
	}
}
