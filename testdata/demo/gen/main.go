// Command gen writes the demo shop's two runs, run-a.jsonl and run-b.jsonl,
// into the directory it is given.
//
//	go run ./testdata/demo/gen testdata/demo
package main

import (
	"fmt"
	"os"
	"path/filepath"

	"bayhold/testdata/demo/story"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: gen DIRECTORY")
		os.Exit(2)
	}
	for run, name := range map[byte]string{'A': "run-a.jsonl", 'B': "run-b.jsonl"} {
		if err := os.WriteFile(filepath.Join(os.Args[1], name), story.JSONL(story.Run(run)), 0o644); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}
