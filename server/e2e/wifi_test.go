package e2e

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"bayhold/server/browsertest"
)

// wifi is a network of the test's own: a namespace for the shop's machine, one
// for a phone, and a cable between them. Nothing else is on it.
type wifi struct {
	shop, phone string // names of the namespaces
}

const shopAddress, phoneAddress = "192.168.77.1", "192.168.77.2"

func newWifi(t *testing.T) *wifi {
	t.Helper()
	browsertest.Tools(t, "ip", "certutil")
	id := fmt.Sprint(os.Getpid())
	w := &wifi{shop: "bay-shop-" + id, phone: "bay-phone-" + id}
	if out, err := exec.Command("ip", "netns", "add", w.shop).CombinedOutput(); err != nil {
		t.Skipf("this account may not make network namespaces: %s", out)
	}
	t.Cleanup(func() {
		exec.Command("ip", "netns", "del", w.shop).Run() // the cable goes with it
		exec.Command("ip", "netns", "del", w.phone).Run()
	})
	ip := func(args ...string) {
		t.Helper()
		if out, err := exec.Command("ip", args...).CombinedOutput(); err != nil {
			t.Fatalf("ip %v: %s", args, out)
		}
	}
	ip("netns", "add", w.phone)
	ip("link", "add", "bs"+id, "netns", w.shop, "type", "veth", "peer", "name", "bp"+id, "netns", w.phone)
	for _, end := range [][3]string{{w.shop, "bs" + id, shopAddress}, {w.phone, "bp" + id, phoneAddress}} {
		space, cable, address := end[0], end[1], end[2]
		// An IPv6 address that comes a second after the link is up would be a
		// change of network to the browser, which drops what it is loading.
		ip("netns", "exec", space, "sh", "-c", "echo 1 | tee /proc/sys/net/ipv6/conf/*/disable_ipv6")
		ip("-n", space, "addr", "add", address+"/24", "dev", cable)
		ip("-n", space, "link", "set", cable, "up")
		ip("-n", space, "link", "set", "lo", "up")
	}
	return w
}

// said is what a process writes, for a reader beside it.
type said struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (s *said) Write(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.Write(b)
}

func (s *said) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// serve starts the shop's machine; stop ends it as a person does.
func (w *wifi) serve(t *testing.T, bin, data, name string) (terminal *said, stop func()) {
	t.Helper()
	var log said
	cmd := exec.Command("ip", "netns", "exec", w.shop, bin, "serve", "--data", data, "--name", name,
		"--addr", shopAddress+":8443", "--page", shopAddress+":8080")
	cmd.Stdout, cmd.Stderr = &log, &log
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	for deadline := time.Now().Add(browsertest.Patience); !strings.Contains(log.String(), "Phones are answered now"); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(deadline) {
			cmd.Process.Kill()
			cmd.Wait()
			t.Fatalf("the server does not serve:\n%s", log.String())
		}
	}
	var once sync.Once
	stop = func() {
		once.Do(func() {
			cmd.Process.Signal(syscall.SIGTERM)
			if err := cmd.Wait(); err != nil {
				t.Errorf("the server ended badly: %v\n%s", err, log.String())
			}
		})
	}
	t.Cleanup(stop)
	return &log, stop
}

// browser is a program that runs Chromium as a phone on the wifi.
func (w *wifi) browser(t *testing.T, chromium string) string {
	t.Helper()
	there := filepath.Join(t.TempDir(), "browser")
	if err := os.WriteFile(there, []byte("#!/bin/sh\nexec ip netns exec "+w.phone+" "+chromium+" \"$@\"\n"), 0o700); err != nil {
		t.Fatal(err)
	}
	return there
}

// trust makes the phones with this home trust a root, as a person does in the
// phone's settings.
func trust(t *testing.T, home, name, root string) {
	t.Helper()
	nss := filepath.Join(home, ".pki", "nssdb")
	steps := [][]string{{"-A", "-t", "C,,", "-n", name, "-i", root}}
	if os.MkdirAll(filepath.Dir(nss), 0o700) == nil && os.Mkdir(nss, 0o700) == nil {
		steps = append([][]string{{"-N", "--empty-password"}}, steps...)
	}
	for _, step := range steps {
		if out, err := exec.Command("certutil", append([]string{"-d", "sql:" + nss}, step...)...).CombinedOutput(); err != nil {
			t.Fatalf("certutil %v: %v %s", step, err, out)
		}
	}
}

