package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/andybalholm/brotli"
)

// A packed module means what its source meant: what stands in strings and
// templates keeps every letter, what a page starts with is one file, what is
// imported later is another, what both need stands in the first and runs once, and
// what two of the others need in a third; the worker's file is whole, and what was
// packed alone stands within the page. The expected text is the source's own, by hand; ECMAScript's grammar allows the
// rest to go (ECMA-262, 12.2 to 12.4: white space, line ends, comments), and a
// module is evaluated once however often it is imported (16.2.1.5).
func TestPacksWhatOnlyPeopleRead(t *testing.T) {
	from, to := t.TempDir(), t.TempDir()
	for name, content := range map[string]string{
		"index.html": "<!-- stays --><script src=\"/app/views/classic.js\"></script>\n<link rel=\"stylesheet\" href=\"/app/page.css\"><script type=\"module\" src=\"/app/main.js\"></script>\n",
		"main.js":    "import { lib } from './vendor/lib.js';\nimport { greeting } from './views/a.js';\nlib(greeting('x'));\nexport const rare = () => [import('./views/rare.js'), import('./views/rarer.js')];\n",
		"worker.js":  "import { greeting } from './views/a.js';\nself.name = greeting('worker');\n",
		"sw.js":      "const top_level = {hash:\"dev\"};\n",
		"views/a.js": "// @ts-check\n/** Says it.\n * @param {string} name */\n" +
			"export function greeting(name) {\n  // a comment\n  const sentence = `Drying:  ${name}\n  of 12 h`;\n  return [sentence, '// no comment', /\\/\\/ +/.source];\n}\n",
		"views/rare.js":    "import { greeting } from './a.js';\nimport { two } from './two.js';\nexport const rarely = greeting(two);\n",
		"views/rarer.js":   "import { two } from './two.js';\nexport const rarer = [two];\n",
		"views/two.js":     "export const two = 'of two alone';\n",
		"page.css":         "/* a comment */\n.screen  >  p {\n  margin : 0 ;\n}\n",
		"vendor/lib.js":    "/*! notice */ export const  lib  =  (x) => x;\n",
		"views/classic.js": "const top_ = 1; // a script's names are everybody's\n",
	} {
		put(t, filepath.Join(from, name), content)
	}
	put(t, filepath.Join(to, "views/gone.js"), "from an older build")
	put(t, filepath.Join(to, ".keep"), "stays")
	if err := packAll(from, to); err != nil {
		t.Fatal(err)
	}
	shared, err := filepath.Glob(filepath.Join(to, "shared-*.js"))
	if err != nil || len(shared) != 1 {
		t.Fatalf("what two of the others need stands in %v, %v", shared, err)
	}
	both := filepath.Base(shared[0])
	for name, want := range map[string]string{
		"page.css":         ".screen>p{margin:0}\n",
		"views/classic.js": "const top_=1;\n",
		"sw.js":            "const top_level={hash:\"dev\"};\n",
		".keep":            "stays",
		"IMPORTS":          "main.js:\n" + both + ":\nviews/rare.js: main.js " + both + "\nviews/rarer.js: " + both + "\nworker.js:\n",
	} {
		if got, err := os.ReadFile(filepath.Join(to, name)); err != nil || string(got) != want {
			t.Errorf("%s: %v\n got %q\nwant %q", name, err, got, want)
		}
	}
	const sentence, ofTwo = "}\n  of 12 h`", "of two alone"
	for name, want := range map[string][]string{
		"main.js":        {"`Drying:  ${", sentence, `import("./views/rare.js")`, `import("./views/rarer.js")`, `from"/app/vendor/lib.js"`}, // what is under vendor is not packed
		"worker.js":      {"`Drying:  ${", sentence},
		both:             {ofTwo},
		"views/rare.js":  {`from"../` + both, `from"/app/main.js"`},
		"views/rarer.js": {`from"../` + both},
	} {
		got := string(read(t, filepath.Join(to, name)))
		for _, w := range want {
			if !strings.Contains(got, w) {
				t.Errorf("%s:\n got %q\nwant %q in it", name, got, w)
			}
		}
		for once, in := range map[string]string{sentence: "main.js", ofTwo: both} {
			if name != in && name != "worker.js" && strings.Contains(got, once) {
				t.Errorf("%s has %q, too: it would run twice", name, once)
			}
		}
	}
	// What the page's script lends bears the sum of what it was shared in.
	asked := regexp.MustCompile(`import\{(\w+) as \w+\}from"/app/main.js"`).FindStringSubmatch(string(read(t, filepath.Join(to, "views/rare.js"))))
	if asked == nil || !strings.HasPrefix(asked[1], "_") || len(asked[1]) < 10 || !regexp.MustCompile(`export\{[^}]*\w+ as `+asked[1]+`\b`).Match(read(t, filepath.Join(to, "main.js"))) {
		t.Errorf("views/rare.js asks main.js for %q, which has %s", asked, read(t, filepath.Join(to, "main.js")))
	}
	links := strings.Split(strings.TrimSuffix(strings.TrimPrefix(string(read(t, filepath.Join(to, "index.html"))),
		"<!-- stays --><script>const top_=1;\n</script>\n"), "\n<style>.screen>p{margin:0}\n</style><script type=\"module\" src=\"/app/main.js\"></script>\n"), "\n")
	slices.Sort(links)
	if want := []string{`<link rel="modulepreload" href="/app/vendor/lib.js">`}; !slices.Equal(links, want) {
		t.Errorf("the page has %q between its scripts, want %q", links, want)
	}
	packed, err := os.ReadFile(filepath.Join(to, both+".br"))
	if plain, err2 := io.ReadAll(brotli.NewReader(bytes.NewReader(packed))); err != nil || err2 != nil || !bytes.Equal(plain, read(t, filepath.Join(to, both))) {
		t.Errorf("%s.br holds %q, %v, %v", both, plain, err, err2)
	}
	for _, name := range []string{"views/gone.js", "views/a.js", "vendor", "sw.js.br"} {
		if _, err := os.Stat(filepath.Join(to, name)); err == nil {
			t.Errorf("%s is in the packed folder and should not be", name)
		}
	}
	check := exec.Command("sha256sum", "--check", "--quiet", filepath.Join(to, "SHA256SUMS"))
	check.Dir = from
	if out, err := check.CombinedOutput(); err != nil {
		t.Errorf("sha256sum: %v\n%s", err, out)
	}
}

