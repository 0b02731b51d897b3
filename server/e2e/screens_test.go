package e2e

import (
	"os"
	"testing"

	"bayhold/server/browsertest"
)

// Pictures of every screen of the demo shop, to be looked at: made by 'make
// screenshots' in the folder that BAYHOLD_SCREENSHOTS names. Without it the
// test still opens every screen, on the smallest phone, in the dark and on a
// desktop, and nothing is wider than the screen.
func TestBrowserScreens(t *testing.T) {
	shop := newShop(t, "--demo")
	dir := os.Getenv("BAYHOLD_SCREENSHOTS")
	if dir == "" {
		dir = t.TempDir()
	}
	p := browsertest.New(t, "phone", shop.addr)
	p.Open("/#/")
	p.Sees("job-row:V5")
	be(p, "M")
	job := map[string]string{}
	for _, label := range []string{"V1", "V2", "V3", "V4", "V5"} {
		p.Sees("job-row:" + label)
		job[label] = browsertest.JS[string](p, `document.querySelector('[data-testid="job-row:`+label+`"]').hash`)
	}
	for _, face := range []struct {
		name   string
		width  int64
		height int64
		dark   bool
	}{{"phone", 390, 844, false}, {"dark", 390, 844, true}, {"small", 320, 568, false}, {"desktop", 1280, 900, false}} {
		p.Size(face.width, face.height)
		p.Dark(face.dark)
		for _, screen := range []struct{ name, path, sees string }{
			{"home", "/#/", "home"},
			{"board", "/#/board", "board"},
			{"setup", "/#/setup", "setup"},
			{"new", "/#/new", "new"},
			{"V1", "/" + job["V1"], "job"},
			{"V2", "/" + job["V2"], "job"},
			{"V3", "/" + job["V3"], "job"},
			{"V5", "/" + job["V5"], "job"},
		} {
			p.Open(screen.path)
			p.Reload()
			p.Sees(screen.sees)
			if screen.sees == "job" {
				p.Sees("gate-now")
			}
			if screen.name != "new" { // says nothing of its line
				isAllAtShop(p)
			}
			p.Screenshot(dir, face.name+"-"+screen.name)
			if wide := browsertest.JS[int](p, "document.documentElement.scrollWidth"); int64(wide) > face.width {
				t.Errorf("%s on %s is %d wide, the screen %d", screen.name, face.name, wide, face.width)
			}
		}
		p.Open("/" + job["V5"])
		p.Sees("gate-now")
		if p.Has("read:1") {
			p.Tap("read:1")
			key(p, "7.6")
			p.Screenshot(dir, face.name+"-pad")
			p.Tap("pad-cancel")
		}
	}
}
