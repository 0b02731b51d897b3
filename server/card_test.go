package server

import (
	"io"
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/carlos7ags/folio/reader"

	"bayhold/sync/logbook"
	"bayhold/testdata/demo/story"
)

// TestCards: the card of an open job, and of all of them one after the other,
// each on sheets of its own; the code on it is the address that was asked.
func TestCards(t *testing.T) {
	s, _ := demoAt(t, 'a', story.Tuesday, "15:00")
	open := 0
	for log, h := range s.store.Heads() {
		if log.Class == 'j' && h.Closed == (logbook.Ref{}) {
			open++
		}
	}
	v5 := logbook.Named("V5")
	get := func(path string) (*http.Response, []byte) {
		t.Helper()
		resp, err := http.Get(s.http.URL + path)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		b, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return resp, b
	}
	// begins is on which pages a card begins, by the first words on it.
	begins := func(pdf []byte, title string) (pages []int, all int, wide float64) {
		t.Helper()
		r, err := reader.Parse(pdf)
		if err != nil {
			t.Fatal(err)
		}
		for i := range r.PageCount() {
			p, err := r.Page(i)
			if err != nil {
				t.Fatal(err)
			}
			text, err := p.ExtractText()
			if err != nil {
				t.Fatal(err)
			}
			if strings.HasPrefix(strings.TrimSpace(text), title) {
				pages = append(pages, i)
			}
			wide = p.Width
		}
		return pages, r.PageCount(), wide
	}
	resp, pdf := get("/card/" + v5.String() + ".pdf")
	if resp.StatusCode != 200 || resp.Header.Get("Content-Type") != "application/pdf" || resp.Header.Get("Cache-Control") != "no-store" ||
		!strings.HasPrefix(resp.Header.Get("Content-Disposition"), `inline; filename="card-V5`) {
		t.Fatalf("%s %v: %.200s", resp.Status, resp.Header, pdf)
	}
	// A4 is 210 mm wide (ISO 216), Letter 8.5 inches; a point is 1/72 inch.
	if pages, all, wide := begins(pdf, "Job card"); !slices.Equal(pages, []int{0}) || all < 2 || all > 4 || math.Abs(wide-210/25.4*72) > 0.1 {
		t.Errorf("in a shop that reads Celsius a card begins on %v of %d pages, %.1f points wide; one or two sheets of A4 hold 4", pages, all, wide)
	}
	_, pdf = get("/card/" + v5.String() + ".pdf?language=es&size=letter")
	if pages, _, wide := begins(pdf, "Ficha de trabajo"); !slices.Equal(pages, []int{0}) || wide != 8.5*72 {
		t.Errorf("in Spanish on Letter it begins on %v, %.1f points wide", pages, wide)
	}
	resp, pdf = get("/cards.pdf")
	pages, all, _ := begins(pdf, "Job card")
	if resp.StatusCode != 200 || len(pages) != open || open < 2 {
		t.Errorf("%s: %d cards of %d open jobs on %d pages", resp.Status, len(pages), open, all)
	}
	for _, p := range pages {
		if p%2 != 0 {
			t.Errorf("a card begins on page %d: on the back of another's", p+1)
		}
	}
	for _, c := range []struct {
		path string
		code int
		want string
	}{
		{"/card/x.pdf", 400, "by its job's id"}, {"/card/" + v5.String(), 400, "/card/ID.pdf"},
		{"/card/" + logbook.Named("nobody").String() + ".pdf", 404, "no open job"},
		{"/cards.pdf?language=xx", 400, "en or es"}, {"/cards.pdf?size=a3", 400, "size=a4 or size=letter"},
	} {
		if resp, b := get(c.path); resp.StatusCode != c.code || !strings.Contains(string(b), c.want) {
			t.Errorf("%s: %s %s", c.path, resp.Status, b)
		}
	}
}
