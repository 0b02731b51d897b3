package pwa_test

import (
	"io/fs"
	"os"
	"path"
	"regexp"
	"strings"
	"testing"
)

// asMarkup are the ways in which a page makes markup or a script of a text: the
// injection sinks of the Trusted Types specification (W3C, section 'Injection
// Sinks') and what lit-html offers around its own templates.
var asMarkup = regexp.MustCompile(`\b(innerHTML|outerHTML|insertAdjacentHTML|setHTMLUnsafe|parseHTMLUnsafe|createContextualFragment|parseFromString|srcdoc|unsafeHTML|unsafeSVG|unsafeStatic|execCommand)\b|document\.write|\beval\(|new Function\b|\bset(Timeout|Interval)\(['"` + "`" + `]|setAttribute\(['"]on|javascript:|createElement\(['"](script|iframe|object|embed|base)['"]`)

// asScript are the ways in which another script begins: by a path of ours.
var asScript = regexp.MustCompile(`new (?:Shared)?Worker\(([^,)]*)|\.register\(([^,)]*)|importScripts\(([^,)]*)`)

// Whatever stands in a name or a note, it is text on the screen: nothing in the
// app makes markup or a script of one. lit-html, which is vendored, makes markup
// of the templates that stand in the sources.
func TestWhatIsTypedStaysText(t *testing.T) {
	seen := 0
	err := fs.WalkDir(os.DirFS("app"), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || strings.HasPrefix(name, "vendor/") || path.Ext(name) != ".js" {
			return err
		}
		text, err := os.ReadFile(path.Join("app", name))
		// The first script runs before any module: whatever its policy is asked, it
		// answers with one path that stands there.
		fixed := strings.Contains(string(text), "const path = '/app/worker.js';") && strings.Contains(string(text), "createScriptURL: () => path }")
		for n, line := range strings.Split(string(text), "\n") {
			if code, _, _ := strings.Cut(line, "//"); asMarkup.MatchString(code) {
				t.Errorf("app/%s:%d makes markup or a script of a text: %s", name, n+1, strings.TrimSpace(line))
			}
			for _, m := range asScript.FindAllStringSubmatch(line, -1) {
				seen++
				if what := m[1] + m[2] + m[3]; !strings.HasPrefix(what, "script(") && !(fixed && what == "policy?.createScriptURL(path") {
					t.Errorf("app/%s:%d begins a script by %s, not by script.js", name, n+1, what)
				}
			}
		}
		return err
	})
	if err != nil || seen < 2 {
		t.Errorf("%d scripts are begun: %v", seen, err)
	}
	for _, bad := range []string{"e.innerHTML = name", "document.write(x)", "setTimeout('x')", "html`${unsafeHTML(x)}`", "document.createElement('script')"} {
		if !asMarkup.MatchString(bad) {
			t.Errorf("%s is not found", bad)
		}
	}
}
