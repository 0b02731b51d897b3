// Command gen writes the four jobs, van.jsonl and its like, into the directory
// it is given.
//
//	go run ./testdata/jobs/gen testdata/jobs
package main

import (
	"fmt"
	"os"
	"path/filepath"

	demo "bayhold/testdata/demo/story"
	"bayhold/testdata/jobs/story"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: gen DIRECTORY")
		os.Exit(2)
	}
	for name, job := range story.Jobs {
		if err := os.WriteFile(filepath.Join(os.Args[1], name+".jsonl"), demo.JSONL(job()), 0o644); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}
