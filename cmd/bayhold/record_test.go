package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"image"
	"image/color"
	"image/png"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"bayhold/checklist"
	"bayhold/checklist/line"
	"bayhold/server"
	"bayhold/sync/logbook"
	"bayhold/testdata/jobs/story"
)

// jobShop serves a shop that did one of the four jobs of testdata/jobs. Its
// photos have a picture, all the same one.
func jobShop(t *testing.T, name string) (s *server.Server, data string, job logbook.Log, label string) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "testdata", "jobs", name+".jsonl"))
	if err != nil {
		t.Fatal(err)
	}
	lines, err := readLog(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	picture := image.NewGray(image.Rect(0, 0, 40, 30))
	picture.Set(3, 3, color.White)
	var pixels bytes.Buffer
	if err := png.Encode(&pixels, picture); err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(pixels.Bytes())
	sha := hex.EncodeToString(sum[:])
	var shop logbook.ID
	var seed []server.Dated
	for _, l := range lines {
		switch b := l.said.Body.(type) {
		case checklist.JobOpen:
			job, label = l.Entry.Log, b.Label
		case checklist.Photo:
			b.SHA = sha
			l.Entry.Body = line.Encode(b)
		}
		if l.Entry.Log.Class == checklist.ShopLog {
			shop = l.Entry.Log.ID
		}
		seed = append(seed, server.Dated{Entry: l.Entry, At: l.at})
	}
	data = t.TempDir()
	app := fstest.MapFS{"index.html": {Data: []byte("<!doctype html>")}} // nothing to pack
	s, err = server.Open(server.Config{Data: data, Shop: shop, Seed: seed, App: app, Worker: []byte("//")})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	if err := os.WriteFile(filepath.Join(data, "photos", sha), pixels.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return s, data, job, label
}

// The record of a job (of all four routes in the long run), made beside the running server and fetched from it,
// is the same file; it verifies, and a store that lost everything gets the job's
// logbook from it with the same head.
func TestRecordOfEachRoute(t *testing.T) {
	for name := range story.Jobs {
		if name != "bus-side" && os.Getenv("BAYHOLD_LONG") == "" {
			continue // package sealed has the four
		}
		t.Run(name, func(t *testing.T) {
			s, data, job, label := jobShop(t, name)
			file := filepath.Join(t.TempDir(), "record.zip")
			if code, _, errs := call("record", "--data", data, "--job", strings.ToLower(label)+" ", "--out", file); code != 0 {
				t.Fatal(errs)
			}
			written, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			web := httptest.NewServer(s.Handler())
			defer web.Close()
			resp, err := http.Get(web.URL + "/record/" + job.ID.String())
			if err != nil {
				t.Fatal(err)
			}
			defer resp.Body.Close()
			fetched, err := io.ReadAll(resp.Body)
			if err != nil || resp.StatusCode != 200 || !bytes.Equal(fetched, written) {
				t.Errorf("fetched %d bytes (%s, %v), written %d", len(fetched), resp.Status, err, len(written))
			}
			if got := resp.Header.Get("Content-Disposition"); !strings.HasPrefix(got, `attachment; filename="record-`+label) {
				t.Errorf("its file is called %q", got)
			}
			code, out, errs := call("verify", file)
			if code != 0 || !strings.Contains(out, "all fits") || !strings.Contains(out, label) || !strings.Contains(out, " 1 photos") && name != "removal" {
				t.Errorf("verify: exit %d, %q, %q", code, out, errs)
			}

			fresh := t.TempDir()
			app := fstest.MapFS{"index.html": {Data: []byte("<!doctype html>")}}
			other, err := server.Open(server.Config{Data: fresh, App: app, Worker: []byte("//")})
			if err != nil {
				t.Fatal(err)
			}
			other.Close()
			for _, again := range []string{"", " 0 lines brought in"} {
				if code, out, errs := call("import", "--data", fresh, "--record", file); code != 0 || !strings.Contains(out, again) {
					t.Fatalf("exit %d, %q, %q", code, out, errs)
				}
			}
			if code, out, errs := call("verify", "--data", fresh); code != 0 {
				t.Errorf("the store after it: %q, %q", out, errs)
			}
			want, got := headOf(t, data, job), headOf(t, fresh, job)
			if want.Order == 0 || got != want {
				t.Errorf("the job's head is %+v, want %+v", got, want)
			}
		})
	}
}

func headOf(t *testing.T, data string, job logbook.Log) server.Head {
	t.Helper()
	st, err := server.Look(data)
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	return st.Heads()[job]
}

// What the commands refuse, and how.
func TestRecordRefuses(t *testing.T) {
	s, data, job, label := jobShop(t, "removal")
	dir := t.TempDir()
	file := filepath.Join(dir, "record.zip")
	bad := func(want int, says string, args ...string) {
		t.Helper()
		if code, _, errs := call(args...); code != want || !strings.Contains(errs, says) {
			t.Errorf("%v: exit %d, want %d, and %q: %s", args, code, want, says, errs)
		}
	}
	bad(2, "--job is needed", "record", "--data", data, "--out", file)
	bad(1, "no vehicle has the label", "record", "--data", data, "--job", "nobody", "--out", file)
	bad(1, "no job has the id", "record", "--data", data, "--job", logbook.Named("nobody").String(), "--out", file)
	if code, _, errs := call("record", "--data", data, "--job", label, "--out", file); code != 0 {
		t.Fatal(errs)
	}
	bad(1, "in use", "import", "--data", data, "--record", file)
	bad(1, "is there already", "record", "--data", data, "--job", label, "--out", file)
	bad(1, "no such file", "verify", filepath.Join(dir, "none.zip"))
	bad(2, "either --log or --record", "import", "--data", data)
	bad(2, "either --log or --record", "import", "--data", data, "--log", file, "--record", file)
	bad(1, "no store", "import", "--data", t.TempDir(), "--record", file)

	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	changed := filepath.Join(dir, "changed.zip")
	at := bytes.Index(raw, []byte(`"kind":"trial"`))
	raw[at+9] ^= 1
	if err := os.WriteFile(changed, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	bad(1, "lines.jsonl, line ", "verify", changed)
	bad(1, "nothing was brought in", "import", "--data", data, "--record", changed)

	web := httptest.NewServer(s.Handler())
	defer web.Close()
	record := "/record/" + job.ID.String()
	bodies := map[string]bool{}
	for _, v := range []struct {
		path string
		code int
		has  string
	}{
		{record, 200, "%PDF-"},
		{record + ".pdf", 200, "%PDF-"},
		{record + ".pdf?language=es", 200, "%PDF-"},
		{record + ".pdf?size=letter", 200, "%PDF-"},
		{record + ".pdf?language=xx", 400, "en or es"},
		{"/record/x", 400, "by its job's id"},
		{"/record/" + logbook.Named("nobody").String(), 404, "no vehicle"},
	} {
		resp, err := http.Get(web.URL + v.path)
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(resp.Body)
		resp.Body.Close()
		if err != nil || resp.StatusCode != v.code || !bytes.Contains(body, []byte(v.has)) || bodies[string(body)] {
			t.Errorf("%s: %s, want %d, %q and another answer than before: %.60q, %v", v.path, resp.Status, v.code, v.has, body, err)
		}
		bodies[string(body)] = true
	}
}
