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
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
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

// forms are the files that are packed.
var forms = map[string]api.Loader{".js": api.LoaderJS, ".css": api.LoaderCSS}

// pack takes out what only people read. What the program does stands as it was
// written, statement by statement: a shorter way to say the same is not worth
// one that is not the same.
func pack(source string, form api.Loader) ([]byte, error) {
	r := api.Transform(source, api.TransformOptions{Loader: form, MinifyWhitespace: true, MinifyIdentifiers: true,
		LegalComments: api.LegalCommentsNone, Charset: api.CharsetUTF8})
	if len(r.Errors) > 0 {
		e := r.Errors[0]
		if e.Location != nil {
			return nil, fmt.Errorf("line %d: %s", e.Location.Line, e.Text)
		}
		return nil, errors.New(e.Text)
	}
	return r.Code, nil
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
	var sums strings.Builder
	err = fs.WalkDir(os.DirFS(from), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if name == "vendor" {
			return fs.SkipDir
		}
		form, ok := forms[path.Ext(name)]
		if !ok {
			return nil
		}
		source, err := os.ReadFile(filepath.Join(from, name))
		if err != nil {
			return err
		}
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(source), name)
		packed, err := pack(string(source), form)
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
