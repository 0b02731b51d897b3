package pwa_test

import (
	"encoding/json"
	"slices"
	"testing"

	"github.com/chromedp/chromedp"
)

// A start folds what a job's gates hang on before it tells them, and what is older
// after: rows that tell of the air alone, of before the job's air counts, but not the
// newest air of a place. The core here only notes what it is given; the rows are three
// of one place, until day 1, 2 and 10, and one that tells of a door, too. The rest waits
// for a line that is being stored.
func TestBrowserOldAirComesLast(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := chromedp.Do(ctx, chromedp.Navigate(base+"/")); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what         string
		since        float64 // days
		known        string  // what the last start noted
		first, after []string
	}{
		{"nothing is known", 9, `undefined`, []string{"job", "1", "2", "door", "10"}, []string{"other"}},
		{"a young job", 9, `{ job: 'j:1', logs: ['p:1'], quiet: { 'p:1': { '1 1': days(1), '2 1': days(2), '10 2': days(10) } } }`, []string{"job", "door", "10"}, []string{"1", "2", "other"}},
		{"an old job", 1.5, `{ job: 'j:1', logs: ['p:1'], quiet: { 'p:1': { '1 1': days(1), '2 1': days(2), '10 2': days(10) } } }`, []string{"job", "2", "door", "10"}, []string{"1", "other"}},
		{"a job of now, in air long not heard", 99, `{ job: 'j:1', logs: ['p:1'], quiet: { 'p:1': { '1 1': days(1), '2 1': days(2), '10 2': days(10) } } }`, []string{"job", "door", "10"}, []string{"1", "2", "other"}},
		{"rows that were joined", 9, `{ job: 'j:1', logs: ['p:1'], quiet: { 'p:1': { '1 5': days(1), '2 1': days(2), '10 2': days(10) } } }`, []string{"job", "1", "door", "10"}, []string{"2", "other"}},
		{"another job was looked at", 9, `{ job: 'j:2', logs: [], quiet: { 'p:1': { '1 1': days(1), '10 2': days(10) } } }`, []string{"job", "2", "door", "10"}, []string{"1", "other"}},
	} {
		since, _ := json.Marshal(c.since)
		got := eval[struct {
			First, After []string
			Carried      bool
			Waits        bool // the rest, for a line that is being stored
			Quiet        map[string]float64
		}](t, ctx, `import('/app/phone.js').then(async ({ Phone }) => {
			const days = (n) => n * 86_400_000;
			const row = (name, last, length) => ({ last, bytes: Object.assign(new Uint8Array(length), { name }) });
			const rows = [row('1', 1, 1), row('2', 2, 1), row('door', 3, 1), row('10', 10, 2)], untils = { 1: days(1), 2: days(2), 10: days(10) };
			const phone = new Phone(), given = [];
			let told, kept, now = 0;
			phone.store = {
				beginning: async () => ({ outbox: [], logs: new Map([['j:1', 1], ['p:1', 4], ['p:2', 1]]), rows: [row('job', 1, 1).bytes], hung: `+c.known+`, places: new Map() }),
				rowsOf: async (log) => (log === 'p:1' ? rows : [row('other', 1, 1)]),
				keep: async (store, name, value) => { kept = value; },
			};
			phone.coming = async () => ({ call(op, { rows: some }) {
				for (const { name } of some ?? []) given.push(name), now = untils[name] ?? 2 ** 53;
				return { json: JSON.stringify([days(`+string(since)+`), now, 'p:1']), blobs: [] };
			} });
			let carried;
			let stored = () => {}, waits = false; // until it did
			phone.changed = () => {
				if (told === undefined) {
					phone.storing = new Promise((done) => { stored = done; });
					setTimeout(() => { waits = given.length === told; stored(); }, 300); // more than the page has to paint
				}
				told ??= given.length;
				carried ??= phone.carries('1');
			};
			await phone.start('1');
			return { waits, first: given.slice(0, told), after: given.slice(told), carried, quiet: kept?.quiet['p:1'] ?? `+"("+c.known+`)?.quiet['p:1'] };
		})`)
		if !slices.Equal(got.First, c.first) || !slices.Equal(got.After, c.after) || !got.Carried {
			t.Errorf("%s: the gates are told (%t) after %v, then come %v; want %v, %v", c.what, got.Carried, got.First, got.After, c.first, c.after)
		}
		if !got.Waits {
			t.Errorf("%s: the rest is folded while a tap's line is on its way to the disk", c.what)
		}
		if len(got.Quiet) != 3 || got.Quiet["1 1"] != 86_400_000 {
			t.Errorf("%s: the next start knows %v", c.what, got.Quiet)
		}
	}
}
