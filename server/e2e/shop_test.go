// Package e2e holds the tests of the main job from end to end: the built program
// as a process of its own, real browsers as phones, and the store read back
// through the command line. It tests nothing that a person could not do.
package e2e

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"bayhold/server/browsertest"
)

// shop is the shop server as its own process, on one address and one data
// folder, so that a test can stop it as an owner does, or kill it.
type shop struct {
	t    testing.TB
	bin  string
	data string
	addr string
	args []string
	cmd  *exec.Cmd
	log  bytes.Buffer
}

// program is the program, built once for all tests.
func program(t testing.TB) string {
	t.Helper()
	browsertest.Chromium(t) // says so before anything is built
	return browsertest.Program(t)
}

func TestMain(m *testing.M) {
	if name := os.Getenv(askFor); name != "" {
		if err := ask(name); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	code := m.Run()
	browsertest.Clear()
	os.Exit(code)
}

// newShop serves an empty shop; further arguments go to 'bayhold serve', and
// --demo takes the place of the data folder.
func newShop(t testing.TB, args ...string) *shop {
	t.Helper()
	s := &shop{t: t, bin: program(t), data: t.TempDir(), addr: browsertest.FreeAddr(t), args: args}
	s.start()
	t.Cleanup(func() {
		s.stop()
		if t.Failed() {
			t.Logf("the server's log:\n%s", s.log.String())
		}
	})
	return s
}

// start serves and waits until the server says that it is well.
func (s *shop) start() {
	s.t.Helper()
	if s.cmd != nil {
		s.t.Fatal("the server runs already")
	}
	args := append([]string{"serve", "--addr", s.addr}, s.args...)
	if len(s.args) == 0 {
		args = append(args, "--data", s.data)
	}
	s.cmd = exec.Command(s.bin, args...)
	s.cmd.Stdout, s.cmd.Stderr = &s.log, &s.log
	s.cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	if err := s.cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	for deadline := time.Now().Add(browsertest.Patience); ; time.Sleep(10 * time.Millisecond) {
		answer, err := http.Get("http://" + s.addr + "/healthz")
		if err == nil {
			answer.Body.Close()
			if answer.StatusCode == http.StatusOK {
				return
			}
		}
		if time.Now().After(deadline) {
			s.cmd.Process.Kill()
			s.cmd.Wait()
			s.t.Fatalf("the server at %s is not well: %v\n%s", s.addr, err, s.log.String())
		}
	}
}

// stop ends the server as a person does, and waits until it is gone. It does
// nothing if the server is stopped.
func (s *shop) stop() {
	s.t.Helper()
	if s.cmd == nil {
		return
	}
	s.cmd.Process.Signal(syscall.SIGTERM)
	if err := s.cmd.Wait(); err != nil {
		s.t.Errorf("the server ended badly: %v", err)
	}
	s.cmd = nil
}

// say posts a logger's samples for a place.
func (s *shop) say(place string, samples ...sample) {
	s.t.Helper()
	body, err := json.Marshal(map[string]any{"instrument": "test logger", "samples": samples})
	if err != nil {
		s.t.Fatal(err)
	}
	answer, err := http.Post("http://"+s.addr+"/climate/"+strings.ReplaceAll(place, " ", "%20"), "application/json", bytes.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	defer answer.Body.Close()
	if answer.StatusCode >= 300 {
		var text bytes.Buffer
		text.ReadFrom(answer.Body)
		s.t.Fatalf("climate of %s: %s: %s", place, answer.Status, text.String())
	}
}

// sayHour posts an hour of steady air, up to now: a sample every five minutes,
// so that every ten-minute block but the last is complete.
func (s *shop) sayHour(place string, air, rh float64) {
	s.t.Helper()
	var samples []sample
	for ago := time.Hour; ago >= 0; ago -= 5 * time.Minute {
		samples = append(samples, sample{time.Now().Add(-ago), air, rh})
	}
	s.say(place, samples...)
}

type sample struct {
	At  time.Time `json:"at"`
	Air float64   `json:"air_c"`
	RH  float64   `json:"rh_pct"`
}

// get fetches a path and returns status and body.
func (s *shop) get(path string) (int, []byte) {
	s.t.Helper()
	answer, err := http.Get("http://" + s.addr + path)
	if err != nil {
		s.t.Fatal(err)
	}
	defer answer.Body.Close()
	var body bytes.Buffer
	body.ReadFrom(answer.Body)
	return answer.StatusCode, body.Bytes()
}

// line is one entry of an export, as far as these tests read it.
type line struct {
	Log     string
	Writer  string
	Seq     uint64
	By      string
	Kind    string
	Body    map[string]any
	Strikes []any
	Receipt struct{ Order uint64 }
}

// export stops the server and reads the whole store through 'bayhold export'.
// It returns the entries and the file that holds them. Every entry is checked
// to be there once: identities differ, seq has no gap for a writer in a
// logbook, and so have the order numbers of a logbook.
func (s *shop) export() ([]line, string) {
	s.t.Helper()
	s.stop()
	var stderr bytes.Buffer
	cmd := exec.Command(s.bin, "export", "--data", s.data)
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		s.t.Fatalf("export: %v\n%s", err, stderr.String())
	}
	file := filepath.Join(s.t.TempDir(), "export.jsonl")
	if err := os.WriteFile(file, out, 0o600); err != nil {
		s.t.Fatal(err)
	}
	var lines []line
	next := map[string]uint64{} // by writer and logbook
	orders := map[string]uint64{}
	in := bufio.NewScanner(bytes.NewReader(out))
	in.Buffer(nil, 1<<20)
	for in.Scan() {
		var l line
		if err := json.Unmarshal(in.Bytes(), &l); err != nil {
			s.t.Fatalf("export: %v in %s", err, in.Text())
		}
		key := l.Log + " " + l.Writer
		if l.Seq != next[key]+1 {
			s.t.Errorf("the store has entry %d of %s after %d", l.Seq, key, next[key])
		}
		next[key] = l.Seq
		if l.Receipt.Order != orders[l.Log]+1 {
			s.t.Errorf("order %d of %s after %d", l.Receipt.Order, l.Log, orders[l.Log])
		}
		orders[l.Log] = l.Receipt.Order
		lines = append(lines, l)
	}
	return lines, file
}

// count is how many of the lines are of this kind and pass the test.
func count(lines []line, kind string, is func(line) bool) int {
	n := 0
	for _, l := range lines {
		if l.Kind == kind && (is == nil || is(l)) {
			n++
		}
	}
	return n
}

// with is true for lines whose body has this value under the key.
func with(key string, value any) func(line) bool {
	return func(l line) bool { return fmt.Sprint(l.Body[key]) == fmt.Sprint(value) }
}

// gates is what 'bayhold gates' says of a logbook at a moment, as JSON.
func (s *shop) gates(file string, at time.Time) []byte {
	s.t.Helper()
	var stderr bytes.Buffer
	cmd := exec.Command(s.bin, "gates", "--log", file, "--at", at.Format(time.RFC3339), "--json")
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		s.t.Fatalf("gates: %v\n%s", err, stderr.String())
	}
	return out
}
