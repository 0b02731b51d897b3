package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A packed module means what its source meant: what others import keeps its
// name, and what stands in strings and templates keeps every letter. The
// expected text is the source's own, by hand; ECMAScript's grammar allows the
// rest to go (ECMA-262, 12.2 to 12.4: white space, line ends, comments).
func TestPacksWhatOnlyPeopleRead(t *testing.T) {
	from, to := t.TempDir(), t.TempDir()
	for name, content := range map[string]string{
		"views/a.js": "// @ts-check\n/** Says it.\n * @param {string} name */\n" +
			"export function greeting(name) {\n  // a comment\n  const sentence = `Drying:  ${name}\n  of 12 h`;\n  return [sentence, '// no comment', /\\/\\/ +/.source];\n}\n",
		"page.css":         "/* a comment */\n.screen  >  p {\n  margin : 0 ;\n}\n",
		"vendor/lib.js":    "/*! notice */ const  spaced  =  1;\n",
		"index.html":       "<!-- stays -->\n",
		"views/classic.js": "const top_ = 1; // a script's names are everybody's\n",
	} {
		write(t, filepath.Join(from, name), content)
	}
	write(t, filepath.Join(to, "views/gone.js"), "from an older build")
	write(t, filepath.Join(to, ".keep"), "stays")
	if err := packAll(from, to); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"views/a.js":       "export function greeting(n){const e=`Drying:  ${n}\n  of 12 h`;return[e,\"// no comment\",/\\/\\/ +/.source]}\n",
		"page.css":         ".screen>p{margin:0}\n",
		"views/classic.js": "const top_=1;\n",
		".keep":            "stays",
	} {
		if got, err := os.ReadFile(filepath.Join(to, name)); err != nil || string(got) != want {
			t.Errorf("%s: %v\n got %q\nwant %q", name, err, got, want)
		}
	}
	for _, name := range []string{"views/gone.js", "vendor", "index.html"} {
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
	write(t, filepath.Join(from, "a.js"), "export function item(r) {\n  const before = r.at;\n  const { size } = r.head();\n  return [before, size];\n}\n")
	if err := packAll(from, to); err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(filepath.Join(to, "a.js"))
	if at, head := strings.Index(string(got), ".at"), strings.Index(string(got), ".head()"); err != nil || at < 0 || head < at {
		t.Errorf("%s (%v): the head is read before the place is noted", got, err)
	}
}

func TestRefusesWhatIsNoScript(t *testing.T) {
	from := t.TempDir()
	write(t, filepath.Join(from, "a.js"), "const = 1")
	if err := packAll(from, t.TempDir()); err == nil || !strings.Contains(err.Error(), "a.js") {
		t.Errorf("%v: want an error that names the file", err)
	}
}

func write(t *testing.T, name, content string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(content), 0o644); err != nil {
		t.Fatal(err)
	}
}