// Declarations run in the order in which they stand (ECMA-262, 14.3.1.2): what
// the second one moves on is read by the first before it.
func TestKeepsTheOrderOfDeclarations(t *testing.T) {
	from, to := t.TempDir(), t.TempDir()
	put(t, filepath.Join(from, "sw.js"), "")
	put(t, filepath.Join(from, "worker.js"), "export function item(r) {\n  const before = r.at;\n  const { size } = r.head();\n  return [before, size];\n}\n")
	if err := packAll(from, to); err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(filepath.Join(to, "worker.js"))
	if at, head := strings.Index(string(got), ".at"), strings.Index(string(got), ".head()"); err != nil || at < 0 || head < at {
		t.Errorf("%s (%v): the head is read before the place is noted", got, err)
	}
}

func TestRefusesWhatIsNoScript(t *testing.T) {
	from := t.TempDir()
	put(t, filepath.Join(from, "sw.js"), "")
	put(t, filepath.Join(from, "a.js"), "const = 1")
	put(t, filepath.Join(from, "worker.js"), "import './a.js'")
	if err := packAll(from, t.TempDir()); err == nil || !strings.Contains(err.Error(), "a.js") {
		t.Errorf("%v: want an error that names the file", err)
	}
}

// Nothing ends its element within the page too soon (HTML, 13.2.5.4 and 4.12.1.3):
// such an end is written otherwise or refused, and so is a page that names what was
// not packed.
func TestWhatStandsWithinIsWhole(t *testing.T) {
	for name, content := range map[string]string{"first.js": "const s = '</scRipt>';", "page.css": "p::after { content: '</style>'; }", "open.js": "const s = '<!-- <script>';", "gone.js": ""} {
		from := t.TempDir()
		put(t, filepath.Join(from, "sw.js"), "")
		put(t, filepath.Join(from, "worker.js"), "")
		named := "<script src=\"/app/" + name + "\"></script>"
		if strings.HasSuffix(name, ".css") {
			named = "<link rel=\"stylesheet\" href=\"/app/" + name + "\">"
		}
		put(t, filepath.Join(from, "main.js"), "")
		put(t, filepath.Join(from, "index.html"), named+"\n<script type=\"module\" src=\"/app/main.js\"></script>\n")
		if content != "" {
			put(t, filepath.Join(from, name), content)
		}
		to := t.TempDir()
		if err := packAll(from, to); err != nil && strings.Contains(err.Error(), name) {
			continue
		}
		if content == "" {
			t.Errorf("%s is not there, and no error names it", name)
		} else if got := strings.ToLower(string(read(t, filepath.Join(to, "index.html")))); strings.Count(got, "</") != 2 || strings.Contains(got, "<!--") {
			t.Errorf("%s stands in the page as %s", name, got)
		}
	}
}

func read(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func put(t *testing.T, name, content string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(content), 0o644); err != nil {
		t.Fatal(err)
	}
}