var (
	shownAddress = regexp.MustCompile(`https://shop\.local:8443/#/join/[A-Za-z0-9_-]{22}\b`)
	shownCode    = regexp.MustCompile(`type the code ([0-9A-Z]{4} [0-9A-Z]{4})\n`)
)

// A phone on the shop's wifi, at an address that is not localhost: over plain
// HTTP the browser gives no service worker, over HTTPS it refuses the shop
// until the root is trusted, and then the app installs. It belongs to the shop
// once it opened what the terminal showed; it works while the shop is away, and
// sends what was written meanwhile. A second phone joins by the code that the
// first one shows, and reads nothing more once it was taken off. At last the shop
// takes another name, and the first phone, which is served at the old one, is
// led to the new.
func TestBrowserOverWifi(t *testing.T) {
	chromium := browsertest.Chromium(t)
	net := newWifi(t)
	bin, data, home := program(t), t.TempDir(), t.TempDir()
	terminal, stop := net.serve(t, bin, data, "shop.local")

	there := net.browser(t, chromium)
	p := browsertest.NewAt(t, "phone", browsertest.Place{Origin: "https://shop.local:8443", Browser: there, Home: home,
		Resolve: "MAP *.local " + shopAddress})

	if err := p.Browse("http://" + shopAddress + ":8080/"); err != nil {
		t.Fatal(err)
	}
	p.Until("the page that brings the certificate", "document.title === 'Let this phone trust the shop'")
	if browsertest.JS[bool](p, "isSecureContext || 'serviceWorker' in navigator") {
		t.Error("plain HTTP at an address is a secure context to this browser: the test proves nothing")
	}
	if err := p.Browse("https://shop.local:8443/"); err == nil || !strings.Contains(err.Error(), "ERR_CERT_AUTHORITY_INVALID") {
		t.Errorf("a phone that trusts nothing opens the shop: %v", err)
	}

	// What the person does in the phone's settings.
	p.Close()
	trust(t, home, "shop", filepath.Join(data, "keys", "root.pem"))
	p.Start()

	p.Open("/#/")
	p.Sees("join")
	p.Type("join-code", "0000 0000")
	p.Tap("join-go")
	p.Until("the refused code", `document.querySelector('.refused')?.textContent.includes('Ask the lead for another')`)
	shown := shownAddress.FindString(terminal.String())
	if shown == "" {
		t.Fatalf("the terminal shows no invitation:\n%s", terminal.String())
	}
	if err := p.Browse(shown); err != nil {
		t.Fatal(err)
	}
	p.Type("join-name", "Mara's phone")
	p.Tap("join-go")
	p.Sees("setup")
	if strings.Contains(browsertest.JS[string](p, "location.href"), "join") {
		t.Error("the invitation stays in the address")
	}
	setUp(p) // waits for the app to be kept for offline use
	be(p, "J")
	job := bringIn(p, "V7")
	isAllAtShop(p)

	stop()
	isOffline(p)
	p.Close()
	p.Start()
	openJob(p, job)
	p.Tap("tick:wash")
	stageIs(p, "wash", "done")
	isHere(p, 1)

	_, stop = net.serve(t, bin, data, "shop.local")
	isAllAtShop(p)

	be(p, "M")
	p.Open("/#/phones")
	p.Type("pin-new", "4071")
	p.Tap("pin-keep")
	p.Until("the PIN", `document.querySelector('[data-testid="pin-state"]')?.innerText.startsWith('Set ')`)
	p.Tap("invite-crew")
	p.Sees("invite-code")
	q := browsertest.NewAt(t, "second phone", browsertest.Place{Origin: "https://shop.local:8443", Browser: there, Home: home,
		Resolve: "MAP shop.local " + shopAddress})
	q.Open("/#/")
	q.Sees("join")
	q.Type("join-code", strings.ToLower(p.Text("invite-code")))
	q.Type("join-name", "bay phone")
	q.Tap("join-go")
	q.Sees("job-row:V7")
	be(q, "J")
	q.Until("the plan, which only phones of the shop are given", "fetch('/lead').then((r) => r.status === 200)")
	openJob(q, job)
	q.Tap("note-add")
	q.Type("note-text", "Seen from the second phone")
	q.Tap("note-save")
	isAllAtShop(q)

	// On the shared phone a hand is told whom to ask. A lead types the PIN there, and
	// not before that it counts.
	q.Open("/#/setup")
	q.Until("whom to ask", `document.querySelector('[data-testid="needs:place.add"]')?.innerText === 'Ask the lead.' && !document.querySelector('[data-testid=place-save]')`)
	be(q, "M")
	q.Open("/#/setup")
	q.Sees("needs:place.add")
	q.Type("place-name", "Bay 9")
	q.Tap("place-save")
	q.Type("pin", "4072")
	q.Tap("pin-go")
	q.Until("the wrong PIN", `document.querySelector('dialog .refused')?.innerText.includes('This PIN is wrong')`)
	q.Type("pin", "4071")
	q.Tap("pin-go")
	const bay9 = `[...document.querySelectorAll('[data-testid=setup] .tape')].some(e => e.innerText === 'Bay 9')`
	q.Until("the bay", bay9)
	isAllAtShop(q)
	p.Open("/#/setup")
	p.Until("the bay at the lead's phone", bay9)
	p.Open("/#/phones")
	p.Until("where the PIN was typed", `document.querySelector('[data-testid="phone:bay phone"]')?.innerText.includes('By PIN: ')`)

	p.Tap("off:bay phone")
	p.Until("the phone to be taken off", `document.querySelector('[data-testid="phone:bay phone"]')?.innerText.includes('Taken off')`)
	q.Until("the phone to hear it", `document.querySelector('[data-testid="net"]')?.innerText === 'not of the shop'`)
	if got := browsertest.JS[int](q, "fetch('/lead').then((r) => r.status)"); got != 401 {
		t.Errorf("it is told the plan: %d", got)
	}

	stop()
	isOffline(p)
	openJob(p, job)
	p.Tap("note-add")
	p.Type("note-text", "Written while the shop moved")
	p.Tap("note-save")
	isHere(p, 1)
	terminal, _ = net.serve(t, bin, data, "six.local")
	p.Open("/#/")
	p.Tap("moved")
	p.Sees("moved-go") // the note went first
	p.Tap("moved-go")
	p.Sees("moved-link")
	for id, want := range map[string]string{"moved-link": `^https://six\.local:8443/#/join/[A-Za-z0-9_-]{22}$`, "moved-trust": `^http://192\.168\.77\.1:8080/?$`} {
		if got := browsertest.JS[string](p, `document.querySelector('[data-testid="`+id+`"]').href`); !regexp.MustCompile(want).MatchString(got) {
			t.Errorf("%s leads to %s", id, got)
		}
	}
	link := browsertest.JS[string](p, `document.querySelector('[data-testid="moved-link"]').href`)
	if !strings.Contains(terminal.String(), "Phones that still go by https://shop.local:8443: ") || !strings.Contains(terminal.String(), "Mara's phone") {
		t.Errorf("the terminal does not say who is left:\n%s", terminal)
	}
	// The new name has a root of its own, which the person lets the phone trust.
	p.Close()
	trust(t, home, "six", filepath.Join(data, "keys", "six.local.root.pem"))
	p.Start()
	if err := p.Browse(link); err != nil {
		t.Fatal(err)
	}
	p.Type("join-name", "Mara's phone again")
	p.Tap("join-go")
	p.Sees("job-row:V7") // fetched from the shop, for this store is empty
	p.Until("the note from before", `fetch('/find?q=V7').then((r) => r.status === 200)`)
	if got := browsertest.JS[string](p, `fetch('/origins').then((r) => r.json()).then((o) => JSON.stringify(o.left.flatMap((l) => l.phones.map((p) => p.name))))`); got != "[]" {
		t.Errorf("still at the old address: %s, want nobody: the other phone was taken off", got)
	}
}
