package main

import (
	"bufio"
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// phone is our own configuration of the peers' harness: the server as a
// process of its own, and clients that run the phone's WebAssembly core under
// Node.
//
//go:embed phone
var phone embed.FS

// stacks are measured in turn, each round, by the configurations of the harness
// that have their entries in a backlog and one event to twenty clients. The
// floor is no rival: fsync before the answer and nothing else, which this shape
// of data costs at least.
var stacks = []struct {
	name, backlog, live string
	rival               bool
}{
	{"Bayhold", "bayhold", "bayhold MODE=live", false},
	{"Yjs, y-websocket", "yjs SHAPE=perjob", "yjs MODE=live SHAPE=perjob", true},
	{"automerge-repo", "automerge SHAPE=json", "automerge MODE=live SHAPE=json", true},
	{"PouchDB, CouchDB protocol", "pouch SHAPE=tuned", "pouch MODE=live SHAPE=default", true},
	{"floor, compressed", "gofloor BATCH=500 DEFLATE=1", "gofloor MODE=live", false},
}

// result is one line of the harness; times in ms, volumes in bytes, memory in
// MB.
type result struct {
	Cfg       string  `json:"cfg"`
	WallMs    float64 `json:"wallMs"`
	AUp       float64 `json:"aUp"`
	BDown     float64 `json:"bDown"`
	PeakMB    float64 `json:"peakMB"`
	P50       float64 `json:"p50all"`
	P99       float64 `json:"p99all"`
	Expected  float64 `json:"expected"`
	AfterKill float64 `json:"afterKill9"`
	Same      *bool   `json:"same"`
}

func wall(r result) float64 { return r.WallMs }
func p50(r result) float64  { return r.P50 }
func p99(r result) float64  { return r.P99 }

// sideBySide runs every configuration of the harness in dir, interleaved, and
// returns the results of each.
func sideBySide(dir string, rounds int) (map[string][]result, error) {
	if _, err := os.Stat(filepath.Join(dir, "run.sh")); err != nil {
		return nil, fmt.Errorf("there is no harness of peers in %q: say where it is with PEERS=DIR", dir)
	}
	work, err := os.MkdirTemp("", "peers-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(work)
	if err := os.CopyFS(work, os.DirFS(dir)); err != nil {
		return nil, fmt.Errorf("copy the peers' harness: %w", err)
	}
	ours := filepath.Join(work, "bayhold")
	sub, err := fs.Sub(phone, "phone")
	if err != nil {
		return nil, err
	}
	if err := os.CopyFS(ours, sub); err != nil {
		return nil, err
	}
	root, err := os.Getwd()
	if err != nil {
		return nil, err
	}
	build := exec.Command("go", "build", "-o", filepath.Join(ours, "bayhold.bin"), "./cmd/bayhold")
	build.Stderr = os.Stderr
	if err := build.Run(); err != nil {
		return nil, fmt.Errorf("build the server: %w", err)
	}
	args := []string{"run.sh", strconv.Itoa(rounds)}
	for _, s := range stacks {
		args = append(args, s.backlog, s.live)
	}
	cmd := exec.Command("bash", args...)
	cmd.Dir, cmd.Stderr = work, os.Stderr
	cmd.Env = append(os.Environ(), "APP="+filepath.Join(root, "pwa", "app"))
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("run the peers' harness: %w", err)
	}
	fmt.Fprintf(os.Stderr, "%s", out)
	raw, err := os.ReadFile(filepath.Join(work, "results.ndjson"))
	if err != nil {
		return nil, err
	}
	return results(raw)
}

// results reads the harness's lines.
func results(raw []byte) (map[string][]result, error) {
	by := map[string][]result{}
	sc := bufio.NewScanner(bytes.NewReader(raw))
	sc.Buffer(nil, 1<<20)
	for sc.Scan() {
		var r result
		if json.Unmarshal(sc.Bytes(), &r) != nil || r.Cfg == "" {
			continue
		}
		if r.Same != nil && !*r.Same {
			return nil, fmt.Errorf("%s: the two clients ended with different entries", r.Cfg)
		}
		by[r.Cfg] = append(by[r.Cfg], r)
	}
	if ours := stacks[0]; len(by[ours.backlog]) == 0 || len(by[ours.live]) == 0 {
		return nil, fmt.Errorf("our own configuration gave no result: run it alone, in the copied harness, to see why")
	}
	return by, nil
}

// compare notes our medians, and their ratio to the fastest rival's, as rows of
// the budget.
func compare(by map[string][]result, into map[string]float64) {
	ours := stacks[0]
	backlog, live := by[ours.backlog], by[ours.live]
	fastest := func(of func(result) float64) float64 {
		best := math.Inf(1)
		for _, s := range stacks {
			for _, c := range []string{s.backlog, s.live} {
				if v := median(by[c], of); s.rival && v > 0 {
					best = min(best, v)
				}
			}
		}
		return best
	}
	into["peers backlog-ratio"] = median(backlog, wall) / fastest(wall)
	into["peers up-MB"] = median(backlog, func(r result) float64 { return r.AUp }) / 1e6
	into["peers down-MB"] = median(backlog, func(r result) float64 { return r.BDown }) / 1e6
	into["peers p50-ratio"] = median(live, p50) / fastest(p50)
	into["peers p99-ratio"] = median(live, p99) / fastest(p99)
	lost := 0.0
	for _, r := range live {
		lost += r.Expected - r.AfterKill
	}
	into["peers lost"] = lost
}

// beside renders every stack's medians as Markdown.
func beside(by map[string][]result) string {
	var b strings.Builder
	b.WriteString("| stack | backlog ms | up / down MB | server peak MB | live p50 / p99 ms | left after SIGKILL |\n|---|--:|--:|--:|--:|--:|\n")
	for _, s := range stacks {
		backlog, live := by[s.backlog], by[s.live]
		fmt.Fprintf(&b, "| %s | %.0f | %.2f / %.2f | %.0f | %.1f / %.1f | %.0f of %.0f |\n", s.name, median(backlog, wall),
			median(backlog, func(r result) float64 { return r.AUp })/1e6, median(backlog, func(r result) float64 { return r.BDown })/1e6,
			median(backlog, func(r result) float64 { return r.PeakMB }), median(live, p50), median(live, p99),
			median(live, func(r result) float64 { return r.AfterKill }), median(live, func(r result) float64 { return r.Expected }))
	}
	return b.String()
}

// median is NaN of nothing.
func median(rs []result, of func(result) float64) float64 {
	if len(rs) == 0 {
		return math.NaN()
	}
	var v []float64
	for _, r := range rs {
		v = append(v, of(r))
	}
	slices.Sort(v)
	if n := len(v); n%2 == 0 {
		return (v[n/2-1] + v[n/2]) / 2
	}
	return v[len(v)/2]
}
