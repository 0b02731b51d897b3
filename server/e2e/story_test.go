package e2e

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"bayhold/server/browsertest"
)

// Two phones and a board, a line that is cut, a server that is stopped, a
// phone that is closed and opened again without either: in the end all three
// show the same job, the store has every entry once, and the board says what
// holds the bay and until when.
func TestBrowserTwoPhonesAndABoard(t *testing.T) {
	shop := newShop(t)
	a, b := browsertest.New(t, "A", shop.addr), browsertest.New(t, "B", shop.addr)
	board := browsertest.New(t, "board", shop.addr)
	board.Size(1280, 900)

	setUp(a)
	be(a, "J")
	b.Open("/#/")
	b.Reads("home", "who are you") // the crew came over
	b.ReadyOffline()
	be(b, "M")
	board.Open("/#/board")
	job := bringIn(a, "V7")
	openJob(b, job)
	board.Reads("place:Bay 2", "V7")
	shop.sayHour("Bay 2", 20, 40)

	// A goes out of reach, and works on.
	isAllAtShop(a)
	a.Wire.Cut()
	isOffline(a)
	a.Tap("tick:wash")
	stageIs(a, "wash", "done")
	washed := time.Now()
	a.Tap("evidence:blown-out") // then twelve hours are enough, not twenty-four
	a.Tap("evidence-passed")
	a.SeesNot("evidence-passed")
	read(a, "1", "18.5")
	a.Upload("photo-input", photo(t, 640, 480, 0))
	sign(a, "Jonte", "R. Oddvale")
	for _, spot := range []string{"3", "4", "5", "6"} {
		read(a, spot, "18.0")
	}
	isHere(a, 10) // the wash, seams blown out, five readings, the photo, two signatures

	// B meanwhile is online, and knows nothing of it.
	read(b, "2", "19.0")
	isAllAtShop(b)
	if got := stage(b, "wash"); got == "done" {
		t.Error("B has a wash that only A's phone knows")
	}

	// A is closed and opened again, still out of reach.
	before := shown(a)
	a.Close()
	a.Start()
	openJob(a, job)
	isHere(a, 10)
	if got := shown(a); got != before {
		t.Errorf("opened again offline, the job is\n%s\nand was\n%s", got, before)
	}
	isOffline(a)

	// The server is stopped: now B is on its own too. So it is after a restart.
	shop.stop()
	isOffline(b)
	read(b, "2", "19.5")
	isHere(b, 1)
	b.Close()
	b.Start()
	openJob(b, job)
	isHere(b, 1)
	read(a, "3", "18.5")
	isHere(a, 11)

	// Both are back.
	shop.start()
	isAllAtShop(b)
	a.Wire.Restore()
	isAllAtShop(a)
	for _, p := range []*browsertest.Phone{a, b} {
		unfold(p, "lines")
		// The job, the wash, the seams, eight readings, the photo, two signatures.
		p.Until("everybody's lines", `document.querySelectorAll('[data-testid=lines] li').length === 14`)
	}
	if at, other := shown(a), shown(b); at != other {
		t.Errorf("A shows\n%s\n\nB shows\n%s", at, other)
	}
	a.Open("/#/board")
	b.Open("/#/board")
	board.Reads("place:Bay 2", "Drying") // the wall hears of the wash after the phones
	wall := bay(board)
	for _, p := range []*browsertest.Phone{a, b} {
		p.Reads("place:Bay 2", "Drying")
		if got := bay(p); got != wall {
			t.Errorf("a phone's board says\n%s\nthe wall's says\n%s", got, wall)
		}
	}

	// The store has every entry once (export checks that), and it is these.
	at := time.Now().Add(time.Second) // the moment is given in whole seconds
	lines, file := shop.export()
	for _, want := range []struct {
		kind string
		is   func(line) bool
		n    int
	}{
		{"shop.set", nil, 1}, {"place.add", nil, 2}, {"person.add", nil, 2}, {"job.open", nil, 1},
		{"tick", with("stage", "wash"), 1}, {"reading", nil, 8}, {"photo", nil, 1}, {"sign", nil, 2}, {"evidence", with("what", "blown-out"), 1},
	} {
		if got := count(lines, want.kind, want.is); got != want.n {
			t.Errorf("the store has %d of %s, want %d", got, want.kind, want.n)
		}
	}

	// The photo is at the shop, whole: it bears the name of its content.
	shop.start()
	for _, l := range lines {
		if l.Kind == "photo" {
			sha := l.Body["sha"].(string)
			a.Until("the photo to be sent", `fetch('/photos/`+sha+`').then(r => r.ok)`)
			_, content := shop.get("/photos/" + sha)
			if sum := sha256.Sum256(content); hex.EncodeToString(sum[:]) != sha {
				t.Errorf("photo %s has %d bytes with hash %x", sha, len(content), sum)
			}
		}
	}

	// What the board says holds the bay is what the command line makes of the
	// store, and the drying hours begin no earlier than the wash.
	g := next(t, shop.gates(file, at), job)
	t.Logf("the gate: %+v\nthe wall:\n%s", g, wall)
	if g.State == "open" || g.State == "done" {
		t.Errorf("%s may start %v after the wash", g.Stage, at.Sub(washed))
	}
	if g.Until == 0 {
		t.Errorf("no end is named: %+v", g)
	} else if min := washed.Add(12 * time.Hour); time.UnixMilli(g.Until).Before(min.Add(-time.Second)) {
		t.Errorf("dry at %v, before twelve hours after the wash, %v", time.UnixMilli(g.Until), min)
	}
	if clock := berlin(t, g.Until).Format("15:04"); !strings.Contains(wall, clock) {
		t.Errorf("the board does not say until when (%s):\n%s", clock, wall)
	}
}

