package pwa

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// What was packed is served in place of the sources that it was made from; once
// one of them is edited, added or gone, all of them are served as written.
func TestServesPackedWhatIsPacked(t *testing.T) {
	app := fstest.MapFS{}
	for name, content := range map[string]string{"main.js": "a", "worker.js": "b", "views/job.js": "c", "views/later.js": "d", "views/rare.js": "e", "page.css": "f", "own.css": "f", "icon.svg": "g", "vendor/lib.js": "h", "sw.js": "i"} {
		app[name] = &fstest.MapFile{Data: []byte(content)}
	}
	packed := fstest.MapFS{".keep": {}, "IMPORTS": {Data: []byte("main.js: shared-1.js\nworker.js:\nviews/later.js: shared-1.js shared-2.js\nviews/rare.js: shared-3.js\nshared-1.js:\nshared-2.js:\nshared-3.js:\n")}}
	sums := ""
	for name, f := range app {
		if packs(name) {
			sums += fmt.Sprintf("%x  %s\n", sha256.Sum256(f.Data), name)
		}
	}
	packed["SHA256SUMS"] = &fstest.MapFile{Data: []byte(sums)}
	for _, name := range []string{"main.js", "worker.js", "views/later.js", "views/rare.js", "shared-1.js", "shared-2.js", "shared-3.js", "page.css", "own.css", "sw.js"} {
		packed[name] = &fstest.MapFile{Data: []byte("packed")}
	}
	// The page names one style sheet, and has what another page names within it.
	packed["index.html"] = &fstest.MapFile{Data: []byte(`<style>own</style><link rel="stylesheet" href="/app/page.css">`)}
	defer func(l, f []string) { Later, Fetched = l, f }(Later, Fetched)
	Later, Fetched = []string{"views/later.js"}, []string{"views/rare.js"}

	f := newFiles(app, packed)
	if got, want := walk(f), []string{"icon.svg", "index.html", "main.js", "own.css", "page.css", "shared-1.js", "shared-2.js", "shared-3.js", "sw.js", "vendor/lib.js", "views/later.js", "views/rare.js", "worker.js"}; !slices.Equal(got, want) {
		t.Errorf("the server hands out %v, want %v", got, want)
	}
	for name, want := range map[string]string{"main.js": "packed", "page.css": "packed", "icon.svg": "g", "vendor/lib.js": "h"} {
		if got, err := fs.ReadFile(f, name); err != nil || string(got) != want {
			t.Errorf("%s is %q, %v; want %q", name, got, err, want)
		}
	}
	if _, err := fs.ReadFile(f, "views/job.js"); err == nil {
		t.Error("a source is served beside the file that it was joined into: it would run twice")
	}
	now, later := list(f)
	if want := []string{"icon.svg", "index.html", "main.js", "page.css", "shared-1.js", "vendor/lib.js", "worker.js"}; !slices.Equal(now, want) {
		t.Errorf("a phone carries %v, want %v", now, want)
	}
	if want := []string{"shared-2.js", "views/later.js"}; !slices.Equal(later, want) {
		t.Errorf("a phone fetches %v later, want %v", later, want)
	}

	asWritten := func(why string, change func(app fstest.MapFS)) {
		edited := maps.Clone(app)
		change(edited)
		f := newFiles(edited, packed)
		if got, err := fs.ReadFile(f, "main.js"); err != nil || string(got) != "a" {
			t.Errorf("%s: main.js is %q, %v", why, got, err)
		}
		if now, _ := list(f); !slices.Contains(now, "views/job.js") || slices.Contains(now, "views/rare.js") || slices.Contains(now, "views/later.js") {
			t.Errorf("%s: a phone carries %v", why, now)
		}
	}
	asWritten("edited", func(app fstest.MapFS) { app["page.css"] = &fstest.MapFile{Data: []byte("edited since")} })
	asWritten("added", func(app fstest.MapFS) { app["views/new.js"] = &fstest.MapFile{} })
	asWritten("gone", func(app fstest.MapFS) { delete(app, "worker.js"); app["worker.mjs"] = &fstest.MapFile{} })
	packed = fstest.MapFS{}
	asWritten("not packed", func(fstest.MapFS) {})
}

// Each packed script finds what it imports: a name that another lends is there.
func TestEveryImportIsThere(t *testing.T) {
	imported, exported := regexp.MustCompile(`import\{([^}]*)\}from"([^"]+)"`), regexp.MustCompile(`export\{([^}]*)\}`)
	found := 0
	for _, name := range walk(Files) {
		if !packs(name) {
			continue
		}
		script, err := fs.ReadFile(Files, name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range imported.FindAllSubmatch(script, -1) {
			of := string(m[2])
			if !path.IsAbs(of) {
				of = path.Join("/app", path.Dir(name), of)
			}
			source, err := fs.ReadFile(Files, strings.TrimPrefix(of, "/app/"))
			if err != nil {
				t.Errorf("%s imports %s: %v", name, of, err)
				continue
			}
			if path.Dir(of) == "/app/vendor" {
				continue
			}
			has := map[string]bool{}
			for _, e := range exported.FindAllSubmatch(source, -1) {
				for each := range strings.SplitSeq(string(e[1]), ",") {
					has[each[strings.LastIndex(each, " ")+1:]] = true
				}
			}
			for each := range strings.SplitSeq(string(m[1]), ",") {
				if each, _, _ = strings.Cut(each, " "); !has[each] {
					t.Errorf("%s imports %s of %s, which has no such name", name, each, of)
				}
				found++
			}
		}
	}
	if _, isPacked := Files.(packedApp); isPacked && found == 0 {
		t.Error("no script imports anything of another")
	}
}
