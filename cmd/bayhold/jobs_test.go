package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"testing"

	demo "bayhold/testdata/demo/story"
	"bayhold/testdata/jobs/story"
)

var update = flag.Bool("update", false, "write the golden files anew")

// TestWholeJobs: four whole jobs, one a route, every stage at every hour. The
// answers were read against the story, line by line, before they were
// committed; the story's steps, times and numbers are common practice, no
// source.
func TestWholeJobs(t *testing.T) {
	dir := filepath.Join("..", "..", "testdata", "jobs")
	for name, job := range story.Jobs {
		t.Run(name, func(t *testing.T) {
			log := filepath.Join(dir, name+".jsonl")
			committed, err := os.ReadFile(log)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(committed, demo.JSONL(job())) {
				t.Fatalf("%s is not what the story tells: go run ./testdata/jobs/gen testdata/jobs", name)
			}
			code, got, errs := call("gates", "--log", log, "--every", "1h")
			if code != 0 {
				t.Fatal(errs)
			}
			golden := filepath.Join(dir, name+".gates.txt")
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("%s differs from what was read; look at the difference, then: go test ./cmd/bayhold -run TestWholeJobs -update", golden)
			}
		})
	}
}
