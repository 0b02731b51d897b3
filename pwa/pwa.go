// Package pwa embeds the phone's app: static files that a browser runs without
// any further build. The server serves Files under /app/ and ServiceWorker()
// as /sw.js; nothing else of the app is made at run time.
//
// The app is one bundle. Its name is the hash of every file in it (Bundle), so
// two servers with the same files agree on it, and a phone that holds the
// bundle holds all of it: the service worker installs the whole list or
// nothing.
//
// app/core.wasm is the Go core compiled for the phone. It is built by make
// (see cmd/phonecore) and not kept in the repository; an app without it still
// serves, and its worker says that the core is missing. A file NAME.br is NAME
// compressed with brotli, for the server to send; it is no file of the app.
package pwa

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"io/fs"
	"slices"
	"strings"
)

//go:embed app all:packed
var embedded embed.FS

// Files are the app's files by their path below /app/, such as "index.html".
var Files fs.FS = newFiles(mustSub(embedded, "app"), mustSub(embedded, "packed"))

// List names every file of the bundle, sorted: what a phone needs to run
// without signal. The service worker itself is not in it: the browser keeps
// that one. Nor is what is Fetched when somebody goes there.
var List = list(Files)

// Fetched are files that the server hands out and no phone carries: what is for
// those who work on the app, what a phone joins by and the lead's list of phones,
// which take the shop in reach anyway, and the library's licence, whose notice
// heads the library itself.
var Fetched = []string{"join.js", "views/joining.js", "views/lookup.js", "views/parts.js", "views/samples.js", "vendor/lit-html.LICENSE"}

// Later are files that a phone fetches once the app is installed, so that no
// first visit waits for them.
var Later = []string{"spanish.txt", "views/checkrecord.js"}

// Bundle is the lower-case hex SHA-256 over both lists and every file's content,
// the service worker's included.
var Bundle = hash(Files, slices.Concat(List, Later))

// mark is what ServiceWorker replaces in app/sw.js, packed or not.
const mark = `{hash:"dev",files:[],later:[]}`

// ServiceWorker returns the text to serve at /sw.js: app/sw.js with the hash
// and the list of the bundle put in. It changes whenever any file changes,
// which is how a browser notices a new bundle.
func ServiceWorker() []byte {
	src, err := fs.ReadFile(Files, "sw.js")
	if err != nil {
		panic("pwa: app/sw.js is not embedded: " + err.Error())
	}
	urls := func(names []string) []string {
		out := make([]string, len(names))
		for i, name := range names {
			out[i] = "/app/" + name
		}
		return out
	}
	facts, err := json.Marshal(struct {
		Hash  string   `json:"hash"`
		Files []string `json:"files"`
		Later []string `json:"later"`
	}{Bundle, urls(List), urls(Later)})
	if err != nil {
		panic(err)
	}
	if !bytes.Contains(src, []byte(mark)) {
		panic("pwa: app/sw.js lost the object that the bundle's list replaces: " + mark)
	}
	return bytes.Replace(src, []byte(mark), facts, 1)
}

// files are those of app, with the packed form in place of a source that it was
// made from.
type files struct {
	fs.FS
	packed fs.FS
	fresh  map[string]bool
}

func newFiles(app, packed fs.FS) files {
	f := files{app, packed, map[string]bool{}}
	sums, _ := fs.ReadFile(packed, "SHA256SUMS") // none: nothing is packed yet
	for line := range strings.Lines(string(sums)) {
		sum, name, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		source, err := fs.ReadFile(app, name)
		has := sha256.Sum256(source)
		f.fresh[name] = err == nil && sum == hex.EncodeToString(has[:])
	}
	return f
}

func (f files) Open(name string) (fs.File, error) {
	if f.fresh[name] {
		return f.packed.Open(name)
	}
	return f.FS.Open(name)
}

func mustSub(f fs.FS, dir string) fs.FS {
	sub, err := fs.Sub(f, dir)
	if err != nil {
		panic(err)
	}
	return sub
}

func list(f fs.FS) []string {
	var names []string
	err := fs.WalkDir(f, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if !d.IsDir() && path != "sw.js" && !slices.Contains(Fetched, path) && !slices.Contains(Later, path) && !strings.HasSuffix(path, ".md") && !strings.HasSuffix(path, ".br") {
			names = append(names, path)
		}
		return nil
	})
	if err != nil {
		panic(err)
	}
	return names // WalkDir goes in lexical order
}

func hash(f fs.FS, names []string) string {
	h := sha256.New()
	for _, name := range append([]string{"sw.js"}, names...) {
		b, err := fs.ReadFile(f, name)
		if err != nil {
			panic(err)
		}
		sum := sha256.Sum256(b)
		h.Write([]byte(name))
		h.Write([]byte{0})
		h.Write(sum[:])
	}
	return hex.EncodeToString(h.Sum(nil))
}
