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
)

// phone is our own configuration of the peers' harness: the server as a
// process of its own, and clients that run the phone's WebAssembly core under
// Node.
//
//go:embed phone
var phone embed.FS

// configs are run in turn, each round; 'floor' rows of the harness are no
// rivals and are left out.
var configs = []string{
	"bayhold", "yjs SHAPE=perjob", "automerge SHAPE=json", "pouch SHAPE=tuned",
	"bayhold MODE=live", "yjs MODE=live SHAPE=perjob", "automerge MODE=live SHAPE=json", "pouch MODE=live SHAPE=default",
}

// result is one line of the harness; times in ms, volumes in bytes.
type result struct {
	Cfg       string  `json:"cfg"`
	WallMs    float64 `json:"wallMs"`
	AUp       float64 `json:"aUp"`
	BDown     float64 `json:"bDown"`
	P50       float64 `json:"p50all"`
	P99       float64 `json:"p99all"`
	Expected  float64 `json:"expected"`
	AfterKill float64 `json:"afterKill9"`
	Same      *bool   `json:"same"`
}

// sideBySide runs every configuration and notes our medians against the
// fastest peer's.
func sideBySide(dir string, rounds int, into map[string]float64) error {
	work, err := os.MkdirTemp("", "peers-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	if err := os.CopyFS(work, os.DirFS(dir)); err != nil {
		return fmt.Errorf("copy the peers' harness: %w", err)
	}
	ours := filepath.Join(work, "bayhold")
	sub, err := fs.Sub(phone, "phone")
	if err != nil {
		return err
	}
	if err := os.CopyFS(ours, sub); err != nil {
		return err
	}
	root, err := os.Getwd()
	if err != nil {
		return err
	}
	build := exec.Command("go", "build", "-o", filepath.Join(ours, "bayhold.bin"), "./cmd/bayhold")
	build.Stderr = os.Stderr
	if err := build.Run(); err != nil {
		return fmt.Errorf("build the server: %w", err)
	}
	cmd := exec.Command("bash", append([]string{"run.sh", strconv.Itoa(rounds)}, configs...)...)
	cmd.Dir, cmd.Stderr = work, os.Stderr
	cmd.Env = append(os.Environ(), "APP="+filepath.Join(root, "pwa", "app"))
	out, err := cmd.Output()
	if err != nil {
		return fmt.Errorf("run the peers' harness: %w", err)
	}
	fmt.Fprintf(os.Stderr, "%s", out)
	raw, err := os.ReadFile(filepath.Join(work, "results.ndjson"))
	if err != nil {
		return err
	}
	return compare(raw, into)
}

// compare takes the harness's lines and notes the rows of the table.
func compare(raw []byte, into map[string]float64) error {
	by := map[string][]result{}
	sc := bufio.NewScanner(bytes.NewReader(raw))
	sc.Buffer(nil, 1<<20)
	for sc.Scan() {
		var r result
		if json.Unmarshal(sc.Bytes(), &r) != nil || r.Cfg == "" {
			continue
		}
		if r.Same != nil && !*r.Same {
			return fmt.Errorf("%s: the two clients ended with different entries", r.Cfg)
		}
		by[r.Cfg] = append(by[r.Cfg], r)
	}
	backlog, live := by["bayhold"], by["bayhold MODE=live"]
	if len(backlog) == 0 || len(live) == 0 {
		return fmt.Errorf("our own configuration gave no result: run it alone, in the copied harness, to see why")
	}
	wall := func(r result) float64 { return r.WallMs }
	p50 := func(r result) float64 { return r.P50 }
	p99 := func(r result) float64 { return r.P99 }
	into["peers backlog-ratio"] = median(backlog, wall) / fastest(by, configs[1:4], wall)
	into["peers up-MB"] = median(backlog, func(r result) float64 { return r.AUp }) / 1e6
	into["peers down-MB"] = median(backlog, func(r result) float64 { return r.BDown }) / 1e6
	into["peers p50-ratio"] = median(live, p50) / fastest(by, configs[5:8], p50)
	into["peers p99-ratio"] = median(live, p99) / fastest(by, configs[5:8], p99)
	lost := 0.0
	for _, r := range live {
		lost += r.Expected - r.AfterKill
	}
	into["peers lost"] = lost
	return nil
}

func median(rs []result, of func(result) float64) float64 {
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

func fastest(by map[string][]result, cfgs []string, of func(result) float64) float64 {
	best := math.Inf(1)
	for _, c := range cfgs {
		if rs := by[c]; len(rs) > 0 {
			best = min(best, median(rs, of))
		}
	}
	return best
}
