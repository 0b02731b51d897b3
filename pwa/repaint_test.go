package pwa_test

import (
	"slices"
	"testing"
)

// awaitFrame has a script wait in a page until what was painted has been laid out and seen.
const awaitFrame = `const frame = () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done))));`

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
			`+awaitFrame+`
			`+list.fill+`;
			paint();
			const far = () => [...document.querySelectorAll('`+list.row+`')].filter((e) => e.hash.includes('far-'));
			for (let i = 0; i < 100 && far().length < 60; i++) await frame(); // drawn bit by bit
			await frame();
			const rows = far(), laid = (e) => e.querySelector('.label').checkVisibility({ contentVisibilityAuto: true });
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
	if err := until(ctx, "document.querySelector('.settled')"); err != nil {
		t.Fatal(err)
	}
	for _, wrong := range eval[[]string](t, ctx, `(async () => {
		`+awaitFrame+`
		const far = `+id("note-add")+`, where = () => far.getBoundingClientRect().y + ' of ' + document.documentElement.scrollHeight, bad = [];
		await frame();
		const all = where();
		document.adoptedStyleSheets = []; // as a phone has it
		await frame();
		if (far.checkVisibility({ contentVisibilityAuto: true })) bad.push('what else can be done with a vehicle is laid out, far out of sight');
		if (where() !== all) bad.push('it stands at ' + where() + ', and at ' + all + ' when all is laid out');
		return bad;
	})()`) {
		t.Error(wrong)
	}
	const lines = "document.querySelectorAll('[data-testid=lines] li').length"
	if n := eval[int](t, ctx, lines); n != 0 {
		t.Errorf("%d lines are drawn inside what is folded", n)
	}
	eval[bool](t, ctx, "("+id("lines")+".open = true)")
	if err := until(ctx, lines+" > 0"); err != nil {
		t.Error(err)
	}
	eval[bool](t, ctx, `(globalThis.changed = [], new MutationObserver((all) => changed.push(...all.filter((m) => m.attributeName !== 'inert').map((m) => m.type + ' ' + (m.target.className ?? m.target.data)))).observe(
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

// TestBrowserDrawsBitByBit: a list of sixty opens with the rows that fill a phone's
// screen (844 px, less the head and the dock; a row is 140 px as a rule: 4), no later
// task draws more than six, and soon it is whole, in its order. A view that
// comes in between leaves nothing of the one before. A vehicle opens with its
// answer, and is whole soon after. How long a task takes is for
// BenchmarkBudgetLongTask.
func TestBrowserDrawsBitByBit(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	for _, list := range []struct{ hash, view, row, jobs string }{
		{"#/", "home", ".vehicle", "view"},
		{"#/board", "board", ".stay", "view.places[0]"},
	} {
		if err := open(ctx, base, screen{hash: "#/phone", want: "phone"}, "day"); err != nil {
			t.Fatal(err)
		}
		for _, wrong := range eval[[]string](t, ctx, `Promise.all([import('/app/views/app.js'), import('/app/views/bits.js')]).then(async ([{ app, paint }, { settled }]) => {
			const many = (as, view) => {
				const one = (view.jobs ?? view.places.flatMap((p) => p.jobs ?? []))[0];
				`+list.jobs+`.jobs = Array.from({ length: 60 }, (_, i) => ({ ...one, id: as + i, label: as + i }));
				return view;
			};
			if ('`+list.view+`' !== 'home') app.shop.ask('view', { name: '`+list.view+`', id: '' }); // that one the page asks for itself
			while (!app.views['`+list.view+`:']) await new Promise((done) => setTimeout(done));
			const view = app.views['`+list.view+`:'], rows = () => [...document.querySelectorAll('`+list.row+`')].map((e) => e.hash.slice('#/job/'.length)), bad = [];
			app.shop.ask = async () => {}; // nothing else comes in
			globalThis.told = 0;
			app.views['`+list.view+`:'] = many('F', structuredClone(view));
			const drawn = []; // after each task
			const whole = new Promise((done) => new MutationObserver(() => {
				const now = rows();
				if (!now.length || now.length === drawn.at(-1)) return;
				if (!drawn.length) {
					app.views['`+list.view+`:'] = many('G', structuredClone(view));
					paint();
				}
				drawn.push(now.length);
				if (now.filter((id) => /^[FG]/.test(id)).length >= 60) done();
			}).observe(document.getElementById('page'), { subtree: true, childList: true }));
			location.hash = '`+list.hash+`';
			await whole;
			const now = rows().filter((id) => /^[FG]/.test(id)), want = Array.from({ length: 60 }, (_, i) => 'G' + i);
			if (now.join() !== want.join()) bad.push('at the end there is ' + now);
			if (told < drawn.length - 1) bad.push('the worker was told ' + told + ' times that the page draws, in ' + drawn.length + ' tasks');
			while (!settled()) await new Promise((done) => setTimeout(done));
			globalThis.told = 0;
			paint();
			await new Promise((done) => setTimeout(done));
			if (told) bad.push('of a screen that is whole the worker is told that it is drawn');
			if (drawn[0] > 4) bad.push('the first task drew ' + drawn[0]);
			if (drawn.some((n, i) => n - (drawn[i - 1] ?? 0) > 6)) bad.push('a task drew more than 6: ' + drawn);
			return bad;
		})`) {
			t.Errorf("%s: %s", list.hash, wrong)
		}
	}

	if err := open(ctx, base, screen{hash: "#/", want: "home"}, "day"); err != nil {
		t.Fatal(err)
	}
	eval[bool](t, ctx, `(globalThis.first = '', new MutationObserver(() => { if (`+id("gate-now")+`) first ||= `+id("lines")+` ? 'all' : 'answer'; }).observe(document.getElementById('page'), { subtree: true, childList: true }),
		location.hash = '#/job/job-V5', true)`)
	if err := until(ctx, id("lines")); err != nil {
		t.Fatal(err)
	}
	if got := eval[string](t, ctx, "first"); got != "answer" {
		t.Errorf("the first task of a vehicle drew %q, want its answer alone", got)
	}
}

// TestBrowserReadsOnceDrawn: what nobody waits for is not read while the page draws,
// nor for 100 ms after it last said so, and at once when it draws nothing.
func TestBrowserReadsOnceDrawn(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{hash: "#/", want: "home"}, "day"); err != nil {
		t.Fatal(err)
	}
	for _, wrong := range eval[[]string](t, ctx, `import('/app/phone.js').then(async ({ Phone }) => {
		const phone = new Phone(), bad = [], soon = (ms) => new Promise((done) => setTimeout(done, ms));
		let read = false;
		const wait = () => { read = false; return phone.drawn().then(() => { read = true; }); };
		wait();
		await null; await null; await null;
		if (!read) bad.push('it waits for a page that draws nothing');
		phone.draws = performance.now();
		const waits = wait();
		for (let i = 0; i < 3; i++) {
			await soon(60);
			if (read && performance.now() - phone.draws < 100) bad.push('it reads while the page draws');
			phone.draws = performance.now();
		}
		await waits;
		if (performance.now() - phone.draws < 99.9) bad.push('it reads ' + (performance.now() - phone.draws) + ' ms after the page drew');
		return bad;
	})`) {
		t.Error(wrong)
	}
}

// TestBrowserSheetIsATaskOfItsOwn: what a tap draws does not wait for the sheet
// that it opens, nor the sheet for being laid over the page; and a sheet that is asked
// for while another closes comes.
func TestBrowserSheetIsATaskOfItsOwn(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{hash: "#/job/job-V5", want: "job"}, "day"); err != nil {
		t.Fatal(err)
	}
	stands(t, ctx, "note-add")
	got := eval[[]string](t, ctx, `(async () => {
		const dialog = document.getElementById('sheet'), seen = [];
		const look = () => { const now = dialog.open ? 'open' : dialog.querySelector('h2') ? 'drawn' : 'nothing'; if (now !== seen.at(-1)) seen.push(now); };
		`+id("note-add")+`.click();
		await null; await null; // the painting that the tap asked for
		look();
		while (!dialog.open) { await new Promise((done) => { const c = new MessageChannel(); c.port1.onmessage = done; c.port2.postMessage(0); }); look(); }
		return seen;
	})()`)
	if want := []string{"nothing", "drawn", "open"}; !slices.Equal(got, want) {
		t.Errorf("after the tap there was %v, want %v", got, want)
	}
	if err := until(ctx, "("+id("sheet-close")+".click(), true)"); err != nil {
		t.Fatal(err)
	}
	if err := until(ctx, "!document.querySelector('dialog[open]') && ("+id("note-add")+".click(), true)"); err != nil {
		t.Fatal(err)
	}
	stands(t, ctx, "note-save")
	if err := until(ctx, "document.querySelector('dialog[open]')"); err != nil {
		t.Fatal(err)
	}
}
