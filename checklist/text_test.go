package checklist

import (
	"go/parser"
	"go/token"
	"os"
	"regexp"
	"strings"
	"testing"
)

// Every sentence is there, at most a dozen words with what is filled in taken
// as one word each, and ends like a sentence.
func TestSentences(t *testing.T) {
	for i := sayNothing + 1; i < sentences; i++ {
		s := english[i]
		if s == "" {
			t.Errorf("sentence %d is missing", i)
		}
		if n := len(strings.Fields(s)); n > 12 {
			t.Errorf("%d words: %s", n, s)
		}
		if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") && i != sayWaived {
			t.Errorf("no end: %s", s)
		}
	}
	if got := say(sayCold, "sill", markTemp(9_900), markTemp(15_556)); got != "Too cold: sill ⟨c:9900⟩, at least ⟨c:15556⟩." {
		t.Error(got)
	}
}

// Every call of say fills every gap of its sentence, and no more.
func TestSentencesAreFilled(t *testing.T) {
	files, _ := os.ReadDir(".")
	call := regexp.MustCompile(`\bsay\((say\w+)`)
	names := map[string]sentence{}
	src, err := os.ReadFile("text.go")
	if err != nil {
		t.Fatal(err)
	}
	block := string(src)
	n := sentence(0)
	for _, line := range strings.Split(block[strings.Index(block, "sayNothing"):strings.Index(block, "	sentences\n")], "\n") {
		if f := strings.Fields(line); len(f) > 0 {
			names[f[0]] = n
			n++
		}
	}
	used := map[string]bool{}
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		b, _ := os.ReadFile(f.Name())
		text := string(b)
		for _, m := range call.FindAllStringSubmatchIndex(text, -1) {
			name := text[m[2]:m[3]]
			used[name] = true
			gaps := len(regexp.MustCompile(`\{\d\}`).FindAllString(english[names[name]], -1))
			if got := arguments(text[m[3]:]); got != gaps {
				t.Errorf("%s: %s is filled with %d, has %d", f.Name(), name, got, gaps)
			}
		}
	}
	for name := range names {
		if name != "sayNothing" && !used[name] {
			t.Errorf("nobody says %s", name)
		}
	}
}

// arguments counts what follows up to the closing bracket.
func arguments(s string) int {
	depth, n := 0, 0
	for _, c := range s {
		switch c {
		case '(', '[':
			depth++
		case ')', ']':
			if depth--; depth < 0 {
				return n
			}
		case ',':
			if depth == 0 {
				n++
			}
		}
	}
	return -1
}

// The phone's core is this package compiled to WebAssembly, and every one of
// these would make it too large for a phone to fetch (fmt alone 60 KB,
// encoding/json 200 KB, net 1.4 MB brotli); and nothing here asks for the time.
func TestCoreImports(t *testing.T) {
	forbidden := map[string]bool{"fmt": true, "encoding/json": true, "reflect": true, "net": true, "os": true, "time": true, "log": true, "io": true}
	files, _ := os.ReadDir(".")
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), f.Name(), nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, im := range tree.Imports {
			if p := strings.Trim(im.Path.Value, `"`); forbidden[p] {
				t.Errorf("%s imports %s", f.Name(), p)
			}
		}
	}
}
