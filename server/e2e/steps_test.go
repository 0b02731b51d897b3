package e2e

import (
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"bayhold/server/browsertest"
)

// The demo shop's zone; clocks on the screen are in it.
const zone = "Europe/Berlin"

// setUp opens an empty shop on the phone and writes down its name, two bays
// and two people: M, the lead, and J, an installer.
func setUp(p *browsertest.Phone) {
	p.Open("/#/setup")
	isAllAtShop(p) // a phone that never met the shop may not write
	p.Type("setup-shop-name", "Tarnbrook Six")
	p.Type("setup-zone", zone)
	p.Tap("setup-save")
	p.Until("the shop to have its name", `document.querySelector('h1')?.innerText === 'The shop'`)
	for _, name := range []string{"Bay 2", "Bay 4"} {
		p.Type("place-name", name)
		p.Tap("place-save")
		p.Reads("setup", name)
	}
	for _, person := range [][3]string{{"Maren", "M", "lead"}, {"Jonte", "J", "crew"}} {
		p.Type("person-name", person[0])
		p.Type("person-initials", person[1])
		p.Tap("role-" + person[2])
		p.Tap("person-save")
		p.Reads("setup", person[0])
	}
	p.ReadyOffline()
}

// be says who holds the phone.
func be(p *browsertest.Phone, initials string) {
	p.Open("/#/")
	p.Sees("home")
	p.Tap("me")
	p.Tap("person:" + initials)
	p.Reads("me", initials)
}

// bringIn opens a job for a medium van in Bay 2 and returns its id.
func bringIn(p *browsertest.Phone, label string) string {
	p.Open("/#/new")
	p.Type("new-job-label", label)
	p.Type("new-job-customer", "Oddvale Parcels")
	p.Tap("sort:van")
	p.Tap("route:panels")
	p.Tap("at:Bay 2")
	p.Tap("new-job-save")
	p.Until("the new vehicle on the screen", "location.hash.startsWith('#/job/')")
	p.Sees("job")
	return strings.TrimPrefix(browsertest.JS[string](p, "location.hash"), "#/job/")
}

// openJob shows a job that the phone has or is about to get.
func openJob(p *browsertest.Phone, id string) {
	p.Open("/#/job/" + id)
	p.Sees("job")
}

// key types a number on the open pad, key by key.
func key(p *browsertest.Phone, number string) {
	p.Sees("pad")
	for _, k := range number {
		name := map[rune]string{'.': "dot", '-': "minus"}[k]
		if name == "" {
			name = string(k)
		}
		p.Tap("pad-" + name)
	}
}

// read takes a surface reading at a spot.
func read(p *browsertest.Phone, spot, number string) {
	p.Tap("read:" + spot)
	key(p, number)
	p.Tap("pad-ok")
	p.SeesNot("pad")
}

// sign signs the inspection by name alone, as hands do that cannot draw: first the
// installer, then the owner, whom the phone asks for.
func sign(p *browsertest.Phone, installer, owner string) {
	p.Tap("sign-installer")
	p.Type("sign-name", installer)
	p.Tap("sign-save")
	p.Until("the owner to be asked", `document.querySelector('dialog[open] #sheet-title')?.innerText.startsWith('Owner signs')`)
	p.Type("sign-name", owner)
	p.Tap("sign-save")
	p.SeesNot("sign-save")
}

// isHere waits until so many lines are only on this phone.
func isHere(p *browsertest.Phone, lines int) {
	p.Until(fmt.Sprintf("%d lines on this phone", lines),
		fmt.Sprintf(`document.querySelector('[data-testid=net]')?.dataset.waiting === '%d'`, lines))
}

// unfold opens a details element, whose content is not on the screen before.
func unfold(p *browsertest.Phone, id string) {
	p.Until(id+" unfolded", `(() => {
		const e = document.querySelector('[data-testid=' + CSS.escape(`+strconv.Quote(id)+`) + ']');
		if (e) e.open = true;
		return e?.childElementCount > 1; // what was folded is drawn
	})()`)
}

// stage is the state of a step as the screen has it.
func stage(p *browsertest.Phone, name string) string { return p.Data("stage:"+name, "state") }

// stages are the states of all steps, "wash=done inspection=open ...".
func stages(p *browsertest.Phone) string {
	p.Until("all of the screen", `document.querySelector('.job.settled')`)
	return browsertest.JS[string](p, `[...document.querySelectorAll('[data-testid^="stage:"]')]
		.map(e => e.dataset.testid.slice(6) + '=' + e.dataset.state).join(' ')`)
}

// stageIs waits until a step has this state.
func stageIs(p *browsertest.Phone, name, state string) {
	p.Until(name+" to be "+state, `document.querySelector('[data-testid="stage:`+name+`"]')?.dataset.state === '`+state+`'`)
}

// isOffline waits until the phone knows that it has no line.
func isOffline(p *browsertest.Phone) {
	p.Until("the phone to be offline", `document.querySelector('[data-testid=net]')?.dataset.state === 'offline'`)
}

// isAllAtShop waits until the phone is online and nothing is only on it.
func isAllAtShop(p *browsertest.Phone) {
	p.Until("everything at the shop", `(e => e?.dataset.state === 'online' && e.dataset.waiting === '0')(document.querySelector('[data-testid=net]'))`)
}

// waiting is how many lines are only on this phone.
func waiting(p *browsertest.Phone) int {
	n, _ := strconv.Atoi(p.Data("net", "waiting"))
	return n
}

// photo makes a JPEG of this many pixels, and bytes in size if that is more
// than the picture needs: a JPEG may carry anything in its APP segments
// (ITU-T T.81, B.2.4.6).
func photo(t testing.TB, width, height, bytes int) string {
	t.Helper()
	picture := image.NewRGBA(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			picture.Set(x, y, color.RGBA{uint8(x), uint8(y), 90, 255})
		}
	}
	path := filepath.Join(t.TempDir(), fmt.Sprintf("photo-%d.jpg", bytes))
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	packed, err := os.CreateTemp(t.TempDir(), "jpeg")
	if err != nil {
		t.Fatal(err)
	}
	defer packed.Close()
	if err := jpeg.Encode(packed, picture, nil); err != nil {
		t.Fatal(err)
	}
	plain, err := os.ReadFile(packed.Name())
	if err != nil {
		t.Fatal(err)
	}
	file.Write(plain[:2]) // start of image
	for left := bytes - len(plain); left > 0; {
		n := min(left, 65_000)
		file.Write([]byte{0xff, 0xef, byte((n + 2) >> 8), byte(n + 2)})
		file.Write(make([]byte, n))
		left -= n + 4
	}
	file.Write(plain[2:])
	return path
}

func writeFile(t testing.TB, path, content string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
}

// setField sets a field that no keyboard types into, such as a date.
func setField(p *browsertest.Phone, id, value string) {
	p.Until(id+" to be set", `(() => {
		const e = document.querySelector('[data-testid="`+id+`"]');
		if (!e) return false;
		e.value = '`+value+`';
		e.dispatchEvent(new Event('input', {bubbles: true}));
		return true;
	})()`)
}

// past writes a line past the forms, through the page's own door: what a
// worn-out page or a careless change to it might send.
func past(p *browsertest.Phone, line string) {
	browsertest.JS[bool](p, `import('/app/main.js').then(acts => acts.write(`+line+`, 'noted')).then(() => true)`)
}
