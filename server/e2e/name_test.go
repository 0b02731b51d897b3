package e2e

import (
	"bytes"
	"fmt"
	"net"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/miekg/dns"
	"golang.org/x/net/ipv4"

	"bayhold/server/browsertest"
)

// askFor, set in the environment to a name, makes the test program a machine
// that asks its network for it and prints the answers. It goes by a public DNS
// library (github.com/miekg/dns).
const askFor = "BAYHOLD_TEST_ASK_FOR"

// ask asks as RFC 6762 lets a simple resolver do (section 5.1): one question
// from a port of its own, to 224.0.0.251 port 5353. The answer comes to that
// port and has the question's number and text (section 6.7).
func ask(name string) error {
	c, err := net.ListenUDP("udp4", nil)
	if err != nil {
		return err
	}
	defer c.Close()
	if ifs, err := net.Interfaces(); err == nil { // a phone's wifi; here no route says which it is
		for _, i := range ifs {
			if i.Flags&net.FlagLoopback == 0 && i.Flags&net.FlagUp != 0 {
				ipv4.NewPacketConn(c).SetMulticastInterface(&i)
			}
		}
	}
	q := new(dns.Msg)
	q.SetQuestion(dns.Fqdn(name), dns.TypeA)
	out, err := q.Pack()
	if err != nil {
		return err
	}
	if _, err := c.WriteToUDP(out, &net.UDPAddr{IP: net.IPv4(224, 0, 0, 251), Port: 5353}); err != nil {
		return err
	}
	c.SetReadDeadline(time.Now().Add(2 * time.Second))
	b := make([]byte, 9000)
	n, _, err := c.ReadFromUDP(b)
	if err != nil {
		return err // nobody has the name, or not yet
	}
	a := new(dns.Msg)
	if err := a.Unpack(b[:n]); err != nil {
		return err
	}
	if !a.Response || !a.Authoritative || a.Id != q.Id || len(a.Question) != 1 || a.Question[0] != q.Question[0] {
		return fmt.Errorf("no answer to a simple resolver: %v", a)
	}
	for _, r := range a.Answer {
		if r, ok := r.(*dns.A); ok && strings.EqualFold(r.Hdr.Name, dns.Fqdn(name)) && r.Hdr.Ttl > 0 {
			fmt.Println(r.A)
		}
	}
	return nil
}

// hears asks from the phone until the answer is the address.
func (w *wifi) hears(t *testing.T, name, want string) {
	t.Helper()
	var out []byte
	for deadline := time.Now().Add(browsertest.Patience); time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
		cmd := exec.Command("ip", "netns", "exec", w.phone, os.Args[0])
		cmd.Env = append(os.Environ(), askFor+"="+name)
		if out, _ = cmd.CombinedOutput(); string(out) == want+"\n" {
			return
		}
	}
	t.Fatalf("a phone that asks for %s hears %s, want %s", name, out, want)
}

// The shop's name leads to its machine on a network that has no name server,
// and goes on doing so when the router hands out another address. A second
// machine that is told the same name says so and does not answer.
func TestNameLeadsToTheShop(t *testing.T) {
	t.Parallel() // it mostly waits for the network
	w := newWifi(t)
	bin := browsertest.Program(t)
	serve := func(space string) *said {
		t.Helper()
		var log said
		cmd := exec.Command("ip", "netns", "exec", space, bin, "serve", "--data", t.TempDir(), "--name", "Tarnbrook.local")
		cmd.Stdout, cmd.Stderr = &log, &log
		cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			cmd.Process.Kill()
			cmd.Wait()
		})
		return &log
	}
	until := func(log *said, what string) {
		t.Helper()
		for deadline := time.Now().Add(browsertest.Patience); !strings.Contains(log.String(), what); time.Sleep(20 * time.Millisecond) {
			if time.Now().After(deadline) {
				t.Fatalf("the terminal does not say %q:\n%s", what, log.String())
			}
		}
	}
	until(serve(w.shop), "Phones on this network find the shop")
	w.hears(t, "tarnbrook.local", shopAddress)
	w.hears(t, "TARNBROOK.local", shopAddress) // RFC 6762 section 16: case does not count

	other := serve(w.phone)
	until(other, "at "+shopAddress+", answers to tarnbrook.local")
	if strings.Contains(other.String(), "Phones on this network find the shop") {
		t.Errorf("two machines answer to one name:\n%s", other)
	}

	cable := "bs" + fmt.Sprint(os.Getpid())
	const moved = "192.168.77.9"
	for _, step := range [][]string{{"del", shopAddress + "/24"}, {"add", moved + "/24"}} {
		if out, err := exec.Command("ip", "-n", w.shop, "addr", step[0], step[1], "dev", cable).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", step, bytes.TrimSpace(out))
		}
	}
	w.hears(t, "tarnbrook.local", moved)
}
