// Packapp writes the app's scripts and styles in the form in which they travel:
// without comments and spaces, and with short names inside functions. What
// developers edit stays as it is; every file keeps its name and its imports.
//
//	packapp pwa/app pwa/packed
//
// Beside the packed files it writes SHA256SUMS, the sums of the files they were
// made from, in the form that sha256sum writes and checks. The pwa package
// serves a packed file only while its source still has that sum, so an edit that
// was not packed is served as it was written.
//
// What stands under vendor is packed by those who publish it, and keeps its
// notice.
package main

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/tdewolff/minify/v2"
	"github.com/tdewolff/minify/v2/css"
	"github.com/tdewolff/minify/v2/js"
)

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "usage: packapp SOURCES PACKED")
		os.Exit(2)
	}
	if err := packAll(os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, "packapp:", err)
		os.Exit(1)
	}
}

// forms are the files that are packed. The app is written for browsers of 2020
// (optional chaining, module workers); packing must not ask for a newer one.
var forms = map[string]minify.Minifier{
	".js":  &js.Minifier{Version: 2020},
	".css": &css.Minifier{},
}

// packAll empties the folder to and fills it with the packed form of from.
func packAll(from, to string) error {
	old, err := filepath.Glob(filepath.Join(to, "[^.]*"))
	if err != nil {
		return err
	}
	for _, name := range old {
		if err := os.RemoveAll(name); err != nil {
			return err
		}
	}
	m := minify.New()
	for ext, form := range forms {
		m.Add(ext, form)
	}
	var sums strings.Builder
	err = fs.WalkDir(os.DirFS(from), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if name == "vendor" {
			return fs.SkipDir
		}
		if forms[path.Ext(name)] == nil {
			return nil
		}
		source, err := os.ReadFile(filepath.Join(from, name))
		if err != nil {
			return err
		}
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(source), name) // first: packing works in source itself
		packed, err := m.Bytes(path.Ext(name), source)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		target := filepath.Join(to, name)
		if err := os.MkdirAll(filepath.Dir(target), 0o755); err != nil {
			return err
		}
		return os.WriteFile(target, packed, 0o644)
	})
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(to, "SHA256SUMS"), []byte(sums.String()), 0o644)
}
