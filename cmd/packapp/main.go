// Packapp writes the app's scripts and styles in the form in which they travel:
// without comments and spaces, with short names, and the modules joined, for a
// phone that opens sixty small files one after the other keeps a person waiting.
// What developers edit stays as it is.
//
//	packapp pwa/app pwa/packed
//
// A script of a page begins a file, and so does every module that is imported when
// somebody goes there (import(...)). What the page's script needs stands in its file,
// and lends it to the others from there; what else two of them need stands in a file
// of its own, shared-....js. The page names what its script imports, so that a browser
// that has read it fetches all at once and not one after the other. The worker's script is joined
// apart and whole, for nothing could name ahead what it imports; a page beside the
// app's is, too, so that no phone waits for what it shares with it. Style sheets and
// scripts that are no modules keep their names and stand alone, and the app's page
// has those that it names within it: to ask for a file takes a phone longer than to
// read it. What stands under vendor is packed by those who publish it, and keeps its
// notice.
//
// Each packed file has its compressed form beside it, NAME.br, so that a small
// machine that serves the app does not have to make it: brotli's best level takes
// a hundred megabytes of memory and seconds.
//
// Beside the packed files stand SHA256SUMS, the sums of the sources they were
// made from, in the form that sha256sum writes and checks, and IMPORTS, a line
// 'file: what it imports' for each script. The pwa package serves the packed
// files only while every source has its sum, so an edit that was not packed is
// served as it was written.
package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/andybalholm/brotli"
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

// page is the app's; worker and serviceWorker are started by scripts, so no page
// names them.
const (
	page          = "index.html"
	worker        = "worker.js"
	serviceWorker = "sw.js"
)

// script finds the scripts of a page: whether each is a module, and its path.
var script = regexp.MustCompile(`<script( type="module")? src="/app/([^"]+)"`)

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
	var entries []string
	single := []string{serviceWorker}
	apart := []string{worker} // and the scripts of pages that are no part of the app
	var shown []byte          // the page
	err = fs.WalkDir(os.DirFS(from), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		kind := path.Ext(name)
		if name == "vendor" {
			return fs.SkipDir
		} else if kind != ".js" && kind != ".css" && kind != ".html" {
			return nil
		}
		source, err := os.ReadFile(filepath.Join(from, name))
		if err != nil {
			return err
		}
		if kind == ".css" {
			single = append(single, name)
		}
		if kind == ".html" {
			if name == page {
				shown = source
				fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(source), name)
			}
			for _, s := range script.FindAllSubmatch(source, -1) {
				if len(s[1]) > 0 && name != page {
					apart = append(apart, string(s[2]))
				} else if len(s[1]) > 0 {
					entries = append(entries, string(s[2]))
				} else {
					single = append(single, string(s[2]))
				}
			}
			return nil
		}
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(source), name)
		return nil
	})
	if err != nil {
		return err
	}
	for _, name := range single {
		if err := packAlone(from, to, name); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	// What is imported later begins a file too; which those are the first pass tells.
	_, first, err := join(from, entries)
	if err != nil {
		return err
	}
	for _, source := range first.Inputs {
		for _, i := range source.Imports {
			if i.Kind == "dynamic-import" && !slices.Contains(entries, i.Path) {
				entries = append(entries, i.Path)
			}
		}
	}
	slices.Sort(entries)
	outputs, made, err := join(from, entries)
	if err != nil {
		return err
	}
	for _, s := range script.FindAllSubmatch(shown, -1) {
		if len(s[1]) > 0 {
			if err := lend(string(s[2]), outputs, made); err != nil {
				return err
			}
		}
	}
	for _, name := range apart {
		more, told, err := join(from, []string{name})
		if err != nil {
			return err
		}
		maps.Copy(outputs, more)
		maps.Copy(made.Outputs, told.Outputs)
	}
	var imports []string
	for name, content := range outputs {
		if err := writePacked(to, name, content); err != nil {
			return err
		}
		line := name + ":"
		for _, i := range made.Outputs[name].Imports {
			if i.Kind == "import-statement" && !i.External {
				line += " " + i.Path
			}
		}
		imports = append(imports, line+"\n")
	}
	if shown != nil {
		shown, err := within(preload(shown, made), to)
		if err != nil {
			return fmt.Errorf("%s: %w", page, err)
		}
		if err := writePacked(to, page, shown); err != nil {
			return err
		}
	}
	slices.Sort(imports)
	if err := write(to, "IMPORTS", []byte(strings.Join(imports, ""))); err != nil {
		return err
	}
	return write(to, "SHA256SUMS", []byte(sums.String()))
}

// options take out what only people read. What the program does stands as it was
// written, statement by statement: a shorter way to say the same is not worth
// one that is not the same.
var options = api.TransformOptions{MinifyWhitespace: true, MinifyIdentifiers: true, LegalComments: api.LegalCommentsNone, Charset: api.CharsetUTF8}

