package main

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
)

// packages are those that keep a row's promise, each once.
func packages() []string {
	var out []string
	for _, r := range rows {
		if r.pkg != "" && !slices.Contains(out, r.pkg) {
			out = append(out, r.pkg)
		}
	}
	return out
}

// benchmarks runs every BenchmarkBudget of one package and notes each metric
// under 'Benchmark unit'.
func benchmarks(pkg string, into map[string]float64) error {
	cmd := exec.Command("go", "test", "-run", "^$", "-bench", "^BenchmarkBudget", "-timeout", "20m", pkg)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return fmt.Errorf("benchmarks of %s: %w\n%s", pkg, err, out)
	}
	parse(out, into)
	return nil
}

// parse reads the standard benchmark format: name, runs, then pairs of value
// and unit (https://go.dev/design/14313-benchmark-format).
func parse(out []byte, into map[string]float64) {
	sc := bufio.NewScanner(bytes.NewReader(out))
	for sc.Scan() {
		f := strings.Fields(sc.Text())
		if len(f) < 4 || !strings.HasPrefix(f[0], "Benchmark") {
			continue
		}
		name := f[0]
		if i := strings.LastIndexByte(name, '-'); i > 0 {
			if _, err := strconv.Atoi(name[i+1:]); err == nil {
				name = name[:i]
			}
		}
		for i := 2; i+1 < len(f); i += 2 {
			if v, err := strconv.ParseFloat(f[i], 64); err == nil {
				into[name+" "+f[i+1]] = v
			}
		}
	}
}
