package pwa_test

import (
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// A sentence of the core is found by its own row and no other, whatever is filled
// in; what is filled in is put into Spanish where the row says that it is a word
// of ours, and stays as it was typed everywhere else, were it one of our words.
func TestBrowserSentencesFindTheirRows(t *testing.T) {
	t.Parallel()
	rows, _ := catalogue(t)
	said := map[string]string{}
	coreMessages(t, said)
	type pair struct{ English, Spanish, Key string }
	var pairs []pair
	for _, key := range slices.Sorted(maps.Keys(said)) {
		spanish := rows[key]
		if !strings.Contains(key, "{1}") || !strings.ContainsFunc(strings.Trim(key, "{}0123456789"), isWord) {
			continue
		}
		for _, typed := range []string{"⟨t:1768377600000⟩", "⟨c:7600⟩ to ⟨c:9100⟩", "Wash"} {
			p := pair{key, spanish, key}
			for n := 1; strings.Contains(key, "{"+strconv.Itoa(n)+"}"); n++ {
				gap, ours, number := "{"+strconv.Itoa(n)+"}", "{~"+strconv.Itoa(n)+"}", "{#"+strconv.Itoa(n)+"}"
				in, out := typed, strings.Replace(typed, "⟩ to ⟨", "⟩ a ⟨", 1)
				switch {
				case strings.Contains(spanish, ours):
					in, out = "rear left sill", "estribo trasero izquierdo"
				case strings.Contains(key, "} "+gap) || strings.Contains(spanish, number): // a value, right behind its name
					in, out = "⟨c:7600⟩", "⟨c:7600⟩"
				}
				p.English = strings.ReplaceAll(p.English, gap, in)
				p.Spanish = strings.NewReplacer(gap, out, ours, out, number, out).Replace(p.Spanish)
			}
			pairs = append(pairs, p)
		}
	}
	if len(pairs) < 200 {
		t.Fatalf("only %d sentences have something filled in", len(pairs))
	}
	ctx, base := browser(t), serve(t)
	if err := chromedp.Do(ctx, chromedp.Navigate(base+"/app/icon.svg")); err != nil {
		t.Fatal(err)
	}
	texts := make([]string, len(pairs))
	for i, p := range pairs {
		texts[i] = p.English
	}
	list, err := json.Marshal(texts)
	if err != nil {
		t.Fatal(err)
	}
	got := eval[[]string](t, ctx, `Promise.all([import('/app/tongue.js'), fetch('/app/spanish.txt').then((r) => r.text())]).then(([tongue, text]) => {
		tongue.use(text);
		return `+string(list)+`.map((said) => tongue.sentence(said));
	})`)
	for i, p := range pairs {
		if got[i] != p.Spanish {
			t.Errorf("%q\n\tis said as %q,\n\tand by its row %q as %q", p.English, got[i], p.Key, p.Spanish)
		}
	}
}

func isWord(r rune) bool { return r >= 'a' && r <= 'z' }

// What a person typed stays as it was typed, were it a word of ours: a customer
// called Wash, a note 'wet again', a bay called Dry, a person called Lay. What
// the core says beside it is put into Spanish.
func TestBrowserTypedWordsStay(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := chromedp.Do(ctx, chromedp.Navigate(base+"/app/icon.svg")); err != nil {
		t.Fatal(err)
	}
	got := eval[[]string](t, ctx, `Promise.all([import('/app/tongue.js'), import('/app/door.js'), fetch('/app/spanish.txt').then((r) => r.text())]).then(([tongue, door, text]) => {
		tongue.use(text);
		const v = door.spoken({
			shop: { name: 'Film', units: 'C' }, me: { name: 'Lay' }, people: [{ name: 'Lay' }], places: [{ name: 'Dry' }], place: { name: 'Dry' },
			label: 'Primer', customer: 'Wash', plate: 'no',
			gate: { name: 'Wash', text: 'Wash first.', word: 'stopped by' },
			findings: [{ note: 'touched', what: 'chip' }], signatures: [{ name: 'Lay' }], waivers: [{ name: 'Wash', sentence: 'Wash again.' }],
			lines: [{ kind: 'note', text: 'wet again' }, { kind: 'waiver', text: "Lead's go-ahead: Wash. Wash again." }, { kind: 'sign', text: 'Signed: Lay (owner)' }, { kind: 'tick', text: 'Wash done' }],
		});
		return [v.shop.name, v.me.name, v.people[0].name, v.places[0].name, v.place.name, v.label, v.customer, v.plate, v.gate.name, v.gate.text, v.gate.word,
			v.findings[0].note, v.signatures[0].name, v.waivers[0].name, v.waivers[0].sentence, ...v.lines.map((l) => l.text)];
	})`)
	want := []string{"Film", "Lay", "Lay", "Dry", "Dry", "Primer", "Wash", "no", "Lavado", "Primero: Lavado.", "detenido por",
		"touched", "Lay", "Lavado", "Wash again.", "wet again", "Permiso del jefe: Lavado. Wash again.", "Firmado: Lay (dueño)", "Lavado hecho"}
	if !slices.Equal(got, want) {
		t.Errorf("a view comes in as\n%q\nwanted\n%q", got, want)
	}
}

// Lengths go by the person, then by the shop, whose Fahrenheit has inches; what
// a line keeps is the same: 2 inches are 50,800 micrometres (NIST SP 811, B.8).
func TestBrowserLengthsByThePerson(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	if err := open(ctx, base, screen{query: "", hash: "#/", want: "home"}, "day"); err != nil {
		t.Fatal(err)
	}
	got := eval[[]string](t, ctx, `Promise.all([import('/app/own.js'), import('/app/views/units.js'), import('/app/views/app.js')]).then(async ([own, units, app]) => {
		const is = () => [units.unitsOf('mm')[0], units.unitsOf('temp')[0], units.shown(50_800, 'mm'), String(units.inLine('2', 'mm', 'in'))].join(' ');
		const shop = app.home().shop, said = [shop.units, is()];
		await own.choose({ lengths: 'in' });
		said.push(is());
		await own.choose({ lengths: '' });
		shop.own = 'F';
		said.push(is());
		return said;
	})`)
	if want := []string{"C", "mm °C 50.8 mm 50800", "in °C 2 in 50800", "in °C 2 in 50800"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Who takes a vehicle signs under what he can read: all lines in the tongue that
// was touched, the pins too, and back. The rest of the screen stays the phone's.
func TestBrowserDriverReadsHisTongue(t *testing.T) {
	t.Parallel()
	ctx, base := browser(t), serve(t)
	rows, _ := catalogue(t)
	sheet := screen{hash: "#/job/job-handover", taps: []string{"paper-driver", "care-es"}, want: "sign-save"}
	if err := open(ctx, base, sheet, "day"); err != nil {
		t.Fatal(err)
	}
	said := func(tongue string) []string {
		t.Helper()
		return eval[[]string](t, ctx, `(async () => {
			document.querySelector('[data-testid="care-`+tongue+`"]').click();
			for (let i = 0; i < 200 && document.querySelector('.shown').lang !== '`+tongue+`'; i++) await new Promise((done) => setTimeout(done, 10));
			await new Promise((done) => setTimeout(done, 300)); // a catalogue that is fetched
			return [document.getElementById('sheet-title').textContent, ...[...document.querySelectorAll('.shown li')].map((e) => e.textContent)]; })()`)
	}
	spanish, english := said("es"), said("en")
	if spanish[0] != english[0] {
		t.Errorf("the title becomes %q", spanish[0])
	}
	if len(spanish) != len(english) || len(english) < 8 {
		t.Fatalf("%d lines, in Spanish %d", len(english), len(spanish))
	}
	for i := 2; i < len(english); i++ { // behind the title and the vehicle, whose names are its own
		if spanish[i] == english[i] {
			t.Errorf("in both tongues: %q", english[i])
		}
	}
	for key, at := range map[string]int{"chip": 2, "repaint": 3} {
		panel := map[int]string{2: "rear doors", 3: "left side rear"}[at]
		if !strings.HasPrefix(english[at], key+", "+panel) || !strings.HasPrefix(spanish[at], rows[key]+", "+rows[panel]) {
			t.Errorf("%q is said as %q", english[at], spanish[at])
		}
	}
	if again := said("es"); strings.Join(again, "|") != strings.Join(spanish, "|") {
		t.Errorf("touched again it says %q", again)
	}
	if err := inSpanish(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	if there := said("en"); strings.Join(there[2:], "|") != strings.Join(english[2:], "|") { // behind the vehicle, which these tests' list shares with the job
		t.Errorf("on a phone that speaks Spanish the English lines are %q, not %q", there[2:], english[2:])
	}
}