// packAlone packs a file that keeps its name.
func packAlone(from, to, name string) error {
	source, err := os.ReadFile(filepath.Join(from, name))
	if err != nil {
		return err
	}
	o := options
	o.Loader = api.LoaderJS
	if path.Ext(name) == ".css" {
		o.Loader = api.LoaderCSS
	}
	r := api.Transform(string(source), o)
	if err := fault(r.Errors); err != nil {
		return err
	}
	if name == serviceWorker {
		return write(to, name, r.Code) // the server puts a list into it before it goes out
	}
	return writePacked(to, name, r.Code)
}

// facts is what esbuild tells of its work (its metafile), as far as it matters.
type facts struct {
	Inputs, Outputs map[string]output
}

type output struct {
	Imports []struct {
		Path, Kind string
		External   bool
	}
	Exports []string
}

// join makes one file of each entry and what it imports, by name.
func join(from string, entries []string) (map[string][]byte, facts, error) {
	dir, err := filepath.Abs(from)
	if err != nil {
		return nil, facts{}, err
	}
	vendor := api.Plugin{Name: "vendor", Setup: func(b api.PluginBuild) {
		b.OnResolve(api.OnResolveOptions{Filter: `/vendor/`}, func(a api.OnResolveArgs) (api.OnResolveResult, error) {
			return api.OnResolveResult{Path: "/app/vendor/" + path.Base(a.Path), External: true}, nil
		})
	}}
	r := build(api.BuildOptions{
		EntryPoints: entries, AbsWorkingDir: dir, Outdir: dir, ChunkNames: "shared-[hash]", AllowOverwrite: true,
		Splitting: true, Plugins: []api.Plugin{vendor},
	})
	if err := fault(r.Errors); err != nil {
		return nil, facts{}, err
	}
	out := map[string][]byte{}
	for _, f := range r.OutputFiles {
		name, err := filepath.Rel(dir, f.Path)
		if err != nil {
			return nil, facts{}, err
		}
		out[filepath.ToSlash(name)] = f.Contents
	}
	var told facts
	return out, told, json.Unmarshal([]byte(r.Metafile), &told)
}

func build(o api.BuildOptions) api.BuildResult {
	o.Bundle, o.Format, o.Metafile = true, api.FormatESModule, true
	o.MinifyWhitespace, o.MinifyIdentifiers, o.LegalComments, o.Charset = options.MinifyWhitespace, options.MinifyIdentifiers, options.LegalComments, options.Charset
	return api.Build(o)
}

// lend puts all that a page's script imports into its file. The others import it from
// there, by names that bear the sum of what they were shared in: a file of another
// version than the page finds nothing there, rather than another thing.
func lend(entry string, outputs map[string][]byte, made facts) error {
	lent := map[string]string{} // what the others find in place of a shared file
	var shared []string
	var follow func(name string)
	follow = func(name string) {
		for _, i := range made.Outputs[name].Imports {
			if i.Kind != "import-statement" || i.External || slices.Contains(shared, i.Path) {
				continue
			}
			shared = append(shared, i.Path)
			for _, e := range made.Outputs[i.Path].Exports {
				lent[i.Path] += fmt.Sprintf("export { %s as %s } from '/app/%s';\n", lentName(i.Path, e), e, entry)
			}
			follow(i.Path)
		}
	}
	follow(entry)
	var asked []byte
	for name, content := range outputs {
		if name == entry || slices.Contains(shared, name) {
			continue
		}
		packed, told, err := joinMade(name, content, func(p string) (string, bool) { return lent[p], slices.Contains(shared, p) })
		if err != nil {
			return err
		}
		outputs[name], made.Outputs[name] = packed, told
		asked = append(asked, packed...)
	}
	all := fmt.Sprintf("export * from './%s';\n", entry)
	for _, name := range shared {
		for _, e := range made.Outputs[name].Exports {
			if as := lentName(name, e); regexp.MustCompile(regexp.QuoteMeta(as) + `[^\w$]`).Match(asked) {
				all += fmt.Sprintf("export { %s as %s } from './%s';\n", e, as, name)
			}
		}
	}
	packed, told, err := joinMade(entry, []byte(all), func(p string) (string, bool) {
		return string(outputs[p]), p == entry || slices.Contains(shared, p)
	})
	if err != nil {
		return err
	}
	for _, name := range shared {
		delete(outputs, name)
	}
	outputs[entry], made.Outputs[entry] = packed, told
	return nil
}

// lentName is what others call an export of a file that was shared.
func lentName(shared, export string) string {
	return strings.NewReplacer("shared-", "_", ".js", "_").Replace(shared) + export
}

