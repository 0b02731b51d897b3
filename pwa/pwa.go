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
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"io/fs"
	"path"
	"regexp"
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
var List, later = list(Files)

// Fetched are files that the server hands out and no phone carries: what is for
// those who work on the app, the screen that a phone joins by, the lead's list of
// phones and what the shop server looks up and counts, which take the shop in reach
// anyway, the page of a vehicle's owner and the screen that gives the link to it, the shop's
// instruments and hours, and the library's licence, whose notice heads the library
// itself.
var Fetched = []string{"owner.css", "owner.html", "owner.js", "views/ownerlink.js", "views/hours.js", "views/instruments.js", "views/joining.js", "views/learn.js", "views/lookup.js", "views/moved.js", "views/parts.js", "views/phones.js", "views/samples.js", "vendor/lit-html.LICENSE"}

// Later are files that a phone fetches once the app is installed, so that no
// first visit waits for them.
var Later = []string{"spanish.txt", "spanish.webmanifest", "views/checkrecord.js", "views/late.js"}

// Bundle is the lower-case hex SHA-256 over both lists and every file's content,
// the service worker's included.
var Bundle = hash(Files, slices.Concat(List, later))

// Within are the sums of what stands within the page: its scripts and its styles, as
// a content security policy names them (CSP Level 3, section 6.7.2). The build puts
// them there (cmd/packapp); the page as it is written has none.
var Within = within(Files)

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
	}{Bundle, urls(List), urls(later)})
	if err != nil {
		panic(err)
	}
	if !bytes.Contains(src, []byte(mark)) {
		panic("pwa: app/sw.js lost the object that the bundle's list replaces: " + mark)
	}
	return bytes.Replace(src, []byte(mark), facts, 1)
}

// inner finds a script or a style within the page.
var inner = regexp.MustCompile(`(?s)<(script|style)>(.*?)</`)

func within(f fs.FS) (sums struct{ Scripts, Styles []string }) {
	page, err := fs.ReadFile(f, "index.html")
	if err != nil {
		panic(err)
	}
	for _, m := range inner.FindAllSubmatch(page, -1) {
		sum := sha256.Sum256(m[2])
		of := &sums.Scripts
		if string(m[1]) == "style" {
			of = &sums.Styles
		}
		*of = append(*of, "'sha256-"+base64.StdEncoding.EncodeToString(sum[:])+"'")
	}
	return sums
}

// packedApp is the app with its scripts and styles as the build packed them, in
// place of the sources that they were made from.
type packedApp struct {
	app, packed fs.FS
	sources     map[string]bool     // what stays at home
	imports     map[string][]string // script -> what it cannot start without
}

// newFiles is the packed app, or the app as it is written: while any of its
// sources was edited since, or before it was packed at all.
func newFiles(app, packed fs.FS) fs.FS {
	f := packedApp{app, packed, map[string]bool{}, map[string][]string{}}
	sums, err := fs.ReadFile(packed, "SHA256SUMS")
	if err != nil {
		return app
	}
	for line := range strings.Lines(string(sums)) {
		sum, name, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		source, err := fs.ReadFile(app, name)
		if has := sha256.Sum256(source); err != nil || sum != hex.EncodeToString(has[:]) {
			return app
		}
		f.sources[name] = true
	}
	for _, name := range walk(app) {
		if packs(name) && !f.sources[name] {
			return app // it is new
		}
	}
	imports, _ := fs.ReadFile(packed, "IMPORTS")
	for line := range strings.Lines(string(imports)) {
		name, of, _ := strings.Cut(line, ":")
		f.imports[name] = strings.Fields(of)
	}
	return f
}

// packs tells whether the build packs a file (cmd/packapp).
func packs(name string) bool {
	return (path.Ext(name) == ".js" || path.Ext(name) == ".css") && path.Dir(name) != "vendor"
}

func (f packedApp) Open(name string) (fs.File, error) {
	file, err := f.packed.Open(name)
	if err == nil || f.sources[name] {
		return file, err
	}
	return f.app.Open(name)
}

// ReadDir lists both folders as one; whoever walks the app asks it.
func (f packedApp) ReadDir(name string) ([]fs.DirEntry, error) {
	out, err := fs.ReadDir(f.app, name)
	out = slices.DeleteFunc(out, func(d fs.DirEntry) bool { return f.sources[path.Join(name, d.Name())] })
	more, err2 := fs.ReadDir(f.packed, name)
	if err != nil && err2 != nil {
		return nil, err
	}
	for _, d := range more {
		if !slices.ContainsFunc(out, func(o fs.DirEntry) bool { return o.Name() == d.Name() }) && !ours(d.Name()) {
			out = append(out, d)
		}
	}
	slices.SortFunc(out, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
	return out, nil
}

// ours is what the packed folder holds beside what phones get.
func ours(name string) bool { return name == "SHA256SUMS" || name == "IMPORTS" || name == ".keep" }

func mustSub(f fs.FS, dir string) fs.FS {
	sub, err := fs.Sub(f, dir)
	if err != nil {
		panic(err)
	}
	return sub
}

func walk(f fs.FS) []string {
	var names []string
	err := fs.WalkDir(f, ".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			names = append(names, path)
		}
		return err
	})
	if err != nil {
		panic(err)
	}
	return names // WalkDir goes in lexical order
}

// list is what a phone carries, and later what it fetches after that. A packed
// script comes along if what a phone starts with imports it, and what was packed
// alone if the page does not have it within.
func list(f fs.FS) (now, later []string) {
	starts, laterStarts := map[string]bool{}, map[string]bool{}
	p, isPacked := f.(packedApp)
	var page []byte
	if isPacked {
		page, _ = fs.ReadFile(f, "index.html")
		p.reach("main.js", starts)
		p.reach("worker.js", starts)
		for _, name := range Later {
			p.reach(name, laterStarts)
		}
	}
	for _, name := range walk(f) {
		_, joined := p.imports[name]
		switch {
		case name == "sw.js" || path.Ext(name) == ".md" || path.Ext(name) == ".br":
		case isPacked && packs(name) && !joined && !bytes.Contains(page, []byte(`"/app/`+name+`"`)):
		case joined && starts[name]:
			now = append(now, name)
		case joined && laterStarts[name] || !joined && slices.Contains(Later, name):
			later = append(later, name)
		case !joined && !slices.Contains(Fetched, name):
			now = append(now, name)
		}
	}
	return now, later
}

// reach gathers a script and all that it imports.
func (f packedApp) reach(name string, into map[string]bool) {
	if into[name] {
		return
	}
	into[name] = true
	for _, i := range f.imports[name] {
		f.reach(i, into)
	}
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
