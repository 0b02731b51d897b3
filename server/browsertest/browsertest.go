// Package browsertest drives real browsers as phones, for tests that need
// what no emulation gives: a service worker that answers while the server is
// down, a database that outlives SIGKILL, a line that is cut for one phone and
// not for the other.
//
// A [Phone] is one Chromium with its own profile, 390 x 844 points and touch.
// It can be closed, killed and started again; the profile stays until the test
// ends. Every phone opens the same origin, http://shop.localhost:8080, which
// its browser resolves to the phone's own [Wire]: a TCP relay to the server
// that can be cut. So two phones share one server and one origin, and each has
// a line of its own. The name ends in localhost, which browsers take as secure
// without a certificate (W3C Secure Contexts, section 3.1), and a service
// worker needs that.
//
//	phone := browsertest.New(t, serverAddr)
//	phone.Open("/#/")
//	phone.ReadyOffline()
//	phone.Wire.Cut()
//	phone.Reload()
//	phone.Tap("tick:wash")
//	phone.Kill()
//	phone.Start()
//
// Nothing here waits a fixed time: [Phone.Until] and what is built on it poll
// until the page says so, and fail the test at a deadline with the page's text
// and console.
//
// A test that starts a phone is named TestBrowser..., so that it can be run
// apart from the others.
package browsertest

import (
	"os"
	"os/exec"
	"testing"
	"time"
)

// Origin is where every phone finds its server.
const Origin = "http://" + host

const host = "shop.localhost:8080"

// Patience is how long a phone waits for its page before the test fails. It is
// far above what a page needs, because a loaded machine proves nothing about
// the page.
const Patience = time.Minute

// names are the programs that serve as browser, in the order of preference.
var names = []string{"chromium", "chromium-browser", "google-chrome-stable", "google-chrome"}

// Chromium finds the browser. Without one the test fails and names the line
// that installs it: browser tests that vanish quietly prove nothing. Only
// BAYHOLD_NO_BROWSER=1 leaves them out.
func Chromium(t testing.TB) string {
	t.Helper()
	if os.Getenv("BAYHOLD_NO_BROWSER") == "1" {
		t.Skip("BAYHOLD_NO_BROWSER=1: browser tests left out")
	}
	if path := os.Getenv("BAYHOLD_CHROMIUM"); path != "" {
		return path
	}
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Fatal("no chromium for the browser tests: apt-get install -y --no-install-recommends chromium " +
		"(or set BAYHOLD_CHROMIUM to its path, or BAYHOLD_NO_BROWSER=1 to leave them out)")
	return ""
}
