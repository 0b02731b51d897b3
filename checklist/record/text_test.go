package record

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"bayhold/checklist"
	"bayhold/checklist/film"
	"bayhold/checklist/line"
	strains "bayhold/checklist/stretch"
)

var hole = regexp.MustCompile(`\{\d\}`)

func holes(s string) []string {
	out := hole.FindAllString(s, -1)
	slices.Sort(out)
	return out
}

// TestTexts: every sentence stands in every language, with the same holes, and is
// said somewhere. A sentence that is missing does not compile.
func TestTexts(t *testing.T) {
	if len(text{}) != len(checklist.Languages) {
		t.Fatalf("%d languages here, the care sheet has %v", len(text{}), checklist.Languages)
	}
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]int{}
	texts := map[string][]string{}
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), f.Name(), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(parsed, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.Ident:
				said[n.Name]++
			case *ast.ValueSpec:
				for i, v := range n.Values {
					lit, ok := v.(*ast.CompositeLit)
					if kind, is := "", false; ok {
						if id, named := lit.Type.(*ast.Ident); named {
							kind, is = id.Name, id.Name == "text"
						}
						if _ = kind; is {
							var of []string
							for _, e := range lit.Elts {
								of = append(of, strings.Trim(e.(*ast.BasicLit).Value, `"`))
							}
							texts[n.Names[i].Name] = of
						}
					}
				}
			}
			return true
		})
	}
	if len(texts) < 200 {
		t.Fatalf("found %d sentences", len(texts))
	}
	for name, of := range texts {
		if len(of) != len(checklist.Languages) || slices.Contains(of, "") {
			t.Errorf("%s is not in every language: %q", name, of)
			continue
		}
		for _, s := range of[1:] {
			if !slices.Equal(holes(of[0]), holes(s)) {
				t.Errorf("%s: %q and %q are filled differently", name, of[0], s)
			}
		}
		if said[name] < 2 {
			t.Errorf("%s is never said", name)
		}
	}
}

// TestWords: every key that the checklist's tables have has its word in every
// language, and no word stands for what no table has.
func TestWords(t *testing.T) {
	want := map[string][]string{}
	need := func(group string, keys ...string) {
		for _, k := range keys {
			if k != "" && !slices.Contains(want[group], k) {
				want[group] = append(want[group], k)
			}
		}
	}
	for _, r := range checklist.Routes {
		need("route", r.Key)
		for _, st := range r.Stages {
			need("stage", st.Key)
			need("caution", st.Caution)
			if st.Proof == checklist.BySigns && st.Key != "hand-over" {
				need("paper", st.What)
			}
			need("as", st.Signers...)
		}
	}
	need("as", "driver")
	need("paper", "film-risk", "early-release")
	for _, s := range checklist.Setbacks {
		need("cause", s.Cause)
	}
	need("family", film.FamilyKeys[:]...)
	need("laminate", film.LaminateKeys[:]...)
	need("adhesive", film.AdhesiveKeys[:]...)
	need("surface", film.SurfaceKeys[:]...)
	need("rating", film.RatingNames[:]...)
	need("verdict", strains.VerdictNames[:]...)
	need("primer", strains.PrimerNames[1:]...)
	need("force", checklist.Forces[:]...)
	need("choice", "unknown")
	for _, q := range checklist.Questions {
		need("question", q.Key)
		need("choice", q.Choices...)
	}
	// What these fields may hold is listed in the comments of body.go.
	need("evidence", "blown-out", "card-strips", "sweat-test", "water-gone", "tape-pull", "palm-drag", "test-strip", "proof-plate", "gap-cut", "keep-clear",
		"blade-line", "heat-look", "trim-bags", "lamps", "hose-test", "risen")
	need("role", "lead", "crew", "prep", "porter", "desk")
	need("walk", "check-in", "clean", "trial", "pull", "bare-paint", "edges")
	need("answer", "accepted", "declined", "repaired")
	need("instrument", "air", "contact", "infrared", "logger")
	need("origin", "maker's sheet", "shop rule", "trade memory")
	need("plan", "stretch", "relief-cut", "inlay", "bare")
	need("laid", "floor-first", "bridged")
	need("over", "plastic", "paint")
	need("cut", "tape", "knife")
	need("cure", "factory", "baked", "air-dried", "thick", "unknown")
	need("source", "painter's note", "owner", "unknown")
	need("patch", "nothing", "bubbles", "paint-off")
	need("trial", "sound", "chipped", "peeled")
	need("finding", "chip", "rust", "dent", "peeling", "repaint", "scratch", "old film", "raw plastic", "other", "edge up")
	need("photo", "laid", "recess", "re-check", "check-in", "plumb") // what the app calls its pictures
	for _, k := range line.Kinds {
		if k.Log == checklist.JobLog || k.Name == "adopt" || k.Name == "forget" || k.Name == "time.adopt" {
			need("kind", k.Name)
		}
	}
	for group, keys := range want {
		for _, k := range keys {
			if group == "kind" && spoken[k] {
				continue
			}
			for i, s := range words[group][k] {
				if s == "" {
					t.Errorf("no word for %s %q in %s", group, k, checklist.Languages[i])
				}
			}
			if words[group] == nil {
				t.Errorf("no words for %s", group)
			}
		}
	}
	for group, rows := range words {
		for k, of := range rows {
			if k != "" && !slices.Contains(want[group], k) {
				t.Errorf("%s %q is a word for nothing", group, k)
			}
			if slices.Contains(of[:], "") {
				t.Errorf("%s %q is not in every language", group, k)
			}
		}
	}
}

// spoken are the kinds of line that writer.about says by what they hold.
var spoken = map[string]bool{"tick": true, "setback": true, "evidence": true, "finding": true, "sign": true, "feature": true, "heat": true}
