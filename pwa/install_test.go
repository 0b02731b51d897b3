package pwa_test

import (
	"encoding/json"
	"io/fs"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"bayhold/pwa"
	"bayhold/server/browsertest"
)

// The browser finds nothing that keeps the app from the home screen, and its
// offer is kept until the person asks for it on the phone's own page. The event
// is the one of the W3C's manifest incubations draft.
func TestBrowserInstallIsOffered(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := browsertest.New(t, "A", s.addr)
	own(p)
	p.ReadyOffline()
	if wrong := p.Uninstallable(); len(wrong) > 0 {
		t.Errorf("the browser would not install the app: %v", wrong)
	}
	begin(t, p)
	p.Open("/#/phone")
	p.Sees("install")
	browsertest.JS[bool](p, `(() => {
		window.asked = 0;
		const offer = new Event('beforeinstallprompt', {cancelable: true});
		offer.prompt = async () => { asked++; };
		dispatchEvent(offer);
		return offer.defaultPrevented;
	})()`)
	p.Until("the app's own button", `document.querySelector('button[data-testid=install]')`)
	p.Tap("install")
	p.Until("the browser's own question", `asked === 1`)
	p.Until("the offer to be used up", `!document.querySelector('button[data-testid=install]') && document.querySelector('[data-testid=install]')`)
	// In another tongue the home screen offers the same by its words.
	for _, c := range [][2]string{{"es", "Vehículo nuevo"}, {"en", "New vehicle"}} {
		tongue, has := c[0], c[1]
		p.Tap("own-tongue-" + tongue)
		p.Until("the page's manifest in "+tongue, `fetch(document.querySelector('link[rel=manifest]').href).then(r => r.json()).then(m => m.lang === '`+tongue+`' && document.documentElement.lang === m.lang)`)
		if got := p.Manifest(); !strings.Contains(got, `"`+has+`"`) {
			t.Errorf("in %s the browser reads %s", tongue, got)
		}
		if wrong := p.Uninstallable(); len(wrong) > 0 {
			t.Errorf("in %s the browser would not install the app: %v", tongue, wrong)
		}
	}
}

// lamp gives the camera's track a lamp, or none.
func lamp(has string) string {
	return `if (globalThis.MediaStreamTrack) {
		MediaStreamTrack.prototype.getCapabilities = () => ({torch: ` + has + `});
		MediaStreamTrack.prototype.applyConstraints = async c => { globalThis.lamp = c.advanced[0].torch; };
		const stop = MediaStreamTrack.prototype.stop;
		MediaStreamTrack.prototype.stop = function () { globalThis.lamp = false; stop.call(this); };
	}`
}

// The lamp is lit through the camera's track and goes out with it; a phone whose
// camera has none is told once and not offered it again.
func TestBrowserLamp(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := browsertest.New(t, "A", s.addr)
	own(p)
	id := begin(t, p)
	p.Open("/#/job/" + id)
	p.Before(lamp("true"))
	p.Reload()
	p.Tap("lamp")
	p.Until("the lamp to be lit", `globalThis.lamp === true && document.querySelector('[data-testid=lamp]').ariaPressed === 'true'`)
	p.Tap("lamp")
	p.Until("the lamp to be out", `globalThis.lamp === false && document.querySelector('[data-testid=lamp]').ariaPressed === 'false'`)

	p.Before(lamp("false"))
	p.Reload()
	p.Tap("lamp")
	p.Reads("refusal", "does not let the app light its lamp")
	p.SeesNot("lamp")
	p.Reload()
	p.Sees("note-add")
	p.SeesNot("lamp")
}

// What a home screen is told in Spanish is the same app, with the words of the
// catalogue.
func TestManifestInSpanish(t *testing.T) {
	english, err := fs.ReadFile(pwa.Files, "manifest.webmanifest")
	if err != nil {
		t.Fatal(err)
	}
	spanish, err := fs.ReadFile(pwa.Files, "spanish.webmanifest")
	if err != nil {
		t.Fatal(err)
	}
	rows, _ := catalogue(t)
	want := strings.Replace(string(english), `"lang": "en"`, `"lang": "es"`, 1)
	want = regexp.MustCompile(`"(description|name)": "([^"]*)"`).ReplaceAllStringFunc(want, func(said string) string {
		key, text, _ := strings.Cut(said, ": ")
		if text == `"Bayhold"` {
			return said
		}
		return key + `: "` + rows[strings.Trim(text, `"`)] + `"`
	})
	if string(spanish) != want {
		t.Errorf("spanish.webmanifest is\n%s\nand by the catalogue it would be\n%s", spanish, want)
	}
}

// A long press on the app's icon offers screens that are there.
func TestShortcutsLeadSomewhere(t *testing.T) {
	var manifest struct {
		Shortcuts []struct{ Name, URL string }
	}
	raw, err := fs.ReadFile(pwa.Files, "manifest.webmanifest")
	if err == nil {
		err = json.Unmarshal(raw, &manifest)
	}
	if err != nil || len(manifest.Shortcuts) == 0 {
		t.Fatalf("%d shortcuts, %v", len(manifest.Shortcuts), err)
	}
	main, err := os.ReadFile("app/main.js") // as it is written; phones get it packed
	if err != nil {
		t.Fatal(err)
	}
	_, table, _ := strings.Cut(string(main), "const screens = {")
	table, _, _ = strings.Cut(table, "\n};")
	var names []string
	for _, m := range regexp.MustCompile(`(?m)^  (\w+): \{ screen:`).FindAllStringSubmatch(table, -1) {
		names = append(names, m[1])
	}
	for _, s := range manifest.Shortcuts {
		if name, ok := strings.CutPrefix(s.URL, "/#/"); !ok || !slices.Contains(names, name) {
			t.Errorf("the shortcut %q leads to %q, which is no screen of %q", s.Name, s.URL, names)
		}
	}
}
