package pwa_test

import "testing"

// TestBrowserPaintsWhatIsSeen counts what a full phone's page thread is spared:
// rows of a long list that are far out of sight are not laid out before
// somebody scrolls there, folded lines are not drawn, and a view that says the
// same again, or a sheet over the page, changes nothing of the vehicle's
// drawing. How long it takes is for BenchmarkBudgetLongTask.
func TestBrowserPaintsWhatIsSeen(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	for _, list := range []struct{ hash, want, row, fill string }{
		{"#/", "home", ".vehicle", `app.views['home:'].jobs = many(app.views['home:'].jobs[0])`},
		{"#/board", "board", ".stay", `app.views['board:'].places[0].jobs = many(app.views['board:'].places.find((p) => p.jobs?.length).jobs[0])`},
	} {
		if err := open(ctx, base, screen{hash: list.hash, want: list.want}, "day"); err != nil {
			t.Fatal(err)
		}
		// checkVisibility is of CSSOM View, contentVisibilityAuto of it too.
		for _, wrong := range eval[[]string](t, ctx, `import('/app/views/app.js').then(async ({ app, paint }) => {
			const many = (one) => Array.from({ length: 60 }, (_, i) => ({ ...one, id: 'far-' + i, label: 'F' + i })), bad = [];
			const frame = () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done))));
			`+list.fill+`;
			paint();
			await frame();
			const rows = [...document.querySelectorAll('`+list.row+`')].filter((e) => e.hash.includes('far-')), laid = (e) => e.querySelector('.label').checkVisibility({ contentVisibilityAuto: true });
			if (rows.length !== 60) bad.push(rows.length + ' rows, want 60');
			if (!laid(rows[0])) bad.push('the first row is not laid out');
			if (laid(rows[59])) bad.push('the last row is laid out, far out of sight');
			rows[59].focus();
			await frame();
			if (document.activeElement !== rows[59] || !laid(rows[59])) bad.push('the last row has no focus, or is not laid out with it');
			return bad;
		})`) {
			t.Errorf("%s: %s", list.want, wrong)
		}
	}

	if err := open(ctx, base, screen{hash: "#/job/job-V5", want: "lines"}, "day"); err != nil {
		t.Fatal(err)
	}
	const lines = "document.querySelectorAll('[data-testid=lines] li').length"
	if n := eval[int](t, ctx, lines); n != 0 {
		t.Errorf("%d lines are drawn inside what is folded", n)
	}
	eval[bool](t, ctx, "("+id("lines")+".open = true)")
	if err := until(ctx, lines+" > 0"); err != nil {
		t.Error(err)
	}
	eval[bool](t, ctx, `(globalThis.changed = [], new MutationObserver((all) => changed.push(...all.map((m) => m.type + ' ' + (m.target.className ?? m.target.data)))).observe(
		document.querySelector('.vehicle-map'), { subtree: true, childList: true, attributes: true, characterData: true }), true)`)
	for _, step := range []struct{ act, then string }{
		{id("note-add") + ".click()", id("note-text")},
		{`((e) => { e.value = 'soft edge'; e.dispatchEvent(new Event('input')); })(` + id("note-text") + "), " + id("note-save") + ".click()", id("undo") + " && !document.querySelector('dialog[open]')"},
		{`import('/app/views/app.js').then(({ app, job }) => { const before = job(); globalThis.again = () => job() !== before; app.shop.ask('view', { name: 'job', id: 'job-V5' }); })`, "globalThis.again?.()"},
	} {
		eval[bool](t, ctx, "("+step.act+", true)")
		if err := until(ctx, step.then); err != nil {
			t.Fatal(err)
		}
	}
	if got := eval[[]string](t, ctx, "new Promise((done) => requestAnimationFrame(() => setTimeout(() => done(changed))))"); len(got) > 0 {
		t.Errorf("the drawing changed %d times while a note was written: %v", len(got), got)
	}
}