// A tick that was painted is stored: SIGKILL in that very frame does not take
// it, and it reaches the shop later, once.
func TestBrowserKilledAfterTheTick(t *testing.T) {
	shop := newShop(t)
	p := browsertest.New(t, "A", shop.addr)
	setUp(p)
	be(p, "J")
	job := bringIn(p, "V7")
	isAllAtShop(p)
	shop.stop()
	isOffline(p)

	painted := func(what, condition string) {
		t.Helper()
		if !browsertest.JS[bool](p, `new Promise(ok => {
			const look = () => (`+condition+`) ? ok(true) : requestAnimationFrame(look);
			look();
		})`) {
			t.Fatal(what)
		}
		p.Kill()
		p.Start()
		openJob(p, job)
		p.Until(what+" after SIGKILL", condition)
		if shop.cmd != nil {
			t.Fatal("the server runs: this proves nothing")
		}
	}
	p.Tap("tick:wash")
	painted("the tick", `document.querySelector('[data-testid="stage:wash"]')?.dataset.state === 'done'`)

	p.Tap("read:1")
	key(p, "18.5")
	p.Tap("pad-ok")
	painted("the reading", `document.querySelector('[data-testid="read:1"], [data-testid="spot:1"]')?.innerText.includes('18.5')`)

	p.Tap("setback:touched")
	if p.Has("which:all") {
		p.Tap("which:all")
	}
	painted("the setback", `document.querySelector('[data-testid=net]')?.dataset.waiting === '3'`)

	shop.start()
	isAllAtShop(p)
	lines, _ := shop.export()
	for _, want := range []struct {
		kind string
		is   func(line) bool
	}{{"tick", with("stage", "wash")}, {"reading", nil}, {"setback", with("cause", "touched")}} {
		if got := count(lines, want.kind, want.is); got != 1 {
			t.Errorf("the store has %d of %s, want it once", got, want.kind)
		}
	}
}

// shown is what a phone says of the job on screen, without what differs by
// design: who holds the phone, its line, ages that grow while one looks, and the
// order of the dots, which is that of the moment when the job was opened.
func shown(p *browsertest.Phone) string {
	unfold(p, "lines")
	return browsertest.JS[string](p, `[
		...[...document.querySelectorAll('[data-testid^="stage:"]')].map(e => e.dataset.testid + ' ' + e.dataset.state),
		...[...document.querySelectorAll('.dots li')].map(e => e.innerText.replace(/\s+/g, ' ')).sort(),
		...[...document.querySelectorAll('[data-testid=lines] li .grow')].map(e => e.innerText).sort(),
	].join('\n')`)
}

// bay is what a board says of Bay 2.
func bay(p *browsertest.Phone) string {
	p.Sees("board-job:V7")
	return p.Text("place:Bay 2")
}

// gate is one answer of 'bayhold gates --json'.
type gate struct {
	Job   string
	Stage string
	State string
	Cause string
	Until int64
}

// next is the first gate of the job that is neither done nor open behind one
// that is not: what a person would have to wait for.
func next(t *testing.T, out []byte, job string) gate {
	t.Helper()
	var all []gate
	if err := json.Unmarshal(out, &all); err != nil {
		t.Fatalf("gates: %v in %.400s", err, out)
	}
	for _, g := range all {
		if g.State != "done" {
			return g
		}
	}
	t.Fatalf("no gate of %s in %.400s", job, out)
	return gate{}
}

func berlin(t *testing.T, ms int64) time.Time {
	t.Helper()
	place, err := time.LoadLocation(zone)
	if err != nil {
		t.Fatal(err)
	}
	return time.UnixMilli(ms).In(place)
}

// gateOf is the gate of one step.
func gateOf(t *testing.T, out []byte, stage string) gate {
	t.Helper()
	var all []gate
	if err := json.Unmarshal(out, &all); err != nil {
		t.Fatalf("gates: %v in %.400s", err, out)
	}
	for _, g := range all {
		if g.Stage == stage {
			return g
		}
	}
	t.Fatalf("no gate of %s in %.400s", stage, out)
	return gate{}
}