// joinMade packs a file that was made once more, with what within has of what it
// imports.
func joinMade(name string, content []byte, within func(path string) (string, bool)) ([]byte, output, error) {
	r := build(api.BuildOptions{
		Stdin: &api.StdinOptions{Contents: string(content), Sourcefile: "/" + name}, Outfile: "/" + name,
		Plugins: []api.Plugin{{Name: "within", Setup: func(b api.PluginBuild) {
			b.OnResolve(api.OnResolveOptions{Filter: "."}, func(a api.OnResolveArgs) (api.OnResolveResult, error) {
				from := name
				if a.Namespace == "within" {
					from = a.Importer
				}
				p := path.Join(path.Dir(from), a.Path)
				if _, ok := within(p); ok && a.Kind == api.ResolveJSImportStatement {
					return api.OnResolveResult{Path: p, Namespace: "within"}, nil
				}
				return api.OnResolveResult{Path: a.Path, External: true, SideEffects: api.SideEffectsFalse}, nil
			})
			b.OnLoad(api.OnLoadOptions{Filter: ".", Namespace: "within"}, func(a api.OnLoadArgs) (api.OnLoadResult, error) {
				s, _ := within(a.Path)
				return api.OnLoadResult{Contents: &s}, nil
			})
		}}},
	})
	if err := fault(r.Errors); err != nil {
		return nil, output{}, fmt.Errorf("%s: %w", name, err)
	}
	var told facts
	if err := json.Unmarshal([]byte(r.Metafile), &told); err != nil {
		return nil, output{}, err
	}
	var out output
	for _, o := range told.Outputs { // one
		for _, i := range o.Imports {
			i.External = strings.HasPrefix(i.Path, "/app/vendor/")
			if p, ok := strings.CutPrefix(i.Path, "/app/"); ok && !i.External {
				i.Path = p
			} else if !ok {
				i.Path = path.Join(path.Dir(name), i.Path)
			}
			if !slices.Contains(out.Imports, i) {
				out.Imports = append(out.Imports, i)
			}
		}
	}
	return r.OutputFiles[0].Contents, out, nil
}

// preload has the page name all that its modules import, so that a browser need
// not read one to know of the next. The names stand behind the first script, which
// waits for none of them.
func preload(page []byte, made facts) []byte {
	var links strings.Builder
	named := map[string]bool{}
	var follow func(name string)
	follow = func(name string) {
		for _, i := range made.Outputs[name].Imports {
			if i.Kind != "import-statement" || named[i.Path] {
				continue
			}
			named[i.Path] = true
			fmt.Fprintf(&links, "<link rel=\"modulepreload\" href=\"/app/%s\">\n", strings.TrimPrefix(i.Path, "/app/"))
			follow(i.Path)
		}
	}
	for _, s := range script.FindAllSubmatch(page, -1) {
		if len(s[1]) > 0 {
			follow(string(s[2]))
		}
	}
	const end = "</script>\n"
	before, after, _ := bytes.Cut(page, []byte(end))
	return slices.Concat(before, []byte(end), []byte(links.String()), after)
}

// alone finds what a page names and stands by itself: a script that is no module, or
// a style sheet.
var alone = regexp.MustCompile(`<script src="/app/([^"]+)"></script>|<link rel="stylesheet" href="/app/([^"]+)">`)

// within puts into the page what it names and was packed alone. The server's policy
// lets exactly these in, by their sums.
func within(page []byte, packed string) ([]byte, error) {
	var failed error
	out := alone.ReplaceAllFunc(page, func(named []byte) []byte {
		name := alone.FindSubmatch(named)
		tag, content := "script", string(name[1])+string(name[2])
		if len(name[2]) > 0 {
			tag = "style"
		}
		b, err := os.ReadFile(filepath.Join(packed, content))
		if err == nil && (bytes.Contains(bytes.ToLower(b), []byte("</"+tag)) || bytes.Contains(b, []byte("<!--"))) {
			err = fmt.Errorf("%s has what would end it there", content)
		}
		failed = errors.Join(failed, err)
		return fmt.Appendf(nil, "<%s>%s</%s>", tag, b, tag)
	})
	return out, failed
}

func fault(errs []api.Message) error {
	if len(errs) == 0 {
		return nil
	}
	if at := errs[0].Location; at != nil {
		return fmt.Errorf("%s, line %d: %s", at.File, at.Line, errs[0].Text)
	}
	return errors.New(errs[0].Text)
}

// writePacked writes a file and its compressed form.
func writePacked(dir, name string, content []byte) error {
	var br bytes.Buffer
	w := brotli.NewWriterLevel(&br, brotli.BestCompression)
	_, err := w.Write(content)
	if err := errors.Join(err, w.Close()); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if err := write(dir, name+".br", br.Bytes()); err != nil {
		return err
	}
	return write(dir, name, content)
}

func write(dir, name string, content []byte) error {
	target := filepath.Join(dir, name)
	if err := os.MkdirAll(filepath.Dir(target), 0o755); err != nil {
		return err
	}
	return os.WriteFile(target, content, 0o644)
}
